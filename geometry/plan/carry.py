"""Carrying marks over: what a maker decided about a line stays while the line stays.

When a building is blocked out again with another size, height or roof, a corner that still stands where
it stood keeps its role, and a wall that still runs through a break line is parted there again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..solid.solid import Role
from ..tolerance import SNAP
from .walls import BlockOut, Corner

__all__ = ["Carried", "break_spots", "carry_roles"]


@dataclass(frozen=True, slots=True, eq=False)
class Carried:
    """A block-out with earlier roles on it; of the marked edges before, how many were kept and how many lost.

    decided: the edges of the block-out that took an earlier role, with it, plain ones among them.
    """

    block: BlockOut
    kept: int
    lost: int
    decided: tuple[tuple[tuple[int, int], Role], ...] = ()


def break_spots(points: np.ndarray, edges: np.ndarray, roles: Sequence[Role]) -> tuple[Corner, ...]:
    """Return the plan points, mm, of the upright break edges: points (n, 3) mm, edges (m, 2), roles (m,)."""
    spots: list[Corner] = []
    for (start, end), role in zip(edges.tolist(), roles, strict=True):
        a, b = points[start], points[end]
        if role is Role.BREAK and float(np.linalg.norm(a[:2] - b[:2])) < SNAP:
            spots.append((float(a[0]), float(a[1])))
    return tuple(spots)


def carry_roles(points: np.ndarray, edges: np.ndarray, roles: Sequence[Role], block: BlockOut) -> Carried:
    """Return ``block`` with the roles of those earlier edges whose line is still an edge of it.

    points (n, 3) mm, edges (m, 2), roles (m,): the mesh before. Two edges are on one line when they are
    parallel, less than SNAP apart, and share some length.
    """
    fresh = dict(block.roles)
    sides = sorted({(min(p), max(p)) for face in block.faces for p in zip(face, (*face[1:], face[0]), strict=True)})
    starts = block.points[[a for a, _ in sides]]
    ends = block.points[[b for _, b in sides]]
    kept = lost = 0
    decided: dict[tuple[int, int], Role] = {}
    for (start, end), role in zip(edges.tolist(), roles, strict=True):
        on = _on_line(points[start], points[end], starts, ends)
        if role is not Role.PLAIN:
            kept, lost = kept + bool(on.any()), lost + (not on.any())
        for k in np.flatnonzero(on):
            fresh[sides[k]] = decided[sides[k]] = role
    marked = tuple(sorted((pair, role) for pair, role in fresh.items() if role is not Role.PLAIN))
    return Carried(replace(block, roles=marked), kept, lost, tuple(sorted(decided.items())))


def _on_line(a: np.ndarray, b: np.ndarray, starts: np.ndarray, ends: np.ndarray) -> np.ndarray:
    """Return which of the sides from ``starts`` to ``ends``, (k, 3) each, run along the line from a to b."""
    length = float(np.linalg.norm(b - a))
    if length < SNAP:
        return np.zeros(len(starts), dtype=bool)
    u = (b - a) / length
    s, e = (starts - a) @ u, (ends - a) @ u
    off = [np.linalg.norm(points - a - along[:, None] * u, axis=1) for points, along in ((starts, s), (ends, e))]
    shared = np.minimum(np.maximum(s, e), length) - np.maximum(np.minimum(s, e), 0.0)
    return (off[0] < SNAP) & (off[1] < SNAP) & (shared > SNAP)
