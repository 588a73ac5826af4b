"""Where trim finds room: what of a wall's board is free to bear it, and which board bears a member."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import shapely
from shapely.affinity import translate
from shapely.geometry import Polygon, box

from ..finish.dress import Board
from ..finish.finish import Finish, Pattern
from ..finish.runs import Run
from ..part import Part
from ..settings import BuildSettings
from ..solid.facets import Facets, ShellKind
from ..tolerance import SNAP
from ..unfold.section import outward
from .members import FOOT, Member

__all__ = ["KEEP", "Host", "bearer_of", "cut_to", "finish_on", "gap_to_roof", "host_of", "into_part", "lattice_zones"]

#: Trim keeps this from lattices, cheeks and the walls' ends, mm: glue creeps, and links must stay free.
KEEP = 1.0

#: Trim ends so far below the roof, mm.
_BELOW_ROOF = 0.3

#: A member that may be cut short keeps at least this share of its length.
_LEAST_SHARE = 0.6

#: What is cut off a board at its side or foot reaches so far beyond it, mm, so that no sliver stays.
_BEYOND = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Host:
    """A wall's board that may bear trim.

    board: in the coordinates of its run, mm. free: what of it is free for trim, there. side: 1 where the outside of
    the wall is the side to which its facet's normal points, else -1. thickness: of the wall, mm.
    """

    board: Board
    free: shapely.Geometry
    side: int
    thickness: float


def gap_to_roof(facets: Facets, thickness: float) -> float:
    """Return how far below the roof trim of this thickness (mm) ends, mm: the steepest slope runs down over it."""
    return _BELOW_ROOF + thickness * _steepest(facets)


def host_of(
    facets: Facets,
    part: Part,
    board: Board,
    run: Run,
    covered: Sequence[tuple[float, float]],
    gap: float,
    settings: BuildSettings,
) -> Host:
    """Return what of a wall's board may bear trim: off lattices, cheeks, the roof above it and the floor below.

    covered: stretches (from, to) of the run that cheeks cover, mm. gap: how far below the roof trim ends, mm.
    """
    facet = facets.facets[board.panel.facet]
    whole = Polygon(board.shape.exterior)
    free = board.shape.intersection(translate(whole, 0.0, -gap))
    x0, y0, x1, y1 = board.shape.bounds
    free = free.intersection(box(x0, y0 + FOOT, x1, y1))
    gone = [box(low - KEEP, y0 - _BEYOND, high + KEEP, y1 + _BEYOND) for low, high in covered]
    gone += lattice_zones(part, board, run)
    side = outward(facets, facet, settings)
    return Host(board, free.difference(shapely.union_all(gone)) if gone else free, side, part.thickness)


def lattice_zones(part: Part, board: Board, run: Run) -> Iterator[Polygon]:
    """Yield what trim leaves free for the lattices of a part, in the coordinates of the run of its board."""
    for lattice in part.lattices:
        zone = Polygon(lattice.zone).buffer(KEEP, join_style="mitre")
        yield shapely.transform(zone, lambda xy: run.flatten(board.panel.stands.apply(xy)))


def bearer_of(member: Member, hosts: Sequence[Host]) -> Host | None:
    """Return the board that bears most of a member, None where none bears any of it."""
    shares = [host.free.intersection(member.shape).area for host in hosts]
    best = max(range(len(hosts)), key=lambda k: (shares[k], -k))
    return hosts[best] if shares[best] > 0.0 else None


def cut_to(member: Member, host: Host, openings: Sequence[Polygon]) -> Polygon | None:
    """Return a member as its board can bear it, or None: whole, or cut short where it may be.

    openings: those that the member may reach over.
    """
    allowed = shapely.union_all([host.free.buffer(SNAP, join_style="mitre"), *openings])
    if allowed.contains(member.shape):
        return member.shape
    if not member.shortened:
        return None
    x0, y0, x1, y1 = member.shape.bounds
    # a strip as high as the member, where all of its height is free
    gone = member.shape.difference(allowed)
    blocked = [(piece.bounds[0], piece.bounds[2]) for piece in shapely.get_parts(gone)]
    ends = [x0, *(x for span in blocked for x in span), x1]
    spans = [
        (a, b)
        for a in ends
        for b in ends
        if b > a and not any(low < b - SNAP and high > a + SNAP for low, high in blocked)
    ]
    low, high = max(spans, key=lambda span: span[1] - span[0], default=(x0, x0))
    return box(low, y0, high, y1) if high - low >= _LEAST_SHARE * (x1 - x0) else None


def finish_on(facets: Facets, run: Run, finishes: Mapping[str, Finish], *patterns: Pattern) -> str:
    """Return the name of the finish with one of some patterns that faces of a run have, empty where none has."""
    named = {
        facets.finishes.get((facets.source_of(facets.facets[f]), face), "")
        for f in run.facets
        for face in facets.facets[f].faces
    }
    found = [name for name in sorted(named & finishes.keys()) if finishes[name].pattern in patterns]
    return found[0] if found else ""


def into_part(area: Polygon, board: Board, run: Run) -> Polygon:
    """Return an area of a run in the frame of the part of its board."""
    return shapely.transform(area, lambda xy: board.panel.stands.back(run.raise_(xy))[:, :2])


def _steepest(facets: Facets) -> float:
    """Return the tangent of the steepest slope that lies over walls, 0 without any."""
    slopes = [
        math.hypot(*facet.frame.n[:2]) / abs(float(facet.frame.n[2]))
        for facet in facets.facets
        if facets.shell_of(facet).kind is ShellKind.ROOF and not facet.upright and abs(float(facet.frame.n[2])) > SNAP
    ]
    return max(slopes, default=0.0)
