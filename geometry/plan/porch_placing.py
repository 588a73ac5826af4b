"""Placing porches: whether one stands clear before its wall, below the eaves of the house."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry import MultiPoint, Polygon

from ..errors import BadSettingError
from ..solid.facets import Facets, ShellKind
from ..solid.porches import PORCH_SHARE
from ..tolerance import SNAP
from .placing import WallSpot
from .porch import PorchRoof, PorchSize, check_porch, peak_of_porch
from .wings import HEADROOM

__all__ = ["check_at_wall"]


def check_at_wall(size: PorchSize, spot: WallSpot, facets: Facets) -> None:
    """Raise BadSettingError, in one sentence, for a porch that does not stand against its wall.

    spot: where its middle stands; facets: of the building without it.
    """
    check_porch(size)
    low, high = spot.reach
    if size.width > high - low + SNAP:
        raise BadSettingError(
            f"The porch is {size.width:g} mm wide and its wall {high - low:.4g} mm; "
            f"make it {size.width - (high - low):.1f} mm narrower"
        )
    beyond = max(low + size.width / 2.0, size.width / 2.0 - high)
    if beyond > SNAP:
        raise BadSettingError(f"The porch reaches {beyond:.1f} mm beyond the end of its wall; move it along the wall")
    plan = _plan(size, spot, -size.width / 2.0, size.width / 2.0)
    largest = PORCH_SHARE * _house(facets, spot)
    if plan.area > largest:
        raise BadSettingError(
            f"The porch covers more than {100 * PORCH_SHARE:.0f} per cent of its house; "
            f"make it {(1.0 - largest / plan.area) * size.reach:.0f} mm less deep, or add a wing"
        )
    room = _headroom(size, spot, facets)
    if room < HEADROOM - SNAP:
        raise BadSettingError(
            f"The porch's roof would come {HEADROOM - room:.1f} mm too near to the top of its wall; "
            "make the porch lower or its roof flatter"
        )


def _outward(spot: WallSpot) -> np.ndarray:
    return np.array([spot.along[1], -spot.along[0]])


def _plan(size: PorchSize, spot: WallSpot, left: float, right: float) -> Polygon:
    """Return what lies between two places along the wall, mm from the spot, as far as the porch reaches."""
    foot, along, out = spot.foot[:2], spot.along[:2], _outward(spot)
    ends = [foot + along * at for at in (left, right)]
    return Polygon([*ends, *(end + out * size.reach for end in reversed(ends))])


def _house(facets: Facets, spot: WallSpot) -> float:
    """Return how much of the plan the house covers in whose wall a spot lies, mm^2."""
    walls = [facet for facet in facets.facets if facets.is_wall(facet)]
    wall = min(walls, key=lambda facet: abs(float((spot.foot - facet.frame.origin) @ facet.frame.n)))
    return float(MultiPoint(facets.outline_points(facets.shell_of(wall))[:, :2]).convex_hull.area)


def _slopes(size: PorchSize, spot: WallSpot) -> list[tuple[Polygon, np.ndarray]]:
    """Return what the slopes of a porch's roof cover, each with (a, b, c) of its height a x + b y + c, mm."""
    rise, half, base = math.tan(size.pitch), size.width / 2.0, float(spot.foot[2]) + size.height
    foot, along, out = spot.foot[:2], spot.along[:2], _outward(spot)
    if size.roof is PorchRoof.LEAN_TO:
        plane = np.array([*(-rise * out), base + rise * (size.reach + float(out @ foot))])
        return [(_plan(size, spot, -half, half), plane)]
    sides = ((-half, 0.0, along), (0.0, half, -along))
    return [
        (_plan(size, spot, left, right), np.array([*(rise * way), base + rise * (half - float(way @ foot))]))
        for left, right, way in sides
    ]


def _headroom(size: PorchSize, spot: WallSpot, facets: Facets) -> float:
    """Return how far the roof of the house lies above that of a porch, or without one the wall top above its peak."""
    roofs = [facet for shell in facets.shells if shell.kind is ShellKind.ROOF for facet in shell.facets]
    rooms = []
    for facet in (facets.facets[k] for k in roofs):
        n, origin = facet.frame.n, facet.frame.origin
        above = np.array([-n[0], -n[1], n @ origin]) / n[2]
        plan = shapely.make_valid(Polygon(facets.corners(facet)[:, :2]))
        for cover, below in _slopes(size, spot):
            for x, y in shapely.get_coordinates(plan.intersection(cover)).tolist():
                rooms.append(float((above - below) @ [x, y, 1.0]))
    if rooms:
        return min(rooms)
    walls = [
        facet
        for facet in facets.facets
        if facets.is_wall(facet) and abs(float((spot.foot - facet.frame.origin) @ facet.frame.n)) < SNAP
    ]
    top = max((float(facets.corners(facet)[:, 2].max()) for facet in walls), default=math.inf)
    return top - float(spot.foot[2]) - peak_of_porch(size)
