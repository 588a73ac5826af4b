"""What a building must keep: areas, edges, bends that join up, tabs in their slots. By numpy and shapely alone.

A panel may lack of its facet what a setback takes: beside a bend the distance R tan(a/2) of sheet metal, beside a
break the half core and its gap, a slot where another board stands in it, and elsewhere the bevel of boards that meet at
a slant. It never reaches beyond its facet.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from shapely.geometry import LineString, Polygon
from shapely.ops import unary_union
from standing_solids import is_filled
from stowfold.geometry.outcome import Outcome
from stowfold.geometry.part import Panel, Part, PartKind
from stowfold.geometry.solid.facets import Facet
from stowfold.geometry.solid.solid import Role, Solid

__all__ = ["lost_sizes", "stray_tabs"]

#: Lengths may be off by this, mm, beside what the proof allows for the noise of the model.
_LENGTH = 2e-3

#: Areas may be off by this share and this much, mm^2.
_SHARE, _AREA = 1e-4, 1.0

#: Corners of a model with noise are moved by this much at most, mm, as the design says.
_MOVED = 0.5

#: Parts whose panels are facets.
_SECTIONS = (PartKind.WALL, PartKind.ROOF, PartKind.PANEL)

#: Boards that meet at a slant, or under a sloping roof, stop short by this many thicknesses at most.
_BEVELS = 4.0


def lost_sizes(solid: Solid, outcome: Outcome) -> Iterator[str]:
    """Yield a sentence for every size that the building lost or gained."""
    loose = _LENGTH + outcome.proof.limit
    modelled = sum(_area_of(solid.points[list(face)]) for face in solid.faces)
    found = sum(_facet_shape(outcome, facet).area for facet in outcome.facets.facets)
    near = _AREA + _SHARE * modelled + (loose + _moved(solid, outcome)) * _rim(solid)
    # where a dormer is parted from its roof, the roof goes on below it; what of it lies below the roof is left out
    standing = any(shell.stands_on for shell in outcome.facets.shells)
    parted = len(outcome.facets.shells) > _surfaces(solid)
    less, more = found < modelled - near and not standing, found > modelled + near and not parted
    if not outcome.facets.openings and (less or more):
        yield f"facets hold {found:.1f} of {modelled:.1f} mm^2 of the mesh"
    for part in outcome.parts:
        for panel in part.panels:
            if part.kind in _SECTIONS and panel.facet >= 0:
                yield from _lost_of_panel(outcome, part, panel, loose)
        yield from _bends_apart(part, loose)


def _moved(solid: Solid, outcome: Outcome) -> float:
    """Return how far corners were moved at most to make faces flat, mm: the maker is told; beyond it, they are lost."""
    apart = np.linalg.norm(solid.points[:, None] - outcome.facets.points[None], axis=2).min(axis=1)
    return float(apart[apart < _MOVED].max(initial=0.0))


def _area_of(corners: np.ndarray) -> float:
    return float(np.linalg.norm(np.cross(corners[1:-1] - corners[0], corners[2:] - corners[0]).sum(axis=0)) / 2.0)


def _surfaces(solid: Solid) -> int:
    """Return into how many connected surfaces the mesh falls; points in one place are one point."""
    home = np.unique(solid.points, axis=0, return_inverse=True)[1].reshape(-1).tolist()
    for one, two in solid.edges:
        first, second = home[one], home[two]
        home = [first if place == second else place for place in home]
    return len({home[point] for face in solid.faces for point in face})


def _rim(solid: Solid) -> float:
    return sum(float(np.linalg.norm(solid.points[a] - solid.points[b])) for a, b in solid.edges)


def _facet_shape(outcome: Outcome, facet: Facet) -> Polygon:
    rings = [outcome.facets.ring(facet, k) for k in range(len(facet.rings))]
    return Polygon(rings[0], rings[1:]).buffer(0.0)


def _lost_of_panel(outcome: Outcome, part: Part, panel: Panel, loose: float) -> Iterator[str]:
    if len(panel.corners):
        flat = np.linalg.norm(panel.corners[:, None] - panel.corners[None], axis=2)
        model = np.linalg.norm(panel.corner_points[:, None] - panel.corner_points[None], axis=2)
        if np.abs(flat - model).max() > loose:
            yield f"{part.id}: an edge changes its length by {np.abs(flat - model).max():.4f} mm"
    facet = outcome.facets.facets[panel.facet]
    shape, taken = _facet_shape(outcome, facet), []
    for ids in facet.ring_edges:
        for edge_id in ids:
            edge = outcome.facets.edges[edge_id]
            line = LineString(facet.frame.flatten(outcome.facets.ends(edge)))
            taken.append(line.buffer(_taken_beside(outcome, part, panel, edge_id), cap_style="square"))
    board = Polygon(facet.frame.flatten(panel.stands.apply(panel.ring)))
    holes = [Polygon(facet.frame.flatten(panel.stands.apply(hole))) for hole in panel.holes]
    taken += [
        flat
        for flat, hole in zip(holes, panel.holes, strict=True)
        if flat.within(shape) and is_filled(outcome, part, panel, hole)
    ]
    board = board.buffer(0.0).difference(unary_union(holes))
    beyond = board.difference(shape.buffer(loose)).area
    if beyond > _AREA:
        yield f"{part.id}: a panel reaches beyond its face by {beyond:.1f} mm^2"
    slots = [Polygon(facet.frame.flatten(tab.slot)) for tab in outcome.roof_tabs if tab.floor == part.id]
    taken += [slot.buffer(loose, join_style="mitre") for slot in slots]
    lost = shape.difference(unary_union(taken)).difference(board.buffer(loose)).area
    if lost > _AREA:
        yield f"{part.id}: a panel lacks {lost:.1f} mm^2 of its face"


def _taken_beside(outcome: Outcome, part: Part, panel: Panel, edge_id: int) -> float:
    """Return how far a panel may stop short of an edge of its facet, mm."""
    edge = outcome.facets.edges[edge_id]
    index = part.panels.index(panel)
    for lattice in part.lattices:
        if set(lattice.host_edges) & set(edge.host_edges) and index in (lattice.parent, lattice.child):
            return _setback(lattice.lattice.flat_width, lattice.angle, part.thickness) + _LENGTH
    joiner = outcome.settings.joiner
    if edge.role is Role.BREAK:
        return joiner.core_width / 2.0 + joiner.gap + _LENGTH
    return _BEVELS * part.thickness


def _setback(width: float, angle: float, thickness: float) -> float:
    """Return from a bend's edge to its tangent line: bend allowance W = r a, K = 1/2 (sheet metal)."""
    radius = width / abs(angle) - math.copysign(thickness / 2.0, angle)
    return radius * math.tan(abs(angle) / 2.0)


def _bends_apart(part: Part, loose: float) -> Iterator[str]:
    """Yield bends whose two model edges do not lie a bend deduction (2 d - W) over each other in the flat."""
    for k, lattice in enumerate(part.lattices):
        if not lattice.angle:
            continue
        width = lattice.lattice.flat_width
        setback = _setback(width, lattice.angle, part.thickness)
        for index, place in ((lattice.parent, setback), (lattice.child, width - setback)):
            panel = part.panels[index]
            way = (panel.corners - lattice.origin) @ lattice.across
            if np.sort(np.abs(way - place))[:2].max() > loose:
                yield f"{part.id}: bend {k} does not lie beside its edge"


def stray_tabs(outcome: Outcome) -> Iterator[str]:
    """Yield a sentence for every tab that is not in its slot, or whose slot is not cut from the floor or the roof."""
    panels = {part.id: part.panels for part in outcome.parts}
    loose = outcome.proof.limit
    for tab in outcome.tabs:
        one, slot = Polygon(tab.tab[:, :2]), Polygon(tab.slot[:, :2])
        if not slot.buffer(loose, join_style="mitre").covers(one):
            yield f"{tab.part}: a tab stands beside its slot"
        for panel in panels[tab.floor]:
            floor = Polygon(panel.stands.apply(panel.ring)[:, :2], [panel.stands.apply(h)[:, :2] for h in panel.holes])
            if floor.intersection(slot.buffer(-_LENGTH)).area > _LENGTH:
                yield f"{tab.part}: a slot is not cut from {tab.floor}"
    for tab in outcome.roof_tabs:
        # seen square to the slope, whose board is the nearest one that lies level with the slot
        off = [np.abs(panel.stands.back(tab.slot)[:, 2]).max() for panel in panels[tab.floor]]
        panel = panels[tab.floor][int(np.argmin(off))]
        one, slot = (Polygon(panel.stands.back(corners)[:, :2]) for corners in (tab.tab, tab.slot))
        if not slot.buffer(loose, join_style="mitre").covers(one):
            yield f"{tab.part}: a tab stands beside its slot"
        if Polygon(panel.ring, panel.holes).intersection(slot.buffer(-_LENGTH)).area > _LENGTH:
            yield f"{tab.part}: a slot is not cut from {tab.floor}"
