"""Bodies: what a hand moves as one piece when the building goes up, as the boards of it where they come to stand."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..fold.collide import Board, depths_between
from ..joints.tie import is_ring
from ..part import Joiner, Part, PartKind
from ..settings import BuildSettings
from ..tolerance import SNAP

__all__ = ["Body", "carriers_of", "find_bodies"]

#: What is glued to a section and moves with it.
_GLUED_ON = (PartKind.STOP, PartKind.LAP, PartKind.CARRIER, PartKind.CAP)

#: What is folded or stands as it is cut.
_SECTIONS = (PartKind.WALL, PartKind.ROOF, PartKind.PANEL)


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """What moves as one piece.

    name: of its first part, or of a joiner, floor or upstand; kind: of its first part. parts: ids. corners:
    (k, 6, 3) mm, prisms where they come to stand; owner: (k,) to which of the parts they belong.
    """

    name: str
    kind: PartKind
    parts: tuple[str, ...]
    corners: np.ndarray
    owner: np.ndarray


def find_bodies(
    parts: Sequence[Part],
    boards: Sequence[Board],
    joiners: Sequence[Joiner],
    glued: Iterable[Sequence[str]],
    carried: Mapping[str, tuple[str, int]],
    settings: BuildSettings,
) -> tuple[Body, ...]:
    """Return what moves as one piece: sections with what is glued to them, joiners, rings of ties, floor, upstands.

    boards: of all parts as they stand; glued: groups of ids of parts that strips join for good; carried: per glued
    part the section that bears it. The cheeks of a joiner stand as far apart as its channel is wide.
    """
    prisms: dict[str, list[np.ndarray]] = {part.id: [] for part in parts}
    for board in boards:
        if board.name in prisms:
            # a panel that no bend joins to the others stands nowhere
            prisms[board.name].append(board.corners[np.isfinite(board.corners).all(axis=(1, 2))])
    corners = {name: np.concatenate([np.zeros((0, 6, 3)), *found]) for name, found in prisms.items()}
    corners |= _apart(parts, joiners, corners, settings)
    groups: dict[str, list[str]] = {}
    names = _home_of(parts, joiners, glued, carried)
    for part in parts:
        groups.setdefault(names[part.id], []).append(part.id)
    kinds = {part.id: part.kind for part in parts}
    return tuple(
        Body(
            name=name,
            kind=kinds[own[0]],
            parts=tuple(own),
            corners=np.concatenate([corners[part] for part in own]),
            owner=np.concatenate([np.full(len(corners[part]), k) for k, part in enumerate(own)]),
        )
        for name, own in groups.items()
    )


def carriers_of(parts: Sequence[Part], boards: Sequence[Board]) -> dict[str, tuple[str, int]]:
    """Return for everything that is glued to a section the section's id and the panel that bears it: the nearest one.

    boards: of all parts as they stand. Rings of ties are not glued.
    """
    sections = {part.id for part in parts if part.kind in _SECTIONS}
    panels = [board for board in boards if board.name in sections and board.group.rpartition("/")[2].isdecimal()]
    panels = [board for board in panels if len(board.corners)]
    glued = {part.id for part in parts if part.kind in _GLUED_ON and not is_ring(part)}
    found = {}
    for board in boards:
        if board.name in glued and len(board.corners) and panels:
            near = [other for other in panels if _boxes_meet(board.corners, other.corners)]
            bearer = max(near or panels, key=lambda other: _touch(board.corners, other.corners))
            found[board.name] = (bearer.name, int(bearer.group.rpartition("/")[2]))
    return found


def _boxes_meet(one: np.ndarray, two: np.ndarray) -> bool:
    return bool(
        np.all(one.min(axis=(0, 1)) < two.max(axis=(0, 1)) + SNAP)
        and np.all(two.min(axis=(0, 1)) < one.max(axis=(0, 1)) + SNAP)
    )


def _touch(one: np.ndarray, two: np.ndarray) -> float:
    """Return how deep two groups of prisms share a place, mm, minus how far they are apart."""
    low, high = one.min(axis=(0, 1)), one.max(axis=(0, 1))
    # a box farther off than the nearest one cannot hold the nearest board
    apart = np.maximum(np.maximum(two.min(axis=1) - high, low - two.max(axis=1)), 0.0)
    distance = np.linalg.norm(apart, axis=1)
    near = two[distance <= distance.min() + float(np.linalg.norm(high - low))]
    first, second = np.indices((len(one), len(near))).reshape(2, -1)
    return float(depths_between(one[first], near[second]).max())


def _home_of(
    parts: Sequence[Part],
    joiners: Sequence[Joiner],
    glued: Iterable[Sequence[str]],
    carried: Mapping[str, tuple[str, int]],
) -> dict[str, str]:
    """Return for every part the name of the body that it belongs to."""
    home = {part.id: part.id for part in parts}
    home |= {board: joiner.id for joiner in joiners for board in (joiner.core, *joiner.cheeks)}
    home |= {part.id: part.body for part in parts if part.kind is PartKind.UPSTAND}
    floors = [part.id for part in parts if part.kind is PartKind.FLOOR]
    home |= dict.fromkeys(floors, floors[0] if floors else "")
    for group in glued:
        joined = {home[name] for name in group if name in home}
        home = {part: min(joined) if name in joined else name for part, name in home.items()}
    return home | {part: home[carrier] for part, (carrier, _) in carried.items()}


def _apart(
    parts: Sequence[Part], joiners: Sequence[Joiner], corners: Mapping[str, np.ndarray], settings: BuildSettings
) -> dict[str, np.ndarray]:
    """Return the cheeks of all joiners moved apart until their channel is as wide as the joiner says, with card."""
    by_id = {part.id: part for part in parts}
    moved = {}
    for joiner in joiners:
        boards = [by_id.get(name) for name in (joiner.core, *joiner.cheeks)]
        core, *cheeks = boards
        if core is None or any(cheek is None for cheek in cheeks):
            continue
        between = max(settings.walls.thickness, settings.joiners.thickness)
        off = max(0.0, joiner.channel - between) / 2
        normal = core.panels[0].stands.z
        middle = float((corners[core.id] @ normal).mean())
        for cheek in cheeks:
            assert cheek is not None
            side = np.sign(float((corners[cheek.id] @ normal).mean()) - middle)
            moved[cheek.id] = corners[cheek.id] + side * off * normal
    return moved
