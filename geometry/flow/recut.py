"""Cutting again: some parts of a building that is cut already, laid out alone, on sheets with names of their own."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from ..files import replace_files
from ..findings import Finding, Severity, in_order, worst
from ..part import Part
from ..sheet.check import check_sheets
from ..sheet.layout import Layout
from ..sheet.order import CutLines
from ..sheet.times import estimate_seconds, total_seconds
from .sheets import all_lines, sheet_files

__all__ = ["Recut", "deliver_again", "recut"]


@dataclass(frozen=True, slots=True, eq=False)
class Recut:
    """Parts of a building, laid out alone. prefix: how the names of their files begin, in place of ``sheet``.

    lines: per sheet, all that the laser draws. sheet_seconds: per sheet, estimated laser time per operation, s.
    """

    title: str
    prefix: str
    parts: tuple[Part, ...]
    layout: Layout
    lines: tuple[CutLines, ...]
    sheet_seconds: tuple[Mapping[str, float], ...]
    findings: tuple[Finding, ...]

    @property
    def seconds(self) -> dict[str, float]:
        """Estimated laser time of all sheets, per operation, s."""
        return total_seconds(self.sheet_seconds)


def recut(title: str, prefix: str, parts: tuple[Part, ...], layout: Layout, found: Iterable[Finding] = ()) -> Recut:
    """Draw and check the sheets of parts that are laid out alone. found: what was found before they were laid out."""
    by_id = {part.id: part for part in parts}
    lines = all_lines(layout, by_id)
    findings = in_order([*found, *layout.findings, *check_sheets(layout, by_id)])
    return Recut(title, prefix, parts, layout, lines, estimate_seconds(layout, by_id, lines), findings)


def deliver_again(again: Recut, folder: Path, *, anyway: bool = False, date: str = "") -> tuple[Path, ...]:
    """Write the sheets and return them; the building's own sheets, report and guide stay.

    With a finding of severity error nothing is written unless ``anyway``. Raises UnreadableError where the
    folder cannot be written.
    """
    if not again.layout.sheets or (worst(again.findings) is Severity.ERROR and not anyway):
        return ()
    parts = {part.id: part for part in again.parts}
    files = sheet_files(again.layout, parts, again.lines, title=again.title, date=date, prefix=again.prefix)
    return replace_files(folder, files, obsolete=[f"{again.prefix}-*.svg"])
