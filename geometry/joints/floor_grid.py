"""The squares engraved on a floor: lines of the grid within the room, off everything that the laser cuts."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import LineString, MultiLineString, MultiPolygon, Polygon
from shapely.ops import unary_union

from ..part import frozen
from ..solid.facets import Facets
from ..tolerance import SNAP
from .floor_outline import CREVICE

__all__ = ["grid_lines", "grid_origin", "lines_on", "off_slots"]

#: Shorter grid lines are not engraved, mm (common practice, no source).
_SHORT_LINE = 1.0


def grid_origin(facets: Facets, ids: tuple[int, ...]) -> np.ndarray:
    """Return the plan corner from which squares count: the least x and y of the modelled walls."""
    points = [facets.corners(facets.facets[f])[:, :2] for f in ids if facets.facets[f].upright]
    low: np.ndarray = np.vstack(points).min(axis=0)
    return low


def grid_lines(room: Polygon | MultiPolygon, origin: np.ndarray, square: float) -> tuple[np.ndarray, ...]:
    """Return the lines of the scale grid, clipped to the room, (2, 2) mm each."""
    if room.is_empty:
        return ()
    x0, y0, x1, y1 = room.bounds
    lines = []
    for axis, (low, high) in enumerate(((x0, x1), (y0, y1))):
        for k in range(math.floor((low - origin[axis]) / square) + 1, math.ceil((high - origin[axis]) / square)):
            at = float(origin[axis] + k * square)
            lines.append(LineString([(at, y0), (at, y1)] if axis == 0 else [(x0, at), (x1, at)]))
    cut = shapely.intersection(np.array(lines, dtype=object), room) if lines else []
    inner = room.buffer(-SNAP)
    return tuple(
        frozen(np.array(clear.coords)) for line in cut for run in _long_runs(line) for clear in _off_edges(run, inner)
    )


def lines_on(piece: Polygon, grid: Sequence[np.ndarray], slots: Sequence[Polygon]) -> list[np.ndarray]:
    """Return what is engraved of the grid on a piece of the floor, (2, 2) mm each, off its edges and the slots."""
    inner = piece.buffer(-SNAP)
    return [
        np.array(clear.coords)
        for line in grid
        for run in _long_runs(off_slots(LineString(line), slots).intersection(piece))
        for clear in _off_edges(run, inner)
    ]


def _long_runs(line: shapely.Geometry) -> list[LineString]:
    """Return the stretches of a clipped line that are worth engraving."""
    pieces = line.geoms if isinstance(line, MultiLineString) else [line]
    return [piece for piece in pieces if isinstance(piece, LineString) and piece.length > _SHORT_LINE]


def _off_edges(piece: LineString, inner: Polygon | MultiPolygon) -> list[LineString]:
    """Return a grid line without what runs along an edge, where the laser cuts: of slots at walls, or of the floor.

    inner: the room, or a piece of the floor, without a hairline along its edge. A line that only ends there stays.
    """
    free = shapely.intersection(piece, inner)
    return [piece] if piece.length - free.length < _SHORT_LINE else _long_runs(free)


def off_slots(line: LineString, slots: Sequence[Polygon]) -> shapely.Geometry:
    """Return a grid line without what lies in slots, or would run along the end of one, beside the laser's cut."""
    x0, y0, x1, y1 = line.bounds
    axis, at = (0, x0) if x1 - x0 < y1 - y0 else (1, y0)
    near = [slot for slot in slots if min(abs(slot.bounds[side] - at) for side in (axis, axis + 2)) < CREVICE]
    return line.difference(unary_union([*(slot.buffer(CREVICE, join_style="mitre") for slot in near), *slots]))
