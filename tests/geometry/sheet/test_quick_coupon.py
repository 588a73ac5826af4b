"""The quick coupon as another library reads its file: the building's own sizes, in time, and what is left out."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from read_sheets import read_by_svgelements
from sample_solids import solid_of
from shapely.geometry import Polygon
from stowfold.geometry.beam.laser import Feed, Laser, Operation
from stowfold.geometry.board.readings import Broken, Direction, Fit, Readings, Stack, calibrate
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Settings
from stowfold.geometry.paper.quick_page import deliver_quick_coupon, make_quick_coupon, render_quick_page
from stowfold.geometry.sheet.quick_coupon import QUICK_SECONDS, lay_out_quick_coupon

BIRCH = find_stock("birch-plywood-3", read_stocks())


@pytest.fixture(scope="module")
def house():
    return run(solid_of("toll_house"), Settings(BIRCH, BIRCH, BIRCH, BIRCH), title="Toll house")


@pytest.fixture(scope="module")
def coupon(house):
    return make_quick_coupon(house)


@pytest.fixture(scope="module")
def drawn(house, coupon, tmp_path_factory):
    folder = tmp_path_factory.mktemp("quick")
    deliver_quick_coupon(coupon, house, folder)
    return read_by_svgelements(folder / "quick-coupon-birch-plywood-3.svg")


def sides_of(path):
    """Length and width, mm, of the box round the only line of a path, the longer first."""
    (points, _) = path.lines[0]
    return sorted(np.ptp(points, axis=0), reverse=True)


def test_it_takes_ten_minutes_and_a_scrap_at_most(coupon, drawn):
    """Time by hand from the file: every line at 6 mm/s with 0.1 s to pierce; the ramps of each corner are small."""
    assert drawn.size == pytest.approx((150.0, 120.0))
    cut = drawn.of("slits", "inner", "outer")
    seconds = sum(path.length / 6.0 + 0.1 * len(path.lines) for path in cut)
    assert 0.9 * coupon.seconds < seconds <= coupon.seconds <= QUICK_SECONDS


def test_its_corner_has_the_cell_of_the_building(house, coupon, drawn):
    """Centres of neighbouring rows lie a pitch apart, and a slot is drawn one kerf narrower than it comes out."""
    made = next(placed.lattice for part in house.parts for placed in part.lattices)
    (slits,) = [path for path in drawn.of("slits") if path.part == "C1"]
    boxes = [np.ptp(points, axis=0) for points, _ in slits.lines]
    along = int(np.argmax(np.max(boxes, axis=0)))
    closed = [size for size, (_, shut) in zip(boxes, slits.lines, strict=True) if shut]
    assert {round(float(size[along]), 2) for size in closed} == {round(made.slit - BIRCH.kerf, 2)}
    assert {round(float(size[1 - along]), 2) for size in boxes} == {round(made.opening - BIRCH.kerf, 2)}
    rows = sorted({round(float(points[:, 1 - along].mean()), 3) for points, _ in slits.lines})
    assert np.diff(rows) == pytest.approx(made.pitch, abs=0.002)
    assert len(rows) == coupon.corners[0].links + 1 <= made.rows


def test_its_slot_and_tab_are_those_of_the_building(house, drawn):
    tab = max(house.tabs, key=lambda tab: np.linalg.norm(tab.tab[1] - tab.tab[0]))
    real = [float(np.linalg.norm(tab.slot[k + 1] - tab.slot[k])) for k in (0, 1)]
    (slot,) = [path for path in drawn.of("inner") if path.part == "P"]
    assert sides_of(slot) == pytest.approx([side - BIRCH.kerf for side in real], abs=0.002)
    (stub,) = [path for path in drawn.of("outer") if path.part == "T"]
    around = Polygon(stub.lines[0][0])
    long = float(np.linalg.norm(tab.tab[1] - tab.tab[0]))
    box = around.minimum_rotated_rectangle
    # two shoulders beside the tab, as deep as the floor but for what tabs are shorter
    depth = house.settings.floor.thickness - house.settings.ground.tab_short
    assert box.area - around.area == pytest.approx(2 * depth * 3.0 + 1.25**2, abs=0.3)
    assert sides_of(stub)[0] == pytest.approx(long + 2 * 3.0 + BIRCH.kerf, abs=0.002)


def test_a_slow_laser_gets_fewer_pieces_and_hears_which(house):
    slow = {operation: Feed(feed.speed / 1.8, feed.pierce) for operation, feed in Laser().feeds.items()}
    made = lay_out_quick_coupon(
        house.parts, house.joiners, house.tabs, house.settings.as_cut, replace(Laser(), feeds=slow)
    )
    assert made.seconds <= QUICK_SECONDS
    assert [words.split()[1] for words in made.left_out] == ["joiner"]
    assert made.corners[0].links == 6
    assert {part.id for part in made.parts} == {"C1", "S", "T", "P", "X1", "X2", "X3", "X4", "X5"}
    page = render_quick_page(made, house)
    assert "the joiner with its two wall ends" in page
    slower = {**slow, Operation.OUTER: Feed(0.1)}
    with pytest.raises(BadSettingError, match="no quick coupon within 10 minutes"):
        lay_out_quick_coupon(
            house.parts, house.joiners, house.tabs, house.settings.as_cut, replace(Laser(), feeds=slower)
        )


def test_readings_of_it_calibrate_the_board(house, coupon):
    """Kerf 8 - S / 5; strength by Saint-Venant's series for the bar of the building's own bend, two thirds of it."""
    plan = coupon.plans[BIRCH.name]
    corner = coupon.corners[0]
    angle = math.radians(120.0)
    readings = Readings(
        thickness=(3.0,),
        stacks=(Stack(Direction.X, 5, 39.0),),
        slots={Fit.SLIDE: (3.0,)},
        broken=(Broken("C1", angle * corner.share),),
    )
    made = calibrate(BIRCH, plan, readings, date="2026-11-27", batch="7").stock
    assert made.kerf == pytest.approx(0.2)
    assert made.slide == pytest.approx(0.2)
    real = corner.kind.lattice
    ratio = 3.0 / real.link_width
    k_tau = 1 - 8 / math.pi**2 * sum(1 / (m**2 * math.cosh(m * math.pi * ratio / 2)) for m in range(1, 40, 2))
    free = (real.slit - real.bridge) / 2
    strength = k_tau * BIRCH.shear_modulus * angle / real.links * real.link_width / free
    assert made.shear_limit == pytest.approx(2 / 3 * strength, rel=1e-5)


def test_the_page_says_its_time_and_what_readings_lead_to(house, coupon):
    page = render_quick_page(coupon, house, date="2026-11-27")
    assert f"{coupon.seconds / 60.0:.0f} min of laser" in page
    assert page.count("Leads to") >= 6
    for part in coupon.parts:
        assert f">{part.id}<" in page
    closing = math.degrees(coupon.corners[0].lattice(BIRCH).angle)
    assert f">{closing:.0f}<" in page


@pytest.mark.slow
def test_several_kinds_of_bends_share_the_time():
    house = run(solid_of("grain_store"), Settings(BIRCH, BIRCH, BIRCH, BIRCH), title="Grain store")
    made = make_quick_coupon(house)
    assert made.seconds <= QUICK_SECONDS
    assert [corner.kind.part for corner in made.corners][:2] == ["W1", "R1"]
    assert [finding.code for finding in made.findings] == []
    # roofs have several slits in a row; on the coupon one is enough
    assert made.corners[1].slits == 1 < made.corners[1].kind.lattice.slits


@pytest.mark.slow
def test_links_come_back_where_a_piece_that_is_left_out_makes_room():
    basswood = find_stock("basswood-3.2", read_stocks())
    house = run(solid_of("lock_keepers_house"), Settings(basswood, basswood, basswood, basswood), title="House")
    made = make_quick_coupon(house)
    assert made.left_out and made.seconds <= QUICK_SECONDS
    # pieces are left out only once every corner has given all that it can: 4 links are the least
    assert made.corners[0].links == 8
