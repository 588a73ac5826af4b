"""Facets, edges and points are numbered by where they lie: the order of a mesh changes nothing that is cut."""

from __future__ import annotations

import itertools
import sys
from dataclasses import replace
from pathlib import Path

import networkx as nx
import numpy as np
import pytest
from block_outs import L_PLAN, box_of, loop_of_walls
from hypothesis import given, settings
from hypothesis import strategies as st
from renumbered import renumbered
from sample_solids import NAMES, solid_of
from shapely.geometry import MultiPoint
from shapely.ops import triangulate
from stowfold.geometry.solid.facets import Facets
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.ordering import in_place_order, walk
from stowfold.geometry.solid.solid import make_solid

_SWEEP = str(Path(__file__).parents[2] / "sweep")


def _shape(facets: Facets) -> list[object]:
    """Return everything about facets that does not name the host's numbers."""
    return [
        [(facet.shell, facet.rings, facet.ring_edges, facet.frame.n.tolist()) for facet in facets.facets],
        [(e.start, e.end, e.left, e.right, e.role, e.angle, len(e.host_edges)) for e in facets.edges],
        facets.shells,
        facets.points.tolist(),
    ]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("seed", range(3))
def test_a_renumbered_sample_is_the_same_to_the_last_bit(name: str, seed: int) -> None:
    solid = solid_of(name)
    assert _shape(find_facets(renumbered(solid, seed))) == _shape(find_facets(solid))


def test_renumbered_buildings_made_by_chance_are_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "path", [_SWEEP, *sys.path])
    from made_buildings import make_building

    sound = 0
    for number in range(16):
        solid = replace(make_building(5, number).solid, openings=())
        try:
            whole = find_facets(solid)
        except ValueError:
            continue
        sound += 1
        assert _shape(find_facets(renumbered(solid, number))) == _shape(whole), number
    assert sound > 10


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10**6), st.floats(-3.14, 3.14))
def test_host_numbers_stay_with_their_faces_and_edges(seed: int, turn: float) -> None:
    walls = loop_of_walls(L_PLAN, bottom=True)
    cos, sin = np.cos(turn), np.sin(turn)
    turned = replace(walls, points=walls.points @ np.array([[cos, sin, 0], [-sin, cos, 0], [0, 0, 1]]))
    mixed = renumbered(turned, seed)
    facets = find_facets(mixed)
    for facet in facets.facets:
        (face,) = facet.faces
        wanted = mixed.points[list(mixed.faces[face])]
        assert np.allclose(np.sort(facets.corners(facet), axis=0), np.sort(wanted, axis=0), atol=1e-9)
    for edge in facets.edges:
        for host in edge.host_edges:
            wanted = mixed.points[list(mixed.edges[host])]
            assert np.allclose(np.sort(facets.ends(edge), axis=0), np.sort(wanted, axis=0), atol=1e-9)


def test_walls_are_numbered_round_the_plan_and_the_floor_comes_last() -> None:
    """From the front left corner on, as one walks round the building with the walls to the left."""
    facets = find_facets(renumbered(loop_of_walls(L_PLAN, bottom=True), 4))
    starts = [facets.corners(facet)[0][:2].tolist() for facet in facets.facets[:-1]]
    assert starts == [list(map(float, corner)) for corner in L_PLAN]
    assert facets.shells[0].bottom == len(L_PLAN)


def test_numbers_do_not_depend_on_the_face_of_the_board() -> None:
    walls = loop_of_walls(L_PLAN, bottom=True)
    inside, outside = (find_facets(walls, wall_face=face) for face in ("inside", "outside"))
    assert [facet.faces for facet in inside.facets] == [facet.faces for facet in outside.facets]


def test_walls_come_before_the_roof_that_rests_on_them() -> None:
    walls = loop_of_walls(L_PLAN)
    slope = [(-5.0, -5.0, 60.0), (205.0, -5.0, 60.0), (205.0, 80.0, 90.0), (-5.0, 80.0, 90.0)]
    points = np.vstack([slope, walls.points])
    solid = make_solid(points, [(0, 1, 2, 3), *(tuple(p + 4 for p in face) for face in walls.faces)])
    assert [shell.kind for shell in find_facets(solid).shells] == ["walls", "roof"]


def test_a_triangulated_box_has_its_facets_in_the_same_order() -> None:
    """Triangles by shapely's Delaunay triangulation of every face."""
    points, faces = box_of()
    whole = find_facets(make_solid(points, faces))
    rows: list[tuple[float, float, float]] = []
    for facet in whole.facets:
        ring = whole.ring(facet)
        for triangle in triangulate(MultiPoint(ring)):
            rows += facet.frame.raise_(np.array(triangle.exterior.coords[:3])).tolist()
    cut = find_facets(make_solid(np.round(rows, 9), [(k, k + 1, k + 2) for k in range(0, len(rows), 3)]))
    for one, two in zip(whole.facets, cut.facets, strict=True):
        assert np.allclose(whole.corners(one), cut.corners(two), atol=1e-6)


def test_doubled_points_do_not_decide_the_order() -> None:
    points, faces = box_of()
    corners = list(itertools.chain.from_iterable(faces))
    loose = make_solid(points[corners], [tuple(range(k, k + 4)) for k in range(0, 24, 4)])
    one, two = (in_place_order(renumbered(loose, seed)) for seed in (1, 2))
    assert [one.points[list(face)].tolist() for face in one.faces] == [
        two.points[list(face)].tolist() for face in two.faces
    ]


def test_a_walk_goes_on_to_the_next_new_neighbour() -> None:
    """networkx' search in depth takes neighbours in their order as well."""
    beyond = [[1, 3], [2, 0], [3, 1, 4], [0, 2], [2]]
    graph = nx.DiGraph([(here, there) for here, near in enumerate(beyond) for there in near])
    assert walk(0, beyond) == list(nx.dfs_preorder_nodes(graph, 0)) == [0, 1, 2, 3, 4]
