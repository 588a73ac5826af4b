"""Packing: boxes on sheets, each upright or turned by a quarter, by the method of maximal rectangles.

The free room of a sheet is kept as all largest rectangles that hold no box; a new box goes into a
corner of one of them (maximal rectangles: Jylanki, "A Thousand Ways to Pack the Bin", 2010; from memory).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from ..tolerance import LENGTH

__all__ = ["Item", "Packed", "pack"]

_Rectangle = tuple[float, float, float, float]  # x, y, width, height


@dataclass(frozen=True, slots=True)
class Item:
    """A box to pack: width, height of each way it may lie (at most two, upright and on its side), mm."""

    key: int
    ways: tuple[tuple[int, float, float], ...]  # quarter turns, width, height
    stage: int


@dataclass(frozen=True, slots=True)
class Packed:
    """Where a box lies: sheet, lower left corner, quarter turns."""

    key: int
    sheet: int
    x: float
    y: float
    quarter: int


def _area(item: Item) -> float:
    return item.ways[0][1] * item.ways[0][2]


def _longest(item: Item) -> float:
    return max(item.ways[0][1:])


def _shortest(item: Item) -> float:
    return min(item.ways[0][1:])


_ORDERS: tuple[Callable[[Item], tuple[float, ...]], ...] = (
    lambda item: (item.stage, -_area(item), item.key),
    lambda item: (item.stage, -_longest(item), item.key),
    lambda item: (-_area(item), item.stage, item.key),
    lambda item: (-_longest(item), item.stage, item.key),
    lambda item: (-_shortest(item), item.stage, item.key),
    lambda item: (-sum(item.ways[0][1:]), item.stage, item.key),
)


def _short_side(free: _Rectangle, width: float, height: float) -> tuple[float, ...]:
    return min(free[2] - width, free[3] - height), max(free[2] - width, free[3] - height), free[1], free[0]


def _least_area(free: _Rectangle, width: float, height: float) -> tuple[float, ...]:
    return free[2] * free[3] - width * height, *_short_side(free, width, height)


def _low_left(free: _Rectangle, width: float, height: float) -> tuple[float, ...]:
    return free[1] + height, free[0]


_RULES = (_short_side, _least_area, _low_left)


def pack(items: Sequence[Item], width: float, height: float, *, fewest: int = 1) -> tuple[Packed, ...]:
    """Pack all items on as few sheets of ``width`` by ``height`` as a few orders and rules find.

    Each item must fit an empty sheet. Among results with the same number of sheets the one wins
    that cuts early stages on early sheets, then the one that leaves most of its emptiest sheet free.
    ``fewest``: no result can be better, so the search ends there. Deterministic.
    """
    best: tuple[tuple[float, ...], tuple[Packed, ...]] | None = None
    for order in _ORDERS:
        queue = sorted(items, key=order)
        for rule in _RULES:
            packed = _by_stage(_fill(queue, width, height, rule), items)
            score = _score(packed, items)
            if best is None or score < best[0]:
                best = (score, packed)
        if best is not None and best[0][0] <= fewest and best[0][1] == 0:
            break
    return best[1] if best is not None else ()


def _fill(
    queue: Sequence[Item], width: float, height: float, rule: Callable[[_Rectangle, float, float], tuple[float, ...]]
) -> tuple[Packed, ...]:
    sheets: list[list[_Rectangle]] = []
    packed = []
    for item in queue:
        for number in range(len(sheets) + 1):
            fresh = number == len(sheets)
            if fresh:
                sheets.append([(0.0, 0.0, width, height)])
            choices = [
                (rule(free, w, h), quarter, free[0], free[1], w, h)
                for free in sheets[number]
                for quarter, w, h in item.ways
                if w <= free[2] + LENGTH and h <= free[3] + LENGTH
            ]
            if choices:
                _, quarter, x, y, w, h = min(choices)
                sheets[number] = _without(sheets[number], (x, y, w, h))
                packed.append(Packed(item.key, number, x, y, quarter))
                break
            if fresh:
                raise ValueError(f"item {item.key} is larger than a sheet")
    return tuple(packed)


def _without(room: list[_Rectangle], used: _Rectangle) -> list[_Rectangle]:
    """Return the largest free rectangles that remain when ``used`` is taken."""
    x, y, w, h = used
    pieces: list[_Rectangle] = []
    for free in room:
        fx, fy, fw, fh = free
        if x >= fx + fw - LENGTH or x + w <= fx + LENGTH or y >= fy + fh - LENGTH or y + h <= fy + LENGTH:
            pieces.append(free)
            continue
        pieces += [
            (fx, fy, x - fx, fh),
            (x + w, fy, fx + fw - x - w, fh),
            (fx, fy, fw, y - fy),
            (fx, y + h, fw, fy + fh - y - h),
        ]
    pieces = [piece for piece in dict.fromkeys(pieces) if piece[2] > LENGTH and piece[3] > LENGTH]
    return [
        piece
        for i, piece in enumerate(pieces)
        if not any(
            _covers(other, piece) and (j < i or not _covers(piece, other)) for j, other in enumerate(pieces) if j != i
        )
    ]


def _covers(outer: _Rectangle, inner: _Rectangle) -> bool:
    return (
        outer[0] <= inner[0] + LENGTH
        and outer[1] <= inner[1] + LENGTH
        and outer[0] + outer[2] >= inner[0] + inner[2] - LENGTH
        and outer[1] + outer[3] >= inner[1] + inner[3] - LENGTH
    )


def _by_stage(packed: tuple[Packed, ...], items: Sequence[Item]) -> tuple[Packed, ...]:
    """Renumber the sheets so that those with early stages come first."""
    stages = {item.key: item.stage for item in items}
    held: dict[int, list[int]] = {}
    for each in packed:
        held.setdefault(each.sheet, []).append(stages[each.key])
    order = sorted(held, key=lambda sheet: (sum(held[sheet]) / len(held[sheet]), sheet))
    number = {sheet: i for i, sheet in enumerate(order)}
    return tuple(Packed(each.key, number[each.sheet], each.x, each.y, each.quarter) for each in packed)


def _score(packed: tuple[Packed, ...], items: Sequence[Item]) -> tuple[float, ...]:
    """Return (sheets, pairs of parts cut against their stages, area on the emptiest sheet)."""
    by_key = {item.key: item for item in items}
    used: dict[int, float] = {}
    for each in packed:
        used[each.sheet] = used.get(each.sheet, 0.0) + _area(by_key[each.key])
    against = sum(1 for a in packed for b in packed if a.sheet < b.sheet and by_key[a.key].stage > by_key[b.key].stage)
    return len(used), against, min(used.values(), default=0.0)
