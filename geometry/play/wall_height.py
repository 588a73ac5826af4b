"""Wall height: what it does to the hand that reaches over, said while the maker still chooses it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .hand import Probe

__all__ = ["Passage", "passage_over"]


@dataclass(frozen=True, slots=True)
class Passage:
    """How the palm passes over walls of one height, the hand straight from above.

    free: walls up to this height, mm, never meet the palm, however short the fingers taken here.
    blocked: walls above this height always do. palm: radius of the palm, mm: squares whose middle is
    nearer to a wall than that are then out of a hand's way from above.
    """

    height: float
    free: float
    blocked: float
    palm: float

    @property
    def sentence(self) -> str:
        """What the maker reads beside the height."""
        near = f"squares within {self.palm:.0f} mm of a wall are hard to reach"
        if self.height <= self.free:
            return f"A large hand passes over walls up to {self.free:.0f} mm."
        if self.height <= self.blocked:
            return f"Above {self.free:.0f} mm the palm of short fingers meets the wall: {near}."
        return f"Above {self.blocked:.0f} mm any palm meets the wall: {near}."


def passage_over(height: float, probes: Sequence[Probe]) -> Passage:
    """Return what walls of a height, mm, do to a hand with a short or a long pinch, given as its probes.

    The palm starts a finger's length above the grip, so a wall below that never stops it from above;
    how long a pinching finger is has no good source, hence two limits.
    """
    starts = [probe.grip + probe.stages[1][0] for probe in probes]
    return Passage(height, min(starts), max(starts), max(probe.stages[1][1] for probe in probes))
