"""The proof: the flat parts folded again by arithmetic and laid against the solid."""

from __future__ import annotations

from dataclasses import dataclass

from ..findings import Finding

__all__ = ["LoopTolerance", "Proof"]


@dataclass(frozen=True, slots=True)
class LoopTolerance:
    """How much a standing loop may come out longer or shorter, against what slots and joiners allow.

    parts: ids around the loop; terms: (what, worst-case +- mm); spread: their sum; freedom: mm.
    """

    parts: tuple[str, ...]
    terms: tuple[tuple[str, float], ...]
    spread: float
    freedom: float


@dataclass(frozen=True, slots=True)
class Proof:
    """Largest distances found, mm; None where the building has no such thing.

    limit: what every line must stay below, mm (see tolerance.py).
    """

    reading_noise: float
    corner_distance: float | None
    loop_gap: float | None
    tab_slot_distance: float | None
    joiner_distance: float | None
    closure_distance: float | None
    board_overlap: float | None
    limit: float
    tolerance: tuple[LoopTolerance, ...]
    findings: tuple[Finding, ...]

    @property
    def holds(self) -> bool:
        """Whether every line that applies stays below the limit."""
        lines = (
            self.corner_distance,
            self.loop_gap,
            self.tab_slot_distance,
            self.joiner_distance,
            self.closure_distance,
            self.board_overlap,
        )
        return all(line is None or line <= self.limit for line in lines)
