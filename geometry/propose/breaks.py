"""Breaks: where walls part so that every ring opens and every section fits, proposed along free stretches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..board.stock import Grain
from ..findings import Finding, Location, Severity
from ..settings import BuildSettings
from ..solid.facets import Edge, Facet, Facets, Shell, ShellKind
from ..solid.solid import Role
from ..tolerance import SNAP
from ..unfold.corner import SHARPEST_BEND
from ..unfold.setbacks import Setbacks, find_setbacks
from .parting import part_loop
from .proposed import Cut, Proposed

__all__ = ["propose_breaks"]

#: Break positions are looked for at this spacing along a wall, mm.
_STEP = 5.0


@dataclass(frozen=True, slots=True, eq=False)
class _Loop:
    """A ring of walls, developed: facets in order, where each begins along the modelled ring, mm.

    corners, gains: where the ring bends, and what each bend adds to the flat length there.
    allowed, costs, asides: where breaks may lie, how much each would show, and how far it is from the
    middle of its wall; fixed: breaks that are marked.
    """

    facets: tuple[Facet, ...]
    starts: np.ndarray
    reversed_u: tuple[bool, ...]
    total: float
    corners: np.ndarray
    gains: np.ndarray
    allowed: np.ndarray
    costs: np.ndarray
    asides: np.ndarray
    fixed: tuple[float, ...]

    def flat(self, places: np.ndarray | Sequence[float]) -> np.ndarray:
        """Return how much board lies flat between the start of the ring and each place, mm."""
        at = np.asarray(places, dtype=float)
        before = at[..., None] > self.corners
        result: np.ndarray = at + before @ self.gains
        return result


def propose_breaks(facets: Facets, settings: BuildSettings, *, largest: tuple[float, float]) -> Proposed:
    """Return cuts across walls, so that every ring of walls opens and its sections fit ``largest``, mm.

    Fewest breaks first, then those that show least (walls without openings before those with windows,
    those before walls with doors), then sections of even length, then the middle of walls; marked
    breaks stay. Where no choice will do the finding `no-break-found` says why and the ring stays as it is.

    >>> from stowfold.geometry.flow.added import as_solid
    >>> from stowfold.geometry.plan.walls import block_out
    >>> from stowfold.geometry.solid.find import find_facets
    >>> ring = as_solid(block_out([(0, 0), (200, 0), (200, 120), (0, 120)]))
    >>> len(propose_breaks(find_facets(ring), settings, largest=(580.0, 280.0)).cuts)
    2
    """
    rings = [ring for shell in facets.shells for ring in _rings(facets, shell)]
    if not rings:
        return Proposed()
    # all corners of a ring will bend once it is parted
    bent = [edge.id for edge in facets.edges if edge.role is Role.FLEX and 0 < abs(edge.angle) <= SHARPEST_BEND]
    setbacks = find_setbacks(facets, bent, settings)
    across = _room_across_grain(settings, largest)
    cuts: list[Cut] = []
    findings = []
    for ring in rings:
        loop = _develop(facets, ring, setbacks, settings)
        room = max(largest) if _height(facets, loop) <= min(largest) else min(largest)
        chosen = _choose(loop, room, settings)
        if across is not None:
            kept = _choose(loop, across, settings)
            if kept is not None and (chosen is None or len(kept) <= len(chosen) + settings.hinge.grain_joiners):
                chosen = kept
        if chosen is None:
            findings.append(_none_found(facets, loop, room))
        else:
            # from the far end inward, so that what is left of a wall stays the first piece
            cuts += [_cut(facets, loop, float(loop.allowed[k])) for k in reversed(chosen)]
    return Proposed(cuts=tuple(cuts), findings=tuple(findings))


def _choose(loop: _Loop, room: float, settings: BuildSettings) -> tuple[int, ...] | None:
    """Return which allowed places part a ring so that no section is longer than ``room``, mm; None where none do."""
    return part_loop(
        loop.flat(loop.allowed),
        loop.costs,
        total=float(loop.total + loop.gains.sum()),
        # between two break lines lie a section and, at either end, half a core and a gap
        longest=room + settings.joiner.core_width + 2 * settings.joiner.gap,
        asides=loop.asides,
        fixed=[float(x) for x in loop.flat(loop.fixed)],
    )


def _room_across_grain(settings: BuildSettings, largest: tuple[float, float]) -> float | None:
    """Return how long a wall's run may be with slits along the grain, mm; None where that is not asked for."""
    if not settings.hinge.along_grain or settings.walls.grain not in (Grain.LENGTH, Grain.WIDTH):
        return None
    return min(largest) if settings.walls.grain is Grain.LENGTH else max(largest)


def _rings(facets: Facets, shell: Shell) -> list[list[int]]:
    """Return the facets round every ring of walls that is closed, in order."""
    if shell.kind is ShellKind.ROOF:
        return []
    rings: list[list[int]] = []
    for facet in shell.facets:
        if facets.facets[facet].upright and not any(facet in ring for ring in rings):
            ring = _ring(facets, facet)
            if ring is not None and len(ring) > 2:
                rings.append(ring)
    return rings


def _steps(facets: Facets, facet: int) -> list[int]:
    """Return the upright neighbours that flex or break edges tie to a facet."""
    near = []
    for edge_id in facets.facets[facet].ring_edges[0]:
        edge = facets.edges[edge_id]
        other = edge.beyond(facet)
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


def _develop(facets: Facets, ring: Sequence[int], setbacks: Setbacks, settings: BuildSettings) -> _Loop:
    reach = settings.joiner.cheek_width / 2 + settings.joiner.margin
    starts, reversed_u, spans, fixed = [], [], [], []
    corners, gains = [], []
    at = 0.0
    for k, facet_id in enumerate(ring):
        facet = facets.facets[facet_id]
        points = facets.ring(facet)
        low, high = float(points[:, 0].min()), float(points[:, 0].max())
        ahead = _shared(facets, facet, ring[(k + 1) % len(ring)])
        back = abs(facets.u_of(ahead, facet) - low) < SNAP
        starts.append(at)
        reversed_u.append(back)
        for a, b in _free_stretches(facets, setbacks.facets[facet_id].rings, facet, reach):
            ends = (at + high - b, at + high - a) if back else (at + a - low, at + b - low)
            spans.append((*ends, _visibility(facet, points), at + (high - low) / 2))
        at += high - low
        if ahead.role is Role.BREAK:
            fixed.append(at)
        elif ahead.id in setbacks.bends:
            corners.append(at)
            gains.append(setbacks.bends[ahead.id].gain)
    found = sorted((float(x), cost, abs(float(x) - middle)) for a, b, cost, middle in spans for x in _candidates(a, b))
    return _Loop(
        facets=tuple(facets.facets[f] for f in ring),
        starts=np.array(starts),
        reversed_u=tuple(reversed_u),
        total=at,
        corners=np.array(corners),
        gains=np.array(gains),
        allowed=np.array([x for x, _, _ in found]),
        costs=np.array([cost for _, cost, _ in found]),
        asides=np.array([aside for _, _, aside in found]),
        fixed=tuple(fixed),
    )


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
    return 0.0 if _apex(ring) is None else 0.5


def _apex(ring: np.ndarray) -> float | None:
    """Return where along a wall, (k, 2) mm, its gable comes to a point; None for a level top."""
    top = ring[ring[:, 1] > ring[:, 1].max() - SNAP, 0]
    return float(top[0]) if np.ptp(top) < SNAP else None


def _shared(facets: Facets, facet: Facet, other: int) -> Edge:
    return next(
        e
        for e in facets.edges_of(facet)
        if {e.left, e.right} == {facet.id, other} and e.role in (Role.FLEX, Role.BREAK)
    )


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
    # a gable's apex, where the top of a joiner would turn and the ridge above it is round
    apex = _apex(facets.ring(facet))
    if apex is not None:
        blocked.append((apex - 2 * reach, apex + 2 * reach))
    # above a door or beside a step the wall is no single strip from floor to top
    floor = points[:, 1].min()
    gaps = [
        (min(s[0], e[0]) - reach, max(s[0], e[0]) + reach)
        for s, e in rings[0].sides
        if e[0] > s[0] + SNAP and min(s[1], e[1]) > floor + SNAP
    ]
    # sides that are all but parallel meet far beyond the wall once they are set back
    outline = facets.ring(facet)[:, 0]
    low, high = max(points[:, 0].min(), outline.min()), min(points[:, 0].max(), outline.max())
    free = [(float(low), float(high))] if low < high else []
    for low, high in [*blocked, *gaps]:
        free = [piece for a, b in free for piece in ((a, min(b, low)), (max(a, high), b)) if piece[1] - piece[0] > SNAP]
    return free


def _height(facets: Facets, loop: _Loop) -> float:
    rings = [facets.ring(facet)[:, 1] for facet in loop.facets]
    return float(max(np.ptp(ring) for ring in rings))


def _cut(facets: Facets, loop: _Loop, at: float) -> Cut:
    """Return the cut across a ring of walls at a place along it, mm."""
    k = int(np.searchsorted(loop.starts, at, side="right")) - 1
    facet, offset = loop.facets[k], at - loop.starts[k]
    (left, foot), right = facets.ring(facet).min(axis=0), facets.ring(facet)[:, 0].max()
    u = right - offset if loop.reversed_u[k] else left + offset
    return Cut(facet.source, facet.faces, facet.frame.raise_(np.array([u, foot])), facet.frame.u, Role.BREAK)


def _none_found(facets: Facets, loop: _Loop, longest: float) -> Finding:
    facet = loop.facets[0]
    if not len(loop.allowed):
        why = "no wall has a stretch clear of bends and openings that is wide enough for a joiner"
    else:
        why = f"no choice of free places keeps every section within the {longest:.0f} mm that stock and laser take"
    return Finding(
        Severity.ERROR,
        "no-break-found",
        f"No breaks can be proposed for the ring of walls at face {facet.faces[0]}: {why}; "
        "move openings together, use narrower cheeks or larger stock.",
        Location(faces=facet.faces, source=facets.source_of(facet)),
    )
