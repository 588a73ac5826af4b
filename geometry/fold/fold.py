"""Folding: a flat part stood up again by arithmetic, panel after panel over its lattices."""

from __future__ import annotations

import numpy as np

from ..part import Part, PlacedLattice
from ..pose import Pose

__all__ = ["bend_pose", "bend_shares", "bent_links", "fold", "fold_at", "links_at", "rotation"]


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


def fold_at(part: Part, fractions: np.ndarray) -> np.ndarray:
    """Return where each panel of a part comes to stand at n fractions of the fold, (n, panels, 3, 4); see ``fold``."""
    stands = np.full((len(fractions), len(part.panels), 3, 4), np.nan)
    stands[:, 0] = part.panels[0].stands.matrix
    shares = np.array([bend_shares(part, fraction) for fraction in fractions.tolist()])
    stood, waiting = {0}, dict(enumerate(part.lattices))
    while ready := [k for k, placed in waiting.items() if placed.parent in stood]:
        for k in ready:
            placed = waiting.pop(k)
            whole = np.ones(len(fractions))
            bent = bend_at(placed, part.board_side, shares[:, k], whole, placed.lattice.flat_width * whole)
            parent = stands[:, placed.parent]
            stands[:, placed.child] = parent[:, :, :3] @ bent
            stands[:, placed.child, :, 3] += parent[:, :, 3]
            stood.add(placed.child)
    return stands


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
    reach = placed.lattice.flat_width if at is None else at
    share = 1.0 if at is None else at / _developed(placed)
    return Pose(bend_at(placed, board_side, *(np.array([value]) for value in (fraction, share, reach)))[0])


def bend_at(
    placed: PlacedLattice, board_side: int, fractions: np.ndarray, shares: np.ndarray, reaches: np.ndarray
) -> np.ndarray:
    """Return where a bend takes n lines of a lattice or what hangs on them, in the part frame, (n, 3, 4).

    fractions: of the whole bend; shares: of it that lie before the lines; reaches: of the lines from the first row
    along the flat, mm; (n,) each.
    """
    developed, side = _developed(placed), float(board_side)
    angles = placed.angle * fractions
    across = np.array([*placed.across, 0.0])
    bent = np.abs(angles) >= 1e-12
    # centre of the bend on the side toward which the part turns: at B / |angle| - sgn(angle) t / 2
    # from the reference face, measured against the board side for angle > 0
    heights = placed.lattice.thickness / 2 - developed / np.where(bent, angles, 1.0)
    centres = np.array([*placed.origin, 0.0]) + heights[:, None] * np.array([0.0, 0.0, side])
    # across x -up; numpy's own product of two single vectors takes longer than all the rest
    turns = rotations(np.array([-across[1] * side, across[0] * side, 0.0]), angles * shares)
    lines = (-across * reaches[:, None])[:, None, :] @ turns.swapaxes(1, 2)
    origins = lines[:, 0] + (centres - (turns @ centres[:, :, None])[:, :, 0])
    poses = np.concatenate([turns, origins[:, :, None]], axis=2)
    poses[~bent, :, :3] = np.eye(3)
    poses[~bent, :, 3] = across * (developed * shares - reaches)[~bent, None]
    return poses


def _developed(placed: PlacedLattice) -> float:
    """Return how long the bend of a lattice is along its neutral line, mm."""
    return (placed.lattice.rows - 1) * placed.lattice.pitch


def links_at(placed: PlacedLattice, board_side: int, fraction: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
    """Return the links of a lattice as flat strips, (n, 4, 2) mm, and the poses that bend them, (n, 3, 4)."""
    lattice = placed.lattice
    middles = (np.arange(lattice.links) + 0.5) * lattice.pitch
    across, along = placed.across * lattice.link_width / 2, placed.along * lattice.axis_length
    starts = placed.origin + placed.across * middles[:, None]
    strips = np.stack([starts - across, starts + across, starts + across + along, starts - across + along], axis=1)
    fractions = np.full(lattice.links, fraction)
    # the pose brings the strip's own line to the bend; the strip stays where it was drawn until then
    return strips, bend_at(placed, board_side, fractions, middles / _developed(placed), middles)


def bent_links(placed: PlacedLattice, board_side: int, fraction: float = 1.0) -> tuple[tuple[np.ndarray, Pose], ...]:
    """Return every link of a lattice as its flat strip, (4, 2) mm, and the pose that bends it into place."""
    strips, poses = links_at(placed, board_side, fraction)
    return tuple((strip, Pose(pose)) for strip, pose in zip(strips, poses, strict=True))


def rotation(axis: np.ndarray, angle: float) -> np.ndarray:
    """Return the matrix that turns by ``angle`` about a unit ``axis`` (Rodrigues' formula)."""
    return rotations(axis, np.array([angle]))[0]


def rotations(axis: np.ndarray, angles: np.ndarray) -> np.ndarray:
    """Return the matrices that turn by angles, (n,), about a unit ``axis``, (n, 3, 3); see ``rotation``."""
    x, y, z = axis.tolist()
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    sine, cosine = np.sin(angles)[:, None, None], np.cos(angles)[:, None, None]
    turned: np.ndarray = np.eye(3) + sine * cross + (1.0 - cosine) * cross @ cross
    return turned
