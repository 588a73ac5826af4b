"""The lattice: staggered rows of slits that let a flat board bend along a straight axis.

Rows run along the bend axis. The links between two rows twist; the bridges between two slits of
a row carry the twist on to the next row.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

__all__ = ["Lattice", "SlitLayout"]


@dataclass(frozen=True, slots=True)
class Lattice:
    """One lattice, engineered for its board. Lengths in mm, stresses in MPa, angles in radians.

    angle: bend angle it is made for, unsigned. axis_length: length of the bend axis (H).
    rows: slit rows (N, odd); links = rows - 1 (M). slits: full slits in a closed-ended row (n).
    slit, bridge, edge_bridge: true lengths along the axis (s, b, e).
    pitch: row to row (p); link_width: solid strip (w); opening: width of a slit (k); pitch = w + k.
    flat_width: first row to last row in the flat, links * pitch (B).
    neutral_radius B / angle; inside_radius = neutral_radius - thickness / 2.
    twist: per link; contact_twist: where slits close, None if they never do.
    shear, bridge_stress: at ``angle``; the limits beside them. moment: spring-back, N mm.
    """

    angle: float
    axis_length: float
    thickness: float
    rows: int
    links: int
    slits: int
    slit: float
    bridge: float
    edge_bridge: float
    pitch: float
    link_width: float
    opening: float
    flat_width: float
    neutral_radius: float
    inside_radius: float
    twist: float
    contact_twist: float | None
    shear: float
    shear_limit: float
    bridge_stress: float
    bridge_limit: float
    moment: float


@dataclass(frozen=True, slots=True, eq=False)
class SlitLayout:
    """Where the slits of a lattice lie, one entry per slit, row by row.

    across: (m,) centre line of the slit from the first row, mm, 0 .. flat_width.
    start, end: (m,) true ends along the axis, 0 .. axis_length.
    open_start, open_end: (m,) bool, whether the slit runs off the board at that end.
    """

    across: np.ndarray
    start: np.ndarray
    end: np.ndarray
    open_start: np.ndarray
    open_end: np.ndarray
