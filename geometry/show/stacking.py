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
    layer_of = {piece: k for k, layer in enumerate(stow.layers) for piece in layer}
    members = _members(boards, joiners, stow)
    stacked: dict[str, Stacked] = {}
    for spot in stow.spots:
        ids = members.get(spot.piece, ())
        frames, flat = _frames([boards[name] for name in ids])
        if not frames:
            continue
        share = 0.0 if flat else 1.0
        points = np.concatenate([frame.apply(boards[name].points(share)) for name, frame in frames.items()])
        lowest = min((_lowest_rider(boards, riders, name, frame, share) for name, frame in frames.items()))
        laid = _laid(points, lowest, spot, corner)
        for name, frame in frames.items():
            stacked[name] = Stacked(laid @ frame, flat, layer_of.get(spot.piece, 0), spot.piece)
    return stacked


def _members(boards: Mapping[str, Boards], joiners: Iterable[Joiner], stow: Stow) -> dict[str, tuple[str, ...]]:
    """Return the parts that are stowed as one piece, by its id."""
    found: dict[str, list[str]] = {}
    for name, each in boards.items():
        found.setdefault(each.part.body, []).append(name)
    found |= {name: [name] for name in boards}
    found |= {joiner.id: [joiner.core, *joiner.cheeks] for joiner in joiners}
    found |= {names[0]: list(names) for names in stow.glued}
    return {
        piece: tuple(name for name in names if name in boards and boards[name].part.panels)
        for piece, names in found.items()
    }


def _frames(members: Sequence[Boards]) -> tuple[dict[str, Pose], bool]:
    """Return the frames of parts in a frame of their piece whose z is to be upright, and whether they lie flat.

    A roof lies with its inside up, since stops stand out there; joiners lie as they are laminated.
    """
    if not members:
        return {}, True
    first = members[0].part
    if len(members) == 1:
        turned = first.kind is PartKind.ROOF and first.board_side > 0
        return {first.id: OVER if turned else Pose.identity()}, True
    if first.kind in (PartKind.CORE, PartKind.CHEEK):
        back = undone(members[0].stands)
        return {each.part.id: back @ each.stands for each in members}, True
    standing = np.concatenate([each.stands.apply(each.points()) for each in members])
    axes = np.eye(3)[np.argsort(-np.ptp(standing, axis=0), kind="stable")]
    if np.linalg.det(axes) < 0.0:
        axes[2] = -axes[2]
    lying = Pose(np.column_stack([axes, np.zeros(3)]))
    return {each.part.id: lying @ each.stands for each in members}, False


def _lowest_rider(
    boards: Mapping[str, Boards], riders: Mapping[str, Rider], host: str, frame: Pose, share: float
) -> float:
    """Return the lowest height of what is glued to a part that lies in a frame, bent by a share; infinite for none."""
    part = boards[host].part
    poses = panel_poses(part, lattice_angles(part, share), root=boards[host].root)
    heights = [
        (frame @ poses[rider.panel] @ rider.pose).apply(boards[rider.part].points())[:, 2].min()
        for rider in riders.values()
        if rider.host == host
    ]
    return float(min(heights, default=np.inf))


def _laid(points: np.ndarray, lowest: float, spot: Spot, corner: np.ndarray) -> Pose:
    """Return what brings points to a spot, their longer side along it; lowest: of what they bear."""
    long, wide = np.ptp(points, axis=0)[:2]
    turn = _QUARTER if wide > long else Pose.identity()
    low = turn.apply(points).min(axis=0)
    low[2] = min(low[2], lowest)
    return Pose(np.column_stack([turn.turn, np.asarray(corner) + spot.corner - low]))
