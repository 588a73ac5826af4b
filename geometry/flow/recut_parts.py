"""Parts cut again: one was scorched, broke, or went missing, and the rest of the building is sound.

They are drawn exactly as before: the same kerf, the same lasers, the same sizes.
"""

from __future__ import annotations

from collections.abc import Collection

from ..errors import BadSettingError
from ..outcome import Outcome
from ..sheet.layout import lay_out
from .recut import Recut, recut

__all__ = ["PREFIX", "cut_again"]

#: How the names of files of parts that are cut again begin.
PREFIX = "again"


def cut_again(outcome: Outcome, only: Collection[str]) -> Recut:
    """Lay out the parts with these ids and no others, on offcuts first.

    Each is cut on the laser that cut it before, with its kerf. Pins do not count: they belong to sheets that
    are already cut; offcuts are those that the maker says are there now.
    Raises BadSettingError where no part is named, or one that the building does not have.
    """
    if not only:
        raise BadSettingError("No part is chosen to be cut again; choose at least one")
    known = {part.id for part in outcome.pieces}
    if unknown := sorted(set(only) - known):
        raise BadSettingError(
            f"{outcome.title} has no part {', '.join(unknown)}; its parts are {', '.join(sorted(known))}"
        )
    settings, first = outcome.settings, outcome.layout
    layout = lay_out(
        outcome.pieces,
        settings.stocks,
        settings.laser,
        settings.other_lasers,
        chosen={placement.part: first.sheets[placement.sheet].laser.name for placement in first.placements},
        offcuts=settings.layout.offcuts,
        only=only,
    )
    parts = tuple(part for part in outcome.pieces if part.id in only)
    return recut(f"{outcome.title}: {', '.join(part.id for part in parts)} again", PREFIX, parts, layout)
