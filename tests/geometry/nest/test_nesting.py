"""Outlines nest: apart whatever their form, in notches and holes, on as few sheets as can be proved or beat boxes."""

from __future__ import annotations

import itertools
import random

import numpy as np
import pytest
import shapely
from parts_by_hand import Waiting
from shapely import affinity
from shapely.geometry import Point, Polygon, box
from slow_cases import one_quick
from stowfold.geometry.errors import CancelledError
from stowfold.geometry.nest.nesting import Item, nest

QUARTERS = (0, 1, 2, 3)


def items_of(outlines, quarters=QUARTERS):
    return [Item(key, outline, quarters) for key, outline in enumerate(outlines)]


def lie(outlines, laid):
    """Turn and shift by another library than ours does: sheet and area per part."""
    return [
        (
            placed.sheet,
            affinity.translate(affinity.rotate(outlines[placed.key], 90 * placed.quarter, (0, 0)), *placed.shift),
        )
        for placed in laid
    ]


def assert_apart(outlines, laid, room, pieces=()):
    placed = lie(outlines, laid)
    assert sorted(placed.key for placed in laid) == list(range(len(outlines)))
    for i, (sheet, one) in enumerate(placed):
        width, height = pieces[sheet] if sheet < len(pieces) else room
        assert box(0, 0, width, height).buffer(1e-6).covers(one)
        for other_sheet, other in placed[:i]:
            assert sheet != other_sheet or one.intersection(other).area < 1e-5


def sheets(laid):
    return len({placed.sheet for placed in laid})


def odd_outline(chance):
    """A star, an L, a frame or a comb of random size: curved, notched and pierced ones among them."""
    kind = chance.randrange(4)
    a, b = chance.uniform(10, 90), chance.uniform(10, 60)
    if kind == 0:
        radii = [chance.uniform(5, 40) for _ in range(chance.randint(3, 12))]
        turns = np.linspace(0, 2 * np.pi, len(radii), endpoint=False)
        return Polygon(np.column_stack([radii * np.cos(turns), radii * np.sin(turns)])).buffer(0)
    if kind == 1:
        return box(0, 0, a, b).difference(box(a / 3, b / 3, a + 1, b + 1))
    if kind == 2:
        return Point(7, -9).buffer(a / 2 + 8).difference(Point(7, -9).buffer(a / 2))
    teeth = [box(x, b - 1, x + 4, b + chance.uniform(2, 30)) for x in np.arange(0, a, 11)]
    return shapely.union_all([box(0, 0, a, b), *teeth])


@pytest.mark.parametrize("seed", one_quick(range(3)))
def test_random_outlines_never_overlap_nor_leave_the_sheet(seed):
    chance = random.Random(seed)
    outlines = [odd_outline(chance) for _ in range(24)]
    room = (chance.uniform(130, 260), chance.uniform(130, 200))
    laid = nest(items_of(outlines), room, steps=8_000)
    assert_apart(outlines, laid, room)
    boxes = [box(*outline.bounds) for outline in outlines]
    assert sheets(laid) <= sheets(nest(items_of(boxes), room, steps=8_000))


def test_an_outline_and_its_complement_share_a_sheet():
    """An L of 100 by 100 and the square that it lacks fill a sheet of 100 by 100 to the last hair."""
    outlines = [box(0, 0, 100, 100).difference(box(38.7, 38.7, 100, 100)), box(0, 0, 61.3, 61.3)]
    laid = nest(items_of(outlines), (100.0, 100.0))
    assert sheets(laid) == 1
    assert_apart(outlines, laid, (100.0, 100.0))


def test_two_interlocking_combs_fit_where_their_boxes_do_not():
    comb = shapely.union_all([box(0, 0, 90, 20), *(box(x, 20, x + 10, 60) for x in (0, 30, 60))])
    laid = nest(items_of([comb, comb]), (105.0, 82.0))  # the boxes are 90 by 60
    assert sheets(laid) == 1
    assert_apart([comb, comb], laid, (105.0, 82.0))


def test_small_parts_lie_in_the_hole_of_a_large_one():
    frame = box(0, 0, 200, 100).difference(box(10, 10, 190, 90))
    outlines = [frame, box(0, 0, 85, 78), box(0, 0, 85, 78)]
    laid = nest(items_of(outlines), (200.0, 100.0))
    assert sheets(laid) == 1
    assert_apart(outlines, laid, (200.0, 100.0))


@pytest.mark.parametrize("across", [3, 7])
def test_equal_tiles_fill_a_sheet_exactly(across):
    """Sides that no map's cell divides: places are measured, or the last column would fall off."""
    room = (211.3, 97.7)
    tiles = [box(0, 0, room[0] / across, room[1] / 2)] * (2 * across)
    laid = nest(items_of(tiles, (0,)), room)
    assert sheets(laid) == 1
    assert_apart(tiles, laid, room)


def test_turns_are_only_those_allowed():
    outlines = [box(0, 0, 50, 20)] * 6
    assert {placed.quarter for placed in nest(items_of(outlines, (1, 3)), (100.0, 60.0))} <= {1, 3}


def test_same_parts_always_lie_the_same():
    chance = random.Random(5)
    outlines = [odd_outline(chance) for _ in range(12)]
    runs = [nest(items_of(outlines), (150.0, 150.0), steps=10_000) for _ in range(2)]
    assert [(a.key, a.sheet, a.quarter, *a.shift) for a in runs[0]] == [
        (b.key, b.sheet, b.quarter, *b.shift) for b in runs[1]
    ]


def test_parts_keep_off_what_already_lies_there():
    there = affinity.rotate(box(30, 30, 90, 50), 30)
    outlines = [box(0, 0, 40, 40)] * 5
    laid = nest(items_of(outlines), (120.0, 80.0), fixed={0: [there]})
    assert_apart(outlines, laid, (120.0, 80.0))
    assert all(area.intersection(there).area < 1e-6 for sheet, area in lie(outlines, laid) if sheet == 0)


def test_pieces_come_before_whole_sheets():
    outlines = [box(0, 0, 40, 40), box(0, 0, 90, 90)]
    laid = nest(items_of(outlines), (100.0, 100.0), pieces=[(50.0, 50.0)])
    assert {placed.key: placed.sheet for placed in laid} == {0: 0, 1: 1}
    assert_apart(outlines, laid, (100.0, 100.0), [(50.0, 50.0)])


@pytest.mark.parametrize(
    ("tile", "free"),
    [
        ((50, 20), 6000),  # in one piece as 50 + 50 by 20 + 20
        ((30, 60), 4000),  # stood on end they leave 100 by 40, one row 10 by 100
    ],
)
def test_the_last_sheet_is_left_as_free_as_can_be(tile, free):
    """Three tiles that do not fit the first sheet leave one rectangle as large as can be, mm^2."""
    tiles = [box(0, 0, 100, 100), *[box(0, 0, *tile)] * 3]
    laid = nest(items_of(tiles), (100.0, 100.0))
    last = shapely.union_all([area for sheet, area in lie(tiles, laid) if sheet == 1])
    _, _, x1, y1 = last.bounds
    assert max((100 - x1) * 100, (100 - y1) * 100) == pytest.approx(free)


@pytest.fixture(scope="module")
def many():
    """A thousand little parts, and how full their sheets were left: (outlines, laid, told shares)."""
    chance = random.Random(3)
    outlines = [box(0, 0, chance.choice((8, 11, 17)), chance.choice((9, 14))) for _ in range(1000)]
    progress = Waiting()
    return outlines, nest(items_of(outlines, (0, 1)), (200.0, 100.0), steps=1, progress=progress), progress.told


def test_a_thousand_parts_fill_their_sheets(many):
    outlines, laid, _ = many
    placed = lie(outlines, laid)
    for sheet in range(sheets(laid)):
        here = [area for number, area in placed if number == sheet]
        assert shapely.union_all(here).area == pytest.approx(sum(area.area for area in here))
    assert sheets(laid) <= 1.15 * sum(outline.area for outline in outlines) / 20_000


def test_progress_is_told_with_every_part(many):
    outlines, _, told = many
    assert len(told) > len(outlines) and told == sorted(told) and told[-1] == 1.0
    assert max(b - a for a, b in itertools.pairwise(told[: len(outlines)])) < 0.01


@pytest.mark.slow
def test_with_many_parts_the_orders_are_tried_all_the_same():
    """Long strips are best laid first: in the order of area, short wide ones would take the places that they need."""
    chance = random.Random(1)
    outlines = [box(0, 0, chance.uniform(50, 190), chance.uniform(12, 30)) for _ in range(80)]
    one = sheets(nest(items_of(outlines), (200.0, 100.0), steps=1))
    assert sheets(nest(items_of(outlines), (200.0, 100.0), steps=20_000)) < one


@pytest.mark.parametrize("most", [30, 70])
def test_the_search_can_be_given_up_with_every_part_of_every_filling(most):
    outlines = [box(0, 0, 20, 10)] * 50
    progress = Waiting(most)
    with pytest.raises(CancelledError):
        nest(items_of(outlines), (100.0, 50.0), progress=progress)
    assert progress.told == sorted(progress.told)


def test_a_hole_is_used_where_that_saves_a_sheet_and_not_for_its_own_sake():
    frame = box(0, 0, 200, 100).difference(box(10, 10, 190, 90))
    outlines = [frame, box(0, 0, 100, 100), box(0, 0, 95, 100), box(0, 0, 150, 60)]
    laid = nest(items_of(outlines), (200.0, 100.0))
    assert sheets(laid) == 2
    placed = {item.key: (item.sheet, area) for item, (_, area) in zip(laid, lie(outlines, laid), strict=True)}
    assert placed[3][0] == placed[0][0] and placed[0][1].convex_hull.contains(placed[3][1])


@pytest.mark.parametrize("across", [False, True])
def test_what_wants_waste_lies_in_holes_although_there_is_free_board(across):
    frame = box(0, 0, 90, 60).difference(box(20, 15, 50, 40)).difference(box(60, 10, 80, 50))
    strips = [box(0, 0, 24, 6) if across else box(0, 0, 6, 24) for _ in range(6)]
    wide = [box(0, 0, 33, 33)]
    outlines = [frame, *strips, *wide]
    items = [Item(key, area, QUARTERS, in_waste=key > 0) for key, area in enumerate(outlines)]
    laid = nest(items, (400.0, 300.0))
    assert_apart(outlines, laid, (400.0, 300.0))
    placed = dict(zip((item.key for item in laid), lie(outlines, laid), strict=True))
    holes = [Polygon(hole) for hole in placed[0][1].interiors]
    for key in range(1, 7):
        assert any(hole.buffer(1e-6).covers(placed[key][1]) for hole in holes)
    # one that fits no hole takes new board
    assert not any(hole.intersects(placed[7][1].buffer(-0.1)) for hole in holes)
