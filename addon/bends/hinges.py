"""Hinges read: the bend that is picked, how far each limit of its board is used, its folds and its cutting time.

All of it is worked out a moment after something has changed, never while a panel is drawn.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import bmesh
import bpy

from ..geometry.errors import GeometryError
from ..host import shown
from ..host.handlers import Handlers
from ..host.views import redraw_views
from ..jobs import results

if TYPE_CHECKING:
    from ..geometry.beam.laser import Laser
    from ..geometry.board.hinge import HingeSolution
    from ..geometry.board.stock import Stock
    from ..geometry.board.wishes import HingeWishes
    from ..geometry.part import Part, PlacedLattice
    from ..geometry.sheet.times import WayOfCutting

__all__ = ["HANDLERS", "HingeReading", "forget", "picked", "reading"]


@dataclass(frozen=True, slots=True)
class HingeReading:
    """What the solver makes of a hinge. folds: how often it can be folded, None where it is not known.

    ways: the narrowest hinge of single lines and the narrowest of slots, with their times at the laser.
    """

    solution: HingeSolution
    folds: int | None
    ways: tuple[WayOfCutting, ...]


_read: dict[tuple[object, ...], HingeReading | str] = {}
_waiting: list[tuple[tuple[object, ...], PlacedLattice, Stock, Laser, HingeWishes]] = []


def picked(context: bpy.types.Context, report: results.Report) -> tuple[Part, PlacedLattice] | None:
    """Return the hinge of the edge that is selected in Edit Mode, else the one that is stressed most."""
    outcome = report.outcome
    if outcome is None:
        return None
    hinges = [(part, placed) for part in outcome.parts for placed in part.lattices]
    target = context.edit_object
    # with modifiers the edges that are seen have other numbers than those that are edited
    if target is not None and target.type == "MESH" and not shown.is_changed(target):
        bm = bmesh.from_edit_mesh(target.data)
        active = bm.select_history.active
        chosen = {active.index} if isinstance(active, bmesh.types.BMEdge) else set()
        chosen = chosen or {edge.index for edge in bm.edges if edge.select}
        for part, placed in hinges:
            if chosen & set(placed.host_edges):
                return part, placed
        if chosen:
            return None
    return max(
        hinges, key=lambda hinge: (hinge[1].lattice.shear / hinge[1].lattice.shear_limit, hinge[0].id), default=None
    )


def reading(
    placed: PlacedLattice, stock: Stock, laser: Laser, wishes: HingeWishes, radius: float
) -> HingeReading | str | None:
    """Return what the solver makes of a hinge, or why it cannot; None until it has. radius: inside, at most, mm."""
    made = placed.lattice
    board = (stock.name, stock.thickness, stock.kerf, stock.shear_limit)
    beam = (laser.acceleration, *laser.feeds.items())
    key = (board, beam, made.angle, made.axis_length, wishes, radius)
    if key not in _read and all(key != waiting[0] for waiting in _waiting):
        _waiting.append((key, placed, stock, laser, replace(wishes, inside_radius=radius)))
        if not bpy.app.timers.is_registered(_solve):
            bpy.app.timers.register(_solve, first_interval=0.01)
    return _read.get(key)


def _solve() -> None:
    from ..geometry.board.endurance import folds_borne
    from ..geometry.board.hinge import solve_hinge
    from ..geometry.sheet.times import compare_cuts

    while _waiting:
        key, placed, stock, laser, wishes = _waiting.pop()
        bend = placed.lattice
        try:
            found = solve_hinge(stock, angle=bend.angle, axis_length=bend.axis_length, fixed=wishes)
            ways = compare_cuts(placed, stock, laser, wishes)
            _read[key] = HingeReading(found, folds_borne(stock, found.lattice), ways)
        except GeometryError as error:
            _read[key] = str(error)
    redraw_views()


def forget() -> None:
    """Drop everything that was worked out."""
    _read.clear()
    _waiting.clear()


HANDLERS = Handlers(timers=(_solve,), forget=forget)
