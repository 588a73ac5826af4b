"""Sheets of a layout: the lines that the laser draws on each, and each as the file that is written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ..files import seal
from ..part import Part
from ..progress import SILENT, Progress
from ..sheet.layout import Layout
from ..sheet.order import CutLines, sheet_lines
from ..sheet.svg import draw_sheet

__all__ = ["all_lines", "sheet_files"]


def all_lines(layout: Layout, parts: Mapping[str, Part], progress: Progress = SILENT) -> tuple[CutLines, ...]:
    """Return the lines of every sheet in the order of cutting. parts: by their ids."""
    lines = []
    for index in range(len(layout.sheets)):
        lines.append(sheet_lines(layout, index, parts))
        progress.tell((index + 1) / len(layout.sheets))
    return tuple(lines)


def sheet_files(
    layout: Layout,
    parts: Mapping[str, Part],
    lines: Sequence[CutLines],
    *,
    title: str,
    date: str,
    prefix: str = "sheet",
    progress: Progress = SILENT,
) -> dict[str, str]:
    """Return the sealed text of every sheet by the name of its file, which begins with ``prefix``.

    parts: by their ids; lines: per sheet, as ``all_lines`` gives them.
    """
    files = {}
    for index, sheet in enumerate(layout.sheets):
        drawn = draw_sheet(layout, index, parts, lines[index], title=title, date=date)
        files[prefix + sheet.file.removeprefix("sheet")] = seal(drawn)
        progress.tell((index + 1) / len(layout.sheets))
    return files
