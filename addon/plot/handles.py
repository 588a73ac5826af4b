"""Handles: where the sizes of a building, an opening or a dormer can be taken hold of in the view."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from ..host.lengths import as_typed, mm_per_unit
from .handle import FREE, HALF, LEAST_MM, LEAST_SQUARES, MM, SQUARE, Handle, Stands, mm, squares
from .roof_handles import handles_of_roof
from .wing_handles import handles_of_wings

if TYPE_CHECKING:
    from bpy.types import Object, Scene

__all__ = ["handles_of"]

#: Fields for how long a plan is, across, and so on; those with a bar and wings have more.
_PLANS = {"RECTANGLE": ("length", "width"), "ROUND": ("across",), "CORNERS": ()}


def handles_of(target: Object | None, scene: Scene) -> tuple[Handle, ...]:
    """Return the handles of an object; none where it is not one of ours."""
    if target is None or target.type != "MESH" or not len(target.data.vertices):
        return ()
    ours = target.stowfold
    if ours.opening.is_opening:
        return _of_opening(target, scene)
    if ours.upstand.kind != "NONE":
        return _of_upstand(target, scene)
    return _of_building(target, scene) if ours.building.was_added else ()


def _of_building(target: Object, scene: Scene) -> tuple[Handle, ...]:
    fields, scale = target.stowfold.building, mm_per_unit(scene)
    square = as_typed(scene.stowfold.square) / scale
    stands = Stands(target)
    points = _points(target)
    feet = points[points[:, 2] < points[:, 2].min() + 1e-6 * square]
    low, high = feet[:, :2].min(axis=0), feet[:, :2].max(axis=0)
    middle, up = (low + high) / 2.0, as_typed(fields.height) / scale
    bar, wing = as_typed(fields.bar) * square, as_typed(fields.wing) * square

    def of_plan(name: str, field: str, base: tuple[float, float], way: tuple[float, float]) -> Handle:
        return stands.handle(
            name,
            field,
            (*base, up / 2.0),
            (*way, 0.0),
            as_typed(getattr(fields, field)) * square,
            lambda reach: max(reach / square, LEAST_SQUARES),
            (SQUARE, FREE),
            squares,
        )

    x, y = (1.0, 0.0), (0.0, 1.0)
    known = {
        "length": lambda: of_plan("Length", "length", (low[0], middle[1]), x),
        "width": lambda: of_plan("Width", "width", (middle[0], low[1]), y),
        "across": lambda: of_plan("Across", "across", (middle[0], low[1]), y),
        "bar": lambda: of_plan("Bar Depth", "bar", ((high[0] + low[0] + wing) / 2.0, low[1]), y),
        "wing": lambda: of_plan("Wing Width", "wing", (low[0], (high[1] + low[1] + bar) / 2.0), x),
    }
    more = ("bar", "wing") if fields.plan in {"L", "U"} else ()
    made = [known[name]() for name in _PLANS.get(fields.plan, ("length", "width", *more))]
    made.append(
        stands.handle(
            "Wall Height",
            "height",
            (middle[0], low[1], 0.0),
            (0.0, 0.0, 1.0),
            up,
            lambda reach: max(reach * scale, LEAST_MM),
            (MM, FREE),
            mm,
        )
    )
    wings = handles_of_wings(stands, points, fields, square=as_typed(scene.stowfold.square), scale=scale)
    return (*made, *handles_of_roof(stands, points, feet, fields, up, scale), *wings)


def _of_opening(target: Object, scene: Scene) -> tuple[Handle, ...]:
    fields, scale = target.stowfold.opening, mm_per_unit(scene)
    stands = Stands(target)
    width, height = as_typed(fields.width) / scale, as_typed(fields.height) / scale
    sill = 0.0 if fields.kind in {"DOOR", "ARCH"} else as_typed(fields.sill) / scale
    middle = sill + height / 2.0

    def of_size(name: str, field: str, base: float, reach: float, least: float) -> Handle:
        up = (0.0, 0.0, 1.0)
        return stands.handle(
            name, field, (0.0, 0.0, base), up, reach, lambda along: max(along * scale, least), (MM, FREE), mm
        )

    def of_side(name: str, side: int) -> Handle:
        # the value grows from the other side, which stays
        base, way = (-side * width / 2.0, 0.0, middle), (float(side), 0.0, 0.0)

        def value(along: float) -> float:
            return max(along * scale, LEAST_MM)

        return stands.handle(name, "width", base, way, width, value, (MM, FREE), mm, side=1.0 / scale)

    made = [of_side("Jamb to Jamb", side) for side in (-1, 1)]
    made.append(of_size("Height", "height", sill, height, LEAST_MM))
    if fields.kind not in {"DOOR", "ARCH"}:
        made.append(of_size("Sill", "sill", 0.0, sill, 0.0))
    return (*made, _along(stands, scene, (0.0, 0.0, middle)))


def _of_upstand(target: Object, scene: Scene) -> tuple[Handle, ...]:
    fields, scale = target.stowfold.upstand, mm_per_unit(scene)
    stands, points = Stands(target), _points(target)
    low, high = points.min(axis=0), points.max(axis=0)
    middle = (low + high) / 2.0
    width, height = as_typed(fields.width) / scale, as_typed(fields.height) / scale
    foot = 0.0 if fields.kind == "PORCH" else high[2] - height

    def of_size(field: str, base: tuple[float, ...], way: tuple[float, ...], reach: float) -> Handle:
        return stands.handle(
            field.title(), field, base, way, reach, lambda along: max(along * scale, LEAST_MM), (MM, FREE), mm
        )

    made = (
        of_size("width", (middle[0] - width / 2.0, low[1], middle[2]), (1.0, 0.0, 0.0), width),
        of_size("height", (middle[0], low[1], foot), (0.0, 0.0, 1.0), height),
    )
    steep = math.hypot(1.0, float(fields.rise))
    up_slope = stands.handle(
        "Up the Slope",
        "",
        (middle[0], high[1], high[2]),
        (0.0, 1.0 / steep, float(fields.rise) / steep),
        0.0,
        lambda along: along,
        (MM / scale, FREE / scale),
        lambda moved: f"{moved * scale:+.3g} mm",
    )
    return (*made, _along(stands, scene, (middle[0], low[1], middle[2])), up_slope)


def _along(stands: Stands, scene: Scene, at: tuple[float, float, float]) -> Handle:
    """Return the handle that moves a thing along its wall or its eaves, by half squares."""
    square = as_typed(scene.stowfold.square) / mm_per_unit(scene)

    def told(moved: float) -> str:
        return f"{moved / square:+.3g} squares"

    return stands.handle("Place", "", at, (1.0, 0.0, 0.0), 0.0, lambda along: along, (HALF * square, 1e-3), told)


def _points(target: Object) -> np.ndarray:
    points = np.empty(3 * len(target.data.vertices), dtype=np.float32)
    target.data.vertices.foreach_get("co", points)
    return points.astype(float).reshape(-1, 3)
