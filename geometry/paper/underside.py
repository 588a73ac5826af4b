"""Undersides: roofs seen from below with everything that is glued there, each place with its two dimensions."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon

from ..joints.glue_places import GluePlace, find_glue_places
from ..part import FaceUp, Part, PartKind
from .markup import bold, length, text

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["marked_parts", "place_words", "underside_section"]

#: Widest and highest drawing, mm on paper, and height of its letters there.
_WIDEST, _HIGHEST, _LETTER = 150.0, 92.0, 2.3

#: Shorter dimensions are not drawn, mm.
_DRAWN = 0.05

#: Lines that differ by less than this are parallel (sine of 3 degrees).
_PARALLEL = 0.05

_HOSTS = (PartKind.ROOF, PartKind.PANEL, PartKind.WALL)


def underside_section(outcome: Outcome) -> str:
    """Return drawings of all boards with glued places on their room side, empty where there are none."""
    places = find_glue_places(outcome.parts)
    written = []
    for host in outcome.parts:
        here = [place for place in places if place.host == host.id and place.up == (host.face_up is FaceUp.ROOM)]
        if host.kind not in _HOSTS or not here:
            continue
        if host.face_up is FaceUp.ROOM:
            said = "scored on the board, and gone when the part lies right; the dimensions are there to check"
        elif host.pricks:
            said = (
                "pricked through at their corners, since the face that lies up is the engraved one: join the dots with"
                " a pencil, and check by the dimensions"
            )
        else:
            said = "not marked on the board: set them out by these dimensions"
        written.append(
            f"<figure>{_drawing(host, here, {part.id: part.name for part in outcome.parts})}<figcaption>"
            f"{bold(host.name)} flat, seen from below (room side). Places are {said}; mm, from the nearest edge"
            " alongside and from its nearer end.</figcaption></figure>"
        )
    return "\n".join(written)


def marked_parts(outcome: Outcome) -> frozenset[str]:
    """Return the ids of the parts whose place on another board is scored or pricked there."""
    pricked = {part.id for part in outcome.parts if part.pricks}
    return frozenset(place.glued for place in find_glue_places(outcome.parts) if place.up or place.host in pricked)


def place_words(outcome: Outcome, parts: Iterable[Part]) -> str:
    """Say where parts are glued: at their marks, or by the drawing where the face that they lie on bears none."""
    marked = marked_parts(outcome)
    if all(part.id in marked for part in parts):
        return "at the marked places"
    return "where the drawing from below has them"


def _drawing(host: Part, places: Sequence[GluePlace], names: dict[str, str]) -> str:
    """Draw a board from below. Where its outside lies up it is seen in a mirror."""
    sign = 1.0 if host.face_up is FaceUp.ROOM else -1.0
    mirror = np.array([sign, 1.0])

    def over(points: np.ndarray) -> np.ndarray:
        return np.asarray(points)[:, :2] * mirror

    outline = Polygon(over(np.asarray(host.outline.exterior.coords)))
    x0, y0, x1, y1 = outline.bounds
    scale = min(1.0, _WIDEST / (x1 - x0 + 2), _HIGHEST / (y1 - y0 + 2))
    size = _LETTER / scale
    body = [f'<path class="board" d="{_path(np.asarray(outline.exterior.coords), closed=True)}"/>']
    body += [f'<path class="zone" d="{_path(over(lattice.zone), closed=True)}"/>' for lattice in host.lattices]
    for place in places:
        body.append(f'<path class="place" d="{_path(over(np.asarray(place.area.exterior.coords)), closed=True)}"/>')
    for place in places:
        panel = Polygon(over(host.panels[place.panel].ring))
        area = Polygon(over(np.asarray(place.area.exterior.coords)))
        if _leads(place, places):
            if place.flat:
                body += _named(names[place.glued], area, size)
            body += _dimensions(area, panel, outline, size, across=place.flat)
    wide, high = x1 - x0 + 2, y1 - y0 + 2
    return (
        f'<svg role="img" viewBox="{x0 - 1:.2f} {-y1 - 1:.2f} {wide:.2f} {high:.2f}"'
        f' style="width:{wide * scale:.1f}mm;aspect-ratio:{wide:.2f}/{high:.2f}">'
        f"<title>{text(host.name)} from below</title>{''.join(body)}</svg>"
    )


def _leads(place: GluePlace, places: Sequence[GluePlace]) -> bool:
    """Whether a place gets dimensions: fins at the ends of a strip and knees behind fins follow from it."""
    stem = place.glued.partition("-")[0]
    if place.flat:
        return True
    if place.glued.endswith("-knee"):
        return False
    strip = stem.rstrip("ab")
    return not any(other.flat and other.glued == strip for other in places)


def _named(words: str, area: Polygon, size: float) -> Iterator[str]:
    x, y = area.centroid.coords[0]
    yield f'<text class="id" x="{x:.2f}" y="{-y:.2f}" dy="0.35em" font-size="{size:.2f}">{text(words)}</text>'


def _dimensions(area: Polygon, panel: Polygon, outline: Polygon, size: float, *, across: bool) -> Iterator[str]:
    """Yield how far a place lies from the nearest edge of the board alongside it, and from that edge's nearer end.

    across: whether the first of the two is wanted; a fin begins at the edge itself.
    """
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(area))[:4]
    run = corners[1] - corners[0], corners[2] - corners[1]
    along = max(run, key=lambda side: float(np.hypot(*side)))
    along = along / np.hypot(*along)
    ring = np.asarray(panel.exterior.coords)
    best: tuple[float, np.ndarray, np.ndarray] | None = None
    for start, end in itertools.pairwise(ring):
        side = end - start
        far = float(np.hypot(*side))
        free = outline.exterior.distance(shapely.Point((start + end) / 2)) < size
        if far < size or not free or abs(side[0] * along[1] - side[1] * along[0]) / far > _PARALLEL:
            continue
        away = LineString([start, end]).distance(area)
        if best is None or away < best[0]:
            best = (away, start, end)
    if best is None:
        return
    away, start, end = best
    side = (end - start) / np.hypot(*(end - start))
    shares = (corners - start) @ side
    if shares.min() > np.hypot(*(end - start)) - shares.max():
        start, side, shares = end, -side, (corners - end) @ -side
    middle = start + side * (shares.min() + shares.max()) / 2
    inward = np.asarray(area.centroid.coords[0]) - middle
    inward = inward / max(float(np.hypot(*inward)), _DRAWN)
    if across and away > _DRAWN:
        yield from _measure(middle, middle + inward * away, length(away), size, beside=side)
    yield from _measure(start, start + side * float(shares.min()), length(float(shares.min())), size, inward)


def _measure(
    start: np.ndarray,
    end: np.ndarray,
    words: str,
    size: float,
    aside: np.ndarray | None = None,
    *,
    beside: np.ndarray | None = None,
) -> Iterator[str]:
    """Yield a line with its length: the line moved ``aside``, or its words set ``beside`` it, unit directions."""
    off = np.zeros(2) if aside is None else aside * size * 0.9
    start, end = start + off, end + off
    if np.hypot(*(end - start)) < _DRAWN:
        return
    x, y = (start + end) / 2 + off * 0.8 + (np.zeros(2) if beside is None else beside * size * 1.4)
    yield f'<path class="hand" style="stroke-width:0.9px" d="{_path(np.array([start, end]))}"/>'
    yield f'<text x="{x:.2f}" y="{-y:.2f}" dy="0.35em" font-size="{size:.2f}">{words}</text>'


def _path(points: np.ndarray, *, closed: bool = False) -> str:
    # The page has y down.
    return "M" + "L".join(f"{x:.2f} {-y:.2f}" for x, y in np.asarray(points)[:, :2]) + ("Z" if closed else "")
