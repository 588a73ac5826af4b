"""Delivering: what a run came to is written as cut files, report and guide."""

from __future__ import annotations

from pathlib import Path

from ..files import replace_files
from ..findings import Severity, worst
from ..outcome import Outcome
from ..paper.guide import render_guide
from ..paper.quick_page import make_quick_coupon, quick_coupon_files
from ..paper.report import build_report, dump_report
from ..progress import SILENT, Progress
from ..sheet.mockup import print_mockup
from ..sheet.overview import print_overview
from .sheets import sheet_files

__all__ = ["deliver"]


def deliver(
    outcome: Outcome,
    folder: Path,
    *,
    anyway: bool = False,
    coupon: bool = False,
    date: str = "",
    progress: Progress = SILENT,
) -> tuple[Path, ...]:
    """Write sheets, their overview, a mock-up, report.json and guide.html into ``folder``; return the files written.

    With a finding of severity error the sheets are left out unless ``anyway``. coupon: with the quick coupon beside
    the sheets.
    progress is settled when only the writing is left. Raises UnreadableError where the folder cannot be written,
    CancelledError where the work was given up; nothing is half-written.

    >>> import tempfile
    >>> from stowfold.geometry.flow.run import run
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     written = deliver(run(solid, settings, title='House'), Path(folder))
    >>> [path.name for path in written][:2]
    ['sheet-01-birch-plywood-3.svg', 'overview.pdf']
    """
    layout, title = outcome.layout, outcome.title
    files: dict[str, str | bytes] = {}
    if layout.sheets and (anyway or worst(outcome.findings) is not Severity.ERROR):
        parts = {part.id: part for part in outcome.pieces}
        files |= sheet_files(layout, parts, outcome.lines, title=title, date=date, progress=progress.part(0.0, 0.5))
        files["overview.pdf"] = print_overview(layout, parts, title=title)
        files["mock-up.pdf"] = print_mockup(outcome.parts, title=title, paper=outcome.settings.paper)
        if coupon:
            files |= quick_coupon_files(make_quick_coupon(outcome), outcome, date=date)
    # sheets of an earlier run would mislead beside new ones; where no new ones are written they stay as they are
    obsolete = ["sheet-*.svg", *(["quick-coupon-*.svg"] if coupon else [])] if files else []
    files["report.json"] = dump_report(build_report(outcome))
    progress.tell(0.6)
    files["guide.html"] = render_guide(outcome, date=date)
    progress.tell(1.0)
    progress.settle()
    return replace_files(folder, files, obsolete=obsolete)
