"""The arithmetic of one lattice and its slits: worked examples, contact, layout."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq
from stowfold.geometry.board.lattice import Lattice, contact_twist, lattice
from stowfold.geometry.board.slits import lay_out_slits
from stowfold.geometry.errors import BadSettingError
from worked_hinges import BASSWOOD, RIGHT_ANGLE, A, B, C

# Values by hand, beside the derivations in worked_hinges.
WORKED = {
    "A": (
        A,
        {"slit": 33.6, "flat_width": 33.6, "inside_radius": 19.8904, "shear": 2.7928, "moment": 12.431},
    ),
    "B": (
        B,
        {"slit": 33.6, "flat_width": 14.4, "inside_radius": 7.6673, "shear": 3.8293, "moment": 8.192},
    ),
    "C": (
        C,
        {"slit": 45.5, "flat_width": 27.0, "inside_radius": 15.6887, "shear": 4.7267, "moment": 15.156},
    ),
}


@pytest.mark.parametrize("example", WORKED)
def test_worked_examples(example: str) -> None:
    found, expected = WORKED[example]
    for field, value in expected.items():
        assert getattr(found, field) == pytest.approx(value, rel=5e-5), field
    assert found.rows == found.links + 1


@pytest.mark.parametrize(("example", "stress"), [("A", 1.3812), ("B", 0.910), ("C", 1.684)])
def test_bridge_stress_of_the_worked_examples(example: str, stress: float) -> None:
    """A bridge is a beam b wide and t thick that carries the torque of the two segments it joins."""
    assert WORKED[example][0].bridge_stress == pytest.approx(stress, abs=6e-4)


def test_held_links_bear_what_their_ends_make_of_them() -> None:
    """Within 1 per cent of what the table of finite elements in DEVELOPERS.md gives for these boards and shapes: free
    bar over elements turned round, times the held bar's own miss."""
    for example, ratio in (("A", 0.985 / 0.937), ("B", 0.976 / 0.870), ("C", 0.985 / 0.991)):
        made = WORKED[example][0]
        assert made.restraint == pytest.approx(ratio, rel=0.011)
        assert made.held_shear / made.shear == pytest.approx(made.restraint)
        assert made.held_moment / made.moment == pytest.approx(made.held_bridge_stress / made.bridge_stress)


def test_short_edge_bridge_can_govern() -> None:
    """An edge bridge carries one segment's torque, so it may be half as long before it governs."""
    sizes = {"angle": RIGHT_ANGLE, "axis_length": 76.2, "link_width": 1.2, "opening": 0.2, "links": 24, "slits": 2}
    half = lattice(BASSWOOD, bridge=3.0, edge_bridge=1.5, **sizes)
    quarter = lattice(BASSWOOD, bridge=3.0, edge_bridge=0.75, **sizes)
    per_torque = half.bridge_stress / (half.moment / (2 * half.slits))
    assert quarter.bridge_stress / (quarter.moment / (2 * quarter.slits)) == pytest.approx(2 * per_torque)
    assert per_torque == pytest.approx(12 / (3.0 * 9.0))


def test_contact_of_square_links_agrees_with_a_published_estimate() -> None:
    """A maker's article of 2012 on the minimum bend radius of 3 mm board with 3 mm links and a kerf of
    0.2 mm gives 23 links and 44 mm of inside radius for a right angle. The radius is that of the polygon
    of strips, pitch / (2 tan(twist / 2)), less half the board."""
    limit = contact_twist(3.0, 0.2, 3.0)
    assert limit is not None
    assert math.degrees(limit) == pytest.approx(3.9596, abs=5e-5)
    assert math.ceil(90 / math.degrees(limit)) == 23
    assert 3.2 / (2 * math.tan(limit / 2)) - 1.5 == pytest.approx(44.785, abs=5e-4)


@pytest.mark.parametrize(("opening", "degrees"), [(0.2, 3.8751), (0.6, 12.0531)])
def test_contact_of_thin_links(opening: float, degrees: float) -> None:
    limit = contact_twist(1.2, opening, 3.0)
    assert limit is not None
    assert math.degrees(limit) == pytest.approx(degrees, abs=5e-5)


@given(st.floats(0.5, 3.0), st.floats(0.1, 1.5), st.floats(1.0, 6.0))
def test_contact_solves_the_closing_equation(width: float, opening: float, thickness: float) -> None:
    """Against scipy's bracketing root finder on the equation itself."""

    def gap(turn: float) -> float:
        return width + opening - width * math.cos(turn) - thickness * math.sin(turn)

    limit = contact_twist(width, opening, thickness)
    most = math.atan2(thickness, width)  # where the corners reach furthest
    if limit is None:
        assert gap(most) >= -1e-9
    elif gap(most) < -1e-9:
        assert limit == pytest.approx(brentq(gap, 0.0, most, xtol=1e-14), abs=1e-9)


def test_wide_slots_never_close() -> None:
    """The diagonal of 1.0 x 3.0 is 3.1623, shorter than a pitch of 3.2."""
    assert contact_twist(1.0, 2.2, 3.0) is None


@given(st.floats(0.5, 2.0), st.floats(0.1, 1.4), st.floats(0.01, 0.5), st.floats(1.5, 6.0))
def test_a_wider_opening_never_raises_the_radius_at_contact(
    width: float, opening: float, more: float, thickness: float
) -> None:
    """Sharpest bend is about thickness (1 + width / opening)."""
    narrow, wide = contact_twist(width, opening, thickness), contact_twist(width, opening + more, thickness)
    if narrow is not None and wide is not None:
        assert (width + opening + more) / wide <= (width + opening) / narrow
    assert wide is None or narrow is not None


@given(st.floats(0.05, math.radians(150)))
def test_moment_grows_in_line_with_the_angle(angle: float) -> None:
    one = lattice(BASSWOOD, angle=angle, axis_length=76.2, link_width=1.2, opening=0.2, links=24, slits=2)
    assert one.moment / angle == pytest.approx(WORKED["A"][0].moment / RIGHT_ANGLE)


def test_layout_of_a_wall_of_three_inches() -> None:
    """Axis 76.2, bridges 3, two full slits: slit 33.6, period 36.6, twisting length 15.3, open end 18.3."""
    layout = lay_out_slits(WORKED["A"][0])
    first = layout.across == 0.0
    second = np.isclose(layout.across, 1.4)
    np.testing.assert_allclose(layout.start[first], [3.0, 39.6])
    np.testing.assert_allclose(layout.end[first], [36.6, 73.2])
    np.testing.assert_allclose(layout.start[second], [0.0, 21.3, 57.9])
    np.testing.assert_allclose(layout.end[second], [18.3, 54.9, 76.2])
    assert layout.open_start[second].tolist() == [True, False, False]
    assert layout.open_end[second].tolist() == [False, False, True]
    assert not layout.open_start[first].any() and not layout.open_end[first].any()
    assert layout.across.max() == pytest.approx(33.6)


@st.composite
def lattices(draw: st.DrawFn) -> Lattice:
    slits = draw(st.integers(1, 8))
    bridge = draw(st.floats(2.0, 6.0))
    edge_bridge = draw(st.floats(1.0, 6.0))
    slit = bridge + draw(st.floats(0.5, 60.0))
    return lattice(
        BASSWOOD,
        angle=draw(st.floats(0.1, 2.6)),
        axis_length=2 * edge_bridge + slits * slit + (slits - 1) * bridge,
        link_width=draw(st.floats(0.8, 2.0)),
        opening=draw(st.floats(0.2, 1.5)),
        links=2 * draw(st.integers(1, 20)),
        slits=slits,
        bridge=bridge,
        edge_bridge=edge_bridge,
    )


@given(lattices())
def test_slits_and_bridges_fill_the_axis_exactly(made: Lattice) -> None:
    layout = lay_out_slits(made)
    for row in range(made.rows):
        here = np.isclose(layout.across, row * made.pitch)
        start, end = layout.start[here], layout.end[here]
        gaps = start[1:] - end[:-1]
        np.testing.assert_allclose(gaps, made.bridge)
        if row % 2:
            assert len(start) == made.slits + 1
            assert start[0] == 0.0 and end[-1] == made.axis_length
            assert layout.open_start[here].sum() == 1 and layout.open_end[here].sum() == 1
        else:
            assert len(start) == made.slits
            assert start[0] == made.edge_bridge
            assert made.axis_length - end[-1] == pytest.approx(made.edge_bridge)


@given(lattices())
def test_layout_is_the_same_from_both_ends_and_both_sides(made: Lattice) -> None:
    layout = lay_out_slits(made)
    places = np.column_stack((layout.across, layout.start, layout.end))
    ends = np.column_stack((layout.across, made.axis_length - layout.end, made.axis_length - layout.start))
    sides = np.column_stack((made.flat_width - layout.across, layout.start, layout.end))
    for other in (ends, sides):
        distance = np.abs(places[:, None, :] - other[None, :, :]).max(axis=2)
        assert distance.min(axis=1).max() < 1e-9
        assert distance.min(axis=0).max() < 1e-9


@given(lattices())
def test_bridges_of_neighbouring_rows_never_face_each_other(made: Lattice) -> None:
    """Where they do the board bends as a plate there and breaks. Links twist over (slit - bridge) / 2."""
    layout = lay_out_slits(made)

    def bridges(row: int) -> list[tuple[float, float]]:
        here = np.isclose(layout.across, row * made.pitch)
        cuts = [0.0, *np.column_stack((layout.start[here], layout.end[here])).ravel(), made.axis_length]
        return [(low, high) for low, high in zip(cuts[::2], cuts[1::2], strict=True) if high - low > 1e-9]

    for low, high in bridges(0):
        for other_low, other_high in bridges(1):
            apart = max(other_low - high, low - other_high)
            assert apart >= (made.slit - made.bridge) / 2 - 1e-9


def test_layout_cannot_be_written_to() -> None:
    layout = lay_out_slits(WORKED["B"][0])
    for column in (layout.across, layout.start, layout.end, layout.open_start, layout.open_end):
        with pytest.raises(ValueError, match="read-only"):
            column[0] = 1


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"links": 11}, "11 links"),
        ({"links": 0}, "0 links"),
        ({"slits": 0}, "0 full slits"),
        ({"link_width": 0.0}, "link of the lattice is 0 mm"),
        ({"opening": -0.1}, "opening of the lattice is -0.1 mm"),
        ({"bridge": 0.0}, "bridge"),
        ({"edge_bridge": float("nan")}, "edge bridge"),
        ({"angle": 0.0}, "bend of 0.0 degrees"),
        ({"angle": math.radians(151)}, "bend of 151.0 degrees"),
        ({"angle": float("nan")}, "bend of nan"),
        ({"axis_length": 0.0}, "bend is 0 mm long"),
        ({"axis_length": float("inf")}, "bend is inf mm long"),
    ],
)
def test_impossible_sizes_are_refused(change: dict[str, float], words: str) -> None:
    sizes = {"angle": 1.0, "axis_length": 76.2, "link_width": 0.8, "opening": 0.4, "links": 12, "slits": 2}
    with pytest.raises(BadSettingError, match=words):
        lattice(BASSWOOD, **{**sizes, **change})
