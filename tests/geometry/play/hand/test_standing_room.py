"""Standing room: bases between boards, cheeks, bends and furniture, by hand and against other libraries."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.play.footing import doorways, footprints, widest_bend
from stowfold.geometry.play.standing_room import find_standing_room, places_on_top, room_outline
from stowfold.geometry.play.table_top import BlockerKind, Miniature, RoundedCorner

SOUTH_WEST = np.array([-177.8, -127.0, 0.0])


def _bend(radius, between=math.pi / 2):
    along = np.array([(1.0, 0.0, 0.0), (math.cos(between), math.sin(between), 0.0)])
    return RoundedCorner("the bend of a corner", SOUTH_WEST, along, radius)


def _codes(found):
    return [finding.code for finding in found.findings]


def test_an_empty_room_of_walls_on_the_lines(grid, walls):
    found = find_standing_room(grid(), walls())
    assert found.findings == ()
    assert found.stands.all()
    assert found.room[0, 0] == pytest.approx(0.2)
    assert found.room[4, 6] == pytest.approx(4.5 * 25.4 - 12.5)
    assert found.names[found.nearest[0, 6]] == "the south wall"


def test_widest_bend_in_a_corner_square():
    """sqrt(2) (R - a) + b = R for walls at right angles, a half the square of 25.4, b half the base of 25: 13.183."""
    by_root = brentq(lambda radius: math.sqrt(2) * (radius - 12.7) + 12.5 - radius, 12.7, 25.4)
    assert widest_bend(25.0, 25.4) == pytest.approx(by_root)
    assert widest_bend(25.0, 25.4) == pytest.approx(13.18, abs=0.005)
    with pytest.raises(BadSettingError, match=r"28 mm does not stand in a square of 25\.4"):
        widest_bend(28.0, 25.4)


@pytest.mark.parametrize(("radius", "stands"), [(10.0, True), (13.18, True), (13.22, False), (20.0, False)])
def test_corner_square_and_bend(grid, walls, radius, stands):
    found = find_standing_room(grid(), walls(), bends=[_bend(radius)])
    assert bool(found.stands[0, 0]) is stands
    assert found.stands.sum() == 139 + stands
    assert _codes(found) == ([] if stands else ["square-blocked-by-bend"])
    if not stands:
        message = found.findings[0].message
        assert message.startswith("The bend of a corner stands ")
        assert "into column 1, row 1 for a base of 25 mm, with an inside radius" in message
        assert "; bend to at most 13.18 mm" in message


def test_bends_that_are_all_too_wide_are_one_finding(grid, walls):
    one = _bend(15.0)
    south_east = np.array([-one.corner[0], one.corner[1], 0.0])
    other = replace(one, corner=south_east, along=one.along * [-1.0, 1.0, 1.0], inside_radius=20.0)
    [told] = find_standing_room(grid(), walls(), bends=[one, other]).findings
    assert told.message.startswith("2 bends stand ") and "into 2 squares, most into column 14, row 1," in told.message
    assert "inside radius of 20.00 mm; bend to at most 13.18 mm" in told.message


@settings(max_examples=40, deadline=None)
@given(radius=st.floats(1.0, 40.0), between=st.floats(0.6, 2.6), u=st.floats(0.05, 3.0), share=st.floats(0.05, 0.95))
def test_distance_from_the_arc_against_shapely(radius, between, u, share):
    """The bend's outline as a fine chain (shapely): both walls up to where the arc touches, and the arc."""
    bend = _bend(radius, between)
    angle, off = share * between, u * radius
    spot = SOUTH_WEST[:2] + off * np.array([math.cos(angle), math.sin(angle)])
    start, end = SOUTH_WEST[:2] + bend.along[:, :2] * radius / math.tan(between / 2)
    centre = SOUTH_WEST[:2] + np.array([math.cos(between / 2), math.sin(between / 2)]) * radius / math.sin(between / 2)
    first = math.atan2(*(start - centre)[::-1])
    last = math.atan2(*(end - centre)[::-1])
    turn = (last - first + math.pi) % (2 * math.pi) - math.pi
    steps = first + np.linspace(0.0, 1.0, 2001) * turn
    arc = shapely.LineString(centre + radius * np.stack([np.cos(steps), np.sin(steps)], axis=1))
    measured = float(bend.distance(spot))
    if math.isfinite(measured):
        assert abs(measured) == pytest.approx(arc.distance(shapely.Point(spot)), abs=radius * 1e-6)
        behind = shapely.Polygon([SOUTH_WEST[:2], *arc.coords]).contains(shapely.Point(spot))
        assert (measured < -radius * 1e-6) <= behind
    else:
        ways = (spot - SOUTH_WEST[:2]) @ bend.along[:, :2].T
        assert ways.max() >= radius / math.tan(between / 2)


def test_boards_and_cheeks_inside_a_square(grid, walls, crate):
    cheek = crate("the cheek", (-15.0, -127.0, 0.0), (30.0, 3.0, 62.0), kind=BlockerKind.JOINER)
    found = find_standing_room(grid(), [*walls(), cheek])
    assert _codes(found) == ["cheek-in-square"]
    assert (
        "The cheek stands 2.8 mm too far into 2 squares, most into column 7, row 1, for a base"
        in found.findings[0].message
    )
    assert found.room[0, 6] == pytest.approx(0.2 - 3.0)
    second = crate("another cheek", (-15.0, 123.5, 0.0), (30.0, 3.5, 62.0), kind=BlockerKind.JOINER)
    both = find_standing_room(grid(), [*walls(), cheek, second])
    (finding,) = both.findings  # one strip frees the squares of both
    assert "2 joiners' cheeks stand 3.3 mm too far into 4 squares" in finding.message
    assert "make the strip between walls and squares 3.3 mm wider" in finding.message
    board = crate("the partition", (-177.8, -1.0, 0.0), (355.6, 2.0, 62.0), kind=BlockerKind.WALL)
    thick = find_standing_room(grid(), [*walls(), board])
    assert _codes(thick) == ["wall-in-square"]
    assert "0.8 mm too far into 28 squares" in thick.findings[0].message
    thin = crate("the partition", (-177.8, -0.2, 0.0), (355.6, 0.4, 62.0), kind=BlockerKind.WALL)
    assert find_standing_room(grid(), [*walls(), thin]).findings == ()


@pytest.mark.parametrize(("width", "codes"), [(24.9, ["door-narrower-than-base"]), (25.0, []), (25.4, [])])
def test_doorways(grid, walls, sheet, width, codes):
    low, high = -12.7, -12.7 + width
    outline = [(-177.8, -127, 0), (177.8, -127, 0), (177.8, -127, 62), (-177.8, -127, 62)]
    door = [(low, -127, 0), (high, -127, 0), (high, -127, 45), (low, -127, 45)]
    window = [(50, -127, 20), (60, -127, 20), (60, -127, 45), (50, -127, 45)]
    found = find_standing_room(grid(), [sheet("the front", outline, door, window), *walls()[1:]])
    assert [(doorway.wall, doorway.width) for doorway in found.doorways] == [("the front", pytest.approx(width))]
    assert found.doorways[0].middle == pytest.approx(((low + high) / 2, -127.0))
    assert _codes(found) == codes


def test_a_doorway_through_a_thick_board_counts_once(sheet, crate):
    face = [(0, 0, 0), (30, 0, 0), (30, 0, 45), (50, 0, 45), (50, 0, 0), (100, 0, 0), (100, 0, 62), (0, 0, 62)]
    inner, outer = sheet("wall", face), sheet("wall", [(x, y + 3.0, z) for x, y, z in face])
    board = replace(inner, faces=(*inner.faces, *outer.faces))
    assert [doorway.width for doorway in doorways([board], 0.0)] == [20.0]


@settings(max_examples=20, deadline=None)
@given(turn=st.floats(0, math.pi), height=st.floats(1.0, 29.0), x=st.floats(-50, 50))
def test_footprint_of_a_box_against_trimesh(crate, turn, height, x):
    """The level cut of a turned box, by trimesh's section of its hull."""
    box = crate("box", (x, 10.0, 0.0), (40.0, 15.0, 30.0), turn=turn)
    (cut,) = footprints([box], height)
    hull = trimesh.convex.convex_hull(np.concatenate([rings[0] for rings in box.faces]))
    section = hull.section((0, 0, 1), (0, 0, height))
    assert cut.area == pytest.approx(600.0)
    assert cut.symmetric_difference(shapely.MultiPoint(section.vertices[:, :2]).convex_hull).area < 1e-3
    assert footprints([box], 31.0)[0].is_empty


def test_miniatures_find_their_places(grid):
    squares = grid()
    one = Miniature("ferryman", np.array([3.0, 5.0, 20.0])).settled(squares)
    assert one.foot == pytest.approx((12.7, 12.7, 0.0))
    two = Miniature("ox", np.array([3.0, 5.0, 0.0]), base=50.0, squares=2).settled(squares)
    assert two.foot == pytest.approx((0.0, 0.0, 0.0))


def test_a_room_without_a_single_square_has_no_edge_to_stand_beyond(grid):
    none = replace(grid(), inside=np.zeros_like(grid().inside))
    stand = Miniature("one", np.array([12.7, 12.7, 0.0]))
    assert _codes(find_standing_room(none, [], miniatures=[stand])) == []


def test_miniatures_that_stand_well_or_badly(grid, walls, crate):
    def codes(*miniatures, **more):
        return _codes(find_standing_room(grid(), walls(), miniatures=miniatures, **more))

    stand = Miniature("one", np.array([12.7, 12.7, 0.0]))
    beside = replace(stand, name="two", foot=np.array([38.1, 12.7, 0.0]))
    assert codes(stand, beside) == []
    assert codes(replace(stand, base=26.0), replace(beside, base=25.0)) == ["miniatures-overlap"]
    over = replace(beside, foot=np.array([20.0, 12.7, 40.0]))
    assert codes(stand, over) == []  # on a gallery above the other's head
    assert codes(stand, replace(over, foot=np.array([20.0, 12.7, 30.0]))) == ["miniatures-overlap"]
    near = replace(stand, foot=np.array([-170.0, 12.7, 0.0]))
    assert codes(near) == ["miniature-blocked"]
    assert codes(replace(stand, foot=np.array([-250.0, 12.7, 0.0]))) == ["miniature-outside"]
    corner = replace(stand, foot=np.array([-165.1, -114.3, 0.0]))
    assert codes(corner) == []
    assert codes(corner, bends=[_bend(15.0)]) == ["square-blocked-by-bend", "miniature-blocked"]
    bare = find_standing_room(grid(), [], miniatures=[near])
    assert _codes(bare) == ["miniature-outside"]
    assert "4.7 mm over its edge" in bare.findings[0].message


def test_a_miniature_stands_on_furniture_but_not_in_it(grid, walls, crate):
    chest = crate("chest", (1.0, 1.0, 0.0), (30.0, 30.0, 20.0))
    in_it = Miniature("one", np.array([12.7, 12.7, 0.0]))
    found = find_standing_room(grid(), [*walls(), chest], miniatures=[in_it])
    assert _codes(found) == ["miniature-blocked"]
    assert found.findings[0].message.startswith("The base of one, 25 mm, runs 12.5 mm into chest")
    on_it = replace(in_it, foot=np.array([16.0, 16.0, 20.0]))
    assert _codes(find_standing_room(grid(), [*walls(), chest], miniatures=[on_it])) == []


def test_furniture_that_overlaps(grid, walls, crate):
    def found(*boxes):
        return find_standing_room(grid(), [*walls(), *boxes]).findings

    chest = crate("chest", (0.0, 0.0, 0.0), (30.0, 20.0, 20.0))
    assert found(chest, crate("bench", (30.0, 0.0, 0.0), (30.0, 20.0, 12.0))) == ()  # side by side
    assert found(chest, crate("lamp", (5.0, 5.0, 20.0), (5.0, 5.0, 12.0))) == ()  # one on the other
    (crossing,) = found(chest, crate("bench", (25.0, 5.0, 0.0), (30.0, 10.0, 12.0)))
    assert (crossing.code, "chest crosses bench" in crossing.message) == ("furniture-overlaps", True)
    (nested,) = found(chest, crate("jar", (5.0, 5.0, 0.0), (5.0, 5.0, 5.0)))
    assert "chest encloses jar" in nested.message
    (nested,) = found(crate("jar", (5.0, 5.0, 0.0), (5.0, 5.0, 5.0)), chest)
    assert "jar stands inside chest" in nested.message
    assert [finding.code for finding in found(crate("cart", (170.0, 0.0, 0.0), (20.0, 10.0, 10.0)))] == [
        "furniture-outside",
        "furniture-overlaps",
    ]
    assert found(crate("shelf", (167.8, 0.0, 0.0), (10.0, 10.0, 10.0))) == ()  # its back at the wall
    assert found(chest, crate("rug", (-10.0, -10.0, 0.0), (60.0, 60.0, 1.0))) == ()


@pytest.mark.parametrize(
    ("size", "count"),
    [
        ((25.0, 25.0), 1),
        ((24.9, 60.0), 0),
        ((50.0, 75.0), 6),
        ((99.0, 30.0), 3),
        # Staggered rows: 2 + 1 on 50 x 25 (1 + sqrt(3) / 2); more than the two that straight rows take.
        ((50.0, 46.66), 3),
        ((50.0, 46.6), 2),
        # Eight staggered rows of five and four alternating on 5 x (1 + 7 sqrt(3) / 2) bases.
        ((125.0, 176.56), 36),
    ],
)
def test_bases_on_top(crate, size, count):
    """Straight and staggered packing of equal circles in a rectangle, counted by hand."""
    assert places_on_top(crate("table", (0, 0, 0), (*size, 20.0)), 25.0) == count
    assert places_on_top(crate("table", (7, 3, 0), (*size, 20.0), turn=0.4), 25.0) == count


def test_room_of_an_l_plan(grid):
    inside = np.ones((3, 4), dtype=bool)
    inside[1:, 2:] = False
    squares = replace(grid(4, 3), inside=inside)
    outline = room_outline(squares)
    assert outline.area == pytest.approx(8 * 25.4**2)
    found = find_standing_room(squares, [])
    assert np.isnan(found.room[2, 3])
    assert not found.stands[2, 3]
    lost = Miniature("one", squares.centres[2, 3].copy())
    assert _codes(find_standing_room(squares, [], miniatures=[lost])) == ["miniature-outside"]
