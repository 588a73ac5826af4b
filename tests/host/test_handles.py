"""Handles in the view: where they are, what a drag along their line sets, and that the rest stays."""

from __future__ import annotations

import math

import bpy
import numpy as np
import pytest
from stowfold.plot.handle import Grip
from stowfold.plot.handles import handles_of

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


@pytest.mark.parametrize("roof", ["GABLE", "HIP", "LEAN_TO", "FLAT", "GAMBREL", "MANSARD"])
def test_the_eaves_stay_under_the_hand_that_sets_the_overhang(roof):
    target = house(roof=roof, overhang=6.0)
    eaves = named(target, "Overhang")
    points = np.array([vertex.co[:] for vertex in target.data.vertices])
    assert np.abs(points - eaves.place).min(axis=0)[2] < 1e-3  # it lies as low as the eaves do
    assert drag(target, eaves, 4.0 / math.hypot(*eaves.along[:2]), free=True) == "Overhang: 10 mm"
    assert target.stowfold.building.overhang == pytest.approx(10.0)
    moved = named(target, "Overhang")
    assert moved.place == pytest.approx(eaves.place + (moved.reach - eaves.reach) * eaves.along, abs=1e-3)
    assert drag(target, moved, -900.0) == "Overhang: 3 mm"


@pytest.mark.parametrize("roof", ["GAMBREL", "MANSARD"])
def test_the_knee_of_a_broken_roof_follows_the_hand_in_and_up(roof):
    target = house(roof=roof, angle=math.radians(25.0), lower_pitch=math.radians(60.0), lower_share=0.5)
    inset = 2.0 * SQUARE
    share = named(target, "Lower Share")
    assert drag(target, share, 0.2 * inset / math.hypot(*share.along[:2])) == "Lower Share: 0.7"
    knee = named(target, "Lower Share")
    assert knee.place == pytest.approx(share.place + (knee.reach - share.reach) * share.along, abs=1e-3)
    run = 0.7 * inset
    steep = named(target, "Lower Pitch")
    assert steep.reach == pytest.approx(run * math.tan(math.radians(60.0)), abs=1e-3)
    up = run * (math.tan(math.radians(65.0)) - math.tan(math.radians(60.0)))
    assert drag(target, steep, up) == "Lower Pitch: 65°"
    # never as flat as the slopes above it, and those never as steep as it
    assert drag(target, named(target, "Lower Pitch"), -900.0) == "Lower Pitch: 27°"
    assert drag(target, named(target, "Pitch"), 900.0) == "Pitch: 25°"
    assert target.stowfold.building.trouble == ""


def test_a_dormer_goes_up_its_slope_by_a_handle():
    house(angle=math.radians(45.0), width=6.0)
    bpy.context.scene.cursor.location = (2.5 * SQUARE, SQUARE, 0.0)
    assert bpy.ops.stowfold.add_upstand(kind="DORMER") == {"FINISHED"}
    bpy.context.view_layer.update()
    target = bpy.context.object
    before = np.array(target.matrix_world.translation)
    assert drag(target, named(target, "Up the Slope"), 4.0 * math.sqrt(2.0)) == "Up the Slope: +6 mm"
    moved = np.array(target.matrix_world.translation) - before
    assert np.linalg.norm(moved) == pytest.approx(6.0, abs=1e-3)
    assert moved[2] == pytest.approx(np.linalg.norm(moved[:2]), abs=1e-3)


def test_marks_stay_while_a_handle_is_dragged():
    target = house(roof="GAMBREL")
    before = sorted(role.value for role in target.data.attributes["stowfold_role"].data)
    grip = Grip(target, named(target, "Overhang"))
    for step in range(1, 5):
        grip.put(target, grip.handle.reach + step, free=False)
    bpy.context.view_layer.update()
    assert sorted(role.value for role in target.data.attributes["stowfold_role"].data) == before


def test_what_is_none_of_ours_has_no_handles():
    bpy.ops.mesh.primitive_cube_add()
    assert handles_of(bpy.context.object, bpy.context.scene) == ()
    assert handles_of(None, bpy.context.scene) == ()


def winged(plan="T", **fields):
    sizes = {"plan": plan, "length": 9.0, "width": 7.0, "bar": 4.0, "wing": 4.0, "height": 105.0, "wings": "OWN"}
    return house(**{**sizes, "wing_height": 40.0, "wing_angle": math.radians(25.0), **fields})


def test_lower_wings_have_handles_where_their_sizes_are():
    places = {handle.name: handle.place for handle in handles_of(winged(), bpy.context.scene)}
    middle, end = 4.5 * SQUARE, 7.0 * SQUARE
    assert places["Wing Height"] == pytest.approx([middle, end, 40.0], abs=1e-3)
    assert places["Wing Length"] == pytest.approx([middle, end, 20.0], abs=1e-3)
    assert places["Wing Pitch"][2] == pytest.approx(40.0 + 2.0 * SQUARE * math.tan(math.radians(25.0)), abs=1e-3)
    assert not any("Wing" in handle.name for handle in handles_of(house(), bpy.context.scene))


@pytest.mark.parametrize(
    ("name", "by", "field", "value"),
    [
        ("Wing Height", 5.0, "wing_height", 45.0),
        ("Wing Length", 1.2 * SQUARE, "width", 8.0),
        ("Wing Pitch", -1.0, "wing_angle", math.radians(24.0)),
    ],
)
def test_a_wing_follows_the_handle_that_was_dragged(name, by, field, value):
    target = winged()
    handle = named(target, name)
    drag(target, handle, by)
    assert getattr(target.stowfold.building, field) == pytest.approx(value)
    assert named(target, name).place == pytest.approx(handle.place + by * handle.along, abs=0.3 * SQUARE)


def test_a_second_wing_has_handles_of_its_own_only_where_it_differs():
    alike = winged("U", wing=3.0, length=10.0)
    assert not [handle for handle in handles_of(alike, bpy.context.scene) if handle.name.startswith("Second")]
    other = winged("U", wing=3.0, length=10.0, wings_differ=True, second_height=50.0, second_angle=math.radians(20.0))
    second = named(other, "Second Wing Height")
    assert second.reach == pytest.approx(50.0, abs=1e-3)
    drag(other, second, 4.0)
    assert other.stowfold.building.second_height == pytest.approx(54.0)
    assert other.stowfold.building.wing_height == pytest.approx(40.0)
