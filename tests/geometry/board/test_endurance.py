"""Folds again and again, against the published share of strength that frame stock bore 25,000 times."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stowfold.geometry.board.endurance import ANALOGY, MOST_FOLDS, after_folds, folds_borne
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import BadSettingError

STOCKS = read_stocks()
BIRCH, BASSWOOD, MDF = (find_stock(name, STOCKS) for name in ("birch-plywood-3", "basswood-3.2", "mdf-3"))


@pytest.mark.parametrize(("stock", "bore"), [(BIRCH, 0.75), (MDF, 0.55)])
def test_law_agrees_with_what_frame_stock_bore(stock, bore: float) -> None:
    """Plywood bore 25,000 loads at 75 per cent of its bending strength, particle board at 55 ("Fatigue performance of
    wood-based composites as upholstered furniture frame stock"; steps of loading were 5 per cent)."""
    assert after_folds(stock, 25_000) == pytest.approx(bore, abs=0.06)


@pytest.mark.parametrize(
    ("stock", "folds", "left"), [(BIRCH, 1000, 0.85), (MDF, 1000, 0.73), (BIRCH, 10_000, 0.80), (MDF, 10_000, 0.64)]
)
def test_worked_values(stock, folds: int, left: float) -> None:
    """1 - H log10 N by hand."""
    assert after_folds(stock, folds) == pytest.approx(left, abs=1e-9)


def test_solid_wood_stays_on_the_careful_side_of_pine() -> None:
    """Pine bore more than a million bendings at 40 per cent of its strength."""
    assert 1.0 - 6 * (1.0 - after_folds(BASSWOOD, 10)) <= 0.40 + 1e-9


def test_boards_without_an_analogy_get_no_number() -> None:
    for name in ("cast-acrylic-3", "grey-board-2"):
        stock = find_stock(name, STOCKS)
        assert after_folds(stock, 100) is None and folds_borne(stock, 0.5) is None


@given(st.sampled_from([BIRCH, BASSWOOD, MDF]), st.floats(0.0, 1.6))
def test_the_board_bears_just_so_many(stock, used: float) -> None:
    """Limits are two thirds of strength: at ``folds`` the share left still reaches the load, one more does not."""
    folds = folds_borne(stock, used)
    assert folds is not None and 0 <= folds <= MOST_FOLDS
    share = used * 2 / 3
    if folds:
        left = after_folds(stock, folds)
        assert left is not None and left >= share - 1e-6
    if folds < MOST_FOLDS:
        after = after_folds(stock, folds + 1)
        assert after is not None and after < share + 1e-6


def test_a_hinge_at_its_limit_and_one_that_breaks() -> None:
    assert folds_borne(BIRCH, 1.0) == MOST_FOLDS  # 10^(1 / 3 / 0.05) is 4.6 million, more than was ever tried
    assert folds_borne(MDF, 1.0) == 5054  # 10^(1 / 3 / 0.09) = 10^3.70370
    assert folds_borne(BIRCH, 1.6) == 0
    assert "analogy" in ANALOGY


@pytest.mark.parametrize("folds", [0, -3])
def test_no_folds_are_no_question(folds: int) -> None:
    with pytest.raises(BadSettingError, match=f"folds is {folds}"):
        after_folds(BIRCH, folds)
    with pytest.raises(BadSettingError, match="share of the limit"):
        folds_borne(BIRCH, -0.1)
