"""Tolerance: how far a standing loop may come out from its nominal length, against what it may move."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..board.spread import kerf_drift
from ..board.springback import extension_stiffness
from ..board.stock import Stock
from ..findings import Finding, Location, Severity
from ..part import Joiner, Part, PlacedLattice, Tab
from .proof import LoopTolerance

__all__ = ["LoopTolerances", "loop_tolerances"]

#: Pull of a hand that sets a wall in place, N (common practice, no source).
HAND_PULL = 0.25

#: A lattice is not moved longer than by this share of its width (common practice, no source).
LARGEST_STRETCH = 0.05


@dataclass(frozen=True, slots=True)
class LoopTolerances:
    """One entry per closed loop, with a finding for each loop that may not close."""

    loops: tuple[LoopTolerance, ...]
    findings: tuple[Finding, ...]


def loop_tolerances(
    parts: Mapping[str, Part], joiners: Sequence[Joiner], tabs: Sequence[Tab], *, walls: Stock
) -> LoopTolerances:
    """Add up the worst case of every loop of sections and joiners.

    walls: their stock. With the flat length fixed, a board thicker by dt moves the inside
    of a bend by tan(|angle| / 2) dt per corner; kerf drift moves each cut end by half of itself.
    The loop is free by the gaps of its joiners, by the play of one slot along the wall, and by what
    its lattices give under a hand's pull: force / stiffness, 2 n E t w³ / (M L³) for fixed-guided
    strips, within LARGEST_STRETCH.
    """
    loops = []
    findings = []
    for names, own in _loops(joiners):
        lattices = [lattice for name in names for lattice in parts[name].lattices if not lattice.swing]
        terms = (
            (
                "board thickness",
                walls.thickness_tolerance * sum(math.tan(abs(lattice.angle) / 2) for lattice in lattices),
            ),
            ("kerf at wall ends", kerf_drift(walls) * len(own)),
            ("kerf of cores", kerf_drift(walls) * len(own)),
        )
        spread = sum(value for _, value in terms)
        play = [tab.play[1] for tab in tabs if tab.part in names]
        freedom = (
            sum(2 * joiner.gap for joiner in own)
            + min(play, default=0.0)
            + sum(_stretch(lattice, walls) for lattice in lattices)
        )
        loops.append(LoopTolerance(names, terms, spread, freedom))
        if spread > freedom:
            largest = max(terms, key=lambda term: term[1])
            findings.append(
                Finding(
                    Severity.WARNING,
                    "loop-tolerance",
                    f"The loop of {', '.join(names)} may come out {spread:.2f} mm longer or shorter, but slots and "
                    f"joiners take {freedom:.2f} mm; {largest[0]} alone makes {largest[1]:.2f} mm, so measure the "
                    "board and the kerf, or give the joiners a wider gap.",
                    Location(part=names[0]),
                )
            )
    return LoopTolerances(tuple(loops), tuple(findings))


def _loops(joiners: Sequence[Joiner]) -> list[tuple[tuple[str, ...], list[Joiner]]]:
    """Return the groups of sections that joiners tie into a ring: as many joiners as sections."""
    rest = list(joiners)
    found = []
    while rest:
        own = [rest.pop(0)]
        names = dict.fromkeys(own[0].ends)
        grown = True
        while grown:
            grown = False
            for joiner in list(rest):
                if names.keys() & set(joiner.ends):
                    rest.remove(joiner)
                    own.append(joiner)
                    names.update(dict.fromkeys(joiner.ends))
                    grown = True
        if len(own) >= len(names):
            found.append((tuple(names), own))
    return found


def _stretch(placed: PlacedLattice, stock: Stock) -> float:
    """Return how much a lattice gives under a pull of HAND_PULL across it, mm."""
    lattice = placed.lattice
    stiffness = extension_stiffness(lattice, stock)
    return min(HAND_PULL / stiffness, LARGEST_STRETCH * lattice.flat_width) if stiffness > 0.0 else 0.0
