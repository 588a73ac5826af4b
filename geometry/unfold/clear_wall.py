"""Where a wall is one strip from floor to top, clear of bends, openings and ends, so that a joiner can stand there."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from ..tolerance import SNAP
from .setbacks import MovedFacet

__all__ = ["apex", "clear_stretches", "taken_stretches"]

#: Sides that rise so much more than they run count as ends of a wall: the top of a joiner would be a needle there.
_STEEP = 2.0

#: A joiner lower than this holds no wall, mm (common practice, no source).
_LOWEST = 12.0


def apex(ring: np.ndarray) -> float | None:
    """Return where along a wall, (k, 2) mm, its gable comes to a point; None for a level top."""
    top = ring[ring[:, 1] > ring[:, 1].max() - SNAP, 0]
    return float(top[0]) if np.ptp(top) < SNAP else None


def taken_stretches(moved: MovedFacet, *, but: tuple[int, int] | None = None) -> list[tuple[float, float]]:
    """Return the stretches of u, mm, that ends, steps and openings of a wall take; of an upright line just its place.

    but: (ring, side) that is left out, such as the break line itself.
    """
    taken = []
    for r, ring in enumerate(moved.rings):
        if r > 0:
            taken.append((float(ring.points[:, 0].min()), float(ring.points[:, 0].max())))
            continue
        for side, (start, end) in enumerate(ring.sides):
            if (r, side) != but and abs(end[0] - start[0]) < SNAP < abs(end[1] - start[1]):
                taken.append((min(start[0], end[0]), max(start[0], end[0])))
    return taken


def _top_bends(outline: np.ndarray) -> list[float]:
    """Return where along a wall, (k, 2) mm, its top goes on at another slope, as under a gambrel or a half-hip."""
    before, after = np.roll(outline, 1, axis=0), np.roll(outline, -1, axis=0)
    one, two = outline - before, after - outline
    turn = np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])
    bends = (one[:, 0] < -SNAP) & (two[:, 0] < -SNAP) & (turn > SNAP * np.maximum(np.hypot(*one.T), np.hypot(*two.T)))
    return [float(at) for at in outline[bends, 0]]


def clear_stretches(
    moved: MovedFacet, outline: np.ndarray, reach: float, *, met: Iterable[tuple[float, float]] = ()
) -> list[tuple[float, float]]:
    """Return the stretches of u, mm, where a line may lie that keeps ``reach`` from all that a joiner must not meet.

    outline: the wall as modelled, (k, 2) mm in its plane; met: stretches of it that others stand against. A joiner
    must not meet bends, openings, steps, the wall's ends, what is lower than a joiner can be, nor bends in its top; a
    gable's apex least of all, since the ridge over it is round.
    """
    taken = [*taken_stretches(moved), *met]
    sides = moved.rings[0].sides
    floor = float(moved.rings[0].points[:, 1].min())
    for start, end in sides:
        low, high = sorted((float(start[0]), float(end[0])))
        rise = abs(end[1] - start[1])
        if end[0] > start[0] + SNAP and max(start[1], end[1]) > floor + SNAP:
            # above a door or beside a step the wall is no single strip from floor to top
            taken.append((low, high))
        elif high - low >= SNAP and rise > _STEEP * (high - low):
            taken.append((low, high))
        elif end[0] < start[0] - SNAP and min(start[1], end[1]) < floor + _LOWEST:
            share = min(1.0, (floor + _LOWEST - min(start[1], end[1])) / rise) if rise > SNAP else 1.0
            low_end = float(start[0]) if start[1] < end[1] else float(end[0])
            taken.append((low, low + share * (high - low)) if low_end == low else (high - share * (high - low), high))
    # a wall parted close beside a bend in its top would end in a sliver
    taken += [(at, at) for at in _top_bends(outline)]
    blocked = [(low - reach, high + reach) for low, high in taken]
    peak = apex(outline)
    if peak is not None:
        blocked.append((peak - 2 * reach, peak + 2 * reach))
    # sides that are all but parallel meet far beyond the wall once they are set back
    points = moved.rings[0].points[:, 0]
    low, high = max(points.min(), outline[:, 0].min()), min(points.max(), outline[:, 0].max())
    free = [(float(low), float(high))] if low < high else []
    for low, high in blocked:
        free = [piece for a, b in free for piece in ((a, min(b, low)), (max(a, high), b)) if piece[1] - piece[0] > SNAP]
    return free
