"""Roles in the viewport: every marked edge of a block-out in the colour and line pattern of its role.

Colours are of the Okabe-Ito set, told apart with all kinds of colour vision; the pattern says it again.
Lines are made once per change of the model and drawn from a cache.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import bmesh
import bpy
import numpy as np
from bpy.app.handlers import persistent

from ..geometry.errors import GeometryError
from ..geometry.solid.solid import Role
from ..host import marks
from ..host.edits import Shapes
from ..host.handlers import Handlers
from ..host.poses import pose_of
from ..host.reading import to_units
from ..window.lettering import draw_plate, ink_on, is_dark, size_of, write
from ..window.step import overlay_is_on
from ..window.strokes import dashes, draw_strokes
from . import nets

__all__ = ["COLOURS", "HANDLERS", "PATTERNS", "draw", "draw_legend"]

#: Okabe-Ito bluish green, orange, reddish purple; as RGB of the sRGB hex values in the comments.
COLOURS: Mapping[Role, tuple[float, float, float]] = {
    Role.FLEX: (0x00 / 255, 0x9E / 255, 0x73 / 255),  # 009e73
    Role.BREAK: (0xE6 / 255, 0x9F / 255, 0x00 / 255),  # e69f00
    Role.CLOSURE: (0xCC / 255, 0x79 / 255, 0xA7 / 255),  # cc79a7
}

#: Drawn and left out, by turns, mm along the edge; one length alone is an unbroken line.
PATTERNS: Mapping[Role, tuple[float, ...]] = {
    Role.FLEX: (1.0,),
    Role.BREAK: (6.0, 3.0),
    Role.CLOSURE: (2.0, 2.0),
}

_WIDTH = 4.0

#: Width of the light line beneath a dark one, and height of the letters of the legend, px at interface scale 1.
_RIMMED, _LETTERS = 10.0, 12.0

#: Selected edges are drawn over marks up to so many of them, and in a mesh of so many edges at most.
_SELECTED, _LARGE = 64, 5000


@dataclass(frozen=True, slots=True, eq=False)
class _Lines:
    """The drawn pieces of one object by role, in world space. instead: as ``_marked_lines`` was given it."""

    segments: Mapping[Role, np.ndarray]
    instead: Mapping[int, Role]


_cache: dict[int, _Lines] = {}
_shapes = Shapes()


def _marked_lines(
    target: bpy.types.Object, scene: bpy.types.Scene, instead: Mapping[int, Role] = MappingProxyType({})
) -> _Lines:
    """Return the lines of an object's marked edges. instead: roles that edges are drawn with, by index."""
    mesh = target.data
    if mesh.is_editmode:
        bm = bmesh.from_edit_mesh(mesh)
        roles = _replaced(marks.read_roles_in_edit_mode(mesh, bm), instead)
        picked = np.flatnonzero(roles)
        bm.edges.ensure_lookup_table()
        ends = np.array([[v.co[:] for v in bm.edges[int(k)].verts] for k in picked], dtype=float).reshape(-1, 2, 3)
    else:
        roles = _replaced(marks.read_roles(mesh), instead)
        picked = np.flatnonzero(roles)
        ends = np.array([[mesh.vertices[v].co[:] for v in mesh.edges[int(k)].vertices] for k in picked], dtype=float)
        ends = ends.reshape(-1, 2, 3)
    ends = pose_of(target).apply(ends)
    segments = {}
    for role in COLOURS:
        own = ends[roles[picked] == role]
        pattern = tuple(to_units(length, scene) for length in PATTERNS[role])
        segments[role] = dashes(own[:, 0], own[:, 1], pattern)
    return _Lines(segments, instead)


def _replaced(roles: np.ndarray, instead: Mapping[int, Role]) -> np.ndarray:
    for edge, role in instead.items():
        if edge < len(roles):  # the maker may have taken edges away since
            roles[edge] = role
    return roles


def _shown(context: bpy.types.Context) -> Iterator[bpy.types.Object]:
    """Yield the objects whose marks are drawn: block-outs, and whatever mesh is being edited."""
    for target in context.view_layer.objects:
        if (
            target.type == "MESH"
            and target.visible_get()
            and (target.stowfold.is_block_out or target.mode == "EDIT" or target == context.view_layer.objects.active)
        ):
            yield target


def draw() -> None:
    """Draw the marked edges into the view that is being drawn."""
    context = bpy.context
    if not context.window_manager.stowfold.show_roles or not overlay_is_on(context, "roles"):
        return
    strokes = []
    for target in _shown(context):
        uid = target.session_uid
        instead = nets.shown_roles(context, target)
        if uid not in _cache or _cache[uid].instead != instead:
            try:
                _cache[uid] = _marked_lines(target, context.scene, instead)
            except GeometryError:
                _cache[uid] = _Lines({}, instead)
        strokes += [(COLOURS[role], segments) for role, segments in _cache[uid].segments.items()]
    draw_strokes(context, strokes, width=_WIDTH)
    chosen = [selected_lines(target) for target in _shown(context) if target.data.is_editmode]
    if chosen:
        colour = context.preferences.themes[0].view_3d.edge_select
        draw_strokes(context, [(tuple(colour), lines) for lines in chosen], width=_WIDTH / 2)


def selected_lines(target: bpy.types.Object) -> np.ndarray:
    """Return the selected edges of an object in edit mode, (k, 2, 3) in world space, for marks hide them.

    None of a mesh that is too large to be gone through while a view is drawn.
    """
    bm = bmesh.from_edit_mesh(target.data)
    if not 0 < target.data.total_edge_sel <= _SELECTED or len(bm.edges) > _LARGE:
        return np.empty((0, 2, 3))
    edges = (edge for edge in bm.edges if edge.select)
    ends = np.array([[vert.co[:] for vert in edge.verts] for edge in edges], dtype=float)
    return pose_of(target).apply(ends.reshape(-1, 2, 3))


def draw_legend(more: Sequence[tuple[tuple[float, float, float], str]] = ()) -> None:
    """Say at the left edge of the view what the colours mean. more: colours of unbroken lines with their words."""
    import gpu
    from gpu_extras.batch import batch_for_shader

    context = bpy.context
    if not context.window_manager.stowfold.show_roles or not overlay_is_on(context, "legend"):
        return
    present = [role for role in COLOURS if any(len(lines.segments.get(role, ())) for lines in _visible_lines(context))]
    entries = [(COLOURS[role], PATTERNS[role], _NAMES[role]) for role in present]
    entries += [(colour, (1.0,), words) for colour, words in more]
    if not entries:
        return
    scale = context.preferences.system.ui_scale
    # tools may lie over the view's left edge
    tools = next((region.width for region in context.area.regions if region.type == "TOOLS"), 0)
    # below the host's own lines of text; the lower corner belongs to its panel of the last step
    left, step = tools + 24.0 * scale, 20.0 * scale
    top = context.region.height - (250.0 if context.space_data.overlay.show_stats else 130.0) * scale
    wide = max(size_of(words, _LETTERS * scale)[0] for _, _, words in entries)
    edge = step / 2
    draw_plate(left - edge, top - (len(entries) - 1) * step - edge, left + 50.0 * scale + wide + edge, top + edge)
    shader = gpu.shader.from_builtin("POLYLINE_UNIFORM_COLOR")
    for k, (colour, drawn, words) in enumerate(entries):
        y = top - k * step
        pattern = tuple(length * 3.0 * scale for length in drawn)
        line = dashes(np.array([[left, y, 0.0]]), np.array([[left + 40.0 * scale, y, 0.0]]), pattern)
        gpu.state.blend_set("ALPHA")
        shader.bind()
        shader.uniform_float("viewportSize", (context.region.width, context.region.height))
        # a dark line shows on its plate by a light one beneath it
        for ink, width in ((ink_on(colour), _RIMMED), (colour, _WIDTH))[not is_dark(colour) :]:
            shader.uniform_float("lineWidth", width * scale)
            shader.uniform_float("color", (*ink, 1.0))
            batch_for_shader(shader, "LINES", {"pos": line.reshape(-1, 3).astype(np.float32)}).draw(shader)
        gpu.state.blend_set("NONE")
        write(words, left + 50.0 * scale, y - 4.0 * scale, _LETTERS * scale)


_NAMES = {Role.FLEX: "flex corner", Role.BREAK: "break", Role.CLOSURE: "closure"}


def _visible_lines(context: bpy.types.Context) -> Iterator[_Lines]:
    for target in _shown(context):
        if target.session_uid in _cache:
            yield _cache[target.session_uid]


@persistent
def _forget(*_ignored: object) -> None:
    _cache.clear()


@persistent
def _forget_changed(_scene: bpy.types.Scene, depsgraph: bpy.types.Depsgraph) -> None:
    if _cache and _shapes.changed(depsgraph):
        _cache.clear()


HANDLERS = Handlers(
    (
        ("undo_post", _forget),
        ("redo_post", _forget),
        ("load_post", _forget),
        ("depsgraph_update_post", _forget_changed),
    ),
    forget=_cache.clear,
)
