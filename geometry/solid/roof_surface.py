"""Roof surfaces: the slopes of one roof as planes over the plan, asked by what stands on them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

from .merge import Regions
from .mesh import Mesh

__all__ = ["RoofSurface", "roof_surface"]


@dataclass(frozen=True, slots=True, eq=False)
class RoofSurface:
    """The upper side of the modelled surface of a roof.

    regions: the flat regions that it consists of. normals: (r, 3) unit, upward; centres: (r, 3) mm, a point of
    every plane. plans: (r,) what every slope covers of the plan.
    """

    regions: tuple[int, ...]
    normals: np.ndarray
    centres: np.ndarray
    plans: np.ndarray

    @property
    def plan(self) -> Polygon | MultiPolygon:
        """All that the roof covers of the plan."""
        return shapely.union_all(self.plans)

    def nearest(self, points: np.ndarray) -> np.ndarray:
        """Return the slope over or under every point, (k, 3) mm; beyond the roof's edge the nearest one, (k,) int."""
        spots = shapely.points(points[:, :2])
        nearest: np.ndarray = shapely.distance(self.plans[None, :], spots[:, None]).argmin(axis=1)
        return nearest

    def over(self, points: np.ndarray) -> np.ndarray:
        """Return how far points, (k, 3) mm, lie above the roof's planes, square to them, (k,); negative below."""
        slope = self.nearest(points)
        off: np.ndarray = np.einsum("ij,ij->i", points - self.centres[slope], self.normals[slope])
        return off


def roof_surface(mesh: Mesh, regions: Regions, own: Sequence[int]) -> RoofSurface:
    """Return the surface of those regions of a mesh, all of them sloped or level."""
    upward = np.where(regions.normal[list(own), 2] < 0.0, -1.0, 1.0)
    return RoofSurface(
        tuple(own),
        regions.normal[list(own)] * upward[:, None],
        regions.centre[list(own)],
        np.array([_plan(mesh, np.flatnonzero(regions.of_face == region)) for region in own], dtype=object),
    )


def _plan(mesh: Mesh, faces: np.ndarray) -> Polygon | MultiPolygon:
    """Return what faces of a mesh cover of the plan."""
    rings = [mesh.points[mesh.start[mesh.face == face], :2] for face in faces.tolist()]
    return shapely.union_all([Polygon(ring).buffer(0) for ring in rings])
