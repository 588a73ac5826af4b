"""The search for a lattice and what is said about it."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from slow_cases import one_quick
from stowfold.geometry.board.lattice import LARGEST_ANGLE, Lattice, lattice
from stowfold.geometry.board.lattice_checks import check_lattice, check_radii
from stowfold.geometry.board.lattice_design import design_lattice
from stowfold.geometry.board.slits import lay_out_slits
from stowfold.geometry.board.spread import kerf_drift, thickness_spread
from stowfold.geometry.board.stock import Stock, find_stock, read_stocks
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.findings import Finding, Location, Severity

STOCKS = read_stocks()
BIRCH = find_stock("birch-plywood-3", STOCKS)
BASSWOOD = find_stock("basswood-3.2", STOCKS)
RIGHT_ANGLE = math.pi / 2
HERE = Location(edges=(7,))

#: A 25 mm base no longer stands in a square of 25.4 mm whose corner is rounder than this: the circle
#: of radius 12.5 touches an arc of radius r when both have their centres on the diagonal.
BASE_FITS = 13.18


def _codes(findings: tuple[Finding, ...]) -> list[tuple[str, Severity]]:
    return [(finding.code, finding.severity) for finding in findings]


@pytest.mark.parametrize("axis_length", [62.0, 76.0])
@pytest.mark.parametrize("stock", STOCKS, ids=lambda stock: stock.name)
def test_a_right_angle_corner_of_each_stock(stock: Stock, axis_length: float) -> None:
    """Two storeys of wall in every packaged board: nothing beyond a limit, and a base fits the corner."""
    found = design_lattice(stock, angle=RIGHT_ANGLE, axis_length=axis_length)
    assert found.held_shear <= stock.shear_limit
    assert found.held_bridge_stress <= stock.cross_tension
    assert found.contact_twist is None or found.twist <= found.contact_twist
    assert found.slit > found.bridge
    assert found.links % 2 == 0
    assert 0.5 <= found.inside_radius <= BASE_FITS
    findings = check_lattice(found, stock, HERE, wanted=10.0)
    wide = found.inside_radius > 10.0
    assert _codes(findings) == ([("corner-radius-wide", Severity.NOTE)] if wide else [])


@pytest.mark.parametrize("stock", [stock for stock in STOCKS if stock.name in ("basswood-3.2", "cast-acrylic-3")])
def test_ten_millimetres_are_reached_in_the_stronger_boards(stock: Stock) -> None:
    for axis_length in (62.0, 76.0):
        found = design_lattice(stock, angle=RIGHT_ANGLE, axis_length=axis_length, inside_radius=10.0)
        assert found.inside_radius <= 10.0


def _strain(made: Lattice) -> float:
    """Return the worst of what is asked over what is allowed; up to 1 nothing is beyond its limit."""
    contact = 0.0 if made.contact_twist is None else made.twist / made.contact_twist
    least = made.angle * (0.5 + made.thickness / 2) / made.flat_width  # the least inside radius is 0.5
    return max(made.held_shear / made.shear_limit, made.held_bridge_stress / made.bridge_limit, contact, least)


def _worst_strain(made: Lattice, stock: Stock) -> float:
    """Return the worst strain at the four corners of what thickness and kerf may be, each worked out on its own."""
    thin, thick = thickness_spread(stock)
    narrow = -kerf_drift(stock)
    worst = 0.0
    for drift, more in ((narrow, thick), (narrow, thin), (-narrow, thick), (-narrow, thin)):
        bridge, free = made.bridge - drift, (made.slit - made.bridge) / 2 + drift
        real = lattice(
            replace(stock, thickness=stock.thickness + more),
            angle=made.angle,
            axis_length=2 * made.slits * free + (2 * made.slits + 1) * bridge,
            link_width=made.link_width - drift,
            opening=made.opening + drift,
            links=made.links,
            slits=made.slits,
            bridge=bridge,
        )
        contact = 0.0 if real.contact_twist is None else real.twist / real.contact_twist
        worst = max(worst, real.held_shear / real.shear_limit, real.held_bridge_stress / real.bridge_limit, contact)
        if worst > 1.0:
            break
    least = made.angle * (0.5 + made.thickness / 2) / made.flat_width  # the least inside radius is 0.5
    return max(worst, least)


def _searched_by_loops(stock: Stock, angle: float, axis_length: float, wanted: float) -> Lattice:
    """Find the lattice as the search promises, by plain loops over every single one."""
    widths = [round(stock.link_width + step / 10, 6) for step in range(round(stock.link_width * 10) + 1)]
    openings = [stock.kerf, *(step / 20 for step in range(2, 31) if step / 20 >= 2 * stock.kerf - 1e-9)]
    shortest = next(n for n in range(1, 99) if (axis_length - (n + 1) * stock.bridge) / n <= 60)
    counts = [n for n in range(1, shortest + 1) if n == shortest or (axis_length - (n + 1) * stock.bridge) / n <= 100]
    within, beyond = [], []
    for width, opening, count in itertools.product(widths, openings, counts):
        for links in range(2, 101, 2):
            made = lattice(
                stock,
                angle=angle,
                axis_length=axis_length,
                link_width=width,
                opening=opening,
                links=links,
                slits=count,
            )
            if _worst_strain(made, stock) <= 1:
                break
        if _worst_strain(made, stock) > 1 or made.slit <= made.bridge:
            beyond.append((_worst_strain(made, stock), -width, opening, made))
        else:
            within.append(made)
    if not within:
        return min(beyond, key=lambda entry: entry[:3])[3]
    tight = [made for made in within if made.inside_radius <= wanted]
    if not tight:
        return min(within, key=lambda made: made.inside_radius)
    cool = [made for made in tight if made.pitch >= 1.2] or tight
    soon = 1.03 * min(_way_of_the_beam(made, stock) for made in cool)
    good = [made for made in cool if _way_of_the_beam(made, stock) <= soon]
    return min(good, key=lambda made: (round(made.inside_radius, 6), -made.link_width, made.opening))


def _way_of_the_beam(made: Lattice, stock: Stock) -> float:
    """Return how far the beam goes along all slits, from the slits as they are laid out, a pierce as 0.6 mm."""
    layout = lay_out_slits(made)
    slot = made.opening > stock.kerf + 1e-9
    way = 0.0
    for row in range(made.rows):
        here = np.isclose(layout.across, row * made.pitch)
        if row % 2:
            continue
        # rows open at both ends take what closed ones do: the outline cuts what lies beyond the board
        lengths = layout.end[here] - layout.start[here] - stock.kerf
        closed = float((2 * lengths + 2 * (made.opening - stock.kerf) if slot else lengths).sum() + 0.6 * len(lengths))
        way += closed * (2 if row else 1)
    return way


@pytest.mark.parametrize(
    ("stock", "degrees", "axis_length", "wanted"),
    one_quick(
        [
            (BASSWOOD, 90, 62.0, 10.0),
            (BASSWOOD, 60, 150.0, 10.0),  # several numbers of slits are good
            (BIRCH, 90, 76.0, 10.0),  # only slits longer than 60 reach the radius
            (BIRCH, 90, 100.0, 10.0),  # ... and here they would be longer than 100
            (BIRCH, 90, 62.0, 12.0),  # rows closer than 1.2 would need the same number of links
            (BIRCH, 90, 30.0, 10.0),  # the radius is out of reach
            (BIRCH, 90, 9.0, 10.0),  # more than a hundred links would be needed
            (replace(BASSWOOD, cross_tension=0.5), 90, 62.0, 10.0),  # bridges govern
        ]
    ),
)
def test_the_search_finds_what_plain_loops_find(
    stock: Stock, degrees: float, axis_length: float, wanted: float
) -> None:
    angle = math.radians(degrees)
    found = design_lattice(stock, angle=angle, axis_length=axis_length, inside_radius=wanted)
    assert found == _searched_by_loops(stock, angle, axis_length, wanted)


def test_what_is_cut_sooner_wins_whether_lines_or_slots() -> None:
    """Where the radius of birch is free, 19 rows of lines are sooner cut than fewer of slots."""
    free = design_lattice(BIRCH, angle=math.radians(46.2), axis_length=60.0, inside_radius=40.0)
    slots = design_lattice(BIRCH, angle=math.radians(46.2), axis_length=60.0, inside_radius=40.0, opening=0.4)
    assert (free.opening, slots.links < free.links) == (BIRCH.kerf, True)
    assert _way_of_the_beam(free, BIRCH) < _way_of_the_beam(slots, BIRCH)
    # and slots where they are sooner, one long row instead of two short ones
    sooner = design_lattice(BASSWOOD, angle=RIGHT_ANGLE, axis_length=76.2)
    short = design_lattice(BASSWOOD, angle=RIGHT_ANGLE, axis_length=76.2, slits=2)
    assert sooner.opening > BASSWOOD.kerf
    assert _way_of_the_beam(sooner, BASSWOOD) < 0.6 * _way_of_the_beam(short, BASSWOOD)


@settings(deadline=None)
@given(st.sampled_from(STOCKS), st.floats(1e-3, LARGEST_ANGLE), st.floats(0.1, 700.0), st.floats(0.001, 5.0))
def test_a_longer_axis_never_fails(stock: Stock, angle: float, axis_length: float, more: float) -> None:
    for length in (axis_length, axis_length + more):
        found = design_lattice(stock, angle=angle, axis_length=length)
        codes = {finding.code for finding in check_lattice(found, stock, HERE, wanted=10.0)}
        short = found.slit <= found.bridge
        assert ("lattice-too-short" in codes) == short
        if not short:
            assert math.isfinite(found.shear) and math.isfinite(found.moment)
            if not codes & {"link-over-stressed", "bridge-over-stressed", "slit-contact"}:
                assert found.inside_radius >= 0.5 - 1e-9
        layout = lay_out_slits(found)
        assert (layout.end > layout.start).all()
        assert (layout.start >= 0.0).all() and (layout.end <= length + 1e-9).all()


@pytest.mark.parametrize("axis_length", [140.0, 200.0, 300.0, 580.0])
def test_long_axes_keep_slits_that_stay_firm_in_the_hand(axis_length: float) -> None:
    for stock in STOCKS:
        assert design_lattice(stock, angle=RIGHT_ANGLE, axis_length=axis_length).slit <= 100.0


def test_fixed_sizes_stay_and_the_rest_is_solved() -> None:
    found = design_lattice(
        BASSWOOD, angle=RIGHT_ANGLE, axis_length=76.0, link_width=1.1, opening=0.6, slits=1, bridge=4.0
    )
    assert (found.link_width, found.opening, found.slits, found.bridge) == (1.1, 0.6, 1, 4.0)
    assert check_lattice(found, BASSWOOD, HERE) == ()
    few = design_lattice(BASSWOOD, angle=RIGHT_ANGLE, axis_length=76.0, links=2)
    assert few.links == 2
    assert "link-over-stressed" in {finding.code for finding in check_lattice(few, BASSWOOD, HERE)}
    with pytest.raises(BadSettingError, match="3 links"):
        design_lattice(BASSWOOD, angle=RIGHT_ANGLE, axis_length=76.0, links=3)
    with pytest.raises(BadSettingError, match="link of the lattice"):
        design_lattice(BASSWOOD, angle=RIGHT_ANGLE, axis_length=76.0, link_width=-1.0)


@pytest.mark.parametrize("degrees", [0.0, -90.0, 150.1, 180.0, float("nan")])
def test_angles_that_no_edge_has_are_refused(degrees: float) -> None:
    with pytest.raises(BadSettingError, match="degrees"):
        design_lattice(BIRCH, angle=math.radians(degrees), axis_length=62.0)


def test_150_degrees_and_odd_settings() -> None:
    assert design_lattice(BIRCH, angle=math.radians(150), axis_length=76.0).links > 0
    with pytest.raises(BadSettingError, match="inside radius is 0 mm"):
        design_lattice(BIRCH, angle=1.0, axis_length=62.0, inside_radius=0.0)
    with pytest.raises(BadSettingError, match="bend is -1 mm long"):
        design_lattice(BIRCH, angle=1.0, axis_length=-1.0)


def test_a_gentle_bend_is_not_called_wide() -> None:
    """Two links are the least there are; at 3 degrees their radius is naturally large."""
    found = design_lattice(BIRCH, angle=math.radians(3), axis_length=62.0)
    assert found.links == 2 and found.inside_radius > 10.0
    assert check_lattice(found, BIRCH, HERE, wanted=10.0) == ()


def _made(stock: Stock, **change: float) -> tuple[Finding, ...]:
    sizes = {"angle": RIGHT_ANGLE, "axis_length": 76.2, "link_width": 0.8, "opening": 0.4, "links": 12, "slits": 2}
    return check_lattice(lattice(stock, **{**sizes, **change}), stock, HERE)


def test_findings_of_over_stressed_links() -> None:
    """Limits are two thirds of strength: between limit and strength a warning, beyond it an error."""
    assert _codes(_made(BASSWOOD, opening=0.6)) == []
    assert _codes(_made(BASSWOOD, opening=1.5, links=8)) == [("link-over-stressed", Severity.WARNING)]
    findings = _made(BASSWOOD, opening=1.5, links=4)
    assert _codes(findings)[0] == ("link-over-stressed", Severity.ERROR)
    assert findings[0].where is HERE
    assert "At 90 degrees the links in basswood 3.2 mm carry" in findings[0].message
    assert "4.55 MPa is allowed" in findings[0].message


def test_links_are_judged_as_their_bridges_hold_them() -> None:
    """Between the free bar's stress and the held bar's lies the limit that first warns."""
    sizes = {"angle": RIGHT_ANGLE, "axis_length": 76.2, "link_width": 0.8, "opening": 0.6, "links": 12, "slits": 2}
    made = lattice(BASSWOOD, **sizes)
    assert made.shear < made.held_shear
    for limit, said in ((made.held_shear * 1.001, []), (made.held_shear * 0.999, ["link-over-stressed"])):
        stock = replace(BASSWOOD, shear_limit=limit)
        assert [finding.code for finding in check_lattice(lattice(stock, **sizes), stock, HERE)] == said
    assert made.held_shear * 0.999 > made.shear


def test_findings_of_over_stressed_bridges() -> None:
    stock = replace(BASSWOOD, shear_limit=100.0)
    assert _codes(_made(stock, opening=0.6, bridge=1.2)) == [("bridge-over-stressed", Severity.WARNING)]
    assert _codes(_made(stock, opening=0.6, bridge=0.7)) == [("bridge-over-stressed", Severity.ERROR)]


def test_findings_of_slit_contact() -> None:
    findings = _made(BASSWOOD, opening=0.25, links=14)
    assert _codes(findings) == [("slit-contact", Severity.WARNING)]
    rows = int(findings[0].message.split("at least ")[1].split()[0])
    assert _made(BASSWOOD, opening=0.25, links=rows - 1) == ()
    assert _codes(_made(BASSWOOD, opening=0.25, links=rows - 3)) == [("slit-contact", Severity.WARNING)]


def test_finding_of_a_wide_corner_names_both_radii() -> None:
    found = lattice(BASSWOOD, angle=RIGHT_ANGLE, axis_length=76.2, link_width=1.2, opening=0.2, links=26, slits=2)
    (finding,) = check_lattice(found, BASSWOOD, HERE, wanted=10.0)
    assert (finding.code, finding.severity) == ("corner-radius-wide", Severity.NOTE)
    assert "21.6 mm" in finding.message and "10.0 mm" in finding.message
    assert check_lattice(found, BASSWOOD, HERE) == ()


def test_wide_corners_of_one_board_are_said_once_with_their_count() -> None:
    """Corners of a square tower and a lower wing, and one that is as tight as was asked for."""
    long, short = (
        lattice(BASSWOOD, angle=RIGHT_ANGLE, axis_length=axis, link_width=1.2, opening=0.2, links=links, slits=2)
        for axis, links in ((76.2, 26), (60.0, 20))
    )
    places = [Location(faces=(k,), edges=(10 + k,), source="House") for k in range(4)]
    tight = lattice(BASSWOOD, angle=RIGHT_ANGLE, axis_length=60.0, link_width=1.2, opening=0.2, links=8, slits=2)
    bent = list(zip((long, short, long, tight), places, strict=True))
    (note,) = check_radii(bent, BASSWOOD, wanted=10.0)
    assert note.message.startswith(
        f"3 corners bend to an inside radius of {short.inside_radius:.1f} to {long.inside_radius:.1f} mm where 10.0 mm"
    )
    assert "over 60 to 76 mm" in note.message
    assert note.where.edges == (10, 11, 12)
    assert check_radii(bent[3:], BASSWOOD, wanted=10.0) == ()


@pytest.mark.parametrize("stock", STOCKS, ids=lambda stock: stock.name)
def test_an_axis_shorter_than_one_cell_is_an_error_with_the_least_length(stock: Stock) -> None:
    """Two edge bridges and a slit that is as long as a bridge: three bridges is the limit."""
    least = 3 * stock.bridge
    for axis_length in (0.5, least - 0.01):
        found = design_lattice(stock, angle=RIGHT_ANGLE, axis_length=axis_length)
        assert found.inside_radius >= 0.5 - 1e-9
        (finding,) = check_lattice(found, stock, HERE, wanted=10.0)
        assert (finding.code, finding.severity) == ("lattice-too-short", Severity.ERROR)
        assert f"more than {least:.1f} mm" in finding.message
    longer = design_lattice(stock, angle=RIGHT_ANGLE, axis_length=least + 0.01)
    assert "lattice-too-short" not in {finding.code for finding in check_lattice(longer, stock, HERE)}


def test_fixed_links_that_are_too_few_get_the_sizes_that_bear_them_best() -> None:
    found = design_lattice(BASSWOOD, angle=RIGHT_ANGLE, axis_length=62.0, links=4, inside_radius=1.2)
    others = [
        lattice(
            BASSWOOD,
            angle=RIGHT_ANGLE,
            axis_length=62.0,
            link_width=width / 10,
            opening=opening / 20,
            links=4,
            slits=1,
        )
        for width in range(8, 17)
        for opening in range(5, 31)
    ]
    assert 1.0 < _strain(found) == pytest.approx(min(_strain(other) for other in others))
    assert found.inside_radius > 1.2 > min(other.inside_radius for other in others)
