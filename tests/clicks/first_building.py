"""Runs inside Blender's window: a maker goes from an empty file to cut files with a door and seats."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import bpy

sys.path.insert(0, str(Path(__file__).parent))

from hands import click, go, on_screen, press, region, start_building, to_cut_files, told, view_state, wait


def on_front_wall() -> tuple[int, int]:
    """Return where the middle of the left half of the front wall is on the screen."""
    house = bpy.data.objects["House"]
    low, high = house.bound_box[0], house.bound_box[6]
    point = house.matrix_world.translation.copy()
    point += type(point)((low[0] + 0.25 * (high[0] - low[0]), low[1], 0.5 * (low[2] + high[2])))
    return on_screen(point)


def openings() -> list[str]:
    return [target.name for target in bpy.data.objects if target.stowfold.opening.is_opening]


def meshes() -> list[str]:
    """Return what of the scene is drawn, without openings and what stands at the table."""
    things = (target for target in bpy.context.scene.objects if target.type == "MESH")
    return [t.name for t in things if not t.stowfold.opening.is_opening and t.stowfold.place.kind == "NONE"]


def seats() -> list[str]:
    return [target.name for target in bpy.data.objects if target.stowfold.place.kind == "SEAT"]


def first_building() -> Iterator[None]:
    """Go the whole way."""
    yield from start_building()
    yield from press("stowfold.add_opening(kind='DOOR')")
    yield from click(on_front_wall(), "wall")
    yield from wait(openings, 10, "the door")
    sidebar = region("UI")
    # the row of steps stands on top: the second of three in the first row
    yield from click((int(sidebar.x + 0.5 * (sidebar.width - 24)), sidebar.y + sidebar.height - 22), "step")
    yield from wait(lambda: view_state().step == "TABLE", 5, "the step of the table")
    yield from press("stowfold.add_table")
    yield from press("stowfold.propose_seats")
    yield from wait(seats, 10, "the seats")
    yield from to_cut_files()
    told["openings"], told["seats"], told["meshes"] = openings(), seats(), meshes()


go(first_building())
