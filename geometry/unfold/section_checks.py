"""What keeps a section from being cut, and what the maker should know about one that can be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from shapely.geometry import Polygon

from ..board.lattice import Lattice
from ..findings import Finding, Location, Severity, place
from ..sentence import Sentence
from ..solid.facets import Facet, Facets
from ..tolerance import AREA, COPLANAR_ANGLE, LENGTH
from .outline import signed_area
from .setbacks import MovedFacet, Setbacks

__all__ = ["is_whole", "overlaps", "short_sides", "uncuttable"]

#: A side that would have to be longer, mm, or by no number, lies at a corner where two sides all but run on in one
#: line; no wall on a table is that long.
_LONGEST_SIDE = 1000.0


def uncuttable(facets: Facets, setbacks: Setbacks, group: Sequence[int]) -> tuple[Finding, ...]:
    """Return what keeps a group of facets from becoming a part: vanished sides, panels that fall apart."""
    found = []
    for facet_id in group:
        moved = setbacks.facets[facet_id]
        facet = moved.facet
        gone = short_sides(setbacks.lattices, moved)
        for r, side, least in gone:
            ring = moved.rings[r]
            edge = facets.edges[facet.ring_edges[r][side]]
            needs = float(ring.lost[side])
            rest = (
                f"take {needs:.1f} mm; make it longer than {least:.1f} mm, or bend fewer edges or to a smaller radius."
                if needs <= _LONGEST_SIDE
                else "take all of it; dissolve one of its two corners, or bend fewer edges."
            )
            found.append(
                Finding(
                    Severity.ERROR,
                    "vanishing-panel",
                    Sentence.of(
                        "The side of ",
                        facets.ref(facet),
                        f" is {ring.lengths[side]:.1f} mm long, but the bends and gaps beside it {rest}",
                    ),
                    _where(facets, facet, edge.host_edges, (edge.start, edge.end)),
                )
            )
        if gone:
            continue
        if is_whole(moved):
            continue
        if len(facet.rings) > 1 and (short := _short_of_openings(facets.ring(facet), moved)) > 0.0:
            code, rest = (
                "opening-in-lattice",
                f"runs {short:.1f} mm into one of its openings; move the opening that much and a little more away "
                "from the bent or parted edge.",
            )
        else:
            code, rest = "panel-falls-apart", "cuts it in two; make it wider or bend its edges to a smaller radius."
        found.append(
            Finding(
                Severity.ERROR,
                code,
                Sentence.of("Pulling the sides of ", facets.ref(facet), f" back for bends and gaps {rest}"),
                _where(facets, facet),
            )
        )
    return tuple(found)


def is_whole(moved: MovedFacet) -> bool:
    """Whether the sides of a moved facet still go round one panel, with its openings inside."""
    outline = moved.rings[0].points
    if len(outline) < 3 or not np.isfinite(outline).all() or signed_area(outline) < AREA:
        return False
    return bool(Polygon(outline, [ring.points for ring in moved.rings[1:]]).is_valid)


def short_sides(lattices: Mapping[int, Lattice], moved: MovedFacet) -> tuple[tuple[int, int, float], ...]:
    """Return the sides of a moved facet that are too short, as (ring, side, least length of the model edge in mm).

    A side must not vanish, and between two bends side by side one link of board must stay beyond their slits.
    """
    found = []
    for r, ring in enumerate(moved.rings):
        ids = moved.facet.ring_edges[r]
        for side in range(len(ids)):
            run = LENGTH
            beside = (side - 1, (side + 1) % len(ids))
            before, after = (lattices.get(ids[k]) for k in beside)
            if before is not None and after is not None and _face_each_other(*(ring.sides[k] for k in beside)):
                run = max(before.link_width, after.link_width) + (before.opening + after.opening) / 2
            if ring.lengths[side] - ring.lost[side] < run:
                found.append((r, side, float(ring.lost[side]) + run))
    return tuple(found)


def _face_each_other(one: np.ndarray, two: np.ndarray) -> bool:
    """Whether two sides, (2, 2) mm each, run opposite ways, as those of an upright strip do."""
    a, b = one[1] - one[0], two[1] - two[0]
    return bool(a @ b < -np.cos(COPLANAR_ANGLE) * np.hypot(*a) * np.hypot(*b))


def _short_of_openings(ring: np.ndarray, moved: MovedFacet) -> float:
    """Return how far a side that was set back passes the nearest edge of an opening, mm; 0 where none does.

    ring: the facet's outline as modelled, in its plane.
    """
    outline = moved.rings[0]
    short = 0.0
    for k, (start, end) in enumerate(outline.sides):
        along = (end - start) / np.hypot(*(end - start))
        inward = np.array([-along[1], along[0]])
        if (start - ring[k]) @ inward <= LENGTH:
            continue
        for hole in moved.rings[1:]:
            off = hole.points - start
            if (off @ along).max() > 0.0 and (off @ along).min() < np.hypot(*(end - start)):
                short = max(short, -float((off @ inward).min()))
    return short


def overlaps(
    facets: Facets, name: str, order: Sequence[int], rings: Sequence[np.ndarray], outline: np.ndarray
) -> tuple[Finding, ...]:
    """Report what of one section would lie on itself in the flat: panels, or else its outline through a lattice.

    rings: of the panels named in ``order``; outline: of the whole section; part frame, mm.
    """
    found = []
    shapes = [Polygon(ring).buffer(0) for ring in rings]
    for i, one in enumerate(shapes):
        for j in range(i):
            shared = one.intersection(shapes[j]).area
            if shared > AREA:
                found.append(
                    Finding(
                        Severity.ERROR,
                        "self-overlap",
                        Sentence.of(
                            "In the flat, ",
                            facets.ref(*(facets.facets[order[k]] for k in (j, i))),
                            f" of {name} lie on each other by {shared:.1f} mm²; let another edge of this section part "
                            "instead.",
                        ),
                        _where(facets, facets.facets[order[i]]),
                    )
                )
    if not found and not Polygon(outline).is_valid:
        found.append(
            Finding(
                Severity.ERROR,
                "self-overlap",
                Sentence.of(
                    f"In the flat, the outline of {name} (",
                    facets.ref(*(facets.facets[facet] for facet in sorted(order))),
                    ") crosses itself where a bend takes its room; let another edge of this section part instead.",
                ),
                _where(facets, facets.facets[order[0]]),
            )
        )
    return tuple(found)


def _where(facets: Facets, facet: Facet, edges: tuple[int, ...] = (), points: Sequence[int] | None = None) -> Location:
    middle = (facets.corners(facet) if points is None else facets.points[list(points)]).mean(axis=0)
    return Location(
        faces=facet.faces,
        edges=edges,
        source=facets.source_of(facet),
        point=place(middle),
    )
