"""Play results: maps of sight, reach and hands, made again while things are dragged, and the one kept for comparison.

Maps are derived and never saved. A change only asks for new ones; a moment later the table is read
again. What stays is measured once, what moves each time; where that takes too long, the maps wait
until everything rests, and say so.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

import bpy
import numpy as np
from bpy.app.handlers import persistent

from ..geometry.errors import GeometryError
from ..geometry.play import maps as maps_of_play
from ..geometry.play.compare import with_gables
from ..geometry.play.hand import Pinch
from ..geometry.play.measure import Maps, Staying, measure
from ..geometry.play.sight import FigureHeight
from ..host.edits import Shapes, edits_in
from ..host.people import STATURES
from ..host.views import redraw_views
from . import play_input, settling

__all__ = [
    "Shown",
    "drop_all",
    "keep_for_comparison",
    "kept",
    "laid_against",
    "paint",
    "refresh",
    "shown",
    "suspect",
    "weigh_gables",
]

#: From a change to new maps, s: the host draws in between.
_SOON = 0.005

#: Maps that take longer, s, are made only after everything has rested for so long, s.
_BUDGET, _REST = 0.12, 0.35


@dataclass(frozen=True, slots=True, eq=False)
class Shown:
    """What the maps came to: maps, or the sentence that says why there are none. seconds: what they took."""

    maps: Maps | None
    failure: str | None
    seconds: float


@dataclass(frozen=True, slots=True, eq=False)
class _Painted:
    """What is drawn for the maps and the choices of the view in ``key``."""

    key: tuple[object, ...]
    paint: maps_of_play.Paint


@dataclass(frozen=True, slots=True, eq=False)
class _Weighed:
    """Maps with the gable that was weighed. share: of the maps shown then, None where there were none."""

    maps: Maps
    share: np.ndarray | None


@dataclass(slots=True)
class _State:
    """What was made last. kept: the maps kept for comparison; seat: name of the seat that was active last."""

    shown: Shown | None = None
    staying: Staying | None = None
    painted: _Painted | None = None
    weighed: _Weighed | None = None
    kept: Maps | None = None
    seat: str | None = None

    def drop(self) -> None:
        """Forget everything that hangs on the model."""
        self.shown = self.staying = self.painted = self.weighed = None

    def clear(self) -> None:
        """Forget everything."""
        self.drop()
        self.kept = self.seat = None


_state = _State()
_shapes = Shapes()


def shown() -> Shown | None:
    """Return the present maps; None before any were asked for."""
    return _state.shown


def kept() -> Maps | None:
    """Return the maps that were kept for comparison."""
    return _state.kept


def keep_for_comparison(maps: Maps | None) -> None:
    """Keep maps as A; None forgets them."""
    _state.kept = maps
    _state.painted = _state.weighed = None
    redraw_views()


def drop_all() -> None:
    """Forget everything but what was kept for comparison, which no longer hangs on the model."""
    _state.drop()
    play_input.forget()


def refresh(
    scene: bpy.types.Scene, *, hands: bool = True, seconds: float | None = None, settled: bool = False
) -> Shown:
    """Read the table and make new maps; what has not changed is not measured again.

    hands: measure the hands as well; while something is dragged they wait, unless they are looked at.
    seconds: what a frame is known to take, where it is not this one that tells. settled: see ``read_now``.
    """
    began = time.perf_counter()
    maps, failure = None, None
    try:
        top = play_input.read_now(scene, settled=settled)
        if top is not None:
            maps, _state.staying = measure(top, STATURES, _state.staying, hands=hands)
    except GeometryError as error:
        failure = str(error)
    except ModuleNotFoundError as error:
        failure = f"The Python package {error.name} is missing; install Stowfold from its zip, which brings it"
    result = Shown(maps, failure, time.perf_counter() - began if seconds is None else seconds)
    weighed = _state.weighed
    if weighed is not None and (maps is None or not _same_share(maps.share, weighed.share)):
        # the room in which the gable was weighed is no longer this one
        _state.weighed = None
    _state.shown = result
    _state.painted = None
    return result


def _same_share(one: np.ndarray, other: np.ndarray | None) -> bool:
    return other is not None and np.array_equal(one, other)


def paint(context: bpy.types.Context) -> maps_of_play.Paint | None:
    """Return what the squares are painted with, made once per map and choice of the view."""
    result = _state.shown
    if result is None or result.maps is None:
        return None
    view = context.window_manager.stowfold.play
    active = context.view_layer.objects.active
    if active is not None and active.stowfold.place.kind == "SEAT":
        _state.seat = active.name
    maps = laid_against() if view.shows == "CHANGE" else result.maps
    assert maps is not None
    key = (result, _state.kept, maps, view.shows, view.whose, view.height, view.finger, _state.seat)
    painted = _state.painted
    if painted is None or painted.key != key:
        made = maps_of_play.paint(
            maps,
            shows=view.shows,
            whose=view.whose,
            height=FigureHeight[view.height],
            pinch=Pinch[view.finger],
            active=_state.seat,
            before=_state.kept,
            remarks=("Follows when things rest",) if result.seconds > _BUDGET else (),
        )
        painted = _state.painted = _Painted(key, made)
    return painted.paint


def wanted() -> bool:
    """Return whether anybody looks at maps."""
    return any(view.play.show_squares and view.step == "TABLE" for view in _views())


def _views() -> list[bpy.types.PropertyGroup]:
    return [manager.stowfold for manager in bpy.data.window_managers]


def weigh_gables(scene: bpy.types.Scene) -> tuple[Maps, Maps] | None:
    """Compare raised end walls with level wall tops: the level ones become A, the raised ones are shown.

    Returns both maps, or None without a building. Raises GeometryError where no gable can be thought of.
    """
    top = play_input.read_now(scene)
    if top is None:
        return None
    level, raised = (measure(design, STATURES)[0] for design in with_gables(top))
    keep_for_comparison(level)
    present = _state.shown or refresh(scene)
    _state.weighed = _Weighed(raised, None if present.maps is None else present.maps.share)
    return level, raised


def laid_against() -> Maps | None:
    """Return the maps that stand beside those kept for comparison: the present ones, or the gable just weighed."""
    if _state.weighed is not None:
        return _state.weighed.maps
    return None if _state.shown is None else _state.shown.maps


def suspect() -> None:
    """Have new maps made soon, and whole ones once everything rests; only at rest where they take long."""
    if bpy.app.background or not wanted():
        return
    result = shown()
    if result is None or result.seconds <= _BUDGET:
        _schedule(_make_soon, _SOON, again=False)
    _schedule(_make_whole, _REST, again=True)


def _schedule(make: Callable[[], None], wait: float, *, again: bool) -> None:
    """Have a function called after a while; ``again`` starts the while from its beginning."""
    timers = bpy.app.timers
    if timers.is_registered(make):
        if not again:
            return
        timers.unregister(make)
    timers.register(make, first_interval=wait)


def _hands_shown() -> bool:
    return any(manager.stowfold.play.shows == "HAND" for manager in bpy.data.window_managers)


def _anything_placed() -> bool:
    scene = bpy.context.scene
    return scene is not None and any(target.stowfold.place.kind != "NONE" for target in scene.objects)


def _make_soon() -> None:
    if _anything_placed():
        # after undo the host has not yet worked out where things stand
        bpy.context.view_layer.update()
        refresh(bpy.context.scene, hands=_hands_shown())
        redraw_views()


def _make_whole() -> None:
    if not _anything_placed():
        return
    bpy.context.view_layer.update()
    _settle_put_down(bpy.context.scene)
    # what the next frame of a drag takes is what this one takes, now that all that stays is known
    live = refresh(bpy.context.scene, hands=_hands_shown(), settled=_dragging())
    if not _hands_shown():
        refresh(bpy.context.scene, seconds=live.seconds, settled=_dragging())
    redraw_views()


def _dragging() -> bool:
    """Return whether something is being moved by hand right now."""
    return any(
        operator.bl_idname.startswith("TRANSFORM_OT")
        for window in bpy.context.window_manager.windows
        for operator in getattr(window, "modal_operators", ())
    )


def _settle_put_down(scene: bpy.types.Scene) -> None:
    """Bring a miniature that was just put down onto the squares, where the maker wants that.

    No step of its own is made for it, so that undo takes back the move and the settling at once.
    """
    active = bpy.context.view_layer.objects.active
    if (
        _dragging()
        or active is None
        or active.mode != "OBJECT"
        or active.stowfold.place.kind != "MINIATURE"
        or not scene.stowfold.table.stay_on_squares
    ):
        return
    try:
        if settling.off_square(active, scene):
            settling.settle_object(active, scene)
            bpy.context.view_layer.update()
    except GeometryError:
        # what cannot be read is told with the maps
        return


@persistent
def _on_reset(*_ignored: object) -> None:
    if bpy.app.background:
        drop_all()
    # in a window the old map stays until the new one is there: everything would flicker otherwise
    suspect()


@persistent
def _on_load(*_ignored: object) -> None:
    _state.clear()
    suspect()


@persistent
def _on_update(_scene: bpy.types.Scene, depsgraph: bpy.types.Depsgraph) -> None:
    if bpy.app.background or depsgraph.mode != "VIEWPORT" or not wanted():
        return
    moved = _shapes.changed(depsgraph)
    if not moved and not any(isinstance(update.id, bpy.types.Collection) for update in edits_in(depsgraph)):
        return
    result = shown()
    if moved and result is not None and result.seconds <= _BUDGET and _dragging() and _anything_placed():
        # before the host draws, so that the map never lags behind the hand
        refresh(bpy.context.scene, hands=_hands_shown(), settled=True)
        _schedule(_make_whole, _REST, again=True)
    else:
        suspect()


_HANDLERS = (
    (bpy.app.handlers.undo_post, _on_reset),
    (bpy.app.handlers.redo_post, _on_reset),
    (bpy.app.handlers.load_post, _on_load),
    (bpy.app.handlers.depsgraph_update_post, _on_update),
)


def attach() -> None:
    """Start to listen to undo, loading and edits."""
    for handlers, handler in _HANDLERS:
        handlers.append(handler)


def detach() -> None:
    """Stop listening and forget everything."""
    for handlers, handler in _HANDLERS:
        handlers.remove(handler)
    for make in (_make_soon, _make_whole):
        if bpy.app.timers.is_registered(make):
            bpy.app.timers.unregister(make)
    _state.clear()
