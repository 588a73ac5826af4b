"""Break lines: which marked lines a joiner can take, and what is wrong with the others."""

from __future__ import annotations

import numpy as np

from ..findings import Finding, Location, Severity, place
from ..sentence import Sentence
from ..settings import BuildSettings
from ..solid.facets import Edge, Facets
from ..solid.solid import Role
from ..tolerance import SNAP
from ..unfold.cheeks import clear_beside, least_cheeks
from ..unfold.section import Sections

__all__ = ["check_break_lines", "is_break", "no_board_beside"]


def check_break_lines(facets: Facets, sections: Sections, settings: BuildSettings) -> tuple[Finding, ...]:
    """Report break lines that no joiner can take: not on one wall, slanted, or too close to something."""
    found = []
    joiner = settings.joiner
    reach = least_cheeks(joiner) / 2 + joiner.margin
    for edge in facets.edges:
        if edge.role is not Role.BREAK:
            continue
        if edge.right is None:
            found.append(_bad(facets, edge, "ends the surface", "mark a line across the middle of a wall"))
            continue
        left, right = facets.pair(edge)
        if abs(edge.angle) > 0.0 and abs(left.frame.n @ right.frame.n - 1.0) > SNAP:
            found.append(
                _bad(facets, edge, "lies on a corner", "move it onto the flat wall beside, or mark the corner as flex")
            )
        elif not left.upright:
            found.append(_bad(facets, edge, "lies on a roof or a floor", "part walls only; leave this edge plain"))
        elif not _vertical(facets, edge):
            lean = np.degrees(np.arctan2(*np.abs(_run(facets, edge))))
            found.append(_bad(facets, edge, f"leans by {lean:.1f} degrees", "make it vertical"))
        elif _pieces(facets, edge) > 1:
            found.append(_bad(facets, edge, "is cut by an opening", "move it beside the opening"))
        elif (hangs := _above_the_foot(facets, edge)) > SNAP:
            found.append(
                _bad(facets, edge, f"starts {hangs:.1f} mm above the foot of the wall", "move it beside the opening")
            )
        else:
            near = clear_beside(sections.setbacks, facets, edge, settings)
            if near < reach - SNAP:
                found.append(
                    _bad(
                        facets,
                        edge,
                        f"is {near:.1f} mm from the next opening, bend or wall end",
                        f"the joiner needs {reach:.1f} mm on each side, so move it by {reach - near:.1f} mm",
                    )
                )
    return tuple(found)


def no_board_beside(facets: Facets, edge: Edge) -> Finding:
    """Return what is to be said of a break beside which no wall is left for a joiner."""
    return _bad(facets, edge, "has no wall beside it that a joiner could take", "mend the faces there, or move it")


def _bad(facets: Facets, edge: Edge, what: str, remedy: str) -> Finding:
    middle = facets.ends(edge).mean(axis=0)
    return Finding(
        Severity.ERROR,
        "bad-break-line",
        Sentence.of("The break line on ", facets.ref(facets.left(edge)), f" {what}; {remedy}."),
        Location(edges=edge.host_edges, source=facets.sources[edge.source], point=place(middle)),
    )


def is_break(facets: Facets, edge: Edge) -> bool:
    """Whether a joiner can stand on a break line: one upright line in one flat wall, from its foot to its top."""
    left, right = facets.pair(edge)
    return (
        left.upright
        and _vertical(facets, edge)
        and abs(left.frame.n @ right.frame.n - 1.0) <= SNAP
        and _pieces(facets, edge) == 1
        and _above_the_foot(facets, edge) <= SNAP
    )


def _pieces(facets: Facets, edge: Edge) -> int:
    """Return how many break lines part the same two facets; more than one where an opening lies between them."""
    sides = {edge.left, edge.right}
    return sum(other.role is Role.BREAK and {other.left, other.right} == sides for other in facets.edges)


def _above_the_foot(facets: Facets, edge: Edge) -> float:
    """Return how far a line starts above the foot of the walls on both its sides, as over a doorway, mm."""
    heights = [facets.corners(facets.facets[f])[:, 2].min() for f in (edge.left, edge.right) if f is not None]
    return float(facets.ends(edge)[:, 2].min() - max(heights))


def _run(facets: Facets, edge: Edge) -> np.ndarray:
    ends = facets.left(edge).frame.flatten(facets.ends(edge))
    run: np.ndarray = ends[1] - ends[0]
    return run


def _vertical(facets: Facets, edge: Edge) -> bool:
    return abs(float(_run(facets, edge)[0])) <= SNAP
