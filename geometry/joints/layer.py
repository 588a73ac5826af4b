"""Layers: flat boards parallel to a facet, such as the core and cheeks of a joiner or a stop under a roof."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from shapely.geometry import Polygon

from ..part import Panel, frozen
from ..pose import Pose
from ..solid.facets import Facet

__all__ = ["board_layer"]


def board_layer(
    facet: Facet,
    ring: np.ndarray,
    outline: np.ndarray,
    *,
    height: float,
    eye: int,
    holes: Sequence[np.ndarray] = (),
) -> tuple[Polygon, Panel]:
    """Return outline and panel of a board parallel to a facet, in a part frame of its own.

    ring, outline: (k, 2) mm in the facet's plane, without and with tabs; holes: likewise, counter-clockwise as
    these are. height: of the board's far face along the facet's n, mm; eye: +1 when it is seen from the side
    of n, -1 from the other side. The board fills z = 0 .. thickness of its frame.
    """
    frame = facet.frame
    flip = np.array([float(eye), 1.0])
    order = slice(None, None, eye)
    low = np.min(outline * flip, axis=0)
    inner = [(hole * flip)[order][::-1] - low for hole in holes]
    stands = Pose.of(frame.u * eye, frame.v, frame.n * eye, frame.origin + frame.n * height)
    panel = Panel(
        facet=facet.id,
        faces=facet.faces,
        ring=frozen((ring * flip)[order] - low),
        holes=tuple(frozen(hole) for hole in inner),
        corners=frozen(np.zeros((0, 2))),
        corner_points=frozen(np.zeros((0, 3))),
        stands=stands.moved_to(low),
    )
    return Polygon((outline * flip)[order] - low, inner), panel
