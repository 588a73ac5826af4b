"""Straight skeletons against closed forms, half-planes, mitred offsets of shapely, and another skeleton library."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from plans import KNOWN_PLANS, area_of_ring, drawn_plan, regular
from proj_polyskel import skeletonize
from shapely import Polygon
from slow_cases import one_quick
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.plan.skeleton import Skeleton, Stage, straight_skeleton

DRAWN = [(kind, seed) for kind in ("star", "right-angled") for seed in range(40)]


def rings(skeleton: Skeleton) -> list[np.ndarray]:
    return [skeleton.points[list(face.ring)] for face in skeleton.faces]


def assert_sound(skeleton: Skeleton, plan: np.ndarray) -> None:
    """Faces cover the plan without overlap, each in its plane, and side k is an edge of face k."""
    total = sum(area_of_ring(ring) for ring in rings(skeleton))
    assert total == pytest.approx(Polygon(plan).area, rel=1e-9)
    assert shapely.union_all([Polygon(ring[:, :2]).buffer(0) for ring in rings(skeleton)]).area == pytest.approx(
        total, rel=1e-9
    )
    for face, ring in zip(skeleton.faces, rings(skeleton), strict=True):
        a, b, c = face.plane
        assert np.abs(ring[:, 0] * a + ring[:, 1] * b + c - ring[:, 2]).max() < 1e-9
        assert area_of_ring(ring) > 0.0


def area_above(skeleton: Skeleton, height: float) -> float:
    """The plan area of all that lies above a height."""
    total = 0.0
    for ring in rings(skeleton):
        kept = []
        for here, after in zip(ring, np.roll(ring, -1, axis=0), strict=True):
            if here[2] >= height:
                kept.append(here)
            if (here[2] - height) * (after[2] - height) < 0.0:
                kept.append(here + (after - here) * (height - here[2]) / (after[2] - here[2]))
        total += area_of_ring(np.array(kept)) if len(kept) > 2 else 0.0
    return total


@pytest.mark.parametrize("name", KNOWN_PLANS)
def test_a_skeleton_is_as_high_as_its_closed_form(name: str) -> None:
    plan, top = KNOWN_PLANS[name]
    skeleton = straight_skeleton(plan)
    assert skeleton.top == pytest.approx(top, abs=1e-6 if name == "trapezoid" else 1e-10)
    assert [face.side for face in skeleton.faces] == list(range(len(plan)))
    assert_sound(skeleton, np.array(plan, dtype=float))


def test_a_rectangle_has_two_inner_points_and_a_ridge_as_long_as_its_sides_differ() -> None:
    skeleton = straight_skeleton(KNOWN_PLANS["rectangle"][0])
    inner = skeleton.points[skeleton.points[:, 2] > 1.0]
    assert len(inner) == 2
    assert np.linalg.norm(inner[0] - inner[1]) == pytest.approx(400.0 - 240.0)


@pytest.mark.parametrize("sides", [3, 4, 5, 7])
def test_over_a_convex_plan_a_side_sweeps_what_is_nearest_to_it(sides: int) -> None:
    """The skeleton of a convex polygon is its medial axis: face i is the plan cut by the half-planes d_i <= d_j."""
    chance = np.random.default_rng(sides)
    ring = np.array(regular(sides, 100.0)) * (1.0, 0.6) + chance.uniform(-8.0, 8.0, (sides, 2))
    skeleton = straight_skeleton([tuple(corner) for corner in ring.tolist()])
    along = np.roll(ring, -1, axis=0) - ring
    normal = np.column_stack([-along[:, 1], along[:, 0]]) / np.linalg.norm(along, axis=1)[:, None]
    offset = np.einsum("ij,ij->i", normal, ring)
    for face, mine in zip(skeleton.faces, rings(skeleton), strict=True):
        part = Polygon(ring)
        for other in range(sides):
            n, c = normal[other] - normal[face.side], offset[other] - offset[face.side]
            size = np.linalg.norm(n)
            if size > 0.0:
                n, c = n / size, c / size
                u = np.array([n[1], -n[0]])
                part &= Polygon([n * c - 1e3 * u, n * c + 1e3 * u, n * (c + 1e3) + 1e3 * u, n * (c + 1e3) - 1e3 * u])
        assert part.symmetric_difference(Polygon(mine[:, :2])).area < 1e-7


@pytest.mark.parametrize(("kind", "seed"), one_quick(DRAWN, ("right-angled", 3)))
def test_the_wavefront_is_the_mitred_offset_of_shapely(kind: str, seed: int) -> None:
    plan = drawn_plan(kind, seed)
    skeleton = straight_skeleton([tuple(corner) for corner in plan.tolist()])
    assert_sound(skeleton, plan)
    # near a symmetric collapse the offset of the library itself is off
    for share in (0.25, 0.5, 0.75, 0.95):
        offset = Polygon(plan).buffer(-share * skeleton.top, join_style="mitre", mitre_limit=1e6)
        assert area_above(skeleton, share * skeleton.top) == pytest.approx(offset.area, abs=1e-6 * Polygon(plan).area)


@pytest.mark.parametrize(("kind", "seed"), one_quick([("plus", 0), *[("star", seed) for seed in range(40)]]))
def test_inner_points_are_those_of_another_library(kind: str, seed: int) -> None:
    """proj-polyskel 0.1 (Felkel and Obdrzalek's algorithm), which wants corners clockwise."""
    plan = drawn_plan("star", seed) if kind == "star" else np.array(KNOWN_PLANS[kind][0], dtype=float)
    skeleton = straight_skeleton([tuple(corner) for corner in plan.tolist()])
    theirs = {(round(arc.source.x, 5), round(arc.source.y, 5)): arc.height for arc in skeletonize(plan[::-1].tolist())}
    used = sorted({k for face in skeleton.faces for k in face.ring if skeleton.points[k, 2] > 0.0})
    mine = skeleton.points[used]
    assert max(theirs.values()) == pytest.approx(skeleton.top, abs=1e-6)
    for (x, y), height in theirs.items():
        assert np.abs(mine - (x, y, height)).max(axis=1).min() < 2e-5


@pytest.mark.parametrize(("a", "b", "plan_angle", "dihedral"), [(6, 12, 63.4349, 129.2315), (8, 12, 56.3099, 126.0399)])
def test_unequal_pitches_meet_at_the_angles_of_the_roof_framers(a, b, plan_angle, dihedral) -> None:
    """Hip in plan, from eave a: atan(tan b / tan a); dihedral: 180 - acos(cos a cos b) (square corner)."""
    speeds = (12.0 / a, 12.0 / b, 12.0 / a, 12.0 / b)
    skeleton = straight_skeleton([(0, 0), (300, 0), (300, 200), (0, 200)], [Stage(0.0, speeds)])
    eave, end = skeleton.faces[0], skeleton.faces[3]
    (top,) = {k for k in set(eave.ring) & set(end.ring) if skeleton.points[k, 2] > 0.0}
    x, y, _ = skeleton.points[top]
    assert math.degrees(math.atan2(y, x)) == pytest.approx(plan_angle, abs=1e-4)
    one, two = (np.array([-p, -q, 1.0]) for p, q, _ in (eave.plane, end.plane))
    fold = math.acos(one @ two / np.linalg.norm(one) / np.linalg.norm(two))
    assert 180.0 - math.degrees(fold) == pytest.approx(dihedral, abs=1e-4)


def test_sides_that_stand_upright_are_swept_by_nothing() -> None:
    skeleton = straight_skeleton([(0, 0), (300, 0), (300, 200), (0, 200)], [Stage(0.0, (1.0, 0.0, 1.0, 0.0))])
    assert [face.side for face in skeleton.faces] == [0, 2]
    assert [area_of_ring(ring) for ring in rings(skeleton)] == pytest.approx([30000.0, 30000.0])
    assert skeleton.top == pytest.approx(100.0)


def test_every_side_sweeps_one_face_a_slope() -> None:
    """A square of 200 steep up to a height of 60, 30 from its sides: the flat part above is a square of 140."""
    stages = [Stage(0.0, (0.5,) * 4), Stage(60.0, (2.0,) * 4)]
    skeleton = straight_skeleton([(0, 0), (200, 0), (200, 200), (0, 200)], stages)
    assert [(face.side, face.stage) for face in skeleton.faces] == [(k, stage) for k in range(4) for stage in (0, 1)]
    upper = sum(area_of_ring(ring) for ring in rings(skeleton)[1::2])
    assert upper == pytest.approx(140.0**2)
    assert skeleton.top == pytest.approx(60.0 + 70.0 / 2.0)
    assert_sound(skeleton, np.array([(0, 0), (200, 0), (200, 200), (0, 200)], dtype=float))


def test_a_side_that_keeps_its_slope_stays_one_face() -> None:
    stages = [Stage(0.0, (1.0, 0.0, 1.0, 0.0)), Stage(40.0, (1.0, 1.0, 1.0, 1.0))]
    skeleton = straight_skeleton([(0, 0), (300, 0), (300, 200), (0, 200)], stages)
    assert [(face.side, face.stage) for face in skeleton.faces] == [(0, 0), (1, 1), (2, 0), (3, 1)]
    # clipped ends rise from 40 to the ridge at 100 and reach 60 in
    assert [area_of_ring(ring) for ring in rings(skeleton)[1::2]] == pytest.approx([60.0 * 120.0 / 2.0] * 2)


def test_sides_that_never_meet_are_refused() -> None:
    with pytest.raises(BadSettingError, match="never meet"):
        straight_skeleton([(0, 0), (300, 0), (300, 200), (0, 200)], [Stage(0.0, (0.0,) * 4)])
