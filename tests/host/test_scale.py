"""The scale of a scene: one unit is one square, stored with the first thing that is added, and nothing is rescaled."""

from __future__ import annotations

import bpy
import numpy as np
import pytest
from host_window import do, keep_step, redo, undo
from stowfold.host import reading, scale, table
from stowfold.host.lengths import mm_per_unit, to_units
from stowfold.plot.building_fields import WALL_HEIGHT

SQUARE = 25.4


def size_of(name):
    """Return the size of an object in units of the scene, as the host shows it."""
    bpy.context.view_layer.update()
    return tuple(bpy.data.objects[name].dimensions)


def add_house(**fields):
    assert bpy.ops.stowfold.add_building(length=9.0, width=6.0, roof="NONE", **fields) == {"FINISHED"}
    return bpy.context.object


def add_everything():
    """Add one of each thing that there is to add."""
    house = add_house()
    ops = bpy.ops.stowfold
    for add in (lambda: ops.add_opening(kind="DOOR"), ops.add_table, ops.propose_seats, ops.add_seat):
        assert add() == {"FINISHED"}
    for add in (ops.add_miniature, ops.add_furniture):
        assert add() == {"FINISHED"}
    return house


def settings_of_the_host():
    """Return the unit, snapping and view settings of the file: what fits as it is must stay as it is."""
    units, tools = bpy.context.scene.unit_settings, bpy.context.scene.tool_settings
    found = {("units", name): getattr(units, name) for name in ("system", "scale_length", "length_unit")}
    found |= {("snap", name): str(getattr(tools, name)) for name in ("use_snap", "snap_elements_base")}
    for screen in bpy.data.screens:
        views = [area.spaces.active for area in screen.areas if area.type == "VIEW_3D"]
        for number, space in enumerate(views):
            view = space.region_3d
            found[screen.name, number] = (space.clip_start, space.clip_end, space.lens, space.overlay.grid_scale)
            found[screen.name, number, "eye"] = (tuple(view.view_location), view.view_distance, view.view_perspective)
    return found


@pytest.mark.parametrize(
    ("scale_length", "square", "stored", "expected"),
    [
        (1.0, 25.4, 0.0, 25.4),
        (1.0, 30.0, 0.0, 30.0),
        (1.0, 30.0, 25.4, 25.4),
        (0.001, 25.4, 0.0, 1.0),
        (0.0254, 30.0, 0.0, 25.4),
        (0.0254, 30.0, 1.0, 1.0),
        (1000.0, 25.4, 0.0, 1e6),
    ],
)
def test_what_is_stored_counts_then_a_unit_scale_that_was_set_then_the_square(scale_length, square, stored, expected):
    scene = bpy.context.scene
    scene.unit_settings.scale_length = scale_length
    scene.stowfold.square, scene.stowfold.unit_mm = square, stored
    assert mm_per_unit(scene) == pytest.approx(expected, rel=1e-12)
    assert to_units(mm_per_unit(scene), scene) == 1.0


def test_in_the_factory_scene_one_square_is_one_unit(factory_scene):
    house = add_house()
    assert size_of("House") == pytest.approx((9.0, 6.0, WALL_HEIGHT / SQUARE), abs=1e-6)
    assert tuple(house.location) == (0.0, 0.0, 0.0)
    points = reading.read_solid([house], factory_scene).points
    assert np.ptp(points, axis=0) == pytest.approx((9 * SQUARE, 6 * SQUARE, WALL_HEIGHT), abs=1e-4)


def test_what_else_is_added_has_its_size_in_squares(factory_scene):
    add_everything()
    assert size_of("Table")[:2] == pytest.approx((1800.0 / SQUARE, 1200.0 / SQUARE), rel=1e-6)
    assert size_of("Miniature") == pytest.approx((25.0 / SQUARE, 25.0 / SQUARE, 35.0 / SQUARE), rel=1e-5)
    assert size_of("Furniture") == pytest.approx((50.0 / SQUARE, 25.0 / SQUARE, 20.0 / SQUARE), rel=1e-5)
    assert size_of("Door")[0] == pytest.approx(30.0 / SQUARE, rel=1e-5)
    assert bpy.data.objects["Seat front 1"].empty_display_size == pytest.approx(40.0 / SQUARE, rel=1e-5)
    assert table.read_table(factory_scene).size == pytest.approx((1800.0, 1200.0), rel=1e-6)


def test_no_setting_of_the_host_and_nothing_of_the_makers_is_touched(factory_scene):
    before, cube = settings_of_the_host(), size_of("Cube")
    assert len([key for key in before if "eye" in key]) >= 4
    add_everything()
    assert settings_of_the_host() == before
    assert size_of("Cube") == cube
    assert tuple(bpy.data.objects["Cube"].location) == (0.0, 0.0, 0.0)


def test_another_square_does_not_rescale_the_scene_nor_what_was_modelled(factory_scene):
    house = add_house()
    # as a mesh that the maker modelled; what was added by its sizes follows the square (test_following)
    house.stowfold.building.was_added = False
    before = reading.read_solid([house], factory_scene).points
    factory_scene.stowfold.square = 30.0
    np.testing.assert_array_equal(reading.read_solid([house], factory_scene).points, before)
    assert scale.scale_words(factory_scene) == "1 unit = 25.4 mm, 1 square = 1.181 units"
    assert "add it again" in scale.scale_advice(factory_scene)


def test_without_anything_of_ours_another_square_may_begin(factory_scene):
    bpy.data.objects.remove(add_house())
    factory_scene.stowfold.square = 30.0
    house = add_house()
    assert size_of("House")[:2] == pytest.approx((9.0, 6.0), abs=1e-6)
    points = reading.read_solid([house], factory_scene).points
    assert np.ptp(points, axis=0)[:2] == pytest.approx((270.0, 180.0), abs=1e-4)
    assert scale.scale_words(factory_scene) == "1 unit = 1 square = 30 mm"
    assert scale.scale_advice(factory_scene) == ""


def test_a_scene_in_millimetres_keeps_its_scale():
    scene = bpy.context.scene
    house = add_house()
    assert size_of("House")[:2] == pytest.approx((9 * SQUARE, 6 * SQUARE), rel=1e-6)
    assert scale.scale_words(scene) == "1 unit = 1 mm, 1 square = 25.4 units"
    assert "is kept" in scale.scale_advice(scene)
    before = reading.read_solid([house], scene).points
    scene.unit_settings.scale_length = 1.0
    np.testing.assert_array_equal(reading.read_solid([house], scene).points, before)


@pytest.mark.parametrize(
    "add",
    [
        lambda ops: ops.add_building(),
        lambda ops: ops.add_opening(kind="DOOR"),
        lambda ops: ops.add_table(),
        lambda ops: ops.add_seat(),
        lambda ops: ops.add_miniature(),
        lambda ops: ops.add_furniture(),
    ],
    ids=["building", "opening", "table", "seat", "miniature", "furniture"],
)
def test_the_first_thing_that_is_added_stores_the_scale(add, add_ring):
    scene = bpy.context.scene
    scene.unit_settings.scale_length = 1.0
    add_ring(scale=1.0 / SQUARE)
    assert scene.stowfold.unit_mm == 0.0
    assert add(bpy.ops.stowfold) == {"FINISHED"}
    assert reading.as_typed(scene.stowfold.unit_mm) == SQUARE


def test_what_is_not_added_stores_nothing(factory_scene):
    assert bpy.ops.stowfold.add_building(length=0.0) == {"CANCELLED"}
    assert bpy.ops.stowfold.propose_seats() == {"CANCELLED"}
    assert factory_scene.stowfold.unit_mm == 0.0


def test_storing_is_undone_and_redone_with_what_was_added(factory_scene):
    keep_step()
    do(bpy.ops.stowfold.add_building)
    undo()
    assert bpy.context.scene.stowfold.unit_mm == 0.0
    redo()
    assert reading.as_typed(bpy.context.scene.stowfold.unit_mm) == SQUARE


def test_the_scale_is_saved_with_the_scene(factory_scene, save):
    add_house()
    factory_scene.stowfold.square = 30.0
    bpy.ops.wm.open_mainfile(filepath=str(save()))
    assert mm_per_unit(bpy.context.scene) == SQUARE


@pytest.mark.slow
def test_an_older_building_in_metres_keeps_its_size(factory_scene, save):
    """Before a unit became a square, a building in the factory scene was blocked out in metres, and nothing stored."""
    house = add_house()
    factory_scene.stowfold.unit_mm = 1000.0
    bpy.ops.stowfold.rebuild_building()
    expected = reading.read_solid([house], factory_scene).points
    factory_scene.stowfold.unit_mm = 0.0
    bpy.ops.wm.open_mainfile(filepath=str(save()))
    scene = bpy.context.scene
    np.testing.assert_array_equal(reading.read_solid([scene.objects["House"]], scene).points, expected)
    assert np.ptp(expected, axis=0)[:2] == pytest.approx((9 * SQUARE, 6 * SQUARE), abs=1e-3)


def test_walls_modelled_in_squares_stay_squares_when_the_file_is_opened(add_ring, save):
    bpy.context.scene.unit_settings.scale_length = 1.0
    add_ring("Smithy", scale=1.0 / SQUARE).stowfold.is_block_out = True
    bpy.ops.wm.open_mainfile(filepath=str(save()))
    scene = bpy.context.scene
    points = reading.read_solid([scene.objects["Smithy"]], scene).points
    assert np.ptp(points, axis=0) == pytest.approx((230.0, 150.0, 60.0), abs=1e-4)
