"""Flipping: the same part seen from its other face, for boards whose other face lies up on the laser."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from shapely.geometry import Polygon

from ..part import Part, frozen
from ..pose import Pose

__all__ = ["flipped"]


def flipped(part: Part) -> Part:
    """Return a part seen from its other face: x reversed, the board on the other side of z = 0."""
    mirror = np.diag([-1.0, 1.0])
    width = part.outline.bounds[2] + part.outline.bounds[0]
    offset = np.array([width, 0.0])
    turned = Pose.of((-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, -1.0), (width, 0.0, 0.0))

    def over(points: np.ndarray) -> np.ndarray:
        return np.asarray(points) @ mirror + offset

    def ring(points: np.ndarray) -> np.ndarray:
        return frozen(over(points)[::-1])

    spot = part.label_spot
    if spot is not None:
        x, y = over(np.array([spot.centre]))[0]
        spot = replace(spot, centre=(float(x), float(y)), direction=float(np.pi - spot.direction))
    return replace(
        part,
        board_side=-part.board_side,
        outline=Polygon(
            over(np.array(part.outline.exterior.coords))[::-1],
            [over(np.array(hole.coords))[::-1] for hole in part.outline.interiors],
        ),
        panels=tuple(
            replace(
                panel,
                ring=ring(panel.ring),
                holes=tuple(ring(hole) for hole in panel.holes),
                corners=frozen(over(panel.corners)),
                stands=panel.stands @ turned,
            )
            for panel in part.panels
        ),
        lattices=tuple(
            replace(
                lattice,
                origin=frozen(over(lattice.origin[None])[0]),
                across=frozen(lattice.across @ mirror),
                along=frozen(lattice.along @ mirror),
            )
            for lattice in part.lattices
        ),
        engrave=tuple(frozen(over(line)) for line in part.engrave),
        score=tuple(frozen(over(line)) for line in part.score),
        label_spot=spot,
    )
