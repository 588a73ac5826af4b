"""Fillets: sharp inside corners where an edge runs on from the end of a lattice, such as a gable's beside its bend.

The slit that ends below such a corner and the corner itself make a crack line across the bridge between them. A fillet
halves the peak stress there (plane-stress elements; Peterson, *Stress Concentration Factors*, shoulder fillets, read
in tables after it): board is added and none is taken away, so that nothing gets weaker. Ends of slits stay sharp.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from shapely.geometry import Point, Polygon
from shapely.geometry.polygon import orient

from ..part import Part, PlacedLattice
from ..tolerance import SNAP

__all__ = ["ease_corners"]

#: Radius of a fillet, mm, and as a share of the board's thickness: a larger one gains nothing more.
_RADIUS, _OF_THICKNESS = 1.0, 1.0 / 3.0

#: Corners that turn by less are no stress risers, radians.
_LEAST_TURN = math.radians(10.0)

#: Sides shorter than this many times what a fillet takes of them keep their corner.
_OF_SIDE = 2.0

#: A fillet is cut as straight pieces that turn by at most this, radians.
_STEP = math.radians(15.0)


def ease_corners(parts: Sequence[Part]) -> tuple[Part, ...]:
    """Return the parts with fillets in the inside corners of their outlines at the ends of lattices."""
    return tuple(_eased(part) if part.lattices else part for part in parts)


def _eased(part: Part) -> Part:
    ring = np.asarray(orient(part.outline).exterior.coords)[:-1]
    zones = [(placed, Polygon(placed.zone)) for placed in part.lattices]
    pieces = []
    for before, corner, after in zip(np.roll(ring, 1, axis=0), ring, np.roll(ring, -1, axis=0), strict=True):
        near = next((placed for placed, zone in zones if zone.distance(Point(corner)) < SNAP), None)
        arc = None if near is None else _arc(before, corner, after, near, part.thickness)
        pieces.append(corner[None] if arc is None else arc)
    if all(len(piece) == 1 for piece in pieces):
        return part
    outline = Polygon(np.concatenate(pieces), [hole.coords for hole in part.outline.interiors])
    # where a fillet would run into another edge, corners stay as they were
    return replace(part, outline=outline) if outline.is_valid else part


def _arc(
    before: np.ndarray, corner: np.ndarray, after: np.ndarray, placed: PlacedLattice, thickness: float
) -> np.ndarray | None:
    """Return the points of a fillet in an inside corner, (k, 2) mm, None where there is none or no room for it.

    The outline runs counter-clockwise. A fillet keeps clear of the next row's slits, which are open at the edge.
    """
    back, on = before - corner, after - corner
    sides = float(np.hypot(*back)), float(np.hypot(*on))
    if min(sides) < SNAP:
        return None
    back, on = back / sides[0], on / sides[1]
    turn = math.atan2(float(on[0] * back[1] - on[1] * back[0]), float(-(back @ on)))
    # left of an outline lies board: there a turn to the right is an inside corner
    if turn > -_LEAST_TURN:
        return None
    turn = -turn
    made = placed.lattice
    wanted = max(_RADIUS, _OF_THICKNESS * thickness)
    taken = min(wanted * math.tan(turn / 2.0), made.pitch - made.opening / 2.0, min(sides) / _OF_SIDE)
    radius = taken / math.tan(turn / 2.0)
    start, end = corner + taken * back, corner + taken * on
    middle = start + radius * _across(back, on)
    first = math.atan2(*(start - middle)[::-1])
    steps = max(2, math.ceil(turn / _STEP))
    # the outline turns to the right there, and so does the arc
    at = first - turn * np.arange(steps + 1) / steps
    arc = middle + radius * np.column_stack([np.cos(at), np.sin(at)])
    arc[[0, -1]] = start, end
    return arc


def _across(back: np.ndarray, on: np.ndarray) -> np.ndarray:
    """Return the unit vector square to ``back`` on the side of ``on``."""
    square = np.array([-back[1], back[0]])
    return square if square @ on > 0.0 else -square
