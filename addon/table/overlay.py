"""Squares in the viewport: the floor coloured by what is seen or reached, with a legend, numbers and lines of sight.

What is drawn is made when a map is made and kept until there is another one; drawing only draws.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import bpy
import numpy as np

from ..geometry.play.maps import Paint
from ..geometry.play.measure import Player
from ..host.lengths import to_units
from ..window import stood_in
from ..window.lettering import LIGHT, draw_plate, size_of, write, write_about
from ..window.step import overlay_is_on
from ..window.strokes import Stroke, dashes, draw_strokes, toward_eye
from . import lifted, play_results

__all__ = ["BLOCKED", "CLEAR", "CROSS", "EDGE", "Entry", "corners_of", "crosses_of", "draw", "draw_words"]
__all__ += ["forget", "legend_of", "shaded", "sight_strokes"]

#: As in the Okabe-Ito set, light on an edge of their own, so that they stand out on every colour of the squares:
#: yellow for what is clear, sky blue for what is blocked. The roles of edges have other colours of that set.
CLEAR = (0xF0 / 255, 0xE4 / 255, 0x42 / 255)  # f0e442
BLOCKED = (0x56 / 255, 0xB4 / 255, 0xE9 / 255)  # 56b4e9
CROSS = (0.95, 0.95, 0.95)
EDGE = (0.0, 0.0, 0.0)
_PLAYER = (0.75, 0.75, 0.78)

#: What an edge adds to the width of a stroke, px at interface scale 1.
_EDGED = 2.4

#: Walls seen from a seat: how light they are turned from the light and toward it, and where it comes from.
_SHADE, _LIGHT = (0.24, 0.52), np.array([0.37, -0.56, 0.74])

#: Share of a square that is left free round its colour, so that the grid stays visible.
_INSET = 0.04

_OPAQUE, _BEHIND = 0.9, 0.6

#: Numbers are left out where a square is smaller on the screen, px at interface scale 1.
_LEGIBLE = 26.0

#: Height of the letters of the legend and of numbers on squares, px at interface scale 1.
_LETTERS, _NUMBERS = 12.0, 11.0

#: Blocked lines are broken beyond the hit: drawn and left out, mm.
_BROKEN = (8.0, 8.0)

_MARKER = 5.0

_batches: dict[str, Any] = {}


def corners_of(paint: Paint, inset: float = _INSET) -> np.ndarray:
    """Return the corners of every square of the room, (n, 4, 3) mm, drawn in by a share of its side."""
    squares = paint.squares
    row, column = np.nonzero(squares.inside)
    low, high = inset, 1.0 - inset
    at = np.array([(low, low), (high, low), (high, high), (low, high)])
    places = np.stack([column, row], axis=1)[:, None, :] + at[None]
    return squares.origin + squares.size * (places[..., :1] * squares.u + places[..., 1:] * squares.v)


def crosses_of(paint: Paint) -> np.ndarray:
    """Return the strokes of a cross in every square that fails, (2 n, 2, 3) mm: colour is not all that tells."""
    corners = corners_of(paint, 0.25)[paint.fails[paint.squares.inside]]
    return np.concatenate([corners[:, [0, 2]], corners[:, [1, 3]]])


def sight_strokes(lines: Sequence) -> tuple[tuple[tuple[float, float, float], np.ndarray], ...]:
    """Return what lines of sight are drawn as: clear ones whole, blocked ones broken beyond the hit, (k, 2, 3) mm."""
    clear, blocked = [], []
    for line in lines:
        if line.hit is None:
            clear.append(np.array([[line.eye, line.target]]))
            continue
        blocked.append(np.array([[line.eye, line.hit]]))
        blocked.append(dashes(line.hit[None], line.target[None], _BROKEN))
        blocked.append(_diamond(line.hit))
    empty = np.empty((0, 2, 3))
    return (CLEAR, np.concatenate([empty, *clear])), (BLOCKED, np.concatenate([empty, *blocked]))


@dataclass(frozen=True, slots=True)
class Entry:
    """A line of the legend. kind: SQUARE, CROSS, CLEAR or BLOCKED; colour: of the square or of what is drawn."""

    kind: str
    colour: tuple[float, float, float]
    words: str


def legend_of(paint: Paint, *, lines: bool) -> tuple[Entry, ...]:
    """Return what the legend tells: the colours, then crosses and lines of sight where there are any.

    lines: whether lines of sight are drawn.
    """
    entries = [Entry("SQUARE", colour, words) for colour, words in paint.legend]
    if paint.crossed and paint.fails.any():
        entries.append(Entry("CROSS", CROSS, f"crossed: {paint.crossed}"))
    if lines:
        blocked = [line.hit is not None for line in paint.lines]
        entries += [Entry("CLEAR", CLEAR, "line of sight")] if not all(blocked) else []
        entries += [Entry("BLOCKED", BLOCKED, "line of sight, blocked")] if any(blocked) else []
    return tuple(entries)


def shaded(faces: Sequence[Sequence[np.ndarray]]) -> tuple[np.ndarray, np.ndarray]:
    """Return flat faces with holes as triangles, (n, 3, 3) mm, and the shade of each, (n,), 0 .. 1."""
    from mathutils import Vector
    from mathutils.geometry import tessellate_polygon

    triangles = []
    for face in faces:
        points = np.concatenate(face)
        triangles += [
            points[list(triangle)] for triangle in tessellate_polygon([[Vector(at) for at in ring] for ring in face])
        ]
    made = np.array(triangles, dtype=float).reshape(-1, 3, 3)
    normals = np.cross(made[:, 1] - made[:, 0], made[:, 2] - made[:, 0])
    size = np.linalg.norm(normals, axis=1)
    # seen from either side, a face is lit alike
    toward = np.abs(normals @ _LIGHT) / np.maximum(size, np.finfo(float).tiny) / np.linalg.norm(_LIGHT)
    return made, _SHADE[0] + (_SHADE[1] - _SHADE[0]) * toward


def _diamond(at: np.ndarray) -> np.ndarray:
    """Return the edges of a small octahedron round a point, (12, 2, 3) mm."""
    tips = [at + _MARKER * sign * axis for axis in np.eye(3) for sign in (1.0, -1.0)]
    return np.array([[tips[i], tips[j]] for i in range(6) for j in range(i + 1, 6) if i // 2 != j // 2])


def _player(player: Player) -> np.ndarray:
    """Return a player's outline, (k, 2, 3) mm: head, neck, shoulders, and the direction of the eye."""
    eye, shoulder, toward = player.eye, player.shoulder, player.toward
    side = np.array([toward[1], -toward[0], 0.0])
    up = np.array([0.0, 0.0, 1.0])
    around = 2.0 * np.pi * np.arange(17) / 16
    middle = eye - 85.0 * toward - 10.0 * up
    ring = middle + 110.0 * np.cos(around)[:, None] * up + 75.0 * np.sin(around)[:, None] * side
    pieces = [np.stack([ring[:-1], ring[1:]], axis=1)]
    left, right = shoulder - 190.0 * side, shoulder + 190.0 * side
    pieces.append(np.array([[left, right], [ring[8], (left + right) / 2], [middle, eye], [eye, eye + 40.0 * toward]]))
    return np.concatenate(pieces)


def _shown(context: bpy.types.Context) -> Paint | None:
    if not context.window_manager.stowfold.play.show_squares or not overlay_is_on(context, "squares"):
        return None
    return play_results.paint(context)


def draw() -> None:
    import gpu

    context = bpy.context
    lifted.look()
    paint = _shown(context)
    if paint is None:
        return
    scale = to_units(1.0, context.scene)
    shader = gpu.shader.from_builtin("SMOOTH_COLOR")
    play = context.window_manager.stowfold.play
    drawn: object = _batches.get("paint")
    if drawn is not paint:
        _make_batches(shader, paint, scale)
    gpu.state.blend_set("ALPHA")
    with gpu.matrix.push_pop():
        gpu.matrix.multiply_matrix(toward_eye(context.region_data))
        shader.bind()
        if not paint.walls and not stood_in.are_shown():
            # walls that are drawn with their faces would hide squares
            gpu.state.depth_test_set("NONE")
            _batches["behind"].draw(shader)
        gpu.state.depth_test_set("LESS_EQUAL")
        if play.sitting and paint.walls and not stood_in.are_shown():
            # the building is drawn as lines, but from a seat its walls must hide what they hide
            gpu.state.depth_mask_set(True)
            _batches["walls"].draw(shader)
            gpu.state.depth_mask_set(False)
        _batches["front"].draw(shader)
    gpu.state.depth_test_set("NONE")
    gpu.state.blend_set("NONE")
    _draw_edged(context, [(CROSS, crosses_of(paint) * scale)], width=1.4)
    strokes = []
    for player in paint.players:
        if player.seat != play.sitting:
            strokes.append((_PLAYER, _player(player) * scale))
    draw_strokes(context, strokes, width=1.6)
    if play.show_lines:
        _draw_edged(context, [(colour, pieces * scale) for colour, pieces in sight_strokes(paint.lines)], width=2.0)


def _make_batches(shader: Any, paint: Paint, scale: float) -> None:
    """Keep what is drawn until there is another map."""
    from gpu_extras.batch import batch_for_shader

    corners = corners_of(paint).reshape(-1, 3)
    corners[:, 2] += stood_in.FLOOR_RAISED  # the map lies on the floor as it is shown
    corners *= scale
    first = 4 * np.arange(len(corners) // 4)
    faces = np.concatenate([first[:, None] + [0, 1, 2], first[:, None] + [0, 2, 3]])
    for name, alpha in (("front", _OPAQUE), ("behind", _BEHIND)):
        rgb = np.repeat(paint.colours[paint.squares.inside], 4, axis=0)
        rgba = np.column_stack([rgb, np.full(len(rgb), alpha)])
        content = {"pos": corners.astype(np.float32), "color": rgba.astype(np.float32)}
        _batches[name] = batch_for_shader(shader, "TRIS", content, indices=faces.astype(np.int32))
    if paint.walls:
        _batches["walls"] = _make_walls(shader, paint, scale)
    _batches["paint"] = paint


def _make_walls(shader: Any, paint: Paint, scale: float) -> Any:
    from gpu_extras.batch import batch_for_shader

    triangles, shades = shaded(paint.walls)
    grey = np.repeat(np.column_stack([shades, shades, shades, np.ones(len(shades))]), 3, axis=0)
    content = {"pos": (triangles.reshape(-1, 3) * scale).astype(np.float32), "color": grey.astype(np.float32)}
    return batch_for_shader(shader, "TRIS", content)


def _draw_edged(context: bpy.types.Context, strokes: Sequence[Stroke], *, width: float) -> None:
    """Draw line pieces on a dark edge."""
    draw_strokes(context, [(EDGE, pieces) for _, pieces in strokes], width=width + _EDGED)
    draw_strokes(context, strokes, width=width)


def draw_words() -> None:
    """Draw numbers and legend on the screen."""
    context = bpy.context
    paint = _shown(context)
    if paint is None:
        return
    if context.window_manager.stowfold.play.numbers:
        _draw_numbers(context, paint)
    _draw_legend(context, paint)


def _draw_numbers(context: bpy.types.Context, paint: Paint) -> None:
    from bpy_extras.view3d_utils import location_3d_to_region_2d
    from mathutils import Vector

    scale, ui = to_units(1.0, context.scene), context.preferences.system.ui_scale
    inside = paint.squares.inside
    corners = corners_of(paint, 0.0) * scale
    for quad, words, colour in zip(corners, paint.words[inside], paint.colours[inside], strict=True):
        low, high = (
            location_3d_to_region_2d(context.region, context.region_data, Vector(quad[k]), default=None) for k in (0, 2)
        )
        if low is None or high is None or (high - low).length < _LEGIBLE * ui * 1.41:
            continue
        middle = (low + high) / 2
        write_about(words, (middle.x, middle.y), _NUMBERS * ui, tuple(colour.tolist()))


def _draw_legend(context: bpy.types.Context, paint: Paint) -> None:
    """Write what the colours say, in the lower right corner."""
    import gpu
    from gpu_extras.batch import batch_for_shader

    ui = context.preferences.system.ui_scale
    sidebar = next((region.width for region in context.area.regions if region.type == "UI"), 0)
    shader = gpu.shader.from_builtin("UNIFORM_COLOR")
    letters = _LETTERS * ui
    step, swatch = 20.0 * ui, 16.0 * ui
    entries = legend_of(paint, lines=context.window_manager.stowfold.play.show_lines)
    wide = max(
        size_of(words, letters)[0] for words in (paint.title, *(entry.words for entry in entries), *paint.remarks)
    )
    left = context.region.width - sidebar - wide - swatch - 40.0 * ui
    y = (len(entries) + len(paint.remarks)) * step + 30.0 * ui
    draw_plate(left - 10.0 * ui, 14.0 * ui, left + wide + swatch + 22.0 * ui, y + 22.0 * ui)
    gpu.state.blend_set("ALPHA")
    write(paint.title, left, y + 3.0 * ui, letters)
    for entry in entries:
        y -= step
        if entry.kind == "SQUARE":
            shader.bind()
            # a rim in the colour of the words: a colour may be that of the plate
            for rim, colour in ((ui, LIGHT), (0.0, entry.colour)):
                low, high = (left - rim, y - rim), (left + swatch + rim, y + swatch + rim)
                box = [low, (high[0], low[1]), high, (low[0], high[1])]
                shader.uniform_float("color", (*colour, 1.0))
                batch_for_shader(shader, "TRIS", {"pos": box}, indices=[(0, 1, 2), (0, 2, 3)]).draw(shader)
        else:
            _draw_sign(context, entry, left, y, swatch)
        write(entry.words, left + swatch + 10.0 * ui, y + 3.0 * ui, letters)
    for words in paint.remarks:
        y -= step
        write(words, left, y + 3.0 * ui, letters)
    gpu.state.blend_set("NONE")


def _draw_sign(context: bpy.types.Context, entry: Entry, left: float, low: float, side: float) -> None:
    """Draw a cross or a piece of a line of sight into the legend, as it is drawn on the squares."""
    import gpu
    from gpu_extras.batch import batch_for_shader

    ends = {
        "CROSS": [(0.2, 0.2), (0.8, 0.8), (0.2, 0.8), (0.8, 0.2)],
        "CLEAR": [(0.0, 0.5), (1.0, 0.5)],
        "BLOCKED": [(0.0, 0.5), (0.3, 0.5), (0.5, 0.5), (0.7, 0.5), (0.9, 0.5), (1.0, 0.5)],
    }[entry.kind]
    points = {"pos": [(left + side * x, low + side * y, 0.0) for x, y in ends]}
    shader = gpu.shader.from_builtin("POLYLINE_UNIFORM_COLOR")
    ui = context.preferences.system.ui_scale
    for colour, width in ((EDGE, 2.0 + _EDGED), (entry.colour, 2.0)):
        shader.bind()
        shader.uniform_float("viewportSize", (context.region.width, context.region.height))
        shader.uniform_float("lineWidth", width * ui)
        shader.uniform_float("color", (*colour, 1.0))
        batch_for_shader(shader, "LINES", points).draw(shader)


def forget() -> None:
    """Drop what was made for drawing."""
    _batches.clear()
