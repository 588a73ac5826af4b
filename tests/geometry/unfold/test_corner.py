"""Corners: worked examples of sheet-metal handbooks, with the neutral line at half the thickness."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.unfold.corner import bend, parted_setback, setback


@pytest.mark.parametrize(
    ("degrees", "inside", "thickness", "allowance", "outside_setback", "inside_setback", "deduction"),
    [
        # the usual formulae BA = a (r + K t), OSSB = (r + t) tan(a / 2), BD = 2 OSSB - BA, evaluated by hand
        (90, 10.0, 3.0, 18.06416, 13.0, 10.0, 7.93584),
        (45, 20.0, 3.0, 16.88606, 9.52691, 8.28427, 2.16776),
        (90, 9.0, 3.175, 16.63081, 12.175, 9.0, 7.71919),
    ],
)
def test_handbook_formulae(
    degrees: float,
    inside: float,
    thickness: float,
    allowance: float,
    outside_setback: float,
    inside_setback: float,
    deduction: float,
) -> None:
    angle = math.radians(degrees)
    arc = angle * (inside + 0.5 * thickness)
    assert arc == pytest.approx(allowance, abs=1e-5)
    assert bend(angle, flat_width=arc, thickness=thickness).neutral_radius == pytest.approx(inside + thickness / 2)
    assert setback(angle, radius=inside + thickness) == pytest.approx(outside_setback, abs=1e-5)
    assert setback(angle, radius=inside) == pytest.approx(inside_setback, abs=1e-5)
    assert 2 * setback(angle, radius=inside + thickness) - arc == pytest.approx(deduction, abs=1e-5)
    # modelled at the inside, a bend takes the inside setback; modelled at the outside, the outside one
    assert bend(angle, flat_width=arc, thickness=thickness).setback == pytest.approx(inside_setback, abs=1e-5)
    assert bend(-angle, flat_width=arc, thickness=thickness).setback == pytest.approx(outside_setback, abs=1e-5)


def test_worked_loop_of_six_by_four_inches() -> None:
    """Outside 152.4 x 101.6, t 3, r 10, four corners: straights 126.4 and 75.6, total 476.2566 (three ways by hand)."""
    corner = bend(math.radians(-90), flat_width=(math.pi / 2) * 11.5, thickness=3.0)
    assert 152.4 - 2 * corner.setback == pytest.approx(126.4)
    assert 101.6 - 2 * corner.setback == pytest.approx(75.6)
    assert 2 * (152.4 + 101.6) + 4 * corner.gain == pytest.approx(476.25663, abs=1e-5)


@given(st.floats(5, 150), st.floats(1, 6), st.floats(1.0, 4.0))
def test_the_neutral_line_lies_half_a_board_from_either_face(degrees: float, thickness: float, share: float) -> None:
    angle = math.radians(degrees)
    width = share * angle * thickness
    out, back = bend(angle, flat_width=width, thickness=thickness), bend(-angle, flat_width=width, thickness=thickness)
    assert out.neutral_radius == pytest.approx(width / angle)
    assert out.neutral_radius - out.reference_radius == pytest.approx(thickness / 2)
    assert back.reference_radius - back.neutral_radius == pytest.approx(thickness / 2)


def test_parted_edges_meet_at_their_line_or_give_way() -> None:
    assert parted_setback(math.radians(90), thickness=3.0) == 0.0
    # square-cut boards inside a right angle each stop one thickness short
    assert parted_setback(math.radians(-90), thickness=3.0) == pytest.approx(3.0)
    # roof panels on a 12/12 ridge, outer faces modelled: t / tan(dihedral / 2) with a dihedral of 90 degrees
    assert parted_setback(-math.radians(180 - 120), thickness=1.0) == pytest.approx(1 / math.tan(math.radians(60)))


def test_what_cannot_bend_is_refused_in_one_sentence() -> None:
    with pytest.raises(BadSettingError, match=r"151\.0 degrees cannot be a flex corner"):
        bend(math.radians(151), flat_width=30.0, thickness=3.0)
    with pytest.raises(BadSettingError, match=r"at least 2\.36 mm are needed"):
        bend(math.radians(90), flat_width=1.0, thickness=3.0)
