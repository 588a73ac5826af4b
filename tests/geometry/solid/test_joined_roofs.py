"""A house drawn as one surface becomes walls and a roof that lifts off; shapely offsets plans, trimesh encloses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
import shapely
import trimesh
from block_outs import L_PLAN, assert_sound
from shapely.geometry import Polygon
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.propose.proposed import Cut, Proposed
from stowfold.geometry.settings import BoardFace
from stowfold.geometry.solid.facets import Facets, ShellKind
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, Solid, make_solid
from stowfold.geometry.solid.straighten import straighten

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH, propose=Proposal.ALL)
LONG, DEEP, HIGH, RISE = 160.0, 110.0, 55.0, 40.0


def _prism(plan: Sequence[tuple[float, float]]) -> Solid:
    """A closed block over a plan, counter-clockwise."""
    count = len(plan)
    points = [(x, y, z) for z in (0.0, HIGH) for x, y in plan]
    faces = [(k, (k + 1) % count, (k + 1) % count + count, k + count) for k in range(count)]
    return make_solid(points, [*faces, tuple(range(count))[::-1], tuple(range(count, 2 * count))], source="Block")


def _gable(*, floor: bool = True, roles: dict | None = None) -> Solid:
    points = [
        (x, y, z) for x in (0, LONG) for y, z in ((0, 0), (0, HIGH), (DEEP / 2, HIGH + RISE), (DEEP, HIGH), (DEEP, 0))
    ]
    faces = [(0, 1, 2, 3, 4), (5, 9, 8, 7, 6), (0, 5, 6, 1), (3, 8, 9, 4), (1, 6, 7, 2), (2, 7, 8, 3)]
    return make_solid(points, [*faces, (0, 4, 9, 5)] if floor else faces, roles=roles, source="House")


def _hip(inset: float, *, long: float = LONG, deep: float = DEEP) -> Solid:
    plan = [(0.0, 0.0), (long, 0.0), (long, deep), (0.0, deep)]
    points = [(x, y, z) for z in (0.0, HIGH) for x, y in plan]
    points += [(inset, deep / 2, HIGH + RISE), (long - inset, deep / 2, HIGH + RISE)]
    faces = [(k, (k + 1) % 4, (k + 1) % 4 + 4, k + 4) for k in range(4)]
    faces += [(3, 2, 1, 0), (4, 5, 9, 8), (5, 6, 9), (6, 7, 8, 9), (7, 4, 8)]
    return make_solid(points, faces, source="Hip")


def _kinds(facets: Facets) -> list[tuple[ShellKind, int]]:
    return [(shell.kind, len(shell.facets)) for shell in facets.shells]


def _plan_of(facets: Facets, shell: int) -> Polygon:
    plans = [Polygon(facets.corners(facets.facets[facet])[:, :2]) for facet in facets.shells[shell].facets]
    return shapely.union_all(plans, grid_size=1e-6)


def _volume(solid: Solid) -> float:
    triangles = [(ring[0], *ring[k : k + 2]) for ring in solid.faces for k in range(1, len(ring) - 1)]
    mesh = trimesh.Trimesh(solid.points, triangles, process=False)
    assert mesh.is_watertight
    return float(mesh.volume)


@pytest.mark.parametrize(
    ("solid", "walls", "roof"),
    [(_prism(L_PLAN), 7, 1), (_gable(), 5, 2), (_gable(floor=False), 4, 2), (_hip(40.0), 5, 4)],
    ids=["lid", "gable", "open gable", "hip"],
)
def test_walls_stay_and_the_roof_is_a_shell_of_its_own(solid: Solid, walls: int, roof: int) -> None:
    whole, facets = find_facets(solid), find_facets(solid, over=0.0)
    assert_sound(facets)
    assert _kinds(whole) == [(ShellKind.SOLID, walls + roof)]
    assert _kinds(facets) == [(ShellKind.WALLS, walls), (ShellKind.ROOF, roof)]
    assert len(facets.facets) == len(whole.facets)
    (note,) = facets.findings
    assert (note.code, note.severity, note.where.faces) == ("closed-body", Severity.NOTE, tuple(range(walls + roof)))
    # cut or not, the faces enclose what they enclosed
    if len(solid.faces) == walls + roof and facets.shells[0].bottom is not None:
        middle = solid.points.mean(axis=0)
        parts = 0.0
        for facet in facets.facets:
            ring = Polygon(facets.ring(facet))
            parts += ring.area * float(facet.frame.n @ (facet.frame.origin - middle)) / 3.0
        assert parts == pytest.approx(_volume(solid), rel=1e-9)


@pytest.mark.parametrize("over", [3.0, 6.5])
@pytest.mark.parametrize(
    "solid", [_prism(L_PLAN), _gable(), _hip(DEEP / 2)], ids=["lid", "gable", "hip of equal slopes"]
)
def test_the_roof_is_led_over_the_boards_of_the_walls(solid: Solid, over: float) -> None:
    """Seen from above it is the plan, offset with square corners; no slope turns."""
    flat, led = find_facets(solid, over=0.0), find_facets(solid, over=over)
    assert_sound(led)
    wanted = _plan_of(flat, 1).buffer(over, join_style="mitre")
    assert _plan_of(led, 1).symmetric_difference(wanted).area < 1e-2
    for one, two in zip(flat.facets, led.facets, strict=True):
        assert np.allclose(one.frame.n, two.frame.n, atol=1e-12)
        assert abs((two.frame.origin - one.frame.origin) @ one.frame.n) < 1e-9
    assert f"reaches {over:g} mm over" in led.findings[0].message


@pytest.mark.parametrize("noise", [1e-3, 2e-3])
def test_the_roof_is_led_over_where_breaks_part_walls_of_a_noisy_model(noise: float) -> None:
    """A break in a wall puts a point into the eave above it: two pieces of one line, which noise turns."""
    long, deep = 300.0, 50.0
    solid = _hip(deep / 2, long=long, deep=deep)
    points = solid.points + np.random.default_rng(0).uniform(-noise, noise, solid.points.shape)
    noisy = straighten(make_solid(points, solid.faces, source="Hip"))
    house = find_facets(noisy, over=3.0)
    at, along = np.array([long / 2, 0.0, 0.0]), np.array([1.0, 0.0, 0.0])
    walls = [facet for facet in house.facets if facet.upright and abs(facet.frame.n[1]) > 0.9]
    cuts = tuple(Cut(0, wall.faces, at, along, Role.BREAK) for wall in walls)
    parted = find_facets(Proposed(cuts=cuts).put_on(noisy), over=3.0)
    assert len(cuts) == 2 and len(parted.facets) == len(house.facets) + 2
    for facets in (house, parted):
        wanted = shapely.box(-3.0, -3.0, long + 3.0, deep + 3.0)
        assert _plan_of(facets, 1).symmetric_difference(wanted).area < 10 * noise * wanted.length
        assert "reaches 3 mm over" in facets.findings[0].message


def test_unequal_slopes_come_down_to_one_height_of_eaves() -> None:
    """Ends of 40 to 55 steepness stand out by 40 : 55 of what the sides do, and none by less than is wanted."""
    facets = find_facets(_hip(40.0), over=3.0)
    roof = facets.outline_points(facets.shells[1])
    eaves = roof[roof[:, 2] < HIGH]
    assert np.ptp(eaves[:, 2]) < 1e-9
    assert -eaves[:, 0].min() == pytest.approx(3.0, abs=1e-9)
    assert -eaves[:, 1].min() == pytest.approx(3.0 * (DEEP / 2) / 40.0, abs=1e-9)


def test_a_roof_that_is_to_bend_into_its_walls_stays_with_them() -> None:
    facets = find_facets(_gable(roles={(1, 6): Role.FLEX}), over=3.0)
    assert [shell.kind for shell in facets.shells] == [ShellKind.SOLID]


def _hull() -> Solid:
    points = np.random.default_rng(3).normal(size=(12, 3)) * 60.0
    hull = trimesh.convex.convex_hull(points)
    return make_solid(hull.vertices, hull.faces.tolist())


def _steps() -> Solid:
    profile = [(0, 0), (90, 0), (90, 30), (60, 30), (60, 60), (30, 60), (30, 90), (0, 90)]
    points = [(x, y, z) for y in (0.0, 80.0) for x, z in profile]
    count = len(profile)
    sides = [(k, (k + 1) % count, (k + 1) % count + count, k + count) for k in range(count)]
    return make_solid(points, [*sides, tuple(range(count))[::-1], tuple(range(count, 2 * count))])


@pytest.mark.parametrize("solid", [_hull(), _steps()], ids=["hull", "steps"])
def test_what_is_no_house_stays_a_solid(solid: Solid) -> None:
    facets = find_facets(solid, over=3.0)
    assert [shell.kind for shell in facets.shells] == [ShellKind.SOLID]
    assert "closed-body" not in [finding.code for finding in facets.findings]


@pytest.mark.parametrize("solid", [_prism(L_PLAN), _gable()], ids=["lid", "gable"])
def test_a_house_of_one_surface_is_cut_and_proved(solid: Solid) -> None:
    outcome = run(solid, SETTINGS, title="House")
    assert not [finding for finding in outcome.findings if finding.severity is Severity.ERROR]
    assert outcome.proof.holds
    kinds = {part.id.rstrip("0123456789") for part in outcome.parts}
    assert {"W", "R", "F"} <= kinds and "P" not in kinds
    assert outcome.joiners


def test_walls_that_grow_inward_need_no_wider_roof() -> None:
    outcome = run(_gable(), replace(SETTINGS, face=BoardFace.OUTSIDE), title="House")
    (note,) = (finding for finding in outcome.findings if finding.code == "closed-body")
    assert "reaches" not in note.message
