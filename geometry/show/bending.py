"""Bending: where plates and strips of a part come to lie while its corners bend and its leaves open.

Every lattice has an angle of its own at every moment. Plates move by poses; the points of a strip go round the axis of
its bend, each as far as it lies across the lattice. It is the arithmetic of ``fold``, for whole arrays of points.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ..fold.fold import bend_shares, fold
from ..part import Part, PlacedLattice
from ..pose import Pose

__all__ = ["bend_points", "lattice_angles", "middle_panel", "panel_poses", "undone"]

#: A smaller angle, radians, bends by less than single precision shows; its series replaces sin(a) / a.
_STRAIGHT = 1e-6


def lattice_angles(part: Part, share: float = 1.0, *, opened: float = 0.0) -> tuple[float, ...]:
    """Return the angle of every lattice of a part, radians.

    share: of every corner, 0 flat .. 1 standing. opened: of every leaf, 0 shut .. 1 as far as it swings.
    """
    shares = bend_shares(part, share)
    return tuple(
        placed.angle * bent + placed.swing * opened for placed, bent in zip(part.lattices, shares, strict=True)
    )


def panel_poses(part: Part, angles: Sequence[float], *, root: int = 0) -> tuple[Pose, ...]:
    """Return where the panels of a part lie, in the part frame of the panel ``root``, which stays in the flat.

    A panel that no lattice joins to the others keeps its place beside the root as the building stands.
    """
    if not part.panels:
        return ()
    bent = tuple(replace(placed, angle=angle, late=False) for placed, angle in zip(part.lattices, angles, strict=True))
    flat = replace(part.panels[0], stands=Pose.identity())
    found = fold(replace(part, panels=(flat, *part.panels[1:]), lattices=bent))
    back = undone(found[root])
    standing = undone(part.panels[root].stands)
    return tuple(
        standing @ panel.stands if np.isnan(pose.matrix).any() else back @ pose
        for panel, pose in zip(part.panels, found, strict=True)
    )


def undone(pose: Pose) -> Pose:
    """Return the pose that undoes a rigid one; ``inverse`` of a pose takes scaled ones too, and many times as long."""
    back = pose.turn.T
    return Pose(np.column_stack([back, -back @ pose.origin]))


def bend_points(placed: PlacedLattice, board_side: int, angle: float, points: np.ndarray) -> np.ndarray:
    """Return where a lattice bent by ``angle`` takes points of its strip, (n, 3) mm, in the part frame of its parent.

    points: (n, 3) mm in the flat. What lies before the first row stays; what lies beyond the last turns with it.
    """
    lattice = placed.lattice
    up = np.array([0.0, 0.0, float(board_side)])
    across, along = np.append(placed.across, 0.0), np.append(placed.along, 0.0)
    own = points - np.append(placed.origin, 0.0)
    x, y, height = own @ across, own @ along, own @ up - lattice.thickness / 2
    within = x.clip(0.0, lattice.flat_width)
    turn = angle / lattice.flat_width * within
    small = np.abs(turn) < _STRAIGHT
    safe = np.where(small, 1.0, turn)
    sine, cosine = np.sin(turn), np.cos(turn)
    # sin(a) / a and (1 - cos(a)) / a, which are 1 and a / 2 where the strip is straight
    chord = np.where(small, 1.0, sine / safe)
    rise = np.where(small, turn / 2, (1.0 - cosine) / safe)
    forward = within * chord + height * sine + (x - within) * cosine
    upward = lattice.thickness / 2 - within * rise + height * cosine - (x - within) * sine
    bent: np.ndarray = (
        np.append(placed.origin, 0.0) + forward[:, None] * across + y[:, None] * along + upward[:, None] * up
    )
    return bent


def middle_panel(part: Part) -> int:
    """Return the panel from which the others hang by the fewest lattices; of equals the largest."""
    count = len(part.panels)
    beside: list[list[int]] = [[] for _ in range(count)]
    for placed in part.lattices:
        beside[placed.parent].append(placed.child)
        beside[placed.child].append(placed.parent)

    def depth(root: int) -> int:
        reached, steps, seen = [root], 0, {root}
        while reached:
            reached = [other for panel in reached for other in beside[panel] if other not in seen]
            seen.update(reached)
            steps += 1 if reached else 0
        return steps + count * (count - len(seen))  # a panel apart is no root

    return min(range(count), key=lambda k: (depth(k), -_extent(part.panels[k].ring), k))


def _extent(ring: np.ndarray) -> float:
    """Return the area of the box round a ring, rounded so that equal panels stay equal, mm^2."""
    return round(float(np.prod(np.ptp(ring, axis=0))), 3)
