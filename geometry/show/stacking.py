"""Stacking: how every part lies in its box, by the places that the stow result gives its pieces."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..part import Joiner, PartKind
from ..pose import Pose
from ..stow.stow import Spot, Stow
from .bending import lattice_angles, panel_poses, undone
from .boards import Boards
from .riders import Rider

__all__ = ["OVER", "Stacked", "stack"]

#: A frame turned over about its own x.
OVER = Pose.of((1, 0, 0), (0, -1, 0), (0, 0, -1), (0, 0, 0))

#: What is stowed as one piece by being laminated.
_LAMINATED = (PartKind.CORE, PartKind.CHEEK)

#: A frame turned by a right angle about its own z.
_QUARTER = Pose.of((0, 1, 0), (-1, 0, 0), (0, 0, 1), (0, 0, 0))


@dataclass(frozen=True, slots=True, eq=False)
class Stacked:
    """How a part lies in the box: pose of its frame, whether flat or as it stands, and its layer from the bottom.

    together: the id of the piece that it is stowed as.
    """

    pose: Pose
    flat: bool
    layer: int
    together: str


def stack(
    boards: Mapping[str, Boards],
    riders: Mapping[str, Rider],
    joiners: Iterable[Joiner],
    stow: Stow,
    corner: np.ndarray,
) -> dict[str, Stacked]:
    """Return how all parts lie that the stow result places, its box having its lowest corner at ``corner``, (3,) mm.

    A piece rests on the lowest of what is glued to it.
    """
    glued = {names[0] for names in stow.glued}
    layer_of = {piece: k for k, layer in enumerate(stow.layers) for piece in layer}
    members = _members(boards, joiners, stow)
    stacked: dict[str, Stacked] = {}
    for spot in stow.spots:
        ids = members.get(spot.piece, ())
        if not ids:
            continue
        flat = spot.piece not in glued and (len(ids) == 1 or boards[ids[0]].part.kind in _LAMINATED)
        frames = _lying([boards[name] for name in ids]) if flat else {name: boards[name].stands for name in ids}
        points = _points_of(boards, riders, frames, 0.0 if flat else 1.0)
        if not flat:
            longest_first = _axes(points)
            frames = {name: longest_first @ frame for name, frame in frames.items()}
            points = longest_first.apply(points)
        laid = _laid(points, spot, corner)
        for name, frame in frames.items():
            stacked[name] = Stacked(laid @ frame, flat, layer_of.get(spot.piece, 0), spot.piece)
    return stacked


def _members(boards: Mapping[str, Boards], joiners: Iterable[Joiner], stow: Stow) -> dict[str, tuple[str, ...]]:
    """Return the parts that are stowed as one piece, by its id."""
    found: dict[str, list[str]] = {}
    for name, board in boards.items():
        found.setdefault(board.part.body, []).append(name)
    found |= {name: [name] for name in boards}
    found |= {joiner.id: [joiner.core, *joiner.cheeks] for joiner in joiners}
    found |= {names[0]: list(names) for names in stow.glued}
    return {
        piece: tuple(name for name in names if name in boards and boards[name].part.panels)
        for piece, names in found.items()
    }


def _lying(members: Sequence[Boards]) -> dict[str, Pose]:
    """Return the frames of parts in a frame of their piece whose z is upright while it lies flat.

    A roof lies with its inside up, since stops stand out there; joiners lie as they are laminated.
    """
    first = members[0].part
    if len(members) > 1:
        back = undone(members[0].stands)
        return {member.part.id: back @ member.stands for member in members}
    return {first.id: OVER if first.kind is PartKind.ROOF and first.board_side > 0 else Pose.identity()}


def _axes(points: np.ndarray) -> Pose:
    """Return the turn that brings points to lie on their largest face, longest side first."""
    axes = np.eye(3)[np.argsort(-np.ptp(points, axis=0), kind="stable")]
    if np.linalg.det(axes) < 0.0:
        axes[2] = -axes[2]
    return Pose(np.column_stack([axes, np.zeros(3)]))


def _points_of(
    boards: Mapping[str, Boards], riders: Mapping[str, Rider], frames: Mapping[str, Pose], share: float
) -> np.ndarray:
    """Return the points of parts that lie in frames, bent by a share, and of all that is glued to them, (n, 3) mm."""
    found = []
    for name, frame in frames.items():
        part = boards[name].part
        poses = panel_poses(part, lattice_angles(part, share), root=boards[name].root)
        found.append(frame.apply(boards[name].points(share)))
        found += [
            (frame @ poses[rider.panel] @ rider.pose).apply(boards[rider.part].points())
            for rider in riders.values()
            if rider.host == name
        ]
    return np.concatenate(found)


def _laid(points: np.ndarray, spot: Spot, corner: np.ndarray) -> Pose:
    """Return what brings points to a spot, their longer side along it."""
    long, wide = np.ptp(points, axis=0)[:2]
    turn = _QUARTER if wide > long else Pose.identity()
    return Pose(np.column_stack([turn.turn, np.asarray(corner) + spot.corner - turn.apply(points).min(axis=0)]))
