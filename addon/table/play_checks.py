"""Play checks beside the cut files: whoever sits at the table is read with the building and judged with it.

Reading asks the host; judging holds plain values only and may be done in a thread.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from ..geometry.errors import CancelledError, GeometryError
from ..geometry.findings import Finding, in_order
from ..geometry.progress import SILENT, Progress
from ..host import table
from ..host.people import STATURES

if TYPE_CHECKING:
    import numpy as np
    from bpy.types import Scene

    from ..geometry.outcome import Outcome
    from ..geometry.play.checks import PlayInput
    from ..geometry.play.table_top import Blocker, Miniature, Seat, Table
    from ..geometry.solid.solid import Solid

__all__ = ["Company", "judge", "read_company", "stand_round", "with_play"]

#: Faces that one piece of furniture may have here, where work shows its progress and can be given up.
_MOST_FACES = 100_000


@dataclass(frozen=True, slots=True, eq=False)
class Company:
    """Who and what is at the table, and what the scene's switches say, before the building itself is made.

    table: None where no object counts as one; it then stands level with ``middle``, (3,) mm, the middle of the
    building's floor, where that is known. seats: with the stature whose eyes count, each at its own height;
    reaching: the same seats with the stature whose arm must reach. furniture: (name, mesh) in the way.
    miniatures: all; ``miniatures_in``: whether they are in the way.
    """

    table: Table | None
    middle: np.ndarray | None
    seats: tuple[Seat, ...]
    reaching: tuple[Seat, ...]
    furniture: tuple[tuple[str, Solid], ...]
    miniatures: tuple[Miniature, ...]
    miniatures_in: bool
    roof_on: bool
    leaves_open: bool
    fits: str


def read_company(scene: Scene) -> Company | GeometryError | None:
    """Return who and what is at the table; None where nobody sits, the error where something cannot be read."""
    if not table.objects_at_table(scene, "SEAT"):
        return None
    chosen = scene.stowfold.table
    try:
        ground = table.read_ground(scene)
        seats, reaching = (
            tuple(table.read_seat(each, scene, anyone=who) for each in table.objects_at_table(scene, "SEAT"))
            for who in (chosen.sees, chosen.reaches)
        )
        furniture = table.objects_at_table(scene, "FURNITURE") if chosen.furniture_in else ()
        return Company(
            table=table.read_table(scene),
            middle=None if ground is None else ground.middle,
            seats=seats,
            reaching=reaching,
            furniture=tuple((each.name, table.read_furniture(each, scene, most=_MOST_FACES)) for each in furniture),
            miniatures=tuple(table.read_miniature(each, scene) for each in table.objects_at_table(scene, "MINIATURE")),
            miniatures_in=chosen.miniatures_in,
            roof_on=chosen.roof_on,
            leaves_open=chosen.leaves_open,
            fits=chosen.fits,
        )
    except GeometryError as error:
        return error


def with_play(outcome: Outcome, scene: Scene) -> Outcome:
    """Return the outcome with what every seat sees and reaches; as it is where nobody sits at a table."""
    return judge(outcome, read_company(scene))


def judge(outcome: Outcome, company: Company | GeometryError | None, *, progress: Progress = SILENT) -> Outcome:
    """Return the outcome with what every seat sees and reaches; as it is for None.

    What keeps the table from being read is a finding, since the cut files do not depend on it. Raises
    CancelledError where the work was given up.
    """
    from ..geometry.play.checks import check_play, not_checked

    if company is None:
        return outcome
    try:
        if isinstance(company, GeometryError):
            raise company
        given, remarks = stand_round(outcome, company)
        play = check_play(given, STATURES, progress=progress)
    except CancelledError:
        raise
    except GeometryError as error:
        return replace(outcome, findings=in_order([*outcome.findings, not_checked(error)]))
    return replace(outcome, play=play, findings=in_order([*outcome.findings, *remarks, *play.findings]))


def stand_round(outcome: Outcome, company: Company) -> tuple[PlayInput, tuple[Finding, ...]]:
    """Return what stands on the table round a finished building.

    Raises GeometryError with one sentence where something cannot be dealt with.
    """
    from ..geometry.play.checks import PlayInput
    from ..geometry.play.fittings import room_bends, room_leaves
    from ..geometry.play.pieces import blocker_of_mesh, blocker_of_miniature
    from ..geometry.play.room import room_blockers, room_squares
    from ..geometry.play.table_top import Table

    facets, settings = outcome.facets, outcome.settings
    squares = room_squares(facets, settings, size=settings.square)
    building = [
        *room_blockers(facets, settings, roof=company.roof_on, cheeks=outcome.parts),
        *room_leaves(facets.openings, wide_open=company.leaves_open),
    ]
    furniture: list[Blocker] = []
    remarks: list[Finding] = []
    for name, solid in company.furniture:
        blocker, said = blocker_of_mesh(name, solid.points, solid.faces, patient=True)
        furniture.append(blocker)
        remarks += said
    if company.miniatures_in:
        furniture += [blocker_of_miniature(each) for each in company.miniatures]
    top = company.table or Table(squares.origin if company.middle is None else company.middle)
    level = float(top.centre[2])
    given = PlayInput(
        squares=squares,
        building=tuple(building),
        table=top,
        seats=tuple(_at_level(each, level) for each in company.seats),
        reaching=tuple(_at_level(each, level) for each in company.reaching),
        furniture=tuple(furniture),
        miniatures=company.miniatures,
        bends=room_bends(facets, outcome.parts, settings),
        fits=company.fits,
    )
    return given, tuple(remarks)


def _at_level(seat: Seat, level: float) -> Seat:
    """Return the seat at the height of the table's top, mm."""
    edge = seat.edge.copy()
    edge[2] = level
    return replace(seat, edge=edge)
