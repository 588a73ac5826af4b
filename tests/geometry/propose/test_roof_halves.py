"""Roofs that fit no sheet come in halves, against trimesh's own slices; one that fits stays whole."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import trimesh
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.run import Settings, run
from stowfold.geometry.plan.walls import PlanKind, Roof, RoofKind, block_out, outline_of
from stowfold.geometry.solid.cut_faces import cut_faces
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, make_solid

WOOD = replace(find_stock("basswood-3.2", read_stocks()), sheet=(610.0, 305.0))
SETTINGS = Settings(walls=WOOD, roof=WOOD, floor=WOOD, joiners=WOOD, laser=Laser(bed=(620.0, 310.0)))


def _solid(kind, length, width):
    plan = outline_of(PlanKind.RECTANGLE, length=length, width=width, square=25.4)
    # breaks so that the walls fit as well
    breaks = [(length * 25.4 / 3, 0.0), (length * 25.4 / 3, width * 25.4)]
    block = block_out(plan, roof=Roof(kind), breaks=breaks)
    return make_solid(block.points, block.faces, roles=dict(block.roles))


def _roofs(outcome):
    return [part for part in outcome.parts if part.kind == "roof"]


def test_the_roof_of_eleven_by_seven_squares_is_one_part_on_a_sheet_of_24_by_12_inches():
    outcome = run(_solid(RoofKind.HIP, 11, 7), SETTINGS, title="lock-keeper's house")
    assert len(_roofs(outcome)) == 1
    assert "roof-in-halves" not in {finding.code for finding in outcome.findings}
    assert outcome.proof.holds


@pytest.mark.parametrize(("kind", "length", "width"), [(RoofKind.HIP, 18, 10), (RoofKind.GABLE, 26, 8)])
def test_a_larger_roof_comes_in_two_halves_that_fold_back(kind, length, width):
    solid = _solid(kind, length, width)
    outcome = run(solid, SETTINGS, title="barge house")
    roofs = _roofs(outcome)
    assert len(roofs) == 2
    assert [f.code for f in outcome.findings].count("roof-in-halves") == 1
    # a part keeps within the sheet's margins
    assert all(max(part.size) <= 604.0 and min(part.size) <= 299.0 for part in roofs)
    assert not [f for f in outcome.findings if f.code == "part-longer-than-sheet" and f.where.part in ("R1", "R2")]
    assert outcome.proof.holds
    # mirror images of each other
    assert roofs[0].area == pytest.approx(roofs[1].area, rel=1e-3)
    stops = [part for part in outcome.parts if part.kind == "stop"]
    assert len(stops) == len({facet.id for facet in outcome.facets.facets if not facet.upright})


def test_cut_faces_keep_every_area_as_trimesh_slices_it():
    rng = np.random.default_rng(5)
    base = trimesh.creation.box((80.0, 50.0, 30.0))
    quads = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    for _ in range(25):
        normal = rng.normal(size=3)
        normal /= np.linalg.norm(normal)
        point = rng.uniform(-10.0, 10.0, 3)
        solid = make_solid(base.vertices, quads)
        cut = cut_faces(solid, range(6), point, normal, role=Role.CLOSURE)
        whole, parted = find_facets(solid), find_facets(cut)
        expected = trimesh.intersections.slice_mesh_plane(base, normal, point).area
        got = 0.0
        for facet in parted.facets:
            points = parted.points[list(facet.rings[0])]
            if ((points - point) @ normal).mean() > 0.0:
                x, y = parted.ring(facet).T
                got += abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2
        assert got == pytest.approx(expected, rel=1e-6)
        assert len(parted.facets) > len(whole.facets)
        marked = [edge for edge in parted.edges if edge.role is Role.CLOSURE]
        assert all(edge.right is not None and edge.angle == 0.0 for edge in marked)


def test_a_cut_along_a_diagonal_of_corners_makes_no_new_points():
    solid = make_solid(np.array([[0.0, 0, 0], [10, 0, 0], [10, 10, 0], [0, 10, 0]]), [(0, 1, 2, 3)])
    cut = cut_faces(solid, [0], np.zeros(3), np.array([1.0, -1.0, 0.0]), role=Role.CLOSURE)
    assert len(cut.points) == 4
    assert sorted(map(sorted, cut.faces)) == [[0, 1, 2], [0, 2, 3]]
    assert [cut.edges[k] for k, role in enumerate(cut.edge_roles) if role is Role.CLOSURE] == [(0, 2)]
