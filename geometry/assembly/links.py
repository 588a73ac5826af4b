"""Links: which bodies hold one another once they are together, by joiners, ties, magnets and laps."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

import numpy as np

from ..fold.collide import depths_between
from ..joints.gusset import is_gusset
from ..part import Joiner, Part, PartKind
from ..tolerance import SNAP
from .bodies import Body

__all__ = ["find_links", "merged", "pieces_of"]

#: Plates of both sides of a closure that hold each other: fins of a tie, backs of carriers.
_PAIRED = ("fin", "back")


def find_links(
    bodies: Sequence[Body], joiners: Iterable[Joiner], parts: Iterable[Part]
) -> Mapping[str, frozenset[str]]:
    """Return per name of a body the names of those that it holds or is held by."""
    home = {name: body.name for body in bodies for name in body.parts}
    links: dict[str, set[str]] = {body.name: set() for body in bodies}
    for one, two in (*_by_joiners(joiners, home), *_by_plates(home), *_by_laps(bodies, parts, home)):
        if one != two:
            links[one].add(two)
            links[two].add(one)
    return {name: frozenset(others) for name, others in links.items()}


def pieces_of(bodies: Sequence[Body], links: Mapping[str, frozenset[str]]) -> tuple[tuple[Body, ...], ...]:
    """Return the bodies in groups that links hold together, in the order of their first body."""
    by_name = {body.name: body for body in bodies}
    waiting = dict.fromkeys(by_name)
    pieces = []
    while waiting:
        reached = [next(iter(waiting))]
        for name in reached:
            waiting.pop(name, None)
            reached += [other for other in sorted(links.get(name, ())) if other in waiting and other not in reached]
        pieces.append(tuple(by_name[name] for name in by_name if name in reached))
    return tuple(pieces)


def merged(bodies: Sequence[Body]) -> Body:
    """Return several bodies as one, under the name and kind of the first."""
    first = bodies[0]
    starts = np.cumsum([0, *(len(body.parts) for body in bodies)])
    return Body(
        first.name,
        first.kind,
        tuple(name for body in bodies for name in body.parts),
        np.concatenate([body.corners for body in bodies]),
        np.concatenate([body.owner + start for body, start in zip(bodies, starts, strict=False)]),
    )


def _by_joiners(joiners: Iterable[Joiner], home: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    for joiner in joiners:
        for end in joiner.ends:
            if end in home and joiner.core in home:
                yield home[joiner.core], home[end]


def _by_plates(home: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Yield the bodies of both fins of a tie and its ring, L1a-fin, L1b-fin and L1-ring, and of carriers in a pair."""
    for name in home:
        stem, _, role = name.rpartition("-")
        if role in _PAIRED and stem.endswith("a"):
            for other in (f"{stem[:-1]}b-{role}", f"{stem[:-1]}-ring"):
                if other in home:
                    yield home[name], home[other]


def _by_laps(bodies: Sequence[Body], parts: Iterable[Part], home: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """Yield the bodies of flat laps and gussets and what else they touch."""
    laps = {part.id for part in parts if part.kind is PartKind.LAP and ("-" not in part.id or is_gusset(part))}
    for body in bodies:
        for k, name in enumerate(body.parts):
            if name in laps:
                own = body.corners[body.owner == k]
                yield from ((home[name], other.name) for other in bodies if other is not body and _touch(own, other))


def _touch(corners: np.ndarray, body: Body) -> bool:
    """Whether prisms touch a body."""
    low, high = corners.min(axis=(0, 1)) - SNAP, corners.max(axis=(0, 1)) + SNAP
    near = body.corners[np.all((body.corners.min(axis=1) < high) & (body.corners.max(axis=1) > low), axis=1)]
    if not len(near):
        return False
    first, second = np.indices((len(corners), len(near))).reshape(2, -1)
    return float(depths_between(corners[first], near[second]).max()) > -SNAP
