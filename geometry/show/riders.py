"""Riders: stops, laps and carriers, which are glued to a board and go with it wherever it is bent or laid."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Point, Polygon

from ..joints.tie import is_ring
from ..part import PartKind
from ..pose import Pose
from .bending import undone
from .boards import Boards

__all__ = ["Rider", "riders_of"]

_GLUED = (PartKind.STOP, PartKind.LAP, PartKind.CARRIER, PartKind.CAP)
_BEARING = (PartKind.ROOF, PartKind.PANEL, PartKind.WALL)


@dataclass(frozen=True, slots=True, eq=False)
class Rider:
    """A part that is glued to a panel of its host: its pose in the part frame of that panel."""

    part: str
    host: str
    panel: int
    pose: Pose


def riders_of(boards: Mapping[str, Boards]) -> dict[str, Rider]:
    """Return every part that is glued to another for good, and to which panel: the one that it lies nearest to."""
    found = {}
    for name, each in boards.items():
        if each.part.kind not in _GLUED or is_ring(each.part) or not each.part.panels:
            continue
        middle = each.stands.apply(each.points()).mean(axis=0)
        near = [
            (_distance(host, k, middle), host_name, k)
            for host_name, host in boards.items()
            if host.part.kind in _BEARING
            for k in range(len(host.part.panels))
        ]
        if near:
            _, host_name, panel = min(near)
            back = undone(boards[host_name].part.panels[panel].stands)
            found[name] = Rider(name, host_name, panel, back @ each.stands)
    return found


def _distance(host: Boards, panel: int, point: np.ndarray) -> float:
    """Return how far a point is from the board of a standing panel, mm."""
    own = host.part.panels[panel]
    x, y, z = own.stands.back(point).tolist()
    low, high = sorted((0.0, host.part.board_side * host.part.thickness))
    beside = float(shapely.distance(Polygon(own.ring), Point(x, y)))
    return round(float(np.hypot(beside, max(low - z, z - high, 0.0))), 6)
