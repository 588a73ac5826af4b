"""Parts of one panel as solid bodies where they stand, made by another library alone."""

from __future__ import annotations

import manifold3d
import numpy as np
import trimesh
from shapely.geometry import Polygon
from stowfold.geometry.part import Part

__all__ = ["standing_solid"]


def standing_solid(part: Part) -> manifold3d.Manifold:
    """Return the board of a part as a body; its coordinates are in single precision."""
    (panel,) = part.panels
    solid = trimesh.creation.extrude_polygon(Polygon(panel.ring, panel.holes), part.thickness)
    if part.board_side < 0:
        solid.apply_translation([0.0, 0.0, -part.thickness])
    solid.apply_transform(np.vstack([panel.stands.matrix, [0.0, 0.0, 0.0, 1.0]]))
    return manifold3d.Manifold(manifold3d.Mesh(solid.vertices.astype(np.float32), solid.faces.astype(np.uint32)))
