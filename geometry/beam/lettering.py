"""Lettering: short names engraved with single strokes, where the standing model hides them.

A laser engraves a line far faster than an area, so letters are single strokes (Hershey's, digitised
in 1967 and free to use). A name too large for a hidden place goes into the waste, in the part's own
notches or beside it.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from functools import cache

import numpy as np
import shapely
from HersheyFonts import HersheyFonts
from shapely.geometry import Polygon, box

from ..nest.bed import Bed
from ..nest.bed_map import stamp
from ..nest.outline_fit import slices, turned_shapes
from ..part import LabelSpot, Part
from ..tolerance import LARGEST, LENGTH

__all__ = [
    "LABEL_CLEAR",
    "LABEL_GAP",
    "TEXT_HEIGHT",
    "TEXT_HEIGHT_LEAST",
    "Label",
    "letter",
    "letter_width",
    "place_label",
]

#: Height of capitals, mm: what is aimed at, and the least that stays readable in wood. Common practice, no source.
TEXT_HEIGHT = 4.0
TEXT_HEIGHT_LEAST = 2.5

#: Cell of the map on which a place is looked for, mm: letters are 2.5 mm high.
_CELL = 1.5

#: A label in the waste lies so far from its own part, and at least so far from any other one, mm: twice as near is
#: near enough to be taken for its own, and the beam burns a few tenths beside the outline.
LABEL_GAP = 1.0
LABEL_CLEAR = 2.5

#: A longer name is cut short, characters: more would need a place in the waste that no part has.
_LONGEST = 24

#: Places that are tried for a label along each side of a part.
_PLACES = 9

#: Stands for a character that the font does not have.
_UNKNOWN = "?"

#: Characters of everyday names that do not fall apart into a plain letter and its accents.
_PLAIN = str.maketrans({"–": "-", "—": "-", "−": "-", "×": "x", "’": "'", "ß": "ss", "ø": "o", "Ø": "O", "æ": "ae"})


@dataclass(frozen=True, slots=True, eq=False)
class Label:
    """The name of a part, to be engraved. strokes: (k, 2) mm each, part frame.

    hidden: whether it lies on the part, where the standing model hides it. footprint: otherwise the
    waste that it needs beside the part, which the layout keeps free.
    """

    text: str
    strokes: tuple[np.ndarray, ...]
    hidden: bool
    footprint: Polygon | None


@cache
def _glyphs() -> dict[str, tuple[float, tuple[np.ndarray, ...]]]:
    """Return advance width and strokes per character; baseline at y = 0, capitals 1 high, x from 0."""
    font = HersheyFonts()
    font.load_default_font("futural")
    base = font.render_options["base_line"]
    size = base - font.render_options["cap_line"]
    glyphs = {}
    for character, glyph in font.all_glyphs.items():
        strokes = tuple(
            (np.array(stroke, dtype=np.float64) - [glyph.left_offset, base]) * [1 / size, -1 / size]
            for stroke in glyph.strokes
        )
        glyphs[character] = (glyph.char_width / size, strokes)
    return glyphs


def _known(text: str) -> str:
    """Return the text in characters that the font has: accents dropped, others replaced by a question mark."""
    plain = unicodedata.normalize("NFKD", text.translate(_PLAIN))
    kept = "".join(
        " " if character.isspace() else character for character in plain if not unicodedata.combining(character)
    )
    return "".join(character if character in _glyphs() else _UNKNOWN for character in kept)


def letter(text: str, height: float) -> tuple[np.ndarray, ...]:
    """Return the strokes of a line of text, (k, 2) mm each, with capitals ``height`` mm high.

    The baseline lies at y = 0 and the text starts at x = 0. Characters that the font lacks lose
    their accents or become question marks.
    """
    strokes, x = [], 0.0
    for character in _known(text):
        width, shapes = _glyphs()[character]
        strokes += [(shape + np.array([x, 0.0])) * height for shape in shapes]
        x += width
    return tuple(strokes)


def letter_width(text: str, height: float) -> float:
    """Return how far a line of text advances, mm."""
    return sum(_glyphs()[character][0] for character in _known(text)) * height


def place_label(part: Part) -> Label:
    """Place the part's name in its hidden spot, or else in the waste: in a notch or hole of the part, or below it.

    A spot that leaves less than TEXT_HEIGHT_LEAST is passed over: a name beside the part reads as well.
    """
    name = part.name if len(part.name) <= _LONGEST else f"{part.name[: _LONGEST - 2]}.."
    if part.label_spot is not None:
        height = _fitting_height(name, part.label_spot)
        if height >= TEXT_HEIGHT_LEAST - LENGTH:
            strokes = _in_spot(name, part.label_spot, height)
            if shapely.contains(part.outline, shapely.MultiLineString(list(strokes))):
                return Label(name, strokes, True, None)
    return _in_waste(part, name)


def _extent(strokes: tuple[np.ndarray, ...]) -> tuple[np.ndarray, np.ndarray]:
    points = np.concatenate(strokes) if strokes else np.zeros((1, 2))
    return points.min(axis=0), points.max(axis=0)


def _fitting_height(text: str, spot: LabelSpot) -> float:
    """Return the height of capitals at which the text fits the spot, at most TEXT_HEIGHT."""
    low, high = _extent(letter(text, 1.0))
    wide, tall = np.maximum(high - low, LENGTH)
    return float(min(TEXT_HEIGHT, spot.length / wide, spot.height / tall))


def _in_spot(text: str, spot: LabelSpot, height: float) -> tuple[np.ndarray, ...]:
    strokes = letter(text, height)
    middle = np.mean(_extent(strokes), axis=0)
    c, s = np.cos(spot.direction), np.sin(spot.direction)
    turn = np.array([[c, s], [-s, c]])
    return tuple((stroke - middle) @ turn + np.asarray(spot.centre) for stroke in strokes)


def _in_waste(part: Part, name: str) -> Label:
    strokes = letter(name, TEXT_HEIGHT_LEAST)
    low, high = _extent(strokes)
    size = (float(high[0] - low[0]), float(high[1] - low[1]))
    inside = _own_waste(part.outline, size, LABEL_GAP)
    if inside is not None and _off(part.outline, inside, size) > LABEL_CLEAR - LABEL_GAP:
        inside = None
    corner = inside or _beside(part.outline, size)
    shift = np.array(corner) - low
    placed = tuple(stroke + shift for stroke in strokes)
    low, high = low + shift, high + shift
    return Label(name, placed, False, box(*low, *high))


def _off(outline: Polygon, corner: tuple[float, float], size: tuple[float, float]) -> float:
    """Return how far a label of this size, its lower left corner there, lies from its part's edge, mm."""
    return float(shapely.distance(box(*corner, corner[0] + size[0], corner[1] + size[1]), outline))


def _beside(outline: Polygon, size: tuple[float, float]) -> tuple[float, float]:
    """Return the lower left corner of the label LABEL_GAP below its part, or above, left or right of it.

    The first place along each side that lies as near to the wood as wanted, and nowhere nearer, is taken.
    """
    x0, y0, x1, y1 = outline.bounds
    width, height = size
    if max(x1 - x0, y1 - y0) > LARGEST:
        return x0, y0 - LABEL_GAP - height
    for x in _places(x0, x1, width):
        wood = shapely.intersection(outline, box(x, y0, x + width, y1)).bounds
        for corner in ((float(x), wood[1] - LABEL_GAP - height), (float(x), wood[3] + LABEL_GAP)):
            if abs(_off(outline, corner, size) - LABEL_GAP) <= LENGTH:
                return corner
    for y in _places(y0, y1, height):
        wood = shapely.intersection(outline, box(x0, y, x1, y + height)).bounds
        for corner in ((wood[0] - LABEL_GAP - width, float(y)), (wood[2] + LABEL_GAP, float(y))):
            if abs(_off(outline, corner, size) - LABEL_GAP) <= LENGTH:
                return corner
    return x0, y0 - LABEL_GAP - height


def _places(low: float, high: float, long: float) -> np.ndarray:
    """Return where a label may begin along a side: what it keeps free then reaches no further than its part does."""
    if high - low < long + 2 * LABEL_CLEAR:
        return np.array([(low + high - long) / 2])
    return np.linspace(low + LABEL_CLEAR, high - LABEL_CLEAR - long, _PLACES)


def _own_waste(outline: Polygon, size: tuple[float, float], gap: float) -> tuple[float, float] | None:
    """Return the lower left corner of a place of ``size`` (width, height) in the outline's notches or holes.

    The place lies within the outline's box, ``gap`` or more from the wood, as far left and then as low as it
    goes; None where the part has none. All in the part frame, mm.
    """
    x0, y0, x1, y1 = outline.bounds
    if (x1 - x0) * (y1 - y0) - outline.area < size[0] * size[1] or max(x1 - x0, y1 - y0) > LARGEST:
        return None
    wood = shapely.intersection(shapely.buffer(outline, gap, join_style="mitre"), box(x0, y0, x1, y1))
    wood = shapely.transform(wood, lambda points: points - [x0, y0])
    bed = Bed((x1 - x0, y1 - y0), _CELL)
    bed.take(slices(wood), slices(shapely.transform(wood, lambda points: points[:, ::-1])))
    label = turned_shapes(box(0.0, 0.0, *size), (0,))[0]
    mark = stamp(label, _CELL)
    place = bed.settle(label, mark, bed.sight(label, mark))
    return None if place is None else (place[0] + x0, place[1] + y0)
