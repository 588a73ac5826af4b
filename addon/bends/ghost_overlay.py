"""The ghost of the net that is looked at: its pieces flat on the table beside the building and on the model.

Every piece has a colour, the same in both places. The edges of the model are drawn by ``overlay`` with the roles that
the net gives them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import bpy
import numpy as np

from ..host.lengths import to_units
from ..window.kept import Kept
from ..window.lettering import size_of, write_on_plate
from ..window.pictures import Layer, Picture
from ..window.step import overlay_is_on
from . import nets
from .overlay import COLOURS as ROLE_COLOURS

if TYPE_CHECKING:
    from ..geometry.sheet.ghost import Ghost
    from ..geometry.solid.solid import Solid

__all__ = ["COLOURS", "draw", "draw_words", "forget", "layers_of", "outer_points"]

#: Of the Okabe-Ito set, without the colours that roles have: sky blue, yellow, vermilion, blue.
COLOURS: tuple[tuple[float, float, float], ...] = (
    (0x56 / 255, 0xB4 / 255, 0xE9 / 255),  # 56b4e9
    (0xF0 / 255, 0xE4 / 255, 0x42 / 255),  # f0e442
    (0xD5 / 255, 0x5E / 255, 0x00 / 255),  # d55e00
    (0x00 / 255, 0x72 / 255, 0xB2 / 255),  # 0072b2
)

#: Between the ghost and the building, mm.
_BESIDE = 50.0

#: Opacity of a piece on the table, on the model, of its lattices, and of their slits.
_FLAT, _STANDING, _LATTICE, _CUT = 0.6, 0.5, 0.6, 0.5

#: Widths of outlines and slits, px at interface scale 1, and the colour of slits.
_EDGE, _SLIT, _INK = 2.0, 1.0, (0.0, 0.2, 0.15)

#: Height of letters, and how far below a piece their base line lies, px at interface scale 1.
_LETTERS, _BELOW = 12.0, 22.0

_picture: Kept[tuple[Ghost, float], Picture] = Kept()


def layers_of(ghost: Ghost, solid: Solid, scene: bpy.types.Scene) -> list[Layer]:
    """Return what is drawn of a ghost, from back to front, in units of the scene."""
    scale, corner = to_units(1.0, scene), _corner(ghost, solid)

    def flat(points: np.ndarray) -> np.ndarray:
        return np.concatenate([points, np.zeros((*points.shape[:-1], 1))], axis=-1) * scale + corner * scale

    layers = []
    for k, piece in enumerate(ghost.pieces):
        colour = COLOURS[k % len(COLOURS)]
        layers += [
            Layer(piece.standing * scale, colour, _STANDING),
            Layer(flat(piece.triangles), colour, _FLAT),
            Layer(flat(piece.zones), _FLEX, _LATTICE),
            Layer(flat(piece.slits), _INK, _CUT, _SLIT),
            Layer(flat(piece.edges), colour, 1.0, _EDGE),
        ]
    return layers


_FLEX = next(colour for role, colour in ROLE_COLOURS.items() if role.name == "FLEX")


def outer_points(ghost: Ghost, solid: Solid, scene: bpy.types.Scene) -> np.ndarray:
    """Return corners of a box round the ghost and of one round the building, (16, 3) in units of the scene."""
    corner = _corner(ghost, solid)
    boxes = (
        (solid.points.min(axis=0), solid.points.max(axis=0)),
        (corner, corner + np.append(ghost.size, 0.0)),
    )
    points = [(box[i][0], box[j][1], box[k][2]) for box in boxes for i in (0, 1) for j in (0, 1) for k in (0, 1)]
    return np.array(points) * to_units(1.0, scene)


def _corner(ghost: Ghost, solid: Solid) -> np.ndarray:
    """Return where the ghost's lower left corner lies, (3,) mm: before the building, on the table.

    Sheets are shown to the right of it.
    """
    low = solid.points.min(axis=0)
    return np.array([low[0], low[1] - _BESIDE - ghost.size[1], low[2]])


def _shown(context: bpy.types.Context) -> tuple[Ghost, Solid] | None:
    """Return the ghost that is drawn into the view, with the solid that it lies beside."""
    tried, manager = nets.known(), context.window_manager.stowfold
    if tried is None or tried.model is None or not tried.rows or not manager.show_nets:
        return None
    if not overlay_is_on(context, "nets") or not 0 <= manager.net < len(tried.ghosts):
        return None
    return tried.ghosts[manager.net], tried.model.solid


def draw() -> None:
    """Draw the ghost into the view that is being drawn."""
    context = bpy.context
    found = _shown(context)
    if found is None:
        return
    ghost, solid = found
    scale = to_units(1.0, context.scene)
    picture = _picture.get((ghost, scale), lambda: Picture(layers_of(ghost, solid, context.scene)))
    picture.draw(context)


def draw_words() -> None:
    """Write below every piece of the ghost its name and size."""
    from bpy_extras.view3d_utils import location_3d_to_region_2d

    context = bpy.context
    found = _shown(context)
    if found is None:
        return
    ghost, solid = found
    ui, scale = context.preferences.system.ui_scale, to_units(1.0, context.scene)
    corner = _corner(ghost, solid)
    for at, words in _words(ghost):
        px = location_3d_to_region_2d(context.region, context.region_data, (np.append(at, 0.0) + corner) * scale)
        if px is not None:
            wide = size_of(words, _LETTERS * ui)[0]
            write_on_plate(words, px.x - wide / 2, px.y - _BELOW * ui, _LETTERS * ui, ui)


def _words(ghost: Ghost) -> list[tuple[np.ndarray, str]]:
    return [
        (
            np.array([piece.box[:, 0].mean(), piece.box[0, 1]]),
            "{}: {:.0f} x {:.0f} mm".format(piece.id, *(piece.box[1] - piece.box[0])),
        )
        for piece in ghost.pieces
    ]


def forget() -> None:
    """Drop what was made for drawing."""
    _picture.forget()
