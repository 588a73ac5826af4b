"""Strokes: lines drawn into a 3D view so that those in front stand out and those behind show through."""

from __future__ import annotations

from collections.abc import Iterable

import bpy
import numpy as np

__all__ = ["dashes", "draw_strokes", "toward_eye"]

#: How far lines are brought toward the eye, so that the faces beside them do not swallow them.
_LIFT = 0.002

#: Opacity of what lies behind a surface.
_BEHIND = 0.22

Stroke = tuple[tuple[float, float, float], np.ndarray]


def dashes(starts: np.ndarray, ends: np.ndarray, pattern: tuple[float, ...]) -> np.ndarray:
    """Return the drawn pieces of lines, (k, 2, 3), each line beginning and ending with a drawn piece.

    starts, ends: (m, 3); pattern: (drawn, left out) in the same unit, or one length for unbroken lines.
    """
    lines = np.stack([np.asarray(starts, dtype=float), np.asarray(ends, dtype=float)], axis=1).reshape(-1, 2, 3)
    if len(pattern) == 1 or not len(lines):
        return lines
    drawn, gap = pattern
    pieces = []
    for start, end in lines:
        length = float(np.linalg.norm(end - start))
        # the gaps give way so that both ends carry a piece
        count = max(1, round((length + gap) / (drawn + gap)))
        if count == 1 or length <= drawn:
            pieces.append(np.array([start, end])[None])
            continue
        first = np.linspace(0.0, length - drawn, count) / length
        last = first + drawn / length
        pieces.append(start + np.stack([first, last], axis=1)[..., None] * (end - start))
    return np.concatenate(pieces)


def draw_strokes(
    context: bpy.types.Context, strokes: Iterable[Stroke], *, width: float, behind: float = _BEHIND
) -> None:
    """Draw line pieces, (k, 2, 3) in world space, each set in its colour; ``width`` in px at interface scale 1.

    behind: opacity of what lies behind a surface.
    """
    import gpu
    from gpu_extras.batch import batch_for_shader

    shader = gpu.shader.from_builtin("POLYLINE_UNIFORM_COLOR")
    batches = [
        (colour, batch_for_shader(shader, "LINES", {"pos": pieces.reshape(-1, 3).astype(np.float32)}))
        for colour, pieces in strokes
        if len(pieces)
    ]
    if not batches:
        return
    size = (context.region.width, context.region.height)
    thick = width * context.preferences.system.ui_scale
    gpu.state.blend_set("ALPHA")
    with gpu.matrix.push_pop():
        gpu.matrix.multiply_matrix(toward_eye(context.region_data))
        for depth, alpha in (("NONE", behind), ("LESS_EQUAL", 1.0)):
            if not alpha:
                continue
            gpu.state.depth_test_set(depth)
            for colour, batch in batches:
                shader.bind()
                shader.uniform_float("viewportSize", size)
                shader.uniform_float("lineWidth", thick)
                shader.uniform_float("color", (*colour, alpha))
                batch.draw(shader)
    gpu.state.depth_test_set("NONE")
    gpu.state.blend_set("NONE")


def toward_eye(view: bpy.types.RegionView3D) -> object:
    """Return the matrix that brings the model a little toward the eye."""
    from mathutils import Matrix

    inverse = view.view_matrix.inverted()
    eye, back = inverse.translation, inverse.col[2].to_3d()
    if view.is_perspective:
        return Matrix.Translation(eye) @ Matrix.Scale(1.0 - _LIFT, 4) @ Matrix.Translation(-eye)
    return Matrix.Translation(back * (view.view_distance * _LIFT))
