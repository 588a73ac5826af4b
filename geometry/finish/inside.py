"""Finishes on the room side: a part bears lines on the one face that lies up, so walls bare outside are turned over."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import shapely
from shapely.geometry import Polygon

from ..findings import Finding, Location, Severity
from ..part import Dressing, FaceUp, Joiner, Part, PartKind, Way
from ..solid.facets import Facets
from ..unfold.flip import flipped
from ..unfold.section import Sections
from .dark import dark_units
from .draw import draw
from .dress import Board, boards_among, covered_stretches, free_area, lines_on, surface_of
from .finish import Finish
from .runs import Run, find_runs

__all__ = ["dress_inside"]

#: So many parts are named in one sentence.
_NAMED = 4


def dress_inside(
    facets: Facets,
    sections: Sections,
    joiners: Sequence[Joiner],
    parts: Sequence[Part],
    name: str,
    finish: Finish,
) -> tuple[tuple[Part, ...], tuple[Finding, ...]]:
    """Return the parts with a finish on the room side of walls and inner cheeks, and what is left out.

    Walls that bear nothing outside are turned over; inner cheeks lie room side up as they are, and run on from them.
    Others would have to be engraved on both faces, which is not done but told.
    """
    engraved = [part for part in parts if part.kind is PartKind.WALL and _bears_lines(part)]
    outside = {part.id for part in engraved}
    beside = {joiner.cheeks[1] for joiner in joiners if not outside.issuperset(joiner.ends)}
    turned = tuple(_room_up(part) if part.kind is PartKind.WALL and part.id not in outside else part for part in parts)
    runs = find_runs(facets, sections.setbacks)
    boards = list(_boards(turned, beside, runs))
    covered = covered_stretches(joiners, runs)
    made: dict[int, list[Dressing]] = {}
    for k, run in enumerate(runs):
        own = [board for board in boards if board.run == k]
        if not own:
            continue
        surface = surface_of(facets, run, own, covered.get(k, ()))
        drawing = draw(finish, surface)
        filled = finish.way is Way.FILL
        dark = shapely.difference(dark_units(finish, surface, drawing[0]), drawing[2]) if filled else Polygon()
        for board in own:
            part = turned[board.part]
            free = free_area(part, board, run, None, finish.edge, surface)
            made.setdefault(board.part, []).extend(lines_on(part, board, run, name, finish, drawing, dark, None, free))
    dressed = tuple(replace(part, dressings=(*part.dressings, *made.get(k, ()))) for k, part in enumerate(turned))
    return dressed, _left_out(engraved, name)


def _bears_lines(part: Part) -> bool:
    return bool(part.dressings or part.engrave or part.score)


def _room_up(part: Part) -> Part:
    return part if part.face_up is FaceUp.ROOM else replace(flipped(part), face_up=FaceUp.ROOM)


def _boards(parts: Sequence[Part], cheeks: set[str], runs: Sequence[Run]) -> Iterator[Board]:
    """Return the regions of board that lie room side up: panels of walls, and inner cheeks beside them."""
    shown = [part.face_up is FaceUp.ROOM and (part.kind is PartKind.WALL or part.id in cheeks) for part in parts]
    return (board for board in boards_among(parts, shown, runs) if runs[board.run].upright)


def _left_out(engraved: Sequence[Part], name: str) -> tuple[Finding, ...]:
    if not engraved:
        return ()
    listed = ", ".join(part.id for part in engraved[:_NAMED]) + (", ..." if len(engraved) > _NAMED else "")
    bear = "bears" if len(engraved) == 1 else "bear"
    message = (
        f"{listed} {bear} lines outside, so '{name}' is left out on the room side: a part is engraved on one face. "
        "Leave their outside plain, or draw the room side by hand."
    )
    return (Finding(Severity.NOTE, "inside-left-out", message, Location(part=engraved[0].id)),)
