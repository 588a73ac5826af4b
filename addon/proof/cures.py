"""Cures: for a finding that one honest change mends, the operator that makes it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.findings import Finding
from ..geometry.play.hand import passage_over
from ..geometry.play.table_top import BlockerKind
from ..geometry.tolerance import LENGTH

if TYPE_CHECKING:
    from ..geometry.outcome import Outcome
    from ..geometry.part import PlacedLattice

__all__ = ["Cure", "cure_of"]

#: Inside radii are offered in steps of this, mm: a finer one makes no difference that a maker could see.
_STEP = 0.5

#: The strip between walls and squares is offered in tenths of a millimetre.
_TENTHS = 10.0


@dataclass(frozen=True, slots=True)
class Cure:
    """A change that mends a finding: the words on its button, its icon, the operator and what it is given."""

    label: str
    icon: str
    operator: str
    values: tuple[tuple[str, object], ...] = ()


def cure_of(outcome: Outcome, finding: Finding) -> Cure | None:
    """Return the one honest cure of a finding; None where the maker has to choose."""
    make = _CURES.get(finding.code)
    return None if make is None else make(outcome, finding)


def _propose_breaks(_outcome: Outcome, _finding: Finding) -> Cure:
    return Cure("Propose Breaks", "UNLINKED", "stowfold.mark_proposal", (("what", "BREAKS"),))


def _propose_bends(_outcome: Outcome, _finding: Finding) -> Cure:
    return Cure("Propose Bends", "MOD_SIMPLEDEFORM", "stowfold.mark_proposal", (("what", "NET"),))


def _move_break(outcome: Outcome, finding: Finding) -> Cure | None:
    """Offer to part the wall elsewhere, where the finding names the break."""
    index = outcome.findings.index(finding)
    return Cure("Move the Break", "ARROW_LEFTRIGHT", "stowfold.move_break", (("index", index),))


def _take_radius(outcome: Outcome, finding: Finding) -> Cure | None:
    """Offer the radius that the board bends to, where the bend comes out wider than asked for."""
    radii = [placed.lattice.inside_radius for placed in _bends_at(outcome, finding)]
    if not radii:
        return None
    radius = math.ceil(max(radii) / _STEP) * _STEP
    return Cure(
        f"Take {radius:g} mm as Inside Radius", "MOD_SIMPLEDEFORM", "stowfold.take_radius", (("radius", radius),)
    )


def _widen_bend(outcome: Outcome, finding: Finding) -> Cure | None:
    """Offer the least radius at which the board bears the bend; what that is, the solver finds after the click."""
    index = outcome.findings.index(finding)
    return Cure("Take a Wider Bend", "MOD_SIMPLEDEFORM", "stowfold.widen_bend", (("index", index),))


def _bends_at(outcome: Outcome, finding: Finding) -> list[PlacedLattice]:
    """Return the lattices at the edges that a finding names."""
    edges = set(finding.where.edges)
    return [
        placed for part in outcome.parts for placed in part.lattices if placed.angle and edges & set(placed.host_edges)
    ]


def _lower_walls(outcome: Outcome, _finding: Finding) -> Cure | None:
    """Offer the height over which every hand passes, where walls are higher than that."""
    if outcome.play is None:
        return None
    tops = [
        float(np.ptp(outcome.facets.corners(facet)[:, 2]))
        for facet in outcome.facets.facets
        if outcome.facets.is_wall(facet)
    ]
    over = passage_over(max(tops, default=0.0), outcome.play.hands.probes)
    if over.height <= over.free + LENGTH:
        return None
    return Cure(f"Lower Walls to {over.free:g} mm", "TRIA_DOWN", "stowfold.lower_walls", (("height", over.free),))


def _widen_strip(outcome: Outcome, _finding: Finding) -> Cure | None:
    """Offer the width by which the walls must stand farther outside, so that no cheek pushes a base out any more."""
    if outcome.play is None:
        return None
    standing = outcome.play.standing
    cheeks = {board.name for board in outcome.play.top.building if board.kind is BlockerKind.JOINER}
    by_cheek = np.isin(standing.nearest, [k for k, name in enumerate(standing.names) if name in cheeks])
    least = -float(np.min(standing.room[by_cheek], initial=0.0))
    by = math.ceil(_TENTHS * least) / _TENTHS
    return Cure(f"Widen the Strip by {by:g} mm", "FULLSCREEN_ENTER", "stowfold.widen_strip", (("by", by),))


def _cut_caps(outcome: Outcome, _finding: Finding) -> Cure | None:
    """Offer caps over the holes of a roof, where none are cut yet."""
    if outcome.settings.closure.caps:
        return None
    return Cure("Cut Roof Caps", "MESH_PLANE", "stowfold.cut_caps")


_CURES: Mapping[str, Callable[[Outcome, Finding], Cure | None]] = {
    "flex-loop-without-break": _propose_breaks,
    "break-would-help": _propose_breaks,
    "nothing-marked": _propose_bends,
    "opening-over-break": _move_break,
    "bad-break-line": _move_break,
    "corner-radius-wide": _take_radius,
    "link-over-stressed": _widen_bend,
    "bridge-over-stressed": _widen_bend,
    "hand-does-not-fit": _lower_walls,
    "cheek-in-square": _widen_strip,
    "hole-at-peak": _cut_caps,
}
