"""Poses: one lattice at the angles it is brought to: flat in the box, standing, folded back on itself.

``pose`` says what a lattice bears at any angle up to 180 degrees. A loop of walls folded flat as a
parallelogram opens two of its corners and closes the other two to 180 degrees: ``folded_loop`` gives
the size of that pack, ``links_for`` how many links a corner needs for it. ``widest_corner`` is the
inside radius up to which a base still stands in the corner square.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from ..errors import BadSettingError
from ..tolerance import ANGLE, LENGTH
from .lattice import Lattice

__all__ = ["FlatLoop", "Pose", "folded_loop", "links_for", "pose", "widest_corner"]


@dataclass(frozen=True, slots=True)
class Pose:
    """A lattice at one angle. Stresses in MPa, moment in N mm, lengths in mm, twist in radians.

    shear, bridge_stress and moment are of links as free bars, as in ``Lattice``.
    contact: twist over the twist at which slits close, 0 where they never do. worst: greatest of stress
    of held links over limit and contact; up to 1 nothing is beyond a limit. neutral: where the board keeps its length,
    as a share of its thickness from the inner face: a half until slits close, less after.
    """

    angle: float
    twist: float
    shear: float
    bridge_stress: float
    contact: float
    worst: float
    moment: float
    inside_radius: float
    neutral: float


@dataclass(frozen=True, slots=True)
class FlatLoop:
    """A loop of four corners folded to a parallelogram without height, mm."""

    length: float
    thickness: float
    inside_radius: float


def pose(made: Lattice, angle: float) -> Pose:
    """Return what the lattice bears at ``angle`` radians, 0 to 180 degrees.

    Everything grows in line with the angle until slits close. From then on the inner corners of the
    links are pivots that push the rows apart, and the neutral line moves inward to k / (a t) - 1 / 2 of the
    thickness for a twist of a per link (derived from two strips that touch; no publication, no test piece).
    Raises BadSettingError for other angles.
    """
    if not 0.0 <= angle <= math.pi + ANGLE:
        raise BadSettingError(f"A lattice cannot stand at {math.degrees(angle):.1f} degrees; 0 to 180 are possible.")
    share = angle / made.angle
    twist = angle / made.links
    contact = 0.0 if made.contact_twist is None else twist / made.contact_twist
    shear, bridge_stress, moment = (
        each * share if share > 0.0 else 0.0 for each in (made.shear, made.bridge_stress, made.moment)
    )
    neutral = made.opening / (twist * made.thickness) - 0.5 if contact > 1.0 else 0.5
    return Pose(
        angle=angle,
        twist=twist,
        shear=shear,
        bridge_stress=bridge_stress,
        contact=contact,
        worst=max(made.restraint * max(shear / made.shear_limit, bridge_stress / made.bridge_limit), contact),
        moment=moment,
        inside_radius=made.flat_width / angle - made.thickness / 2.0 if angle > 0.0 else math.inf,
        neutral=min(neutral, 0.5),
    )


def links_for(made: Lattice, angle: float, *, margin: float = 0.0) -> int:
    """Return the even number of links of this cell that bears ``angle`` radians; margin: share kept back.

    Raises BadSettingError for a margin that leaves nothing, and for a lattice whose axis is too short to twist.
    """
    if not 0.0 <= margin < 1.0:
        raise BadSettingError(f"The margin is {margin:g}; it must be at least 0 and less than 1.")
    worst = pose(made, angle).worst
    if not math.isfinite(worst):
        raise BadSettingError(
            f"The bend axis of {made.axis_length:.1f} mm is too short for a cell; no number of links bends there."
        )
    bare = made.links * worst / (1.0 - margin)
    folded = angle * made.thickness / 2.0 / made.pitch  # the inner face would have to fold through itself
    return max(2, 2 * math.ceil(max(bare, folded) / 2.0 - LENGTH))


def folded_loop(first: float, second: float, *, flat_width: float, thickness: float) -> FlatLoop:
    """Return the pack that a loop with straights ``first`` and ``second`` makes, mm, all four lattices alike.

    The two corners at its ends go round half a circle of neutral radius flat_width / 180 degrees; the other
    two lie flat within the sides: length = first + second + B + 2 (B / pi + t / 2), thickness = 2 B / pi + t.
    Raises BadSettingError where the boards would have to lie in each other.
    """
    radius = flat_width / math.pi
    if radius < thickness / 2.0:
        raise BadSettingError(
            f"Lattices {flat_width:.1f} mm wide cannot fold back in {thickness:.1f} mm board; at least "
            f"{math.pi * thickness / 2.0:.1f} mm are needed."
        )
    return FlatLoop(
        length=first + second + flat_width + 2.0 * radius + thickness,
        thickness=2.0 * radius + thickness,
        inside_radius=radius - thickness / 2.0,
    )


def widest_corner(base: float, square: float) -> float:
    """Return the greatest inside radius of a right corner in which a base of this diameter stands centred, mm.

    The base touches the arc where both centres lie on the diagonal: sqrt 2 (r - square / 2) + base / 2 = r.
    Raises BadSettingError unless 0 < base <= square.
    """
    if not 0.0 < base <= square:
        raise BadSettingError(f"A base of {base:g} mm does not stand in a square of {square:g} mm.")
    return (square / math.sqrt(2.0) - base / 2.0) / (math.sqrt(2.0) - 1.0)
