"""The way of the head: in which order lines are followed, so that it hops as little as it can.

Lines are taken nearest first; then the tour is straightened: a stretch of it is turned round
(2-opt), or a few lines are taken out and put in elsewhere (or-opt), while that shortens the hops.
The number of steps is limited, not the time, so the same lines always get the same order.
A closed line may be started anywhere; it is started off its corners, where the mark that piercing
leaves and the spot that the beam meets twice do no harm.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..tolerance import LENGTH
from .lines import Lines

__all__ = ["plan_path"]

#: Lines whose order is looked for; more of them come from hatching and are in good order as they are drawn.
_LIMIT = 1500

#: Comparisons of two hops that straightening a tour may take: a thousand lines need some five million.
_BUDGET = 12_000_000

#: Lines that or-opt moves together.
_STRETCH = 3

#: A closed line starts this far from a corner where its sides are long enough, mm. Common practice, no source.
_OFF_CORNER = 2.0


@dataclass(frozen=True, slots=True)
class _Stop:
    """One path of the tour: where the head may enter it and leaves it again, (k, 2) mm each, k > 1 where it closes."""

    enter: np.ndarray
    leave: np.ndarray


def plan_path(
    paths: Sequence[tuple[str, Lines]], head: np.ndarray, *, budget: int = _BUDGET
) -> list[tuple[str, Lines]]:
    """Return named paths in the order that makes the hops between them short, for a head that starts at ``head``.

    Each path is kept together. One that is a single closed line starts off its corners, any other may run
    from its end to its beginning.
    """
    named = [(name, lines) for name, lines in paths if len(lines)]
    if not named or len(named) > _LIMIT:
        return named
    kept = [lines for _, lines in named]
    places = [_starts(lines) if _is_ring(lines) else None for lines in kept]
    stops = [
        _Stop(lines.begins[:1], lines.ends[-1:]) if spots is None else _Stop(spots, spots)
        for lines, spots in zip(kept, places, strict=True)
    ]
    tour = _nearest_first(stops, head)
    planned = _follow(named, places, tour, head)
    if len(stops) > 2:
        straighter = _follow(named, places, _straighten(*tour, head, budget), head)
        # starts of rings are chosen after the order, so a straighter tour may come out longer in the end
        if _hops(straighter, head) <= _hops(planned, head):
            return straighter
    return planned


def _hops(planned: Sequence[tuple[str, Lines]], head: np.ndarray) -> float:
    """Return how far the head moves from path to path, mm; what it moves within them is the same in any order."""
    begins = np.array([lines.begins[0] for _, lines in planned])
    ends = np.array([lines.ends[-1] for _, lines in planned])
    return float(np.hypot(*(begins - np.concatenate([head[None], ends[:-1]])).T).sum())


def _follow(
    named: Sequence[tuple[str, Lines]],
    places: Sequence[np.ndarray | None],
    tour: tuple[list[int], np.ndarray, np.ndarray],
    head: np.ndarray,
) -> list[tuple[str, Lines]]:
    """Return the paths in the order of a tour: rings started where that is shortest, others turned as it wants them."""
    order, enter, leave = tour[0], tour[1].copy(), tour[2].copy()
    planned = []
    for turn, index in enumerate(order):
        name, path = named[index]
        spots = places[index]
        if spots is not None:
            after = enter[turn + 1] if turn + 1 < len(order) else None
            before = leave[turn - 1] if turn else head
            spot = spots[_between(spots, before, after)]
            enter[turn] = leave[turn] = spot
            planned.append((name, _started_at(path, spot)))
        else:
            turned = not np.array_equal(enter[turn], path.begins[0])
            planned.append((name, path.backward() if turned else path))
    return planned


def _is_ring(path: Lines) -> bool:
    return len(path) == 1 and bool(path.closed[0])


def _starts(ring: Lines) -> np.ndarray:
    """Return where a closed line may start, (k, 2) mm: on its longer sides, off the corners and at the middle."""
    sides = ring.segments()
    lengths = np.hypot(*(sides[:, 1] - sides[:, 0]).T)
    long = lengths >= min(2 * _OFF_CORNER, lengths.max()) - LENGTH
    sides, lengths = sides[long], np.maximum(lengths[long], LENGTH)
    off = np.minimum(_OFF_CORNER / lengths, 0.5)
    shares = np.stack([off, np.full(len(off), 0.5), 1 - off], axis=1)[:, :, None]
    spots: np.ndarray = (sides[:, None, 0] * (1 - shares) + sides[:, None, 1] * shares).reshape(-1, 2)
    return spots


def _between(spots: np.ndarray, before: np.ndarray, after: np.ndarray | None) -> int:
    """Return which spot makes the way from ``before`` over it to ``after`` shortest."""
    way = np.hypot(*(spots - before).T)
    if after is not None:
        way = way + np.hypot(*(spots - after).T)
    return int(np.argmin(np.round(way / LENGTH)))  # spots that are equally good by rounding: the first


def _started_at(ring: Lines, spot: np.ndarray) -> Lines:
    """Return a closed line that starts at ``spot``, a point on one of its sides."""
    sides = ring.segments()
    runs = sides[:, 1] - sides[:, 0]
    squares = np.maximum((runs**2).sum(axis=1), LENGTH**2)
    shares = np.clip(((spot - sides[:, 0]) * runs).sum(axis=1) / squares, 0.0, 1.0)
    misses = np.hypot(*(sides[:, 0] + shares[:, None] * runs - spot).T)
    side = int(np.argmin(misses))
    points = np.roll(ring.points, -side - 1, axis=0)  # the corner after the spot first, the one before it last
    corners = [spot[None], points]
    return Lines(np.concatenate(corners), np.array([0, len(points) + 1]), np.array([True]))


def _nearest_first(stops: Sequence[_Stop], head: np.ndarray) -> tuple[list[int], np.ndarray, np.ndarray]:
    """Return the order of stops, each the nearest to where the last one was left, and where they begin and end."""
    doors = np.concatenate([point for stop in stops for point in (stop.enter, stop.leave)])
    exits = np.concatenate([point for stop in stops for point in (stop.leave, stop.enter)])
    owner = np.concatenate([np.full(2 * len(stop.enter), i) for i, stop in enumerate(stops)])
    left = np.ones(len(doors), dtype=bool)
    order: list[int] = []
    picked = []
    for _ in stops:
        door = int(np.argmin(np.where(left, ((doors - head) ** 2).sum(axis=1), np.inf)))
        order.append(int(owner[door]))
        picked.append(door)
        head = exits[door]
        left &= owner != owner[door]
    return order, doors[picked], exits[picked]


def _straighten(
    order: list[int], enter: np.ndarray, leave: np.ndarray, head: np.ndarray, budget: int
) -> tuple[list[int], np.ndarray, np.ndarray]:
    """Shorten a tour by turning stretches round and moving short ones, until nothing helps or the budget is spent."""
    # The head stands before the first stop; behind the last one the tour is open.
    tour = np.concatenate([[-1], order])
    enter, leave = np.concatenate([head[None], enter]), np.concatenate([head[None], leave])
    better = True
    while better and budget > 0:
        better = False
        for first in range(1, len(tour)):
            better |= _turn_round(tour, enter, leave, first)
            better |= _move(tour, enter, leave, first)
            budget -= (1 + 2 * _STRETCH) * len(tour)
            if budget <= 0:
                break
    return tour[1:].tolist(), enter[1:], leave[1:]


def _turn_round(tour: np.ndarray, enter: np.ndarray, leave: np.ndarray, first: int) -> bool:
    """Turn round the stretch from ``first`` to wherever that shortens the tour most; tell whether one does."""
    before = leave[first - 1]
    gain = np.hypot(*(enter[first] - before)) - np.hypot(*(leave[first:] - before).T)
    gain[:-1] += np.hypot(*(enter[first + 1 :] - leave[first:-1]).T) - np.hypot(*(enter[first + 1 :] - enter[first]).T)
    last = int(np.argmax(gain))
    if gain[last] <= LENGTH:
        return False
    _reverse(tour, enter, leave, first, first + last + 1)
    return True


def _reverse(tour: np.ndarray, enter: np.ndarray, leave: np.ndarray, first: int, end: int) -> None:
    tour[first:end] = tour[first:end][::-1].copy()
    enter[first:end], leave[first:end] = leave[first:end][::-1].copy(), enter[first:end][::-1].copy()


def _move(tour: np.ndarray, enter: np.ndarray, leave: np.ndarray, first: int) -> bool:
    """Move a stretch of up to three stops that begins at ``first`` to where it costs least; tell whether that helps."""
    for end in range(first + 1, min(first + _STRETCH, len(tour)) + 1):
        rest = np.concatenate([np.arange(first), np.arange(end, len(tour))])
        closed = np.hypot(*(enter[end] - leave[first - 1])) if end < len(tour) else 0.0
        out = np.hypot(*(enter[first] - leave[first - 1]))
        out += np.hypot(*(enter[end] - leave[end - 1])) if end < len(tour) else 0.0
        saved = out - closed
        if saved <= LENGTH:
            continue
        before, after = leave[rest], enter[rest[1:]]
        gap = np.hypot(*(after - before[:-1]).T)
        straight = np.hypot(*(enter[first] - before).T)
        straight[:-1] += np.hypot(*(after - leave[end - 1]).T) - gap
        turned = np.hypot(*(leave[end - 1] - before).T)
        turned[:-1] += np.hypot(*(after - enter[first]).T) - gap
        cost = np.minimum(straight, turned)
        place = int(np.argmin(cost))
        if saved - cost[place] <= LENGTH:
            continue
        if turned[place] < straight[place]:
            _reverse(tour, enter, leave, first, end)
        moved = np.concatenate([rest[: place + 1], np.arange(first, end), rest[place + 1 :]])
        tour[:], enter[:], leave[:] = tour[moved], enter[moved], leave[moved]
        return True
    return False
