"""Reshaping: a building takes other sizes at once, with its marks, before anything is proposed for them again.

While a size is dragged the building has to follow the hand. Laying it out takes a few milliseconds, proposing its
bends and breaks up to seconds. So the marks of the mesh before come along: where the new one has the same faces they
stay at the same edges, where it has others they stay at the lines that are left. Breaks move with the plan, but
for those of the maker, which stay where they are. Openings stay at their place of their wall.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..solid.solid import Role
from ..tolerance import SNAP
from .carry import break_spots, carry_roles
from .outline import Corner
from .sizes import BuildingSizes, lay_out_building
from .walls import BlockOut

__all__ = ["Before", "Reshaped", "move_feet", "move_over", "reshape"]

#: Walls that go on straight differ less in their directions, which are read in single precision.
_TURNS = 1e-3

Roles = tuple[tuple[tuple[int, int], Role], ...]


@dataclass(frozen=True, slots=True, eq=False)
class Before:
    """The mesh of a building before its sizes change: points (n, 3) mm, faces of point indices, edges (m, 2).

    roles, made: (m,) the role of every edge, and the role that the tool itself gave to it.
    """

    points: np.ndarray
    faces: tuple[tuple[int, ...], ...]
    edges: np.ndarray
    roles: tuple[Role, ...]
    made: tuple[Role, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Reshaped:
    """A building of other sizes. made: roles that the tool gave, by edge.

    alike: whether it has the faces of the mesh before, so that point k of one is point k of the other.
    """

    block: BlockOut
    made: Roles
    alike: bool


def reshape(before: Before, sizes: BuildingSizes, *, square: float) -> Reshaped:
    """Return the building with other sizes and the marks that it has; square: side of a square, mm.

    Raises BadSettingError, in one sentence, for sizes that cannot be built.
    """
    bare = lay_out_building(sizes, square=square)
    by_hand = [k for k, (role, made) in enumerate(zip(before.roles, before.made, strict=True)) if role is not made]
    by_tool = [k for k in range(len(before.roles)) if k not in set(by_hand)]
    stretched = _stretch(_breaks_of(before, by_tool), _feet(before.points), _feet(bare.points))
    block = lay_out_building(sizes, square=square, breaks=(*_breaks_of(before, by_hand), *stretched))
    if block.faces == before.faces:
        pairs = [(min(a, b), max(a, b)) for a, b in before.edges.tolist()]
        return Reshaped(_with(block, _marked(pairs, before.roles)), _marked(pairs, before.made), alike=True)
    mine = before.edges[by_hand].reshape(-1, 2), tuple(before.roles[k] for k in by_hand)
    carried = carry_roles(before.points, *mine, block)
    decided = dict(carried.decided)
    # the opposite of what the maker decided, so that it stays the maker's
    against = {pair: Role.FLEX for pair, role in decided.items() if role is Role.PLAIN}
    made = {pair: role for pair, role in carried.block.roles if pair not in decided} | against
    return Reshaped(carried.block, tuple(sorted(made.items())), alike=False)


def move_feet(before: Before, points: np.ndarray, feet: np.ndarray) -> np.ndarray:
    """Return where openings stand after ``reshape`` kept all faces: feet (k, 3) mm before and after.

    points: (n, 3) of the block-out after. Every foot keeps its distance from the nearer corner of its wall, and its
    height; what stood in the middle of the wall stays there.
    """
    walls = _walls(before)
    moved = np.array(feet, dtype=float).reshape(-1, 3)
    for k, foot in enumerate(moved.copy()):
        away, start, end = min((_distance(foot, before.points[[a, b]]), a, b) for a, b in walls)
        if away < SNAP:
            moved[k, :2] = _along(foot, before.points[[start, end]], points[[start, end]])
    return moved


def move_over(before: Before, points: np.ndarray, spots: np.ndarray) -> np.ndarray:
    """Return where things over the plan stand after ``reshape`` kept all faces: spots (k, 3) mm before and after.

    points: (n, 3) of the block-out after. Every spot keeps its distance from the nearer corner of the wall next to it,
    and its share of the way from there across the plan.
    """
    moved = np.array(spots, dtype=float).reshape(-1, 3)
    walls = _walls(before)
    for k, spot in enumerate(moved.copy()):
        _, start, end = min((_distance(spot, before.points[[a, b]]), a, b) for a, b in walls)
        old, new = before.points[[start, end]], points[[start, end]]
        inward, now = _inward(old), _inward(new)
        far, farther = (np.ptp(_feet(points) @ n) for points, n in ((before.points, inward), (points, now)))
        off = float((spot[:2] - old[0, :2]) @ inward) * float(farther / far)
        moved[k, :2] = _along(spot, old, new) + off * now
    return moved


def _inward(side: np.ndarray) -> np.ndarray:
    """Return the direction from a side of the plan to the room beside it, (2,) unit; side: (2, 3)."""
    along = side[1, :2] - side[0, :2]
    return np.array([-along[1], along[0]]) / float(np.linalg.norm(along))


def _walls(before: Before) -> list[tuple[int, int]]:
    """Return the points at the feet of the two corners of every wall, whether it parts in between or not."""
    after = {
        a: b
        for face in before.faces
        for a, b in zip(face, (*face[1:], face[0]), strict=True)
        if max(before.points[a, 2], before.points[b, 2]) < SNAP
    }

    def way(a: int) -> np.ndarray:
        along = before.points[after[a]] - before.points[a]
        return np.asarray(along / np.linalg.norm(along))

    came_from = {b: a for a, b in after.items()}
    # walls of a wing begin at the wall of the house, where no other one ends
    corners = [a for a in after if a not in came_from or np.linalg.norm(way(a) - way(came_from[a])) > _TURNS]
    walls = []
    for corner in corners:
        end = after[corner]
        while end in after and end not in corners:
            end = after[end]
        walls.append((corner, end))
    return walls


def _breaks_of(before: Before, edges: Sequence[int]) -> tuple[Corner, ...]:
    return break_spots(before.points, before.edges[list(edges)].reshape(-1, 2), [before.roles[k] for k in edges])


def _feet(points: np.ndarray) -> np.ndarray:
    """Return the points of the plan, (k, 2) mm, where walls stand on the ground."""
    return points[points[:, 2] < SNAP, :2]


def _stretch(spots: Sequence[Corner], old: np.ndarray, new: np.ndarray) -> tuple[Corner, ...]:
    """Return spots of one plan at the same shares of the length and width of another one."""
    if not len(old) or not len(spots):
        return ()
    low, size = old.min(axis=0), np.ptp(old, axis=0)
    shares = (np.array(spots) - low) / np.where(size > SNAP, size, 1.0)
    return tuple((float(x), float(y)) for x, y in new.min(axis=0) + shares * np.ptp(new, axis=0))


def _marked(pairs: Sequence[tuple[int, int]], roles: Sequence[Role]) -> Roles:
    return tuple(sorted((pair, role) for pair, role in zip(pairs, roles, strict=True) if role is not Role.PLAIN))


def _with(block: BlockOut, roles: Roles) -> BlockOut:
    return BlockOut(block.points, block.faces, roles)


def _distance(foot: np.ndarray, side: np.ndarray) -> float:
    """Return how far a foot lies from a side of the plan, mm; side: (2, 3)."""
    start, along = side[0, :2], side[1, :2] - side[0, :2]
    share = float(np.clip((foot[:2] - start) @ along / (along @ along), 0.0, 1.0))
    return float(np.linalg.norm(foot[:2] - start - share * along))


def _along(foot: np.ndarray, old: np.ndarray, new: np.ndarray) -> np.ndarray:
    """Return the place in the plan, (2,) mm, on a side after for a foot on it before; old, new: (2, 3)."""
    was, now = old[1, :2] - old[0, :2], new[1, :2] - new[0, :2]
    length, longer = float(np.linalg.norm(was)), float(np.linalg.norm(now))
    s = float((foot[:2] - old[0, :2]) @ was) / length
    if abs(s - length / 2.0) < SNAP:
        s = longer / 2.0
    elif s > length / 2.0:
        s = longer - (length - s)
    return np.asarray(new[0, :2] + now * s / longer)
