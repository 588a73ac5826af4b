"""Roofs in halves: what unfolds larger than any sheet is parted square to its ridge, down both slopes at once.

The halves meet butt and are held like any closure. A maker who wants the line elsewhere cuts the mesh
there and marks the cut as a closure.
"""

from __future__ import annotations

import math

import numpy as np

from ..findings import Finding, Location, Severity, place
from ..part import Part, PartKind
from ..solid.facets import Facets, Shell, ShellKind
from ..solid.solid import Role
from ..tolerance import LENGTH, SNAP
from ..unfold.section import Sections
from .proposed import Cut, Proposed

__all__ = ["halve_roofs"]

#: More pieces than this are no roof that anybody lifts off (common practice, no source).
_MOST = 6


def halve_roofs(facets: Facets, sections: Sections, *, largest: tuple[float, float]) -> Proposed:
    """Return cuts that part the roofs whose sections fit no sheet, and a note for each roof.

    largest: (length, width) of the biggest piece that stock and laser take, mm.
    """
    cuts: list[Cut] = []
    findings = []
    for shell in facets.shells:
        if shell.kind is not ShellKind.ROOF:
            continue
        parts = [part for part in sections.parts if part.kind is PartKind.ROOF and _belongs(part, shell)]
        large = [part for part in parts if not _fits(part.size, largest)]
        if not large:
            continue
        along, low, high = _run(facets, shell)
        pieces = max(_pieces(part.size, largest, high - low) for part in large)
        if pieces < 2 or pieces > _MOST:
            continue
        faces = tuple(face for facet in shell.facets for face in facets.facets[facet].faces)
        source = facets.facets[shell.facets[0]].source
        for k in range(1, pieces):
            at = low + (high - low) * k / pieces
            cuts.append(Cut(source, faces, along * at, along, Role.CLOSURE))
        findings.append(_note(facets, shell, large[0], pieces, largest))
    return Proposed(cuts=tuple(cuts), findings=tuple(findings))


def _belongs(part: Part, shell: Shell) -> bool:
    return any(panel.facet in shell.facets for panel in part.panels)


def _fits(size: tuple[float, float], largest: tuple[float, float]) -> bool:
    return min(size) <= min(largest) + LENGTH and max(size) <= max(largest) + LENGTH


def _run(facets: Facets, shell: Shell) -> tuple[np.ndarray, float, float]:
    """Return the level direction of a roof's ridge, (3,) unit, and from where to where the roof runs along it, mm.

    A roof that comes to a point has no ridge; its longest eave tells the direction.
    """
    ids = {edge for facet in shell.facets for ring in facets.facets[facet].ring_edges for edge in ring}
    best: tuple[bool, float, np.ndarray] | None = None
    for edge_id in sorted(ids):
        edge = facets.edges[edge_id]
        step = facets.points[edge.end] - facets.points[edge.start]
        if abs(float(step[2])) > SNAP:
            continue
        score = (edge.right is not None, round(float(np.linalg.norm(step)), 3))
        if best is None or score > best[:2]:
            best = (*score, step / np.linalg.norm(step))
    along = np.array([1.0, 0.0, 0.0]) if best is None else best[2]
    points = facets.outline_points(shell)
    return along, float((points @ along).min()), float((points @ along).max())


def _pieces(size: tuple[float, float], largest: tuple[float, float], run: float) -> int:
    """Return into how many pieces of equal run a section must be parted so that each may fit; 1 where it never would.

    Across the run nothing gets smaller.
    """
    across = min(size)
    if across > max(largest) + LENGTH:
        return 1
    room = max(largest) if across <= min(largest) + LENGTH else min(largest)
    # at the middle the flat shape is as long as the roof; hips at its ends may reach beyond
    longest = max(max(size), run)
    return max(2, math.ceil((longest - LENGTH) / room))


def _note(facets: Facets, shell: Shell, part: Part, pieces: int, largest: tuple[float, float]) -> Finding:
    word = "two halves" if pieces == 2 else f"{pieces} pieces"
    facet = facets.facets[shell.facets[0]]
    return Finding(
        Severity.NOTE,
        "roof-in-halves",
        f"The roof is {part.size[0]:.0f} x {part.size[1]:.0f} mm in the flat and a sheet takes {largest[0]:.0f} x "
        f"{largest[1]:.0f} mm, so it is cut in {word} down its slopes; for another line, cut the mesh there and mark "
        "the cut as a closure.",
        Location(
            faces=facet.faces,
            source=facets.source_of(facet),
            point=place(facets.corners(facet).mean(axis=0)),
        ),
    )
