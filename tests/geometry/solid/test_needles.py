"""Needles are taken out and what met at them still meets; trimesh tells whether a surface is closed."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import trimesh
from block_outs import box_of
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.needles import without_needles
from stowfold.geometry.solid.solid import Role, Solid, make_solid


def _with_needle(roles: dict[tuple[int, int], Role] | None = None) -> Solid:
    """A box whose front and top meet at a needle of three corners on their common edge."""
    points, faces = box_of()
    middle = (points[1] + points[5]) / 2
    front, rest = (0, 4, 5, 1), [face for face in faces if face != (0, 4, 5, 1)]
    top = next(face for face in rest if set(face) == {1, 3, 5, 7})
    rest.remove(top)
    ring = list(top)
    at = ring.index(1) if ring[(ring.index(1) + 1) % 4] == 5 else ring.index(5)
    ring.insert(at + 1, 8)
    return make_solid(np.vstack([points, middle]), [front, (1, 5, 8), tuple(ring), *rest], roles=roles)


def test_a_surface_with_a_needle_stays_closed() -> None:
    healed = without_needles(_with_needle(), [1])
    assert len(healed.faces) == 6 and len(healed.faces[0]) == 5
    triangles = [(ring[0], b, c) for ring in healed.faces for b, c in pairwise(ring[1:])]
    mesh = trimesh.Trimesh(healed.points, triangles, process=False)
    assert mesh.is_watertight
    assert mesh.volume == np.prod([60.0, 40.0, 30.0])


def test_a_mark_along_a_needle_goes_to_its_pieces() -> None:
    healed = without_needles(_with_needle({(1, 5): Role.FLEX}), [1])
    (line,) = (edge for edge in find_facets(healed).edges if edge.role is Role.FLEX)
    assert line.right is not None


def test_a_row_of_needles_is_taken_out_at_once() -> None:
    """Two needles side by side: the wall's edge has no corner between, the lid's has two."""
    points = [(0, 0, 0), (90, 0, 0), (90, 0, 50), (0, 0, 50), (30, 0, 50), (60, 0, 50), (90, 40, 50), (0, 40, 50)]
    faces = [(0, 1, 2, 3), (3, 2, 4), (4, 2, 5), (3, 4, 5, 2, 6, 7)]
    healed = without_needles(make_solid(points, faces), [1, 2])
    assert healed.faces == ((0, 1, 2, 5, 4, 3), (3, 4, 5, 2, 6, 7))
