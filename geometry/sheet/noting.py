"""Noting: a sheet of a layout and the time that it took become a note of the log; and what sheets would take."""

from __future__ import annotations

import math
from collections.abc import Mapping

from ..beam.feeds import TimedJob, expected_seconds
from ..beam.laser import Laser
from ..beam.time_log import TimeNote
from ..errors import BadSettingError
from ..part import Part
from .layout import Layout
from .order import sheet_lines
from .times import sheet_seconds, sheet_work

__all__ = ["expected_sheets", "job_of", "note_sheet"]


def job_of(layout: Layout, index: int, parts: Mapping[str, Part], seconds: float) -> TimedJob:
    """Return a sheet with the time that it took. Raises BadSettingError where its travel alone takes as long."""
    lines = sheet_lines(layout, index, parts)
    besides = sheet_seconds(layout, index, parts, lines)["travel"]
    if not (math.isfinite(seconds) and seconds > besides):
        raise BadSettingError(
            f"{layout.sheets[index].file} cannot have taken {max(seconds, 0.0):.0f} s: "
            f"the way between the lines alone takes {besides:.0f} s. Note the time from start to end."
        )
    return TimedJob(sheet_work(layout, index, parts, lines), float(seconds), besides)


def note_sheet(
    layout: Layout, index: int, parts: Mapping[str, Part], seconds: float, *, date: str, title: str = ""
) -> TimeNote:
    """Return the note of a sheet that took so long. Raises BadSettingError for a time that cannot be."""
    sheet, job = layout.sheets[index], job_of(layout, index, parts, seconds)
    feeds = {each: sheet.laser.feeds[each] for each in job.work}
    return TimeNote(
        date, sheet.laser.name, sheet.stock.name, sheet.file, job.seconds, job.besides, job.work, feeds, title
    )


def expected_sheets(layout: Layout, parts: Mapping[str, Part], laser: Laser, stock: str) -> float:
    """Return how long the sheets of one stock on a laser of this name take with its feeds, s; 0 without any."""
    total = 0.0
    for index, sheet in enumerate(layout.sheets):
        if (sheet.laser.name, sheet.stock.name) == (laser.name, stock):
            lines = sheet_lines(layout, index, parts)
            travel = sheet_seconds(layout, index, parts, lines)["travel"]
            total += expected_seconds(TimedJob(sheet_work(layout, index, parts, lines), 0.0, travel), laser)
    return total
