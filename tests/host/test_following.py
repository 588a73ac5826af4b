"""What stands on a roof or before a wall follows the building's sizes, and buildings follow the square of the table."""

from __future__ import annotations

import math

import bpy
import numpy as np
import pytest
from host_window import keep_step, redo, undo
from stowfold.geometry.solid.find import find_facets
from stowfold.host import reading


def building(**fields):
    asked = {"length": 9.0, "width": 6.0, "roof": "GABLE", "angle": math.radians(40.0), **fields}
    assert bpy.ops.stowfold.add_building(**asked) == {"FINISHED"}
    return bpy.context.object


def put(kind, x, y, **fields):
    unit = 25.4 / reading.mm_per_unit(bpy.context.scene)
    bpy.context.scene.cursor.location = (x * unit, y * unit, 0.0)
    added = (
        bpy.ops.stowfold.add_porch(**fields) if kind == "PORCH" else bpy.ops.stowfold.add_upstand(kind=kind, **fields)
    )
    assert added == {"FINISHED"}
    return bpy.context.object


def foot_of(target):
    """Where its front stands, in squares along x and y and in mm upward."""
    bpy.context.view_layer.update()
    place = np.array(target.matrix_world.translation) * reading.mm_per_unit(bpy.context.scene)
    return place / [25.4, 25.4, 1.0]


def standing(house):
    bpy.context.view_layer.update()
    facets = find_facets(reading.read_solid((house,), bpy.context.scene))
    return sorted(facets.source_of(facets.facets[s.facets[0]]) for s in facets.shells if s.stands_on)


def height_at(house, y):
    """Height of the front slope over a place of the plan, mm, of a gable roof whose ridge runs along x."""
    fields = house.stowfold.building
    return fields.height + math.tan(fields.angle) * y * 25.4


@pytest.mark.parametrize("field", ["height", "angle", "length", "width"])
def test_dormer_chimney_and_porch_follow_every_size(field):
    house = building()
    dormer, chimney, porch = put("DORMER", 3.0, 1.2), put("CHIMNEY", 6.0, 2.0), put("PORCH", 5.0, 0.0)
    names = ["Chimney", "Dormer", "Porch"]
    assert standing(house) == names
    before = {target: foot_of(target) for target in (dormer, chimney, porch)}
    more = {"height": 75.0, "angle": math.radians(48.0), "length": 12.0, "width": 7.0}[field]
    setattr(house.stowfold.building, field, more)
    assert house.stowfold.building.trouble == ""
    assert standing(house) == names
    after = {target: foot_of(target) for target in (dormer, chimney, porch)}
    for target in (dormer, chimney):
        assert after[target][2] == pytest.approx(height_at(house, after[target][1]), abs=1e-2)
    # the distance from the nearer corner of the wall stays
    grown = 3.0 if field == "length" else 0.0
    assert after[dormer][0] == pytest.approx(before[dormer][0], abs=1e-4)
    assert after[chimney][0] == pytest.approx(before[chimney][0] + grown, abs=1e-4)
    assert after[porch] == pytest.approx(before[porch] + [grown, 0.0, 0.0], abs=1e-4)
    share = 7.0 / 6.0 if field == "width" else 1.0
    assert after[dormer][1] == pytest.approx(before[dormer][1] * share, abs=1e-4)


def test_a_drag_back_brings_everything_back_to_its_place():
    house = building()
    things = put("DORMER", 3.0, 1.2), put("CHIMNEY", 6.0, 2.0), put("PORCH", 5.0, 0.0)
    before = [foot_of(target) for target in things]
    for width in (5.5, 5.0, 8.0, 6.0):
        house.stowfold.building.width = width
    for target, place in zip(things, before, strict=True):
        assert foot_of(target) == pytest.approx(place, abs=1e-3)


def test_a_size_and_what_follows_it_are_one_step():
    house = building()
    chimney = put("CHIMNEY", 6.0, 2.0)
    before = foot_of(chimney)
    keep_step()
    house.stowfold.building.height = 80.0
    keep_step("after")
    after = foot_of(chimney)
    assert after[2] == pytest.approx(before[2] + 20.0, abs=1e-2)
    undo()
    assert foot_of(bpy.context.scene.objects["Chimney"]) == pytest.approx(before, abs=1e-3)
    redo()
    assert foot_of(bpy.context.scene.objects["Chimney"]) == pytest.approx(after, abs=1e-3)


def test_what_does_not_stand_any_more_is_said_on_the_building_and_on_itself():
    house = building()
    dormer, porch = put("DORMER", 3.0, 1.2), put("PORCH", 5.0, 0.0)
    fields = house.stowfold.building
    fields.angle = math.radians(12.0)
    assert "dormer" in fields.trouble and fields.trouble == dormer.stowfold.upstand.trouble
    fields.angle = math.radians(40.0)
    assert fields.trouble == "" == dormer.stowfold.upstand.trouble
    fields.height = 45.0
    assert "too near to the top of its wall" in porch.stowfold.upstand.trouble
    fields.height = 60.0
    fields.roof = "NONE"
    assert "no roof for 'Dormer'" in fields.trouble
    fields.roof = "HIP"
    assert fields.trouble == "" and standing(house) == ["Dormer", "Porch"]


def test_a_turned_house_takes_along_what_stands_on_it():
    house = building()
    chimney = put("CHIMNEY", 6.0, 2.0)
    house.rotation_euler.z, house.location.x = 0.7, 3.0
    bpy.context.view_layer.update()
    house.stowfold.building.height = 90.0
    assert standing(house) == ["Chimney"]
    assert chimney.stowfold.upstand.trouble == ""


def test_buildings_and_what_stands_on_them_follow_the_square():
    house = building()
    chimney, porch = put("CHIMNEY", 6.0, 2.0), put("PORCH", 5.0, 0.0)
    scale = reading.mm_per_unit(bpy.context.scene)
    bpy.context.scene.stowfold.square = 30.0
    assert reading.mm_per_unit(bpy.context.scene) == scale
    points = np.array([vertex.co[:] for vertex in house.data.vertices]) * scale
    feet = points[points[:, 2] < 1e-3, :2]
    assert np.ptp(feet, axis=0) == pytest.approx([270.0, 180.0], abs=1e-3)
    assert standing(house) == ["Chimney", "Porch"]
    assert chimney.stowfold.upstand.trouble == "" == porch.stowfold.upstand.trouble
    bpy.context.scene.stowfold.square = 25.4
    points = np.array([vertex.co[:] for vertex in house.data.vertices]) * scale
    assert np.ptp(points[points[:, 2] < 1e-3, :2], axis=0) == pytest.approx([228.6, 152.4], abs=1e-3)
