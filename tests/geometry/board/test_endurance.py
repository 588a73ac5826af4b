"""Folds again and again, against the published share of strength that frame stock bore 25,000 times."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import bisect
from stowfold.geometry.board.endurance import ANALOGY, MOST_FOLDS, folds_borne
from stowfold.geometry.board.lattice import Lattice, lattice
from stowfold.geometry.board.stock import Stock, find_stock, read_stocks

STOCKS = read_stocks()
BIRCH, BASSWOOD, MDF = (find_stock(name, STOCKS) for name in ("birch-plywood-3", "basswood-3.2", "mdf-3"))


def loaded(stock: Stock, share: float) -> Lattice:
    """Return a lattice whose links take this share of their strength; limits are two thirds of strength."""
    made = lattice(stock, angle=math.pi / 2, axis_length=76.2, link_width=1.2, opening=0.2, links=24, slits=2)
    return replace(made, shear=1.5 * share * made.shear_limit / made.restraint, bridge_stress=0.0)


def strength_left(stock: Stock, folds: int) -> float:
    """Return the greatest share of strength that a board bears so many times."""
    return bisect(lambda share: folds_borne(stock, loaded(stock, share)) - folds + 0.5, 0.0, 1.5, xtol=1e-12)


@pytest.mark.parametrize(("stock", "bore"), [(BIRCH, 0.75), (MDF, 0.55)])
def test_law_agrees_with_what_frame_stock_bore(stock, bore: float) -> None:
    """Plywood bore 25,000 loads at 75 per cent of its bending strength, particle board at 55 ("Fatigue performance of
    wood-based composites as upholstered furniture frame stock"; steps of loading were 5 per cent)."""
    assert strength_left(stock, MOST_FOLDS) == pytest.approx(bore, abs=0.06)


@pytest.mark.parametrize(
    ("stock", "folds", "left"), [(BIRCH, 1000, 0.85), (MDF, 1000, 0.73), (BIRCH, 10_000, 0.80), (MDF, 10_000, 0.64)]
)
def test_worked_values(stock, folds: int, left: float) -> None:
    """1 - H log10 N by hand."""
    assert strength_left(stock, folds) == pytest.approx(left, abs=1e-6)


def test_solid_wood_stays_on_the_careful_side_of_pine() -> None:
    """Pine bore more than a million bendings at 40 per cent of its strength; by our law it loses a tenth of it with
    each of six tenfold numbers."""
    assert 1.0 - 6 * (1.0 - strength_left(BASSWOOD, 10)) <= 0.40 + 1e-6


def test_boards_without_an_analogy_get_no_number() -> None:
    for name in ("cast-acrylic-3", "grey-board-2"):
        stock = find_stock(name, STOCKS)
        assert folds_borne(stock, loaded(stock, 0.3)) is None


@given(st.sampled_from([BIRCH, BASSWOOD, MDF]), st.floats(0.0, 1.2), st.floats(0.0, 1.2))
def test_the_more_loaded_of_two_lattices_never_bears_more(stock, one: float, other: float) -> None:
    less, more = (folds_borne(stock, loaded(stock, share)) for share in sorted((one, other)))
    assert MOST_FOLDS >= less >= more >= 0


def test_a_hinge_at_its_limit_and_one_that_breaks() -> None:
    assert folds_borne(BIRCH, loaded(BIRCH, 2 / 3)) == MOST_FOLDS  # 10^(1 / 3 / 0.05) is 4.6 million, never tried
    assert folds_borne(MDF, loaded(MDF, 2 / 3)) == 5054  # 10^(1 / 3 / 0.09) = 10^3.70370
    assert folds_borne(BIRCH, loaded(BIRCH, 1.1)) == 0
    assert "nobody has published" in ANALOGY


def test_bridges_count_where_they_are_loaded_more_than_links() -> None:
    made = loaded(MDF, 0.3)
    bent = replace(made, bridge_stress=made.bridge_limit / made.restraint)
    assert folds_borne(MDF, bent) == 5054


def test_an_axis_too_short_to_twist_breaks_when_it_is_folded() -> None:
    made = lattice(MDF, angle=1.0, axis_length=8.0, link_width=1.0, opening=0.2, links=2, slits=1)
    assert folds_borne(MDF, made) == 0
