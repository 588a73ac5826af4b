"""Which side the board of less usual walls grows to: shapely's rooms say where inside is."""

from __future__ import annotations

import numpy as np
import pytest
from block_outs import assert_sound, box_of
from shapely.geometry import Point, Polygon
from stowfold.geometry.solid.facets import Facets, ShellKind
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, Solid, join_solids, make_solid

OUTER = ((0.0, 0.0), (300.0, 0.0), (300.0, 240.0), (0.0, 240.0))
COURT = ((90.0, 80.0), (210.0, 80.0), (210.0, 160.0), (90.0, 160.0))


def _turned(faces: list[tuple[int, ...]], turned: str) -> list[tuple[int, ...]]:
    odd = {"none": lambda _: False, "all": lambda _: True, "every third": lambda k: k % 3 == 0}[turned]
    return [face[::-1] if odd(k) else face for k, face in enumerate(faces)]


def _court(turned: str) -> Solid:
    """Rooms round a court: an outer and an inner ring of walls, joined by the bottom of the rooms."""
    points = [(x, y, z) for x, y in (*OUTER, *COURT) for z in (0.0, 70.0)]
    faces = []
    for a, b in ((0, 1), (1, 2), (2, 3), (3, 0)):
        faces.append((2 * a, 2 * b, 2 * b + 1, 2 * a + 1))
        faces.append((2 * b + 8, 2 * a + 8, 2 * a + 9, 2 * b + 9))
        faces.append((2 * b, 2 * a, 2 * a + 8, 2 * b + 8))
    return make_solid(points, _turned(faces, turned))


def _storeys(turned: str, level_breaks: int) -> Solid:
    """Walls of two storeys with level break lines between them on the first so many sides."""
    points = [(x, y, z) for z in (0.0, 40.0, 80.0) for x, y in OUTER]
    faces = [(4 * h + k, 4 * h + (k + 1) % 4, 4 * h + 4 + (k + 1) % 4, 4 * h + 4 + k) for h in (0, 1) for k in range(4)]
    roles = {(4 + k, 4 + (k + 1) % 4): Role.BREAK for k in range(level_breaks)}
    return make_solid(points, _turned(faces, turned), roles=roles)


def _assert_board_outside(facets: Facets, rooms: Polygon) -> None:
    upright = [facet for facet in facets.facets if facet.upright]
    assert upright
    for facet in upright:
        middle = facets.points[list(facet.rings[0])].mean(axis=0)
        assert not rooms.contains(Point(middle[:2] + facet.frame.n[:2]))
        assert rooms.contains(Point(middle[:2] - facet.frame.n[:2]))


@pytest.mark.parametrize("turned", ["none", "all", "every third"])
def test_walls_round_a_court_grow_away_from_the_rooms(turned: str) -> None:
    facets = find_facets(_court(turned))
    assert_sound(facets)
    assert facets.findings == ()
    (shell,) = facets.shells
    assert shell.kind is ShellKind.WALLS
    assert len(facets.facets[shell.bottom].rings) == 2
    _assert_board_outside(facets, Polygon(OUTER, [COURT]))


@pytest.mark.parametrize("turned", ["none", "all", "every third"])
@pytest.mark.parametrize("level_breaks", [0, 1, 3, 4])
def test_level_breaks_leave_the_side_of_a_ring_clear(turned: str, level_breaks: int) -> None:
    facets = find_facets(_storeys(turned, level_breaks))
    assert_sound(facets)
    assert facets.findings == ()
    assert len(facets.facets) == 4 + level_breaks
    assert facets.shells[0].kind is ShellKind.WALLS
    _assert_board_outside(facets, Polygon(OUTER))


def test_three_walls_of_four_are_no_ring() -> None:
    points = [(x, y, z) for x, y in OUTER for z in (0.0, 70.0)]
    faces = [(2 * k, 2 * k + 2, 2 * k + 3, 2 * k + 1) for k in range(3)]
    facets = find_facets(make_solid(points, [face[::-1] for face in faces]))
    # they are walls, but nothing encloses a room, so the normals count as they were given
    assert facets.shells[0].kind is ShellKind.WALLS
    assert facets.facets[0].frame.n == pytest.approx([0.0, 1.0, 0.0])


def test_faces_are_turned_in_their_own_shell_only() -> None:
    """Boxes side by side, each with another face turned round, and a strip that cannot be turned at all."""
    points, faces = box_of()
    boxes = [
        make_solid(points + np.array([100.0 * k, 0.0, 0.0]), [f[::-1] if i == k else f for i, f in enumerate(faces)])
        for k in range(6)
    ]
    turn = 2 * np.pi * np.arange(9) / 9
    middle = 50 * np.column_stack([np.cos(turn), np.sin(turn), 0 * turn - 9])
    reach = 10 * np.column_stack([np.cos(turn / 2) * np.cos(turn), np.cos(turn / 2) * np.sin(turn), np.sin(turn / 2)])
    ends = [(k + 1, k + 10) if k < 8 else (9, 0) for k in range(9)]
    strip = [t for k, (low, high) in enumerate(ends) for t in ((k, low, high), (k, high, k + 9))]
    twisted = make_solid(np.vstack([middle - reach, middle + reach]), strip, source="strip")
    facets = find_facets(join_solids([*boxes[:3], twisted, *boxes[3:]]))
    assert_sound(facets)
    assert [(finding.code, finding.where.source) for finding in facets.findings] == [
        ("open-or-crossing-solid", "strip"),
        ("unclear-board-side", "strip"),
    ]
    assert facets.findings[0].where.edges
    closed = [shell for shell in facets.shells if shell.closed]
    assert len(closed) == 6
    for shell in closed:
        own = [facets.facets[k] for k in shell.facets]
        centre = np.mean([facets.points[list(facet.rings[0])].mean(axis=0) for facet in own], axis=0)
        assert all(facet.frame.n @ (facet.frame.origin - centre) > 0 for facet in own)


@pytest.mark.parametrize("edges", [[], [(5, 1), (0, 2)]])
def test_sides_that_are_not_listed_are_edges_without_a_host(edges: list[tuple[int, int]]) -> None:
    points, faces = box_of()
    solid = make_solid(points, faces, edges=edges, edge_ids=range(40, 40 + len(edges)), roles={(1, 3): Role.FLEX})
    assert solid.edges[: len(edges)] == tuple(edges)
    assert solid.edge_ids == (*range(40, 40 + len(edges)), *(-1,) * (12 - len(edges)))
    assert {frozenset(edge) for edge in solid.edges} == {frozenset(edge) for edge in make_solid(points, faces).edges}
    assert len(solid.edge_roles) == len(solid.edge_sources) == 12
    facets = find_facets(solid)
    assert_sound(facets)
    assert sorted(host for edge in facets.edges for host in edge.host_edges) == list(range(40, 40 + len(edges)))
    assert sum(edge.role is Role.FLEX for edge in facets.edges) == 1
