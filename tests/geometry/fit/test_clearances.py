"""What real boards do to a joint: ends of intervals against brute force, shares against closed forms and scipy."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
import scipy.integrate
import scipy.stats
from stowfold.geometry.board.calibration import Calibration, calibrated
from stowfold.geometry.board.lattice import lattice
from stowfold.geometry.board.lattice_design import design_lattice
from stowfold.geometry.board.spread import kerf_drift, thickness_spread
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.fit.assess import assess
from stowfold.geometry.fit.clearances import Clearance, JointKind, LatticeCloses, LatticeHolds, Term
from stowfold.geometry.fit.draws import Draws
from stowfold.geometry.fit.ranges import Cause, Measured, range_of

STOCKS = read_stocks()
BIRCH = find_stock("birch-plywood-3", STOCKS)
ALL = {stock.name: stock for stock in STOCKS}
ONE = {BIRCH.name: BIRCH}

SLOT = Clearance(
    JointKind.TAB_ACROSS,
    ("W1", "F1"),
    0.2,
    (Term(Cause.KERF, BIRCH.name, 1.0), Term(Cause.TAPER, BIRCH.name, -0.5), Term(Cause.THICKNESS, BIRCH.name, -1.0)),
    features=2,
)


def test_plywood_is_as_thick_as_its_standard_lets_it_be():
    """EN 315, sanded plywood (from memory): +(0.2 + 0.03 t), -(0.4 + 0.03 t)."""
    under, over = thickness_spread(BIRCH)
    assert (under, over) == pytest.approx((-(0.4 + 0.03 * 3.0), 0.2 + 0.03 * 3.0))
    measured = replace(BIRCH, calibration="calibrated", measured=("thickness", "kerf"))
    # a coupon that measured the hinge alone says nothing of thickness and kerf
    bent = calibrated(BIRCH, Calibration("2026-11-27", "1", shear_limit=2.3))
    assert thickness_spread(bent) == thickness_spread(BIRCH) and kerf_drift(bent) == kerf_drift(BIRCH)
    assert range_of(Cause.THICKNESS, bent) == range_of(Cause.THICKNESS, BIRCH)
    assert thickness_spread(measured)[1] < over and kerf_drift(measured) < kerf_drift(BIRCH)


def test_the_ends_are_those_of_every_corner_of_the_box():
    """Brute force over all combinations of ends; both places at their worst only take away."""
    ranges = [range_of(term.cause, BIRCH) for term in SLOT.terms]
    corners = [
        0.2 + sum(term.share * value for term, value in zip(SLOT.terms, values, strict=True))
        for values in itertools.product(*((spread.least, spread.most) for spread in ranges))
    ]
    place = range_of(Cause.PLACE, BIRCH).most
    assert SLOT.ends(ONE) == pytest.approx((min(corners) - 2 * place, max(corners)))


def test_shares_of_an_even_spread_are_a_length_over_a_length():
    """A slot that only the thickness changes: the share is the part of the range in which the tab is thinner."""
    under, over = thickness_spread(BIRCH)
    for play in (0.0, 0.1, 0.2):
        only = Clearance(JointKind.TAB_ACROSS, ("W1", "F1"), play, (Term(Cause.THICKNESS, BIRCH.name, -1.0),))
        expected = (play - under) / (over - under)
        assert assess([only], ONE).share == pytest.approx(expected, abs=0.012)  # 2.5 standard errors of 10,000 draws


def test_shares_of_measured_boards_follow_scipys_cut_normal():
    """A cut normal spread is clipped at its ends, which leaves the same share below any value between them."""
    within = range_of(Cause.THICKNESS, BIRCH, Measured.THICKNESS)
    drawn = Draws(ONE, measured=Measured.THICKNESS).of(Cause.THICKNESS, BIRCH.name)
    for at in (-0.04, 0.0, 0.03):
        expected = scipy.stats.norm.cdf(at, (within.least + within.most) / 2, within.spread)
        assert np.mean(drawn <= at) == pytest.approx(expected, abs=0.012)
    assert drawn.min() >= np.float32(within.least) and drawn.max() <= np.float32(within.most)


def test_ten_thousand_builds_tell_what_a_hundred_thousand_tell():
    few, many = SLOT.drawn(Draws(ONE)), SLOT.drawn(Draws(ONE, count=100_000))
    assert np.mean(few >= 0.0) == pytest.approx(np.mean(many >= 0.0), abs=0.012)
    assert many.min() >= SLOT.ends(ONE)[0] - 1e-6 and many.max() <= SLOT.ends(ONE)[1] + 1e-6


def test_a_sum_of_two_even_spreads_is_scipys():
    """Kerf and thickness: the share is an area under the product of two even densities, integrated by scipy."""
    joint = Clearance(
        JointKind.TAB_ACROSS,
        ("W1", "F1"),
        0.1,
        (Term(Cause.KERF, BIRCH.name, 1.0), Term(Cause.THICKNESS, BIRCH.name, -1.0)),
    )
    kerf = scipy.stats.uniform(-kerf_drift(BIRCH), 2 * kerf_drift(BIRCH))
    under, over = thickness_spread(BIRCH)
    thickness = scipy.stats.uniform(under, over - under)
    expected, _ = scipy.integrate.quad(
        lambda k: kerf.pdf(k) * thickness.cdf(0.1 + k), -kerf_drift(BIRCH), kerf_drift(BIRCH)
    )
    assert assess([joint], ONE).share == pytest.approx(expected, abs=0.012)


@pytest.mark.parametrize("stock", STOCKS, ids=lambda stock: stock.name)
@pytest.mark.parametrize("degrees", [46.0, 90.0])
def test_extremes_of_a_lattice_lie_at_corners_of_thickness_and_kerf(stock, degrees):
    """A grid of 9 x 9 over both ranges, each lattice worked out on its own, finds nothing beyond the corners."""
    made = design_lattice(stock, angle=math.radians(degrees), axis_length=62.0)
    under, over = thickness_spread(stock)
    drift = kerf_drift(stock)
    closing, holding = [], []
    for t, k in itertools.product(np.linspace(under, over, 9), np.linspace(-drift, drift, 9)):
        real = lattice(
            replace(stock, thickness=stock.thickness + t),
            angle=made.angle,
            axis_length=made.axis_length,
            link_width=made.link_width - k,
            opening=made.opening + k,
            links=made.links,
            slits=made.slits,
            bridge=made.bridge - k,
            edge_bridge=made.edge_bridge - k / 2,
        )
        closing.append(9.0 if real.contact_twist is None else min(real.contact_twist / real.twist, 10.0) - 1.0)
        holding.append(1.5 * min(stock.shear_limit / real.held_shear, stock.cross_tension / real.held_bridge_stress))
    closes = LatticeCloses(("W1",), made, stock.name)
    assert closes.ends(ALL) == pytest.approx((min(closing), max(closing)))
    weak, strong = range_of(Cause.STRENGTH, stock).least, range_of(Cause.STRENGTH, stock).most
    holds = LatticeHolds(("W1",), made, stock)
    assert holds.ends(ALL) == pytest.approx(
        (min(holding) * (1 + weak) - 1, max(holding) * (1 + strong) - 1), rel=1e-3, abs=1e-3
    )
    draws = Draws(ALL)
    for joint in (closes, holds):
        drawn = joint.drawn(draws)
        low, high = joint.ends(ALL)
        assert low - 1e-3 <= drawn.min() and drawn.max() <= high + 1e-3


@pytest.mark.parametrize("stock", STOCKS, ids=lambda stock: stock.name)
@pytest.mark.parametrize("degrees", [30.0, 60.0, 90.0])
def test_designed_hinges_bend_before_their_slits_close_in_every_build(stock, degrees):
    """At every corner of the board's tolerance and of kerf +- 0.05, so that nothing between them closes either."""
    made = design_lattice(stock, angle=math.radians(degrees), axis_length=62.0)
    assert LatticeCloses(("W1",), made, stock.name).ends(ALL)[0] >= -1e-9


def test_a_cure_is_named_that_cures():
    """What the sentence advises is tried: with so much more play nearly every build goes together."""
    tight = replace(SLOT, drawn_as=0.05)
    (finding,) = assess([tight], ONE).findings
    assert finding.code == "joint-fit"
    assert "goes together in" in finding.message
    more = float(finding.message.split("give it ")[1].split(" mm")[0])
    assert assess([replace(tight, drawn_as=0.05 + more)], ONE).share >= 0.985
    assert not assess([replace(tight, drawn_as=0.05 + more)], ONE).findings


def test_measuring_is_advised_where_it_is_enough():
    joint = Clearance(JointKind.RING_ACROSS, ("L1-ring",), 0.3, (Term(Cause.THICKNESS, BIRCH.name, -2.0),))
    fit = assess([joint], ONE)
    (finding,) = fit.findings
    assert "measure the board first (then 100)" in finding.message
    assert dict(fit.measured)[Measured.THICKNESS] == 1.0 > fit.share
    assert assess([joint], {BIRCH.name: replace(BIRCH, measured=("thickness", "kerf"))}).share == 1.0


def test_the_same_builds_are_drawn_whatever_is_asked_first():
    first, second = Draws(ALL), Draws(ALL)
    second.of(Cause.PAINT, BIRCH.name)
    second.places("another", 3)
    assert np.array_equal(SLOT.drawn(first), SLOT.drawn(second))
    assert not np.array_equal(first.of(Cause.THICKNESS, BIRCH.name), first.of(Cause.THICKNESS, "mdf-3"))


def test_nothing_to_join_has_no_share():
    assert assess([], ONE).share is None
