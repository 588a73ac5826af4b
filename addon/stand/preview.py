"""The preview: what is shown of the building as it will stand, and when that is made, moved and taken away.

The film of an outcome is made in a thread; what the host holds of it is written between two draws. Nothing of it is
saved: after loading and after undo the window's next draw finds out what is missing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import bpy
from bpy.app.handlers import persistent

from ..cut import sheets
from ..host.handlers import Handlers
from ..host.lengths import mm_per_unit
from ..host.openings import openings_in
from ..host.reading import find_block_out
from ..host.views import redraw_views
from ..jobs import background, results
from ..jobs.background import Job
from ..table import lifted
from ..window import stood_in
from . import bodies

if TYPE_CHECKING:
    from bpy.types import Scene

    from ..geometry.outcome import Outcome
    from ..geometry.show.boards import Boards
    from ..geometry.show.film import Film

__all__ = ["HANDLERS", "film", "look", "move", "put", "stands_in"]

#: Steps of the sidebar in which the boards are shown; in the others the maker works on the model itself.
_STEPS = frozenset({"TABLE", "DRESS", "PROOF", "CUT"})

#: How often the window looks whether the film is made, s.
_LOOK = 0.02


@dataclass(slots=True)
class _State:
    """outcome, film: what was made, and from what; number counts films. job: makes the film of ``making``.

    key: what was put last, None where that is not known.
    """

    outcome: Outcome | None = None
    film: Film | None = None
    number: int = 0
    job: Job | None = None
    making: Outcome | None = None
    key: tuple[object, ...] | None = None


_state = _State()


def film() -> Film | None:
    """Return the film that is shown, None where none is."""
    return _state.film if bodies.made_from() == _state.number else None


def stands_in() -> set[int]:
    """Return the session ids of objects that the boards stand in for, openings among them."""
    report = _wanted()
    if report is None or film() is None:
        return set()
    scene = bpy.context.scene
    built = [target for target in scene.objects if target.session_uid in report.objects]
    openings = openings_in(built, scene, alone=set(find_block_out(scene)) <= set(built))
    return {target.session_uid for target in (*built, *openings)}


def look() -> None:
    """Have the preview put right a moment later, where it is not; called wherever the window draws."""
    if _key(_wanted()) != _state.key and not bpy.app.timers.is_registered(put):
        # nothing may be written while the host draws
        bpy.app.timers.register(put, first_interval=0.0)


def put() -> float | None:
    """Make, refill, move or take away the boards as they should be; return when to look again."""
    report = _wanted()
    if report is None or report.outcome is None:
        _drop_job()
        bodies.remove()
        stood_in.say(None)
    elif report.outcome is not _state.outcome and not _make(report.outcome):
        return _LOOK
    if report is not None and _state.film is not None:
        scene = bpy.context.scene
        if bodies.made_from() != _state.number:
            parent = next(target for target in scene.objects if target.session_uid == report.objects[0])
            bodies.show(_state.film, _state.number, scene, parent, mm_per_unit(scene))
        bodies.tint(_state.film.paint, coloured=scene.stowfold.paint.show)
        _move(scene)
    _state.key = _key(report)
    if not bpy.app.background:
        lifted.put()
        redraw_views()
    return None


def move() -> None:
    """Put the boards where the fold time of the scene has them, at once where they are there."""
    if film() is not None and _wanted() is not None:
        _move(bpy.context.scene)
    elif bpy.app.background:
        put()


def forget() -> None:
    """Take everything away and forget what was made."""
    _drop_job()
    bodies.remove()
    stood_in.say(None)
    _state.outcome = _state.film = _state.key = None


def _wanted() -> results.Report | None:
    """Return the report whose boards are to be shown, None where none are."""
    context = bpy.context
    scene = context.scene
    report = results.shown(context)
    if report is None or report.outcome is None or not report.outcome.parts or not scene.stowfold.stand.show:
        return None
    window_manager = context.window_manager
    if not bpy.app.background and window_manager.stowfold.step not in _STEPS:
        return None
    if context.mode == "EDIT_MESH":
        return None
    here = {target.session_uid for target in scene.objects}
    return report if here.issuperset(report.objects) else None


def _key(report: results.Report | None) -> tuple[object, ...] | None:
    """Return what must be equal for two previews to be alike."""
    if report is None:
        return None if bodies.made_from() is None else ()
    stand = bpy.context.scene.stowfold.stand
    scene = bpy.context.scene
    coloured = scene.stowfold.paint.show
    return (id(report.outcome), bodies.made_from(), stand.fold, stand.opened, _roof_lifted(scene), coloured)


def _make(outcome: Outcome) -> bool:
    """Have the film of an outcome made, and return whether that is done; without a window at once."""
    if _state.making is not outcome:
        _drop_job()
        _state.making = outcome
        known = {} if _state.film is None else _state.film.boards
        corner = _sheets_corner(outcome)
        _state.job = Job("Folding", lambda _progress: _film_of(outcome, known, corner))
        if bpy.app.background:
            _state.job.run_here()
        else:
            background.begin_beside(_state.job)
    assert _state.job is not None
    if not _state.job.done:
        return False
    job = _state.job
    background.leave_beside(job)
    _state.job = None
    # what failed once would fail again, so that the outcome counts as done either way
    _state.outcome, _state.film, _state.making = outcome, None, None
    _state.film = job.value()
    _state.number += 1
    return True


def _sheets_corner(outcome: Outcome) -> tuple[float, float] | None:
    """Return where the first sheet lies that the step Cut draws, (x, y) mm, None where it draws none of these."""
    shown = sheets.showing(bpy.context)
    if shown is None or shown.outcome.layout is not outcome.layout:
        return None
    x, y = shown.spread.corners[0].tolist()
    return x, y


def _film_of(outcome: Outcome, known: Mapping[str, Boards], corner: tuple[float, float] | None) -> Film:
    """Return the film of an outcome, its sheets from a corner on.

    known: boards of the last film, used again where their parts are the same.
    """
    from ..geometry.part import PartKind, standing_corners
    from ..geometry.show.film import film_of

    # what lies beside the building lies on the table of the scene, which is as high as the floor that players see
    floors = [part for part in outcome.parts if part.kind is PartKind.FLOOR]
    tops = [standing_corners(floor, panel)[:, 2].max() for floor in floors for panel in floor.panels]
    return film_of(outcome, sheets=corner, ground=float(max(tops)) if tops else None, known=known)


def _move(scene: Scene) -> None:
    from ..geometry.show.film import poses_at

    assert _state.film is not None
    stand = scene.stowfold.stand
    moments = poses_at(_state.film, stand.fold, lifted=_roof_lifted(scene), opened=stand.opened)
    bodies.move(_state.film, moments, stand.opened, mm_per_unit(scene))
    stood_in.say(stand.fold)
    if not bpy.app.background:
        lifted.look()


def _roof_lifted(scene: Scene) -> bool:
    """Return whether the roof lies beside: where the players' view is worked on, unless they leave it on."""
    step = bpy.context.window_manager.stowfold.step
    return step == "TABLE" and not scene.stowfold.table.roof_on and scene.stowfold.stand.fold == 1.0


def _drop_job() -> None:
    if _state.job is not None:
        background.leave_beside(_state.job)
    _state.job = _state.making = None


def _ask() -> None:
    if not bpy.app.background and not bpy.app.timers.is_registered(put):
        bpy.app.timers.register(put, first_interval=0.0)


@persistent
def _on_undo(*_ignored: object) -> None:
    """The boards are as they were then, or gone: what is there is refilled."""
    bodies.doubt()
    _state.key = None
    _ask()


@persistent
def _on_load(*_ignored: object) -> None:
    _drop_job()
    stood_in.say(None)
    _state.outcome = _state.film = _state.key = None


@persistent
def _on_frame(scene: Scene, *_ignored: object) -> None:
    if film() is not None:
        _move(scene)


@dataclass(frozen=True, slots=True)
class _Previewing:
    """What is attached: the handlers, and the functions that checks and the drawing of buildings call."""

    handlers: Handlers

    def attach(self) -> None:
        """Begin to follow checks."""
        self.handlers.attach()
        results.listen_kept(_ask)
        lifted.stood_in_for(stands_in)

    def detach(self) -> None:
        """Stop, and take everything away."""
        self.handlers.detach()


HANDLERS = _Previewing(
    Handlers(
        (
            ("undo_post", _on_undo),
            ("redo_post", _on_undo),
            ("load_post", _on_load),
            ("frame_change_post", _on_frame),
        ),
        timers=(put,),
        forget=forget,
    )
)
