"""The proof: the flat parts folded again by arithmetic and laid against the solid."""

from __future__ import annotations

from dataclasses import dataclass

from ..findings import Finding
from ..settings import BuildSettings
from ..tolerance import PROOF_NOISE, PROOF_SHARE

__all__ = ["LoopTolerance", "Proof", "proof_limit"]


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


def proof_limit(rounding: float, noise: float, settings: BuildSettings) -> float:
    """Return what every line of the proof must stay below, mm, for a model of this noise.

    rounding: what numbers of the model's precision may miss; noise: how far vertices lie from the planes of
    their facets, at most, mm. Noise widens the limit up to a share of the least clearance of joiners and tabs.
    """
    clearance = min(settings.joiner.gap, settings.slot_play(settings.walls) / 2, settings.eaves.stop_clearance)
    return max(rounding, min(PROOF_NOISE * noise, PROOF_SHARE * clearance))
