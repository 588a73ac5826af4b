"""Roofs over plans: what lies over them, the walls that reach up to them, and the figures of roof framing."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import Polygon
from slow_cases import one_quick
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.plan.outline import PlanKind, outline_of
from stowfold.geometry.plan.roof import Roof, RoofKind, pitch_of_rise
from stowfold.geometry.plan.roof_kinds import roof_over
from stowfold.geometry.plan.walls import block_out
from stowfold.geometry.solid.facets import Facets, ShellKind
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import make_solid

SQUARE = 25.4
HEIGHT = 62.0
OUT = 6.0
PITCH = pitch_of_rise(8.0)

PLANS = {
    "rectangle": outline_of(PlanKind.RECTANGLE, length=9, width=6, square=SQUARE),
    "upright rectangle": outline_of(PlanKind.RECTANGLE, length=5, width=8, square=SQUARE),
    "square": outline_of(PlanKind.RECTANGLE, length=6, width=6, square=SQUARE),
    "l": outline_of(PlanKind.L, length=9, width=7, bar=3, wing=4, square=SQUARE),
    "t": outline_of(PlanKind.T, length=9, width=7, bar=3, wing=3, square=SQUARE),
    "wide t": outline_of(PlanKind.T, length=9, width=7, bar=3, wing=5, square=SQUARE),
    "u": outline_of(PlanKind.U, length=10, width=8, bar=4, wing=3, square=SQUARE),
    "z": outline_of(PlanKind.Z, length=9, width=7, bar=3, wing=3, square=SQUARE),
    "plus": outline_of(PlanKind.PLUS, length=9, width=9, bar=3, wing=3, square=SQUARE),
    "5 sides": outline_of(PlanKind.ROUND, length=6, width=6, sides=5, square=SQUARE),
    "12 sides": outline_of(PlanKind.ROUND, length=8, width=8, sides=12, square=SQUARE),
    "slanted": ((0.0, 0.0), (200.0, 0.0), (230.0, 130.0), (20.0, 150.0)),
    "even z": outline_of(PlanKind.Z, length=9, width=6, bar=3, wing=3, square=SQUARE),
    "slanted l": ((0.0, 0.0), (220.0, 10.0), (215.0, 90.0), (100.0, 80.0), (90.0, 190.0), (0.0, 180.0)),
    "star": tuple(
        (reach * math.cos(math.tau * k / 10), reach * math.sin(math.tau * k / 10))
        for k, reach in enumerate([130.0, 60.0] * 5)
    ),
    "turned l": tuple(
        (0.8 * x - 0.6 * y, 0.6 * x + 0.8 * y)
        for x, y in outline_of(PlanKind.L, length=9, width=7, bar=3, wing=4, square=SQUARE)
    ),
}
KINDS = [kind for kind in RoofKind if kind is not RoofKind.NONE]

WINGED = ("l", "t", "wide t", "u", "z", "even z", "plus", "slanted l", "star", "turned l")

#: Roofs that do not lie over a plan, and a word of the sentence that says so.
NONE_THERE = {
    **{(plan, RoofKind.PYRAMID): "inner corners" for plan in WINGED},
    ("slanted l", RoofKind.CROSSING): "square corners",
    **{("star", kind): "end of a wing" for kind in (RoofKind.GABLE, RoofKind.GAMBREL, RoofKind.HALF_HIP)},
    ("star", RoofKind.CROSSING): "square corners",
    ("z", RoofKind.CROSSING): "no free ends",
}
#: How many faces a roof has, counted by hand on paper.
FACES = {
    ("rectangle", RoofKind.GABLE): 2,
    ("rectangle", RoofKind.HALF_HIP): 4,
    ("rectangle", RoofKind.LEAN_TO): 1,
    ("rectangle", RoofKind.GAMBREL): 4,
    ("rectangle", RoofKind.MANSARD): 8,
    ("rectangle", RoofKind.CROSSING): 8,
    ("l", RoofKind.HIP): 6,
    ("l", RoofKind.GABLE): 4,
    ("l", RoofKind.CROSSING): 6,
    # of the two slopes behind the bar both lie in one plane and touch over the wing
    ("t", RoofKind.GABLE): 5,
    ("t", RoofKind.CROSSING): 8,
    ("u", RoofKind.GABLE): 6,
    ("u", RoofKind.HIP): 8,
    ("z", RoofKind.GABLE): 6,
    ("even z", RoofKind.CROSSING): 8,
    ("plus", RoofKind.GABLE): 8,
    ("12 sides", RoofKind.HIP): 12,
    ("12 sides", RoofKind.GABLE): 2,
}


def facets_over(plan: str, kind: RoofKind, **sizes: float) -> tuple[Facets, list[int], list[int]]:
    """The facets of a building, and the ids of those of its walls and of its roof."""
    block = block_out(PLANS[plan], height=HEIGHT, roof=Roof(kind, PITCH, OUT, **sizes))
    facets = find_facets(make_solid(block.points, block.faces, roles=dict(block.roles)))
    assert not facets.findings
    by_kind = {shell.kind: list(shell.facets) for shell in facets.shells}
    return facets, by_kind[ShellKind.WALLS], by_kind[ShellKind.ROOF]


ALL = [(plan, kind) for plan in PLANS for kind in KINDS if (plan, kind) not in NONE_THERE]


@pytest.mark.parametrize(("plan", "kind"), one_quick(ALL, ("u", RoofKind.GAMBREL)))
def test_walls_reach_the_underside_of_the_roof_everywhere(plan: str, kind: RoofKind) -> None:
    facets, walls, roof = facets_over(plan, kind)
    assert len(walls) == len(PLANS[plan])
    assert len(roof) == FACES.get((plan, kind), len(roof))
    slopes = [(facets.facets[k].frame, facets.points[list(facets.facets[k].rings[0])]) for k in roof]
    areas = [(frame, Polygon(ring[:, :2]).buffer(1e-6)) for frame, ring in slopes]
    # the roof covers the plan with its overhang, without lying on itself
    cover = shapely.union_all([area for _, area in areas])
    assert cover.area == pytest.approx(sum(Polygon(ring[:, :2]).area for _, ring in slopes), rel=1e-5)
    assert cover.buffer(1e-6).covers(Polygon(PLANS[plan]).buffer(OUT - 0.01, join_style="mitre"))
    for k in walls:
        ring = facets.points[list(facets.facets[k].rings[0])]
        for here, after in zip(ring, np.roll(ring, -1, axis=0), strict=True):
            if min(here[2], after[2]) < 1e-9:
                continue
            for share in (0.0, 0.3, 0.5, 0.8, 1.0):
                x, y, z = here + share * (after - here)
                over = [frame for frame, area in areas if shapely.intersects_xy(area, x, y)]
                heights = [
                    f.origin[2] - (f.n[0] * (x - f.origin[0]) + f.n[1] * (y - f.origin[1])) / f.n[2] for f in over
                ]
                assert heights
                assert min(abs(height - z) for height in heights) < 1e-6


@pytest.mark.parametrize(("plan", "kind"), one_quick(ALL, ("wide t", RoofKind.MANSARD)))
def test_slopes_have_their_pitch_and_their_plan_s_area_over_its_cosine(plan: str, kind: RoofKind) -> None:
    facets, _, roof = facets_over(plan, kind, lower_pitch=math.radians(55.0))
    broken = kind in (RoofKind.GAMBREL, RoofKind.MANSARD)
    allowed = [0.0] if kind is RoofKind.FLAT else [PITCH, math.radians(55.0)] if broken else [PITCH]
    for k in roof:
        facet = facets.facets[k]
        pitch = math.acos(facet.frame.n[2])
        if kind is RoofKind.PYRAMID:
            assert pitch < PITCH + 1e-9
        else:
            assert min(abs(pitch - angle) for angle in allowed) < 1e-9
        ring = facets.points[list(facet.rings[0])]
        flat = Polygon(facets.ring(facet)).area
        assert flat == pytest.approx(Polygon(ring[:, :2]).area / math.cos(pitch), rel=1e-9)


@pytest.mark.parametrize(("plan", "kind"), NONE_THERE)
def test_a_roof_that_a_plan_does_not_bear_is_said_in_one_sentence(plan: str, kind: RoofKind) -> None:
    with pytest.raises(BadSettingError, match=NONE_THERE[plan, kind]) as caught:
        roof_over(PLANS[plan], Roof(kind), HEIGHT)
    assert len(str(caught.value)) <= 120


@pytest.mark.parametrize("plan", ["l", "u", "plus", "turned l"])
@pytest.mark.parametrize(("rise", "hip", "valley"), [(6.0, 143.1301, 216.8699), (8.0, 133.8131, 226.1869)])
def test_hips_and_valleys_have_the_dihedrals_of_roof_framing(plan, rise, hip, valley) -> None:
    """180 - acos(cos^2 pitch - sin^2 pitch cos corner): 143.1301 at 6/12, 133.8131 at 8/12; 360 less it in a valley."""
    block = block_out(PLANS[plan], roof=Roof(RoofKind.HIP, pitch_of_rise(rise), OUT))
    facets = find_facets(make_solid(block.points, block.faces))
    roof = next(shell for shell in facets.shells if shell.kind is ShellKind.ROOF)
    slanted = [
        edge
        for edge in facets.edges
        if edge.left in roof.facets
        and edge.right is not None
        and abs(facets.points[edge.start][2] - facets.points[edge.end][2]) > 1e-6
    ]
    angles = [180.0 - math.degrees(edge.angle) for edge in slanted]
    assert {round(angle, 4) for angle in angles} == {hip, valley}
    inner = {"l": 1, "turned l": 1, "u": 2, "plus": 4}[plan]
    assert sum(angle > 180.0 for angle in angles) == inner


@pytest.mark.parametrize(("phi", "dihedral"), [(60.0, 122.5790), (120.0, 147.7958), (135.0, 155.4886)])
def test_hips_over_other_corners_have_the_dihedrals_of_roof_framing(phi: float, dihedral: float) -> None:
    """The same formula over the corners of regular plans at 8/12."""
    sides = round(360.0 / (180.0 - phi))
    plan = outline_of(PlanKind.ROUND, length=8, width=8, sides=sides, square=SQUARE)
    block = block_out(plan, roof=Roof(RoofKind.HIP, PITCH, OUT))
    facets = find_facets(make_solid(block.points, block.faces))
    roof = next(shell for shell in facets.shells if shell.kind is ShellKind.ROOF)
    hips = [edge for edge in facets.edges if edge.left in roof.facets and edge.right is not None]
    assert len(hips) == sides
    for edge in hips:
        assert 180.0 - math.degrees(edge.angle) == pytest.approx(dihedral, abs=1e-4)


def test_gable_walls_take_the_shape_of_their_roof() -> None:
    """A gambrel over 6 squares, steep for 0.4 of the way: walls bend at 0.2, 0.5 and 0.8 of their length."""
    roof = Roof(RoofKind.GAMBREL, PITCH, OUT, lower_pitch=math.radians(60.0), lower_share=0.4)
    (start, end) = PLANS["rectangle"][1:3]
    profile = roof_over(PLANS["rectangle"], roof, HEIGHT).profile(start, end)
    half = 3.0 * SQUARE
    knee = HEIGHT + 0.4 * half * math.tan(math.radians(60.0))
    top = knee + 0.6 * half * 8.0 / 12.0
    assert [s for s, _ in profile] == pytest.approx([0.0, 0.4 * half, half, 1.6 * half, 2.0 * half])
    assert [z for _, z in profile] == pytest.approx([HEIGHT, knee, top, knee, HEIGHT])


def test_a_half_hip_clips_its_gables_at_its_share_of_the_height() -> None:
    roof = Roof(RoofKind.HALF_HIP, PITCH, OUT, lower_share=0.4)
    (start, end) = PLANS["rectangle"][1:3]
    profile = roof_over(PLANS["rectangle"], roof, HEIGHT).profile(start, end)
    rise = 3.0 * SQUARE * 8.0 / 12.0
    assert [z - HEIGHT for _, z in profile] == pytest.approx([0.0, 0.4 * rise, 0.4 * rise, 0.0])


def test_a_lean_to_rises_from_its_longest_wall() -> None:
    surface = roof_over(PLANS["rectangle"], Roof(RoofKind.LEAN_TO, PITCH, OUT), HEIGHT)
    front, back = (surface.profile(PLANS["rectangle"][k], PLANS["rectangle"][(k + 1) % 4]) for k in (0, 2))
    assert [z for _, z in front] == pytest.approx([HEIGHT, HEIGHT])
    assert [z for _, z in back] == pytest.approx([HEIGHT + 6.0 * SQUARE * 8.0 / 12.0] * 2)


def test_a_pyramid_over_a_rectangle_is_as_steep_as_asked_on_its_long_sides() -> None:
    surface = roof_over(PLANS["rectangle"], Roof(RoofKind.PYRAMID, PITCH, OUT), HEIGHT)
    pitches = [math.atan(math.hypot(a, b)) for a, b, _ in surface.planes]
    assert pitches[0] == pitches[2] == pytest.approx(PITCH)
    assert math.tan(pitches[1]) == pytest.approx(6.0 / 9.0 * 8.0 / 12.0)
    assert max(z for *_, z in surface.points) == pytest.approx(HEIGHT + 3.0 * SQUARE * 8.0 / 12.0)
    # the eaves are level
    assert len({round(z, 9) for *_, z in surface.points}) == 2
