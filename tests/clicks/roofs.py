"""Runs inside Blender's window: a maker adds a building with another plan and roof and takes it to cut files."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import bpy

sys.path.insert(0, str(Path(__file__).parent))

from hands import WAY, choose, click, go, on_screen, press, start_building, to_cut_files, told, type_into, wait
from mathutils import Vector

#: The underlined letters of plans and roofs in their menus.
PLANS = {"L": "L", "T": "T", "U": "U", "ROUND": "O"}
ROOFS = {"GABLE": "G", "HIP": "H", "PYRAMID": "P", "CROSSING": "C"}


def on_front_slope(along: float, up: float) -> tuple[int, int]:
    """Return where a point of the gable roof's front slope is on the screen, shares of its length and run given."""
    house = bpy.data.objects["House"]
    low, high = Vector(house.bound_box[0]), Vector(house.bound_box[6])
    points = [house.matrix_world @ corner.co for corner in house.data.vertices]
    eaves = min(points, key=lambda point: (round(point.y, 4), -point.z)).z
    ridge = max(point.z for point in points)
    at = Vector((low.x + along * (high.x - low.x), low.y + up * (high.y - low.y) / 2, eaves + up * (ridge - eaves)))
    at.x, at.y = at.x + house.matrix_world.translation.x, at.y + house.matrix_world.translation.y
    return on_screen(at)


def upstands() -> list[str]:
    kinds = (target.stowfold.upstand.kind for target in bpy.data.objects)
    return sorted(kind for kind in kinds if kind != "NONE")


def roofed(plan: str, roof: str) -> Iterator[None]:
    """Go from the factory's new file to cut files of a plan with a roof."""
    yield from start_building()
    if plan in PLANS:
        yield from choose("plan", PLANS[plan], plan)
    if plan == "ROUND":
        yield from type_into("sides", "16")
    yield from choose("roof", ROOFS[roof], roof)
    if plan == "DORMER":
        yield from press("stowfold.add_upstand(kind='DORMER')")
        yield from click(on_front_slope(0.3, 0.35), "slope")
        yield from wait(lambda: upstands() == ["DORMER"], 10, "the dormer")
        yield from press("stowfold.add_upstand(kind='CHIMNEY')")
        yield from click(on_front_slope(0.75, 0.6), "slope")
        yield from wait(lambda: len(upstands()) == 2, 10, "the chimney")
    told["upstands"] = upstands()
    yield from to_cut_files()


go(roofed(*WAY.split("-")))
