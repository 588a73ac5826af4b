"""Folding: a flat part stood up again by arithmetic, panel after panel over its lattices."""

from __future__ import annotations

import math

import numpy as np

from ..part import Part, PlacedLattice

__all__ = ["as_motion", "bent_links", "fold"]


def fold(part: Part, fraction: float = 1.0) -> tuple[np.ndarray, ...]:
    """Return where each panel of a part comes to stand: (3, 4) matrices, part frame to model mm.

    The first panel stays as it stands in the model; every other one is carried over the lattice that
    joins it, turned about the axis of the bend. ``fraction`` of every bend, 0 flat .. 1 folded.
    The axis follows from the lattice's own rows and pitch and from nothing that placed the panels, so
    that a wrong pull-back, width or angle shows as a distance from the solid.
    """
    stands: list[np.ndarray | None] = [None] * len(part.panels)
    stands[0] = as_motion(part.panels[0].stands)
    waiting = list(part.lattices)
    while waiting:
        rest = []
        for lattice in waiting:
            parent = stands[lattice.parent]
            if parent is None:
                rest.append(lattice)
            else:
                stands[lattice.child] = parent @ bend_matrix(lattice, part.board_side, fraction)
        if len(rest) == len(waiting):
            break
        waiting = rest
    return tuple(np.full((3, 4), np.nan) if matrix is None else matrix[:3] for matrix in stands)


def bend_matrix(
    placed: PlacedLattice, board_side: int, fraction: float = 1.0, *, at: float | None = None
) -> np.ndarray:
    """Return the motion, (4, 4) in the part frame, of what hangs on the far side of a lattice.

    With ``at`` (mm from the first row, along the flat) the motion of that line of the lattice instead.
    """
    lattice = placed.lattice
    angle = placed.angle * fraction
    developed = (lattice.rows - 1) * lattice.pitch
    reach = lattice.flat_width if at is None else at
    share = 1.0 if at is None else at / developed
    up = np.array([0.0, 0.0, float(board_side)])
    across = np.array([*placed.across, 0.0])
    origin = np.array([*placed.origin, 0.0])
    shift = np.eye(4)
    shift[:3, 3] = -across * reach
    if abs(angle) < 1e-12:
        shift[:3, 3] = across * (developed * share - reach)
        return shift
    # centre of the bend on the side toward which the part turns: at B / |angle| - sgn(angle) t / 2
    # from the reference face, measured against the board side for angle > 0
    centre = origin + up * (lattice.thickness / 2 - developed / angle)
    axis = np.cross(across, -up)
    turn = np.eye(4)
    turn[:3, :3] = rotation(axis, angle * share)
    turn[:3, 3] = centre - turn[:3, :3] @ centre
    result: np.ndarray = turn @ shift
    return result


def bent_links(
    placed: PlacedLattice, board_side: int, fraction: float = 1.0
) -> tuple[tuple[np.ndarray, np.ndarray], ...]:
    """Return every link of a lattice as its flat strip, (4, 2) mm, and the (4, 4) motion that bends it into place."""
    lattice = placed.lattice
    links = []
    for j in range(lattice.links):
        middle = (j + 0.5) * lattice.pitch
        across = placed.across * lattice.link_width / 2
        along = placed.along * lattice.axis_length
        start = placed.origin + placed.across * middle
        strip = np.array([start - across, start + across, start + across + along, start - across + along])
        motion = bend_matrix(placed, board_side, fraction, at=middle)
        # the motion brings the strip's own line to the bend; the strip stays where it was drawn until then
        links.append((strip, motion))
    return tuple(links)


def rotation(axis: np.ndarray, angle: float) -> np.ndarray:
    """Return the matrix that turns by ``angle`` about a unit ``axis`` (Rodrigues' formula)."""
    x, y, z = axis
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    turned: np.ndarray = np.eye(3) + math.sin(angle) * cross + (1.0 - math.cos(angle)) * cross @ cross
    return turned


def as_motion(stands: np.ndarray) -> np.ndarray:
    """Return a matrix (3, 4) as a motion (4, 4) that can be chained and inverted."""
    return np.vstack([stands, [0.0, 0.0, 0.0, 1.0]])
