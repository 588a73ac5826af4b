"""Parting a wall: a break line put across a facet that the maker has not marked."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..errors import GeometryError
from ..tolerance import SNAP
from .facets import Edge, Facet, Facets
from .solid import Role

__all__ = ["part_wall"]


def part_wall(facets: Facets, facet_id: int, u: float) -> Facets:
    """Return the facets with one upright facet parted along the vertical line at its coordinate ``u``, mm.

    The left part (u below the line) keeps the id, the right part is the last facet; between them lies
    an Edge of role BREAK without host edges. Neighbours along the cut sides get the new points too.
    Raises GeometryError where the facet is not upright, or the line meets an opening or a corner
    within SNAP, or crosses the outline at other than two places.
    """
    facet = facets.facets[facet_id]
    outline = facets.ring(facet)
    name = f"face {facet.faces[0]}"
    if not facet.upright:
        raise GeometryError(f"A break cannot part {name}, which does not stand upright; breaks part walls only.")
    if np.abs(outline[:, 0] - u).min() < SNAP:
        raise GeometryError(f"A break {u:.1f} mm along {name} would run into a corner; move it by a millimetre.")
    holes = [facets.ring(facet, r)[:, 0] for r in range(1, len(facet.rings))]
    if any(hole.min() - SNAP < u < hole.max() + SNAP for hole in holes):
        raise GeometryError(
            f"A break {u:.1f} mm along {name} would run through an opening; move it beside the opening."
        )
    ahead = np.roll(outline, -1, axis=0)
    crossed = np.flatnonzero((outline[:, 0] < u) != (ahead[:, 0] < u))
    if len(crossed) != 2:
        raise GeometryError(
            f"A break {u:.1f} mm along {name} would cross its outline {len(crossed)} times; a break runs once from "
            "bottom to top."
        )
    share = (u - outline[crossed, 0]) / (ahead[crossed, 0] - outline[crossed, 0])
    # on the edges themselves, which belong to the neighbours' planes as well
    corners = facets.points[list(facet.rings[0])]
    on_edge = corners[crossed] + share[:, None] * (np.roll(corners, -1, axis=0)[crossed] - corners[crossed])
    points = np.vstack([facets.points, on_edge])
    points.setflags(write=False)
    new = (len(facets.points), len(facets.points) + 1)
    # side a runs to the right across the line (the lower one), side b back to the left
    order = np.argsort(outline[crossed, 0] > u, kind="stable")
    a, b = (int(crossed[k]) for k in order)
    point_a, point_b = (new[k] for k in order)

    right_id, break_id = len(facets.facets), len(facets.edges)
    ring, ids = facet.rings[0], facet.ring_edges[0]
    count = len(ring)
    halves = {a: (break_id + 1, break_id + 2), b: (break_id + 3, break_id + 4)}
    back = [(b + 1 + k) % count for k in range((a - b - 1) % count + 1)]  # corners of the left part
    there = [(a + 1 + k) % count for k in range((b - a - 1) % count + 1)]
    left_points = [point_a, point_b, *(ring[k] for k in back)]
    left_ids = [break_id, halves[b][1], *(ids[k] for k in back[:-1]), halves[a][0]]
    right_points = [point_b, point_a, *(ring[k] for k in there)]
    right_ids = [break_id, halves[a][1], *(ids[k] for k in there[:-1]), halves[b][0]]

    edges = list(facets.edges)
    edges.append(Edge(break_id, point_a, point_b, facet_id, right_id, Role.BREAK, 0.0, (), facet.source))
    for side, point in ((a, point_a), (b, point_b)):
        first, second = halves[side]
        edges += _cut(facets.edges[ids[side]], facet_id, point, first, second)
    right_holes = [r for r, hole in enumerate(holes, start=1) if hole.min() > u]
    moved = {e for e in right_ids if e < break_id} | {e for r in right_holes for e in facet.ring_edges[r]}
    # everything that now borders on the right part names it
    moved |= {halves[a][1], halves[b][0]}
    edges = [_renamed(edge, facet_id, right_id) if edge.id in moved and edge.id != break_id else edge for edge in edges]
    parted = [
        replace(
            facet,
            rings=(tuple(points_), *(facet.rings[r] for r in chosen)),
            ring_edges=(tuple(edges_), *(facet.ring_edges[r] for r in chosen)),
            id=name_,
        )
        for points_, edges_, chosen, name_ in (
            (left_points, left_ids, [r for r in range(1, len(facet.rings)) if r not in right_holes], facet_id),
            (right_points, right_ids, right_holes, right_id),
        )
    ]
    others = [
        _with_points(each, {ids[a]: (halves[a], point_a), ids[b]: (halves[b], point_b)}, facets)
        for each in facets.facets
    ]
    others[facet_id] = parted[0]
    kept, ids_after = _without({ids[a], ids[b]}, edges)
    all_facets = tuple(_renumbered(each, ids_after) for each in (*others, parted[1]))
    shells = tuple(
        replace(shell, facets=(*shell.facets, right_id)) if shell.id == facet.shell else shell
        for shell in facets.shells
    )
    return replace(facets, points=points, facets=all_facets, edges=kept, shells=shells)


def _cut(edge: Edge, facet: int, point: int, first: int, second: int) -> tuple[Edge, Edge]:
    """Cut an edge at a point, the first half being the one that ``facet`` walks first."""
    if edge.left == facet:
        return replace(edge, id=first, end=point), replace(edge, id=second, start=point)
    return replace(edge, id=first, start=point), replace(edge, id=second, end=point)


def _renamed(edge: Edge, old: int, new: int) -> Edge:
    if edge.left == old:
        return replace(edge, left=new)
    return replace(edge, right=new) if edge.right == old else edge


def _with_points(facet: Facet, cuts: dict[int, tuple[tuple[int, int], int]], facets: Facets) -> Facet:
    """Put the new points into the rings of a neighbour that runs along a cut edge the other way."""
    rings, ring_edges = [], []
    for ring, ids in zip(facet.rings, facet.ring_edges, strict=True):
        points, edges = [], []
        for point, edge in zip(ring, ids, strict=True):
            points.append(point)
            if edge in cuts:
                (first, second), new = cuts[edge]
                points.append(new)
                edges += [second, first]
            else:
                edges.append(edge)
        rings.append(tuple(points))
        ring_edges.append(tuple(edges))
    return replace(facet, rings=tuple(rings), ring_edges=tuple(ring_edges))


def _without(gone: set[int], edges: list[Edge]) -> tuple[tuple[Edge, ...], dict[int, int]]:
    """Drop the edges that were cut and number the rest 0, 1, ..."""
    kept = [edge for edge in edges if edge.id not in gone]
    ids = {edge.id: k for k, edge in enumerate(kept)}
    return tuple(replace(edge, id=ids[edge.id]) for edge in kept), ids


def _renumbered(facet: Facet, ids: dict[int, int]) -> Facet:
    return replace(facet, ring_edges=tuple(tuple(ids[e] for e in ring) for ring in facet.ring_edges))
