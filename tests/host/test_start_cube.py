"""The cube of a new file: said where it stands inside a building, removed by one click, never where it was changed."""

from __future__ import annotations

import bpy
import pytest
from host_window import do, keep_step, redo, undo
from stowfold.plot.start_cube import start_cube_inside


@pytest.fixture
def new_file():
    """The host's own new file, as it comes: a cube, a light and a camera."""
    bpy.ops.wm.read_factory_settings()
    return bpy.data.objects["Cube"]


def add_house():
    assert do(bpy.ops.stowfold.add_building, roof="NONE") == {"FINISHED"}
    bpy.context.view_layer.update()
    return bpy.context.object


def test_it_is_found_inside_a_building_and_removed_in_one_step(new_file):
    assert start_cube_inside(bpy.context.scene) is None
    house = add_house()
    assert start_cube_inside(bpy.context.scene) == (bpy.data.objects["Cube"], house)
    keep_step("a house")
    assert do(bpy.ops.stowfold.remove_start_cube) == {"FINISHED"}
    assert "Cube" not in bpy.data.objects and "House" in bpy.data.objects
    assert {"Camera", "Light"} <= set(bpy.data.objects.keys())
    assert not bpy.ops.stowfold.remove_start_cube.poll()
    undo()
    assert {"Cube", "House"} <= set(bpy.data.objects.keys())
    redo()
    assert "Cube" not in bpy.data.objects


def test_a_cube_beside_the_building_stays(new_file):
    bpy.context.scene.cursor.location = (3.0, 3.0, 0.0)
    add_house()
    assert start_cube_inside(bpy.context.scene) is None


def _move(cube):
    cube.location.x += 0.5


def _reshape(cube):
    cube.data.vertices[0].co.z = -1.25


def _bevel(cube):
    cube.modifiers.new("Bevel", "BEVEL")


def _furnish(cube):
    cube.stowfold.place.kind = "FURNITURE"


def _cut(cube):
    cube.stowfold.is_block_out = True


def _paint(cube):
    cube.data.materials.append(bpy.data.materials.new("Brick"))


@pytest.mark.parametrize("change", [_move, _reshape, _bevel, _furnish, _cut, _paint])
def test_a_cube_that_the_maker_changed_is_his_own(new_file, change):
    add_house()
    cube = bpy.data.objects["Cube"]
    change(cube)
    bpy.context.view_layer.update()
    assert start_cube_inside(bpy.context.scene) is None
    assert not bpy.ops.stowfold.remove_start_cube.poll()
    assert "Cube" in bpy.data.objects
