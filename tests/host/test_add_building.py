"""A building from an empty scene: added, undone, changed, saved, cut; in scenes of any unit scale."""

from __future__ import annotations

from types import SimpleNamespace

import bpy
import numpy as np
import pytest
from host_window import do, keep_step, redo, undo
from slow_cases import one_quick
from stowfold.geometry.solid.solid import Role
from stowfold.host import marks, reading
from stowfold.plot.blocking import read_sizes
from stowfold.plot.operators.building import draw_fields

HOUSE = {"length": 8.0, "width": 6.0, "roof": "HIP", "pitch_as": "RISE"}


def add(**fields):
    assert bpy.ops.stowfold.add_building(**{**HOUSE, **fields}) == {"FINISHED"}
    return bpy.context.object


def roles_of(target):
    return sorted(marks.read_roles(target.data).tolist())


@pytest.mark.parametrize("scale", one_quick([0.001, 0.01, 0.0254, 1.0, 1000.0]))
def test_a_building_has_its_size_in_scenes_of_any_unit_scale(scale):
    bpy.context.scene.unit_settings.scale_length = scale
    target = add()
    bpy.context.view_layer.update()
    points = reading.read_solid([target], bpy.context.scene).points
    assert np.ptp(points, axis=0) == pytest.approx([8 * 25.4 + 12, 6 * 25.4 + 12, 60 + 3 * 25.4 * 8 / 12], abs=1e-3)
    assert target.stowfold.is_block_out
    assert bpy.context.object == target
    # four corners, ridge and two hips; the other two hips
    assert roles_of(target).count(Role.FLEX) == 7
    assert roles_of(target).count(Role.CLOSURE) == 2


def test_a_building_stands_on_the_square_of_the_cursor():
    bpy.context.scene.cursor.location = (60.0, -10.0, 0.0)
    assert tuple(add().location) == pytest.approx((50.8, -25.4, 0.0), abs=1e-4)


def test_adding_is_undone_and_redone():
    keep_step()
    do(bpy.ops.stowfold.add_building, **HOUSE)
    assert len(bpy.context.scene.objects) == 1
    undo()
    assert not len(bpy.context.scene.objects)
    redo()
    assert bpy.context.scene.objects["House"].stowfold.building.roof == "HIP"


def test_rebuilding_keeps_marks_and_is_undone():
    # all its walls in a row fit a sheet
    target = add(roof="NONE", length=5.0, width=4.0)
    corner = next(
        edge.index
        for edge in target.data.edges
        if all(abs(target.data.vertices[v].co.x) + abs(target.data.vertices[v].co.y) < 1e-4 for v in edge.vertices)
    )
    marks.set_roles(target.data, [corner], Role.CLOSURE)
    keep_step()
    target.stowfold.building.height = 80.0
    target.stowfold.building.roof = "GABLE"
    keep_step("sizes")
    assert do(bpy.ops.stowfold.rebuild_building) == {"FINISHED"}
    target = bpy.context.scene.objects["House"]
    # three corners and the ridge bend; walls that are open at a corner need no break
    assert roles_of(target).count(Role.CLOSURE) == 1
    assert roles_of(target).count(Role.FLEX) == 4
    assert roles_of(target).count(Role.BREAK) == 0
    undo()
    undo()
    target = bpy.context.scene.objects["House"]
    assert target.stowfold.building.height == 60.0
    assert len(target.data.polygons) == 4 + roles_of(target).count(Role.BREAK)
    assert roles_of(target).count(Role.CLOSURE) == 1


@pytest.mark.slow
def test_sizes_and_marks_are_saved_and_duplicated(save):
    target = add(plan="U", bar=2.0, wing=2.0, roof="NONE", length=9.0)
    copy = target.copy()
    copy.data = target.data.copy()
    assert copy.stowfold.building.plan == "U"
    assert roles_of(copy) == roles_of(target)
    before = roles_of(target)
    bpy.ops.wm.open_mainfile(filepath=str(save()))
    target = bpy.context.scene.objects["House"]
    assert roles_of(target) == before
    target.stowfold.building.wing = 3.0
    bpy.context.view_layer.objects.active = target
    assert bpy.ops.stowfold.rebuild_building() == {"FINISHED"}
    assert roles_of(target).count(Role.FLEX) == 8


def test_any_right_angled_outline_is_added_by_its_corners():
    target = add(plan="CORNERS", corners="0,0 6,0 6,4 3,4 3,6 0,6", roof="NONE")
    assert len(target.data.polygons) == 6 + roles_of(target).count(Role.BREAK)


@pytest.mark.parametrize(
    ("fields", "walls", "slopes"),
    one_quick(
        [
            ({"plan": "ROUND", "across": 5.0, "sides": 6, "roof": "PYRAMID"}, 6, 6),
            ({"roof": "LEAN_TO"}, 4, 1),
            ({"roof": "GAMBREL", "lower_share": 0.5}, 4, 4),
            ({"roof": "MANSARD"}, 4, 8),
            ({"length": 6.0, "roof": "CROSSING"}, 4, 8),
            ({"plan": "PLUS", "length": 9.0, "width": 9.0, "roof": "NONE"}, 12, 0),
            ({"plan": "Z", "length": 9.0, "width": 9.0, "roof": "NONE"}, 8, 0),
            ({"plan": "CORNERS", "corners": "0,0 8,0 9,6 1,5", "roof": "NONE"}, 4, 0),
            ({"plan": "T", "width": 7.0, "bar": 4.0, "height": 90.0, "roof": "FLAT", "wings": "OWN"}, 7, 3),
        ]
    ),
)
def test_every_plan_and_roof_of_the_menu_is_added(fields, walls, slopes):
    target = add(**fields)
    feet = [min(target.data.vertices[v].co.z for v in face.vertices) for face in target.data.polygons]
    assert sum(foot < 1e-3 for foot in feet) == walls + roles_of(target).count(Role.BREAK)
    assert sum(foot > 1e-3 for foot in feet) == slopes


def test_fields_are_drawn_for_the_plan_and_roof_they_count_for():
    fields = add().stowfold.building
    drawn = []
    layout = SimpleNamespace(prop=lambda _fields, name, **_options: drawn.append(name))
    layout.column = lambda **_options: layout

    def names(**chosen):
        drawn.clear()
        for name, value in chosen.items():
            setattr(fields, name, value)
        draw_fields(layout, fields)
        return set(drawn)

    assert {"length", "width"} < names(plan="RECTANGLE", roof="HIP") and not {"bar", "lower_pitch"} & set(drawn)
    assert {"length", "width", "bar", "wing"} < names(plan="Z")
    assert {"across", "sides"} < names(plan="ROUND") and "length" not in drawn
    assert {"lower_pitch", "lower_share"} < names(roof="MANSARD")
    assert "lower_share" in names(roof="HALF_HIP") and "lower_pitch" not in drawn
    assert "overhang" in names(roof="FLAT") and "angle" not in drawn and "wings" not in drawn
    assert "wings" in names(plan="U") and "wing_height" not in drawn
    assert {"wing_height", "wing_roof", "wing_angle", "wings_differ"} < names(wings="OWN")
    assert "second_roof" in names(wings_differ=True)
    assert not {"wings_differ", "second_roof"} & names(plan="L") and "wing_roof" in drawn
    assert "wing_angle" not in names(wing_roof="FLAT")


def test_wings_that_differ_have_their_own_sizes():
    fields = {"plan": "U", "length": 10.0, "width": 7.0, "bar": 4.0, "height": 90.0, "roof": "GABLE", "wings": "OWN"}
    target = add(**fields, wings_differ=True, wing_height=45.0, second_height=30.0, second_roof="NONE")
    tops = {round(max(target.data.vertices[v].co.z for v in face.vertices), 3) for face in target.data.polygons}
    scale = reading.mm_per_unit(bpy.context.scene)
    sizes = read_sizes(target.stowfold.building)
    assert [wing.height for wing in sizes.wings] == [45.0, 30.0]
    assert [wing.roof.kind.value for wing in sizes.wings] == ["gable", "none"]
    assert round(30.0 / scale, 3) in tops


@pytest.mark.slow
def test_marks_survive_another_kind_of_roof():
    target = add(roof="GABLE")
    corner = next(
        edge.index
        for edge in target.data.edges
        if all(abs(target.data.vertices[v].co.x) + abs(target.data.vertices[v].co.y) < 1e-4 for v in edge.vertices)
    )
    marks.set_roles(target.data, [corner], Role.CLOSURE)
    for roof in ("GAMBREL", "LEAN_TO", "MANSARD"):
        rebuild(target, roof=roof)
        closed = [
            edge
            for edge, role in zip(target.data.edges, marks.read_roles(target.data).tolist(), strict=True)
            if role == Role.CLOSURE and all(target.data.vertices[v].co.xy.length < 1e-4 for v in edge.vertices)
        ]
        assert len(closed) == 1


@pytest.mark.parametrize(
    "fields",
    [
        {"length": 0.0},
        {"height": 0.0},
        {"rise": 0.0},
        {"overhang": 200.0},
        {"plan": "L", "roof": "PYRAMID"},
        {"plan": "CORNERS", "corners": "0,0 a,b"},
        {"plan": "CORNERS", "corners": "0,0 8,0 0,6 8,6"},
        {"roof": "MANSARD", "lower_pitch": 0.3},
    ],
)
def test_bad_sizes_add_nothing(fields):
    assert bpy.ops.stowfold.add_building(**{**HOUSE, **fields}) == {"CANCELLED"}
    assert not len(bpy.context.scene.objects)
    assert not len(bpy.data.meshes)


@pytest.mark.slow
def test_bad_sizes_leave_the_building_as_it_was():
    target = add()
    before = len(target.data.polygons), roles_of(target)
    target.stowfold.building.overhang = 500.0
    with pytest.raises(RuntimeError, match="overhang is 500 mm"):
        bpy.ops.stowfold.rebuild_building()
    assert (len(target.data.polygons), roles_of(target)) == before


@pytest.mark.parametrize("roof", one_quick(["NONE", "GABLE", "HIP"], "GABLE"))
def test_an_added_building_is_cut_as_it_stands(save, run, roof):
    add(roof=roof)
    code, out, err = run("check", save())
    assert err == []
    assert code == 0
    assert "warning" not in "".join(out).lower()


def breaks_of(target):
    """Return the plan points, in squares, at which the walls part."""
    found = set()
    for edge, role in zip(target.data.edges, marks.read_roles(target.data).tolist(), strict=True):
        if role == Role.BREAK:
            x, y, _ = target.data.vertices[edge.vertices[0]].co
            found.add((round(x / 25.4, 3), round(y / 25.4, 3)))
    return found


def rebuild(target, **fields):
    for name, value in fields.items():
        setattr(target.stowfold.building, name, value)
    assert bpy.ops.stowfold.rebuild_building() == {"FINISHED"}


@pytest.mark.slow
def test_breaks_of_the_tool_are_proposed_again_when_sizes_change(save, run):
    target = add(length=12.0, width=8.0, roof="NONE")
    assert breaks_of(target) == {(6.0, 0.0), (6.0, 8.0)}
    rebuild(target, length=7.0)
    assert breaks_of(target) == {(3.5, 0.0), (3.5, 8.0)}
    # and again: what was proposed is still known as proposed
    rebuild(target, length=12.0)
    assert breaks_of(target) == {(6.0, 0.0), (6.0, 8.0)}
    assert run("check", save())[0] == 0


@pytest.mark.slow
def test_a_break_of_the_maker_stays_where_it_is(save, run):
    target = add(length=12.0, width=8.0, roof="NONE")
    front = [
        edge.index
        for edge, role in zip(target.data.edges, marks.read_roles(target.data).tolist(), strict=True)
        if role == Role.BREAK and target.data.vertices[edge.vertices[0]].co.y < 1.0
    ]
    # as if the maker had cut and marked it
    marks.set_made(target.data, front, Role.PLAIN)
    rebuild(target, length=14.0)
    assert (6.0, 0.0) in breaks_of(target)
    assert (6.0, 8.0) not in breaks_of(target)
    rebuild(target, length=16.0)
    assert (6.0, 0.0) in breaks_of(target)
    assert run("check", save())[0] == 0


@pytest.mark.slow
def test_a_roof_line_that_the_maker_unmarked_stays_apart():
    target = add(roof="GABLE")
    ridge = max(target.data.edges, key=lambda edge: min(target.data.vertices[v].co.z for v in edge.vertices)).index
    assert marks.read_roles(target.data)[ridge] == Role.FLEX
    marks.set_roles(target.data, [ridge], Role.PLAIN)
    for _ in range(2):
        rebuild(target)
        assert roles_of(target).count(Role.FLEX) == 4


def test_no_break_is_proposed_over_an_opening():
    target = add(length=7.0, width=6.0, roof="NONE")
    place = min(breaks_of(target))
    bpy.context.view_layer.update()
    bpy.context.scene.cursor.location = (place[0] * 25.4, place[1] * 25.4, 0.0)
    assert bpy.ops.stowfold.add_opening(kind="DOOR") == {"FINISHED"}
    bpy.context.view_layer.objects.active = target
    rebuild(target)
    assert place not in breaks_of(target)


@pytest.mark.parametrize(
    ("fields", "said"),
    one_quick(
        [
            ({"plan": "L", "roof": "PYRAMID"}, "A pyramid needs a plan without inner corners"),
            ({"height": 6.0, "roof": "NONE"}, "Walls 6 mm high are too low for their corners to bend in birch plywood"),
            ({"length": 60.0, "width": 40.0}, "A piece of the roof is"),
        ]
    ),
)
def test_what_cannot_be_cut_is_said_and_not_added(capfd, fields, said):
    assert bpy.ops.stowfold.add_building(**{**HOUSE, **fields}) == {"CANCELLED"}
    assert said in capfd.readouterr().out
    assert not len(bpy.context.scene.objects)


def test_a_new_building_is_not_warned_about():
    assert bpy.ops.stowfold.add_building() == {"FINISHED"}
    fields = bpy.context.object.stowfold.building
    said = []
    layout = SimpleNamespace(prop=lambda *_args, **_options: None)
    layout.column = lambda **_options: layout
    draw_fields(layout, fields, lambda _column, text: said.append(text))
    assert said == ["A large hand passes over walls up to 60 mm."]
    fields.height = 60.5
    draw_fields(layout, fields, lambda _column, text: said.append(text))
    assert "meets the wall" in said[1]
