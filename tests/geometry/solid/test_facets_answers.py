"""What facets answer about their edges and shells, against the same box in trimesh."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from block_outs import L_PLAN, box_of, loop_of_walls
from stowfold.geometry.solid.facets import Facets
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import make_solid


@pytest.fixture(scope="module")
def block() -> Facets:
    return find_facets(make_solid(*box_of(60.0, 40.0, 30.0)))


def test_edges_are_as_long_as_trimesh_has_them(block: Facets) -> None:
    mesh = trimesh.creation.box((60.0, 40.0, 30.0))
    # trimesh knows triangles: an edge between coplanar ones is no edge of the box
    real = mesh.face_adjacency_edges[mesh.face_adjacency_angles > 1e-6]
    wanted = np.linalg.norm(np.diff(mesh.vertices[real], axis=1)[:, 0], axis=1)
    assert sorted(block.length(edge) for edge in block.edges) == pytest.approx(sorted(wanted))
    for edge in block.edges:
        start, end = block.ends(edge)
        assert np.linalg.norm(end - start) == pytest.approx(block.length(edge))


def test_an_edge_lies_on_both_its_facets(block: Facets) -> None:
    for edge in block.edges:
        one, two = block.pair(edge)
        assert one is block.left(edge) and block.beyond(edge, one) is two and block.beyond(edge, two) is one
        for facet in (one, two):
            assert block.ends(edge) @ facet.frame.n == pytest.approx(facet.frame.origin @ facet.frame.n)
            assert block.u_of(edge, facet) == pytest.approx((block.ends(edge)[0] - facet.frame.origin) @ facet.frame.u)


def test_the_edges_of_a_ring_run_from_corner_to_corner(block: Facets) -> None:
    for facet in block.facets:
        corners = block.corners(facet)
        for k, edge in enumerate(block.edges_of(facet)):
            ends = block.ends(edge) if block.left(edge) is facet else block.ends(edge)[::-1]
            np.testing.assert_array_equal(ends, corners[[k, (k + 1) % len(corners)]])


def test_a_free_edge_has_nothing_beyond() -> None:
    facets = find_facets(loop_of_walls(L_PLAN))
    free = [edge for edge in facets.edges if edge.right is None]
    assert len(free) == 2 * len(L_PLAN)
    assert all(facets.beyond(edge, facets.left(edge)) is None for edge in free)
    with pytest.raises(AssertionError, match="ends the surface"):
        facets.pair(free[0])


def test_walls_stand_and_belong_to_no_roof() -> None:
    ring = find_facets(loop_of_walls(L_PLAN, bottom=True))
    assert [ring.is_wall(facet) for facet in ring.facets].count(False) == 1
    slope = np.array([(0, 0, 60), (100, 0, 60), (100, 50, 90), (0, 50, 90), (0, 100, 60), (100, 100, 60)], dtype=float)
    gable = find_facets(make_solid(slope, [(0, 1, 2, 3), (3, 2, 5, 4)]))
    assert not any(gable.is_wall(facet) for facet in gable.facets)
    (shell,) = gable.shells
    assert all(gable.shell_of(facet) is shell for facet in gable.facets)
    points = gable.outline_points(shell)
    assert len(points) == 8 and gable.lowest(shell) == points[:, 2].min() == 60.0
    assert {gable.source_of(facet) for facet in gable.facets} == set(gable.sources)
