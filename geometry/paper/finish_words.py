"""Finishes in words: what is drawn of one, and how long the laser takes for it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from ..part import Way
from .markup import text

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["drawn_words"]

#: Seconds in a minute.
_MINUTE = 60.0


def drawn_words(outcome: Outcome, finish: str, seconds: Mapping[str, float]) -> str:
    """Return what is drawn of a finish and how long the laser takes for it; nothing where it is paint alone.

    seconds: laser time of every finish.
    """
    if finish not in seconds or finish not in outcome.settings.finishes:
        return ""
    drawn = outcome.settings.finishes[finish]
    minutes = max(round(seconds[finish] / _MINUTE), 1)
    way = {Way.ENGRAVE: "Engraved", Way.SCORE: "Scored", Way.FILL: "Engraved, dark units hatched,"}[drawn.way]
    return text(
        f"{way} as {drawn.pattern}, {drawn.length:.1f} × {drawn.height:.1f} mm: about {minutes} min at the laser. "
        "The lines show where colours meet."
    )
