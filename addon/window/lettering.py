"""Letters in the 3D view: light on a dark plate, or black or white on a colour of ours.

The host's theme gives letters that are read on the ground of its view, but ours also lie over white boards, and each
theme has another ground. Letters on a plate can be read over all of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from ..geometry.paint.contrast import LEAST_CONTRAST, contrast

__all__ = ["LIGHT", "PLATE", "Colour", "draw_plate", "ink_on", "is_dark", "plate_beneath", "size_of", "write"]
__all__ += ["write_about", "write_on_plate"]

Colour = tuple[float, float, float]

#: Letters on a plate; the plate, and how little of what lies behind it shows through.
LIGHT: Colour = (0.97, 0.97, 0.97)
PLATE: Colour = (0.08, 0.08, 0.08)
_COVERS = 0.85

_INKS: tuple[Colour, Colour] = ((0.0, 0.0, 0.0), (1.0, 1.0, 1.0))

#: How far a plate reaches beyond its letters, px at interface scale 1.
_PAD = 6.0


@lru_cache(maxsize=1024)
def ink_on(colour: Colour) -> Colour:
    """Return black or white, the one that is read more easily on a colour; its contrast is 4.58 at least.

    >>> ink_on((0.9, 0.9, 0.4)), ink_on((0.3, 0.2, 0.1))
    ((0.0, 0.0, 0.0), (1.0, 1.0, 1.0))
    """
    return max(_INKS, key=lambda ink: contrast(_spelt(ink), _spelt(colour)))


def is_dark(colour: Colour) -> bool:
    """Return whether a line of a colour does not show on a plate."""
    return contrast(_spelt(colour), _spelt(PLATE)) < LEAST_CONTRAST


def plate_beneath(ground: Sequence[float]) -> Colour:
    """Return the colour that a plate has on the screen over a ground."""
    red, green, blue = (_COVERS * own + (1.0 - _COVERS) * behind for own, behind in zip(PLATE, ground, strict=True))
    return red, green, blue


def _spelt(colour: Sequence[float]) -> str:
    return "#" + "".join(f"{round(255 * part):02x}" for part in colour)


def size_of(words: str, height: float) -> tuple[float, float]:
    """Return how wide and how high words are, px. height: of the letters, px."""
    import blf

    blf.size(0, height)
    wide, high = blf.dimensions(0, words)
    return float(wide), float(high)


def draw_plate(
    left: float, low: float, right: float, high: float, *, colour: Colour = PLATE, covers: float = _COVERS
) -> None:
    """Draw a plate, px in the region; without a colour the one that light letters stand on."""
    import gpu
    from gpu_extras.batch import batch_for_shader

    shader = gpu.shader.from_builtin("UNIFORM_COLOR")
    corners = [(left, low), (right, low), (right, high), (left, high)]
    gpu.state.blend_set("ALPHA")
    shader.bind()
    shader.uniform_float("color", (*colour, covers))
    batch_for_shader(shader, "TRIS", {"pos": corners}, indices=[(0, 1, 2), (0, 2, 3)]).draw(shader)
    gpu.state.blend_set("NONE")


def write(words: str, left: float, low: float, height: float, ink: Colour = LIGHT) -> None:
    """Write words from a point of their base line on, px in the region. ink: light where a plate was drawn."""
    import blf

    blf.size(0, height)
    blf.color(0, *ink, 1.0)
    blf.position(0, left, low, 0.0)
    blf.draw(0, words)


def write_on_plate(words: str, left: float, low: float, height: float, ui: float) -> None:
    """Write words on a plate of their own. ui: scale of the interface."""
    wide, high = size_of(words, height)
    pad = _PAD * ui
    draw_plate(left - pad, low - pad, left + wide + pad, low + high + pad)
    write(words, left, low, height)


def write_about(words: str, at: tuple[float, float], height: float, ground: Colour, *, upright: bool = False) -> float:
    """Write words round a point on a colour, to the right or upward; return how far they reach above the point, px."""
    import blf

    wide, high = size_of(words, height)
    if not upright:
        write(words, at[0] - wide / 2, at[1] - high / 2, height, ink_on(ground))
        return high / 2
    blf.enable(0, blf.ROTATION)
    blf.rotation(0, np.pi / 2)
    write(words, at[0] + high / 2, at[1] - wide / 2, height, ink_on(ground))
    blf.disable(0, blf.ROTATION)
    return wide / 2
