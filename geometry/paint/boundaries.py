"""Boundaries between two colours of one face, scored: stain creeps along the grain under tape, and a cut stops it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import MultiLineString

from ..finish.lines import ordered
from ..part import ColourField, Dressing, Part, Way
from ..tolerance import SNAP
from .paint import Paint

__all__ = ["BOUNDARIES", "boundaries_of", "score_boundaries"]

#: What the scored lines are called among the finishes of a part.
BOUNDARIES = "colour boundaries"

#: Scores end so far inside an outline, mm: a beam that scores the very edge chars it (common practice, no source).
_OFF_EDGE = 0.2

#: Shorter bits of a boundary stop no stain, mm (common practice, no source).
_LEAST = 0.6

#: Lines of a finish nearer to a boundary than this for longer than the second are the same line, mm: what crosses it
#: at 30 degrees or more is near it for less.
_SAME, _ALONG = 0.02, 0.1


def score_boundaries(parts: Sequence[Part], paint: Paint) -> tuple[Part, ...]:
    """Return the parts with lines scored where two colours of the upper face meet; what was engraved there goes."""
    return tuple(_scored(part, paint) for part in parts)


def boundaries_of(fields: Sequence[ColourField], paint: Paint) -> shapely.Geometry:
    """Return the lines at which fields of different colour meet, in the part frame.

    A lattice is left out, where no line may be cut.
    """
    thick = [field for field in fields if not field.thin]
    met = []
    for k, one in enumerate(thick):
        for other in thick[k + 1 :]:
            if _colour(one, paint) != _colour(other, paint):
                near = shapely.buffer(other.area, SNAP, join_style="mitre")
                met.append(shapely.intersection(shapely.boundary(one.area), near))
    lines = [line for line in shapely.get_parts(shapely.union_all(met)) if shapely.length(line) > SNAP]
    return shapely.line_merge(MultiLineString(lines))


def _colour(field: ColourField, paint: Paint) -> object:
    """Return what tells two colours apart: the colours themselves, or what they are for where none is chosen."""
    return paint.colour_of(field.finish, field.role) or (field.finish, field.role)


def _scored(part: Part, paint: Paint) -> Part:
    up = [field for field in part.colour_fields if field.up]
    if len(up) < 2:
        return part
    inside = part.outline.buffer(-_OFF_EDGE, join_style="mitre")
    met = shapely.intersection(boundaries_of(up, paint), inside)
    lines = [shapely.get_coordinates(line) for line in shapely.get_parts(met) if shapely.length(line) > _LEAST]
    if not lines:
        return part
    near = MultiLineString(lines).buffer(_SAME, cap_style="flat")
    shapely.prepare(near)
    kept = [made for dressing in part.dressings for made in _beside(dressing, near)]
    return replace(part, dressings=(*kept, Dressing.of(BOUNDARIES, Way.SCORE, ordered(lines))))


def _beside(dressing: Dressing, near: shapely.Geometry) -> Iterator[Dressing]:
    """Yield a dressing without what runs along scored lines; what crosses them stays whole."""
    lines: list[np.ndarray] = []
    for line in dressing.lines:
        drawn = shapely.linestrings(line)
        if shapely.intersects(near, drawn) and shapely.length(shapely.intersection(near, drawn)) > _ALONG:
            rest = shapely.get_parts(shapely.difference(drawn, near))
            lines += [shapely.get_coordinates(piece) for piece in rest if shapely.length(piece) > _ALONG]
        else:
            lines.append(line)
    if lines:
        yield Dressing.of(dressing.finish, dressing.way, lines)
