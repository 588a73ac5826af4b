"""Play checks beside the cut files: whoever sits at the table is read with the building and judged with it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from . import table
from .geometry.errors import GeometryError
from .geometry.findings import Finding, in_order
from .people import STATURES

if TYPE_CHECKING:
    from bpy.types import Scene

    from .geometry.outcome import Outcome
    from .geometry.play.blocker import Blocker
    from .geometry.play.checks import PlayInput

__all__ = ["read_table_top", "with_play"]


def with_play(outcome: Outcome, scene: Scene) -> Outcome:
    """Return the outcome with what every seat sees and reaches; as it is where nobody sits at a table.

    What keeps the table from being read is a finding, since the cut files do not depend on it.
    """
    from .geometry.play.checks import check_play, not_checked

    if not table.objects_at_table(scene, "SEAT"):
        return outcome
    try:
        given, remarks = read_table_top(outcome, scene)
        play = check_play(given, STATURES)
    except GeometryError as error:
        return replace(outcome, findings=in_order([*outcome.findings, not_checked(error)]))
    return replace(outcome, play=play, findings=in_order([*outcome.findings, *remarks, *play.findings]))


def read_table_top(outcome: Outcome, scene: Scene) -> tuple[PlayInput, tuple[Finding, ...]]:
    """Return what stands on the table round a finished building, as the scene's switches say.

    Raises GeometryError with one sentence where something cannot be read.
    """
    from .geometry.play.checks import PlayInput
    from .geometry.play.fittings import room_bends, room_leaves
    from .geometry.play.pieces import blocker_of_mesh, blocker_of_miniature
    from .geometry.play.room import room_blockers, room_squares
    from .geometry.play.seat import Table

    chosen = scene.stowfold.table
    facets, settings = outcome.facets, outcome.settings
    squares = room_squares(facets, settings, size=settings.square)
    building = [
        *room_blockers(facets, settings, roof=chosen.roof_on, cheeks=outcome.parts),
        *room_leaves(facets.openings, wide_open=chosen.leaves_open),
    ]
    furniture: list[Blocker] = []
    remarks: list[Finding] = []
    if chosen.furniture_in:
        for each in table.objects_at_table(scene, "FURNITURE"):
            solid = table.read_furniture(each, scene)
            blocker, said = blocker_of_mesh(each.name, solid.points, solid.faces)
            furniture.append(blocker)
            remarks += said
    miniatures = tuple(table.read_miniature(each, scene) for each in table.objects_at_table(scene, "MINIATURE"))
    if chosen.miniatures_in:
        furniture += [blocker_of_miniature(each) for each in miniatures]
    top = table.read_table(scene)
    ground = table.read_ground(scene)
    if top is None:
        top = Table(squares.origin if ground is None else ground.middle)
    level = float(top.centre[2])
    seats, reaching = (
        tuple(table.read_seat(each, scene, top=level, anyone=who) for each in table.objects_at_table(scene, "SEAT"))
        for who in (chosen.sees, chosen.reaches)
    )
    given = PlayInput(
        squares=squares,
        building=tuple(building),
        table=top,
        seats=seats,
        reaching=reaching,
        furniture=tuple(furniture),
        miniatures=miniatures,
        bends=room_bends(facets, outcome.parts, settings),
        fits=chosen.fits,
    )
    return given, tuple(remarks)
