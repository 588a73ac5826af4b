"""Sewing: a solid with its stitches made, and what the maker is told of them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise

import numpy as np

from ..findings import Finding, Location, Severity, place
from ..tolerance import STITCH, WELD
from .solid import Solid
from .stitch import Rims, Stitches, find_gaps

__all__ = ["check_gaps", "sew", "stitch_notes"]

_Pair = tuple[int, int]


def sew(solid: Solid, weld: np.ndarray, rims: Rims, stitches: Stitches) -> Solid:
    """Return a solid whose faces share the points of its stitches; ids and marks stay with the pieces of each edge.

    weld: (n,) the point that stands for each point of the solid.
    """
    points = solid.points.copy()
    moved = stitches.moved[weld] > 0.0
    points[moved] = stitches.points[weld[moved]]
    points.setflags(write=False)
    inner: dict[tuple[int, int, int], tuple[int, ...]] = {}
    for rim, between in stitches.inner.items():
        face, start, end = int(rims.id[rim]), int(rims.start[rim]), int(rims.end[rim])
        inner[face, start, end] = between
        inner[face, end, start] = between[::-1]
    split = {(start, end): between for (_, start, end), between in inner.items()}
    faces = list(solid.faces)
    for face in {face for face, _, _ in inner}:
        ring = faces[face]
        sides = zip(ring, (*ring[1:], *ring[:1]), strict=True)
        faces[face] = tuple(p for a, b in sides for p in (a, *inner.get((face, int(weld[a]), int(weld[b])), ())))
    pieces = [(k, pair) for k, edge in enumerate(solid.edges) for pair in _pieces(edge, weld, split)]
    return replace(
        solid,
        points=points,
        faces=tuple(faces),
        edges=tuple(pair for _, pair in pieces),
        edge_ids=tuple(solid.edge_ids[k] for k, _ in pieces),
        edge_sources=tuple(solid.edge_sources[k] for k, _ in pieces),
        edge_roles=tuple(solid.edge_roles[k] for k, _ in pieces),
    )


def _pieces(edge: _Pair, weld: np.ndarray, split: dict[_Pair, tuple[int, ...]]) -> Iterator[_Pair]:
    """Yield the edges that an edge falls into, itself where nothing lies on it."""
    a, b = edge
    return pairwise((a, *split.get((int(weld[a]), int(weld[b])), ()), b))


def stitch_notes(solid: Solid, rims: Rims, stitches: Stitches, host: np.ndarray) -> tuple[Finding, ...]:
    """Say how many free edges were joined and how far points moved for it, per object, where it is more than rounding.

    host: (k,) host edge of every rim.
    """
    used = np.array(stitches.rims)
    far = np.maximum(stitches.moved[rims.start[used]], stitches.moved[rims.end[used]])
    sources = np.array([solid.face_sources[k] for k in rims.id[used]])
    found = []
    for source in np.unique(sources[far > WELD]).tolist():
        own = used[sources == source]
        worst = int(used[sources == source][np.argmax(far[sources == source])])
        edges = tuple(sorted({int(edge) for edge in host[own] if edge >= 0}))
        found.append(
            Finding(
                Severity.NOTE,
                "edges-stitched",
                f"{len(own)} free edges of {solid.sources[source]} were joined to edges beside them and vertices moved "
                f"by up to {far[sources == source].max():.4f} mm for it; merge the mesh's vertices by distance.",
                Location(edges=edges, source=solid.sources[source], point=place(stitches.points[rims.start[worst]])),
            )
        )
    return tuple(found)


def check_gaps(
    solid: Solid, points: np.ndarray, rims: Rims, host: np.ndarray, bodies: np.ndarray
) -> tuple[Finding, ...]:
    """Report free edges of one body too far apart to be one and too near to be two, per object.

    host: (k,) edge of every rim. bodies: (n,) number of the body of every point.
    """
    by_source: dict[int, list[tuple[int, int, float]]] = {}
    for gap in find_gaps(points, rims, bodies):
        by_source.setdefault(solid.face_sources[int(rims.id[gap[0]])], []).append(gap)
    found = []
    for source, gaps in by_source.items():
        one, other, apart = max(gaps, key=lambda gap: gap[2])
        edges = tuple(sorted({int(host[rim]) for gap in gaps for rim in gap[:2] if host[rim] >= 0}))
        many = f", as in {len(gaps) - 1} more places" if len(gaps) > 1 else ""
        found.append(
            Finding(
                Severity.ERROR,
                "edges-apart",
                f"Two edges of {solid.sources[source]} run {apart:.3f} mm apart{many}; up to {STITCH:g} mm they would "
                "be one, so merge their vertices by distance, or move them apart.",
                Location(
                    edges=edges,
                    source=solid.sources[source],
                    point=place(points[[*rims.ends[one], *rims.ends[other]]].mean(axis=0)),
                ),
            )
        )
    return tuple(found)
