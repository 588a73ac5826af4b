"""A handle: where a size can be taken hold of in the view, and what a hand on it does.

A handle lies on a line in the scene; how far along it the hand is, is the value of its field. Nothing here draws: the
host's gizmos do (``gizmos``).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from bpy.types import Object

__all__ = [
    "DEGREE",
    "FREE",
    "HALF",
    "LEAST_MM",
    "LEAST_SQUARES",
    "MM",
    "SQUARE",
    "Grip",
    "Handle",
    "Stands",
    "degrees",
    "fields_of",
    "mm",
    "squares",
]

#: What handles snap to: whole and half squares, mm, radians; and tenths of squares and mm where they are free.
SQUARE, HALF, MM, DEGREE, FREE = 1.0, 0.5, 1.0, math.radians(1.0), 0.1

#: Smallest sizes that a handle gives: squares of a plan, mm of heights and openings.
LEAST_SQUARES, LEAST_MM = 1.0, 3.0


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
        self._before = getattr(fields_of(target), handle.field) if handle.field else 0.0

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
        setattr(fields_of(target), handle.field, value)
        if handle.side:
            moved = (value - self._before) / 2.0 * handle.side
            matrix = self._matrix.copy()
            matrix.translation += Vector((handle.along * moved).tolist())
            target.matrix_world = matrix


def fields_of(target: Object) -> Any:
    """Return the fields that the handles of an object set."""
    ours = target.stowfold
    if ours.opening.is_opening:
        return ours.opening
    return ours.upstand if ours.upstand.kind != "NONE" else ours.building


def squares(value: float) -> str:
    return f"{value:.3g} squares"


def mm(value: float) -> str:
    return f"{value:.4g} mm"


def degrees(value: float) -> str:
    return f"{math.degrees(value):.3g}°"


class Stands:
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
