"""Breaks: where walls part so that every ring opens and every section fits, across walls or else along corners."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from ..board.stock import Grain
from ..findings import Finding, Location, Severity
from ..sentence import Sentence
from ..settings import BuildSettings
from ..solid.facets import Edge, Facets
from ..solid.solid import Role
from ..unfold.corner import SHARPEST_BEND
from ..unfold.setbacks import find_setbacks
from .parting import Places, part_chain, part_loop
from .proposed import Cut, Mark, Proposed
from .runs import Opening, Run, develop, runs_of

__all__ = ["propose_breaks"]

#: Room across a section for its tabs and for a label in the waste beside it, mm.
_ALLOWANCE = 8.0


def propose_breaks(
    facets: Facets,
    settings: BuildSettings,
    *,
    largest: tuple[float, float],
    may_part: Collection[tuple[int, int]] = (),
) -> Proposed:
    """Return cuts across walls, so that every ring of walls opens and its sections fit ``largest``, mm.

    Fewest breaks first, then those that show least (walls without openings before those with windows,
    those before walls with doors), then sections of even length, then the middle of walls; marked
    breaks stay. Where that will not do, because no wall beside the bends is wide enough for a joiner, breaks may lie
    where only narrower cheeks find room, and then corners part as well, marked as closures: those whose host edges,
    (source, id), all are among ``may_part``. Where no choice will do the finding `no-break-found` says why and the
    ring stays as it is.

    >>> from stowfold.geometry.flow.added import as_solid
    >>> from stowfold.geometry.plan.walls import block_out
    >>> from stowfold.geometry.solid.find import find_facets
    >>> ring = as_solid(block_out([(0, 0), (200, 0), (200, 120), (0, 120)]))
    >>> len(propose_breaks(find_facets(ring), settings, largest=(580.0, 280.0)).cuts)
    2
    """
    rings = [ring for shell in facets.shells for ring in runs_of(facets, shell)]
    if not rings:
        return Proposed()
    # all corners of a ring will bend once it is parted
    bent = [edge.id for edge in facets.edges if edge.role is Role.FLEX and 0 < abs(edge.angle) <= SHARPEST_BEND]
    setbacks = find_setbacks(facets, bent, settings)
    across = _room_across_grain(settings, largest)
    cuts: list[Cut] = []
    marks: list[Mark] = []
    findings = []
    for ring in rings:
        run = develop(facets, ring, setbacks, settings, may_part=may_part)
        room = max(largest) if run.height + _ALLOWANCE <= min(largest) else min(largest)
        chosen = _choose(run, room, settings)
        if across is not None:
            kept = _choose(run, across, settings)
            if kept is not None and (chosen is None or len(kept) <= len(chosen) + settings.hinge.grain_joiners):
                chosen = kept
        if chosen is None:
            findings.append(_none_found(facets, run, room))
            continue
        # from the far end inward, so that what is left of a wall stays the first piece
        cuts += [_cut(facets, run, at) for at in sorted((x for x in chosen if not isinstance(x, Edge)), reverse=True)]
        marks += [Mark(x.source, x.host_edges, Role.CLOSURE) for x in chosen if isinstance(x, Edge)]
    return Proposed(tuple(marks), tuple(cuts), tuple(findings))


def _choose(run: Run, room: float, settings: BuildSettings) -> list[Opening] | None:
    """Return where a run parts so that no section is longer than ``room``, mm; None where no choice will do.

    What comes later among the run's choices is taken only where nothing before it will do.
    """
    part = part_loop if run.closed else part_chain
    joiner = settings.joiner
    # two joiners on one wall stay clear of each other
    shortest = joiner.cheek_width - joiner.core_width - 2 * joiner.gap + joiner.margin
    places = Places.of([], np.zeros(0))
    openings: list[Opening] = []
    for more, others in run.choices:
        order, places = Places.merged(places, more)
        openings = [[*openings, *others][k] for k in order.tolist()]
        chosen = part(places, total=run.total, shortest=shortest, longest=room, fixed=run.fixed)
        if chosen is not None:
            return [openings[k] for k in chosen]
    return None


def _room_across_grain(settings: BuildSettings, largest: tuple[float, float]) -> float | None:
    """Return how long a wall's run may be with slits along the grain, mm; None where that is not asked for."""
    if not settings.hinge.along_grain or settings.walls.grain not in (Grain.LENGTH, Grain.WIDTH):
        return None
    return min(largest) if settings.walls.grain is Grain.LENGTH else max(largest)


def _cut(facets: Facets, run: Run, at: float) -> Cut:
    """Return the cut across a run of walls at a place along it, mm."""
    k = int(np.searchsorted(run.starts, at, side="right")) - 1
    facet, offset = run.facets[k], at - run.starts[k]
    (left, foot), right = facets.ring(facet).min(axis=0), facets.ring(facet)[:, 0].max()
    u = right - offset if run.reversed_u[k] else left + offset
    return Cut(facet.source, facet.faces, facet.frame.raise_(np.array([u, foot])), facet.frame.u, Role.BREAK)


def _none_found(facets: Facets, run: Run, longest: float) -> Finding:
    facet = run.facets[0]
    if not any(openings for _, openings in run.choices):
        why = "no wall has a stretch clear of bends and openings that is wide enough for a joiner"
        cure = "mark one of its corners as a closure, or use narrower cheeks"
    else:
        why = f"no choice of free places keeps every section within the {longest:.0f} mm that stock and laser take"
        cure = "move openings together, use narrower cheeks or larger stock"
    return Finding(
        Severity.ERROR,
        "no-break-found",
        Sentence.of("No breaks can be proposed for the walls at ", facets.ref(facet), f": {why}; {cure}."),
        Location(faces=facet.faces, source=facets.source_of(facet)),
    )
