"""Edit Mode: the button of the steps Bends and Dress enters the building, whatever is active."""

from __future__ import annotations

import bpy
import pytest
from host_window import do, keep_step, redo, undo
from stowfold.host.views import select_alone


def _edited() -> list[str]:
    """Return the names of the objects in Edit Mode."""
    return sorted(target.name for target in bpy.context.objects_in_mode) if bpy.context.mode == "EDIT_MESH" else []


def _mark(target: bpy.types.Object) -> bpy.types.Object:
    target.stowfold.is_block_out = True
    return target


@pytest.mark.parametrize("add", [bpy.ops.stowfold.add_table, bpy.ops.stowfold.add_seat, bpy.ops.stowfold.add_opening])
def test_the_building_is_entered_when_something_beside_it_is_active(add_ring, add):
    building = add_ring()
    assert add() == {"FINISHED"}
    assert bpy.context.object != building
    assert do(bpy.ops.stowfold.edit_building) == {"FINISHED"}
    assert (_edited(), bpy.context.object, building.select_get()) == ([building.name], building, True)
    assert do(bpy.ops.stowfold.edit_building) == {"FINISHED"}
    assert (_edited(), bpy.context.object) == ([], building)


def test_entering_the_building_is_undone_and_redone(add_ring):
    add_ring("Boat shed")
    bpy.ops.stowfold.add_table()
    table = bpy.context.object.name
    keep_step()
    do(bpy.ops.stowfold.edit_building)
    undo()
    assert (_edited(), bpy.context.object.name) == ([], "Boat shed")
    undo()
    assert (_edited(), bpy.context.object.name) == ([], table)
    redo()
    redo()
    assert _edited() == ["Boat shed"]


def test_of_several_buildings_the_one_that_bears_the_active_object_is_entered(add_ring):
    first, second = _mark(add_ring("Boat shed")), _mark(add_ring("Toll house"))
    lamp = bpy.data.objects.new("Lamp", bpy.data.meshes.new("Lamp"))
    bpy.context.scene.collection.objects.link(lamp)
    lamp.stowfold.opening.is_opening, lamp.parent = True, first
    bpy.context.view_layer.objects.active = lamp
    do(bpy.ops.stowfold.edit_building)
    assert _edited() == ["Boat shed"]
    do(bpy.ops.stowfold.edit_building)
    lamp.parent = None
    bpy.context.view_layer.objects.active = lamp
    with pytest.raises(RuntimeError, match="There are 2 buildings; select the one to edit first"):
        bpy.ops.stowfold.edit_building()
    select_alone(bpy.context, second)
    do(bpy.ops.stowfold.edit_building)
    assert _edited() == ["Toll house"]


def test_selected_buildings_are_edited_together_without_what_stands_beside(add_ring):
    first, second = _mark(add_ring("Boat shed")), _mark(add_ring("Toll house"))
    bpy.ops.stowfold.add_table()
    for target in bpy.context.scene.objects:
        target.select_set(True)
    bpy.context.view_layer.objects.active = second
    do(bpy.ops.stowfold.edit_building)
    assert _edited() == [first.name, second.name]


def test_a_building_that_cannot_be_edited_is_named_with_the_reason(add_ring):
    with pytest.raises(RuntimeError, match="The scene is empty; model the building's walls as a mesh first"):
        bpy.ops.stowfold.edit_building()
    building = add_ring("Boat shed")
    building.hide_set(True)
    with pytest.raises(RuntimeError, match="'Boat shed' is hidden; show it first"):
        bpy.ops.stowfold.edit_building()
