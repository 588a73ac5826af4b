"""Handles: where the sizes of a building, an opening or a dormer can be taken hold of in the view, and what they do.

A handle lies on a line in the scene; how far along it the hand is, is the value of its field. Nothing here draws: the
host's gizmos do (``gizmos``).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from ..host.lengths import as_typed, mm_per_unit

if TYPE_CHECKING:
    from bpy.types import Object, Scene

__all__ = ["Grip", "Handle", "handles_of"]

#: What handles snap to: whole and half squares, mm, radians; and tenths of squares and mm where they are free.
_SQUARE, _HALF, _MM, _DEGREE, _FREE = 1.0, 0.5, 1.0, math.radians(1.0), 0.1

#: Slopes that a handle gives to a roof, radians: flatter and steeper ones are typed.
_PITCHES = math.radians(5.0), math.radians(75.0)

#: Smallest sizes that a handle gives: squares of a plan, mm of heights and openings.
_LEAST_SQUARES, _LEAST_MM = 1.0, 3.0

#: Fields for how long a plan is, across, and so on; those with a bar and wings have more.
_PLANS = {"RECTANGLE": ("length", "width"), "ROUND": ("across",), "CORNERS": ()}

#: Kinds of roof whose one slope follows from the height of the top.
_ONE_SLOPE = frozenset({"GABLE", "HIP", "PYRAMID", "LEAN_TO", "CROSSING", "HALF_HIP"})


@dataclass(frozen=True, slots=True, eq=False)
class Handle:
    """One handle. name: what the maker reads; field: the value that it sets, empty where it moves the object.

    base: (3,) where the value would be 0, and along: (3,) the unit direction in which it grows, in units of the scene.
    reach: how far along the handle is now. value: of the field for a reach. step: what values snap to; free: and with
    Ctrl. told: the value in the words of the maker. side: units of the scene in one mm where the other side of an
    opening stays, so that its middle moves by half of what it grows; otherwise 0.
    """

    name: str
    field: str
    base: np.ndarray
    along: np.ndarray
    reach: float
    value: Callable[[float], float]
    step: float
    free: float
    told: Callable[[float], str]
    side: float = 0.0

    @property
    def place(self) -> np.ndarray:
        """Where the handle is, (3,) in units of the scene."""
        return self.base + self.reach * self.along


class Grip:
    """A handle in the hand: the object by name, and how it was when it was taken hold of."""

    def __init__(self, target: Object, handle: Handle) -> None:
        self.name = target.name
        self.handle = handle
        self._matrix = target.matrix_world.copy()
        self._before = getattr(_fields_of(target), handle.field) if handle.field else 0.0

    def put(self, target: Object, reach: float, *, free: bool) -> str:
        """Set the value for a reach and return it in words; free: off the squares."""
        handle = self.handle
        step = handle.free if free else handle.step
        value = round(handle.value(reach) / step) * step
        self._set(target, value)
        return f"{handle.name}: {handle.told(value)}"

    def put_back(self, target: Object) -> None:
        """Set the value that it had before."""
        self._set(target, self._before)
        target.matrix_world = self._matrix

    def _set(self, target: Object, value: float) -> None:
        from mathutils import Vector

        handle = self.handle
        if not handle.field:
            matrix = self._matrix.copy()
            matrix.translation += Vector((handle.along * value).tolist())
            target.matrix_world = matrix
            return
        setattr(_fields_of(target), handle.field, value)
        if handle.side:
            moved = (value - self._before) / 2.0 * handle.side
            matrix = self._matrix.copy()
            matrix.translation += Vector((handle.along * moved).tolist())
            target.matrix_world = matrix


def _fields_of(target: Object) -> Any:
    """Return the fields that the handles of an object set."""
    ours = target.stowfold
    if ours.opening.is_opening:
        return ours.opening
    return ours.upstand if ours.upstand.kind != "NONE" else ours.building


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


def _squares(value: float) -> str:
    return f"{value:.3g} squares"


def _mm(value: float) -> str:
    return f"{value:.4g} mm"


def _of_building(target: Object, scene: Scene) -> tuple[Handle, ...]:
    fields, scale = target.stowfold.building, mm_per_unit(scene)
    square = as_typed(scene.stowfold.square) / scale
    stands = _Stands(target)
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
            lambda reach: max(reach / square, _LEAST_SQUARES),
            (_SQUARE, _FREE),
            _squares,
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
            lambda reach: max(reach * scale, _LEAST_MM),
            (_MM, _FREE),
            _mm,
        )
    )
    rise = float(points[:, 2].max()) - up
    if fields.roof in _ONE_SLOPE and rise > 0.0:
        made.append(_of_slope(stands, points, fields, up, rise))
    return tuple(made)


def _of_slope(stands: _Stands, points: np.ndarray, fields: Any, up: float, rise: float) -> Handle:
    """Return the handle at the top of a roof, which sets how steep its slopes are."""
    top = points[points[:, 2] > points[:, 2].max() - 1e-4 * rise]
    as_rise = fields.pitch_as == "RISE"
    pitch = math.atan(float(fields.rise) / 12.0) if as_rise else float(fields.angle)
    run = rise / math.tan(pitch)

    def value(reach: float) -> float:
        slope = min(max(math.atan2(max(reach, 0.0), run), _PITCHES[0]), _PITCHES[1])
        return 12.0 * math.tan(slope) if as_rise else slope

    return stands.handle(
        "Pitch",
        "rise" if as_rise else "angle",
        (*top[:, :2].mean(axis=0).tolist(), up),
        (0.0, 0.0, 1.0),
        rise,
        value,
        (0.5, _FREE) if as_rise else (_DEGREE, _DEGREE / 10.0),
        (lambda size: f"{size:.3g} in 12") if as_rise else (lambda size: f"{math.degrees(size):.3g}°"),
    )


def _of_opening(target: Object, scene: Scene) -> tuple[Handle, ...]:
    fields, scale = target.stowfold.opening, mm_per_unit(scene)
    stands = _Stands(target)
    width, height = as_typed(fields.width) / scale, as_typed(fields.height) / scale
    sill = 0.0 if fields.kind in {"DOOR", "ARCH"} else as_typed(fields.sill) / scale
    middle = sill + height / 2.0

    def of_size(name: str, field: str, base: float, reach: float, least: float) -> Handle:
        up = (0.0, 0.0, 1.0)
        return stands.handle(
            name, field, (0.0, 0.0, base), up, reach, lambda along: max(along * scale, least), (_MM, _FREE), _mm
        )

    def of_side(name: str, side: int) -> Handle:
        # the value grows from the other side, which stays
        base, way = (-side * width / 2.0, 0.0, middle), (float(side), 0.0, 0.0)

        def value(along: float) -> float:
            return max(along * scale, _LEAST_MM)

        return stands.handle(name, "width", base, way, width, value, (_MM, _FREE), _mm, side=1.0 / scale)

    made = [of_side("Jamb to Jamb", side) for side in (-1, 1)]
    made.append(of_size("Height", "height", sill, height, _LEAST_MM))
    if fields.kind not in {"DOOR", "ARCH"}:
        made.append(of_size("Sill", "sill", 0.0, sill, 0.0))
    return (*made, _along(stands, scene, (0.0, 0.0, middle)))


def _of_upstand(target: Object, scene: Scene) -> tuple[Handle, ...]:
    fields, scale = target.stowfold.upstand, mm_per_unit(scene)
    stands, points = _Stands(target), _points(target)
    low, high = points.min(axis=0), points.max(axis=0)
    middle = (low + high) / 2.0
    width, height = as_typed(fields.width) / scale, as_typed(fields.height) / scale
    foot = 0.0 if fields.kind == "PORCH" else high[2] - height

    def of_size(field: str, base: tuple[float, ...], way: tuple[float, ...], reach: float) -> Handle:
        return stands.handle(
            field.title(), field, base, way, reach, lambda along: max(along * scale, _LEAST_MM), (_MM, _FREE), _mm
        )

    made = (
        of_size("width", (middle[0] - width / 2.0, low[1], middle[2]), (1.0, 0.0, 0.0), width),
        of_size("height", (middle[0], low[1], foot), (0.0, 0.0, 1.0), height),
    )
    return (*made, _along(stands, scene, (middle[0], low[1], middle[2])))


def _along(stands: _Stands, scene: Scene, at: tuple[float, float, float]) -> Handle:
    """Return the handle that moves a thing along its wall or its eaves, by half squares."""
    square = as_typed(scene.stowfold.square) / mm_per_unit(scene)

    def told(moved: float) -> str:
        return f"{moved / square:+.3g} squares"

    return stands.handle("Place", "", at, (1.0, 0.0, 0.0), 0.0, lambda along: along, (_HALF * square, 1e-3), told)


class _Stands:
    """How an object stands, for handles in its own axes."""

    def __init__(self, target: Object) -> None:
        matrix = np.array(target.matrix_world, dtype=float)
        self._turn, self._origin = matrix[:3, :3], matrix[:3, 3]

    def handle(
        self,
        name: str,
        field: str,
        base: tuple[float, ...],
        way: tuple[float, ...],
        reach: float,
        value: Callable[[float], float],
        steps: tuple[float, float],
        told: Callable[[float], str],
        *,
        side: float = 0.0,
    ) -> Handle:
        """Return a handle whose base and direction are given in the object's own axes."""
        along = self._turn @ np.array(way)
        length = float(np.linalg.norm(along)) or 1.0
        step, free = steps
        return Handle(
            name,
            field,
            self._origin + self._turn @ np.array(base),
            along / length,
            reach * length,
            lambda reach: value(reach / length),
            step,
            free,
            told,
            side,
        )


def _points(target: Object) -> np.ndarray:
    points = np.empty(3 * len(target.data.vertices), dtype=np.float32)
    target.data.vertices.foreach_get("co", points)
    return points.astype(float).reshape(-1, 3)
