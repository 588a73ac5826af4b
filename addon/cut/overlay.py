"""Sheets in the viewport: parts coloured by kind on their boards, with ids, slits, pins and what each sheet is.

Everything goes to the graphics card once for what is shown; a view that turns or zooms only draws it again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import bpy
import numpy as np

from ..host.lengths import mm_per_unit
from ..window.kept import Kept
from ..window.step import overlay_is_on
from ..window.strokes import toward_eye
from . import sheets
from .sheets import Showing, to_scene

if TYPE_CHECKING:
    from ..geometry.outcome import Outcome
    from ..geometry.sheet.by_hand import Bearing
    from ..geometry.sheet.piece import Placement

__all__ = ["COLOURS", "Batch", "draw", "forget", "pieces_of", "shown_in"]

#: Of the Okabe-Ito set, with a red that stands out from its orange: for what is held, and what was clicked.
COLOURS: Mapping[str, tuple[float, float, float]] = {
    "free": (0x00 / 255, 0x9E / 255, 0x73 / 255),  # 009e73
    "others move": (0xE6 / 255, 0x9F / 255, 0x00 / 255),  # e69f00
    "not": (0xC8 / 255, 0x1E / 255, 0x1E / 255),  # c81e1e
    "chosen": (0x00 / 255, 0x72 / 255, 0xB2 / 255),  # 0072b2
}

_INK, _EDGE, _MARGIN = (0.16, 0.15, 0.13), (0.40, 0.39, 0.36), (0.72, 0.70, 0.65)

#: Opacity of what the next layout will place again.
DIM = 0.35


@dataclass(frozen=True, slots=True, eq=False)
class Batch:
    """What is drawn in one colour: triangles, (k, 3, 3), or pieces of lines, (k, 2, 3), in units of the scene.

    width: of lines, px at interface scale 1; 0 for lines as thin as the screen has them. dims: while out of date.
    """

    points: np.ndarray
    colour: tuple[float, float, float]
    alpha: float = 1.0
    width: float = 0.0
    dims: bool = True


#: A piece, and what was sent of it to the graphics card.
_Sent = tuple[Batch, Any]

#: All sheets, by what is shown, the part that is left out and the scene's scale.
_sheets: Kept[tuple[Showing, str | None, float], list[_Sent]] = Kept()

#: One part by itself, by its outcome, its id and the scene's scale: its looks by name, None for one without points.
_alone: Kept[tuple[Outcome, str, float], dict[str, _Sent | None]] = Kept()


def pieces_of(shown: Showing, scene: bpy.types.Scene, without: str | None = None) -> list[Batch]:
    """Return everything that is drawn, from back to front; one part may be left out."""
    from ..geometry.sheet.fills import FILLS, SHEET, SLITS, rgb
    from ..geometry.sheet.preview import draw_figures

    spread = shown.spread
    margins = [sheet.laser.margin for sheet in shown.outcome.layout.sheets]
    boards = to_scene(spread.boxes(), scene)
    batches = [
        Batch(boards[:, [[0, 1, 2], [0, 2, 3]]].reshape(-1, 3, 3), rgb(SHEET), 0.97, dims=False),
        Batch(to_scene(spread.edges(margins), scene), _MARGIN, 0.8),
    ]
    lying = [placement for placement in shown.placements if placement.part != without]
    for dims in (True, False):
        some = [piece for piece in lying if (piece.part in shown.pinned) != dims]
        drawn = draw_figures(some, shown.parts, shown.figures, spread)
        batches += [Batch(to_scene(area, scene), rgb(FILLS[kind]), dims=dims) for kind, area in drawn.fills.items()]
        batches.append(Batch(to_scene(drawn.marks, scene), _INK, 0.35, dims=dims))
        batches.append(Batch(to_scene(drawn.slits, scene), rgb(SLITS), 0.7, dims=dims))
        batches.append(Batch(to_scene(drawn.edges, scene), _INK, width=1.2, dims=dims))
    batches.append(Batch(to_scene(spread.edges(), scene), _EDGE, width=1.6, dims=False))
    return [batch for batch in batches if len(batch.points)]


def draw() -> None:
    """Draw the sheets of the last check, dimmed where they are out of date."""
    import gpu

    context = bpy.context
    shown = shown_in(context)
    if shown is None:
        return
    in_hand = sheets.held()
    without = in_hand[0] if in_hand is not None else None
    sent = _sheets.get(
        (shown, without, mm_per_unit(context.scene)),
        lambda: [(piece, _send(piece)) for piece in pieces_of(shown, context.scene, without)],
    )
    chosen = context.window_manager.stowfold.sheet_part
    gpu.state.blend_set("ALPHA")
    gpu.state.depth_test_set("LESS_EQUAL")
    masked = gpu.state.depth_mask_get()
    gpu.state.depth_mask_set(False)
    with gpu.matrix.push_pop():
        gpu.matrix.multiply_matrix(toward_eye(context.region_data))
        for piece, batch in sent:
            _draw_batch(context, piece, batch, 1.0 if shown.current or not piece.dims else DIM)
        if in_hand is not None:
            _draw_held(context, shown, *in_hand)
        elif chosen and (placement := shown.placement(chosen)) is not None:
            _draw_alone(context, shown, chosen, placement, [("edges", COLOURS["chosen"], 1.0, 3.0)])
    gpu.state.depth_mask_set(masked)
    gpu.state.depth_test_set("NONE")
    gpu.state.blend_set("NONE")


def shown_in(context: bpy.types.Context) -> Showing | None:
    """Return the sheets where they are to be drawn into the view that is being drawn."""
    if not context.window_manager.stowfold.show_sheets or not overlay_is_on(context, "sheets"):
        return None
    return sheets.showing(context)


def _send(piece: Batch) -> Any:
    import gpu
    from gpu_extras.batch import batch_for_shader

    shader = gpu.shader.from_builtin("POLYLINE_UNIFORM_COLOR" if piece.width else "UNIFORM_COLOR")
    kind = "TRIS" if piece.points.shape[1] == 3 else "LINES"
    return batch_for_shader(shader, kind, {"pos": piece.points.reshape(-1, 3).astype(np.float32)})


def _draw_batch(context: bpy.types.Context, piece: Batch, batch: Any, share: float) -> None:
    import gpu

    shader = gpu.shader.from_builtin("POLYLINE_UNIFORM_COLOR" if piece.width else "UNIFORM_COLOR")
    shader.bind()
    if piece.width:
        shader.uniform_float("viewportSize", (context.region.width, context.region.height))
        shader.uniform_float("lineWidth", piece.width * context.preferences.system.ui_scale)
    shader.uniform_float("color", (*piece.colour, piece.alpha * share))
    batch.draw(shader)


def _draw_held(context: bpy.types.Context, shown: Showing, part: str, bearing: Bearing) -> None:
    colour, fit = COLOURS[bearing.fit.value], bearing.fit.value
    looks = [("triangles", colour, 0.55, 0.0), ("slits", _INK, 0.35, 0.0), ("edges", colour, 1.0, 3.0)]
    if fit == "not":  # colour is not all that tells
        looks.append(("cross", colour, 1.0, 3.0))
    _draw_alone(context, shown, part, bearing.placement, looks)


_Look = tuple[str, tuple[float, float, float], float, float]


def _draw_alone(
    context: bpy.types.Context, shown: Showing, part: str, placement: Placement, looks: Sequence[_Look]
) -> None:
    """Draw one part by itself, from lines and areas in its own frame that are sent once."""
    import gpu
    from mathutils import Matrix

    sent = _alone.get((shown.outcome, part, mm_per_unit(context.scene)), dict)
    x, y, _ = to_scene(placement.shift + shown.spread.corners[placement.sheet], context.scene)
    with gpu.matrix.push_pop():
        gpu.matrix.multiply_matrix(Matrix.Translation((x, y, 0.0)) @ Matrix.Rotation(placement.turn, 4, "Z"))
        for name, colour, alpha, width in looks:
            if name not in sent:
                piece = Batch(_in_own_frame(shown, part, name, context.scene), colour, width=width)
                sent[name] = (piece, _send(piece)) if len(piece.points) else None
            if (made := sent[name]) is not None:
                _draw_batch(context, replace(made[0], colour=colour, alpha=alpha), made[1], 1.0)


def _in_own_frame(shown: Showing, part: str, name: str, scene: bpy.types.Scene) -> np.ndarray:
    if name == "cross":
        x0, y0, x1, y1 = shown.parts[part].outline.bounds
        return to_scene(np.array([[[x0, y0], [x1, y1]], [[x0, y1], [x1, y0]]]), scene)
    return to_scene(getattr(shown.figures[part], name), scene)


def forget() -> None:
    """Drop what was made for drawing."""
    _sheets.forget()
    _alone.forget()
    sheets.forget()
