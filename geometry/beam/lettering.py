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

from ..findings import Finding, Location, Severity
from ..nest.bed import Bed
from ..nest.bed_map import stamp
from ..nest.outline_fit import slices, turned_shapes
from ..part import LabelSpot, Part
from ..tolerance import LARGEST, LENGTH
from .laser import Laser

__all__ = ["TEXT_HEIGHT", "TEXT_HEIGHT_LEAST", "Label", "letter", "letter_width", "place_label"]

#: Height of capitals, mm: what is aimed at, and the least that stays readable in wood. Common practice, no source.
TEXT_HEIGHT = 4.0
TEXT_HEIGHT_LEAST = 2.5

#: Cell of the map on which a place is looked for, mm: letters are 2.5 mm high.
_CELL = 1.5

#: A longer name is cut short, characters: more would need a place in the waste that no part has.
_LONGEST = 24

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
    findings: tuple[Finding, ...] = ()


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
    kept = "".join(" " if each.isspace() else each for each in plain if not unicodedata.combining(each))
    return "".join(each if each in _glyphs() else _UNKNOWN for each in kept)


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


def place_label(part: Part, laser: Laser | None = None) -> Label:
    """Place the part's id in its hidden spot, or else in the waste: in a notch or hole of the part, or below it.

    A spot that leaves less than TEXT_HEIGHT_LEAST is passed over with a finding.
    """
    findings: tuple[Finding, ...] = ()
    name = part.id if len(part.id) <= _LONGEST else f"{part.id[: _LONGEST - 2]}.."
    if part.label_spot is not None:
        height = _fitting_height(name, part.label_spot)
        if height >= TEXT_HEIGHT_LEAST - LENGTH:
            strokes = _in_spot(name, part.label_spot, height)
            if shapely.contains(part.outline, shapely.MultiLineString(list(strokes))):
                return Label(name, strokes, True, None)
        else:
            message = (
                f"The hidden place on part {part.id} leaves room for letters {height:.1f} mm high; at least "
                f"{TEXT_HEIGHT_LEAST} mm is needed, so the label goes into the waste beside the part"
            )
            findings = (Finding(Severity.NOTE, "text-too-small", message, Location(part=part.id)),)
    return _in_waste(part, name, max((laser or Laser()).spacing, TEXT_HEIGHT_LEAST / 2), findings)


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


def _in_waste(part: Part, name: str, gap: float, findings: tuple[Finding, ...]) -> Label:
    strokes = letter(name, TEXT_HEIGHT_LEAST)
    low, high = _extent(strokes)
    width, height = (float(side) for side in high - low)
    x0, y0, _, _ = part.outline.bounds
    corner = _own_waste(part.outline, (width, height), gap) or (x0, y0 - gap - height)
    shift = np.array(corner) - low
    placed = tuple(stroke + shift for stroke in strokes)
    low, high = low + shift, high + shift
    return Label(name, placed, False, box(*low, *high), findings)


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
