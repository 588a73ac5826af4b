"""Words on the sheets in the viewport: ids on parts, what each sheet is below it, pins, and how a held part lies."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import bpy
import numpy as np

from ..host.lengths import to_units
from ..window.kept import Kept
from ..window.lettering import Colour, draw_plate, size_of, write, write_about, write_on_plate
from . import overlay as sheets
from .sheets import Showing, held, sheet_facts, to_scene

if TYPE_CHECKING:
    from ..geometry.part import Part
    from ..geometry.sheet.by_hand import Bearing

__all__ = ["Spots", "draw", "ground_of", "spots_of"]

_INK, _PIN = (0.10, 0.09, 0.08), (0.0, 0x72 / 255, 0xB2 / 255)

#: Size of the letters, px at interface scale 1: below sheets, and least and most on parts.
_BELOW, _LEAST, _MOST = 12.0, 7.0, 20.0

#: Height of a line below a sheet, px at interface scale 1.
_ROW = 16.0

#: Between a sheet and the plate of its words, and between the plate's edge and these, px at interface scale 1.
_GAP, _INSET = 1.0, 4.0

#: Average width of a letter of the interface font as a share of its size; measured would be exact but slow.
_LETTER = 0.56

#: Radius of a pin's head, px at interface scale 1.
_HEAD = 5.0


@dataclass(frozen=True, slots=True, eq=False)
class Spots:
    """Where ids are written. parts: their ids; room: (n, 2) width and height of free board there, mm.

    points: (n, 3, 3) its middles and what lies a millimetre along x and along y from them, in units of the scene.
    """

    parts: tuple[str, ...]
    points: np.ndarray
    room: np.ndarray


#: By what is shown and how many units a millimetre is.
_spots: Kept[tuple[Showing, float], Spots] = Kept()

#: A disc of radius 1 on the graphics card.
_unit_disc: Kept[None, Any] = Kept()


def spots_of(shown: Showing, scene: bpy.types.Scene) -> Spots:
    """Return where ids are written."""
    names, places, room = [], [], []
    for placement in shown.placements:
        figure, part = shown.figures[placement.part], shown.parts[placement.part]
        names.append(placement.part)
        places.append(placement.place(figure.spot[None])[0] + shown.spread.corners[placement.sheet])
        size = part.size if round(placement.turn / (np.pi / 2)) % 2 == 0 else part.size[::-1]
        # beside lattices and holes the free place is no wider than its circle; a plain strip is free all along
        plain = not part.lattices and min(size) < 2.2 * figure.room
        room.append(size if plain else (2.0 * figure.room, 2.0 * figure.room))
    middles = np.array(places).reshape(-1, 2)
    points = middles[:, None] + np.array([(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)])
    return Spots(tuple(names), to_scene(points, scene), np.array(room).reshape(-1, 2))


def draw() -> None:
    """Write everything that is written on and below the sheets."""
    context = bpy.context
    shown = sheets.shown_in(context)
    if shown is None:
        return
    _write_ids(context, shown)
    _write_below(context, shown)
    in_hand = held()
    if in_hand is not None:
        _write_bearing(context, shown, *in_hand)


def _on_screen(context: bpy.types.Context, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return points, (..., 3) in units of the scene, as px in the region, (..., 2), and which are before the eye."""
    matrix = np.array(context.region_data.perspective_matrix)
    seen = points @ matrix[:, :3].T + matrix[:, 3]
    before = seen[..., 3] > np.finfo(np.float32).eps
    w = np.where(before, seen[..., 3], 1.0)[..., None]
    size = np.array((context.region.width, context.region.height))
    return (seen[..., :2] / w * 0.5 + 0.5) * size, before


def ground_of(part: Part, *, dim: bool) -> Colour:
    """Return the colour that a part has on its sheet. dim: as one that may have moved since is drawn."""
    from ..geometry.sheet.fills import FILLS, SHEET, mixed, rgb

    fill = rgb(FILLS[part.kind])
    return mixed(rgb(SHEET), fill, sheets.DIM) if dim else fill


def _write_ids(context: bpy.types.Context, shown: Showing) -> None:
    spots = _spots.get((shown, to_units(1.0, context.scene)), lambda: spots_of(shown, context.scene))
    ui = context.preferences.system.ui_scale
    px, before = _on_screen(context, spots.points)
    grain = np.linalg.norm(px[:, 1:] - px[:, :1], axis=2)  # px per mm along x and along y
    in_hand = held()
    wide = np.array([max(2, len(name)) for name in spots.parts]) * _LETTER
    room = spots.room * grain
    across = np.minimum(0.75 * room[:, 1], 0.9 * room[:, 0] / wide)
    along = np.minimum(0.75 * room[:, 0], 0.9 * room[:, 1] / wide)
    upright = (across < 0.9 * _MOST * ui) & (along > 1.2 * across)
    size = np.where(upright, along, across)
    inside = ((px[:, 0] > 0) & (px[:, 0] < (context.region.width, context.region.height))).all(axis=1)
    for k in np.flatnonzero(before.all(axis=1) & inside):
        name = spots.parts[k]
        if in_hand is not None and name == in_hand[0]:
            continue
        x, y = px[k, 0]
        pinned = name in shown.pinned
        if size[k] >= _LEAST * ui:
            ground = ground_of(shown.parts[name], dim=not (shown.current or pinned))
            high = float(min(size[k], _MOST * ui))
            y += write_about(name, (float(x), float(y)), high, ground, upright=bool(upright[k])) + 4.0 * ui
        if pinned:
            _pin(float(x), float(y), ui)


def _pin(x: float, y: float, ui: float) -> None:
    """Draw a pin that sticks in a point: a needle and a round head with a light rim."""
    _line(x, y, x + 4.0 * ui, y + 9.0 * ui, ui)
    for radius, colour in ((_HEAD + 1.5, (1.0, 1.0, 1.0, 0.9)), (_HEAD, (*_PIN, 1.0))):
        _disc(x + 5.5 * ui, y + 12.0 * ui, radius * ui, colour)


def _disc(x: float, y: float, radius: float, colour: tuple[float, float, float, float]) -> None:
    import gpu
    from mathutils import Matrix

    shader = gpu.shader.from_builtin("UNIFORM_COLOR")
    gpu.state.blend_set("ALPHA")
    with gpu.matrix.push_pop():
        gpu.matrix.multiply_matrix(Matrix.Translation((x, y, 0.0)) @ Matrix.Scale(radius, 4))
        shader.bind()
        shader.uniform_float("color", colour)
        _unit_disc.get(None, _send_disc).draw(shader)
    gpu.state.blend_set("NONE")


def _send_disc() -> Any:
    import gpu
    from gpu_extras.batch import batch_for_shader

    turns = np.linspace(0.0, 2.0 * np.pi, 21)
    rim = np.column_stack([np.cos(turns), np.sin(turns)])
    fan = np.zeros((3 * 20, 2), dtype=np.float32)
    fan[1::3], fan[2::3] = rim[:-1], rim[1:]
    return batch_for_shader(gpu.shader.from_builtin("UNIFORM_COLOR"), "TRIS", {"pos": fan})


def _line(x0: float, y0: float, x1: float, y1: float, ui: float) -> None:
    import gpu
    from gpu_extras.batch import batch_for_shader

    shader = gpu.shader.from_builtin("UNIFORM_COLOR")
    gpu.state.line_width_set(2.0 * ui)
    shader.bind()
    shader.uniform_float("color", (*_INK, 1.0))
    batch_for_shader(shader, "LINES", {"pos": [(x0, y0), (x1, y1)]}).draw(shader)
    gpu.state.line_width_set(1.0)


def _write_below(context: bpy.types.Context, shown: Showing) -> None:
    """Write what each sheet is below its lower edge, as much as there is room for."""
    ui = context.preferences.system.ui_scale
    corners, before = _on_screen(context, to_scene(shown.spread.boxes(), context.scene))
    count = len(corners)
    for k in np.flatnonzero(before.all(axis=1)):
        left, right = corners[k, :, 0].min(), corners[k, :, 0].max()
        x, y = float(left), float(corners[k, :, 1].min())
        below = _room_below(corners[before.all(axis=1)], x, y)
        what, facts = sheet_facts(shown.outcome, int(k))
        old = "" if shown.current else " (out of date)"
        choices = (
            (f"Sheet {k + 1} of {count}: {what}{old}", ", ".join((*facts[:1], f"{facts[1]} used", *facts[2:]))),
            (f"{k + 1}: {what}", ", ".join(facts[1:])),
            (f"{k + 1}: {what}, {facts[1]}",),
            (f"{k + 1}: {facts[1]}",),
            (f"{k + 1}",),
        )
        for lines in choices:
            wide = max(size_of(line, _BELOW * ui)[0] for line in lines) + 2.0 * _INSET * ui
            deep = (len(lines) * _ROW + _GAP + _INSET) * ui
            if wide <= 1.02 * (right - left) and deep <= below:
                draw_plate(x, y - deep, x + wide, y - _GAP * ui)
                for row, line in enumerate(lines, start=1):
                    write(line, x + _INSET * ui, y - (row * _ROW + _GAP) * ui, _BELOW * ui)
                break


def _room_below(corners: np.ndarray, x: float, y: float) -> float:
    """Return how far it is from a sheet's lower left corner down to the next sheet, px, infinite without one."""
    under = (corners[:, :, 0].min(axis=1) <= x + 1.0) & (corners[:, :, 0].max(axis=1) > x + 1.0)
    tops = corners[under, :, 1].max(axis=1)
    return float((y - tops[tops < y]).min(initial=np.inf))


def _write_bearing(context: bpy.types.Context, shown: Showing, part: str, bearing: Bearing) -> None:
    """Write over a held part whether it may lie where it is held."""
    ui = context.preferences.system.ui_scale
    x0, y0, x1, y1 = shown.parts[part].outline.bounds
    box = bearing.placement.place(np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]]))
    px, before = _on_screen(context, to_scene(box + shown.spread.corners[bearing.placement.sheet], context.scene))
    if not before.all():
        return
    words = f"{part} {bearing.why}"
    wide, high = size_of(words, _BELOW * ui)
    x, y = float(px[:, 0].mean()) - wide / 2, float(px[:, 1].max()) + 12.0 * ui
    x = max(10.0 * ui, min(x, context.region.width - wide - 10.0 * ui))
    y = max(10.0 * ui, min(y, context.region.height - high - 90.0 * ui))
    write_on_plate(words, x, y, _BELOW * ui, ui)


def forget() -> None:
    """Drop what was made for drawing."""
    _spots.forget()
    _unit_disc.forget()
