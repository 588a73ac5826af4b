"""The preview: all sheets of a layout spread out on the ground at true size, as plain areas and lines.

A window draws them as they are and finds the part under a pointer; nothing here knows of any window.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Point, Polygon

from ..part import Part, PartKind
from ..polygons import polygons_in
from ..tolerance import LENGTH
from .layout import Layout
from .piece import Placement

__all__ = ["Drawn", "Figure", "Spread", "draw_figures", "figure_of", "part_at", "spread_out"]

#: Between two sheets, and below them for what is written there, mm.
_GAP, _LINES = 40.0, 90.0

#: How near the middle of the widest free place in a part is looked for, mm.
_NEAR = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Figure:
    """How a part looks, in its own frame, mm.

    triangles: (k, 3, 2), together its outline without its holes. edges: (m, 2, 2) pieces of outline and holes;
    slits: (n, 2, 2) centre lines; marks: (j, 2, 2) pieces of what is engraved or scored.
    spot: (2,) the middle of a largest circle on board without lattices; room: its radius.
    """

    triangles: np.ndarray
    edges: np.ndarray
    slits: np.ndarray
    marks: np.ndarray
    spot: np.ndarray
    room: float


@dataclass(frozen=True, slots=True, eq=False)
class Spread:
    """Where the sheets lie on the ground. corners: (n, 2) their lower left ones; sizes: (n, 2), mm."""

    corners: np.ndarray
    sizes: np.ndarray

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Least and greatest x and y of all sheets, with the room for what is written below them, mm."""
        low, high = self.corners.min(axis=0), (self.corners + self.sizes).max(axis=0)
        return float(low[0]), float(low[1]) - _LINES, float(high[0]), float(high[1])

    def sheet_at(self, point: Sequence[float] | np.ndarray, slack: float = 0.0) -> int | None:
        """Return the sheet on which a point of the ground lies, or which it misses by no more than ``slack``."""
        if not len(self.corners):
            return None
        beside = np.maximum(self.corners - point, np.asarray(point) - self.corners - self.sizes).max(axis=1)
        nearest = int(np.argmin(beside))
        return nearest if beside[nearest] <= slack else None

    def edges(self, inset: float | Sequence[float] = 0.0) -> np.ndarray:
        """Return the edges of all sheets, (4 n, 2, 2) mm, drawn in by ``inset``, one for all or one per sheet."""
        corners = self.boxes(inset)
        return np.stack([corners, np.roll(corners, -1, axis=1)], axis=2).reshape(-1, 2, 2)

    def boxes(self, inset: float | Sequence[float] = 0.0) -> np.ndarray:
        """Return the corners of all sheets, counter-clockwise, (n, 4, 2) mm, drawn in by ``inset``."""
        by = np.broadcast_to(np.asarray(inset, dtype=float), len(self.corners))[:, None]
        low, high = self.corners + by, self.corners + self.sizes - by
        x, y = (np.stack([low[:, k], high[:, k]], axis=1) for k in (0, 1))
        return np.stack([x[:, [0, 1, 1, 0]], y[:, [0, 0, 1, 1]]], axis=2)


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """Several parts where they lie on the ground, ready to be drawn at once, mm.

    fills: (k, 3, 2) triangles per kind of part; edges, slits, marks: (n, 2, 2) pieces of lines.
    """

    fills: Mapping[PartKind, np.ndarray]
    edges: np.ndarray
    slits: np.ndarray
    marks: np.ndarray


def figure_of(part: Part) -> Figure:
    """Return how a part looks; what costs time is done here, once for each part."""
    outline = shapely.make_valid(part.outline)
    cut = shapely.get_parts(shapely.constrained_delaunay_triangles(outline))
    triangles = shapely.get_coordinates(cut).reshape(-1, 4, 2)[:, :3]
    rings = [ring for polygon in polygons_in(outline) for ring in (polygon.exterior, *polygon.interiors)]
    edges = [_pieces(shapely.get_coordinates(ring)) for ring in rings]
    slits = [placed.slit_lines for placed in part.lattices]
    marks = [_pieces(np.asarray(line)) for line in (*part.engrave, *part.score)]
    marks += [dressing.segments for dressing in part.dressings]
    spot, room = _free_place(part, outline)
    return Figure(triangles, _joined(edges), _joined(slits), _joined(marks), spot, room)


def spread_out(layout: Layout, corner: Sequence[float], *, abreast: int = 3) -> Spread:
    """Lay the sheets out in rows of so many: the first with its lower left corner at ``corner``, later rows below."""
    sizes = np.array([sheet.size for sheet in layout.sheets], dtype=float).reshape(-1, 2)
    corners = np.empty_like(sizes)
    y = float(corner[1])
    for first in range(0, len(sizes), abreast):
        row = sizes[first : first + abreast]
        if first:
            y -= float(row[:, 1].max()) + _LINES
        corners[first : first + abreast, 0] = corner[0] + np.cumsum([0.0, *(row[:-1, 0] + _GAP)])
        corners[first : first + abreast, 1] = y
    return Spread(corners, sizes)


def draw_figures(
    placements: Iterable[Placement], parts: Mapping[str, Part], figures: Mapping[str, Figure], spread: Spread
) -> Drawn:
    """Return parts where they lie on the ground; what is placed but not among the parts is left out."""
    fills: dict[PartKind, list[np.ndarray]] = {}
    edges, slits, marks = [], [], []
    for placement in placements:
        figure = figures.get(placement.part)
        if figure is None:
            continue
        corner = spread.corners[placement.sheet]

        def put(points: np.ndarray, place: Placement = placement, corner: np.ndarray = corner) -> np.ndarray:
            return place.place(points.reshape(-1, 2)).reshape(points.shape) + corner

        fills.setdefault(parts[placement.part].kind, []).append(put(figure.triangles))
        edges.append(put(figure.edges))
        slits.append(put(figure.slits))
        marks.append(put(figure.marks))
    areas = {kind: np.concatenate(several) for kind, several in sorted(fills.items())}
    return Drawn(areas, _joined(edges), _joined(slits), _joined(marks))


def part_at(
    placements: Iterable[Placement], parts: Mapping[str, Part], spread: Spread, point: Sequence[float] | np.ndarray
) -> str | None:
    """Return the part under a point of the ground, mm: its holes belong to what lies in them, then to itself.

    A small part is hard to hit, and one that was put onto another lies on top,
    so where several parts are hit, the smallest one is meant.
    """
    sheet = spread.sheet_at(point)
    if sheet is None:
        return None
    inside: list[tuple[bool, float, str]] = []
    for placement in placements:
        part = parts.get(placement.part)
        if placement.sheet != sheet or part is None:
            continue
        c, s = np.cos(placement.turn), np.sin(placement.turn)
        there = np.array([[c, s], [-s, c]]) @ (np.asarray(point) - spread.corners[sheet] - placement.shift)
        whole = Polygon(part.outline.exterior)
        if shapely.intersects_xy(whole, *there):
            inside.append((not part.outline.intersects(Point(there)), part.area, placement.part))
    return min(inside)[2] if inside else None


def _pieces(points: np.ndarray) -> np.ndarray:
    return np.stack([points[:-1], points[1:]], axis=1)


def _joined(several: Sequence[np.ndarray]) -> np.ndarray:
    return np.concatenate([np.empty((0, 2, 2)), *several])


def _free_place(part: Part, outline: shapely.Geometry) -> tuple[np.ndarray, float]:
    """Return the middle and the radius of the largest circle on the part beside its lattices."""
    free = shapely.difference(outline, shapely.union_all([Polygon(placed.zone) for placed in part.lattices]))
    pieces = polygons_in(free, above=LENGTH) or polygons_in(outline)
    if not pieces:
        return np.zeros(2), 0.0
    radii = [shapely.maximum_inscribed_circle(piece, tolerance=_NEAR) for piece in pieces]
    widest = max(radii, key=lambda radius: (round(radius.length, 3), radius.bounds))
    radius = float(widest.length)
    # along a strip there are many such circles; the one in its middle is looked for first
    middle = pieces[radii.index(widest)].centroid
    if shapely.distance(middle, pieces[radii.index(widest)].boundary) > radius - _NEAR:
        return shapely.get_coordinates(middle)[0], radius
    return shapely.get_coordinates(widest)[0], radius
