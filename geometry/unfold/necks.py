"""Necks: where a gable's valleys come so near to a ridge that no board is left between them, a slope is cut in two.

The cut is a parted line of a few millimetres between two pieces in one plane. It gives way until each piece keeps a
side beside it, since the boards in the valleys push past its end.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ..solid.facets import Edge, Facets
from ..solid.solid import Role
from ..tolerance import COPLANAR_ANGLE
from .outline import move_sides

__all__ = ["NECK", "is_neck", "neck_setback"]

#: A parted line in a slope that is shorter than this is a neck, mm: nothing that holds boards finds room beside it.
NECK = 12.0

#: Beside a neck each piece keeps a side of this, mm; it gives way in such steps, and as far at most.
_LEAST_SIDE, _STEP, _FARTHEST = 1.0, 0.5, 10.0


def is_neck(facets: Facets, edge: Edge) -> bool:
    """Whether an edge is the cut at a neck."""
    parted = edge.role is Role.CLOSURE and edge.right is not None and abs(edge.angle) < COPLANAR_ANGLE
    return parted and facets.length(edge) < NECK


def neck_setback(ring: np.ndarray, side: int, beside: Callable[[int], float]) -> float:
    """Return how far a side of a ring at a neck gives way, mm.

    ring: (k, 2) mm; beside: returns the setback of another side, mm.
    """
    distances = np.zeros(len(ring))
    for near in ((side - 1) % len(ring), (side + 1) % len(ring)):
        distances[near] = beside(near)
    for back in np.arange(0.0, _FARTHEST, _STEP):
        distances[side] = back
        moved = move_sides(ring, distances)
        if moved.lengths[side] - moved.lost[side] >= _LEAST_SIDE:
            return float(back)
    return 0.0
