"""Wings with a roof of their own: what stands where, the figures of roof framing, and sizes that make no wing."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.plan.outline import PlanKind
from stowfold.geometry.plan.reshape import Before, move_feet, reshape
from stowfold.geometry.plan.roof import Roof, RoofKind
from stowfold.geometry.plan.sizes import BuildingSizes, lay_out_building
from stowfold.geometry.plan.wings import Wing
from stowfold.geometry.solid.facets import Facets, ShellKind
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, make_solid

SQUARE = 25.4
PITCH = math.radians(30.0)
OUT = 6.0
PLANS = {
    PlanKind.L: BuildingSizes(PlanKind.L, 9, 7, bar=4, wing=4),
    PlanKind.T: BuildingSizes(PlanKind.T, 9, 7, bar=4, wing=3),
    PlanKind.U: BuildingSizes(PlanKind.U, 10, 7, bar=4, wing=3),
    PlanKind.PLUS: BuildingSizes(PlanKind.PLUS, 9, 10, bar=4, wing=3),
}
COUNTS = {PlanKind.L: 1, PlanKind.T: 1, PlanKind.U: 2, PlanKind.PLUS: 2}
KINDS = (RoofKind.NONE, RoofKind.GABLE, RoofKind.HIP, RoofKind.LEAN_TO, RoofKind.FLAT)

#: Slopes of each kind over one wing, counted on paper.
SLOPES = {RoofKind.NONE: 0, RoofKind.GABLE: 2, RoofKind.HIP: 3, RoofKind.LEAN_TO: 1, RoofKind.FLAT: 1}


def sizes(plan: PlanKind, kind: RoofKind, *, low: float = 40.0, pitch: float = PITCH, **other: object) -> BuildingSizes:
    wing = Wing(low, Roof(kind, pitch, OUT))
    house = replace(PLANS[plan], height=100.0, roof=Roof(RoofKind.HIP, PITCH, OUT), wings=(wing,) * COUNTS[plan])
    return replace(house, **other)


def facets_of(asked: BuildingSizes) -> Facets:
    block = lay_out_building(asked, square=SQUARE)
    facets = find_facets(make_solid(block.points, block.faces, roles=dict(block.roles)))
    assert not facets.findings
    return facets


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("plan", PLANS)
def test_every_wing_has_three_walls_and_a_roof_that_ends_at_the_house(plan: PlanKind, kind: RoofKind) -> None:
    facets = facets_of(sizes(plan, kind))
    # shells are ordered by their place; the house comes first here
    shells = sorted(facets.shells, key=lambda shell: -float(facets.outline_points(shell)[:, 2].max()))
    walls = sorted((shell for shell in shells if shell.kind is ShellKind.WALLS), key=lambda shell: -len(shell.facets))
    roofs = [shell for shell in shells if shell.kind is ShellKind.ROOF]
    assert [len(shell.facets) for shell in walls] == [4] + [3] * COUNTS[plan]
    assert [len(shell.facets) for shell in roofs] == [4] + [SLOPES[kind]] * (COUNTS[plan] if SLOPES[kind] else 0)
    house = Polygon(facets.outline_points(walls[0])[:, :2]).convex_hull
    for shell in walls[1:]:
        assert facets.outline_points(shell)[:, 2].min() == pytest.approx(0.0)
        # the board grows away from the room
        middle = facets.outline_points(shell)[:, :2].mean(axis=0)
        for facet in (facets.facets[k] for k in shell.facets):
            assert (facets.corners(facet)[:, :2].mean(axis=0) - middle) @ facet.frame.n[:2] > 0.0
    for shell in roofs[1:]:
        cover = Polygon(facets.outline_points(shell)[:, :2]).convex_hull
        # it touches the house along its whole width and lies nowhere over it
        assert cover.intersection(house).area < 1e-3
        width = (PLANS[plan].wing * SQUARE) + 2.0 * OUT
        over = width - (OUT if plan in (PlanKind.L, PlanKind.U) else 0.0)
        assert cover.intersection(house.exterior.buffer(1e-6)).length / 2.0 == pytest.approx(over, abs=1e-3)
        area = sum(Polygon(facets.ring(facets.facets[k])).area for k in shell.facets)
        pitch = 0.0 if kind is RoofKind.FLAT else PITCH
        assert area == pytest.approx(cover.area / math.cos(pitch), rel=1e-6)


def test_a_wing_stands_on_its_squares_and_corners_between_its_walls_bend() -> None:
    block = lay_out_building(sizes(PlanKind.T, RoofKind.NONE, roof=Roof(RoofKind.NONE)), square=SQUARE)
    feet = block.points[block.points[:, 2] < 1e-9, :2] / SQUARE
    assert sorted(map(tuple, feet[4:].round(6).tolist())) == [(3, 4), (3, 7), (6, 4), (6, 7)]
    bends = {tuple((block.points[a, :2] / SQUARE).round(6)) for (a, _), role in block.roles if role is Role.FLEX}
    assert bends == {(0, 0), (9, 0), (9, 4), (0, 4), (6, 7), (3, 7)}


def test_a_strip_moves_all_walls_out_and_the_wall_between_both_rooms_with_the_house() -> None:
    block = lay_out_building(sizes(PlanKind.L, RoofKind.GABLE, strip=5.0), square=SQUARE)
    feet = block.points[block.points[:, 2] < 1e-9, :2]
    low, high = feet.min(axis=0), feet.max(axis=0)
    assert low == pytest.approx([-5.0, -5.0]) and high == pytest.approx([9 * SQUARE + 5.0, 7 * SQUARE + 5.0])
    assert {round(float(y), 6) for y in feet[4:, 1]} == {round(4 * SQUARE + 5.0, 6), round(7 * SQUARE + 5.0, 6)}


def test_a_lean_to_rises_from_its_free_end_to_the_house() -> None:
    facets = facets_of(sizes(PlanKind.T, RoofKind.LEAN_TO))
    roofs = [facets.outline_points(shell) for shell in facets.shells if shell.kind is ShellKind.ROOF]
    roof = min(roofs, key=len)
    at_house = roof[roof[:, 1] < 4 * SQUARE + 1e-6]
    assert at_house[:, 2] == pytest.approx(40.0 + 3 * SQUARE * math.tan(PITCH), abs=1e-4)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (
            sizes(PlanKind.T, RoofKind.GABLE, low=90.0),
            "wing's roof comes .* too near to the house, under its roof; .* lower pitch",
        ),
        (
            sizes(PlanKind.T, RoofKind.NONE, low=97.0),
            "wing's walls come .* too near to the house, under its roof; give the wing lower walls$",
        ),
        (
            sizes(PlanKind.T, RoofKind.FLAT, low=98.0, roof=Roof(RoofKind.NONE)),
            "under its wall tops; give the wing lower walls$",
        ),
        (sizes(PlanKind.T, RoofKind.LEAN_TO, pitch=math.radians(60.0)), "lower walls or a lower pitch"),
        (sizes(PlanKind.T, RoofKind.GABLE, low=-4.0), "walls of the wing are -4 mm high"),
        (sizes(PlanKind.T, RoofKind.GABLE, low=math.nan), "walls of the wing are nan mm high"),
        (sizes(PlanKind.T, RoofKind.GABLE, pitch=0.0), "pitch of the wing is 0 degrees"),
        (sizes(PlanKind.T, RoofKind.HIP, pitch=math.pi / 2), "pitch of the wing is 90 degrees"),
        (sizes(PlanKind.T, RoofKind.PYRAMID), "bears no pyramid roof"),
        (sizes(PlanKind.T, RoofKind.GABLE, wing=0.4), "overhang of the wing is 6 mm"),
        (replace(sizes(PlanKind.T, RoofKind.GABLE), plan=PlanKind.Z, wings=(Wing(),)), "no wings"),
        (replace(sizes(PlanKind.U, RoofKind.GABLE), wings=(Wing(),)), "2 wings, and sizes are given for 1"),
    ],
)
def test_sizes_that_make_no_wing_are_said_in_one_sentence(asked: BuildingSizes, said: str) -> None:
    with pytest.raises(BadSettingError, match=said) as caught:
        lay_out_building(asked, square=SQUARE)
    assert len(str(caught.value)) <= 120 and "\n" not in str(caught.value)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("roof", [RoofKind.NONE, RoofKind.GABLE, RoofKind.FLAT])
def test_a_wing_without_a_height_is_as_high_as_fits_under_the_house(kind: RoofKind, roof: RoofKind) -> None:
    house = sizes(PlanKind.U, kind, low=0.0, height=62.0, roof=Roof(roof, PITCH, OUT))
    block = lay_out_building(house, square=SQUARE)
    walls = [face for face in block.faces if block.points[list(face), 2].min() < 1e-9][4:]
    heights = {round(float(block.points[face[3], 2]), 6) for face in walls if face}
    low = min(heights)
    assert 0.0 < low <= 62.0 * 2.0 / 3.0 + 1e-6
    taller = replace(house, wings=tuple(replace(wing, height=low + 0.5) for wing in house.wings))
    if low < 62.0 * 2.0 / 3.0 - 1e-6:
        # half a millimetre more would be too near
        with pytest.raises(BadSettingError, match="too near"):
            lay_out_building(taller, square=SQUARE)
    else:
        assert lay_out_building(taller, square=SQUARE).faces


def test_a_house_too_low_for_the_roof_of_its_wing_says_how_much_higher_it_must_be() -> None:
    low = sizes(PlanKind.T, RoofKind.LEAN_TO, low=0.0, height=30.0, roof=Roof(RoofKind.NONE))
    with pytest.raises(
        BadSettingError, match=r"leaves no walls under it; give the house (\d+) mm higher walls"
    ) as caught:
        lay_out_building(low, square=SQUARE)
    more = float(str(caught.value).split("give the house ")[1].split(" mm")[0])
    assert lay_out_building(replace(low, height=30.0 + more), square=SQUARE).faces


def test_marks_and_openings_of_a_wing_follow_its_sizes() -> None:
    block = lay_out_building(sizes(PlanKind.T, RoofKind.GABLE), square=SQUARE)
    pairs = sorted({tuple(sorted(p)) for face in block.faces for p in zip(face, (*face[1:], face[0]), strict=True)})
    roles = tuple(dict(block.roles).get(pair, Role.PLAIN) for pair in pairs)
    before = Before(block.points, block.faces, np.array(pairs), roles, roles)
    longer = reshape(before, sizes(PlanKind.T, RoofKind.GABLE, width=9), square=SQUARE)
    assert longer.alike and dict(longer.block.roles) == dict(block.roles)
    # in the end wall of the wing, and in its side wall in front of its end
    feet = np.array([[4.5 * SQUARE, 7 * SQUARE, 0.0], [6 * SQUARE, 6.5 * SQUARE, 0.0]])
    moved = move_feet(before, longer.block.points, feet) / SQUARE
    assert moved == pytest.approx(np.array([[4.5, 9.0, 0.0], [6.0, 8.5, 0.0]]))
