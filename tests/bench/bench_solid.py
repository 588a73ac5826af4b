"""Facets of a fine mesh, against trimesh's grouping of coplanar triangles. Run: pytest tests/bench/bench_solid.py"""

from __future__ import annotations

import pytest
import trimesh
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import make_solid


@pytest.fixture(scope="module")
def fine_box() -> trimesh.Trimesh:
    """A cuboid of 12,288 triangles."""
    box = trimesh.creation.box(extents=(120.0, 80.0, 60.0))
    for _ in range(5):
        box = box.subdivide()
    return box


@pytest.mark.benchmark(group="facets of 12,288 triangles")
def test_find_facets(benchmark, fine_box):
    solid = make_solid(fine_box.vertices, fine_box.faces.tolist())
    assert len(benchmark(find_facets, solid).facets) == 6


@pytest.mark.benchmark(group="facets of 12,288 triangles")
def test_trimesh_facets(benchmark, fine_box):
    def group() -> int:
        return len(trimesh.Trimesh(fine_box.vertices, fine_box.faces, process=False).facets)

    assert benchmark(group) == 6
