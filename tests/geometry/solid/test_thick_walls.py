"""Buildings as thick as their boards: the inner skin is the wall; shapely draws plans, trimesh tells what is closed."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from block_outs import L_PLAN, Plan, assert_sound
from shapely.geometry import LinearRing, Polygon
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.solid.facets import Facets, ShellKind
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Solid, join_solids, make_solid

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH, propose=Proposal.ALL)
ROOM: Plan = ((0, 0), (150, 0), (150, 100), (0, 100))
HIGH = 60.0
Hole = tuple[float, float, float, float]


def thick(plan: Plan, thickness: float, *, floor: float = 0.0, window: Hole | None = None) -> Solid:
    """Walls over a room's plan, solidified outward; window: left, right, sill and head in the front wall."""
    outer = list(Polygon(plan).buffer(thickness, join_style="mitre").exterior.coords)[:-1]
    outer = outer if LinearRing(outer).is_ccw else outer[::-1]
    inner = [min(plan, key=lambda p, q=q: float(np.hypot(p[0] - q[0], p[1] - q[1]))) for q in outer]
    n = len(outer)
    points = [(*p, 0.0) for p in outer] + [(*p, HIGH) for p in outer]
    points += [(*p, floor) for p in inner] + [(*p, HIGH) for p in inner]
    turn = [(k + 1) % n for k in range(n)]
    outside = [(k, turn[k], turn[k] + n, k + n) for k in range(n)]
    inside = [(turn[k] + 2 * n, k + 2 * n, k + 3 * n, turn[k] + 3 * n) for k in range(n)]
    faces = [(k + n, turn[k] + n, turn[k] + 3 * n, k + 3 * n) for k in range(n)]
    if floor:
        faces += [tuple(range(n))[::-1], tuple(range(2 * n, 3 * n))]
    else:
        faces += [(turn[k], k, k + 2 * n, turn[k] + 2 * n) for k in range(n)]
    if window is not None:
        left, right, sill, head = window
        front = next(k for k in range(n) if points[k][1] == points[turn[k]][1] == min(p[1] for p in points))
        b = len(points)
        for y in (points[front][1], points[front + 2 * n][1]):
            points += [(left, y, sill), (right, y, sill), (right, y, head), (left, y, head)]
        for ring, hole in ((outside[front], (b, b + 1, b + 2, b + 3)), (inside[front], (b + 5, b + 4, b + 7, b + 6))):
            faces += [(ring[k], ring[(k + 1) % 4], hole[(k + 1) % 4], hole[k]) for k in range(4)]
        faces += [(b + k, b + (k + 1) % 4, b + 4 + (k + 1) % 4, b + 4 + k) for k in range(4)]
        outside, inside = ([w for k, w in enumerate(side) if k != front] for side in (outside, inside))
    return make_solid(points, [*outside, *inside, *faces], source="Shed")


def test_the_drawn_bodies_are_closed() -> None:
    for solid in (thick(ROOM, 3.0), thick(ROOM, 3.0, floor=3.0), thick(ROOM, 3.0, window=(40, 80, 20, 45))):
        # all rings are convex here
        triangles = [(ring[0], *ring[k : k + 2]) for ring in solid.faces for k in range(1, len(ring) - 1)]
        mesh = trimesh.Trimesh(solid.points, triangles, process=False)
        assert mesh.is_watertight and mesh.is_winding_consistent


def _plan_of(facets: Facets) -> Polygon:
    walls = [facets.facets[facet] for facet in facets.shells[0].facets if facets.facets[facet].upright]
    return Polygon([facets.corners(wall)[0][:2] for wall in walls])


@pytest.mark.parametrize("thickness", [1.0, 3.0, 6.0])
@pytest.mark.parametrize("plan", [ROOM, L_PLAN], ids=["room", "L"])
@pytest.mark.parametrize("floor", [False, True])
def test_the_inner_skin_is_the_wall(plan: Plan, thickness: float, floor: bool) -> None:
    facets = find_facets(thick(plan, thickness, floor=thickness if floor else 0.0), over=3.0)
    assert_sound(facets)
    (shell,) = facets.shells
    assert (shell.kind, len(shell.facets)) == (ShellKind.WALLS, len(plan) + floor)
    assert (shell.bottom is not None) == floor
    assert _plan_of(facets).symmetric_difference(Polygon(plan)).area < 1e-9
    middle = np.array([*Polygon(plan).representative_point().coords[0], 30.0])
    front = facets.facets[0].frame
    assert front.n @ (front.origin - middle) > 0
    (note,) = facets.findings
    assert (note.code, note.severity) == ("walls-of-two-faces", Severity.NOTE)
    assert f"walls {thickness:.2g} mm thick" in note.message


def test_an_opening_through_both_skins_is_a_hole_in_the_wall() -> None:
    facets = find_facets(thick(ROOM, 3.0, window=(40, 80, 20, 45)), over=3.0)
    assert_sound(facets)
    (holed,) = (facet for facet in facets.facets if len(facet.rings) == 2)
    assert Polygon(facets.ring(holed, 1)).bounds == pytest.approx((40.0, 20.0, 80.0, 45.0))
    assert len(facets.facets) == 4


def test_a_thick_room_is_cut_and_proved() -> None:
    outcome = run(thick(ROOM, 3.0, floor=3.0, window=(40, 80, 20, 45)), SETTINGS, title="Shed")
    assert not [finding for finding in outcome.findings if finding.severity is Severity.ERROR]
    assert outcome.proof.holds
    assert [part.id for part in outcome.parts if part.id[0] in "WPF"] == ["W1", "F1"]


def _box(x0: float, y0: float, x1: float, y1: float) -> Solid:
    points = [(x, y, z) for z in (0.0, HIGH) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
    sides = [(k, (k + 1) % 4, (k + 1) % 4 + 4, k + 4) for k in range(4)]
    return make_solid(points, [*sides, (3, 2, 1, 0), (4, 5, 6, 7)], source="Wall")


def test_walls_of_boxes_are_told_in_one_sentence() -> None:
    boxes = [_box(0, 0, 150, 3), _box(0, 97, 150, 100), _box(0, 3.5, 3, 96.5), _box(147, 3.5, 150, 96.5)]
    told = [f for f in find_facets(join_solids(boxes), over=3.0).findings if f.code == "walls-of-two-faces"]
    assert [finding.severity for finding in told] == [Severity.WARNING]
    assert "4 walls are bodies 3 mm thick" in told[0].message


def test_a_block_of_ordinary_size_has_no_skins() -> None:
    facets = find_facets(_box(0, 0, 150, 100), over=3.0)
    assert "walls-of-two-faces" not in [finding.code for finding in facets.findings]
