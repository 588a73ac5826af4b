"""Readings into values: closed forms of what was drawn, and made-up boards found again from what they would read."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from stowfold.geometry.board.calibration import Calibration, calibrated
from stowfold.geometry.board.coupon import plan_coupon
from stowfold.geometry.board.lattice import lattice
from stowfold.geometry.board.readings import Broken, Direction, Failed, Fit, Hung, Readings, Stack, calibrate
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import BadSettingError

STOCKS = read_stocks()
BIRCH = find_stock("birch-plywood-3", STOCKS)
BASSWOOD = find_stock("basswood-3.2", STOCKS)
WHO = {"date": "2026-11-25", "batch": "7"}

#: Standard acceleration of gravity, m/s^2 (third General Conference on Weights and Measures, 1901).
GRAVITY = 9.80665


def made(stock, readings, **more):
    return calibrate(stock, plan_coupon(stock), readings, **{**WHO, **more})


def codes(outcome):
    return [finding.code for finding in outcome.findings]


def stacks(x, y=None, slats=10):
    own = [Stack(Direction.X, slats, x)]
    return tuple(own if y is None else [*own, Stack(Direction.Y, slats, y)])


def test_the_kerf_is_what_the_stack_lacks():
    """Ten slats drawn 10.00 wide, stack 98.00: (100 - 98) / 10 = 0.200 (worked by hand)."""
    assert made(BIRCH, Readings(stacks=stacks(98.0))).stock.kerf == pytest.approx(0.2)
    assert made(BIRCH, Readings(stacks=stacks(98.3, 98.3))).stock.kerf == pytest.approx(0.17)
    assert made(BIRCH, Readings(stacks=stacks(88.2, slats=9))).stock.kerf == pytest.approx(0.2)


def test_stacks_read_again_say_how_sure_the_kerf_is():
    lengths = (98.0, 98.1, 98.2)
    outcome = made(BIRCH, Readings(stacks=tuple(Stack(Direction.X, 10, length) for length in lengths)))
    (change,) = outcome.changes
    assert change.after == pytest.approx(0.19)
    assert change.deviation == pytest.approx(np.std(lengths, ddof=1) / math.sqrt(3) / 10)
    assert change.words == "kerf 0.200 → 0.190 ± 0.006 mm"


def test_uneven_kerfs_are_told_from_one_step_of_the_ladder_on():
    assert codes(made(BIRCH, Readings(stacks=stacks(98.0, 98.45)))) == []
    uneven = made(BIRCH, Readings(stacks=stacks(98.0, 98.6)))
    assert codes(uneven) == ["kerf-uneven"]
    assert uneven.stock.kerf == pytest.approx(0.17)


def test_a_fit_is_the_drawn_slot_and_the_kerf_less_the_board():
    readings = Readings(
        thickness=(2.88, 2.92),
        stacks=stacks(98.3),
        slots={Fit.SLIDE: (2.95,), Fit.PRESS: (2.7, 2.8), Fit.GLUE: ()},
    )
    stock = made(BIRCH, readings).stock
    assert stock.thickness == pytest.approx(2.9)
    assert stock.slide == pytest.approx(2.95 + 0.17 - 2.9)
    assert stock.press == pytest.approx(2.75 + 0.17 - 2.9)
    assert stock.glue is None


def hang(stock, plan, rung, mass, *, own=0.0, more=0.0):
    """The angle at which a hinge of this board comes to rest: spring-back = hung moment x cos, by bisection.

    own: moment of the leg's own weight, N mm; more: kerf beyond the drawn one.
    """
    made = plan.rung(rung).lattice
    true = lattice(
        stock,
        angle=1.0,
        axis_length=made.axis_length - more,
        link_width=made.link_width - more,
        opening=made.opening + more,
        links=made.links,
        slits=made.slits,
        bridge=made.bridge - more,
    )
    load = mass * 1e-3 * GRAVITY * plan.arm + own
    low, high = 0.0, math.pi / 2
    for _ in range(80):
        middle = (low + high) / 2
        low, high = (middle, high) if true.moment * middle < load * math.cos(middle) else (low, middle)
    return Hung(rung, mass, plan.arm, low)


@settings(max_examples=10, deadline=None)
@given(st.floats(150.0, 2000.0), st.floats(0.0, 1.5), st.sampled_from(STOCKS))
def test_the_shear_modulus_of_a_made_up_board_is_found_again(modulus, own, stock):
    plan = plan_coupon(stock)
    true = replace(stock, shear_modulus=modulus)
    hung = tuple(hang(true, plan, rung, mass, own=own) for rung in ("H1", "H2") for mass in (0.0, 10.0, 30.0))
    hung = tuple(reading for reading in hung if reading.angle > 0.0)
    outcome = made(stock, Readings(hung=hung))
    assert outcome.stock.shear_modulus == pytest.approx(modulus, rel=1e-6)


def test_hinges_count_as_they_were_cut_not_as_they_were_drawn():
    plan = plan_coupon(BIRCH)
    true = replace(BIRCH, shear_modulus=700.0)
    hung = tuple(hang(true, plan, "H1", mass, own=0.4, more=-0.05) for mass in (0.0, 20.0))
    outcome = made(BIRCH, Readings(stacks=stacks(98.5), hung=hung))
    assert outcome.stock.kerf == pytest.approx(0.15)
    assert outcome.stock.shear_modulus == pytest.approx(700.0, rel=1e-6)
    ignored = made(BIRCH, Readings(hung=hung))
    assert ignored.stock.shear_modulus != pytest.approx(700.0, rel=0.05)


def test_one_weight_alone_is_taken_with_a_word_of_doubt():
    plan = plan_coupon(BIRCH)
    outcome = made(BIRCH, Readings(hung=(hang(BIRCH, plan, "H1", 20.0),)))
    assert outcome.stock.shear_modulus == pytest.approx(BIRCH.shear_modulus, rel=1e-6)
    assert codes(outcome) == ["readings-few"]
    assert outcome.changes[0].deviation is None


def saint_venant(ratio):
    """k_tau of a rectangle, sides in this ratio (series of Timoshenko and Goodier, from memory)."""
    terms = range(1, 60, 2)
    return 1 - 8 / math.pi**2 * sum(1 / (m**2 * math.cosh(m * math.pi * ratio / 2)) for m in terms)


def test_the_shear_limit_is_two_thirds_of_the_stress_at_which_links_broke():
    """tau = k_tau G (angle / M) w / L with H8's printed sizes: 12 links of 1.0, L = (29.85 - 2.1) / 2."""
    outcome = made(BIRCH, Readings(broken=(Broken("H8", math.radians(120.0)),)))
    stress = saint_venant(3.0) * 650.0 * math.radians(120.0) / 12 * 1.0 / ((29.85 - 2.1) / 2)
    assert outcome.stock.shear_limit == pytest.approx(2 / 3 * stress, rel=1e-9)
    assert codes(outcome) == ["readings-few"]


def test_bridges_that_break_set_the_bridge_limit():
    """sigma = 12 T / (b t^2), T = G J angle / (M L), J = 0.2633 t w^3 at t / w = 3 (handbook table, 0.263)."""
    angle = math.radians(120.0)
    outcome = made(BIRCH, Readings(broken=(Broken("H8", angle, Failed.BRIDGE),)))
    torque = 650.0 * 0.2633 * 3.0 * 1.0**3 * angle / 12 / ((29.85 - 2.1) / 2)
    assert outcome.stock.cross_tension == pytest.approx(2 / 3 * 12 * torque / (2.1 * 9.0), rel=1e-3)
    assert outcome.stock.shear_limit == BIRCH.shear_limit


def test_three_broken_hinges_count_by_the_weakest_and_are_enough():
    angles = [math.radians(degrees) for degrees in (130.0, 120.0, 125.0)]
    outcome = made(BIRCH, Readings(broken=tuple(Broken("H8", angle) for angle in angles)))
    alone = made(BIRCH, Readings(broken=(Broken("H8", min(angles)),)))
    assert outcome.stock.shear_limit == pytest.approx(alone.stock.shear_limit)
    assert codes(outcome) == []


def test_slits_that_closed_before_the_break_are_told():
    """Slits of one pass close where w cos a + t sin a = w + k; 12 links of H7 do at 46.4 degrees."""
    assert "slits-closed-first" not in codes(made(BIRCH, Readings(broken=(Broken("H7", math.radians(46.0)),))))
    assert "slits-closed-first" in codes(made(BIRCH, Readings(broken=(Broken("H7", math.radians(47.0)),))))


def test_pieces_across_the_grain_of_solid_wood_are_compared_not_put_in():
    plan = plan_coupon(BASSWOOD)
    soft = replace(BASSWOOD, shear_modulus=150.0)
    across = tuple(hang(soft, plan, "H9", mass) for mass in (5.0, 10.0))
    along = tuple(hang(BASSWOOD, plan, "H1", mass) for mass in (5.0, 10.0))
    outcome = made(BASSWOOD, Readings(hung=(*along, *across)))
    assert outcome.stock.shear_modulus == pytest.approx(BASSWOOD.shear_modulus, rel=1e-6)
    (finding,) = outcome.findings
    assert (finding.code, "150 MPa" in finding.message) == ("grain-across-tested", True)
    with pytest.raises(BadSettingError, match="only on hinges with slits across"):
        made(BASSWOOD, Readings(hung=across))


def test_what_is_read_is_marked_with_date_batch_and_laser():
    outcome = made(BIRCH, Readings(thickness=(2.9,)), machine="shed laser")
    assert outcome.stock.calibration == "calibrated 2026-11-25, batch 7, shed laser: thickness"
    assert calibrated(BIRCH, outcome.calibration) == outcome.stock


def test_a_second_page_of_the_same_batch_adds_to_the_first():
    first = made(BIRCH, Readings(thickness=(2.9,), stacks=stacks(98.3)))
    second = made(BIRCH, Readings(slots={Fit.SLIDE: (2.95,)}), earlier=first.calibration)
    assert second.stock.slide == pytest.approx(2.95 + 0.17 - 2.9)
    assert second.stock.thickness == 2.9
    assert [change.what.name for change in second.changes] == ["slide"]


@pytest.mark.parametrize("other", [{"batch": "8"}, {"machine": "other laser"}])
def test_batches_and_lasers_are_not_mixed(other):
    first = made(BIRCH, Readings(thickness=(2.9,))).calibration
    with pytest.raises(BadSettingError, match="start again"):
        made(BIRCH, Readings(stacks=stacks(98.0)), earlier=first, **other)
    again = made(BIRCH, Readings(stacks=stacks(98.0)), earlier=first, start_anew=True, **other)
    assert again.calibration.thickness is None
    assert again.stock.thickness == BIRCH.thickness


@pytest.mark.parametrize(
    ("readings", "words"),
    [
        (Readings(), "no readings"),
        (Readings(stacks=stacks(100.5)), "cannot be 100.5 mm"),
        (Readings(stacks=stacks(-1.0)), "cannot be -1 mm"),
        (Readings(stacks=stacks(60.0)), "kerf .* less than the thickness"),
        (Readings(thickness=(0.0,)), "thickness .* larger than 0"),
        (Readings(thickness=(float("nan"),)), "thickness"),
        (Readings(slots={Fit.SLIDE: (9.0,)}), "slide fit is 6.2 mm"),
        (Readings(hung=(Hung("H77", 5.0, 35.0, 0.5),)), "no piece 'H77'; it has H1"),
        (Readings(hung=(Hung("H1", -5.0, 35.0, 0.5),)), "mass is 0 or more"),
        (Readings(hung=(Hung("H1", 5.0, 35.0, 1.6),)), "between 0 and 90"),
        (Readings(hung=(Hung("H1", 0.0, 35.0, 0.9), Hung("H1", 20.0, 35.0, 0.2))), "bend less"),
        (Readings(broken=(Broken("H1", 0.0),)), "between 0 and 150"),
    ],
)
def test_readings_that_cannot_be_are_refused_in_one_sentence(readings, words):
    with pytest.raises(BadSettingError, match=words) as caught:
        made(BIRCH, readings)
    assert "\n" not in str(caught.value)


def test_a_batch_needs_a_name():
    with pytest.raises(BadSettingError, match="no name"):
        made(BIRCH, Readings(thickness=(2.9,)), batch=" ")


def test_values_typed_in_by_hand_say_so():
    assert calibrated(BIRCH, Calibration(thickness=2.9, kerf=0.17)).calibration == "thickness and kerf measured"
    assert calibrated(BIRCH, Calibration()) is BIRCH
