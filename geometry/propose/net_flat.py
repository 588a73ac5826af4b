"""The flat shape of a net before it is built: panels and lattices laid out with the bends they will have.

Every bend is taken with the lattice that its whole edge would get. What setbacks take off the axis may make
that lattice a little wider when it is built.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..board.lattice import Lattice
from ..solid.facets import Facets
from ..tolerance import AREA, LENGTH, SNAP
from ..unfold.corner import Bend, bend, parted_setback
from ..unfold.outline import MovedRing, move_sides, signed_area
from .net_trees import Link

__all__ = ["FlatPiece", "NetDrawing"]


@dataclass(frozen=True, slots=True)
class FlatPiece:
    """Facets held together by bends, in the flat: their box in the frame of the first facet, mm, and overlap, mm^2.

    flaws: panels that bends and gaps leave no ring of, and bends on which no cell of a lattice finds room. Where
    there are any, nothing of the piece can be cut and its overlap is not worked out.
    """

    size: tuple[float, float]
    overlap: float
    flaws: int


@dataclass(frozen=True, slots=True, eq=False)
class _FlatPanel:
    """A facet between its bends: the ends of its sides, (k, 2), and whether they make a ring that can be cut.

    places: which side lies at a bent edge; spans: from where to where that side reaches along the edge, mm from the
    edge's start.
    """

    sides: np.ndarray
    sound: bool
    places: Mapping[int, int]
    spans: Mapping[int, tuple[float, float]]


class NetDrawing:
    """Draws pieces of one shell in the flat and remembers them. Points of a plane are complex numbers."""

    def __init__(self, facets: Facets, lattices: Mapping[int, Lattice], *, thickness: float) -> None:
        self._facets = facets
        self._thickness = thickness
        self._bends: Mapping[int, Bend] = {
            edge: bend(facets.edges[edge].angle, flat_width=made.flat_width, thickness=thickness)
            for edge, made in lattices.items()
        }
        self._least = {edge: made.least_axis for edge, made in lattices.items()}
        self._panels: dict[tuple[int, tuple[int, ...]], _FlatPanel] = {}
        self._steps: dict[tuple[int, int], tuple[complex, complex, complex]] = {}
        self._known: dict[tuple[int, tuple[int, ...]], FlatPiece] = {}

    def draw(self, group: Sequence[int], links: Sequence[Link]) -> FlatPiece:
        """Return the flat shape of facets that ``links`` tie together, overlap left out where there is one facet."""
        root = min(group)
        key = (root, tuple(sorted(link.edge for link in links)))
        if key not in self._known:
            self._known[key] = self._drawn(root, links)
        return self._known[key]

    def _drawn(self, root: int, links: Sequence[Link]) -> FlatPiece:
        near: dict[int, list[Link]] = {root: []}
        for link in links:
            near.setdefault(link.one, []).append(link)
            near.setdefault(link.two, []).append(link)
        motions: dict[int, tuple[complex, complex]] = {root: (1.0 + 0.0j, 0.0j)}
        shapes: list[np.ndarray] = []
        flaws = 0
        order = [root]
        for here in order:
            turn, shift = motions[here]
            panel = self._panel(here, _bent(near[here]))
            shapes.append(panel.sides.reshape(-1) * turn + shift)
            flaws += not panel.sound
            for link in near[here]:
                there = link.beyond(here)
                if there in motions:
                    continue
                spin, step, across = self._step(link.edge, here, there)
                motions[there] = (spin * turn, step * turn + shift)
                order.append(there)
                beyond = self._panel(there, _bent(near[there]))
                starts, stops = zip(panel.spans[link.edge], beyond.spans[link.edge], strict=True)
                flaws += min(stops) - max(starts) <= self._least[link.edge]
                side = self._shared_side(link.edge, here, max(starts), min(stops))
                shapes.append(np.array([side[0], side[1], side[1] + across, side[0] + across]) * turn + shift)
        everything = np.concatenate(shapes)
        size = (float(np.ptp(everything.real)), float(np.ptp(everything.imag)))
        return FlatPiece(size, _shared(shapes) if len(order) > 1 and not flaws else 0.0, flaws)

    def _step(self, edge: int, here: int, there: int) -> tuple[complex, complex, complex]:
        """Return what takes the plane of ``there`` to that of ``here``, a turn and a shift, and the lattice's width."""
        if (edge, here) not in self._steps:
            start, end = self._ends(edge, here)
            along = (end - start) / abs(end - start)
            # the neighbour runs along the edge the other way
            arrives, leaves = self._ends(edge, there)
            spin = along * abs(arrives - leaves) / (arrives - leaves)
            made = self._bends[edge]
            step = start - 1j * along * made.gain - leaves * spin
            self._steps[edge, here] = (spin, step, -1j * along * made.flat_width)
        return self._steps[edge, here]

    def _shared_side(self, edge: int, here: int, low: float, high: float) -> tuple[complex, complex]:
        """Return from where to where a lattice leaves ``here``: as far as both panels run, mm from the edge's start."""
        start, end = self._ends(edge, here)
        along = (end - start) / abs(end - start)
        if self._facets.edges[edge].left != here:
            low, high = abs(end - start) - high, abs(end - start) - low
        back = start + 1j * along * self._bends[edge].setback
        return back + low * along, back + high * along

    def _ends(self, edge_id: int, facet: int) -> tuple[complex, complex]:
        """Return both ends of an edge as the facet's outline runs along it, in the facet's plane."""
        edge = self._facets.edges[edge_id]
        ends = [edge.start, edge.end] if edge.left == facet else [edge.end, edge.start]
        flat = self._facets.facets[facet].frame.flatten(self._facets.points[ends])
        return complex(*flat[0]), complex(*flat[1])

    def _panel(self, facet_id: int, bent: tuple[int, ...]) -> _FlatPanel:
        """Return a facet as bends leave it at some of its edges, by their ids in order."""
        key = (facet_id, bent)
        if key not in self._panels:
            facet = self._facets.facets[facet_id]
            distances = []
            for edge_id in facet.ring_edges[0]:
                edge = self._facets.edges[edge_id]
                if edge_id in bent:
                    distances.append(self._bends[edge_id].setback)
                elif edge.right is None:
                    distances.append(0.0)
                else:
                    distances.append(parted_setback(edge.angle, thickness=self._thickness))
            moved = move_sides(self._facets.ring(facet), np.array(distances))
            sides = moved.sides[..., 0] + 1j * moved.sides[..., 1]
            places = {edge: facet.ring_edges[0].index(edge) for edge in bent}
            spans = {edge: self._span(edge, facet_id, sides[place]) for edge, place in places.items()}
            self._panels[key] = _FlatPanel(sides, _is_ring(moved), places, spans)
        return self._panels[key]

    def _span(self, edge: int, facet: int, side: np.ndarray) -> tuple[float, float]:
        """Return from where to where a moved side of a facet runs beside its edge, mm from the edge's start."""
        start, end = self._ends(edge, facet)
        length = abs(end - start)
        low, high = sorted(((side - start) / (end - start)).real * length)
        if self._facets.edges[edge].left != facet:
            low, high = length - high, length - low
        return max(0.0, float(low)), min(length, float(high))


def _bent(links: Sequence[Link]) -> tuple[int, ...]:
    return tuple(sorted(link.edge for link in links))


def _is_ring(moved: MovedRing) -> bool:
    """Whether moved sides make a ring with an area that does not cross or touch itself; shapely refuses any other."""
    if moved.vanished or signed_area(moved.points) < AREA:
        return False
    shape = Polygon(moved.points)
    # the least clearance is far above what turning the ring in the flat rounds off
    return bool(shape.is_valid and shapely.minimum_clearance(shape) > LENGTH)


def _shared(rings: Sequence[np.ndarray]) -> float:
    """Return the area on which any two shapes lie on each other, mm^2.

    Every shape is drawn in toward its middle by up to SNAP, so that neighbours do not count for their rounding.
    """
    counts = np.array([len(ring) for ring in rings])
    owner = np.repeat(np.arange(len(rings)), counts)
    points = np.concatenate(rings)
    middle = (np.add.reduceat(points, np.cumsum(counts) - counts) / counts)[owner]
    reach = np.maximum.reduceat(np.abs(points - middle), np.cumsum(counts) - counts)[owner]
    points = middle + (points - middle) * (1.0 - SNAP / np.maximum(reach, SNAP))
    outlines = shapely.linearrings(np.column_stack([points.real, points.imag]), indices=owner)
    shapes = shapely.polygons(outlines)
    one, two = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    pairs = one < two
    if not pairs.any():
        return 0.0
    return float(shapely.area(shapely.intersection(shapes[one[pairs]], shapes[two[pairs]])).sum())
