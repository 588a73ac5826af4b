"""Hinges read: the bend that is picked, its lattice, and how far each limit of the board is used.

Limits are worked out a moment after something has changed, never while a panel is drawn.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import bmesh
import bpy

from ..geometry.errors import GeometryError
from ..host import shown
from ..host.handlers import Handlers
from ..host.views import redraw_views
from ..jobs import results

if TYPE_CHECKING:
    from ..geometry.board.hinge import HingeSolution
    from ..geometry.board.stock import Stock
    from ..geometry.board.wishes import HingeWishes
    from ..geometry.part import Part, PlacedLattice

__all__ = ["HANDLERS", "forget", "picked", "solution"]

_solved: dict[tuple[object, ...], HingeSolution | str] = {}
_waiting: list[tuple[tuple[object, ...], Stock, float, float, HingeWishes]] = []


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
    return max(hinges, key=lambda each: (each[1].lattice.shear / each[1].lattice.shear_limit, each[0].id), default=None)


def solution(placed: PlacedLattice, stock: Stock, wishes: HingeWishes, radius: float) -> HingeSolution | str | None:
    """Return what the solver makes of a hinge, or why it cannot; None until it has."""
    made = placed.lattice
    key = (stock.name, stock.thickness, stock.kerf, made.angle, made.axis_length, wishes, radius, stock.shear_limit)
    if key not in _solved and key not in [each[0] for each in _waiting]:
        _waiting.append((key, stock, made.angle, made.axis_length, replace(wishes, inside_radius=radius)))
        if not bpy.app.timers.is_registered(_solve):
            bpy.app.timers.register(_solve, first_interval=0.01)
    return _solved.get(key)


def _solve() -> None:
    from ..geometry.board.hinge import solve_hinge

    while _waiting:
        key, stock, angle, axis, wishes = _waiting.pop()
        try:
            _solved[key] = solve_hinge(stock, angle=angle, axis_length=axis, fixed=wishes)
        except GeometryError as error:
            _solved[key] = str(error)
    redraw_views()


def forget() -> None:
    """Drop everything that was worked out."""
    _solved.clear()
    _waiting.clear()


HANDLERS = Handlers(timers=(_solve,), forget=forget)
