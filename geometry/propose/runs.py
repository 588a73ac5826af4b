"""Runs of walls: rings and chains of upright facets that bend into one another, developed along a line."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from ..settings import BuildSettings
from ..solid.facets import Edge, Facet, Facets, Shell, ShellKind
from ..solid.solid import Role
from ..tolerance import SNAP
from ..unfold.cheeks import least_cheeks
from ..unfold.clear_wall import apex, clear_stretches
from ..unfold.corner import parted_setback
from ..unfold.met_walls import met_stretches, porch_stretches
from ..unfold.setbacks import Setbacks, stock_for
from .parting import Places

__all__ = ["Opening", "Run", "WallRing", "develop", "runs_of"]

#: Break positions are looked for at this spacing along a wall, mm.
_STEP = 5.0

#: How much more a joiner with narrow cheeks counts: it holds less.
_NARROW = 0.75

#: How much a parted corner shows beyond the joints of its walls: it leaves a groove, and its tie stands in the room.
_CORNER = 3.0


@dataclass(frozen=True, slots=True)
class WallRing:
    """The facets along a run of walls, in order, the edges where they meet, and whether it closes to a ring.

    The k-th edge lies after the k-th facet; a chain has one edge fewer than facets.
    """

    facets: tuple[int, ...]
    edges: tuple[int, ...]
    closed: bool


#: Where a run may part: a place along the modelled run, mm, where a wall is cut, or the edge of a corner.
Opening = float | Edge


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """A run of walls, developed: facets in order, and where each begins along the modelled run, mm.

    total: its length in the flat, mm; height: of its highest wall, mm. choices: where it may part, in the flat, the
    openings beside them: first breaks whose joiners are as set, then those with room for narrower cheeks only, then
    corners. fixed: breaks that are marked, middle and width, mm.
    """

    facets: tuple[Facet, ...]
    closed: bool
    starts: np.ndarray
    reversed_u: tuple[bool, ...]
    total: float
    height: float
    choices: tuple[tuple[Places, tuple[Opening, ...]], ...]
    fixed: tuple[tuple[float, float], ...]


# -- finding runs ----------------------------------------------------------------------------------


def runs_of(facets: Facets, shell: Shell) -> list[WallRing]:
    """Return the rings and chains of a shell's walls that bends and breaks tie together.

    A wall that bends into a roof or a floor, or into more than two walls, is part of no run.
    """
    if shell.kind is ShellKind.ROOF or shell.stands_on:
        return []
    near = {facet: _neighbours(facets, facet) for facet in shell.facets if facets.facets[facet].upright}
    runs = []
    seen: set[int] = set()
    # chains first, each from an end; what is left then are rings
    for first in sorted(near, key=lambda facet: (len(near[facet]) > 1, facet)):
        if first in seen:
            continue
        run = _followed(first, near)
        seen |= {*run.facets}
        if all(_is_link(facets, facet, near) for facet in run.facets) and (not run.closed or len(run.facets) > 2):
            runs.append(run)
    return runs


def _neighbours(facets: Facets, facet: int) -> list[tuple[int, int]]:
    """Return the upright neighbours that flex or break edges tie to a facet, each with that edge."""
    near = []
    for edge_id in facets.facets[facet].ring_edges[0]:
        edge = facets.edges[edge_id]
        other = edge.beyond(facet)
        if other is not None and edge.role in (Role.FLEX, Role.BREAK) and facets.facets[other].upright:
            near.append((other, edge_id))
    return near


def _followed(first: int, near: dict[int, list[tuple[int, int]]]) -> WallRing:
    """Return the run that begins with a facet and goes on over its first neighbour."""
    run = [first]
    edges: list[int] = []
    while True:
        ahead = next(((other, edge) for other, edge in near[run[-1]] if edge not in edges), None)
        if ahead is None:
            return WallRing(tuple(run), tuple(edges), closed=False)
        edges.append(ahead[1])
        if ahead[0] in run:
            return WallRing(tuple(run), tuple(edges), closed=ahead[0] == first)
        run.append(ahead[0])


def _is_link(facets: Facets, facet: int, near: dict[int, list[tuple[int, int]]]) -> bool:
    """Whether a wall goes on into two walls at most, each over one edge, and bends into nothing else."""
    others = [other for other, _ in near[facet]]
    bent = [facets.edges[edge] for edge in facets.facets[facet].ring_edges[0]]
    return (
        len(others) <= 2
        and len(set(others)) == len(others)
        and all(
            edge.role is not Role.FLEX or (other := edge.beyond(facet)) is None or facets.facets[other].upright
            for edge in bent
        )
    )


# -- developing one --------------------------------------------------------------------------------


def develop(
    facets: Facets,
    ring: WallRing,
    setbacks: Setbacks,
    settings: BuildSettings,
    *,
    may_part: Collection[tuple[int, int]] = (),
) -> Run:
    """Lay a run of walls out along a line. may_part: host edges, (source, id), whose corners may part."""
    taken = settings.joiner.core_width + 2 * settings.joiner.gap
    starts, reversed_u, corners, fixed_at = [], [], [], []
    cuts: tuple[list[_CutPlace], list[_CutPlace]] = ([], [])
    bends: list[tuple[float, float]] = []
    at = 0.0
    for k, facet_id in enumerate(ring.facets):
        facet = facets.facets[facet_id]
        low, high = _extent(facets, facet)
        back = _runs_back(facets, ring, k, low)
        starts.append(at)
        reversed_u.append(back)
        for places, found in zip(cuts, _cut_places(facets, facet, setbacks, settings), strict=True):
            places += [(at + (high - u if back else u - low), cost, aside) for u, cost, aside in found]
        at += high - low
        edge = facets.edges[ring.edges[k]] if k < len(ring.edges) else None
        if edge is not None and edge.role is Role.BREAK:
            fixed_at.append(at)
        elif edge is not None and edge.id in setbacks.bends:
            bends.append((at, setbacks.bends[edge.id].gain))
            if {(edge.source, host) for host in edge.host_edges} <= set(may_part):
                corners.append((at, edge))
    flat = _Flat(bends)
    return Run(
        facets=tuple(facets.facets[f] for f in ring.facets),
        closed=ring.closed,
        starts=np.array(starts),
        reversed_u=tuple(reversed_u),
        total=at + sum(gain for _, gain in bends),
        height=max(float(np.ptp(facets.ring(facets.facets[f])[:, 1])) for f in ring.facets),
        choices=(
            *(_break_choice(sorted(places), flat, taken) for places in cuts),
            (_corner_places(facets, corners, flat, setbacks, settings), tuple(edge for _, edge in corners)),
        ),
        fixed=tuple((float(x), taken) for x in flat.of(fixed_at)),
    )


#: A place for a break: where it lies, mm, how much it shows, and how far off the middle it is, mm.
_CutPlace = tuple[float, float, float]


def _cut_places(
    facets: Facets, facet: Facet, setbacks: Setbacks, settings: BuildSettings
) -> tuple[list[_CutPlace], list[_CutPlace]]:
    """Return where along a wall's u it may be cut: for joiners as they are set, and for narrower ones only."""
    joiner, outline = settings.joiner, facets.ring(facet)
    met = [*met_stretches(facets, facet, settings), *porch_stretches(facets, facet)]
    wide, least = (
        clear_stretches(setbacks.facets[facet.id], outline, cheeks / 2 + joiner.margin, met=met)
        for cheeks in (joiner.cheek_width, least_cheeks(joiner))
    )
    cost, middle = _visibility(facet, outline), sum(_extent(facets, facet)) / 2
    usual = [(float(u), cost, abs(float(u) - middle)) for a, b in wide for u in _candidates(a, b)]
    narrow = [
        (float(u), cost + _NARROW, abs(float(u) - (a + b) / 2))
        for a, b in least
        for u in _candidates(a, b)
        if not any(low <= u <= high for low, high in wide)
    ]
    return usual, narrow


def _extent(facets: Facets, facet: Facet) -> tuple[float, float]:
    """Return from where to where along its u a wall runs, mm."""
    along = facets.ring(facet)[:, 0]
    return float(along.min()), float(along.max())


def _break_choice(found: Sequence[_CutPlace], flat: _Flat, taken: float) -> tuple[Places, tuple[Opening, ...]]:
    """Return places for breaks along a run, ascending, in the flat. taken: what a break takes of it, mm."""
    at, costs, asides = np.array(found, dtype=float).reshape(-1, 3).T
    return Places(flat.of(at), costs, asides, np.full(len(found), taken)), tuple(at.tolist())


class _Flat:
    """How much board lies flat between the start of a run and places along it."""

    def __init__(self, bends: Sequence[tuple[float, float]]) -> None:
        """bends: where along the modelled run a corner bends, and what the bend adds to the flat length there, mm."""
        self._corners = np.array([at for at, _ in bends])
        self._gains = np.array([gain for _, gain in bends])

    def of(self, places: np.ndarray | Sequence[float]) -> np.ndarray:
        """Return the flat length up to each place; at a corner itself up to the middle of its bend, mm."""
        at = np.asarray(places, dtype=float)
        before = np.heaviside(at[..., None] - self._corners, 0.5)
        result: np.ndarray = at + before @ self._gains
        return result


def _corner_places(
    facets: Facets,
    corners: Sequence[tuple[float, Edge]],
    flat: _Flat,
    setbacks: Setbacks,
    settings: BuildSettings,
) -> Places:
    """Return the corners of a run that may part, as places in the flat."""
    costs, widths = [], []
    for _, edge in corners:
        walls = facets.pair(edge)
        thickness = stock_for(facets, walls[0], settings).thickness
        widths.append(setbacks.bends[edge.id].gain + 2 * parted_setback(edge.angle, thickness=thickness))
        costs.append(_CORNER + sum(_visibility(wall, facets.ring(wall)) for wall in walls) / 2)
    return Places(
        flat.of([at for at, _ in corners]), np.array(costs), np.zeros(len(corners)), np.array(widths, dtype=float)
    )


def _runs_back(facets: Facets, ring: WallRing, k: int, low: float) -> bool:
    """Whether a run goes through its k-th facet against the facet's u, which begins at ``low``, mm."""
    facet = facets.facets[ring.facets[k]]
    if k < len(ring.edges):
        return abs(facets.u_of(facets.edges[ring.edges[k]], facet) - low) < SNAP
    if not ring.edges:
        return False
    return abs(facets.u_of(facets.edges[ring.edges[-1]], facet) - low) >= SNAP


def _candidates(low: float, high: float) -> np.ndarray:
    """Return places on a free stretch: its middle, and from there outward in steps."""
    middle, reach = (low + high) / 2, (high - low) / 2
    steps = np.arange(0.0, reach + SNAP, _STEP)
    return np.unique(np.concatenate([middle - steps, middle + steps]))


def _visibility(facet: Facet, ring: np.ndarray) -> float:
    """Return how much a joiner on a wall shows: least on a blank one, most on one that people walk through."""
    floor = ring[:, 1].min()
    ahead = np.roll(ring, -1, axis=0)
    under = (ahead[:, 0] > ring[:, 0] + SNAP) & (np.minimum(ring[:, 1], ahead[:, 1]) > floor + SNAP)
    if under.any():
        return 2.0
    if len(facet.rings) > 1:
        return 1.0
    # the sloping top of a gable shows a joiner's end, a level one hides it under the eaves
    return 0.0 if apex(ring) is None else 0.5
