"""Closing: where prisms that go with the panels of a section meet while its bends close.

The distance of two panels changes at most as fast as their corners move. Where that speed leaves no doubt between two
fractions of the fold, nothing can have met there; elsewhere the span is halved (bounded steps). All pairs of panels are
looked at together, one width of span after another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..findings import place
from ..part import Part
from .collide import Prisms, depths_of
from .fold import fold_at
from .shares import counted, in_shares

__all__ = ["Body", "Crossed", "FoldPath", "Pair"]

#: Spans are halved until nothing moves more than this, mm, or until they are this share of the fold: 1.4 degrees of a
#: square corner.
_DOUBT, _LEAST_SPAN = 0.5, 1.0 / 64.0


@dataclass(frozen=True, slots=True)
class Crossed:
    """Two panels of a section that meet while it is folded: at which fraction, how deep, and where, mm."""

    panels: tuple[int, int]
    fraction: float
    depth: float
    point: tuple[float, float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """Prisms that go with a panel, in the part frame, mm."""

    panel: int
    prisms: Prisms


@dataclass(frozen=True, slots=True, eq=False)
class Pair:
    """Two bodies, neither of them empty; speed: by which they come nearer at most, mm over the whole fold."""

    one: Body
    two: Body
    speed: float


class FoldPath:
    """A section at any fraction of its fold; poses are worked out once."""

    def __init__(self, part: Part) -> None:
        self._part = part
        self._poses: dict[float, np.ndarray] = {}

    def _end_depths(self, pairs: Sequence[Pair]) -> np.ndarray:
        """Return how deep pairs share a place when the section is folded, (n,) mm, 0 where they do not."""
        if not pairs:
            return np.zeros(0)
        every = np.arange(len(pairs))
        return -_Together(pairs).gaps(every, self._poses_at(np.ones(1)), np.zeros(len(pairs), dtype=int), 0.0 * every)

    def end_depth(self, pairs: Sequence[Pair]) -> float:
        """Return how deep any of some pairs share a place when the section is folded, mm, 0 where none does."""
        return float(self._end_depths(pairs).max(initial=0.0))

    def deepest(self, pairs: Sequence[Pair], deeper: float, *, first: bool = False) -> Crossed | None:
        """Return the deepest place found where a pair meets between flat and folded, by more than ``deeper`` mm.

        Pairs that cross when folded are left out. first: return any such place, where it only matters whether there is
        one.
        """
        if not pairs:
            return None
        together, speeds = _Together(pairs), np.array([pair.speed for pair in pairs])
        # the middle of the whole fold is looked at together with its end
        every, poses = np.arange(len(pairs)), self._poses_at(np.array([0.5, 1.0]))
        enough = np.concatenate([speeds / 2, 0.0 * every])
        gaps = together.gaps(np.tile(every, 2), poses, np.repeat([0, 1], len(pairs)), enough)
        # per span: its pair, where it begins and where it ends, how far a pair is sure not to meet within half of it
        pair = np.flatnonzero(-gaps[len(pairs) :] <= deeper)
        low, high, gaps, sure = np.zeros(len(pair)), np.ones(len(pair)), gaps[pair], speeds[pair] / 2
        found = [np.zeros((0, 4))]
        while len(pair):
            met = np.flatnonzero(gaps < -deeper)
            found.append(np.column_stack([-gaps[met], pair[met], low[met], high[met]]))
            if first and len(met):
                break
            doubt = (gaps >= -sure) & (gaps < sure) & (sure > _DOUBT) & (high - low > _LEAST_SPAN)
            if not doubt.any():
                break
            pair, low, high = np.tile(pair[doubt], 2), low[doubt], high[doubt]
            middle = (low + high) / 2
            low, high = np.concatenate([middle, low]), np.concatenate([high, middle])
            fractions, at = np.unique((low + high) / 2, return_inverse=True)
            sure = speeds[pair] * (high - low) / 2
            gaps = together.gaps(pair, self._poses_at(fractions), at, sure)
        return self._first_of(pairs, np.concatenate(found))

    def _first_of(self, pairs: Sequence[Pair], found: np.ndarray) -> Crossed | None:
        """Return the deepest of places, (n, 4): depth, pair, begin and end of the span; later spans come first."""
        if not len(found):
            return None
        depth, pair, low, high = found[np.lexsort((found[:, 2], -found[:, 3], found[:, 1], -found[:, 0]))[0]].tolist()
        one, two, middle = pairs[int(pair)].one, pairs[int(pair)].two, (low + high) / 2
        pose = self._poses_at(np.array([middle]))[0]
        a, b = (body.prisms.corners @ pose[body.panel, :, :3].T + pose[body.panel, :, 3] for body in (one, two))
        inner = (
            np.maximum(a.min(axis=(0, 1)), b.min(axis=(0, 1))),
            np.minimum(a.max(axis=(0, 1)), b.max(axis=(0, 1))),
        )
        return Crossed((one.panel, two.panel), middle, depth, place((inner[0] + inner[1]) / 2))

    def _poses_at(self, fractions: np.ndarray) -> np.ndarray:
        """Return where all panels are at fractions of the fold, (n, panels, 3, 4)."""
        new = np.array([fraction for fraction in fractions.tolist() if fraction not in self._poses])
        if len(new):
            self._poses.update(zip(new.tolist(), fold_at(self._part, new), strict=True))
        return np.array([self._poses[fraction] for fraction in fractions.tolist()])


class _Together:
    """The prisms of many pairs in one array, those of a body that is in several pairs once."""

    def __init__(self, pairs: Sequence[Pair]) -> None:
        bodies = {id(body): body for pair in pairs for body in (pair.one, pair.two)}
        number = {key: k for k, key in enumerate(bodies)}
        counts = [len(body.prisms.corners) for body in bodies.values()]
        self._prisms = Prisms.joined([body.prisms for body in bodies.values()])
        self._panel = np.repeat([body.panel for body in bodies.values()], counts)
        self._counts, self._starts = np.array(counts), np.concatenate([[0], np.cumsum(counts)])[:-1]
        self._one, self._two = (
            np.array([number[id(body)] for body in side])
            for side in ([pair.one for pair in pairs], [pair.two for pair in pairs])
        )

    def gaps(self, pair: np.ndarray, poses: np.ndarray, at: np.ndarray, enough: np.ndarray) -> np.ndarray:
        """Return how far pairs are apart, mm, below 0 by how deep they cross; ``enough``, (n,) mm, where it is more.

        Where they do not cross, it may be told too large, but never as enough where it is less.
        pair: (n,) which; poses: of all panels, (m, panels, 3, 4); at: (n,) which of the m poses. Prisms whose boxes are
        further apart than is enough are not looked at.
        """
        placed = self._prisms.placed(poses[:, self._panel])
        # axes and corners first: so numpy takes many prisms in one step
        corners = np.ascontiguousarray(placed.corners.transpose(2, 3, 0, 1))
        low, high = corners.min(axis=0), corners.max(axis=0)
        gaps = enough.copy()
        one, two = self._one[pair], self._two[pair]
        lows, highs = np.minimum.reduceat(low, self._starts, axis=2), np.maximum.reduceat(high, self._starts, axis=2)
        apart = _apart((lows, highs), at, one, two)
        near = np.flatnonzero(apart <= enough)
        sizes = self._counts[one[near]] * self._counts[two[near]]
        for some in in_shares(near, sizes):
            self._look(placed, (low, high), (one, two, at), some, gaps)
        return gaps

    def _look(
        self,
        placed: Prisms,
        boxes: tuple[np.ndarray, np.ndarray],
        where: tuple[np.ndarray, np.ndarray, np.ndarray],
        some: np.ndarray,
        gaps: np.ndarray,
    ) -> None:
        """Lessen gaps by what prisms of some of the bodies lie nearer; see ``gaps``."""
        one, two, at = where
        wide = self._counts[two[some]]
        span, k = counted(self._counts[one[some]] * wide)
        first = self._starts[one[some]][span] + k // wide[span]
        second = self._starts[two[some]][span] + k % wide[span]
        span = some[span]
        pose = at[span]
        apart, enough = _apart(boxes, pose, first, second), gaps[span]
        near = np.flatnonzero(apart <= enough)
        if not len(near):
            return
        # prisms that cross share a box; of those that do not the nearest mostly tells enough
        nearest = np.full(len(gaps), np.inf)
        np.minimum.at(nearest, span[near], apart[near])
        told = np.maximum(nearest[span[near]], 0.0)
        for these in (near[apart[near] <= told], near[apart[near] > told]):
            open_yet = these[gaps[span[these]] >= enough[these]]
            if len(open_yet):
                at_poses = pose[open_yet]
                depths = depths_of(placed, (at_poses, first[open_yet]), (at_poses, second[open_yet]))
                np.minimum.at(gaps, span[open_yet], -depths)


def _apart(boxes: tuple[np.ndarray, np.ndarray], at: np.ndarray, one: np.ndarray, two: np.ndarray) -> np.ndarray:
    """Return how far pairs of boxes are apart along some axis at most, (n,) mm, below 0 where they overlap on all.

    boxes: where they begin and end, (3, m, k) mm each, k boxes at m poses; at, one, two: (n,) pose and boxes of a pair.
    """
    low, high = boxes
    apart: np.ndarray = np.maximum(low[:, at, one] - high[:, at, two], low[:, at, two] - high[:, at, one]).max(axis=0)
    return apart
