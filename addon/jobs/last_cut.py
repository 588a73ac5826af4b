"""The last cut: the sheets that windows show, which the maker has cut or is about to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..geometry.errors import BadSettingError
from . import results

if TYPE_CHECKING:
    import bpy

    from ..geometry.outcome import Outcome

__all__ = ["cut_shown"]


def cut_shown(context: bpy.types.Context) -> tuple[Outcome, bool]:
    """Return the outcome that windows show and whether the model has changed since.

    Raises BadSettingError where no sheets are known.
    """
    report = results.shown(context)
    if report is None or report.outcome is None or not report.outcome.layout.sheets:
        raise BadSettingError("No sheets are known; choose Check Building first")
    return report.outcome, report.stale
