"""What sheets leave: the largest free rectangle against brute force and a raster, sizes, grain, real sheets."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from parts_by_hand import make_building, make_one_sheet, make_part, make_stock
from shapely.geometry import Point, Polygon, box
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.board.stock import Grain
from stowfold.geometry.part import LabelSpot
from stowfold.geometry.sheet.layout import Layout, Sheet, lay_out
from stowfold.geometry.sheet.loading import _lie_likewise
from stowfold.geometry.sheet.offcuts import LEAST, find_offcuts, is_useful, largest_free
from stowfold.geometry.sheet.routing import benches_for


def area_of(rectangle):
    left, low, right, high = rectangle
    return (right - left) * (high - low)


def by_brute_force(size, boxes, least=(0.0, 0.0)):
    """The largest area over all rectangles whose sides lie on sides of boxes or of the sheet."""
    xs = sorted({0.0, size[0], *(v for b in boxes for v in (b[0], b[2]) if 0 < v < size[0])})
    ys = sorted({0.0, size[1], *(v for b in boxes for v in (b[1], b[3]) if 0 < v < size[1])})
    best = 0.0
    for x0, x1 in itertools.combinations(xs, 2):
        for y0, y1 in itertools.combinations(ys, 2):
            if (
                (x1 - x0) * (y1 - y0) > best
                and is_useful(x1 - x0, y1 - y0, least)
                and not any(b[0] < x1 and b[2] > x0 and b[1] < y1 and b[3] > y0 for b in boxes)
            ):
                best = (x1 - x0) * (y1 - y0)
    return best


def by_raster(size, areas, cell):
    """The largest rectangle of free cells: the classic stack over a histogram of free cells, row by row.

    A cell is taken where its middle is, so the answer is off by about a cell on each side.
    """
    nx, ny = round(size[0] / cell), round(size[1] / cell)
    x, y = np.meshgrid((np.arange(nx) + 0.5) * cell, (np.arange(ny) + 0.5) * cell)
    taken = shapely.intersects_xy(shapely.union_all(areas), x.ravel(), y.ravel()).reshape(ny, nx)
    heights, best = np.zeros(nx, dtype=int), 0
    for row in taken:
        heights = np.where(row, 0, heights + 1)
        stack: list[int] = []
        for k in range(nx + 1):
            now = heights[k] if k < nx else 0
            while stack and heights[stack[-1]] >= now:
                height = heights[stack.pop()]
                best = max(best, height * (k - (stack[-1] + 1 if stack else 0)))
            stack.append(k)
    return best * cell * cell


BOXES = st.lists(
    st.tuples(st.integers(-5, 38), st.integers(-5, 28), st.integers(1, 20), st.integers(1, 20)).map(
        lambda b: (float(b[0]), float(b[1]), float(b[0] + b[2]), float(b[1] + b[3]))
    ),
    max_size=7,
)


@settings(deadline=None, max_examples=150)
@given(BOXES)
@pytest.mark.slow
def test_the_largest_rectangle_beside_boxes_is_that_of_brute_force(boxes):
    size = (40.0, 30.0)
    found = largest_free(size, [box(*bounds) for bounds in boxes])
    expected = by_brute_force(size, boxes)
    if found is None:
        assert expected == 0.0
        return
    assert area_of(found) == pytest.approx(expected)
    assert box(*found).within(box(0, 0, *size).buffer(1e-9))
    assert all(box(*found).intersection(box(*bounds)).area < 1e-4 for bounds in boxes)


@pytest.mark.parametrize("seed", range(4))
def test_beside_slanting_and_round_areas_it_is_free_and_as_large_as_a_raster_finds_but_for_the_steps(seed):
    rng = np.random.default_rng(seed)
    size, areas = (300.0, 200.0), []
    for _ in range(6):
        x, y = rng.uniform(0, size[0]), rng.uniform(0, size[1])
        corners = np.array([x, y]) + rng.uniform(-45, 45, (3, 2))
        areas.append(Polygon(corners) if rng.random() < 0.6 else Point(x, y).buffer(rng.uniform(5, 30)))
    found = largest_free(size, areas)
    rectangle = box(*found)
    assert rectangle.intersection(shapely.union_all(areas)).area < 1e-4
    # the raster is off by half a cell on each side, the steps by one millimetre
    best, cell = by_raster(size, areas, 1.0), 1.0
    around = rectangle.length
    assert best - around * (1.0 + cell) <= rectangle.area <= best + around * cell


def test_a_long_thin_strip_does_not_hide_a_smaller_piece_that_is_worth_more():
    # 600 x 40 along the bottom is larger than 100 x 100 in a corner above it
    plate = box(0, 40, 600, 300).difference(box(500, 200, 600, 300))
    assert area_of(largest_free((600.0, 300.0), [plate])) == 600 * 40
    assert largest_free((600.0, 300.0), [plate], least=(100.0, 50.0)) == (500.0, 200.0, 600.0, 300.0)


@pytest.mark.parametrize("seed", range(8))
def test_among_many_boxes_the_largest_of_any_least_size_is_that_of_brute_force(seed):
    rng = np.random.default_rng(seed)
    size = (200.0, 120.0)
    boxes = [
        (x, y, x + w, y + h) for x, y, w, h in rng.integers((0, 0, 4, 4), (195, 115, 40, 30), (12, 4)).astype(float)
    ]
    for least in ((0.0, 0.0), (60.0, 30.0), (90.0, 20.0)):
        found = largest_free(size, [box(*bounds) for bounds in boxes], least=least)
        expected = by_brute_force(size, boxes, least)
        assert (0.0 if found is None else area_of(found)) == pytest.approx(expected)


def test_holes_of_areas_count_and_full_sheets_leave_nothing():
    frame = box(0, 0, 100, 80).difference(box(20, 10, 90, 70))
    assert largest_free((100.0, 80.0), [frame]) == pytest.approx((20, 10, 90, 70))
    assert largest_free((100.0, 80.0), [box(-1, -1, 101, 81)]) is None
    assert largest_free((100.0, 80.0), []) == (0.0, 0.0, 100.0, 80.0)
    assert largest_free((100.0, 80.0), [box(0, 0, 60, 80)], least=(90.0, 30.0)) is None
    assert largest_free((100.0, 80.0), [box(0, 0, 60, 80)], least=(80.0, 40.0)) == (60.0, 0.0, 100.0, 80.0)


def test_a_part_in_a_corner_leaves_what_arithmetic_says():
    """A plate of 200 x 100 at (3, 3) claims half the spacing and the kerf round it: up to 203 + 0.1 + 1.1."""
    layout = make_one_sheet(("P1", (3.0, 3.0)))
    parts = {"P1": make_part("P1", box(0, 0, 200, 100))}
    first, second = find_offcuts(layout, parts)
    # beside it 395.8 x 300, over it 600 x 195.8: the larger is 118740 mm^2, rounded down to whole mm
    assert (first.length, first.width, first.sheet, first.stock) == (395.0, 300.0, 0, "birch-plywood-3")
    assert first.corner == pytest.approx((204.2, 0.0))
    # then what is over the part and left of the first one, half a spacing away from it
    assert (second.length, second.width) == (203.0, 195.0)
    assert second.corner == pytest.approx((0.0, 104.2))


@pytest.mark.slow
def test_offcuts_keep_clear_of_all_that_is_drawn_and_of_each_other():
    parts = make_building()
    laser = Laser()
    layout = lay_out(parts, {"birch-plywood-3": make_stock()}, laser)
    by_id = {part.id: part for part in parts}
    found = find_offcuts(layout, by_id)
    assert found
    for index in range(len(layout.sheets)):
        pieces = [box(*offcut.corner, *np.add(offcut.corner, offcut.size)) for offcut in found if offcut.sheet == index]
        outlines = [
            shapely.transform(by_id[placement.part].outline, placement.place) for placement in layout.on_sheet(index)
        ]
        for piece in pieces:
            assert min(piece.distance(outline) for outline in outlines) >= laser.spacing / 2 - 1e-6
            assert piece.within(box(0, 0, *layout.sheets[index].size).buffer(1e-6))
            assert is_useful(*piece.bounds[2:] - np.array(piece.bounds[:2]))
        for one, other in itertools.combinations(pieces, 2):
            assert one.distance(other) >= laser.spacing / 2 - 1e-6
    # on the sheet with most room no raster finds a larger piece
    index = max(range(len(layout.sheets)), key=lambda k: -layout.sheets[k].used_share)
    drawn = [
        shapely.buffer(shapely.transform(by_id[e.part].outline, e.place), laser.spacing / 2 + 0.2)
        for e in layout.on_sheet(index)
    ]
    best = by_raster(layout.sheets[index].size, drawn, 1.0)
    first = next(offcut for offcut in found if offcut.sheet == index)
    assert first.length * first.width >= best - 2 * 2 * (first.length + first.width)


def test_the_length_runs_along_the_sheets_length_even_where_it_lies_turned():
    stock, laser = make_stock(grain=Grain.LENGTH), Laser(bed=(300.0, 600.0))
    part = make_part("P1", box(0, 0, 250, 200))
    layout = lay_out([part], {stock.name: stock}, laser)
    assert layout.sheets[0].size == (300.0, 600.0)
    first = find_offcuts(layout, {"P1": part})[0]
    assert (first.length, first.width) == first.size[::-1]
    # what is kept lies again as it did when it is offered to the next layout
    (lying,) = _lie_likewise([(first.length, first.width)], benches_for(stock, [laser])[0])
    assert lying == first.size


def test_only_pieces_worth_keeping_are_found():
    layout = make_one_sheet(("P1", (3.0, 3.0)))
    parts = {"P1": make_part("P1", box(0, 0, 594, 250))}
    assert find_offcuts(layout, parts) == ()
    (rest,) = find_offcuts(layout, parts, least=(100.0, 40.0))
    assert (rest.length, rest.width) == (600.0, 45.0)
    assert is_useful(*LEAST) and is_useful(*LEAST[::-1])
    assert not is_useful(LEAST[0], LEAST[1] - 1.0)


def test_a_part_pinned_where_its_sheet_would_not_take_it_again_is_seen():
    part = make_part("P1", box(0, 0, 280, 20))
    stock = make_stock()
    turned = make_one_sheet(("P1", (30.0, 10.0), math.pi / 4)).placements
    layout = Layout((Sheet(stock, Laser(), (240.0, 240.0), 0.1, "sheet-01.svg", True),), turned, (1, ""), ())
    for offcut in find_offcuts(layout, {"P1": part}):
        lying = shapely.transform(part.outline, turned[0].place)
        assert not box(*offcut.corner, *np.add(offcut.corner, offcut.size)).intersects(lying)


def test_what_is_found_fits_the_sheet_it_came_from_as_a_sheet_of_its_own():
    """A part that just fits the offcut is laid on it by the next layout."""
    stock, laser = make_stock(), Laser()
    layout = make_one_sheet(("P1", (3.0, 3.0)))
    rest = find_offcuts(layout, {"P1": make_part("P1", box(0, 0, 300, 200))})[0]
    edge = 2 * (laser.margin + stock.kerf)
    next_one = make_part(
        "P2", box(0, 0, rest.length - edge, rest.width - edge), label_spot=LabelSpot((60.0, 30.0), 0.0, 50.0, 8.0)
    )
    again = lay_out([next_one], {stock.name: stock}, laser, offcuts={stock.name: [(rest.length, rest.width)]})
    assert [sheet.offcut for sheet in again.sheets] == [True]
