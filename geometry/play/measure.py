"""Measuring: the maps of a table, quickly again while one piece is moved.

What stays is measured once for every eye and hand, so that dragging one miniature costs its own shadow and little
more.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import chain

import numpy as np

from .bodies import Bodies, make_bodies
from .clearance import Clearance, measure_clearance
from .hand import HandMap, measure_for
from .reach import ReachMap, map_reach
from .seated import eyes_at, hands_at, map_seated_hands
from .sight import HEIGHTS, Eye, Occlusion, SightLine, SightMap, draw_sight_line, find_occlusion
from .stature import Stature
from .table import shoulder_of
from .table_top import Blocker, Squares, TableTop

__all__ = ["Maps", "Player", "Staying", "measure"]


@dataclass(frozen=True, slots=True, eq=False)
class Player:
    """Who sees from a seat. seat: its name; eye, shoulder: (3,) mm; toward: (3,) unit, level, into the table."""

    seat: str
    eye: np.ndarray
    shoulder: np.ndarray
    toward: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Maps:
    """Everything measured for one state of the table.

    hands: None where they were not measured. lines: of sight, from seats to miniatures. players: one per seat.
    lifted: whether the building has a roof that is not on. walls: then what else of it stands, as flat faces with
    their holes, (k, 3) mm a ring.
    """

    squares: Squares
    sight: SightMap
    reach: ReachMap
    hands: HandMap | None
    lines: tuple[SightLine, ...] = ()
    players: tuple[Player, ...] = ()
    lifted: bool = False
    walls: tuple[tuple[np.ndarray, ...], ...] = ()

    @property
    def seats(self) -> tuple[str, ...]:
        """Names of the seats."""
        return self.sight.seats

    @property
    def share(self) -> np.ndarray:
        """What of each square is seen, (seats, heights, rows, columns), 0 .. 1."""
        return self.sight.share


@dataclass(frozen=True, slots=True, eq=False)
class Staying:
    """What was measured of everything that stays; ``mark`` and ``eyes`` tell whether it still holds."""

    mark: bytes
    eyes: bytes
    bodies: Bodies
    occlusion: Occlusion
    clearance: Clearance | None = None


def measure(
    top: TableTop, statures: Sequence[Stature], before: Staying | None = None, *, hands: bool = True
) -> tuple[Maps, Staying]:
    """Return the maps of a table and what can be used again when only the active piece has moved.

    before: what the last call returned. hands: measure how hands fit as well, which takes longer than sight.
    Raises GeometryError where an eye lies in something or cannot look down on the squares.
    """
    squares = top.squares
    eyes = eyes_at(top, statures)
    staying = _measure_staying(top, eyes, before)
    fit: HandMap | None = None
    if hands and top.fitting:
        staying, clearance = _clearance(top, statures, staying)
        fit = map_seated_hands(clearance, top.fitting, top.table, statures)
    maps = Maps(
        squares=squares,
        sight=staying.occlusion.with_moved(top.moving) if top.moving else staying.occlusion.sight,
        reach=map_reach(squares, top.reaching, top.table, statures),
        hands=fit,
        lines=_lines(top, staying, {eye.seat: eye.point for eye in eyes}),
        players=tuple(
            Player(seat.name, eye.point, shoulder_of(seat, top.table, statures), seat.toward)
            for eye, seat in zip(eyes, top.seats, strict=True)
        ),
        lifted=top.lifted,
        walls=tuple(face for part in top.building for face in part.faces) if top.lifted else (),
    )
    return maps, staying


def _measure_staying(top: TableTop, eyes: Sequence[Eye], before: Staying | None) -> Staying:
    """Return what everything that stays hides; what was measured before, where it still holds."""
    mark = _mark(top.squares, top.staying)
    seen_from = b"".join(eye.point.tobytes() for eye in eyes) + "|".join(eye.seat for eye in eyes).encode()
    same = before is not None and before.mark == mark
    if before is not None and same and before.eyes == seen_from:
        return before
    occlusion = find_occlusion(top.staying, top.squares, eyes, HEIGHTS)
    clearance = before.clearance if before is not None and same else None
    return Staying(mark, seen_from, make_bodies(top.staying, top.squares), occlusion, clearance)


def _clearance(top: TableTop, statures: Sequence[Stature], staying: Staying) -> tuple[Staying, Clearance]:
    """Return the clearance for all hands, the moving piece included, and what of it stays."""
    probes = tuple(chain.from_iterable(hands_at(top.fitting, statures)))
    known = staying.clearance
    if known is None or not {start for probe in probes for start, _ in probe.stages} <= set(known.starts):
        known = measure_for(probes, top.squares, top.staying)
        staying = replace(staying, clearance=known)
    if not top.moving:
        return staying, known
    moved = measure_clearance(top.squares, top.moving, starts=known.starts, grip=known.grip)
    return staying, known.beside(moved)


def _mark(squares: Squares, blockers: Iterable[Blocker]) -> bytes:
    """Return bytes that are the same for the same squares and blockers."""
    parts = [array.tobytes() for array in (squares.origin, squares.u, squares.v, squares.inside)]
    parts.append(np.float64(squares.size).tobytes())
    for blocker in blockers:
        parts.append(blocker.name.encode())
        parts += [np.ascontiguousarray(ring).tobytes() for face in blocker.faces for ring in face]
    return b"|".join(parts)


def _lines(top: TableTop, staying: Staying, eyes: dict[str, np.ndarray]) -> tuple[SightLine, ...]:
    """Return the lines of sight from every seat to the active miniature, or from the active seat to all of them."""
    aims = [one for one in top.miniatures if one.name == top.active]
    seats = list(eyes)
    if top.active in eyes:
        aims, seats = list(top.miniatures), [top.active]
    if not aims:
        return ()
    moving = make_bodies(top.moving, top.squares)
    lines = []
    for figure in aims:
        target = figure.foot + np.array([0.0, 0.0, figure.height / 2])
        for seat in seats:
            found = [
                draw_sight_line(eyes[seat], target, bodies, top.squares, through=figure.name)
                for bodies in (staying.bodies, moving)
            ]
            blocked = [line for line in found if line.hit is not None]
            lines.append(
                min(blocked, key=lambda line: float(np.linalg.norm(line.hit - line.eye))) if blocked else found[0]
            )
    return tuple(lines)
