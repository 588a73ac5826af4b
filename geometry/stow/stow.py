"""Stow: how small the building lies when the game is over.

Everything lies flat: sections unfolded, joiners as the laminated pieces they are. What counts for
the cupboard is the height of the stack and the box that takes it.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..fold.fold import bent_links
from ..joints.glue_places import find_bearers
from ..joints.round_joiner import is_round_cheek
from ..joints.tie import is_ring
from ..part import Joiner, Part, PartKind, standing_corners
from ..tolerance import LENGTH

__all__ = ["Spot", "Stow", "stow_away"]


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a piece lies in its box: the corner nearest to the box's own, and length, width and thickness, mm."""

    piece: str
    corner: tuple[float, float, float]
    size: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Stow:
    """Stowed size, mm: stack_height of all pieces one above the other, box (length, width, height) that
    takes them, and the share of the standing building's bounding volume that the box takes.

    layers: ids of the pieces that lie side by side (a joiner by its own id), layer by layer from the bottom up,
    the largest pieces lowest. glued: ids of the parts that strips join for good, group by group; a group is stowed
    as it stands, under the id of its first part. spots: where every piece lies, layer by layer.
    """

    stack_height: float
    box: tuple[float, float, float]
    share: float
    layers: tuple[tuple[str, ...], ...] = ()
    glued: tuple[tuple[str, ...], ...] = ()
    spots: tuple[Spot, ...] = ()


@dataclass(frozen=True, slots=True)
class _Piece:
    """What is stowed as one: length, width and thickness, mm."""

    id: str
    length: float
    width: float
    thickness: float

    @property
    def area(self) -> float:
        return self.length * self.width


@dataclass(slots=True)
class _Layer:
    """Pieces side by side in rows: each row is (depth used before it, depth, length used).

    corners: where each piece begins, (along, across) mm.
    """

    pieces: list[_Piece]
    rows: list[tuple[float, float, float]]
    corners: list[tuple[float, float]]


def stow_away(
    parts: Sequence[Part],
    joiners: Iterable[Joiner],
    standing_size: tuple[float, float, float],
    *,
    glued: Iterable[tuple[str, str]] = (),
    on_floors: float = 0.0,
    laid: Mapping[str, tuple[str, int]] | None = None,
) -> Stow:
    """Return the stowed size of all parts that stay with the building.

    standing_size: bounding box of the standing building, mm; glued: pairs of parts that are put together once;
    on_floors: thickness of what lies on every floor, mm; laid: ids of strips on slopes, with the section and the panel
    that bears each.

    The rule: a joiner is one piece, core and both cheeks thick, as long and wide as the three reach together.
    What is glued to a section, stops, caps, trim and what holds closures, lies with it: the section takes the box
    round all of them. Loose rings are pieces of their own. A dormer or chimney that is glued stays one piece, as large
    as the box round it. Coupons are not stowed. A piece takes its bounding rectangle in the flat, longer side along
    the box. The box is as long as the longest and as wide as the widest piece. It is filled in layers,
    thickest and then largest pieces first: each goes into the first row of the first layer that has
    room, else into a new row, else into a new layer; no piece is turned or tilted, none lies in the
    window of another. A layer is as high as its thickest piece. Bare sizes: no paint, no clearance.

    share is infinite when the standing building encloses no volume.
    """
    groups = _groups(glued)
    pieces = sorted(
        _pieces(parts, joiners, groups, on_floors, laid or {}),
        key=lambda piece: (-piece.thickness, -piece.area, -piece.length, piece.id),
    )
    if not pieces:
        return Stow(0.0, (0.0, 0.0, 0.0), math.inf)
    length = max(piece.length for piece in pieces)
    width = max(piece.width for piece in pieces)
    layers: list[_Layer] = []
    for piece in pieces:
        if not any(_takes(layer, piece, length, width) for layer in layers):
            layers.append(_Layer([piece], [(0.0, piece.width, piece.length)], [(0.0, 0.0)]))
    height = math.fsum(layer.pieces[0].thickness for layer in layers)  # the thickest came first
    standing = math.prod(standing_size)
    share = length * width * height / standing if standing > 0 else math.inf
    # Which layer lies on which does not change the height; a small piece below a large one lets it rock and bow.
    layers.sort(key=lambda layer: -max(piece.area for piece in layer.pieces))
    stacked = tuple(tuple(piece.id for piece in layer.pieces) for layer in layers)
    stack = math.fsum(piece.thickness for piece in pieces)
    return Stow(stack, (length, width, height), share, stacked, groups, _spots(layers))


def _spots(layers: Sequence[_Layer]) -> tuple[Spot, ...]:
    """Return where all pieces lie, given the layers from the bottom up."""
    spots = []
    low = 0.0
    for layer in layers:
        for piece, (x, y) in zip(layer.pieces, layer.corners, strict=True):
            spots.append(Spot(piece.id, (x, y, low), (piece.length, piece.width, piece.thickness)))
        low += max(piece.thickness for piece in layer.pieces)
    return tuple(spots)


def _groups(pairs: Iterable[tuple[str, str]]) -> tuple[tuple[str, ...], ...]:
    """Return the parts that glued pairs join to one another, group by group; a part glued to itself is a group too."""
    group: dict[str, set[str]] = {}
    for pair in pairs:
        both = set(pair).union(*(group.get(name, set()) for name in pair))
        group.update(dict.fromkeys(both, both))
    return tuple(sorted({tuple(sorted(names)) for names in group.values()}))


def _pieces(
    parts: Sequence[Part],
    joiners: Iterable[Joiner],
    groups: Sequence[tuple[str, ...]],
    on_floors: float,
    laid: Mapping[str, tuple[str, int]],
) -> list[_Piece]:
    """Return everything that is stowed."""
    by_id = {part.id: part for part in parts}
    laminated: set[str] = set()
    pieces = []
    for joiner in joiners:
        boards = [by_id[name] for name in (joiner.core, *joiner.cheeks) if name in by_id]
        laminated.update(board.id for board in boards)
        sides = _laminated(boards)
        pieces.append(_Piece(joiner.id, max(sides), min(sides), math.fsum(board.thickness for board in boards)))
    upstands = [part for part in parts if part.kind is PartKind.UPSTAND]
    counts = Counter(part.body for part in upstands)
    glued_once = {body for body, count in counts.items() if count > 1}
    for body in sorted(glued_once):
        pieces.append(_Piece(body, *_sides(_standing([part for part in upstands if part.body == body]))))
    borne = _borne(parts, laid)
    for names in groups:
        members = [by_id[name] for name in names if name in by_id]
        members += [rider for name in names for _, rider in borne.get(name, ())]
        pieces.append(_Piece(names[0], *_sides(_standing(members))))
    together = {*laminated, *(name for names in groups for name in names)}
    riders = {rider.id for mine in borne.values() for _, rider in mine}
    for part in parts:
        apart = part.kind in (PartKind.COUPON, PartKind.STOP, PartKind.CAP, PartKind.TRIM)
        glued = part.kind in (PartKind.LAP, PartKind.CARRIER) and not is_ring(part)
        if apart or glued or part.id in together or part.id in riders or part.body in glued_once:
            continue
        long, wide, high = _flat_size(part, borne.get(part.id, ()))
        pieces.append(_Piece(part.id, long, wide, high + (on_floors if part.kind is PartKind.FLOOR else 0.0)))
    return pieces


def _borne(parts: Sequence[Part], laid: Mapping[str, tuple[str, int]]) -> dict[str, list[tuple[int, Part]]]:
    """Return what is glued to sections, by the section's id, each with the panel that bears it. laid: more of it."""
    found: dict[str, list[tuple[int, Part]]] = {}
    by_id = {part.id: part for part in parts}
    others = [part for part in parts if part.id not in laid]
    for name, (host, panel) in (find_bearers(others) | dict(laid)).items():
        found.setdefault(host, []).append((panel, by_id[name]))
    return found


def _flat_size(part: Part, borne: Iterable[tuple[int, Part]]) -> tuple[float, float, float]:
    """Return length, width and thickness, mm, of a part that lies flat with all that is glued to it."""
    corners = [_flat_corners(part)]
    for panel, rider in borne:
        there = part.panels[panel].stands
        if is_round_cheek(rider):  # bends with its wall, and lies flat with it
            corners.append(there.back(rider.panels[0].stands.apply(_flat_corners(rider))))
        else:
            corners += [there.back(standing_corners(rider, own)) for own in rider.panels]
    x, y, high = np.ptp(np.concatenate(corners), axis=0).tolist()
    return max(x, y), min(x, y), high


def _standing(parts: Iterable[Part]) -> np.ndarray:
    """Return the corners of parts as they stand, their bends among them, (n, 3) mm in the model."""
    corners = []
    for part in parts:
        corners += [standing_corners(part, panel) for panel in part.panels]
        for placed in part.lattices:
            stands = part.panels[placed.parent].stands
            corners += [
                (stands @ bent).apply(strip, z)
                for strip, bent in bent_links(placed, part.board_side)
                for z in (0.0, part.board_side * part.thickness)
            ]
    return np.concatenate(corners) if corners else np.zeros((1, 3))


def _sides(corners: np.ndarray) -> tuple[float, float, float]:
    """Return the sides of the box round corners, mm, longest first."""
    low, middle, high = sorted(np.ptp(corners, axis=0).tolist())
    return high, middle, low


def _flat_corners(part: Part) -> np.ndarray:
    """Return the corners of a flat board, (n, 3) mm in the part frame."""
    ring = np.asarray(part.outline.exterior.coords)
    return np.concatenate([np.insert(ring, 2, z, axis=1) for z in (0.0, part.board_side * part.thickness)])


def _laminated(boards: Sequence[Part]) -> tuple[float, float]:
    """Return how far boards that lie on one another reach together, along and across the first one, mm."""
    if not boards:
        return 0.0, 0.0
    frame = boards[0].panels[0].stands
    corners = [board.panels[0].stands.apply(np.asarray(board.outline.exterior.coords)) for board in boards]
    along, across, _ = np.ptp(frame.back(np.concatenate(corners)), axis=0).tolist()
    return along, across


def _takes(layer: _Layer, piece: _Piece, length: float, width: float) -> bool:
    """Lay the piece into the layer if there is room, and tell whether there was."""
    for index, (start, depth, used) in enumerate(layer.rows):
        if piece.width <= depth + LENGTH and used + piece.length <= length + LENGTH:
            layer.rows[index] = (start, depth, used + piece.length)
            layer.pieces.append(piece)
            layer.corners.append((used, start))
            return True
    start = layer.rows[-1][0] + layer.rows[-1][1]
    if start + piece.width > width + LENGTH:
        return False
    layer.rows.append((start, piece.width, piece.length))
    layer.pieces.append(piece)
    layer.corners.append((0.0, start))
    return True
