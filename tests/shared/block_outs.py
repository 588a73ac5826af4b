"""Block-outs made by hand, and what must hold for the facets of any of them."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon
from stowfold.geometry.solid.facets import Facets
from stowfold.geometry.solid.solid import Role, Solid, make_solid

Plan = Sequence[tuple[float, float]]

#: A store with a lean-to: 200 x 150 with a 80 x 60 corner taken out, counter-clockwise.
L_PLAN: Plan = ((0, 0), (200, 0), (200, 90), (120, 90), (120, 150), (0, 150))


def loop_of_walls(plan: Plan, height: float = 70.0, *, bottom: bool = False, roles: dict | None = None) -> Solid:
    """Walls over a counter-clockwise plan, facing out; face k stands on side k; points 2k below, 2k + 1 above."""
    points = [(x, y, z) for x, y in plan for z in (0.0, height)]
    count = len(plan)
    faces = [(2 * k, 2 * ((k + 1) % count), 2 * ((k + 1) % count) + 1, 2 * k + 1) for k in range(count)]
    if bottom:
        faces.append(tuple(2 * k for k in reversed(range(count))))
    return make_solid(points, faces, roles=roles or {})


def box_of(a: float = 60.0, b: float = 40.0, c: float = 30.0) -> tuple[np.ndarray, list[tuple[int, ...]]]:
    points = np.array(list(itertools.product((0.0, a), (0.0, b), (0.0, c))))
    faces = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    return points, faces


def windowed_box(cells: int, windows: int) -> Solid:
    """A triangulated cuboid of cells x cells per side; the front has square windows, so it is open."""
    points: dict[tuple[float, float, float], int] = {}
    faces = []

    def point(p: tuple[float, float, float]) -> int:
        return points.setdefault(p, len(points))

    size = (120.0, 80.0, 60.0)
    width = cells // (2 * windows + 1)
    for axis in range(3):
        one, two = (axis + 1) % 3, (axis + 2) % 3
        for end in (0, 1):
            for i, j in itertools.product(range(cells), repeat=2):
                if axis == 1 and end == 0:
                    in_window = (j // width) % 2 == 1 and j // width < 2 * windows and cells // 3 <= i < 2 * cells // 3
                    if in_window:
                        continue
                quad = []
                for di, dj in ((0, 0), (1, 0), (1, 1), (0, 1)):
                    p = [0.0, 0.0, 0.0]
                    p[axis] = size[axis] * end
                    p[one] = size[one] * (i + di) / cells
                    p[two] = size[two] * (j + dj) / cells
                    quad.append(point((p[0], p[1], p[2])))
                quad = quad if end else quad[::-1]
                faces += [(quad[0], quad[1], quad[2]), (quad[0], quad[2], quad[3])]
    return make_solid(list(points), faces)


def area_of(facets: Facets, facet_id: int) -> float:
    facet = facets.facets[facet_id]
    return Polygon(facets.ring(facet), [facets.ring(facet, r) for r in range(1, len(facet.rings))]).area


def degrees(facets: Facets) -> list[float]:
    """The bend angles of all lines between two facets, sorted."""
    return sorted(math.degrees(edge.angle) for edge in facets.edges if edge.right is not None)


def assert_sound(facets: Facets) -> None:
    """What every later step relies on: ids, rings, edges and frames agree with one another."""
    assert [facet.id for facet in facets.facets] == list(range(len(facets.facets)))
    assert [edge.id for edge in facets.edges] == list(range(len(facets.edges)))
    assert [shell.id for shell in facets.shells] == list(range(len(facets.shells)))
    walked: dict[int, list[tuple[int, int, int]]] = {edge.id: [] for edge in facets.edges}
    for facet in facets.facets:
        assert facet.id in facets.shells[facet.shell].facets
        frame = facet.frame
        axes = np.vstack([frame.u, frame.v, frame.n])
        assert np.allclose(axes @ axes.T, np.eye(3), atol=1e-14)
        assert np.allclose(np.cross(frame.u, frame.v), frame.n, atol=1e-14)
        for r, (ring, ids) in enumerate(zip(facet.rings, facet.ring_edges, strict=True)):
            assert len(ring) == len(ids) >= 3
            assert shapely.LinearRing(facets.ring(facet, r)).is_ccw == (r == 0)
            for k, edge in enumerate(ids):
                walked[edge].append((facet.id, ring[k], ring[(k + 1) % len(ring)]))
            solid_points = facets.points[list(ring)]
            assert np.abs(frame.raise_(facets.ring(facet, r)) - solid_points).max() <= facets.noise + 1e-12
        outline = Polygon(facets.ring(facet), [facets.ring(facet, r) for r in range(1, len(facet.rings))])
        assert outline.is_valid, shapely.is_valid_reason(outline)
    for edge in facets.edges:
        expected = [(edge.left, edge.start, edge.end)]
        if edge.right is not None:
            expected.append((edge.right, edge.end, edge.start))
        assert sorted(walked[edge.id]) == sorted(expected)


def break_in_the_middle() -> Solid:
    """One room, the front wall of two faces with a break of two mesh edges between them."""
    points = [
        *((0, 0, 0), (0, 0, 70), (60, 0, 0), (60, 0, 30), (60, 0, 70), (120, 0, 0), (120, 0, 70)),
        *((120, 90, 0), (120, 90, 70), (0, 90, 0), (0, 90, 70)),
    ]
    faces = [(0, 2, 3, 4, 1), (2, 5, 6, 4, 3), (5, 7, 8, 6), (7, 9, 10, 8), (9, 0, 1, 10)]
    return make_solid(points, faces, roles={(3, 2): Role.BREAK, (3, 4): Role.BREAK})
