"""Measuring again: walls that stand a little longer or shorter than drawn, and the floor that fits them.

Boards differ by tenths and lattices give, so a maker puts the walls up, measures them over all and
has the floor cut to what stands there. ``Stretch`` carries the plan as drawn to the plan as measured.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..errors import BadSettingError
from ..part import Tab, frozen
from ..solid.facets import Facets

__all__ = ["Stretch", "outer_size", "plan_turn"]

#: A measured size farther than this from the drawn one is a slip of the calliper or of the hand, as a share.
_FARTHEST = 0.05


def plan_turn(facets: Facets) -> float:
    """Return how far the longer way of the plan is turned against x, radians, from above -pi/2 to pi/2."""
    walls = [facet for facet in facets.facets if facets.is_wall(facet)]
    if not walls:
        return 0.0
    longest = max(walls, key=lambda wall: (round(float(np.ptp(facets.ring(wall)[:, 0])), 6), -wall.id))
    turn = math.atan2(float(longest.frame.u[1]), float(longest.frame.u[0]))
    feet = np.concatenate([facets.corners(wall)[:, :2] for wall in walls])
    along, across = (float(np.ptp(feet @ [math.cos(way), math.sin(way)])) for way in (turn, turn + math.pi / 2))
    # a parted wall is long in pieces only; and a line has no direction, so half a circle is no turn
    return math.remainder(turn if along >= across else turn + math.pi / 2, math.pi)


def outer_size(outline: Polygon, turn: float) -> tuple[float, float]:
    """Return (length, width), mm, of a plan over all, length along the direction ``turn``."""
    x0, y0, x1, y1 = shapely.affinity.rotate(outline, -turn, origin=(0, 0), use_radians=True).bounds
    return x1 - x0, y1 - y0


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """A plan drawn out evenly about its middle: centre (2,) mm, turn of its length, factors along and across."""

    centre: np.ndarray
    turn: float
    factors: tuple[float, float]

    @classmethod
    def to(cls, outline: Polygon, turn: float, standing: tuple[float, float]) -> Stretch:
        """Return what carries a plan to the (length, width) measured over all, mm.

        Raises BadSettingError for sizes more than a twentieth off, which no board's tolerance explains.
        """
        drawn = outer_size(outline, turn)
        for what, size, measured in zip(("length", "width"), drawn, standing, strict=True):
            if not abs(measured - size) <= _FARTHEST * size:
                raise BadSettingError(
                    f"The measured {what} is {measured:g} mm, but the walls are drawn {size:.1f} mm long over all "
                    f"there, {abs(measured - size):.1f} mm off; measure over the outer faces, beside the joiners"
                )
        x0, y0, x1, y1 = shapely.affinity.rotate(outline, -turn, origin=(0, 0), use_radians=True).bounds
        middle = shapely.affinity.rotate(
            shapely.Point((x0 + x1) / 2, (y0 + y1) / 2), turn, origin=(0, 0), use_radians=True
        )
        factors = (standing[0] / drawn[0], standing[1] / drawn[1])
        return cls(frozen(np.array([middle.x, middle.y])), turn, factors)

    def points(self, points: np.ndarray) -> np.ndarray:
        """Return plan points, (k, 2) mm, where they come to lie."""
        c, s = math.cos(self.turn), math.sin(self.turn)
        turned = np.array([[c, -s], [s, c]])
        return (np.asarray(points) - self.centre) @ turned * np.array(self.factors) @ turned.T + self.centre

    def shape(self, shape: shapely.Geometry) -> shapely.Geometry:
        """Return a plan shape as it comes to lie."""
        return shapely.transform(shape, self.points)

    def tab(self, tab: Tab) -> Tab:
        """Return a tab with its slot moved to where its wall comes to stand; neither changes its size."""
        middle = tab.slot[:, :2].mean(axis=0)
        shift = np.append(self.points(middle[None])[0] - middle, 0.0)
        return replace(tab, tab=frozen(tab.tab + shift), slot=frozen(tab.slot + shift))
