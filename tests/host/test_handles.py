"""Handles in the view: where they are, what a drag along their line sets, and that the rest stays."""

from __future__ import annotations

import math

import bpy
import numpy as np
import pytest
from stowfold.plot.handles import Grip, handles_of

SQUARE = 25.4


def house(**fields):
    sizes = {"length": 5.0, "width": 4.0, "roof": "GABLE", "pitch_as": "ANGLE", "angle": math.radians(40.0), **fields}
    assert bpy.ops.stowfold.add_building(**sizes) == {"FINISHED"}
    bpy.context.view_layer.update()
    return bpy.context.object


def window():
    house(roof="NONE")
    bpy.context.scene.cursor.location = (2.0 * SQUARE, -3.0, 0.0)
    assert bpy.ops.stowfold.add_opening(kind="WINDOW") == {"FINISHED"}
    bpy.context.view_layer.update()
    return bpy.context.object


def named(target, name, number=0):
    return [handle for handle in handles_of(target, bpy.context.scene) if handle.name == name][number]


def drag(target, handle, by, *, free=False):
    """Drag a handle by so many mm along its line, and return what is said."""
    said = Grip(target, handle).put(target, handle.reach + by, free=free)
    bpy.context.view_layer.update()
    return said


def test_handles_lie_where_their_sizes_are():
    target = house()
    places = {handle.name: handle.place for handle in handles_of(target, bpy.context.scene)}
    points = np.array([vertex.co[:] for vertex in target.data.vertices])
    assert places["Length"] == pytest.approx([5 * SQUARE, 2 * SQUARE, 30.0], abs=1e-3)
    assert places["Width"] == pytest.approx([2.5 * SQUARE, 4 * SQUARE, 30.0], abs=1e-3)
    assert places["Wall Height"] == pytest.approx([2.5 * SQUARE, 0.0, 60.0], abs=1e-3)
    assert places["Pitch"][2] == pytest.approx(points[:, 2].max(), abs=1e-3)


@pytest.mark.parametrize("value", ["Length", "Width", "Wall Height", "Pitch"])
def test_a_handle_that_was_dragged_is_under_the_hand(value):
    target = house()
    handle = named(target, value)
    drag(target, handle, 9.0, free=True)
    assert named(target, value).place == pytest.approx(handle.place + 9.0 * handle.along, abs=2.0)


def test_lengths_snap_to_squares_and_are_free_with_ctrl():
    target = house(roof="NONE")
    length = named(target, "Length")
    assert drag(target, length, 1.4 * SQUARE) == "Length: 6 squares"
    assert target.stowfold.building.length == pytest.approx(6.0)
    assert drag(target, length, 1.4 * SQUARE, free=True) == "Length: 6.4 squares"
    assert target.stowfold.building.length == pytest.approx(6.4)


def test_a_drag_that_is_given_up_leaves_everything_as_it_was():
    target = window()
    before = target.matrix_world.copy(), target.stowfold.opening.width
    grip = Grip(target, named(target, "Jamb to Jamb", 1))
    grip.put(target, 50.0, free=False)
    grip.put_back(target)
    bpy.context.view_layer.update()
    assert np.abs(np.array(target.matrix_world) - np.array(before[0])).max() < 1e-4
    assert target.stowfold.opening.width == before[1]


@pytest.mark.parametrize(("number", "sides"), [(0, (-16.0, 10.0)), (1, (-10.0, 16.0))])
def test_one_side_of_an_opening_moves_and_the_other_one_stays(number, sides):
    target = window()
    foot = target.matrix_world.translation.x
    assert drag(target, named(target, "Jamb to Jamb", number), 6.0) == "Jamb to Jamb: 26 mm"
    xs = [(target.matrix_world @ vertex.co).x - foot for vertex in target.data.vertices]
    assert (min(xs), max(xs)) == pytest.approx(sides, abs=1e-3)
    # and never beyond the side that stays
    assert drag(target, named(target, "Jamb to Jamb", number), -90.0) == "Jamb to Jamb: 3 mm"
    xs = [(target.matrix_world @ vertex.co).x - foot for vertex in target.data.vertices]
    stays = (max, min)[number]
    assert stays(xs) == pytest.approx(stays(sides), abs=1e-3)


def test_an_opening_is_raised_and_moved_by_its_handles():
    target = window()
    drag(target, named(target, "Sill"), 4.2)
    drag(target, named(target, "Height"), -2.0)
    assert (target.stowfold.opening.sill, target.stowfold.opening.height) == pytest.approx((26.0, 20.0))
    foot = target.matrix_world.translation.x
    drag(target, named(target, "Place"), 0.6 * SQUARE)
    assert target.matrix_world.translation.x == pytest.approx(foot + 0.5 * SQUARE, abs=1e-3)


def test_the_ridge_sets_the_pitch_in_the_words_of_the_maker():
    target = house()
    run = 2.0 * SQUARE
    ridge = named(target, "Pitch")
    assert drag(target, ridge, run * (math.tan(math.radians(45.0)) - math.tan(math.radians(40.0)))) == "Pitch: 45°"
    target.stowfold.building.pitch_as = "RISE"
    target.stowfold.building.rise = 6.0
    bpy.context.view_layer.update()
    assert drag(target, named(target, "Pitch"), run / 2.0) == "Pitch: 12 in 12"


def test_what_is_none_of_ours_has_no_handles():
    bpy.ops.mesh.primitive_cube_add()
    assert handles_of(bpy.context.object, bpy.context.scene) == ()
    assert handles_of(None, bpy.context.scene) == ()
