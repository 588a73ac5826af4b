"""The ghost of pieces that are not cut yet: flat on the table beside the building, and where they will stand.

A window draws it as it is; nothing here knows of any window.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..part import Part
from ..pose import Pose
from .preview import figure_of

__all__ = ["Ghost", "GhostPiece", "ghost_of"]

#: Between two pieces, mm.
_GAP = 30.0


@dataclass(frozen=True, slots=True, eq=False)
class GhostPiece:
    """One piece, mm. id: of the part; box: (2, 2) its lower left and upper right corner on the table.

    triangles: (k, 3, 2), together its board; edges: (m, 2, 2) pieces of its outline; slits: (n, 2, 2) their middle
    lines; zones: (j, 3, 2) triangles of its lattices; all on the table. standing: (i, 3, 3) triangles of its panels in
    the model.
    """

    id: str
    box: np.ndarray
    triangles: np.ndarray
    edges: np.ndarray
    slits: np.ndarray
    zones: np.ndarray
    standing: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Ghost:
    """Pieces beside one another, and how wide and high they are together, mm, from (0, 0) up and to the right."""

    pieces: tuple[GhostPiece, ...]
    size: tuple[float, float]


def ghost_of(parts: Sequence[Part]) -> Ghost:
    """Return the ghost of parts, laid out as they come in rows no wider than the widest.

    >>> from stowfold.geometry.solid.find import find_facets
    >>> from stowfold.geometry.unfold.section import unfold
    >>> parts = unfold(find_facets(solid), settings).parts
    >>> ghost_of(parts).size == parts[0].size
    True
    """
    widest = max((part.size[0] for part in parts), default=0.0)
    pieces = []
    x = y = high = 0.0
    for part in parts:
        width, height = part.size
        if x + width > widest:
            x, y, high = 0.0, y + high + _GAP, 0.0
        pieces.append(_piece(part, np.array([x, y])))
        high = max(high, height)
        x += width + _GAP
    return Ghost(tuple(pieces), (widest, y + high))


def _piece(part: Part, corner: np.ndarray) -> GhostPiece:
    shift = corner - part.outline.bounds[:2]
    figure = figure_of(part)
    zones = np.array([placed.zone[list(half)] for placed in part.lattices for half in ((0, 1, 2), (0, 2, 3))])
    standing = [_standing(panel.ring, panel.holes, panel.stands) for panel in part.panels]
    return GhostPiece(
        part.id,
        np.array([corner, corner + part.size]),
        figure.triangles + shift,
        figure.edges + shift,
        figure.slits.reshape(-1, 2, 2) + shift,
        zones.reshape(-1, 3, 2) + shift,
        np.concatenate(standing) if standing else np.empty((0, 3, 3)),
    )


def _standing(ring: np.ndarray, holes: Sequence[np.ndarray], stands: Pose) -> np.ndarray:
    """Return the triangles of a panel where it stands in the model, (k, 3, 3) mm."""
    flat = shapely.constrained_delaunay_triangles(shapely.make_valid(Polygon(ring, holes)))
    corners = shapely.get_coordinates(shapely.get_parts(flat)).reshape(-1, 4, 2)[:, :3]
    return stands.apply(corners)
