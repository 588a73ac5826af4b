"""A whole session of a maker, step by step, undone to the empty scene and redone to the finished one."""

from __future__ import annotations

from itertools import pairwise

import bpy
from host_window import do, keep_step, redo, undo
from stowfold.host import marks, reading


def state():
    """Return everything that a session leaves in the file, as plain values."""
    scene = bpy.context.scene
    bpy.context.view_layer.update()
    objects = []
    for candidate in sorted(scene.objects, key=lambda target: target.name):
        mesh = candidate.data if candidate.type == "MESH" else None
        objects.append(
            (
                candidate.name,
                candidate.parent.name if candidate.parent else None,
                tuple(round(value, 4) for row in candidate.matrix_world for value in row),
                len(mesh.polygons) if mesh else 0,
                tuple(marks.read_roles(mesh).tolist()) if mesh else (),
                candidate.stowfold.opening.is_opening,
                candidate.stowfold.opening.leaf,
                round(candidate.stowfold.opening.width, 4),
                candidate.stowfold.place.kind,
                candidate.stowfold.is_block_out,
            )
        )
    return objects, reading.read_settings(scene)


def steps():
    """Yield after every step that a maker would take, as buttons do them."""
    ops = bpy.ops.stowfold
    do(ops.add_building, length=9.0, width=6.0, roof="GABLE")
    yield
    bpy.context.scene.cursor.location = (60.0, -3.0, 0.0)
    do(ops.add_opening, kind="DOOR")
    yield
    do(ops.add_table)
    yield
    do(ops.propose_seats, number=4)
    yield
    do(ops.add_miniature)
    yield
    house = bpy.data.objects["House"]
    bpy.context.view_layer.objects.active = house
    house.stowfold.building.roof = "NONE"
    do(ops.rebuild_building)
    yield
    do(ops.take_laser, laser="diode")
    yield
    do(ops.measure_stock, stock="birch-plywood-3")
    yield


def test_a_whole_session_is_undone_and_redone():
    keep_step()
    states = [state()]
    for _ in steps():
        states.append(state())
    assert all(before != after for before, after in pairwise(states) if before[0] or after[0])
    for expected in reversed(states[:-1]):
        undo()
        assert state() == expected
    for expected in states[1:]:
        redo()
        assert state() == expected
