"""Breaks: where walls part so that every ring opens and every section fits, proposed along free stretches."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import GeometryError
from ..findings import Finding, Location, Severity
from ..solid.facets import Edge, Facet, Facets, Shell, ShellKind
from ..solid.part_wall import part_wall
from ..solid.solid import Role
from ..tolerance import SNAP
from .hinges import choose_hinges
from .pulls import pull_back
from .settings import BuildSettings

__all__ = ["propose_breaks"]

#: Break positions are looked for at this spacing along a wall, mm.
_STEP = 5.0

#: More joiners than this are not proposed for one ring of walls.
_MOST = 12


@dataclass(frozen=True, slots=True, eq=False)
class _Loop:
    """A ring of walls, developed: facets in order, where each begins, and where breaks may lie, mm."""

    facets: tuple[Facet, ...]
    starts: np.ndarray
    reversed_u: tuple[bool, ...]
    total: float
    allowed: np.ndarray
    fixed: tuple[float, ...]


def propose_breaks(
    facets: Facets, settings: BuildSettings, *, largest: tuple[float, float]
) -> tuple[Facets, tuple[Finding, ...]]:
    """Return the facets with break lines added, so that every ring of walls opens and its sections fit ``largest``.

    Greedy: the fewest evenly spaced breaks, each on a free stretch of wall. Where there is no free
    stretch the finding `no-break-found` says so and the ring stays as it is.
    """
    findings = []
    for name in range(len(facets.shells)):
        for first in _ring_starts(facets, facets.shells[name]):
            loop = _develop(facets, first, settings)
            if loop is None:
                continue
            longest = max(largest) if _height(facets, loop) <= min(largest) else min(largest)
            if loop.fixed and _longest_run(loop, loop.fixed) <= longest:
                continue
            chosen = _even_breaks(loop, longest)
            if chosen is None:
                findings.append(_none_found(facets, loop, longest))
                continue
            facets = _part(facets, loop, chosen)
    return facets, tuple(findings)


def _ring_starts(facets: Facets, shell: Shell) -> list[int]:
    if shell.kind is ShellKind.ROOF:
        return []
    seen: set[int] = set()
    starts = []
    for facet in shell.facets:
        if facet in seen or not facets.facets[facet].upright:
            continue
        ring = _ring(facets, facet)
        if ring is not None:
            seen.update(ring)
            starts.append(facet)
    return starts


def _steps(facets: Facets, facet: int) -> list[int]:
    """Return the upright neighbours that flex or break edges tie to a facet."""
    near = []
    for edge_id in facets.facets[facet].ring_edges[0]:
        edge = facets.edges[edge_id]
        other = edge.right if edge.left == facet else edge.left
        if other is not None and edge.role in (Role.FLEX, Role.BREAK) and facets.facets[other].upright:
            near.append(other)
    return near


def _ring(facets: Facets, first: int) -> list[int] | None:
    """Return the facets round a ring of walls in order, or None where it is open or branches."""
    ring = [first]
    before = None
    while True:
        near = [facet for facet in _steps(facets, ring[-1]) if facet != before]
        if len(_steps(facets, ring[-1])) != 2 or not near:
            return None
        if near[0] == first:
            return ring
        if near[0] in ring:
            return None
        before = ring[-1]
        ring.append(near[0])


def _develop(facets: Facets, first: int, settings: BuildSettings) -> _Loop | None:
    ring = _ring(facets, first)
    if ring is None or len(ring) < 3:
        return None
    pulls = pull_back(facets, choose_hinges(facets).edges, settings)
    reach = settings.joiner.cheek_width / 2 + settings.joiner.margin
    starts, reversed_u, spans, fixed = [], [], [], []
    at = 0.0
    for k, facet_id in enumerate(ring):
        facet = facets.facets[facet_id]
        points = facets.ring(facet)
        low, high = float(points[:, 0].min()), float(points[:, 0].max())
        ahead = _shared(facets, facet, ring[(k + 1) % len(ring)])
        back = abs(float(facet.frame.flatten(facets.points[[ahead.start]])[0, 0]) - low) < SNAP
        starts.append(at)
        reversed_u.append(back)
        for a, b in _free_stretches(facets, pulls.facets[facet_id].rings, facet, reach):
            spans.append((at + high - b, at + high - a) if back else (at + a - low, at + b - low))
        if ahead.role is Role.BREAK:
            fixed.append(at + high - low)
        at += high - low
    candidates = [np.array([(a + b) / 2]) if b - a < _STEP else np.arange(a, b, _STEP) for a, b in spans]
    allowed = np.sort(np.concatenate(candidates)) if candidates else np.zeros(0)
    return _Loop(tuple(facets.facets[f] for f in ring), np.array(starts), tuple(reversed_u), at, allowed, tuple(fixed))


def _shared(facets: Facets, facet: Facet, other: int) -> Edge:
    edges = [facets.edges[e] for e in facet.ring_edges[0]]
    return next(e for e in edges if {e.left, e.right} == {facet.id, other} and e.role in (Role.FLEX, Role.BREAK))


def _free_stretches(facets: Facets, rings: Sequence, facet: Facet, reach: float) -> list[tuple[float, float]]:
    """Return the stretches of u where a joiner meets no bend, opening or corner of the outline, mm."""
    points = rings[0].points
    blocked = []
    for r, ring in enumerate(rings):
        for start, end in ring.sides:
            if r > 0 or abs(start[0] - end[0]) < SNAP:
                blocked.append((min(start[0], end[0]) - reach, max(start[0], end[0]) + reach))
    for ring in rings[1:]:
        blocked.append((ring.points[:, 0].min() - reach, ring.points[:, 0].max() + reach))
    # above a door or beside a step the wall is no single strip from floor to top
    floor = points[:, 1].min()
    gaps = [
        (min(s[0], e[0]) - reach, max(s[0], e[0]) + reach)
        for s, e in rings[0].sides
        if e[0] > s[0] + SNAP and min(s[1], e[1]) > floor + SNAP
    ]
    free = [(float(points[:, 0].min()), float(points[:, 0].max()))]
    for low, high in [*blocked, *gaps]:
        free = [piece for a, b in free for piece in ((a, min(b, low)), (max(a, high), b)) if piece[1] - piece[0] > SNAP]
    return free


def _height(facets: Facets, loop: _Loop) -> float:
    rings = [facets.ring(facet)[:, 1] for facet in loop.facets]
    return float(max(np.ptp(ring) for ring in rings))


def _longest_run(loop: _Loop, breaks: Sequence[float]) -> float:
    at = np.sort(np.asarray(breaks) % loop.total)
    return float(np.diff(np.append(at, at[0] + loop.total)).max())


def _even_breaks(loop: _Loop, longest: float) -> tuple[float, ...] | None:
    """Return the fewest break positions whose longest run is at most ``longest``, as even as possible."""
    allowed = loop.allowed
    if not len(allowed):
        return None
    best: tuple[float, tuple[float, ...]] | None = None
    for count in range(max(1, math.ceil(loop.total / longest)), _MOST + 1):
        spacing = loop.total / count
        for first in allowed:
            wanted = (first + spacing * np.arange(count)) % loop.total
            off = np.abs((allowed[None] - wanted[:, None] + loop.total / 2) % loop.total - loop.total / 2)
            picked = tuple(sorted({float(allowed[k]) for k in off.argmin(axis=1)}))
            run = _longest_run(loop, picked)
            if best is None or run < best[0] - SNAP:
                best = (run, picked)
        if best is not None and best[0] <= longest:
            return best[1]
    return None


def _part(facets: Facets, loop: _Loop, chosen: Sequence[float]) -> Facets:
    # from the far end of each wall inward, so that what is left of it keeps its id and its u
    for at in sorted(chosen, reverse=True):
        k = int(np.searchsorted(loop.starts, at, side="right")) - 1
        facet = loop.facets[k]
        ring = facet.frame.flatten(facets.points[list(facet.rings[0])])
        offset = at - loop.starts[k]
        u = ring[:, 0].max() - offset if loop.reversed_u[k] else ring[:, 0].min() + offset
        facets = _part_where(facets, facet, float(u))
    return facets


def _part_where(facets: Facets, home: Facet, u: float) -> Facets:
    """Part whichever facet in the plane of ``home`` now lies at its coordinate ``u``."""
    for facet in facets.facets:
        if (
            abs(facet.frame.n @ home.frame.n - 1.0) > SNAP
            or abs((facet.frame.origin - home.frame.origin) @ home.frame.n) > SNAP
        ):
            continue
        here = home.frame.flatten(facets.points[list(facet.rings[0])])
        if here[:, 0].min() < u < here[:, 0].max() and set(facet.faces) <= set(home.faces):
            shift = float(facet.frame.flatten(home.frame.origin[None])[0, 0])
            return part_wall(facets, facet.id, u + shift)
    raise GeometryError(f"No wall was found to part {u:.1f} mm along face {home.faces[0]}.")


def _none_found(facets: Facets, loop: _Loop, longest: float) -> Finding:
    facet = loop.facets[0]
    if not len(loop.allowed):
        why = "no wall has a stretch clear of bends and openings that is wide enough for a joiner"
    else:
        run = _longest_run(loop, loop.allowed.tolist())
        why = f"with every possible break one section stays {run:.0f} mm long; stock and laser take {longest:.0f} mm"
    return Finding(
        Severity.ERROR,
        "no-break-found",
        f"No breaks can be proposed for the ring of walls at face {facet.faces[0]}: {why}; "
        "move openings together, use narrower cheeks or larger stock.",
        Location(faces=facet.faces, source=facets.sources[facet.source]),
    )
