"""Plates: the rigid boards of a part, which is its outline without the zones that bend, panel by panel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from ..part import Part
from ..polygons import polygons_in
from ..tolerance import SNAP
from .mesh import FaceKind, Piece, piece_of

__all__ = ["Plate", "flat_triangles", "plate_piece", "plates_of"]

#: What is smaller than this after the zones were cut out is a remainder of rounding, mm^2.
_CRUMB = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class Plate:
    """A rigid board of a part. panel: index in the part that it stands with; shape: in the part frame, mm."""

    panel: int
    shape: Polygon


def plates_of(part: Part) -> tuple[Plate, ...]:
    """Return the rigid boards of a part, tabs among them and openings cut, in the order of their panels."""
    shape = part.outline if part.outline.is_valid else shapely.make_valid(part.outline)
    if part.lattices:
        shape = shape.difference(_cut_zones(part))
    boards = polygons_in(shape, above=_CRUMB)
    panels = [Polygon(panel.ring, panel.holes) for panel in part.panels]
    found = []
    for board in boards:
        panel = _panel_of(board, panels)
        if panel is not None:
            found.append(Plate(panel, orient(board)))
    return tuple(sorted(found, key=lambda plate: plate.panel))


def plate_piece(plate: Plate, low: float, high: float) -> Piece:
    """Return a plate as a closed body from z = low to z = high of the part frame."""
    rings, cap = flat_triangles(plate)
    flat = np.concatenate(rings)
    count = len(flat)
    points = np.concatenate([np.column_stack([flat, np.full(count, z)]) for z in (low, high)])
    ahead = np.concatenate(
        [first + np.roll(np.arange(len(ring)), -1) for ring, first in zip(rings, _firsts(rings), strict=True)]
    )
    here = np.arange(count)
    rim = np.stack([here, ahead, ahead + count, here + count], axis=1)
    return piece_of(points, ((cap + count, FaceKind.UP), (cap[:, ::-1], FaceKind.DOWN), (rim, FaceKind.EDGE)))


def flat_triangles(plate: Plate) -> tuple[list[np.ndarray], np.ndarray]:
    """Return the rings of a plate, outline first, (k, 2) mm each, and its triangles as indices of all their points."""
    rings = [np.asarray(ring.coords)[:-1] for ring in (plate.shape.exterior, *plate.shape.interiors)]
    return rings, _triangles(plate.shape, np.concatenate(rings))


def _cut_zones(part: Part) -> shapely.Geometry:
    """Return what plates lose to the lattices of a part: their zones, and the outer halves of the slits beside them."""
    cut = []
    for placed in part.lattices:
        made, slits = placed.lattice, placed.slits
        wide, long, half = made.flat_width, made.axis_length, made.opening / 2
        zone = [(0.0, -SNAP), (0.0, long + SNAP), (wide, long + SNAP), (wide, -SNAP)]
        cut.append(placed.place(zone))
        outer = (slits.across < half) | (slits.across > wide - half)
        x, start, end = slits.across[outer], slits.start[outer], slits.end[outer]
        corners = [(x - half, start), (x + half, start), (x + half, end), (x - half, end)]
        cut += list(placed.place(np.stack([np.stack(corner, axis=1) for corner in corners], axis=1)))
    return shapely.union_all([Polygon(ring) for ring in cut])


def _panel_of(board: Polygon, panels: Sequence[Polygon]) -> int | None:
    """Return the index of the panel that covers most of a board, None for a remainder between lattices alone."""
    if len(panels) < 2:
        return 0
    inside = board.representative_point()
    covering = [k for k, panel in enumerate(panels) if panel.covers(inside)]
    if len(covering) == 1:
        return covering[0]
    sound = [panel if panel.is_valid else shapely.make_valid(panel) for panel in panels]
    shared = [board.intersection(panel).area for panel in sound]
    return int(np.argmax(shared)) if max(shared) > _CRUMB else None


def _triangles(shape: Polygon, flat: np.ndarray) -> np.ndarray:
    """Return the triangles of a shape as indices of its ring points, (t, 3), counter-clockwise."""
    cut = shapely.get_coordinates(shapely.constrained_delaunay_triangles(shape)).reshape(-1, 4, 2)[:, :3]
    # the triangulation adds no points, so the nearest ring point is the point itself
    _, inverse = np.unique(np.concatenate([flat, cut.reshape(-1, 2)]), axis=0, return_inverse=True)
    inverse = inverse.ravel()
    point_of = np.zeros(inverse.max() + 1, dtype=np.int64)
    point_of[inverse[: len(flat)]] = np.arange(len(flat))
    triangles = point_of[inverse[len(flat) :]].reshape(-1, 3)
    one, two = cut[:, 1] - cut[:, 0], cut[:, 2] - cut[:, 0]
    turned = one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0] < 0.0
    triangles[turned] = triangles[turned, ::-1]
    return triangles


def _firsts(rings: Sequence[np.ndarray]) -> np.ndarray:
    """Return the index of the first point of every ring."""
    return np.cumsum([0] + [len(ring) for ring in rings[:-1]])
