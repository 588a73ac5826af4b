"""Free edges that lie on one another become one edge of the surface; what only rests on walls stays apart.

What the stitched model must be is known from the same model without the fault; nearest points come from scipy.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from block_outs import L_PLAN, assert_sound, box_of, break_in_the_middle, degrees, loop_of_walls
from scipy.spatial import cKDTree
from stowfold.geometry.findings import Severity
from stowfold.geometry.solid.facets import Facets, ShellKind
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, Solid, join_solids, make_solid
from stowfold.geometry.tolerance import GAP, STITCH

Pair = tuple[int, int]


def marks(solid: Solid) -> dict[Pair, Role]:
    return {pair: role for pair, role in zip(solid.edges, solid.edge_roles, strict=True) if role}


def with_vertex(solid: Solid, face: int, side: Pair, share: float) -> Solid:
    """Give one face a vertex of its own in a side, at a share of its length; the other face knows nothing of it."""
    a, b = side
    points = np.vstack([solid.points, solid.points[a] + share * (solid.points[b] - solid.points[a])])
    ring = solid.faces[face]
    sides = zip(ring, (*ring[1:], ring[0]), strict=True)
    new = tuple(p for one, two in sides for p in ((one, len(points) - 1) if {one, two} == {a, b} else (one,)))
    faces = [new if k == face else corners for k, corners in enumerate(solid.faces)]
    known = marks(solid)
    role = known.get((a, b), known.get((b, a), Role.PLAIN))
    if not any({a, b} == {one, two} for ring in faces for one, two in zip(ring, (*ring[1:], ring[0]), strict=True)):
        known = {pair: edge for pair, edge in known.items() if set(pair) != {a, b}}
        known |= {(a, len(points) - 1): role, (b, len(points) - 1): role}
    return make_solid(points, faces, roles=known)


def torn_apart(solid: Solid, reach: float) -> Solid:
    """Every face with points of its own, each moved by ``reach`` / 2 in some direction, mm."""
    chance = np.random.default_rng(3)
    points, faces, roles = [], [], {}
    for ring in solid.faces:
        step = chance.normal(size=(len(ring), 3))
        ids = range(len(points), len(points) + len(ring))
        points += list(solid.points[list(ring)] + reach / 2 * step / np.linalg.norm(step, axis=1)[:, None])
        faces.append(tuple(ids))
        known = marks(solid)
        for k, one in enumerate(ring):
            two = ring[(k + 1) % len(ring)]
            if role := known.get((one, two), known.get((two, one))):
                roles[ids[k], ids[(k + 1) % len(ring)]] = role
    return make_solid(points, faces, roles=roles)


def kinds(facets: Facets) -> list[tuple[ShellKind, int]]:
    return [(shell.kind, len(shell.facets)) for shell in facets.shells]


FLEXED = loop_of_walls(L_PLAN, roles={(2 * k, 2 * k + 1): Role.FLEX for k in range(6)})


@pytest.mark.parametrize("shares", [[0.5], [0.2, 0.7], [0.5, 0.5 + 5e-7]])
@pytest.mark.parametrize("face", [0, 5])
def test_a_vertex_of_one_neighbour_parts_nothing(face: int, shares: Sequence[float]) -> None:
    solid = FLEXED
    for k, share in enumerate(shares):
        # each vertex parts the piece that is left above the one before
        side = (0, 1) if k == 0 else (len(solid.points) - 1, 1)
        rest = share if k == 0 else (share - shares[k - 1]) / (1 - shares[k - 1])
        solid = with_vertex(solid, face, side, rest)
    facets = find_facets(solid)
    assert_sound(facets)
    assert facets.findings == ()
    assert kinds(facets) == [(ShellKind.WALLS, 6)]
    assert degrees(facets) == pytest.approx(degrees(find_facets(FLEXED)))
    corner = [edge for edge in facets.edges if edge.right is not None]
    assert [edge.role for edge in corner] == [Role.FLEX] * 6


def test_vertices_of_both_neighbours_that_differ_part_nothing() -> None:
    solid = with_vertex(with_vertex(FLEXED, 0, (0, 1), 0.3), 5, (0, 1), 0.6)
    facets = find_facets(solid)
    assert_sound(facets)
    assert (facets.findings, kinds(facets)) == ((), [(ShellKind.WALLS, 6)])


def test_a_mark_on_the_long_edge_counts_for_its_pieces() -> None:
    """One neighbour has an unmarked vertex more; the marked edge of the other one parts the wall over both pieces."""
    whole = break_in_the_middle()
    solid = with_vertex(whole, 0, (3, 4), 0.4)
    facets = find_facets(solid)
    assert_sound(facets)
    assert facets.findings == ()
    (line,) = (edge for edge in facets.edges if edge.role is Role.BREAK)
    own = {k for k, role in enumerate(solid.edge_roles) if role is Role.BREAK}
    assert own <= set(line.host_edges)
    assert len(line.host_edges) == 3


@pytest.mark.parametrize("reach", [5e-5, 5e-4, 9e-3])
def test_faces_apart_by_less_than_the_tolerance_are_one_surface(reach: float) -> None:
    solid = torn_apart(FLEXED, reach)
    facets = find_facets(solid)
    assert_sound(facets)
    assert kinds(facets) == [(ShellKind.WALLS, 6)]
    assert degrees(facets) == pytest.approx(degrees(find_facets(FLEXED)), abs=0.02)
    if reach < 1e-4:
        assert facets.findings == ()
        return
    (note,) = facets.findings
    assert (note.code, note.severity, len(note.where.edges)) == ("edges-stitched", Severity.NOTE, 12)
    assert note.message.startswith("12 free edges of solid")
    # at each corner one point stays and the other comes to it: the farthest pair of nearest points
    nearest = cKDTree(solid.points).query(solid.points, k=2)[0][:, 1].max()
    assert f"{nearest:.4f} mm" in note.message


@pytest.mark.parametrize(("gap", "code"), [(0.03, "edges-apart"), (0.09, "edges-apart"), (0.2, None)])
def test_edges_too_far_apart_to_be_one_are_told(gap: float, code: str | None) -> None:
    assert STITCH < 0.03 < 0.09 < GAP < 0.2
    one = make_solid([(0, 0, 0), (50, 0, 0), (50, 0, 40), (0, 0, 40)], [(0, 1, 2, 3)])
    two = make_solid([(50, gap, 0), (50, 60, 0), (50, 60, 40), (50, gap, 40)], [(0, 1, 2, 3)])
    found = find_facets(join_solids([one, two])).findings
    assert [finding.code for finding in found] == ([code] if code else [])
    if code:
        assert found[0].severity is Severity.ERROR
        assert f"{gap:.3f} mm apart" in found[0].message
        assert found[0].where.edges == (1, 3)
        assert found[0].where.point == pytest.approx((50, gap / 2, 20))


def test_a_lower_wall_is_joined_to_the_side_of_a_higher_one() -> None:
    one = [(0, 0, 0), (50, 0, 0), (50, 0, 60), (0, 0, 60)]
    two = [(50, 0, 0), (50, 40, 0), (50, 40, 35), (50, 0, 35)]
    facets = find_facets(make_solid(one + two, [(0, 1, 2, 3), (4, 5, 6, 7)]))
    assert_sound(facets)
    (corner,) = (edge for edge in facets.edges if edge.right is not None)
    assert np.linalg.norm(facets.points[corner.end] - facets.points[corner.start]) == pytest.approx(35)


@pytest.mark.parametrize("overhang", [0.0, 5.0])
def test_a_roof_that_lies_on_parted_walls_stays_a_surface_of_its_own(overhang: float) -> None:
    """Its eaves run along the tops of walls that have a vertex more than they have."""
    walls = loop_of_walls([(0, 0), (60, 0), (120, 0), (120, 80), (70, 80), (0, 80)], 50.0)
    rise = 0.5
    eave, low, high = 50.0 - rise * overhang, -overhang, 80.0 + overhang
    ends = (-3.0, 123.0)
    points = [(x, y, z) for y, z in ((low, eave), (40.0, 50.0 + rise * 40), (high, eave)) for x in ends]
    roof = make_solid(points, [(0, 1, 3, 2), (2, 3, 5, 4)], source="roof")
    facets = find_facets(join_solids([walls, roof]))
    assert_sound(facets)
    assert kinds(facets) == [(ShellKind.WALLS, 4), (ShellKind.ROOF, 2)]
    assert facets.findings == ()


def test_a_floor_is_joined_to_walls_whose_foot_has_more_vertices() -> None:
    points, faces = box_of()
    closed = find_facets(make_solid(points, faces))
    open_ = with_vertex(make_solid(points, faces), 2, (0, 4), 0.5)
    facets = find_facets(open_)
    assert_sound(facets)
    assert facets.shells[0].closed and closed.shells[0].closed
    assert facets.shells[0].bottom == closed.shells[0].bottom


def test_a_flat_lid_on_walls_stays_a_lid() -> None:
    walls = loop_of_walls([(0, 0), (60, 0), (120, 0), (120, 80), (0, 80)], 50.0)
    lid = make_solid([(0, 0, 50), (120, 0, 50), (120, 80, 50), (0, 80, 50)], [(0, 1, 2, 3)])
    apart = replace(lid, points=lid.points + np.array([0.0, 0.0, 0.005]))
    facets = find_facets(join_solids([walls, apart]))
    assert_sound(facets)
    assert kinds(facets)[0] == (ShellKind.WALLS, 4)
    assert len(facets.shells) == 2


def test_of_three_walls_at_one_line_the_inner_one_stands_apart_however_they_are_parted() -> None:
    points = [(0, 0, 0), (50, 0, 0), (50, 0, 60), (0, 0, 60), (50, 40, 0), (50, 40, 60), (90, 0, 0), (90, 0, 60)]
    points += [(50, 0, 25), (50, 0, 40)]
    facets = find_facets(make_solid(points, [(0, 1, 8, 2, 3), (1, 4, 5, 2, 9), (1, 6, 7, 2)]))
    assert not facets.findings
    assert [[facet.faces for facet in facets.facets if facet.shell == shell.id] for shell in facets.shells] == [
        [(0, 2)],
        [(1,)],
    ]


@pytest.mark.parametrize("start", [0.0, 10.0])
def test_rooms_back_to_back_stay_two_rooms(start: float) -> None:
    """The party wall is modelled twice, once for each room, and the second room is the shorter one."""
    store = loop_of_walls([(0, 0), (100, 0), (100, 80), (0, 80)])
    annex = loop_of_walls([(100, start), (160, start), (160, 60), (100, 60)], 50.0)
    apart = replace(annex, points=annex.points + np.array([0.003, 0.0, 0.0]))
    facets = find_facets(join_solids([store, apart]))
    assert_sound(facets)
    assert kinds(facets) == [(ShellKind.WALLS, 4)] * 2
    assert facets.findings == ()
