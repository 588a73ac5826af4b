"""What stands on a slope or closes against it, as its footprint there: what is glued on the slope ends before it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..fold.collide import prisms
from ..fold.standing import standing_boards
from ..part import Part
from ..settings import BuildSettings
from ..tolerance import AREA, SNAP

__all__ = ["Slope", "footprints", "standing_over"]

#: The edges of a prism, as indices of its corners.
_EDGES = np.array([(0, 1), (1, 2), (2, 0), (3, 4), (4, 5), (5, 3), (0, 3), (1, 4), (2, 5)])


@dataclass(frozen=True, slots=True)
class Slope:
    """A panel of a roof: the index of its part, and of the panel in that part."""

    part: int
    panel: int


def standing_over(
    parts: Sequence[Part], slope: Slope, others: Sequence[Slope], high: float, settings: BuildSettings
) -> shapely.Geometry:
    """Return what of a slope is taken, in the frame of its part: where boards stand in the layer over its face.

    others: slopes with such a layer of their own, ``high`` mm; where two of them meet in a valley both keep off.
    """
    part = parts[slope.part]
    panel, own = part.panels[slope.panel], f"{part.id}/{slope.panel}"
    low = max(0.0, part.board_side * part.thickness)
    boards = [board.corners for board in standing_boards(parts, (), settings) if board.group != own]
    boards += [_layer(parts[other.part], other.panel, high) for other in others if other != slope]
    near = Polygon(panel.ring).buffer(high)
    found = footprints((panel.stands.back(corners) for corners in boards), low + SNAP, low + high)
    return shapely.union_all([area for area in found if area.intersects(near)])


def footprints(boards: Iterable[np.ndarray], low: float, high: float) -> Iterator[Polygon]:
    """Yield what prisms, (m, 6, 3) mm, cover of the plane z = 0 between two heights; one convex outline for each."""
    for corners in boards:
        z = corners[..., 2]
        for prism in corners[(z.min(axis=1) < high) & (z.max(axis=1) > low)]:
            ends = prism[_EDGES]
            points = [prism[(prism[:, 2] >= low) & (prism[:, 2] <= high)]]
            for level in (low, high):
                across = ends[(ends[:, 0, 2] - level) * (ends[:, 1, 2] - level) < 0.0]
                share = (level - across[:, 0, 2]) / (across[:, 1, 2] - across[:, 0, 2])
                points.append(across[:, 0] + share[:, None] * (across[:, 1] - across[:, 0]))
            hull = shapely.MultiPoint(np.concatenate(points)[:, :2]).convex_hull
            if isinstance(hull, Polygon) and hull.area > AREA:
                yield hull


def _layer(part: Part, panel: int, high: float) -> np.ndarray:
    """Return the layer over the face of a slope as prisms, (m, 6, 3) mm in the model."""
    low = max(0.0, part.board_side * part.thickness)
    shape = Polygon(part.panels[panel].ring, part.panels[panel].holes)
    return prisms(shape, part.panels[panel].stands, low, low + high)
