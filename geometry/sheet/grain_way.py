"""Grain on the sheet: which way the slits of each part come to run against it, once parts lie where they lie."""

from __future__ import annotations

import math
from collections.abc import Mapping

from ..board.grain import check_grain, check_warp, is_solid_wood
from ..findings import Finding, Location
from ..part import Part
from .layout import Layout
from .lying import lie_on_bed

__all__ = ["check_grain_way"]


def check_grain_way(layout: Layout, parts: Mapping[str, Part]) -> tuple[Finding, ...]:
    """Advise on slits across the grain and on long boards of solid wood; nothing is refused."""
    findings: list[Finding] = []
    for placed in layout.placements:
        part = parts[placed.part]
        sheet = layout.sheets[placed.sheet]
        stock = sheet.stock
        if not is_solid_wood(stock):
            continue
        where = Location(part=part.id)
        _, grain, _ = lie_on_bed(stock, sheet.laser)
        for lattice in part.lattices if grain is not None else ():
            run = math.atan2(float(lattice.along[1]), float(lattice.along[0])) + placed.turn
            findings += check_grain(stock, where, between=abs(math.remainder(run - (grain or 0.0), math.pi)))
        findings += check_warp(stock, where, length=max(part.size))
    return tuple(dict.fromkeys(findings))
