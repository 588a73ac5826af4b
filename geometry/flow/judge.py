"""Judging: what every seat sees and reaches of a finished building, beside its cut files."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ..errors import CancelledError, GeometryError
from ..findings import Finding, in_order
from ..outcome import Outcome
from ..play.checks import check_play, not_checked
from ..play.pieces import blocker_of_mesh
from ..play.set_table import find_room, set_table
from ..play.stature import Stature
from ..play.table_top import AtTable, Blocker, TableTop
from ..progress import SILENT, Progress
from ..solid.places import say_places

__all__ = ["judge", "set_for"]


def judge(
    outcome: Outcome,
    at_table: AtTable | GeometryError | None,
    statures: Sequence[Stature],
    *,
    progress: Progress = SILENT,
) -> Outcome:
    """Return the outcome with what every seat sees and reaches; as it is where nobody sits at a table.

    at_table: the error where the table could not be read. It becomes a finding, as does all that keeps the table
    from being judged, since the cut files do not depend on it. Raises CancelledError where the work is given up.
    """
    if at_table is None:
        return outcome
    try:
        if isinstance(at_table, GeometryError):
            raise at_table
        top, remarks = set_for(outcome, at_table)
        play = check_play(top, statures, progress=progress)
    except CancelledError:
        raise
    except GeometryError as error:
        said = say_places([not_checked(error)], outcome.facets)
        return replace(outcome, findings=in_order([*outcome.findings, *said]))
    said = say_places([*remarks, *play.findings], outcome.facets)
    return replace(outcome, play=play, findings=in_order([*outcome.findings, *said]))


def set_for(outcome: Outcome, at_table: AtTable) -> tuple[TableTop, tuple[Finding, ...]]:
    """Return the table set with a finished building, and what is to be said of its furniture.

    Raises GeometryError with one sentence where something cannot be dealt with.
    """
    settings = outcome.settings
    room = find_room(
        outcome.facets,
        settings,
        square=settings.square,
        parts=outcome.parts,
        leaves_open=at_table.leaves_open,
        raised=outcome.tiling.thickness,
    )
    furniture: list[Blocker] = []
    remarks: list[Finding] = []
    for solid in at_table.furniture:
        blocker, said = blocker_of_mesh(solid.sources[0], solid.points, solid.faces, patient=True)
        furniture.append(blocker)
        remarks += said
    return set_table(at_table, room, furniture), tuple(remarks)
