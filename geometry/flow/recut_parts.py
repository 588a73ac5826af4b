"""Parts cut again: one was scorched, broke, or went missing, and the rest of the building is sound.

``cut_again`` lays chosen parts out on fresh sheets, exactly as they were drawn before: the same kerf, the
same lasers, the same sizes. Their files have names of their own, so that no sheet of the building is lost.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path

from ..errors import BadSettingError
from ..files import replace_files, seal
from ..findings import Finding, Severity, in_order, worst
from ..outcome import Outcome
from ..part import Part
from ..sheet.check import check_sheets
from ..sheet.layout import Layout, lay_out
from ..sheet.svg import draw_sheet
from ..sheet.times import estimate_seconds, total_seconds

__all__ = ["OBSOLETE", "PartsAgain", "cut_again", "deliver_again"]

#: Files of an earlier time that new ones take the place of.
OBSOLETE = "again-*.svg"


@dataclass(frozen=True, slots=True, eq=False)
class PartsAgain:
    """Parts of an outcome, laid out alone. sheet_seconds: per sheet, estimated laser time per operation, s."""

    outcome: Outcome
    parts: tuple[Part, ...]
    layout: Layout
    sheet_seconds: tuple[Mapping[str, float], ...]
    findings: tuple[Finding, ...]

    @property
    def seconds(self) -> dict[str, float]:
        """Estimated laser time of all sheets, per operation, s."""
        return total_seconds(self.sheet_seconds)


def cut_again(outcome: Outcome, only: Collection[str]) -> PartsAgain:
    """Lay out the parts with these ids and no others, on left-over pieces first.

    Each is cut on the laser that cut it before, with its kerf. Pins do not count: they belong to sheets that
    are already cut; left-over pieces are those that the maker says are there now.
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
        chosen={each.part: first.sheets[each.sheet].laser.name for each in first.placements},
        leftovers=settings.layout.leftovers,
        only=only,
    )
    parts = tuple(part for part in outcome.pieces if part.id in only)
    by_id = {part.id: part for part in parts}
    findings = in_order([*layout.findings, *check_sheets(layout, by_id)])
    return PartsAgain(outcome, parts, layout, estimate_seconds(layout, by_id), findings)


def deliver_again(again: PartsAgain, folder: Path, *, anyway: bool = False, date: str = "") -> tuple[Path, ...]:
    """Write the sheets as ``again-….svg`` and return them; the building's own sheets, report and guide stay.

    With a finding of severity error nothing is written unless ``anyway``. Raises UnreadableError where the
    folder cannot be written.
    """
    if worst(again.findings) is Severity.ERROR and not anyway:
        return ()
    parts = {part.id: part for part in again.parts}
    names = ", ".join(part.id for part in again.parts)
    files = {}
    for index, sheet in enumerate(again.layout.sheets):
        drawn = draw_sheet(again.layout, index, parts, title=f"{again.outcome.title}: {names} again", date=date)
        files[sheet.file.replace("sheet-", "again-", 1)] = seal(drawn)
    return replace_files(folder, files, obsolete=[OBSOLETE]) if files else ()
