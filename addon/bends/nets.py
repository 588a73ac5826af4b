"""Nets that were tried: those of the building as it is, which of them is looked at, and its ghost.

Trying is work for a thread. As long as nets are shown, they are tried again a moment after the model or a setting
has changed; until the new ones are known, the ones before stay.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import bpy
from bpy.app.handlers import persistent

from ..geometry.errors import CancelledError, GeometryError
from ..geometry.progress import Progress
from ..host import marks, reading, shown
from ..host.handlers import Handlers
from ..host.views import redraw_views
from ..jobs import background, results
from ..jobs.background import Job

if TYPE_CHECKING:
    from ..geometry.outcome import Settings
    from ..geometry.propose.alternatives import Alternative, HostEdge, ShellNets
    from ..geometry.sheet.ghost import Ghost
    from ..geometry.solid.solid import Role, Solid

__all__ = [
    "HANDLERS",
    "Model",
    "Tried",
    "forget",
    "is_large",
    "keep",
    "known",
    "looked_at",
    "read_model",
    "revision",
    "shown_roles",
    "shows_another",
    "try_model",
    "try_now",
]

#: How long the model must rest before its nets are tried again, and how often the window looks for them then, s.
_REST, _LOOK = 0.4, 0.1

#: More faces than this take longer to read than a view may stand still, 0.1 s; their nets are tried after a click only.
_LARGE = 10_000

_NO_NET = "No roof or other body here could bend; walls bend at corners and part at breaks."


@dataclass(frozen=True, slots=True, eq=False)
class Model:
    """What nets are tried for. objects: session ids of the building's objects, in the order of the solid's sources.

    given: edges whose marks the tool gave, so that they are open to choice.
    """

    objects: tuple[int, ...]
    solid: Solid
    settings: Settings
    given: frozenset[HostEdge]

    def is_same(self, other: Model) -> bool:
        """Return whether both would have the same nets."""
        return (
            self.objects == other.objects
            and self.given == other.given
            and self.settings == other.settings
            and self.solid.is_same(other.solid)
        )


@dataclass(frozen=True, slots=True, eq=False)
class Tried:
    """The nets of a model, one after the other as a list shows them, with the shell that they belong to.

    ghosts: how each looks, in the same order. failure: why there are none, in a sentence; empty otherwise.
    """

    model: Model | None
    rows: tuple[tuple[ShellNets, Alternative], ...]
    ghosts: tuple[Ghost, ...]
    failure: str = ""


@dataclass(slots=True)
class _State:
    """tried: the nets that are known. job: that tries others for a changed model. revision: grows with every change."""

    tried: Tried | None = None
    job: Job | None = None
    revision: int = 0


_state = _State()


def revision() -> int:
    """Return a number that is another one after every change of the model or a setting."""
    return _state.revision


def known() -> Tried | None:
    """Return the nets that were tried last; None where none were."""
    return _state.tried


def read_model(scene: bpy.types.Scene) -> Model:
    """Read what nets are tried for. Raises GeometryError, in a sentence, where the building cannot be read."""
    targets = reading.find_block_out(scene)
    for target in targets:
        # nets are marked edge by edge
        shown.check_own_edges(target)
    given = frozenset((k, edge) for k, target in enumerate(targets) for edge in marks.read_given(target.data))
    uids = tuple(target.session_uid for target in targets)
    return Model(uids, reading.read_solid(targets, scene), reading.read_settings(scene), given)


def is_large(scene: bpy.types.Scene) -> bool:
    """Return whether the building has so many faces that it is not read while the maker works on it."""
    try:
        return sum(len(target.data.polygons) for target in reading.find_block_out(scene)) > _LARGE
    except GeometryError:
        return False


def try_model(model: Model, progress: Progress) -> Tried:
    """Return the nets of a model with their ghosts; plain values only, for any thread."""
    from ..geometry.flow.trying import nets_to_try
    from ..geometry.sheet.ghost import ghost_of

    try:
        shells = nets_to_try(model.solid, model.settings, model.given, progress)
    except CancelledError:
        raise
    except GeometryError as error:
        return Tried(model, (), (), str(error))
    rows = tuple((shell, net) for shell in shells for net in shell.nets)
    return Tried(model, rows, tuple(ghost_of(net.tried.parts) for _, net in rows), "" if rows else _why_none(model))


def _why_none(model: Model) -> str:
    """Return what is wrong with a model without nets, in a sentence."""
    from ..geometry.findings import Severity
    from ..geometry.flow.unfolding import facets_of
    from ..geometry.solid.places import say_places

    facets = facets_of(model.solid, model.settings)
    errors = [found for found in facets.findings if found.severity is Severity.ERROR]
    return say_places(errors[:1], facets)[0].message if errors else _NO_NET


def keep(tried: Tried) -> None:
    """Show nets from now on; the one that was looked at stays where it is among them."""
    _leave()  # what is still tried is of a model before
    manager = bpy.context.window_manager.stowfold
    before = looked_at(bpy.context)
    _state.tried = tried
    rows = manager.nets
    rows.clear()
    for shell, net in tried.rows:
        row = rows.add()
        row.name = _in_short(shell, net, alone=len({one.name for one, _ in tried.rows}) == 1)
        row.good = net.measures.good
        row.present = shell.present is not None and shell.nets[shell.present] is net
    manager.net = _place_of(before, tried)
    redraw_views()


def _in_short(shell: ShellNets, net: Alternative, *, alone: bool) -> str:
    measures = net.measures
    pieces = f"{measures.pieces} piece{'' if measures.pieces == 1 else 's'}"
    opened = f"{measures.open_length:.0f} mm open" if measures.open_length else "nothing open"
    return f"{pieces}, {opened}" if alone else f"{shell.name}: {pieces}, {opened}"


def _place_of(before: tuple[ShellNets, Alternative] | None, tried: Tried) -> int:
    """Return the row of the net that was looked at before, else of the one on the mesh, else the first."""
    if before is not None:
        shell, net = before
        same = [k for k, (other, _) in enumerate(tried.rows) if other.faces == shell.faces]
        for k in same:
            if tried.rows[k][1].bent == net.bent:
                return k
        first = same[0] if same else 0
    else:
        first = 0
    return first + (tried.rows[first][0].present or 0) if tried.rows else 0


def looked_at(context: bpy.types.Context) -> tuple[ShellNets, Alternative] | None:
    """Return the net that is selected in the list, with its shell; None where there is none."""
    tried, at = _state.tried, context.window_manager.stowfold.net
    return tried.rows[at] if tried is not None and 0 <= at < len(tried.rows) else None


def shows_another(context: bpy.types.Context) -> bool:
    """Return whether a net is shown that is not the one on the mesh: what was made of that one is no part of it."""
    found = looked_at(context)
    if found is None or not context.window_manager.stowfold.show_nets:
        return False
    shell, net = found
    return shell.present is None or shell.nets[shell.present] is not net


def shown_roles(context: bpy.types.Context, target: bpy.types.Object) -> Mapping[int, Role]:
    """Return what the net that is looked at makes of an object's edges, by index, while nets are shown."""
    found, tried = looked_at(context), _state.tried
    if found is None or tried is None or tried.model is None or not context.window_manager.stowfold.show_nets:
        return {}
    objects = tried.model.objects
    source = objects.index(target.session_uid) if target.session_uid in objects else -1
    return {edge: mark.role for mark in found[1].marks if mark.source == source for edge in mark.edges}


def try_now(scene: bpy.types.Scene) -> None:
    """Try the nets again at once, where any are known and the model is another one."""
    model = _changed_model(scene)
    if model is not None:
        keep(try_model(model, Progress()))


def _changed_model(scene: bpy.types.Scene) -> Model | None:
    """Return the model where it is another one than that of the nets, and can be read."""
    tried = _state.tried
    if tried is None:
        return None
    try:
        model = read_model(scene)
    except GeometryError as error:
        keep(Tried(None, (), (), str(error)))
        return None
    return None if tried.model is not None and tried.model.is_same(model) else model


def _suspect() -> None:
    """Have the nets compared with the model as soon as it rests."""
    _state.revision += 1
    if _state.tried is None or bpy.app.background or not _is_shown():
        return
    if bpy.app.timers.is_registered(_compare):
        bpy.app.timers.unregister(_compare)
    bpy.app.timers.register(_compare, first_interval=_REST)


def _is_shown() -> bool:
    return any(manager.stowfold.show_nets for manager in bpy.data.window_managers)


def _compare() -> float | None:
    """Try the nets of a changed model in a thread."""
    if background.running() is not None:
        return _REST  # what the maker waits for goes first
    model = None if is_large(bpy.context.scene) else _changed_model(bpy.context.scene)
    if model is None:
        return None
    _leave()
    job = Job("Trying nets", lambda progress: try_model(model, progress))
    _state.job = job
    background.begin_beside(job)
    bpy.app.timers.register(_collect, first_interval=_LOOK)
    return None


def _collect() -> float | None:
    job = _state.job
    if job is None:
        return None
    if not job.done:
        return _LOOK
    _leave()
    keep(job.value())
    return None


def _leave() -> None:
    job, _state.job = _state.job, None
    if job is not None:
        background.leave_beside(job)


def forget() -> None:
    """Drop all nets."""
    _leave()
    _state.tried = None
    _state.revision += 1
    for manager in bpy.data.window_managers:
        manager.stowfold.nets.clear()


@persistent
def _on_reset(*_ignored: object) -> None:
    forget()


results.listen(_suspect)

HANDLERS = Handlers((("load_post", _on_reset),), timers=(_compare, _collect), forget=forget)
