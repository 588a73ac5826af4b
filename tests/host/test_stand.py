"""The building as it will stand, in the host: made from the last check, folded by a slider, gone without a trace."""

from __future__ import annotations

from dataclasses import replace

import bpy
import numpy as np
import pytest
from host_window import do, keep_step, redo, undo
from mathutils import Vector
from stowfold.cut import sheets
from stowfold.geometry.part import PartKind
from stowfold.host import reading
from stowfold.jobs import results
from stowfold.stand import bodies, preview
from stowfold.table import lifted
from stowfold.window import stood_in

#: Side of a square, mm.
SQUARE = 25.4


def stand():
    return bpy.context.scene.stowfold.stand


def boards():
    return {target["stowfold_part"]: target for target in bpy.data.objects if "stowfold_part" in target}


def corners(target) -> np.ndarray:
    """The points of a board in mm as it is shown."""
    points = np.empty(3 * len(target.data.vertices), dtype=np.float32)
    target.data.vertices.foreach_get("co", points)
    matrix = np.array(target.matrix_basis)
    return points.reshape(-1, 3) @ matrix[:3, :3].T + matrix[:3, 3]


@pytest.fixture(autouse=True)
def nothing_left():
    yield
    preview.forget()


@pytest.fixture
def standing(checked_ring):
    stand().fold = 1.0
    preview.put()
    lifted.put()
    return checked_ring


def test_boards_stand_where_the_proof_has_them(standing):
    outcome = results.for_object(standing).outcome
    assert set(boards()) == {part.id for part in outcome.parts}
    for part in outcome.parts:
        shown = corners(boards()[part.id])
        for panel in part.panels:
            # with a panel the film has its own rounding, the host single precision
            ring = panel.stands.apply(panel.ring)
            far = np.linalg.norm(shown[:, None] - ring[None], axis=2).min(axis=0)
            # a floor is shown a little above the table that the maker's figures stand on
            raised = stood_in.FLOOR_RAISED + 1e-3 if part.kind is PartKind.FLOOR else 1e-3
            assert np.median(far) < raised, part.id


def test_the_depth_buffer_tells_a_floor_from_the_table_that_it_lies_on(standing):
    """Seen from straight above, as far away as a view must be to show the whole table; depths as in OpenGL 4.6, 13.8,
    with the projection of glFrustum, in the 24 bits that every host has."""
    assert bpy.ops.stowfold.add_table() == {"FINISHED"}
    table = bpy.context.object
    outcome = results.for_object(standing).outcome
    (floor,) = (part for part in outcome.parts if part.kind is PartKind.FLOOR)
    top = max((table.matrix_world @ Vector(corner)).z for corner in table.bound_box)
    above = corners(boards()[floor.id])[:, 2].max() - top
    view = next(
        space
        for screen in bpy.data.screens
        for area in screen.areas
        for space in area.spaces
        if space.type == "VIEW_3D"
    )
    near, far = view.clip_start * SQUARE, view.clip_end * SQUARE  # a unit of a maker's scene is a square
    away = max(table.dimensions) * view.lens / 72.0  # the host's views show 72 mm over the lens at a distance of 1

    def depth(distance):
        return far / (far - near) * (1.0 - near / distance)

    assert (depth(away) - depth(away - above)) * 2**24 > 2.0


def test_a_floor_in_its_box_is_not_raised(standing):
    stand().fold = 2.0
    outcome = results.for_object(standing).outcome
    (floor,) = (part for part in outcome.parts if part.kind is PartKind.FLOOR)
    lies = corners(boards()[floor.id])[:, 2]
    box = preview.film().box
    assert box[0, 2] - 1e-3 <= lies.min() and lies.max() <= box[1, 2] + 0.2


def test_no_mesh_of_the_scene_is_added_and_nothing_can_be_selected(standing):
    meshes = [target for target in bpy.context.scene.objects if target.type == "MESH"]
    assert meshes == [standing]
    (shower,) = (target for target in bpy.context.scene.objects if target.instance_collection is not None)
    assert shower.hide_select and shower.parent == standing
    assert do(bpy.ops.stowfold.check) == {"FINISHED"}


def test_folding_is_no_edit_of_the_model(standing):
    bpy.context.view_layer.update()
    edits = []
    told = lambda: edits.append(stand().fold)  # noqa: E731
    results.listen(told)
    try:
        stand().fold = 0.5
        bpy.context.view_layer.update()
        assert not edits
        standing.location.x += 1.0
        bpy.context.view_layer.update()
        assert edits == [0.5]
    finally:
        results._listeners.remove(told)


def test_the_model_steps_back_and_comes_back(standing):
    assert standing.display_type == "WIRE" and standing.hide_render
    stand().show = False
    lifted.put()
    assert standing.display_type == "TEXTURED" and not standing.hide_render
    assert not boards() and bodies.made_from() is None


def test_flat_parts_lie_where_the_sheets_are_drawn(standing):
    stand().fold = 0.0
    shown = sheets.showing(bpy.context)
    for placement in shown.placements:
        outline = np.asarray(shown.parts[placement.part].outline.exterior.coords)
        drawn = placement.place(outline) + shown.spread.corners[placement.sheet]
        lies = corners(boards()[placement.part])[:, :2]
        assert lies.min(axis=0) == pytest.approx(drawn.min(axis=0), abs=1e-3)
        assert lies.max(axis=0) == pytest.approx(drawn.max(axis=0), abs=1e-3)


def test_no_line_of_the_model_stays_while_its_boards_are_folded(standing, tmp_path):
    standing.select_set(True)
    stand().fold = 0.5
    lifted.put()
    assert standing.hide_get() and bpy.context.object == standing
    assert results.for_object(standing).solid.is_same(reading.read_solid([standing], bpy.context.scene))
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "folded.blend"), copy=True)
    assert standing.hide_get()  # for the time of saving alone it was not
    stand().fold = 1.0
    lifted.put()
    assert not standing.hide_get() and standing.select_get() and standing.display_type == "WIRE"
    standing.hide_set(True)
    stand().fold = 0.5
    lifted.put()
    stand().fold = 1.0
    lifted.put()
    assert standing.hide_get()  # what the maker hides stays hidden
    standing.hide_set(False)


def test_lines_of_boards_are_left_out_where_boards_are_shown(standing):
    assert stood_in.are_shown() and stood_in.stand()
    stand().fold = 0.5
    assert stood_in.are_shown() and not stood_in.stand()
    stand().show = False
    assert not stood_in.are_shown() and stood_in.stand()


def test_who_hid_the_model_from_renders_finds_it_hidden_again(checked_ring):
    checked_ring.hide_render = True
    preview.put()
    lifted.put()
    stand().show = False
    lifted.put()
    assert checked_ring.hide_render


def test_the_slider_moves_boards_and_bends_strips(standing):
    wall = next(part.id for part in results.for_object(standing).outcome.parts if part.lattices)
    before = corners(boards()[wall])
    stand().fold = 0.0
    flat = corners(boards()[wall])
    part = next(part for part in results.for_object(standing).outcome.parts if part.id == wall)
    assert np.ptp(flat[:, 2]) == pytest.approx(part.thickness, abs=1e-3)
    stand().fold = 1.0
    assert np.abs(corners(boards()[wall]) - before).max() < 1e-3


def test_every_face_knows_its_place_on_the_board(standing):
    for part in results.for_object(standing).outcome.parts:
        mesh = boards()[part.id].data
        places = np.empty(2 * len(mesh.loops), dtype=np.float32)
        mesh.uv_layers["Board (mm)"].uv.foreach_get("vector", places)
        places = places.reshape(-1, 2)
        assert places.min(axis=0) == pytest.approx(part.outline.bounds[:2], abs=1e-3)
        assert places.max(axis=0) == pytest.approx(part.outline.bounds[2:], abs=1e-3)
        assert not mesh.validate()


def test_another_check_refills_what_is_there(standing):
    names = {target.name for target in boards().values()}
    report = results.for_object(standing)
    first = bodies.made_from()
    assert do(bpy.ops.stowfold.check) == {"FINISHED"}
    assert results.for_object(standing) is not report
    preview.put()
    assert bodies.made_from() == first + 1
    assert {target.name for target in boards().values()} == names


def test_deleting_the_model_takes_its_boards_along(standing):
    bpy.data.objects.remove(standing)
    preview.put()
    assert not boards() and not [collection for collection in bpy.data.collections if "stowfold_film" in collection]
    assert not [material for material in bpy.data.materials if "stowfold_part" in material]


def test_nothing_of_it_is_saved(standing, save):
    path = save()
    bpy.ops.wm.open_mainfile(filepath=str(path))
    assert not boards() and len(bpy.data.objects) == 1
    (house,) = bpy.data.objects
    assert house.display_type == "TEXTURED" and not house.hide_render


def test_undo_and_redo_of_folding(standing):
    keep_step()
    assert do(bpy.ops.stowfold.fold_to, place="STACKED") == {"FINISHED"}
    assert stand().fold == 2.0
    undo()
    preview.put()
    assert stand().fold == 1.0 and boards()
    redo()
    preview.put()
    assert stand().fold == 2.0
    outcome = results.latest().outcome
    shown = np.concatenate([corners(target) for target in boards().values()])
    assert np.ptp(shown, axis=0) == pytest.approx(outcome.stow.box, abs=0.2)  # lines lie just above faces


def test_an_animation_goes_from_flat_to_the_box_and_can_be_undone(standing):
    keep_step()
    scene = bpy.context.scene
    scene.frame_start = 1
    assert do(bpy.ops.stowfold.animate_folding, seconds=2.0, rest=0.5) == {"FINISHED"}
    folds = []
    for frame in range(scene.frame_start, scene.frame_end + 1, 6):
        scene.frame_set(frame)
        folds.append(scene.stowfold.stand.fold)
    assert folds[0] == 0.0 and folds[-1] == pytest.approx(2.0, abs=0.1) and folds == sorted(folds)
    moved = corners(next(iter(boards().values())))
    scene.frame_set(scene.frame_start)
    assert np.abs(corners(next(iter(boards().values()))) - moved).max() > 10.0
    undo()
    assert bpy.context.scene.animation_data is None or bpy.context.scene.animation_data.action is None


def test_it_asks_for_a_check_first(add_ring):
    add_ring()
    with pytest.raises(RuntimeError, match="Check the building first"):
        bpy.ops.stowfold.fold_to(place="FLAT")


def test_boards_of_the_same_parts_are_filled_once(standing, monkeypatch):
    """An edit brings two outcomes, before and after its sheets; what undo left is filled again."""
    filled = []
    monkeypatch.setattr(bodies, "_fill", lambda mesh, made, unit: filled.append(made.part.id))
    report = results.for_object(standing)
    results.keep(replace(report, outcome=replace(report.outcome, title="laid out")))
    number = bodies.made_from()
    preview.put()
    assert bodies.made_from() == number + 1 and filled == []
    bodies.doubt()
    results.keep(replace(report, outcome=replace(report.outcome, title="once more")))
    preview.put()
    assert set(filled) == set(boards())
