"""Both ways of laying a wall on the sheet, and the advice about them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stowfold.geometry.board.grain import check_grain, check_warp, compare_grain, is_solid_wood
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.findings import Location, Severity

STOCKS = read_stocks()
BIRCH = find_stock("birch-plywood-3", STOCKS)
BASSWOOD = find_stock("basswood-3.2", STOCKS)
MDF = find_stock("mdf-3", STOCKS)
HERE = Location(part="S1")

# Tension across the grain and modulus of rupture along it, psi, air dry. From memory: Wood Handbook
# FPL-GTR-282, table 5-3; the 350 and 8700 of basswood were also read in tables after it.
SPECIES = {"basswood": (350, 8700), "black cherry": (560, 12300), "black walnut": (690, 14600), "birch": (920, 16600)}


@pytest.mark.parametrize("species", SPECIES)
def test_short_grain_is_about_as_weak_as_tables_of_wood_say(species: str) -> None:
    across, along = SPECIES[species]
    assert compare_grain(BASSWOOD)[1].links == pytest.approx(across / along, rel=0.25)


def test_rolling_shear_leaves_the_angle_but_softens_the_corner() -> None:
    """Strain at which shear breaks: 6.83 / 562 along, about 1.5 / 133 across (Wood Handbook's ratios, from memory)."""
    across = compare_grain(BASSWOOD)[1]
    assert across.twist == pytest.approx((1.5 / 133) / (6.83 / 562), rel=0.1)
    assert across.moment == pytest.approx(133 / 562, rel=0.05)


def test_a_loop_of_six_by_four_inches_in_basswood() -> None:
    """Flat it is 476.3 mm: two sections across the grain of a sheet 305 mm wide, one along its 610 mm."""
    along, across = compare_grain(BASSWOOD, loop=476.3, height=76.2)
    assert (along.along, along.run, along.height, along.joiners) == (True, 305.0, 610.0, 2)
    assert (across.along, across.run, across.height, across.joiners) == (False, 610.0, 305.0, 1)
    assert along.estimated and across.estimated


@given(st.floats(1.0, 5000.0), st.sampled_from(STOCKS))
def test_joiners_are_just_enough(loop: float, stock) -> None:
    for way in compare_grain(stock, loop=loop):
        assert way.joiners is not None
        assert way.joiners * way.run >= loop - 1e-3
        assert way.joiners == 1 or (way.joiners - 1) * way.run < loop


def test_walls_taller_than_the_sheet_have_no_number_of_joiners() -> None:
    along, across = compare_grain(BASSWOOD, loop=476.3, height=400.0)
    assert along.joiners == 2 and across.joiners is None
    assert compare_grain(BASSWOOD)[0].joiners is None


def test_plywood_trades_links_for_bridges_and_mdf_nothing() -> None:
    """Two of three plies along the links or one; bending of the Finnish handbook's three plies, 65.9 against 10.6."""
    across = compare_grain(BIRCH)[1]
    assert across.links == 0.5 and across.bridges == pytest.approx(65.9 / 10.6, rel=0.01) and across.twist == 1.0
    along, across = compare_grain(MDF)
    assert (along.links, along.bridges, along.run) == (across.links, across.bridges, across.run) == (1.0, 1.0, 600.0)
    assert not along.estimated


def test_the_part_of_the_sheet_that_can_be_used_counts() -> None:
    along, across = compare_grain(BASSWOOD, room=(590.0, 290.0))
    assert (along.run, across.run) == (290.0, 590.0)
    with pytest.raises(BadSettingError, match="loop is 0 mm"):
        compare_grain(BASSWOOD, loop=0.0)
    with pytest.raises(BadSettingError, match="width is -1 mm"):
        compare_grain(BASSWOOD, room=(10.0, -1.0))


@pytest.mark.parametrize("degrees", [0, 14, 166, 180, -10, 360])
def test_slits_along_the_grain_are_not_remarked_on(degrees: float) -> None:
    assert check_grain(BASSWOOD, HERE, between=math.radians(degrees)) == ()


@pytest.mark.parametrize(
    ("degrees", "words"), [(16, "16 degrees"), (60, "60 degrees"), (-45, "45 degrees"), (120, "60")]
)
def test_an_oblique_hip_is_advised_against(degrees: float, words: str) -> None:
    (finding,) = check_grain(BASSWOOD, HERE, between=math.radians(degrees))
    assert (finding.code, finding.severity, finding.where) == ("grain-across-links", Severity.WARNING, HERE)
    assert words in finding.message and "plywood" in finding.message


@pytest.mark.parametrize("degrees", [76, 90, 104, -90, 270])
def test_slits_across_the_grain_are_advised_against(degrees: float) -> None:
    (finding,) = check_grain(BASSWOOD, HERE, between=math.radians(degrees))
    assert finding.severity is Severity.WARNING and "22 times weaker" in finding.message


def test_sheet_goods_take_any_direction() -> None:
    for stock in STOCKS:
        assert bool(check_grain(stock, HERE, between=math.pi / 2)) == is_solid_wood(stock) == (stock is BASSWOOD)


@pytest.mark.parametrize(("length", "said"), [(249.0, 0), (250.0, 0), (251.0, 1)])
def test_long_solid_boards_may_warp(length: float, said: int) -> None:
    findings = check_warp(BASSWOOD, HERE, length=length)
    assert len(findings) == said and check_warp(BIRCH, HERE, length=length) == ()
    if said:
        assert (findings[0].code, findings[0].severity) == ("board-warp", Severity.NOTE)
        assert "251 mm" in findings[0].message
