"""Openings as objects: added, undone, moved, copied, snapped, saved, read; and proposals put on the mesh."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import bpy
import numpy as np
import pytest
from host_window import do, in_window, keep_step, redo, undo
from mathutils import Matrix, Vector
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Proposal
from stowfold.geometry.plan.opening_body import GLASS, LEAF, PANE
from stowfold.geometry.solid.filling import Filling, FillingKind
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.opening import OpeningTrim
from stowfold.geometry.solid.solid import Role
from stowfold.host import marks, reading
from stowfold.jobs import results
from stowfold.plot import panel, settled

#: Four walls over points 0 to 3 below and 4 to 7 above.
RING = [(k, (k + 1) % 4, (k + 1) % 4 + 4, k + 4) for k in range(4)]


def building(**fields):
    assert bpy.ops.stowfold.add_building(**{"length": 9.0, "width": 6.0, **fields}) == {"FINISHED"}
    return bpy.context.object


def opening(kind, x, y=-3.0):
    bpy.context.scene.cursor.location = (x, y, 0.0)
    assert bpy.ops.stowfold.add_opening(kind=kind) == {"FINISHED"}
    return bpy.context.object


def shed():
    """A ring of walls that bears no mark."""
    mesh = bpy.data.meshes.new("Shed")
    corners = [(0, 0), (200, 0), (200, 120), (0, 120)]
    faces = [(k, (k + 1) % 4, (k + 1) % 4 + 4, k + 4) for k in range(4)]
    mesh.from_pydata([(*corner, z) for z in (0, 62) for corner in corners], [], faces)
    made = bpy.data.objects.new("Shed", mesh)
    bpy.context.scene.unit_settings.scale_length = 0.001
    bpy.context.collection.objects.link(made)
    return made


def facets_of(*objects):
    bpy.context.view_layer.update()
    return find_facets(reading.read_solid(objects, bpy.context.scene))


@pytest.mark.parametrize("scale", [0.001, 0.0254, 1.0])
def test_a_door_cuts_its_wall_and_leaves_the_mesh_alone(scale):
    scene = bpy.context.scene
    scene.unit_settings.scale_length = scale
    house = building(roof="GABLE")
    before = [tuple(vertex.co) for vertex in house.data.vertices]
    unit = reading.mm_per_unit(scene)
    door = opening("DOOR", 60.0 / unit, -3.0 / unit)
    assert door.parent == house
    facets = facets_of(house)
    assert not facets.findings
    front = facets.ring(facets.facets[0])
    # 60 high, 4.5 squares long to the break, less a door of 30 x 45 at 2.5 squares
    x, y = front.T
    assert abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2 == pytest.approx(60 * 114.3 - 30 * 45, abs=0.01)
    assert sorted(set(np.round(x, 3)))[1:3] == pytest.approx([63.5 - 15, 63.5 + 15], abs=1e-3)
    assert [tuple(vertex.co) for vertex in house.data.vertices] == before


@pytest.mark.parametrize("x", [0.0, 4.4])
def test_a_door_added_near_a_corner_or_a_break_can_be_cut(x):
    house = building()
    opening("DOOR", x)
    bpy.context.view_layer.objects.active = house
    assert bpy.ops.stowfold.check() == {"FINISHED"}
    assert not [found for found in results.for_object(house).outcome.findings if found.severity is Severity.ERROR]


def test_adding_an_opening_is_undone_and_redone():
    building()
    keep_step()
    do(bpy.ops.stowfold.add_opening, kind="WINDOW")
    assert len(bpy.context.scene.objects) == 2
    undo()
    assert len(bpy.context.scene.objects) == 1
    redo()
    assert bpy.context.scene.objects["Window"].stowfold.opening.kind == "WINDOW"


def test_sizes_are_changed_on_the_object_and_its_kind_brings_its_own():
    house = building()
    door = opening("DOOR", 60.0)
    door.stowfold.opening.width = 40.0
    bpy.context.view_layer.update()
    assert door.dimensions.x == pytest.approx(40.0)
    assert np.ptp(reading.read_solid([house], bpy.context.scene).openings[0].points[:, 0]) == pytest.approx(40.0)
    door.stowfold.opening.kind = "ARCH"
    assert door.stowfold.opening.width == pytest.approx(32.0)
    assert len(door.data.vertices) > 10


def test_a_copy_that_was_moved_by_hand_snaps_to_the_nearest_wall_and_to_half_squares():
    house = building()
    door = opening("DOOR", 60.0)
    copy = door.copy()
    copy.data = door.data.copy()
    bpy.context.collection.objects.link(copy)
    copy.matrix_world = Matrix.Translation((222.0, 80.0, 9.0)) @ Matrix.Rotation(np.radians(80.0), 4, "Z")
    for target in bpy.context.view_layer.objects:
        target.select_set(target == copy)
    assert bpy.ops.stowfold.snap_openings() == {"FINISHED"}
    bpy.context.view_layer.update()
    assert tuple(copy.matrix_world.translation) == pytest.approx((228.6, 76.2, 0.0), abs=1e-3)
    assert not facets_of(house).findings
    assert len(reading.read_solid([house], bpy.context.scene).openings) == 2


def test_openings_are_saved_and_appended_with_their_building(tmp_path: Path):
    house = building()
    opening("ARCH", 60.0)
    path = tmp_path / "house.blend"
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    bpy.ops.wm.open_mainfile(filepath=str(path))
    house = bpy.context.scene.objects["House"]
    assert len(reading.read_solid([house], bpy.context.scene).openings) == 1
    bpy.ops.wm.read_factory_settings(use_empty=True)
    bpy.context.scene.unit_settings.scale_length = 0.001
    with bpy.data.libraries.load(str(path)) as (source, target):
        target.objects = list(source.objects)
    for candidate in target.objects:
        bpy.context.scene.collection.objects.link(candidate)
    house = bpy.context.scene.objects["House"]
    facets = facets_of(house)
    assert len(facets.ring(facets.facets[0])) > 10
    assert reading.find_block_out(bpy.context.scene) == (house,)


@pytest.mark.slow
def test_an_opening_away_from_walls_is_found_and_framed():
    house = building()
    door = opening("DOOR", 60.0)
    door.location.y -= 60.0
    bpy.context.view_layer.update()
    assert bpy.ops.stowfold.check() == {"FINISHED"}
    report = results.for_object(house)
    findings = report.outcome.findings
    where = next(k for k, finding in enumerate(findings) if finding.code == "opening-off-wall")
    assert "60 mm from the nearest wall" in findings[where].message
    with in_window():
        bpy.ops.stowfold.show_finding(index=where)
    assert bpy.context.view_layer.objects.active == door


@pytest.mark.slow
def test_a_moved_opening_makes_the_last_check_stale():
    house = building()
    door = opening("DOOR", 60.0)
    bpy.ops.stowfold.check()
    door.location.x += 25.4
    bpy.context.view_layer.update()
    assert results.refresh_staleness(bpy.context.scene)
    assert results.for_object(house).stale


def test_proposed_breaks_are_cut_into_the_mesh_and_undone():
    house = shed()
    opening("DOOR", 60.0)
    assert bpy.ops.stowfold.mark_proposal(what="NET") == {"FINISHED"}
    faces = len(house.data.polygons)
    keep_step()
    assert do(bpy.ops.stowfold.mark_proposal, what="BREAKS") == {"FINISHED"}
    house = bpy.context.scene.objects["Shed"]
    assert len(house.data.polygons) == faces + 2
    assert marks.read_roles(house.data).tolist().count(Role.BREAK) == 2
    bpy.context.view_layer.update()
    scene = bpy.context.scene
    outcome = run(reading.read_solid([house], scene), reading.read_settings(scene), title="House")
    assert outcome.proof.holds
    assert len(outcome.joiners) == 2
    # a second proposal finds nothing open
    assert bpy.ops.stowfold.mark_proposal(what="BREAKS") == {"CANCELLED"}
    undo()
    house = bpy.context.scene.objects["Shed"]
    assert len(house.data.polygons) == faces
    assert Role.BREAK not in marks.read_roles(house.data)


def test_what_is_checked_with_a_proposal_is_what_is_cut_once_it_is_marked():
    house = shed()
    opening("DOOR", 60.0)
    bpy.context.view_layer.update()
    scene = bpy.context.scene
    settings = reading.read_settings(scene)
    proposed = run(reading.read_solid([house], scene), replace(settings, propose=Proposal.ALL), title="Shed")
    for what in ("NET", "BREAKS"):
        assert bpy.ops.stowfold.mark_proposal(what=what) == {"FINISHED"}
    marked = run(reading.read_solid([house], scene), settings, title="Shed")
    sizes = [sorted((part.kind.value, round(part.area, 1)) for part in outcome.parts) for outcome in (proposed, marked)]
    assert sizes[0] == sizes[1]
    assert len(proposed.joiners) == len(marked.joiners) > 0
    assert [finding.code for finding in proposed.findings] == [found.code for found in marked.findings]


@pytest.mark.slow
def test_proposed_breaks_are_cut_in_edit_mode_and_through_a_turned_and_scaled_object():
    house = building()
    house.rotation_euler.z = 0.4
    house.scale = (2.0, 1.5, 1.0)
    bpy.context.view_layer.update()
    bpy.ops.object.mode_set(mode="EDIT")
    assert bpy.ops.stowfold.mark_proposal(what="BREAKS") == {"FINISHED"}
    bpy.ops.object.mode_set(mode="OBJECT")
    scene = bpy.context.scene
    outcome = run(reading.read_solid([house], scene), reading.read_settings(scene), title="House")
    assert outcome.proof.holds
    assert len(outcome.joiners) >= 2


def test_proposed_bends_mark_a_plain_ring_of_walls():
    mesh = shed().data
    assert bpy.ops.stowfold.mark_proposal(what="NET") == {"FINISHED"}
    assert marks.read_roles(mesh).tolist().count(Role.FLEX) == 4


@pytest.mark.slow
def test_a_leaf_is_hung_cut_and_swings():
    house = building()
    door = opening("DOOR", 60.0)
    door.stowfold.opening.leaf = "RIGHT"
    door.stowfold.opening.inward = True
    bpy.ops.stowfold.mark_proposal(what="BREAKS")
    bpy.context.view_layer.update()
    scene = bpy.context.scene
    outcome = run(reading.read_solid([house], scene), reading.read_settings(scene), title="House")
    swings = [lattice.swing for part in outcome.parts for lattice in part.lattices if lattice.swing]
    assert [abs(swing) for swing in swings] == pytest.approx([np.radians(100.0)])
    assert outcome.proof.holds
    assert not [finding for finding in outcome.findings if finding.severity is Severity.ERROR]


def test_snapping_is_undone():
    building()
    door = opening("DOOR", 60.0)
    door.location = (71.0, -5.0, 0.0)
    bpy.context.view_layer.update()
    keep_step("moved")
    before = tuple(bpy.data.objects["Door"].location)
    assert do(bpy.ops.stowfold.snap_openings) == {"FINISHED"}
    assert tuple(bpy.data.objects["Door"].location) != before
    undo()
    assert tuple(bpy.data.objects["Door"].location) == pytest.approx(before)


def test_an_opening_that_was_moved_by_hand_comes_back_to_its_wall_and_keeps_what_was_meant():
    building()
    window = opening("WINDOW", 60.0)
    sill = window.stowfold.opening.sill
    # along its wall, off it, and up
    window.matrix_world.translation += Vector((20.0, -12.0, 5.0))
    bpy.context.view_layer.update()
    assert settled.settle(bpy.context.scene, [window]) == 1
    bpy.context.view_layer.update()
    assert tuple(window.matrix_world.translation) == pytest.approx((63.5 + 20.0, 0.0, 0.0), abs=1e-3)
    assert window.stowfold.opening.sill == pytest.approx(sill + 5.0, abs=1e-3)
    # and nothing is written where nothing is off: no edit follows from an edit
    assert settled.settle(bpy.context.scene, [window]) == 0


def test_a_door_stays_on_the_floor_and_what_was_put_aside_stays_aside():
    building()
    door = opening("DOOR", 60.0)
    door.matrix_world.translation += Vector((0.0, 0.0, 9.0))
    bpy.context.view_layer.update()
    assert settled.settle(bpy.context.scene, [door]) == 1
    bpy.context.view_layer.update()
    assert door.matrix_world.translation.z == pytest.approx(0.0, abs=1e-4)
    door.matrix_world.translation += Vector((0.0, -100.0, 0.0))
    bpy.context.view_layer.update()
    assert settled.settle(bpy.context.scene, [door]) == 0


def test_bars_are_chosen_read_and_shown_and_undone():
    house = building()
    window = opening("WINDOW", 60.0)
    keep_step("before")
    window.stowfold.opening.filling = "BARS"
    keep_step("bars")
    (read,) = reading.read_solid([house], bpy.context.scene).openings
    assert read.filling == Filling(FillingKind.BARS)
    # nine panes, seen from both sides
    assert sum(face.material_index == GLASS for face in window.data.polygons) == 2 * 9
    undo()
    window = bpy.context.scene.objects["Window"]
    assert window.stowfold.opening.filling == "NONE"
    assert not any(face.material_index == GLASS for face in window.data.polygons)
    redo()
    assert bpy.context.scene.objects["Window"].stowfold.opening.filling == "BARS"


def test_trim_is_switched_on_for_the_building_and_off_for_one_opening():
    house = building()
    window, scene = opening("WINDOW", 60.0), bpy.context.scene
    assert reading.read_settings(scene).trim.stock is None
    window.stowfold.opening.trim = "SILL"
    assert reading.read_settings(scene).trim.stock.thickness == pytest.approx(1.5)
    (read,) = reading.read_solid([house], scene).openings
    assert read.trim == OpeningTrim(frames=True, sills=True)
    window.stowfold.opening.trim = "NONE"
    assert reading.read_settings(scene).trim.stock is None
    scene.stowfold.trim.frames = True
    settings = reading.read_settings(scene)
    assert settings.trim.frames
    assert settings.trim.width == pytest.approx(3.0)
    (read,) = reading.read_solid([house], scene).openings
    assert read.trim == OpeningTrim()


def test_an_opening_shows_faces_on_both_sides_of_its_wall_and_its_leaf_swung_open():
    building()
    door = opening("DOOR", 60.0)
    assert (door.display_type, door.show_in_front, door.hide_render) == ("TEXTURED", False, True)
    panes = [face for face in door.data.polygons if face.material_index == PANE]
    assert sorted(round(face.normal.y) for face in panes if face.area > 1000.0) == [-1, 1]
    assert len(door.data.polygons) == len(panes)
    door.stowfold.opening.swing = np.radians(90.0)
    for leaf, inward, jamb, out in (
        ("LEFT", False, -15.0, -30.0),
        ("RIGHT", False, 15.0, -30.0),
        ("LEFT", True, -15.0, 30.0),
    ):
        door.stowfold.opening.leaf, door.stowfold.opening.inward = leaf, inward
        (swung,) = [face for face in door.data.polygons if face.material_index == LEAF]
        corners = np.array([door.data.vertices[index].co[:] for index in swung.vertices])
        assert corners[:, 0] == pytest.approx([jamb] * 4, abs=1e-3)
        assert np.ptp(corners[:, 1]) == pytest.approx(30.0) and corners[:, 1].sum() == pytest.approx(2 * out)


def test_what_passes_an_open_leaf_is_told_beside_its_opening():
    shed()
    door = opening("DOOR", 40.0)
    fields = door.stowfold.opening
    assert panel._leaf_words(fields, bpy.context.scene) == ()
    fields.leaf = "LEFT"
    cut, free = panel._leaf_words(fields, bpy.context.scene)
    assert cut.startswith("Cut ") and free.startswith("Open, it lets 2") and free.endswith(" mm pass")
    fields.width = 5.0
    assert panel._leaf_words(fields, bpy.context.scene) == ("No leaf fits here",)
