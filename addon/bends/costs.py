"""Costs: what changes where the selected edges are overruled, worked out a moment after they are selected."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import bmesh
import bpy

from ..geometry.errors import GeometryError
from ..geometry.solid.solid import Role
from ..host import reading
from ..host.handlers import Handlers
from ..host.views import redraw_sidebars
from ..jobs import background
from ..jobs.background import Job
from . import nets

if TYPE_CHECKING:
    from ..geometry.propose.alternatives import Cost, HostEdge

__all__ = ["HANDLERS", "OVERRULED", "Costs", "costs_of_selection", "forget", "selected_edges", "weigh"]

#: What an edge can be overruled to be.
OVERRULED = (Role.FLEX, Role.CLOSURE)

#: How long a selection must rest before its costs are worked out, and how often the window looks for them then, s.
_REST, _LOOK = 0.15, 0.05

#: More selected edges than this are no change that a maker weighs.
_MOST = 24


@dataclass(frozen=True, slots=True, eq=False)
class Costs:
    """One line for each role that the selected edges could be given; or in ``why`` the sentence that says why not."""

    lines: tuple[tuple[Role, str], ...]
    why: str = ""


_Key = tuple[int, frozenset["HostEdge"]]


@dataclass(slots=True)
class _State:
    """known: the costs for the last key that was worked out. wanted: the key that a panel asked for last."""

    key: _Key | None = None
    known: Costs | None = None
    wanted: _Key | None = None
    job: Job | None = None
    job_key: _Key | None = None


_state = _State()


def selected_edges(context: bpy.types.Context) -> frozenset[HostEdge]:
    """Return the selected edges of the building that is being edited; none where there are more than are weighed."""
    try:
        targets = reading.find_block_out(context.scene)
    except GeometryError:
        return frozenset()
    found = set()
    for source, target in enumerate(targets):
        mesh = target.data
        # counting is for the host to do; a large mesh is not gone through while a panel is drawn
        if mesh.is_editmode and 0 < mesh.total_edge_sel <= _MOST:
            found |= {(source, edge.index) for edge in bmesh.from_edit_mesh(mesh).edges if edge.select}
    return frozenset(found)


def costs_of_selection(context: bpy.types.Context) -> Costs | None:
    """Return what overruling the selected edges costs; None while it is worked out."""
    edges = selected_edges(context)
    if not edges:
        return Costs((), "Select an edge of a roof in Edit Mode to see what that costs.")
    key = (nets.revision(), edges)
    if _state.key == key:
        return _state.known
    if _state.wanted != key:
        _state.wanted = key
        if bpy.app.timers.is_registered(_begin):
            bpy.app.timers.unregister(_begin)
        bpy.app.timers.register(_begin, first_interval=_REST)
    return None


def weigh(model: nets.Model, edges: frozenset[HostEdge], *roles: Role) -> tuple[Cost, ...]:
    """Return what it costs to give each role to edges; plain values only, for any thread. Raises GeometryError."""
    from ..geometry.flow.trying import costs_of_overruling

    return costs_of_overruling(model.solid, model.settings, edges, roles, model.given)


def _told(model: nets.Model, edges: frozenset[HostEdge]) -> Costs:
    try:
        found = weigh(model, edges, *OVERRULED)
    except GeometryError as error:
        return Costs((), str(error))
    if any(cost.after is None for cost in found):
        return Costs((), f"{found[0].line}.")
    return Costs(tuple((role, f"{cost.line}.") for role, cost in zip(OVERRULED, found, strict=True)))


def _begin() -> float | None:
    """Begin to work out what was asked for last."""
    wanted = _state.wanted
    if wanted is None or _state.job is not None:
        return _LOOK if wanted is not None else None
    if nets.is_large(bpy.context.scene):
        _answer(wanted, Costs((), "The building has too many faces to weigh its edges."))
        return None
    try:
        model = nets.read_model(bpy.context.scene)
    except GeometryError as error:
        _answer(wanted, Costs((), str(error)))
        return None
    job = Job("Weighing edges", lambda _progress: _told(model, wanted[1]))
    _state.job, _state.job_key = job, wanted
    background.begin_beside(job)
    bpy.app.timers.register(_collect, first_interval=_LOOK)
    return None


def _collect() -> float | None:
    job, key = _state.job, _state.job_key
    if job is None or key is None:
        return None
    if not job.done:
        return _LOOK
    _state.job = None
    background.leave_beside(job)
    _answer(key, job.value())
    return None


def _answer(key: _Key, costs: Costs) -> None:
    _state.key, _state.known = key, costs
    if _state.wanted == key:
        _state.wanted = None
    redraw_sidebars()


def forget() -> None:
    """Drop everything that was worked out."""
    if _state.job is not None:
        background.leave_beside(_state.job)
    _state.key = _state.known = _state.wanted = _state.job = _state.job_key = None


HANDLERS = Handlers(timers=(_begin, _collect), forget=forget)
