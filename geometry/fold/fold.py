"""Folding: a flat part stood up again by arithmetic, panel after panel over its lattices."""

from __future__ import annotations

import math

import numpy as np

from ..part import Part, PlacedLattice
from ..pose import Pose

__all__ = ["bend_pose", "bend_shares", "bent_links", "fold"]


def fold(part: Part, fraction: float = 1.0) -> tuple[Pose, ...]:
    """Return where each panel of a part comes to stand, from the part frame to the model.

    The first panel stays as it stands in the model; every other one is carried over the lattice that
    joins it, turned about the axis of the bend. ``fraction`` of every bend, 0 flat .. 1 folded.
    The axis follows from the lattice's own rows and pitch and from nothing that placed the panels, so
    that a wrong setback, width or angle shows as a distance from the solid. A panel that no lattice joins
    to the first stands nowhere: its pose is NaN. Late bends close when the others have; see ``bend_shares``.

    >>> from stowfold.geometry.flow.run import run
    >>> wall = run(solid, settings, title='House').parts[0]
    >>> len(fold(wall)) == len(wall.panels)
    True
    """
    stands: list[Pose | None] = [part.panels[0].stands, *[None] * (len(part.panels) - 1)]
    waiting = list(zip(part.lattices, bend_shares(part, fraction), strict=True))
    while waiting:
        rest = []
        for lattice, share in waiting:
            parent = stands[lattice.parent]
            if parent is None:
                rest.append((lattice, share))
            else:
                stands[lattice.child] = parent @ bend_pose(lattice, part.board_side, share)
        if len(rest) == len(waiting):
            break
        waiting = rest
    return tuple(Pose(np.full((3, 4), np.nan)) if pose is None else pose for pose in stands)


def bend_shares(part: Part, fraction: float) -> tuple[float, ...]:
    """Return how far each lattice of a part is bent at a fraction of the fold, 0 flat .. 1 folded.

    All bend together, or where some are late the others over the first half, and those over the second.
    """
    if not any(lattice.late for lattice in part.lattices):
        return (fraction,) * len(part.lattices)
    early, late = min(1.0, 2.0 * fraction), max(0.0, 2.0 * fraction - 1.0)
    return tuple(late if lattice.late else early for lattice in part.lattices)


def bend_pose(placed: PlacedLattice, board_side: int, fraction: float = 1.0, *, at: float | None = None) -> Pose:
    """Return where the bend takes what hangs on the far side of a lattice, in the part frame.

    With ``at`` (mm from the first row, along the flat) where it takes that line of the lattice instead.
    """
    lattice = placed.lattice
    angle = placed.angle * fraction
    developed = (lattice.rows - 1) * lattice.pitch
    reach = lattice.flat_width if at is None else at
    share = 1.0 if at is None else at / developed
    side = float(board_side)
    up = np.array([0.0, 0.0, side])
    across = np.array([*placed.across, 0.0])
    origin = np.array([*placed.origin, 0.0])
    if abs(angle) < 1e-12:
        return Pose.identity().moved_to(across * (developed * share - reach))
    # centre of the bend on the side toward which the part turns: at B / |angle| - sgn(angle) t / 2
    # from the reference face, measured against the board side for angle > 0
    centre = origin + up * (lattice.thickness / 2 - developed / angle)
    # across x -up; numpy's own product of two single vectors takes longer than all the rest
    axis = np.array([-across[1] * side, across[0] * side, 0.0])
    turn = rotation(axis, angle * share)
    return Pose(np.column_stack([turn, centre - turn @ centre])).moved_to(-across * reach)


def bent_links(placed: PlacedLattice, board_side: int, fraction: float = 1.0) -> tuple[tuple[np.ndarray, Pose], ...]:
    """Return every link of a lattice as its flat strip, (4, 2) mm, and the pose that bends it into place."""
    lattice = placed.lattice
    links = []
    for j in range(lattice.links):
        middle = (j + 0.5) * lattice.pitch
        across = placed.across * lattice.link_width / 2
        along = placed.along * lattice.axis_length
        start = placed.origin + placed.across * middle
        strip = np.array([start - across, start + across, start + across + along, start - across + along])
        # the pose brings the strip's own line to the bend; the strip stays where it was drawn until then
        links.append((strip, bend_pose(placed, board_side, fraction, at=middle)))
    return tuple(links)


def rotation(axis: np.ndarray, angle: float) -> np.ndarray:
    """Return the matrix that turns by ``angle`` about a unit ``axis`` (Rodrigues' formula)."""
    x, y, z = axis
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    turned: np.ndarray = np.eye(3) + math.sin(angle) * cross + (1.0 - math.cos(angle)) * cross @ cross
    return turned
