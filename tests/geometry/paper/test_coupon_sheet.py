"""The coupon's page and files: whole, well-formed, and with everything that the form will ask."""

from __future__ import annotations

import xml.etree.ElementTree as ElementTree

import pytest
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import UnreadableError
from stowfold.geometry.files import is_sealed
from stowfold.geometry.paper.cautions import PRECEDENCE
from stowfold.geometry.paper.coupon_sheet import coupon_files, deliver_coupon, render_coupon_sheet
from stowfold.geometry.sheet.coupon import lay_out_coupon

STOCK = find_stock("basswood-3.2", read_stocks())


@pytest.fixture(scope="module")
def coupon():
    return lay_out_coupon(STOCK, Laser())


def words_of(page):
    return " ".join(" ".join(ElementTree.fromstring(page.split("\n", 1)[1]).itertext()).split())


def test_the_page_asks_for_every_reading(coupon):
    page = render_coupon_sheet(coupon, STOCK, date="2026-11-25")
    words = words_of(page)
    for asked in ("Batch", "five places", "slats X", "slats Y", "slide", "press", "glue", "Mass, g", "Broke at"):
        assert asked in words
    for rung in coupon.plan.rungs:
        assert rung.differs in words
    assert "3.2 mm of thickness and a kerf of 0.2 mm" in words
    assert "2026-11-25" in words


def test_the_page_stands_on_its_own_and_cautions(coupon):
    page = render_coupon_sheet(coupon, STOCK)
    assert "<script" not in page
    assert "http" not in page.replace("http://www.w3.org", "")
    words = words_of(page)
    assert " ".join(PRECEDENCE.split()) in words
    for hazard in ("Never leave the laser alone", "Fumes", "Eyes and fingers"):
        assert hazard in words


def test_a_label_from_outside_cannot_break_the_page(coupon):
    from dataclasses import replace

    page = render_coupon_sheet(coupon, replace(STOCK, label='<b>"oak" & co'))
    assert '<b>"oak" & co' in words_of(page)


@pytest.mark.slow
def test_files_are_delivered_as_a_set(coupon, tmp_path):
    written = deliver_coupon(coupon, STOCK, tmp_path, date="2026-11-25")
    assert tuple(path.name for path in written) == coupon_files(coupon, STOCK)
    assert [path.name for path in written] == ["coupon-basswood-3.2-1.svg", "coupon-basswood-3.2.html"]
    assert is_sealed(written[0].read_bytes())
    again = deliver_coupon(coupon, STOCK, tmp_path, date="2026-11-25")
    assert again == written
    with pytest.raises(UnreadableError):
        deliver_coupon(coupon, STOCK, tmp_path / "none" / "there")


def test_sheets_of_an_earlier_coupon_are_cleared_away_and_those_of_buildings_stay(coupon, tmp_path):
    deliver_coupon(coupon, STOCK, tmp_path)
    (tmp_path / "sheet-01-basswood-3.2.svg").write_text("a building")
    old = tmp_path / "coupon-basswood-3.2-2.svg"
    old.write_bytes((tmp_path / "coupon-basswood-3.2-1.svg").read_bytes())
    deliver_coupon(coupon, STOCK, tmp_path)
    assert not old.exists()
    assert (tmp_path / "sheet-01-basswood-3.2.svg").read_text() == "a building"
