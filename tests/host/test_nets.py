"""Nets in the window: tried, looked through, used and undone; edges overruled; the maker's own marks stay."""

from __future__ import annotations

import bmesh
import bpy
import numpy as np
import pytest
from host_window import do, keep_step, redo, undo
from stowfold.bends import costs, ghost_overlay, nets, nets_panel
from stowfold.bends import overlay as roles_overlay
from stowfold.geometry.solid.solid import Role
from stowfold.host import marks
from stowfold.jobs import background


@pytest.fixture
def hip(empty_file):
    """A house of 11 x 7 squares under a hip roof, as the menu adds it."""
    bpy.ops.stowfold.add_building(length=11.0, width=7.0, roof="HIP")
    bpy.context.view_layer.update()
    return bpy.context.object


def view():
    return bpy.context.window_manager.stowfold


def roles():
    return marks.read_roles(bpy.context.scene.objects["House"].data).tolist()


def ridge_of(house):
    """Return the index of the ridge: the level edge at the top."""
    mesh = house.data
    heights = np.array([[mesh.vertices[v].co.z for v in edge.vertices] for edge in mesh.edges])
    return int(np.argmax(heights.min(axis=1)))


def select_edge(house, index):
    bpy.ops.object.mode_set(mode="EDIT")
    bpy.context.tool_settings.mesh_select_mode = (False, True, False)
    bpy.ops.mesh.select_all(action="DESELECT")
    bm = bmesh.from_edit_mesh(house.data)
    bm.edges.ensure_lookup_table()
    bm.edges[index].select_set(True)
    bmesh.update_edit_mesh(house.data)


def test_trying_lists_nets_and_starts_at_the_one_on_the_mesh(hip):
    before = roles()
    assert bpy.ops.stowfold.try_nets() == {"FINISHED"}
    assert len(view().nets) == 6
    assert [row.present for row in view().nets].count(True) == 1
    assert view().nets[view().net].present
    assert roles() == before
    assert "On the mesh now" in nets_panel._said(bpy.context)[0]
    # what the list shows is what the tried nets are
    assert [row.name.split(",")[0] for row in view().nets] == [
        f"{net.measures.pieces} piece{'' if net.measures.pieces == 1 else 's'}" for _, net in nets.known().rows
    ]


@pytest.mark.slow
def test_steps_go_round_the_list(hip):
    bpy.ops.stowfold.try_nets()
    view().net = 0
    assert bpy.ops.stowfold.step_net(back=True) == {"FINISHED"}
    assert view().net == len(view().nets) - 1
    assert bpy.ops.stowfold.step_net() == {"FINISHED"}
    assert view().net == 0


def test_a_net_is_used_undone_and_redone_in_one_step(hip):
    bpy.ops.stowfold.try_nets()
    view().net = next(k for k, row in enumerate(view().nets) if row.name.startswith("2 pieces"))
    used = nets.looked_at(bpy.context)[1]
    keep_step()
    before = roles()
    assert do(bpy.ops.stowfold.use_net) == {"FINISHED"}
    after = roles()
    assert after != before
    assert {edge for _, edge in used.bent} <= {k for k, role in enumerate(after) if role == Role.FLEX}
    undo()
    assert roles() == before
    redo()
    assert roles() == after
    nets.try_now(bpy.context.scene)
    assert view().nets[view().net].present
    assert nets.looked_at(bpy.context)[1].bent == used.bent


@pytest.mark.slow
def test_nets_are_tried_again_after_a_change_and_keep_their_place(hip):
    bpy.ops.stowfold.try_nets()
    view().net = 3
    looked_at = nets.looked_at(bpy.context)[1]
    nets.try_now(bpy.context.scene)
    assert nets.looked_at(bpy.context)[1] is looked_at  # nothing has changed
    bpy.context.scene.stowfold.stocks.roof = "basswood-3.2"
    revision = nets.revision()
    nets.try_now(bpy.context.scene)
    again = nets.looked_at(bpy.context)[1]
    assert again is not looked_at and again.bent == looked_at.bent
    bpy.context.scene.stowfold.square = 26.0
    assert nets.revision() > revision


@pytest.mark.slow
def test_a_net_of_an_older_building_is_not_used(hip):
    bpy.ops.stowfold.try_nets()
    hip.data.vertices[0].co.x -= 1.0
    before = roles()
    assert bpy.ops.stowfold.use_net() == {"CANCELLED"}
    assert roles() == before


@pytest.mark.slow
def test_marks_of_the_maker_stay_and_marks_of_the_tool_give_way(hip):
    ridge = ridge_of(hip)
    given, wanted = marks.read_given(hip.data), Role(roles()[ridge])
    assert ridge in given
    select_edge(hip, ridge)
    bpy.ops.stowfold.mark_edges(role=wanted.name)
    bpy.ops.object.mode_set(mode="OBJECT")
    # the maker said what the tool had said: from now on it is the maker's
    assert ridge not in marks.read_given(hip.data)
    bpy.ops.stowfold.try_nets()
    for k in range(len(view().nets)):
        view().net = k
        made = nets.looked_at(bpy.context)[1]
        assert ((0, ridge) in made.bent) is (wanted == Role.FLEX)
        assert all(ridge not in mark.edges for mark in made.marks)


def test_given_marks_are_read_alike_in_edit_mode(hip):
    before = marks.read_given(hip.data)
    assert before
    bpy.ops.object.mode_set(mode="EDIT")
    assert marks.read_given(hip.data) == before
    bpy.ops.object.mode_set(mode="OBJECT")


@pytest.mark.slow
def test_an_unmarked_mesh_of_ones_own_has_nets_and_bears_the_one_used(add_mesh):
    points = [(x, y, z) for z in (0, 70) for y in (0, 120) for x in (0, 90)]
    faces = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
    box = add_mesh("Crate", points, faces)
    bpy.ops.stowfold.try_nets()
    assert [row.present for row in view().nets] == [False] * 6
    assert view().net == 0
    assert bpy.ops.stowfold.use_net() == {"FINISHED"}
    found = marks.read_roles(box.data).tolist()
    assert found.count(int(Role.FLEX)) == 5
    assert len(marks.read_given(box.data)) == sum(role != 0 for role in found)


def test_without_a_net_one_sentence_says_why(add_ring, empty_file):
    with pytest.raises(RuntimeError, match="The scene is empty"):
        bpy.ops.stowfold.try_nets()
    with pytest.raises(RuntimeError, match="No nets are known"):
        bpy.ops.stowfold.use_net()
    add_ring()
    assert bpy.ops.stowfold.try_nets() == {"CANCELLED"}
    assert "walls bend at corners" in nets_panel._said(bpy.context)[0]


@pytest.mark.slow
def test_overruling_an_edge_marks_it_and_chooses_the_others_again(hip):
    ridge = ridge_of(hip)
    was = roles()[ridge]
    other = "FLEX" if was == Role.CLOSURE else "CLOSURE"
    select_edge(hip, ridge)
    keep_step()
    assert costs.selected_edges(bpy.context) == {(0, ridge)}
    assert do(bpy.ops.stowfold.overrule_edges, role=other) == {"FINISHED"}
    bpy.ops.object.mode_set(mode="OBJECT")
    after = roles()
    assert after[ridge] == Role[other]
    given = marks.read_given(bpy.context.scene.objects["House"].data)
    assert ridge not in given and given
    # the net around it is whole: nothing closes a loop, and the roof is one piece
    bpy.ops.stowfold.try_nets()
    assert view().nets[view().net].name.startswith("1 piece")
    bpy.ops.object.mode_set(mode="EDIT")
    undo()
    undo()
    bpy.ops.object.mode_set(mode="OBJECT")
    assert roles()[ridge] == was


def test_overruling_says_what_is_missing(hip):
    with pytest.raises(RuntimeError, match="Enter Edit Mode"):
        bpy.ops.stowfold.overrule_edges(role="FLEX")
    select_edge(hip, ridge_of(hip))
    bpy.ops.mesh.select_all(action="DESELECT")
    assert bpy.ops.stowfold.overrule_edges(role="FLEX") == {"CANCELLED"}
    corner = next(k for k, role in enumerate(roles_in_edit(hip)) if role == Role.FLEX and is_upright(hip, k))
    bmesh.from_edit_mesh(hip.data).edges[corner].select_set(True)
    assert bpy.ops.stowfold.overrule_edges(role="CLOSURE") == {"CANCELLED"}
    bpy.ops.object.mode_set(mode="OBJECT")


def roles_in_edit(house):
    return marks.read_roles_in_edit_mode(house.data, bmesh.from_edit_mesh(house.data)).tolist()


def is_upright(house, index):
    bm = bmesh.from_edit_mesh(house.data)
    bm.edges.ensure_lookup_table()
    one, two = (vert.co for vert in bm.edges[index].verts)
    return abs(one.z - two.z) > 0.5 * (one - two).length


def wait_for(timer):
    """Let a timer come round until it has nothing left to do."""
    for _ in range(2000):
        if timer() is None:
            return
        for job in background._running.beside:
            job.wait(0.05)
    raise AssertionError("the timer never ends")


def test_costs_of_the_selected_edge_are_worked_out_beside_the_window(hip):
    said = costs.costs_of_selection(bpy.context)
    assert said is not None and not said.lines and "Edit Mode" in said.why
    select_edge(hip, ridge_of(hip))
    assert costs.costs_of_selection(bpy.context) is None
    wait_for(costs._begin)
    wait_for(costs._collect)
    found = costs.costs_of_selection(bpy.context)
    assert [role for role, _ in found.lines] == list(costs.OVERRULED)
    assert any("as the net has it" in line for _, line in found.lines)
    assert all(line.startswith("Ridge ") for _, line in found.lines)
    assert not background._running.beside
    bpy.ops.object.mode_set(mode="OBJECT")


@pytest.mark.slow
def test_nets_of_a_changed_building_are_tried_beside_the_window(hip):
    bpy.ops.stowfold.try_nets()
    before = nets.known()
    bpy.context.scene.stowfold.stocks.roof = "basswood-3.2"
    wait_for(nets._compare)
    assert background._running.beside and nets.known() is before
    wait_for(nets._collect)
    assert nets.known() is not before and not background._running.beside
    assert background.running() is None
    # a click tries them at once: what is still tried beside it is of a model before
    bpy.context.scene.stowfold.stocks.roof = "birch-plywood-3"
    wait_for(nets._compare)
    bpy.ops.stowfold.try_nets()
    clicked = nets.known()
    wait_for(nets._collect)
    assert nets.known() is clicked and not background._running.beside


@pytest.mark.slow
def test_edges_are_drawn_as_the_net_that_is_looked_at_has_them(hip):
    bpy.ops.stowfold.try_nets()
    lengths = {}
    for k in range(len(view().nets)):
        view().net = k
        instead = nets.shown_roles(bpy.context, hip)
        lines = roles_overlay._marked_lines(hip, bpy.context.scene, instead).segments[Role.FLEX]
        drawn = {tuple(np.round(line.ravel(), 3)) for line in lines}
        lengths[k] = len(drawn)
        assert len(drawn) == 4 + nets.looked_at(bpy.context)[1].measures.bends
    assert len(set(lengths.values())) > 1
    view().show_nets = False
    assert nets.shown_roles(bpy.context, hip) == {} and not nets.shows_another(bpy.context)
    view().show_nets = True
    assert nets.shows_another(bpy.context)
    view().net = next(k for k, row in enumerate(view().nets) if row.present)
    assert not nets.shows_another(bpy.context)


@pytest.mark.slow
def test_the_ghost_lies_before_the_building_and_stands_on_its_roof(hip):
    bpy.ops.stowfold.try_nets()
    tried = nets.known()
    for k, (_, net) in enumerate(tried.rows):
        layers = ghost_overlay.layers_of(tried.ghosts[k], tried.model.solid, bpy.context.scene)
        standing, flat = layers[0].points, layers[1].points
        front = tried.model.solid.points[:, 1].min()
        assert flat[..., 1].max() < front and np.ptp(flat[..., 2]) == 0.0
        assert standing[..., 2].min() > 0.0
        board = sum(part.area for part in net.tried.parts)
        drawn = [layer.points for layer in layers[1::5]]
        assert sum(_area(points) for points in drawn) == pytest.approx(board, rel=1e-6)


def _area(triangles):
    one, two = triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    return float(np.linalg.norm(np.cross(one, two), axis=1).sum() / 2)


def test_selected_edges_are_drawn_over_their_marks(hip):
    ridge = ridge_of(hip)
    ends = [hip.data.vertices[v].co[:] for v in hip.data.edges[ridge].vertices]
    select_edge(hip, ridge)
    lines = roles_overlay.selected_lines(hip)
    assert lines.shape == (1, 2, 3)
    assert {tuple(np.round(end, 3)) for end in lines[0]} == {tuple(np.round(end, 3)) for end in ends}
    bpy.ops.mesh.select_all(action="DESELECT")
    assert len(roles_overlay.selected_lines(hip)) == 0
    bpy.ops.object.mode_set(mode="OBJECT")


def test_a_mesh_that_cannot_be_built_says_why(add_mesh):
    """A face out of flat: what is wrong with the mesh is said, instead of what has nets."""
    add_mesh("Screen", [(0, 0, 0), (90, 0, 0), (90, 30, 70), (0, 0, 70)], [(0, 1, 2, 3)])
    assert bpy.ops.stowfold.try_nets() == {"CANCELLED"}
    assert "out of flat" in nets_panel._said(bpy.context)[0]


def test_a_building_of_very_many_faces_is_not_read_while_it_is_worked_on(add_carpet):
    target = add_carpet("Meadow")
    assert nets.is_large(bpy.context.scene)
    select_edge(target, 3)
    assert costs.costs_of_selection(bpy.context) is None
    wait_for(costs._begin)
    assert "too many faces" in costs.costs_of_selection(bpy.context).why
    bpy.ops.object.mode_set(mode="OBJECT")
