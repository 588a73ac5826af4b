"""Runs: flat stretches of a building unrolled, so that a pattern goes on from one to the next.

Walls are unrolled along the middle of their board: a bend is as long as its lattice, a joiner takes no length of its
own. Slopes count from their eaves, in steps that rise alike, so that courses meet at hips and valleys.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from ..leaders import leader_of
from ..solid.facets import Edge, Facet, Facets, Frame
from ..tolerance import COPLANAR_ANGLE, LENGTH, SNAP, UPRIGHT
from ..unfold.setbacks import Setbacks

__all__ = ["Run", "find_runs"]

#: Slopes whose courses would be this many times as high as those of the main slope keep courses of their own.
_TALLEST = 1.75


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """Facets in one plane, with the coordinates of their finish.

    facets: ids. frame: of the first of them. shift: (2,) mm, what is added to coordinates in its plane: x then runs
    round the building, y counts from foot or eaves. scale: what heights are multiplied by, 1 but for slopes that are
    flatter or steeper than the main one. ring, rise, reach: see ``Surface``; measured in these coordinates.
    """

    facets: tuple[int, ...]
    frame: Frame
    shift: np.ndarray
    scale: float = 1.0
    ring: float | None = None
    rise: float | None = None
    reach: float = 0.0

    def flatten(self, points: np.ndarray) -> np.ndarray:
        """Return the finish's coordinates, (k, 2) mm, of model points, (k, 3) mm."""
        flat: np.ndarray = (self.frame.flatten(points) + self.shift) * np.array([1.0, 1.0 / self.scale])
        return flat

    def raise_(self, points: np.ndarray) -> np.ndarray:
        """Return model points, (k, 3) mm, of the finish's coordinates, (k, 2) mm."""
        return self.frame.raise_(np.asarray(points) * np.array([1.0, self.scale]) - self.shift)

    @property
    def upright(self) -> bool:
        """Whether the run is a wall."""
        return abs(float(self.frame.n[2])) < UPRIGHT


def find_runs(facets: Facets, setbacks: Setbacks) -> tuple[Run, ...]:
    """Return the runs of a building; every facet is in one."""
    groups = _coplanar(facets)
    run_of = {facet: k for k, group in enumerate(groups) for facet in group}
    runs = [Run(group, facets.facets[group[0]].frame, np.zeros(2)) for group in groups]
    walls = [k for k, run in enumerate(runs) if run.upright]
    slopes = [k for k, run in enumerate(runs) if not run.upright and float(run.frame.v[2]) > SNAP]
    placed = {**_unrolled(facets, setbacks, runs, run_of, walls), **_slopes(facets, runs, run_of, slopes)}
    for k, run in enumerate(runs):
        if k not in placed:
            placed[k] = replace(run, shift=-_corners(facets, run, run.frame).min(axis=0))
    return tuple(placed[k] for k in range(len(runs)))


def _coplanar(facets: Facets) -> list[tuple[int, ...]]:
    """Return groups of facets that lie in one plane and hang together, in the order of their first ones."""
    root = list(range(len(facets.facets)))

    for edge in facets.edges:
        if edge.right is not None and np.arccos(np.clip(_cos(facets, edge), -1.0, 1.0)) < COPLANAR_ANGLE:
            one, other = sorted((leader_of(root, edge.left), leader_of(root, edge.right)))
            root[other] = one
    groups: dict[int, list[int]] = {}
    for facet in range(len(facets.facets)):
        groups.setdefault(leader_of(root, facet), []).append(facet)
    return [tuple(group) for group in groups.values()]


def _cos(facets: Facets, edge: Edge) -> float:
    left, right = facets.pair(edge)
    return float(left.frame.n @ right.frame.n)


def _corners(facets: Facets, run: Run, frame: Frame) -> np.ndarray:
    """Return the corners of all outlines of a run in a plane's coordinates, (k, 2) mm."""
    return np.concatenate([frame.flatten(facets.corners(facets.facets[facet])) for facet in run.facets])


def _links(
    facets: Facets, runs: list[Run], run_of: Mapping[int, int], among: Iterable[int]
) -> dict[int, list[tuple[int, Edge]]]:
    """Return, for every run, its neighbours among some runs with the edge between them."""
    allowed = set(among)
    links: dict[int, list[tuple[int, Edge]]] = {k: [] for k in sorted(allowed)}
    for edge in facets.edges:
        if edge.right is None:
            continue
        one, other = run_of[edge.left], run_of[edge.right]
        if one != other and one in allowed and other in allowed:
            links[one].append((other, edge))
            links[other].append((one, edge))
    return links


# -- walls ------------------------------------------------------------------------------------------


def _unrolled(
    facets: Facets, setbacks: Setbacks, runs: list[Run], run_of: Mapping[int, int], walls: list[int]
) -> dict[int, Run]:
    """Return the walls with x running on from one to the next, and heights over the foot of the lowest."""
    if not walls:
        return {}
    links = {
        k: [(other, edge) for other, edge in several if _is_corner(facets, edge)]
        for k, several in _links(facets, runs, run_of, walls).items()
    }
    starts: dict[int, float] = {}
    rings: dict[int, float | None] = {}
    tops: list[tuple[int, float]] = []
    for first in walls:
        if first in starts:
            continue
        group, ring = _walk(facets, setbacks, runs, run_of, links, first, starts)
        rings.update(dict.fromkeys(group, ring))
        heights = [float(facets.ends(edge)[:, 2].max()) for k in group for _, edge in links[k]]
        own = np.concatenate([facets.corners(facets.facets[f])[:, 2] for k in group for f in runs[k].facets])
        tops.append((len(group), min(heights) if heights else float(own.max())))
    foot = min(float(facets.corners(facets.facets[f])[:, 2].min()) for k in walls for f in runs[k].facets)
    # the walls of the largest ring say how high courses are, all others share them
    rise = max(tops, key=lambda top: top[0])[1] - foot
    reach = max(float(facets.corners(facets.facets[f])[:, 2].max()) for k in walls for f in runs[k].facets) - foot
    return {
        k: replace(
            runs[k],
            shift=np.array([starts[k], float(runs[k].frame.origin[2]) - foot]),
            ring=rings[k],
            rise=rise if rise > SNAP else None,
            reach=reach,
        )
        for k in walls
    }


def _is_corner(facets: Facets, edge: Edge) -> bool:
    """Whether an edge stands upright, so that walls go on behind it."""
    run = np.abs(np.diff(facets.ends(edge), axis=0)[0])
    return bool(run[2] > SNAP and max(run[0], run[1]) < SNAP)


def _walk(
    facets: Facets,
    setbacks: Setbacks,
    runs: list[Run],
    run_of: Mapping[int, int],
    links: Mapping[int, list[tuple[int, Edge]]],
    first: int,
    starts: dict[int, float],
) -> tuple[list[int], float | None]:
    """Give every wall that hangs on the first one its place along x; return them, and the length of their ring."""
    starts[first] = -float(_corners(facets, runs[first], runs[first].frame)[:, 0].min())
    order = [first]
    loops: list[float] = []
    for here in order:
        for there, edge in links[here]:
            home = edge.left if run_of[edge.left] == here else edge.right
            assert home is not None
            away = edge.beyond(home)
            assert away is not None
            low, high = facets.ends(edge) if edge.left == home else facets.ends(edge)[::-1]
            # rings run counter-clockwise, so upward at their right end
            onward = 1.0 if high[2] > low[2] else -1.0
            bend = setbacks.bends.get(edge.id)
            gain = 0.0 if bend is None else bend.gain
            at = starts[here] + float(runs[here].frame.flatten(low[None])[0, 0]) + onward * gain
            start = at - float(runs[there].frame.flatten(low[None])[0, 0])
            if there not in starts:
                starts[there] = start
                order.append(there)
            elif abs(start - starts[there]) > SNAP:
                loops.append(abs(start - starts[there]))
    return order, max(loops, default=None)


# -- slopes -----------------------------------------------------------------------------------------


def _slopes(facets: Facets, runs: list[Run], run_of: Mapping[int, int], slopes: list[int]) -> dict[int, Run]:
    """Return slopes with heights from their eaves; those that meet at hips or valleys have courses that rise alike."""
    links = {
        k: [other for other, edge in several if not _is_level(facets, edge)]
        for k, several in _links(facets, runs, run_of, slopes).items()
    }
    placed: dict[int, Run] = {}
    for first in slopes:
        if first in placed:
            continue
        group = [first]
        for here in group:
            group += [other for other in links[here] if other not in group]
        main = max(group, key=lambda k: (_size(facets, runs[k]), -k))
        eaves = min(_lowest(facets, runs[k]) for k in group)
        steep = float(runs[main].frame.v[2])
        span = _corners(facets, runs[main], runs[main].frame)[:, 1]
        rise = float(np.ptp(span)) if abs(_lowest(facets, runs[main]) - eaves) < SNAP else None
        for k in group:
            scale = steep / float(runs[k].frame.v[2])
            alike = 1.0 / _TALLEST < scale < _TALLEST
            placed[k] = _slope(
                facets, runs[k], eaves if alike else _lowest(facets, runs[k]), scale if alike else 1.0, rise
            )
    return placed


def _slope(facets: Facets, run: Run, eaves: float, scale: float, rise: float | None) -> Run:
    """Return a slope with y from a level up and x from the middle of its foot."""
    frame = run.frame
    corners = _corners(facets, run, frame)
    foot = corners[corners[:, 1] < corners[:, 1].min() + SNAP, 0]
    lift = (float(frame.origin[2]) - eaves) / float(frame.v[2])
    shift = np.array([-(float(foot.min()) + float(foot.max())) / 2, lift])
    return replace(run, shift=shift, scale=scale, rise=rise, reach=float(corners[:, 1].max() + lift) / scale)


def _is_level(facets: Facets, edge: Edge) -> bool:
    return bool(abs(float(np.diff(facets.ends(edge)[:, 2])[0])) < SNAP)


def _lowest(facets: Facets, run: Run) -> float:
    return min(float(facets.corners(facets.facets[facet])[:, 2].min()) for facet in run.facets)


def _size(facets: Facets, run: Run) -> float:
    """Return the area of a run's outlines, mm^2."""
    return sum(_area(facets, facets.facets[facet]) for facet in run.facets)


def _area(facets: Facets, facet: Facet) -> float:
    x, y = facets.ring(facet).T
    return max(abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2, LENGTH)
