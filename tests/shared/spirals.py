"""Walls in line that turn left at every corner, as one section that may run into itself while it is folded."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.outcome import Settings
from stowfold.geometry.part import Part
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, make_solid
from stowfold.geometry.unfold.section import unfold

__all__ = ["spiral"]

_HIGH = 60.0


def spiral(lengths: Sequence[float]) -> Part:
    """Return walls of these lengths, mm, of birch plywood of 3 mm; every corner between them bends."""
    birch = find_stock("birch-plywood-3", read_stocks())
    at, way, plan = np.zeros(2), np.array([1.0, 0.0]), [np.zeros(2)]
    for length in lengths:
        at = at + way * length
        plan.append(at)
        way = np.array([-way[1], way[0]])
    points = [(*corner, z) for z in (0.0, _HIGH) for corner in plan]
    n = len(plan)
    faces = [(k, k + 1, k + 1 + n, k + n) for k in range(n - 1)]
    roles = {(k, k + n): Role.FLEX for k in range(1, n - 1)}
    sections = unfold(
        find_facets(make_solid(np.array(points), faces, roles=roles)), Settings(birch, birch, birch, birch)
    )
    return next(part for part in sections.parts if len(part.panels) == len(lengths))
