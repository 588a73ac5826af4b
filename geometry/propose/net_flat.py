"""Pieces of a net in the flat, as they would be cut: how large they are, and how much of them lies on itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from ..solid.facets import Facets
from ..tolerance import SNAP
from .net_bends import Bends
from .net_trees import Link

__all__ = ["FlatPiece", "NetDrawing"]


@dataclass(frozen=True, slots=True)
class FlatPiece:
    """Facets held together by bends, in the flat: their box in the frame of the first facet, mm, and overlap, mm^2."""

    size: tuple[float, float]
    overlap: float


class NetDrawing:
    """Draws pieces of one shell in the flat. Points of a plane are complex numbers."""

    def __init__(self, facets: Facets) -> None:
        self._facets = facets
        self._known_ends: dict[tuple[int, int], tuple[complex, complex]] = {}

    def draw(self, bends: Bends, group: Sequence[int], links: Sequence[Link]) -> FlatPiece:
        """Return the flat shape of facets that ``links``, all of them bent, tie together."""
        root = min(group)
        near: dict[int, list[Link]] = {root: []}
        for link in links:
            near.setdefault(link.one, []).append(link)
            near.setdefault(link.two, []).append(link)
        motions: dict[int, tuple[complex, complex]] = {root: (1.0 + 0.0j, 0.0j)}
        shapes: list[np.ndarray] = []
        order = [root]
        for here in order:
            turn, shift = motions[here]
            sides = bends.panels[here].ring.sides.reshape(-1, 2)
            shapes.append((sides[:, 0] + 1j * sides[:, 1]) * turn + shift)
            for link in near[here]:
                there = link.beyond(here)
                if there in motions:
                    continue
                spin, step, strip = self._step(bends, link.edge, here, there)
                motions[there] = (spin * turn, step * turn + shift)
                order.append(there)
                shapes.append(strip * turn + shift)
        everything = np.concatenate(shapes)
        size = (float(np.ptp(everything.real)), float(np.ptp(everything.imag)))
        return FlatPiece(size, _shared(shapes) if len(order) > 1 else 0.0)

    def _step(self, bends: Bends, edge: int, here: int, there: int) -> tuple[complex, complex, np.ndarray]:
        """Return what takes the plane of ``there`` to that of ``here``, a turn and a shift, and the lattice's corners.

        The corners, (4,), lie in the plane of ``here``.
        """
        start, end = self._ends(edge, here)
        length = abs(end - start)
        along = (end - start) / length
        # the neighbour runs along the edge the other way
        arrives, leaves = self._ends(edge, there)
        spin = along * abs(arrives - leaves) / (arrives - leaves)
        made = bends.hinges[edge].bend
        low, high = bends.spans[edge]
        if self._facets.edges[edge].left != here:
            low, high = length - high, length - low
        back, across = start + 1j * along * made.setback, -1j * along * made.flat_width
        strip = np.array([0.0, high - low, high - low, 0.0]) * along + np.array([0.0, 0.0, 1.0, 1.0]) * across
        return spin, start - 1j * along * made.gain - leaves * spin, back + low * along + strip

    def _ends(self, edge_id: int, facet: int) -> tuple[complex, complex]:
        """Return both ends of an edge as the facet's outline runs along it, in the facet's plane."""
        if (edge_id, facet) not in self._known_ends:
            edge = self._facets.edges[edge_id]
            ends = [edge.start, edge.end] if edge.left == facet else [edge.end, edge.start]
            flat = self._facets.facets[facet].frame.flatten(self._facets.points[ends])
            self._known_ends[edge_id, facet] = complex(*flat[0]), complex(*flat[1])
        return self._known_ends[edge_id, facet]


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
    shapes = shapes[shapely.is_valid(shapes)]  # what the maker's own bends leave of a panel may cross itself
    one, two = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    pairs = one < two
    if not pairs.any():
        return 0.0
    return float(shapely.area(shapely.intersection(shapes[one[pairs]], shapes[two[pairs]])).sum())
