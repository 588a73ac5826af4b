"""Roofs in halves: what unfolds larger than any sheet is parted square to its ridge, down both slopes at once.

The halves meet butt and are held like any closure. Slopes that are too large even then, as the ends of a hip roof
or the wings of a roof over several, are parted one by one. A maker who wants the line elsewhere cuts the mesh there
and marks the cut as a closure.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..findings import Finding, Location, Severity, place
from ..part import Part, PartKind
from ..solid.facets import Facet, Facets, Shell, ShellKind
from ..solid.solid import Role
from ..tolerance import LARGEST, LENGTH, SNAP
from ..unfold.section import Sections
from .proposed import Cut, Proposed

__all__ = ["halve_roofs", "part_slopes"]

#: A cut keeps this far from corners of the roof, or goes through them, mm: the least that a tie or strip finds hold on.
_CLEAR = 15.0

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
        corners = facets.outline_points(shell) @ along
        for at in _places(low, high, pieces, corners):
            cuts.append(Cut(source, faces, along * at, along, Role.CLOSURE))
        own = [facets.facets[facet] for facet in shell.facets]
        findings.append(_note(facets, own, large[0], pieces, largest))
    return Proposed(cuts=tuple(cuts), findings=tuple(findings))


def part_slopes(facets: Facets, sections: Sections, *, largest: tuple[float, float]) -> Proposed:
    """Return cuts that part those sections of roofs that still fit no sheet, each in a direction of its own.

    largest: (length, width) of the biggest piece that stock and laser take, mm. Of all directions square to an eave,
    and level ones, that is taken which needs the fewest pieces and the shortest cuts.
    """
    cuts: list[Cut] = []
    findings = []
    for part in sections.parts:
        if part.kind is not PartKind.ROOF or _fits(part.size, largest):
            continue
        best = min(_partings(facets, part, largest), key=lambda parting: parting.cost, default=None)
        if best is None:
            continue
        own = [facets.facets[panel.facet] for panel in part.panels]
        faces = tuple(face for facet in own for face in facet.faces)
        cuts += [Cut(own[0].source, faces, best.normal * at, best.normal, Role.CLOSURE) for at in best.places]
        findings.append(_note(facets, own, part, len(best.places) + 1, largest))
    return Proposed(cuts=tuple(cuts), findings=tuple(findings))


@dataclass(frozen=True, slots=True, eq=False)
class _Parting:
    """Planes that part a section: their common normal, (3,) unit, and where along it they lie, mm.

    cost: how many pieces come of it, and the length of all cuts, mm.
    """

    normal: np.ndarray
    places: tuple[float, ...]
    cost: tuple[int, float]


def _partings(facets: Facets, part: Part, largest: tuple[float, float]) -> Iterator[_Parting]:
    """Yield the ways to part a section by planes in one direction so that every piece fits."""
    directions = [facets.facets[panel.facet].frame.u for panel in part.panels]
    for normal in (*directions, np.array([0.0, 0.0, 1.0])):
        corners = np.concatenate([panel.stands.apply(panel.ring) @ normal for panel in part.panels])
        low, high = float(corners.min()), float(corners.max())
        for pieces in range(2, _MOST + 1):
            places = _places(low, high, pieces, corners)
            bounds = (low - 1.0, *places, high + 1.0)
            strips = [_strip(part, normal, start, end) for start, end in pairwise(bounds)]
            if all(_fits(_size(strip), largest) for strip in strips):
                length = sum(strip.length for strip in strips) - shapely.union_all(strips).length
                yield _Parting(normal, places, (pieces, round(length, 3)))
                break


def _strip(part: Part, normal: np.ndarray, start: float, end: float) -> shapely.Geometry:
    """Return what of a section's panels, in the flat, lies between two planes once it stands."""
    pieces = []
    for panel in part.panels:
        level, slant = float(panel.stands.origin @ normal), normal @ panel.stands.turn[:, :2]
        rise = float(np.hypot(*slant))
        shape = Polygon(panel.ring)
        if rise < SNAP:
            pieces += [shape] if start <= level < end else []
            continue
        ahead = slant / rise
        aside = np.array([-ahead[1], ahead[0]]) * LARGEST
        near, far = (ahead * (at - level) / rise for at in (start, end))
        pieces.append(shape.intersection(Polygon([near - aside, far - aside, far + aside, near + aside])))
    return shapely.union_all(pieces)


def _size(shape: shapely.Geometry) -> tuple[float, float]:
    x0, y0, x1, y1 = shape.bounds
    return x1 - x0, y1 - y0


def _places(low: float, high: float, pieces: int, corners: np.ndarray) -> tuple[float, ...]:
    """Return where to cut a run into pieces as equal as corners of the roof beside the cuts allow, mm.

    A cut a few millimetres from a corner, such as the peak of a hip, would leave chips.
    """
    places = []
    for k in range(1, pieces):
        at = low + (high - low) * k / pieces
        tried = (at, *(float(corner) + side * _CLEAR for corner in corners for side in (-1.0, 0.0, 1.0)))
        clear = [(abs(place - at), place) for place in tried if low < place < high and _clear(place, corners)]
        places.append(min(clear, default=(0.0, at))[1])
    return tuple(places)


def _clear(place: float, corners: np.ndarray) -> bool:
    """Whether a cut lies on corners or well away from them."""
    off = np.abs(corners - place)
    return bool(np.all((off < LENGTH) | (off > _CLEAR - LENGTH)))


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


def _note(facets: Facets, own: Sequence[Facet], part: Part, pieces: int, largest: tuple[float, float]) -> Finding:
    word = "two halves" if pieces == 2 else f"{pieces} pieces"
    what = "The roof" if len(own) == len(facets.shell_of(own[0]).facets) else "A part of the roof"
    return Finding(
        Severity.NOTE,
        "roof-in-halves",
        f"{what} is {part.size[0]:.0f} x {part.size[1]:.0f} mm in the flat and a sheet takes {largest[0]:.0f} x "
        f"{largest[1]:.0f} mm, so it is cut in {word} down its slopes; for another line, cut the mesh there and mark "
        "the cut as a closure.",
        Location(
            faces=own[0].faces,
            source=facets.source_of(own[0]),
            point=place(facets.corners(own[0]).mean(axis=0)),
        ),
    )
