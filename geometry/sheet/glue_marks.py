"""Marks where something will be glued: scored under the glued part, which hides them, with its name.

A score can only be made on the face that lies up on the laser. A part whose glued face would lie down is turned over,
unless something is engraved on its other face: then the corners of the place are pricked through, dots of a third of a
millimetre that are lost in the engraving.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from ..beam.lettering import TEXT_HEIGHT, TEXT_HEIGHT_LEAST, letter
from ..joints.glue_places import GluePlace, find_glue_places
from ..joints.round_joiner import is_inner_cheek
from ..part import FaceUp, LabelSpot, Part, PartKind, frozen
from ..tolerance import AREA
from ..unfold.flip import flipped
from .alike import name_alike

__all__ = ["mark_glue_places"]

#: Marks stay so far inside the place, mm: the beam is a few tenths wide, and a hand places to half a millimetre
#: (common practice, no source).
_INSET = 0.5

#: Longest stroke of the mark at a corner, mm, and the share of a side that it takes at most.
_STROKE, _SHARE = 4.0, 0.35

#: Length of a prick, mm: as wide as a kerf or two, so that a pencil point finds it (common practice, no source).
_PRICK = 0.3

#: Names keep this from the border of their place, mm.
_EDGE = 1.0

#: A part with two glued faces is turned for the larger one where that is larger by this, mm^2.
_WORTH = 1.0


def mark_glue_places(parts: Sequence[Part]) -> tuple[Part, ...]:
    """Return the parts with glue places scored, names where glue will cover them, and shared names.

    Parts are turned over where their glued face would lie down, except floors and what bears engraving.
    """
    places = find_glue_places(parts)
    if not places:
        return name_alike(parts)
    over = {part.id for part in parts if _turns(part, places)}
    boxes = {part.id: part.outline.bounds for part in parts}
    turned = [_turned_over(part) if part.id in over else part for part in parts]
    places = tuple(_turned_place(place, over, boxes) for place in places)
    # the inner cheek of a round joiner lies behind the outer one, whose marks stand for both
    behind = {part.id for part in parts if is_inner_cheek(part)}
    shown = [place for place in places if place.glued not in behind]
    marked = [_with_corners(part, [place for place in shown if place.host == part.id]) for part in turned]
    named = name_alike(marked)
    names = {part.id: part.name for part in named}
    return tuple(_with_names(part, places, names) for part in named)


def _turns(part: Part, places: Sequence[GluePlace]) -> bool:
    """Whether more of a part's glued places lie on the face that is down."""
    if part.engrave or part.score or part.dressings or part.kind in (PartKind.FLOOR, PartKind.COUPON, PartKind.CASE):
        return False
    areas = {True: 0.0, False: 0.0}
    for place in places:
        if place.host == part.id:
            areas[place.up] += place.area.area
        if place.glued == part.id and place.own is not None:
            areas[place.own_up] += place.own.area
    return areas[False] > areas[True] + _WORTH


def _turned_over(part: Part) -> Part:
    other = FaceUp.ROOM if part.face_up is FaceUp.OUTSIDE else FaceUp.OUTSIDE
    return replace(flipped(part), face_up=other)


def _turned_place(place: GluePlace, over: set[str], boxes: Mapping[str, tuple[float, ...]]) -> GluePlace:
    """Return a place as it lies once some parts are turned over."""
    if place.host in over:
        place = replace(place, area=_mirrored(place.area, boxes[place.host]), up=not place.up)
    if place.glued in over and place.own is not None:
        place = replace(place, own=_mirrored(place.own, boxes[place.glued]), own_up=not place.own_up)
    return place


def _mirrored(area: Polygon, box: tuple[float, ...]) -> Polygon:
    return shapely.transform(area, lambda points: points * [-1.0, 1.0] + [box[0] + box[2], 0.0])


def _with_corners(part: Part, places: Sequence[GluePlace]) -> Part:
    lines = [line for place in places if place.up for line in _corner_marks(place.area)]
    pricks = [_prick(line) for place in places if not place.up for line in _corner_marks(place.area)]
    if not lines and not pricks:
        return part
    return replace(part, score=(*part.score, *map(frozen, lines)), pricks=tuple(map(frozen, pricks)))


def _prick(corner: np.ndarray) -> np.ndarray:
    """Return the cut right through at the corner of a mark, (2, 2) mm."""
    way = corner[2] - corner[1]
    return np.array([corner[1], corner[1] + way / max(float(np.hypot(*way)), AREA) * _PRICK])


def _corner_marks(area: Polygon) -> list[np.ndarray]:
    """Return a mark at every corner of a place, (3, 2) mm each, inside it by ``_INSET``."""
    inside = shapely.buffer(Polygon(area.exterior), -_INSET, join_style="mitre")
    if not isinstance(inside, Polygon) or inside.is_empty:
        return []
    ring = shapely.get_coordinates(shapely.simplify(inside, _INSET / 2).exterior)[:-1]
    marks = []
    for before, corner, after in zip(np.roll(ring, 1, axis=0), ring, np.roll(ring, -1, axis=0), strict=True):
        ends = []
        for other in (before, after):
            length = float(np.hypot(*(other - corner)))
            ends.append(corner + (other - corner) * min(_STROKE, _SHARE * length) / max(length, AREA))
        marks.append(np.array([ends[0], corner, ends[1]]))
    return marks


def _with_names(part: Part, places: Sequence[GluePlace], names: Mapping[str, str]) -> Part:
    """Return a part with the names of what is glued to it, and a place for its own name under one of them."""
    here = sorted((place for place in places if place.host == part.id and place.up), key=lambda place: -place.area.area)
    own = [place.own for place in places if place.glued == part.id and place.own is not None and place.own_up]
    spot = part.label_spot
    if spot is None and own:
        spot = _spot(max(own, key=lambda area: area.area), 0.0, 1.0)
    strokes: list[np.ndarray] = []
    for place in here:
        called = names[place.glued]
        if part.kind is PartKind.CHEEK:
            # what is glued to a cheek needs no telling; its own name lies there
            spot = spot or _spot(place.area, 0.0, 1.0)
            continue
        shared = spot is None and place.flat
        half = _spot(place.area, 0.5, 1.0) if shared else None
        told = _lettered(called, _spot(place.area, 0.0, 0.5 if half is not None else 1.0), place.area)
        if half is not None and told and _lettered(part.name, half, place.area):
            spot = half
        elif half is not None:
            told = _lettered(called, _spot(place.area, 0.0, 1.0), place.area)
        strokes += told
    score = (*part.score, *map(frozen, strokes))
    return replace(part, score=score, label_spot=spot)


def _spot(area: Polygon, low: float, high: float) -> LabelSpot | None:
    """Return the room for a line of letters along the longer way of a place, between two shares of its length."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(area))[:4]
    sides = np.roll(corners, -1, axis=0) - corners
    lengths = np.hypot(*sides.T)
    first = int(np.argmax(lengths > lengths.max() - _EDGE / 10))
    along, across = sides[first], sides[(first + 1) % 4]
    start = corners[first] + across / 2
    inside = shapely.buffer(area, -_EDGE, join_style="mitre")
    pieces = shapely.get_parts(shapely.intersection(LineString([start + along * low, start + along * high]), inside))
    free = max(pieces, key=lambda piece: round(float(piece.length), 3), default=None)
    height = float(np.hypot(*across)) - 2 * _EDGE
    if free is None or free.is_empty or height < TEXT_HEIGHT_LEAST:
        return None
    x, y = free.centroid.coords[0]
    # read from below or from the right, never upside down
    direction = (float(np.arctan2(along[1], along[0])) + np.pi / 2) % np.pi - np.pi / 2
    return LabelSpot((float(x), float(y)), direction, float(free.length) - _EDGE, height)


def _lettered(words: str, spot: LabelSpot | None, area: Polygon) -> list[np.ndarray]:
    """Return the strokes of words in their spot, nothing where they find no room inside the place."""
    if spot is None or spot.length <= 0.0:
        return []
    shapes = letter(words, 1.0)
    points = np.concatenate(shapes)
    low, high = points.min(axis=0), points.max(axis=0)
    size = min(TEXT_HEIGHT, spot.length / max(high[0] - low[0], AREA), spot.height / max(high[1] - low[1], AREA))
    if size < TEXT_HEIGHT_LEAST:
        return []
    c, s = np.cos(spot.direction), np.sin(spot.direction)
    turn = np.array([[c, s], [-s, c]])
    strokes = [(shape - (low + high) / 2) * size @ turn + np.asarray(spot.centre) for shape in shapes]
    return strokes if shapely.contains(area, shapely.MultiLineString(strokes)) else []
