"""How strips lean: each rests with its lower edge on the strip below and with its upper edge on the slope."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from ..pose import Pose
from ..tolerance import AREA

__all__ = ["STEEPEST", "Leaning", "lean_on", "leaned"]

#: A strip that would lean more is left out or laid flat, radians (35 degrees): too little of it touches the slope to
#: be glued (common practice, no source).
STEEPEST = math.radians(35.0)


@dataclass(frozen=True, slots=True, eq=False)
class Leaning:
    """How a strip lies on its slope. piece: in the coordinates of its run; angle: to the slope, radians.

    top: where its upper edge touches the slope, up the slope from the origin of the run, mm. edge, height: where the
    outer corner of that edge is, up the slope and over its face, mm. rise: how far the strip stands out, mm.
    """

    piece: Polygon
    angle: float
    top: float
    edge: float
    height: float
    rise: float

    def bears(self, other: Polygon) -> bool:
        """Whether a strip of the next course lies over this one."""
        return bool(self.piece.intersection(other).area > AREA)


def lean_on(piece: Polygon, below: Sequence[Leaning], scale: float, thickness: float) -> Leaning:
    """Return how a strip leans on those of the course below; flat where it lies on none.

    It touches the slope with its upper edge and the one below at the outer corner of that one's upper edge, so that
    its angle is atan(height / way up the slope between both). It never lies flatter than what bears it.
    """
    top, long = piece.bounds[3] * scale, (piece.bounds[3] - piece.bounds[1]) * scale
    under = [lower for lower in below if lower.bears(piece)]
    angle = max((max(math.atan2(lower.height, top - lower.edge), lower.angle) for lower in under), default=0.0)
    sin, cos = math.sin(angle), math.cos(angle)
    return Leaning(piece, angle, top, top + thickness * sin, thickness * cos, long * sin + thickness * cos)


def leaned(leaning: Leaning, origin: np.ndarray, along: np.ndarray, up: np.ndarray, level: float) -> Pose:
    """Return the pose that lifts a strip from the plane of its part to the slope's face and turns it about its top.

    origin: of the run in the part frame, (2,) mm; along, up: (2,) unit; level: of the slope's face in that frame, mm.
    """
    axes = np.eye(3)
    axes[:2, 0], axes[:2, 1] = along, up
    sin, cos = math.sin(leaning.angle), math.cos(leaning.angle)
    turned = np.column_stack([axes[:, 0], cos * axes[:, 1] - sin * axes[:, 2], sin * axes[:, 1] + cos * axes[:, 2]])
    turn = turned @ axes.T
    pivot = np.array([*(origin + leaning.top * up), 0.0])
    return Pose.of(turn[:, 0], turn[:, 1], turn[:, 2], pivot - turn @ pivot + np.array([0.0, 0.0, level]))
