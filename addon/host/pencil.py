"""Grease pencil strokes as lines in the units of their object, in every way in which the host has kept them.

From Blender 4.3 a frame holds one drawing with all points in a row; before, every stroke was a thing of its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from bpy.types import Object

__all__ = ["PENCIL", "pencil_strokes"]

#: Kinds of objects that hold such strokes: since Blender 4.3, and before.
PENCIL = ("GREASEPENCIL", "GPENCIL")

#: Number of a Bezier curve among the host's types of curves.
_BEZIER = 2


def pencil_strokes(target: Object) -> Iterator[tuple[np.ndarray, np.ndarray | None, bool]]:
    """Yield the strokes of all layers that are shown, on the frame that is.

    Each is its points, (k, 3); its handles, (k, 2, 3) left and right, None where it is straight; and whether it closes.
    """
    for layer in target.data.layers:
        if layer.hide:
            continue
        if target.type == "GPENCIL":
            yield from _old_strokes(layer)
        else:
            yield from _strokes(layer)


def _old_strokes(layer: Any) -> Iterator[tuple[np.ndarray, None, bool]]:
    frame = layer.active_frame
    for stroke in frame.strokes if frame is not None else ():
        points = np.empty(3 * len(stroke.points), dtype=np.float32)
        stroke.points.foreach_get("co", points)
        yield _placed(layer, points.reshape(-1, 3)), None, bool(stroke.use_cyclic)


def _strokes(layer: Any) -> Iterator[tuple[np.ndarray, np.ndarray | None, bool]]:
    frame = layer.current_frame()
    if frame is None or frame.drawing is None or not len(frame.drawing.curve_offsets):
        return
    drawing = frame.drawing
    offsets = np.empty(len(drawing.curve_offsets), dtype=np.int32)
    drawing.curve_offsets.foreach_get("value", offsets)
    points = _placed(layer, _vectors(drawing, "position"))
    count = len(offsets) - 1
    cyclic, kinds = (_values(drawing, name, count) for name in ("cyclic", "curve_type"))
    handles = None
    if (kinds == _BEZIER).any():
        left, right = (_placed(layer, _vectors(drawing, name)) for name in ("handle_left", "handle_right"))
        handles = np.stack([left, right], axis=1) if len(left) == len(right) == len(points) else None
    for k in range(count):
        own = slice(int(offsets[k]), int(offsets[k + 1]))
        bent = handles is not None and kinds[k] == _BEZIER
        yield points[own], handles[own] if bent and handles is not None else None, bool(cyclic[k])


def _vectors(drawing: Any, name: str) -> np.ndarray:
    """Return an attribute of points, (n, 3); empty where it is not there."""
    attribute = drawing.attributes.get(name)
    if attribute is None:
        return np.empty((0, 3))
    values = np.empty(3 * len(attribute.data), dtype=np.float32)
    attribute.data.foreach_get("vector", values)
    return values.reshape(-1, 3)


def _values(drawing: Any, name: str, count: int) -> np.ndarray:
    """Return an attribute of strokes, (n,) whole numbers; one that is not there is 0 everywhere."""
    attribute = drawing.attributes.get(name)
    if attribute is None:
        return np.zeros(count, dtype=int)
    return np.array([int(number.value) for number in attribute.data])


def _placed(layer: Any, points: np.ndarray) -> np.ndarray:
    matrix = np.array(layer.matrix_local if hasattr(layer, "matrix_local") else layer.matrix_layer)
    moved: np.ndarray = points.astype(float) @ matrix[:3, :3].T + matrix[:3, 3]
    return moved
