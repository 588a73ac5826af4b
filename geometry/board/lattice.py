"""The lattice: staggered rows of slits that let a flat board bend along a straight axis.

Rows run along the bend axis. The links between two rows twist; the bridges between two slits of
a row carry the twist on to the next row.

``lattice`` works out one with given sizes. ``lattice_design`` finds the sizes for a board and a bend, ``slits`` says
where to cut, ``lattice_checks`` what the maker should know.

The mechanics: links in series in angle, the segments of one link in parallel; each segment is a
rectangular bar in torsion (see ``torsion``) whose ends are held by bridges (see ``links``). Slits close
where neighbouring strips, turned against each other by twice the twist per link, touch at the inner face.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ..errors import BadSettingError
from ..tolerance import ANGLE
from .cells import contact_twists
from .links import held_ends
from .stock import Stock
from .torsion import peak_stress, torque

__all__ = ["LARGEST_ANGLE", "STRENGTH", "Lattice", "check_bend", "contact_twist", "lattice"]

#: A corner bent further cannot be modelled as an edge: its tangent lines run away from it.
LARGEST_ANGLE = math.radians(150.0)

#: Limits are two thirds of strength (see ``Stock``), so this is where the board is expected to break.
STRENGTH = 1.5


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
    shear, bridge_stress: at ``angle``; the limits beside them. moment: spring-back, N mm. All three of
    links as free bars, in line with the shear modulus; restraint: how many times that bridges make them
    (see ``links``), which held_shear, held_bridge_stress and held_moment contain.
    Where the axis is too short for one cell (slit <= bridge) nothing can twist: shear,
    bridge_stress and moment are infinite.
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
    restraint: float = 1.0

    @property
    def least_axis(self) -> float:
        """What an axis must be longer than for one cell, mm: a slit longer than a bridge, between two edge bridges."""
        return 2.0 * self.edge_bridge + self.bridge

    @property
    def held_shear(self) -> float:
        """Shear in the links as their bridges hold them, MPa: the twist is given, so it grows with the stiffness."""
        return self.shear * self.restraint

    @property
    def held_bridge_stress(self) -> float:
        """Bending stress in the bridges that hold such links, MPa."""
        return self.bridge_stress * self.restraint

    @property
    def held_moment(self) -> float:
        """Spring-back of links held by their bridges, N mm."""
        return self.moment * self.restraint


def contact_twist(link_width: float, opening: float, thickness: float) -> float | None:
    """Return the twist per link at which slits close, radians, or None where they never do.

    Solves w cos a + t sin a = w + k: strips turned by +a and -a meet in the middle of the slit.
    """
    limit = float(contact_twists(np.asarray(link_width), np.asarray(opening), thickness))
    return limit if math.isfinite(limit) else None


def lattice(
    stock: Stock,
    *,
    angle: float,
    axis_length: float,
    link_width: float,
    opening: float,
    links: int,
    slits: int,
    bridge: float | None = None,
    edge_bridge: float | None = None,
) -> Lattice:
    """Work out the lattice with these sizes; its slits fill ``axis_length`` exactly.

    angle in radians, lengths in mm; links even. The bridge defaults to the stock's, the edge
    bridge to the bridge. Raises BadSettingError for sizes that are not positive, an odd number
    of links or an angle beyond LARGEST_ANGLE.
    """
    bridge = stock.bridge if bridge is None else bridge
    edge_bridge = bridge if edge_bridge is None else edge_bridge
    check_bend(angle, axis_length)
    for what, size in (("link", link_width), ("opening", opening), ("bridge", bridge), ("edge bridge", edge_bridge)):
        if not (math.isfinite(size) and size > 0.0):
            raise BadSettingError(f"The {what} of the lattice is {size:g} mm; it must be larger than 0.")
    if links < 2 or links % 2:
        raise BadSettingError(f"The lattice has {links} links; the number must be even and at least 2.")
    if slits < 1:
        raise BadSettingError(f"The lattice has {slits} full slits in a row; at least 1 is needed.")

    sizes = (float(size) for size in (angle, axis_length, link_width, opening, bridge, edge_bridge))
    return _worked_out(stock, int(links), int(slits), *sizes)


@lru_cache(maxsize=4096)
def _worked_out(
    stock: Stock,
    links: int,
    slits: int,
    angle: float,
    axis_length: float,
    link_width: float,
    opening: float,
    bridge: float,
    edge_bridge: float,
) -> Lattice:
    """Return the lattice with these sizes; a search and every joint beside it ask for the same ones again."""
    thickness, modulus = stock.thickness, stock.shear_modulus
    slit = (axis_length - 2.0 * edge_bridge - (slits - 1) * bridge) / slits
    free = (slit - bridge) / 2.0
    pitch = link_width + opening
    flat_width = links * pitch
    twist = angle / links
    shear = segment_torque = math.inf
    held = 1.0
    if free > 0.0:
        cell = {"link_width": link_width, "opening": opening, "bridge": bridge, "free": free}
        held = float(held_ends(stock, **{size: np.asarray(value) for size, value in cell.items()}))
        shear = float(peak_stress(link_width, thickness, shear_modulus=modulus, twist=twist, length=free))
        segment_torque = float(torque(link_width, thickness, shear_modulus=modulus, twist=twist, length=free))
    return Lattice(
        angle=angle,
        axis_length=axis_length,
        thickness=thickness,
        rows=links + 1,
        links=links,
        slits=slits,
        slit=slit,
        bridge=bridge,
        edge_bridge=edge_bridge,
        pitch=pitch,
        link_width=link_width,
        opening=opening,
        flat_width=flat_width,
        neutral_radius=flat_width / angle,
        inside_radius=flat_width / angle - thickness / 2.0,
        twist=twist,
        contact_twist=contact_twist(link_width, opening, thickness),
        shear=shear,
        shear_limit=stock.shear_limit,
        bridge_stress=_bridge_stress(segment_torque, bridge, edge_bridge, thickness),
        bridge_limit=stock.cross_tension,
        moment=2.0 * slits * segment_torque,
        restraint=held,
    )


def _bridge_stress(segment_torque: float, bridge: float, edge_bridge: float, thickness: float) -> float:
    """Return the greater bending stress: a bridge carries two segments' torque, an edge bridge one."""
    return 6.0 * segment_torque / thickness**2 * max(2.0 / bridge, 1.0 / edge_bridge)


def check_bend(angle: float, axis_length: float) -> None:
    """Raise BadSettingError unless a board can be bent so far over an axis so long."""
    if not 0.0 < angle <= LARGEST_ANGLE + ANGLE:
        raise BadSettingError(
            f"A bend of {math.degrees(angle):.1f} degrees cannot be cut; it must be more than 0 and at most 150."
        )
    if not (math.isfinite(axis_length) and axis_length > 0.0):
        raise BadSettingError(f"The bend is {axis_length:g} mm long; it must be longer than 0.")
