"""The flat shape of a net before it is built: panels and lattices laid out with the bends they will have.

Every bend is taken at the inside radius that the maker aims at. A lattice that has to be wider moves
its panel by the angle less twice the tangent of its half, times the difference: a few tenths of a millimetre.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from ..solid.facets import Facets
from ..tolerance import SNAP
from .corner import Bend, bend, parted_pull_back
from .net_trees import Link
from .outline import move_sides

__all__ = ["FlatPiece", "NetDrawing"]


@dataclass(frozen=True, slots=True)
class FlatPiece:
    """Facets held together by bends, in the flat: their box in the frame of the first facet, mm, and overlap, mm^2.

    vanished: sides that bends and gaps eat.
    """

    size: tuple[float, float]
    overlap: float
    vanished: int


class NetDrawing:
    """Draws pieces of one shell in the flat and remembers them. Points of a plane are complex numbers."""

    def __init__(self, facets: Facets, links: Sequence[Link], *, radius: float, thickness: float) -> None:
        self._facets = facets
        self._thickness = thickness
        self._bends: Mapping[int, Bend] = {
            link.edge: bend(
                facets.edges[link.edge].angle,
                flat_width=(radius + thickness / 2) * abs(facets.edges[link.edge].angle),
                thickness=thickness,
            )
            for link in links
        }
        self._panels: dict[tuple[int, tuple[int, ...]], tuple[np.ndarray, np.ndarray, int]] = {}
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
        vanished = 0
        order = [root]
        for here in order:
            turn, shift = motions[here]
            points, sides, gone = self._panel(here, tuple(sorted(link.edge for link in near[here])))
            shapes.append(points * turn + shift)
            vanished += gone
            for link in near[here]:
                there = link.beyond(here)
                if there in motions:
                    continue
                spin, step, across = self._step(link.edge, here, there)
                motions[there] = (spin * turn, step * turn + shift)
                order.append(there)
                side = sides[self._side(here, link.edge)]
                shapes.append(np.array([side[0], side[1], side[1] + across, side[0] + across]) * turn + shift)
        everything = np.concatenate(shapes)
        size = (float(np.ptp(everything.real)), float(np.ptp(everything.imag)))
        return FlatPiece(size, _shared(shapes) if len(order) > 1 else 0.0, vanished)

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

    def _ends(self, edge_id: int, facet: int) -> tuple[complex, complex]:
        """Return both ends of an edge as the facet's outline runs along it, in the facet's plane."""
        edge = self._facets.edges[edge_id]
        ends = [edge.start, edge.end] if edge.left == facet else [edge.end, edge.start]
        flat = self._facets.facets[facet].frame.flatten(self._facets.points[ends])
        return complex(*flat[0]), complex(*flat[1])

    def _side(self, facet: int, edge: int) -> int:
        ids = self._facets.facets[facet].ring_edges[0]
        return ids.index(edge) if edge in ids else 0

    def _panel(self, facet_id: int, bent: tuple[int, ...]) -> tuple[np.ndarray, np.ndarray, int]:
        """Return the panel's ring, the ends of its sides (k, 2), and how many sides vanish."""
        key = (facet_id, bent)
        if key not in self._panels:
            facet = self._facets.facets[facet_id]
            distances = []
            for edge_id in facet.ring_edges[0]:
                edge = self._facets.edges[edge_id]
                if edge_id in bent:
                    distances.append(self._bends[edge_id].pull_back)
                elif edge.right is None:
                    distances.append(0.0)
                else:
                    distances.append(parted_pull_back(edge.angle, thickness=self._thickness))
            moved = move_sides(self._facets.ring(facet), np.array(distances))
            sides = moved.sides[..., 0] + 1j * moved.sides[..., 1]
            self._panels[key] = (sides.reshape(-1), sides, len(moved.vanished))
        return self._panels[key]


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
