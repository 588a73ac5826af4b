"""A strip is as short as it must be, and what a strip packer offers is measured before it is taken."""

from __future__ import annotations

import sys
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from parts_by_hand import Waiting, make_building, make_stock
from shapely.geometry import Polygon, box
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.errors import CancelledError
from stowfold.geometry.nest import strip
from stowfold.geometry.nest.nesting import Item, PlacedItem, nest
from stowfold.geometry.nest.strip import improved, nest_strip, strip_packer_present
from stowfold.geometry.sheet.layout import lay_out

NAME = "birch-plywood-3"


def items_of(outlines, quarters=(0, 1, 2, 3)):
    return [Item(key, outline, quarters) for key, outline in enumerate(outlines)]


def packer(places, *, refuses=False):
    """Stand in for the strip packer: it puts each part where ``places`` says (degrees, translation)."""

    class Instance:
        def __init__(self, name, height, items):
            self.items = items

        def solve(self, config):
            if refuses:
                raise ValueError("too high")
            placed = [SimpleNamespace(id=id_, rotation=turn, translation=shift) for id_, turn, shift in places]
            return SimpleNamespace(placed_items=placed)

    return SimpleNamespace(Item=lambda *given: given, StripPackingConfig=dict, StripPackingInstance=Instance)


@pytest.fixture
def packed(monkeypatch):
    def install(places, **options):
        monkeypatch.setitem(sys.modules, "spyrrow", packer(places, **options))

    return install


def test_tiles_fill_a_strip_without_a_gap():
    length, laid = nest_strip(items_of([box(0, 0, 30, 12.5)] * 8), 50.0)
    assert length == pytest.approx(60.0) and {placed.sheet for placed in laid} == {0}


def test_triangles_are_turned_into_each_other():
    """Six right-angled triangles of 30 by 50 make three rectangles: a strip of 90 by 50 at best, 1.25 of it found."""
    outlines = [Polygon([(0, 0), (30, 0), (0, 50)])] * 6
    length, laid = nest_strip(items_of(outlines), 50.0)
    areas = [placed.place(outlines[placed.key]) for placed in laid]
    assert shapely.union_all(areas).area == pytest.approx(6 * 750)
    assert 90.0 - 1e-6 <= length <= 1.25 * 90


def test_without_the_packer_seconds_change_nothing(monkeypatch):
    monkeypatch.setitem(sys.modules, "spyrrow", None)
    assert not strip_packer_present()
    items = items_of([box(0, 0, 30, 20)] * 3)
    assert nest_strip(items, 50.0, seconds=5)[0] == nest_strip(items, 50.0)[0]


def test_nothing_makes_a_strip_of_no_length():
    assert nest_strip([], 50.0) == (0.0, ())


BOTH = [box(0, 0, 40, 50), box(0, 0, 20, 10)]


def test_a_shorter_strip_is_taken(packed, monkeypatch):
    packed([("0", 90.0, (100.0, 0.0)), ("1", 0.0, (50.0, 40.0))])  # 50 by 40, and 20 by 10 above it
    monkeypatch.setattr(strip, "_shortest", lambda items, *_: _longer_filling(items))
    length, laid = nest_strip(items_of(BOTH), 50.0, seconds=1)
    assert length == pytest.approx(50.0)
    assert shapely.total_bounds([placed.place(BOTH[placed.key]) for placed in laid]) == pytest.approx([0, 0, 50, 50])


def _longer_filling(items):
    return strip.search(strip.Packer(items, (500.0, 50.0)), lambda packing: (-packing.beds[0].upright[0, 1],), steps=1)


@pytest.mark.parametrize(
    "places",
    [
        [("0", 0.0, (0.0, 0.0)), ("1", 0.0, (30.0, 0.0))],  # they overlap
        [("0", 0.0, (0.0, 0.0))],  # one is missing
        [("0", 0.0, (0.0, 0.0)), ("1", 0.0, (0.0, 50.0))],  # above the strip
    ],
)
def test_what_does_not_stand_up_to_measuring_is_refused(packed, places):
    plain, _ = nest_strip(items_of(BOTH), 50.0)
    packed(places)
    assert nest_strip(items_of(BOTH), 50.0, seconds=1)[0] == plain
    packed(places, refuses=True)
    assert nest_strip(items_of(BOTH), 50.0, seconds=1)[0] == plain


def test_what_the_packer_leaves_loose_is_pushed_together(packed):
    packed([(str(k), 0.0, (10.3 * (k // 5), 10.0 * (k % 5))) for k in range(40)])
    length, laid = nest_strip(items_of([box(0, 0, 10, 10)] * 40), 50.0, seconds=1, steps=1)
    assert length == pytest.approx(80.0)
    assert sorted(placed.key for placed in laid) == list(range(40))
    areas = [placed.place(box(0, 0, 10, 10)) for placed in laid]
    assert shapely.union_all(areas, grid_size=1e-6).area == pytest.approx(4000.0)


def test_what_is_pushed_stops_at_what_it_meets():
    step = box(0, 0, 30, 30).difference(box(10, 10, 31, 31))
    areas = [
        shapely.transform(shape, lambda xy, at=at: xy + at)
        for shape, at in ((step, (5, 0)), (box(0, 0, 8, 8), (40, 12)))
    ]
    assert strip._pushed(areas) == pytest.approx([0.0, 25.0])  # into the notch, 15 from the beginning


def test_two_sheets_become_one_where_the_packer_finds_room(packed):
    items = items_of(BOTH)
    laid = [PlacedItem(0, 0, 0, np.zeros(2)), PlacedItem(1, 1, 0, np.zeros(2))]
    packed([("0", 0.0, (0.0, 0.0)), ("1", 0.0, (40.0, 0.0))])
    better = improved(laid, items, (60.0, 50.0), [0, 1], seconds=1)
    assert {placed.sheet for placed in better} == {0}
    assert improved(laid, items, (59.0, 50.0), [0, 1], seconds=1) == tuple(laid)  # 60 long: does not fit


def test_a_layout_is_never_made_worse(packed):
    parts = make_building()[:5]
    plain = lay_out(parts, {NAME: make_stock()}, Laser())
    packed([])
    again = lay_out(parts, {NAME: make_stock()}, Laser(), improve=True)
    assert [(p.part, p.sheet, *p.shift) for p in again.placements] == [
        (p.part, p.sheet, *p.shift) for p in plain.placements
    ]


@pytest.mark.slow
def test_the_packer_itself_shortens_a_strip_or_leaves_it():
    pytest.importorskip("spyrrow")
    hexagon = Polygon([(10, 0), (30, 0), (40, 17), (30, 34), (10, 34), (0, 17)])
    items = items_of([hexagon] * 5)
    plain, _ = nest_strip(items, 60.0, steps=1)
    length, laid = nest_strip(items, 60.0, steps=1, seconds=1)
    assert length <= plain
    areas = [placed.place(hexagon) for placed in laid]
    assert shapely.union_all(areas).area == pytest.approx(5 * hexagon.area, abs=1e-6)
    assert shapely.total_bounds(areas)[3] <= 60.0 + 1e-6


def test_nesting_leaves_the_strip_packer_alone(monkeypatch):
    monkeypatch.setitem(sys.modules, "spyrrow", None)
    assert len(nest(items_of(BOTH), (60.0, 60.0))) == 2


def test_a_layout_that_is_given_up_is_not_looked_at_longer(monkeypatch):
    monkeypatch.setattr(strip, "_pack", lambda *_: pytest.fail("nobody waits any more"))
    laid = [PlacedItem(0, 0, 0, np.zeros(2)), PlacedItem(1, 1, 0, np.zeros(2))]
    with pytest.raises(CancelledError):
        improved(laid, items_of(BOTH), (60.0, 50.0), [0, 1], seconds=1, progress=Waiting(0))
