"""Setting the table: the building as a room to play in, with pieces and people brought to it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from ..part import Part
from ..settings import BuildSettings
from ..solid.facets import Facets
from .fittings import room_bends, room_leaves
from .pieces import blocker_of_miniature
from .raised import lift_furniture, lift_miniature, raise_squares
from .room import room_blockers, room_squares
from .table_top import AtTable, Blocker, BlockerKind, RoundedCorner, Seat, Squares, Table, TableTop

__all__ = ["Room", "find_room", "set_table", "top_of"]


@dataclass(frozen=True, slots=True, eq=False)
class Room:
    """A building to play in.

    squares: on its plan. blockers: walls, joiners, roof and leaves. bends: flex corners as they stand in the room.
    raised: how high tiles lie on the floor, mm; the squares lie on them.
    """

    squares: Squares
    blockers: tuple[Blocker, ...]
    bends: tuple[RoundedCorner, ...]
    raised: float = 0.0


def find_room(
    facets: Facets,
    settings: BuildSettings,
    *,
    square: float,
    parts: Sequence[Part] = (),
    leaves_open: bool,
    raised: float = 0.0,
) -> Room:
    """Return the room that a building is.

    square: side of a square, mm. parts: of the finished building; without them the room has neither the cheeks of
    joiners nor bends. raised: thickness of the tiles on its floor, mm.
    Raises GeometryError where the walls enclose no plan.
    """
    squares = raise_squares(room_squares(facets, settings, size=square), raised)
    boards = room_blockers(facets, settings, roof=True, cheeks=parts)
    leaves = room_leaves(facets.openings, parts, wide_open=leaves_open)
    return Room(squares, (*boards, *leaves), room_bends(facets, parts, settings), raised)


def set_table(at_table: AtTable, room: Room, furniture: Iterable[Blocker]) -> TableTop:
    """Return the table with the building on it, and everything in the way that the scene leaves there.

    furniture: the blockers of ``at_table.furniture``. Where no table is known, one stands level with the floor of
    the room; all seats are at the height of the table's top.
    """
    lifted = tuple(lift_miniature(one, room.squares, room.raised) for one in at_table.miniatures)
    miniatures = map(blocker_of_miniature, lifted if at_table.miniatures_in else ())
    furniture = (lift_furniture(piece, room.squares, room.raised) for piece in furniture) if room.raised else furniture
    table = at_table.table or Table(raise_squares(room.squares, -room.raised).origin)
    level = float(table.centre[2])
    seats, reaching, fitting = (
        tuple(_at_level(seat, level) for seat in seats)
        for seats in (at_table.seats, at_table.reaching, at_table.fitting)
    )
    return TableTop(
        squares=room.squares,
        building=tuple(part for part in room.blockers if at_table.roof_on or part.kind is not BlockerKind.ROOF),
        table=table,
        seats=seats,
        reaching=reaching,
        fitting=fitting,
        pieces=(*furniture, *miniatures),
        miniatures=lifted,
        bends=room.bends,
        active=at_table.active,
        ridge=top_of(part for part in room.blockers if part.kind is BlockerKind.ROOF),
    )


def _at_level(seat: Seat, level: float) -> Seat:
    """Return the seat with its edge at a height, mm."""
    edge = seat.edge.copy()
    edge[2] = level
    edge.setflags(write=False)
    return replace(seat, edge=edge)


def top_of(blockers: Iterable[Blocker]) -> float | None:
    """Return how high the highest of the blockers reaches, mm; None where there is none."""
    return max((float(ring[:, 2].max()) for part in blockers for face in part.faces for ring in face), default=None)
