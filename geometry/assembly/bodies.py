"""Bodies: what a hand moves as one piece when the building goes up, as the boards of it where they come to stand."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..fold.collide import Board
from ..part import Joiner, Part, PartKind
from ..settings import BuildSettings

__all__ = ["Body", "find_bodies"]


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
