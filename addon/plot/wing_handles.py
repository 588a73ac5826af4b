"""Handles of lower wings: how high their walls are, how steep their roof is, and how far they reach from the house."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from ..geometry.errors import GeometryError
from ..geometry.plan.outline import PlanKind, outline_of
from ..geometry.plan.wings import StandingWing, house_and_wings
from .blocking import read_sizes
from .handle import DEGREE, FREE, LEAST_MM, LEAST_SQUARES, MM, SQUARE, Handle, Stands, degrees, mm, squares

if TYPE_CHECKING:
    from ..geometry.plan.sizes import BuildingSizes

__all__ = ["handles_of_wings"]

#: What the fields of the first and the second wing begin with, and what these are called.
_WINGS = (("wing", "Wing"), ("second", "Second Wing"))

#: Slopes that a handle gives to a roof, radians: flatter and steeper ones are typed.
_PITCHES = math.radians(5.0), math.radians(75.0)

#: Points of a wall are as near as this to its corner on the plan, mm.
_NEAR = 0.01


def handles_of_wings(
    stands: Stands, points: np.ndarray, fields: Any, *, square: float, scale: float
) -> Iterator[Handle]:
    """Yield the handles of a building's lower wings; the second has its own where it differs.

    points: (n, 3) of the building in its own axes; square: its side, mm; scale: mm in a unit of those axes.
    """
    try:
        sizes = read_sizes(fields)
        if not sizes.wings or sizes.plan is None:
            return
        plan = outline_of(
            sizes.plan, length=sizes.length, width=sizes.width, bar=sizes.bar, wing=sizes.wing, square=square
        )
        wings = house_and_wings(sizes.plan, plan, sizes.wings, strip=sizes.strip)[1]
    except GeometryError:
        return  # sizes that make no building have none
    for (key, name), wing in zip(_WINGS[: 2 if fields.wings_differ else 1], wings, strict=False):
        end = np.array(wing.ring[1:3]).mean(axis=0)
        high = _height_at(points * scale, wing.ring[1])
        if high <= 0.0:
            continue
        yield _of_height(stands, key, name, end, high, scale)
        yield from _of_pitch(stands, key, name, fields, wing, high, scale)
        if key == "wing":
            yield _of_length(stands, sizes, wing, end, high, square, scale)


def _height_at(points: np.ndarray, corner: tuple[float, float]) -> float:
    """Return how high the walls stand at a corner of the plan, mm; 0 where there is none."""
    there = np.hypot(*(points[:, :2] - corner).T) < _NEAR
    return float(points[there, 2].max(initial=0.0))


def _of_height(stands: Stands, key: str, name: str, end: np.ndarray, high: float, scale: float) -> Handle:
    return stands.handle(
        f"{name} Height",
        f"{key}_height",
        (*(end / scale).tolist(), 0.0),
        (0.0, 0.0, 1.0),
        high / scale,
        lambda reach: max(reach * scale, LEAST_MM),
        (MM, FREE),
        mm,
    )


def _of_pitch(
    stands: Stands, key: str, name: str, fields: Any, wing: StandingWing, high: float, scale: float
) -> Iterator[Handle]:
    """Yield the handle at the top of a wing's roof, where that has a slope."""
    surface = replace(wing, wing=replace(wing.wing, height=high)).surface()
    if surface is None or getattr(fields, f"{key}_roof") == "FLAT":
        return
    tops = np.array(surface.points)
    rise = float(tops[:, 2].max()) - high
    if rise <= 0.0:
        return
    run = rise / math.tan(float(getattr(fields, f"{key}_angle")))
    middle = tops[tops[:, 2] > high + rise * (1.0 - 1e-4), :2].mean(axis=0)
    yield stands.handle(
        f"{name} Pitch",
        f"{key}_angle",
        (*(middle / scale).tolist(), high / scale),
        (0.0, 0.0, 1.0),
        rise / scale,
        lambda reach: min(max(math.atan2(max(reach * scale, 0.0), run), _PITCHES[0]), _PITCHES[1]),
        (DEGREE, DEGREE / 10.0),
        degrees,
    )


def _of_length(
    stands: Stands, sizes: BuildingSizes, wing: StandingWing, end: np.ndarray, high: float, square: float, scale: float
) -> Handle:
    """Return the handle at the end of a wing, which makes the whole plan wider; a plus has a wing on either side."""
    both = 2.0 if sizes.plan is PlanKind.PLUS else 1.0
    foot = np.array(wing.against).mean(axis=0)
    out = (end - foot) / np.linalg.norm(end - foot)
    reach = (sizes.width - sizes.bar) / both
    base = end - out * (reach * square + sizes.strip)
    return stands.handle(
        "Wing Length",
        "width",
        (*(base / scale).tolist(), high / 2.0 / scale),
        (*out.tolist(), 0.0),
        (reach * square + sizes.strip) / scale,
        lambda reach: sizes.bar + both * max((reach * scale - sizes.strip) / square, LEAST_SQUARES),
        (SQUARE, FREE),
        lambda width: squares((width - sizes.bar) / both),
    )
