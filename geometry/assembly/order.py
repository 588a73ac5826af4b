"""The order of an assembly: bodies are taken apart one after the other, and put together in the opposite order.

A body that can be taken away still can when others are gone, since fewer are in its way. So whatever is free may go
first, and no order has to be tried twice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..fold.moving import Passing, go_past, way_out
from ..part import PartKind
from ..tolerance import OVERLAP
from .bodies import Body
from .links import pieces_of
from .plan import Leg
from .ways import Ways

__all__ = ["FREE", "Hands", "Joined", "Path", "find_path", "join_in_order"]

#: A straight path is shown and checked over this length at least, mm: a hand needs as much to start.
FREE = 25.0

#: Lengths of a last leg that are tried where the whole way straight is blocked, mm: past the tongues of ties, which are
#: longer than a board is thick, and past the ends of joiners.
_LAST = (6.0, 10.0, FREE, 2 * FREE)

#: A ring of a tie comes into the room below a roof, to its closure, and along it.
_MOST_LEGS = 3


@dataclass(frozen=True, slots=True)
class Hands:
    """How hands may bring bodies together.

    ways: for a body and those that it goes to, groups of directions to its place; no way of a later group is used while
    any body has a free one of an earlier group. lead: for a body, directions of a leg before the last one, where the
    straight way is blocked further out. deeper: boards that share less only touch, mm.
    """

    ways: Callable[[Body, Sequence[Body]], Ways]
    lead: Callable[[Body], Sequence[np.ndarray]] = lambda body: ()
    deeper: float = OVERLAP


@dataclass(frozen=True, slots=True, eq=False)
class Path:
    """A path of a body to its place past others. legs: in the order of the movement; past: bodies that rest."""

    body: Body
    past: tuple[Body, ...]
    legs: tuple[Leg, ...]
    passing: Passing

    @property
    def meets(self) -> tuple[str, str]:
        """The ids of the part that moves and of the part in its way, where the path is blocked."""
        assert self.passing.meeting is not None
        mine, other = self.passing.meeting.pair
        at = np.cumsum([0, *(len(body.corners) for body in self.past)])
        k = int(np.searchsorted(at, other, side="right")) - 1
        there = self.past[k]
        return self.body.parts[self.body.owner[mine]], there.parts[there.owner[other - at[k]]]


@dataclass(frozen=True, slots=True, eq=False)
class Joined:
    """How bodies go together: the first one, and the paths of all others in order."""

    first: Body
    paths: tuple[Path, ...]


def find_path(body: Body, past: Sequence[Body], ways: Sequence[np.ndarray], hands: Hands) -> Path | None:
    """Return a free path of a body to its place, the shortest of those that go straight, or None.

    past: what rests there by then. Each path starts where the body is clear of all of it.
    """
    leads = hands.lead(body)
    found = _route(body.corners, _resting(past), ways, leads, hands.deeper, most=min(len(leads) + 1, _MOST_LEGS))
    return None if found is None else Path(body, tuple(past), *found)


def _route(
    corners: np.ndarray,
    resting: np.ndarray,
    ways: Sequence[np.ndarray],
    leads: Sequence[np.ndarray],
    deeper: float,
    *,
    most: int,
) -> tuple[tuple[Leg, ...], Passing] | None:
    """Return at most so many free legs to where prisms are, the last one along one of the ways, or None."""
    for leg in _straight(corners, resting, ways):
        passing = go_past(corners, resting, np.array(leg.way), leg.length, deeper=deeper, first=True)
        if passing.meeting is None:
            return (leg,), passing
    if most == 1:
        return None
    for way in ways:
        for length in _LAST:
            last = go_past(corners, resting, way, length, deeper=deeper, first=True)
            if last.meeting is not None:
                break
            before = _route(corners - way * length, resting, leads, leads, deeper, most=most - 1)
            if before is not None:
                legs, passing = before
                return (*legs, _leg(way, length)), Passing(min(last.room, passing.room))
    return None


def join_in_order(
    bodies: Sequence[Body], links: Mapping[str, frozenset[str]], hands: Hands, *, base: Body | None = None
) -> Joined:
    """Return the order in which bodies go together, each along one path past those that are there.

    links: per name of a body the names of those that hold it; what is there stays in one piece where it can. base: what
    is there from the start; without it the largest body comes first.
    """
    left = list(bodies)
    paths: list[Path] = []
    while len(left) > (0 if base is not None else 1):
        path = _next_out(left, base, links, hands)
        left.remove(path.body)
        paths.append(path)
    return Joined(left[0] if base is None else base, tuple(reversed(paths)))


def _next_out(left: Sequence[Body], base: Body | None, links: Mapping[str, frozenset[str]], hands: Hands) -> Path:
    """Return the path of the body that is taken away next: the first free one, or the least blocked."""
    bodies = sorted(left, key=lambda body: _rank(body, left, links))
    bodies = [body for body in bodies if _stays_whole(left, body, links)] or bodies
    others = {body.name: [b for b in (*left, base) if b is not None and b is not body] for body in bodies}
    groups = {body.name: hands.ways(body, others[body.name]) for body in bodies}
    for rank in range(max(len(group) for group in groups.values())):
        for body in bodies:
            if rank < len(groups[body.name]):
                path = find_path(body, others[body.name], groups[body.name][rank](), hands)
                if path is not None:
                    return path
    tried = [
        _straight_path(body, others[body.name], way, hands) for body in bodies for way in _first(groups[body.name])
    ]
    return min(tried, key=lambda path: path.passing.depth)


def _first(ways: Ways) -> Sequence[np.ndarray]:
    """Return the first group of ways that has any."""
    return next(found for group in ways if (found := group()))


def _rank(body: Body, left: Sequence[Body], links: Mapping[str, frozenset[str]]) -> tuple[int, bool, int]:
    """Return what sorts bodies by which is brought to the others last.

    What is held at few places first. Of loose ends joiners are put onto walls; between others walls slide into joiners.
    Smaller pieces are brought to larger ones.
    """
    held = len(links.get(body.name, frozenset()) & {other.name for other in left})
    return held, (body.kind is PartKind.CORE) != (held < 2), len(body.corners)


def _straight_path(body: Body, past: Sequence[Body], way: np.ndarray, hands: Hands) -> Path:
    resting = _resting(past)
    (leg,) = _straight(body.corners, resting, [way])
    return Path(body, tuple(past), (leg,), go_past(body.corners, resting, way, leg.length, deeper=hands.deeper))


def _straight(corners: np.ndarray, resting: np.ndarray, ways: Iterable[np.ndarray]) -> list[Leg]:
    """Return a straight leg per way, from where prisms are clear of all that rests, the shortest first."""
    legs = [_leg(way, max(FREE, way_out(corners, resting, way))) for way in ways]
    return sorted(legs, key=lambda leg: round(leg.length, 3))


def _leg(way: np.ndarray, length: float) -> Leg:
    x, y, z = (way + 0.0).tolist()
    return Leg((x, y, z), float(length))


def _resting(past: Sequence[Body]) -> np.ndarray:
    return np.concatenate([np.zeros((0, 6, 3)), *(other.corners for other in past)])


def _stays_whole(left: Sequence[Body], without: Body, links: Mapping[str, frozenset[str]]) -> bool:
    """Whether what is left without a body falls into no more pieces than with it."""
    return len(pieces_of([body for body in left if body is not without], links)) <= len(pieces_of(left, links))
