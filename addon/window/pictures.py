"""Pictures: areas and lines that are sent to the graphics card once and drawn into a 3D view again and again."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import bpy
import numpy as np

from .strokes import toward_eye

__all__ = ["Layer", "Picture"]


@dataclass(frozen=True, slots=True, eq=False)
class Layer:
    """What is drawn in one colour: triangles, (k, 3, 3), or pieces of lines, (k, 2, 3), in units of the scene.

    width: of lines, px at interface scale 1.
    """

    points: np.ndarray
    colour: tuple[float, float, float]
    alpha: float = 1.0
    width: float = 0.0


class Picture:
    """Layers on the graphics card, the first at the back; made while a view is drawn."""

    def __init__(self, layers: Iterable[Layer]) -> None:
        self._sent = [(layer, _send(layer)) for layer in layers if len(layer.points)]

    def draw(self, context: bpy.types.Context) -> None:
        """Draw into the view that is being drawn; what lies behind something is hidden by it."""
        import gpu

        gpu.state.blend_set("ALPHA")
        gpu.state.depth_test_set("LESS_EQUAL")
        masked = gpu.state.depth_mask_get()
        gpu.state.depth_mask_set(False)
        with gpu.matrix.push_pop():
            gpu.matrix.multiply_matrix(toward_eye(context.region_data))
            for layer, batch in self._sent:
                shader = _shader(layer)
                shader.bind()
                if layer.width:
                    shader.uniform_float("viewportSize", (context.region.width, context.region.height))
                    shader.uniform_float("lineWidth", layer.width * context.preferences.system.ui_scale)
                shader.uniform_float("color", (*layer.colour, layer.alpha))
                batch.draw(shader)
        gpu.state.depth_mask_set(masked)
        gpu.state.depth_test_set("NONE")
        gpu.state.blend_set("NONE")


def _shader(layer: Layer) -> Any:
    import gpu

    return gpu.shader.from_builtin("POLYLINE_UNIFORM_COLOR" if layer.width else "UNIFORM_COLOR")


def _send(layer: Layer) -> Any:
    from gpu_extras.batch import batch_for_shader

    points = layer.points.reshape(-1, 3).astype(np.float32)
    return batch_for_shader(_shader(layer), "TRIS" if layer.points.shape[1] == 3 else "LINES", {"pos": points})
