"""The solver of hinges: nothing narrower is feasible, wishes are kept, and what cannot be kept is said."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import replace

import pytest
from slow_cases import one_quick
from stowfold.geometry.board.hinge import HingeSolution, check_hinge, solve_hinge
from stowfold.geometry.board.lattice import Lattice, lattice
from stowfold.geometry.board.limits import Limit, hinge_limits, zone_width
from stowfold.geometry.board.spread import thickness_spread
from stowfold.geometry.board.stock import Stock, find_stock, read_stocks
from stowfold.geometry.board.wishes import Cut, HingeWishes
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.findings import Location, Severity

STOCKS = read_stocks()
BIRCH = find_stock("birch-plywood-3", STOCKS)
BASSWOOD = find_stock("basswood-3.2", STOCKS)
ACRYLIC = replace(find_stock("cast-acrylic-3", STOCKS), bridge=3.0)
THREE_MM = replace(BASSWOOD, thickness=3.0, bridge=3.0, shear_limit=4.5)
RIGHT_ANGLE = math.pi / 2
WALL = 76.2  # three inches
HERE = Location(edges=(7,))


def _keeps(made: Lattice, stock: Stock, margin: float) -> bool:
    """Whether a lattice keeps every limit, written out once more in plain words."""
    return _links_needed(made, stock, margin) <= made.links and _may_be_cut(made, stock)


def _used(made: Lattice) -> float:
    """Return the greatest share of a limit that is used."""
    contact = 0.0 if made.contact_twist is None else made.twist / made.contact_twist
    return max(made.held_shear / made.shear_limit, made.held_bridge_stress / made.bridge_limit, contact)


def _links_needed(made: Lattice, stock: Stock, margin: float) -> float:
    """Return how many links bear the bend: torsion, bending and contact all fall in line with their number.

    With a margin the bend is also worked out with a kerf 0.05 mm narrower, in the thinnest and the thickest board.
    """
    used = _used(made) / (1.0 - margin)
    for more in thickness_spread(stock) if margin > 0.0 else ():
        real = lattice(
            replace(stock, thickness=stock.thickness + more),
            angle=made.angle,
            axis_length=made.axis_length,
            link_width=made.link_width + 0.05,
            opening=max(made.opening - 0.05, 0.01),
            links=made.links,
            slits=made.slits,
            bridge=made.bridge + 0.05,
            edge_bridge=made.edge_bridge + 0.025,
        )
        used = max(used, _used(real))
    return max(made.links * used, made.angle * (0.5 + made.thickness / 2) / made.pitch) - 1e-4


def _may_be_cut(made: Lattice, stock: Stock) -> bool:
    return (
        made.link_width >= stock.link_width - 1e-6
        and made.bridge >= stock.bridge - 1e-6
        and made.opening >= stock.kerf - 1e-6
        and made.pitch >= 1.2 - 1e-6
        and made.slit <= 100.0 + 1e-6
    )


def _narrowest_by_loops(stock: Stock, angle: float, axis_length: float, margin: float) -> float:
    """Return the least zone width of all that is tried, by plain loops over every cell and number of links."""
    widths = [round(stock.link_width + step / 10, 6) for step in range(round(stock.link_width * 10) + 1)]
    openings = [stock.kerf, *(step / 20 for step in range(2, 31) if step / 20 >= 2 * stock.kerf - 1e-9)]
    lengths = [stock.bridge + step / 2 for step in range(9) if stock.bridge + step / 2 <= 2 * stock.bridge + 0.25]
    least = math.inf
    for width, opening, bridge, count in itertools.product(widths, openings, lengths, (1, 2)):
        made = lattice(
            stock,
            angle=angle,
            axis_length=axis_length,
            link_width=width,
            opening=opening,
            links=2,
            slits=count,
            bridge=bridge,
        )
        if made.slit > made.bridge and _may_be_cut(made, stock):
            enough = [links for links in range(2, 101, 2) if links >= _links_needed(made, stock, margin)]
            least = min([least, *(links * made.pitch + opening for links in enough[:1])])
    return least


@pytest.mark.parametrize(
    ("stock", "degrees", "axis_length", "margin"),
    one_quick(
        [
            (find_stock("cast-acrylic-3", STOCKS), 90, WALL, 0.1),
            (BASSWOOD, 60, 150.0, 0.0),  # two slits in a row
            (BIRCH, 150, 40.0, 0.2),
            (replace(BASSWOOD, cross_tension=0.5), 90, 62.0, 0.1),  # bridges govern, longer ones are worth it
        ]
    ),
)
def test_nothing_narrower_in_what_is_tried_is_feasible(
    stock: Stock, degrees: float, axis_length: float, margin: float
) -> None:
    found = solve_hinge(stock, angle=math.radians(degrees), axis_length=axis_length, margin=margin)
    least = _narrowest_by_loops(stock, math.radians(degrees), axis_length, margin)
    assert found.holds and _keeps(found.lattice, stock, margin)
    assert found.zone_width == pytest.approx(least, abs=1e-6)


@pytest.mark.parametrize("wishes", [HingeWishes(), HingeWishes(inside_radius=10.0), HingeWishes(cut=Cut.LINE)])
@pytest.mark.parametrize("stock", STOCKS, ids=lambda stock: stock.name)
def test_no_board_is_silently_infeasible(stock: Stock, wishes: HingeWishes) -> None:
    """The corner of a wall of three inches: either every limit holds, or one sentence says which does not."""
    found = solve_hinge(stock, angle=RIGHT_ANGLE, axis_length=WALL, fixed=wishes)
    assert found.holds == all(limit.holds for limit in found.limits)
    assert found.holds == (found.failure is None)
    if not found.holds:
        assert found.nearest is not None
        assert all(limit.holds for limit in hinge_limits(found.nearest, stock, margin=found.margin))


def test_wishes_are_kept() -> None:
    wishes = HingeWishes(pitch=2.0, bridge=4.0, slit=30.0, cut=Cut.SLOT)
    found = solve_hinge(BASSWOOD, angle=RIGHT_ANGLE, axis_length=WALL, fixed=wishes)
    assert found.holds
    assert found.lattice.pitch == pytest.approx(2.0) and found.lattice.bridge == 4.0
    assert found.lattice.slits == 2 and found.lattice.slit == pytest.approx(32.1)  # (76.2 - 3 x 4) / 2
    assert found.lattice.opening > BASSWOOD.kerf
    line = solve_hinge(BASSWOOD, angle=RIGHT_ANGLE, axis_length=WALL, fixed=HingeWishes(cut=Cut.LINE))
    assert line.holds and line.lattice.opening == BASSWOOD.kerf
    both = HingeWishes(link_width=1.1, opening=0.6)
    made = solve_hinge(BASSWOOD, angle=RIGHT_ANGLE, axis_length=WALL, fixed=both).lattice
    assert (made.link_width, made.opening) == (1.1, 0.6)
    assert solve_hinge(
        BASSWOOD, angle=RIGHT_ANGLE, axis_length=WALL, fixed=HingeWishes(link_width=1.1, pitch=1.7)
    ).lattice.opening == pytest.approx(0.6)


def _first_number_after(words: str, text: str) -> float:
    match = re.search(re.escape(words) + r" ([0-9.]+)", text)
    assert match is not None, text
    return float(match.group(1))


@pytest.mark.parametrize("stock", STOCKS, ids=lambda stock: stock.name)
def test_a_radius_out_of_reach_names_the_least_that_holds(stock: Stock) -> None:
    free = solve_hinge(stock, angle=RIGHT_ANGLE, axis_length=WALL).lattice.inside_radius
    found = solve_hinge(stock, angle=RIGHT_ANGLE, axis_length=WALL, fixed=HingeWishes(inside_radius=3.0))
    assert not found.holds and found.lattice.inside_radius <= 3.0
    assert found.failure is not None and found.nearest is not None
    assert "an inside radius of at most 3.0 mm" in found.failure
    least = _first_number_after("; an inside radius of", found.failure)
    assert 3.0 < least <= free + 0.05
    held = solve_hinge(stock, angle=RIGHT_ANGLE, axis_length=WALL, fixed=HingeWishes(inside_radius=least + 0.05))
    assert held.holds
    tighter = HingeWishes(inside_radius=found.nearest.inside_radius - 0.01)
    assert not solve_hinge(stock, angle=RIGHT_ANGLE, axis_length=WALL, fixed=tighter).holds


def test_the_sentence_names_the_limit_that_fails_most_and_by_how_much() -> None:
    found = solve_hinge(BIRCH, angle=RIGHT_ANGLE, axis_length=WALL, fixed=HingeWishes(pitch=1.0))
    first = max(found.limits, key=lambda limit: limit.used / (1 - limit.margin))
    assert found.failure is not None and not first.holds
    assert f"{first.name} is {first.value:.2f} where" in found.failure
    (finding,) = check_hinge(found, HERE)
    assert (finding.code, finding.severity, finding.where) == ("hinge-wish-not-met", Severity.WARNING, HERE)
    assert finding.message == found.failure
    assert check_hinge(solve_hinge(BIRCH, angle=RIGHT_ANGLE, axis_length=WALL), HERE) == ()


@pytest.mark.parametrize("stock", STOCKS, ids=lambda stock: stock.name)
def test_an_axis_too_short_names_the_length_that_is_enough(stock: Stock) -> None:
    for axis_length in (3.0, 9.0):
        found = solve_hinge(stock, angle=RIGHT_ANGLE, axis_length=axis_length)
        assert found.failure is not None and found.nearest is None
        least = _first_number_after("at least", found.failure.split("make the bend")[1].join(("make the bend", "")))
        assert solve_hinge(stock, angle=RIGHT_ANGLE, axis_length=least).holds
        assert not solve_hinge(stock, angle=RIGHT_ANGLE, axis_length=least - 1.01).holds


def test_single_lines_out_of_reach_are_told_of_slots() -> None:
    """Basswood bends to 6 mm with slots; with single lines the slits close long before."""
    wishes = HingeWishes(inside_radius=6.0, cut=Cut.LINE)
    found = solve_hinge(BASSWOOD, angle=RIGHT_ANGLE, axis_length=WALL, fixed=wishes)
    assert found.failure is not None and "slits of one laser pass: slit contact in real boards is" in found.failure
    opening = _first_number_after("or slots of", found.failure)
    slots = HingeWishes(inside_radius=6.0, opening=opening)
    assert solve_hinge(BASSWOOD, angle=RIGHT_ANGLE, axis_length=WALL, fixed=slots).holds
    lines = HingeWishes(inside_radius=_first_number_after("; an inside radius of", found.failure) + 0.05, cut=Cut.LINE)
    assert solve_hinge(BASSWOOD, angle=RIGHT_ANGLE, axis_length=WALL, fixed=lines).holds


def test_several_wishes_that_contradict_the_board_get_a_lattice_that_holds() -> None:
    wishes = HingeWishes(inside_radius=4.0, zone_width=10.0, pitch=1.3, bridge=5.0, slit=30.0)
    found = solve_hinge(BIRCH, angle=RIGHT_ANGLE, axis_length=WALL, fixed=wishes)
    assert found.failure is not None and "no single change helps" in found.failure
    assert found.nearest is not None and _keeps(found.nearest, BIRCH, found.margin)


def test_a_margin_is_kept_back_from_strengths_only() -> None:
    wide = solve_hinge(BIRCH, angle=RIGHT_ANGLE, axis_length=WALL, margin=0.3)
    by_name = {limit.name: limit for limit in wide.limits}
    assert by_name["link torsion"].used <= 0.7 + 1e-6 and by_name["slit contact"].used <= 0.7 + 1e-6
    assert by_name["link width"].margin == 0.0
    assert wide.zone_width >= solve_hinge(BIRCH, angle=RIGHT_ANGLE, axis_length=WALL, margin=0.0).zone_width


def test_limits_count_from_both_sides() -> None:
    most, least = Limit("a", 9.0, 10.0, "mm", ""), Limit("b", 10.0, 9.0, "mm", "", at_least=True)
    assert most.used == least.used == pytest.approx(0.9) and most.holds and least.holds
    assert not replace(most, margin=0.2).holds
    assert Limit("c", -1.0, 0.5, "mm", "", at_least=True).used == math.inf


def test_every_limit_says_what_it_rests_on() -> None:
    for stock in STOCKS:
        assert all(limit.source and limit.source != "stock" for limit in _solved(stock).limits)


def _solved(stock: Stock) -> HingeSolution:
    return solve_hinge(stock, angle=RIGHT_ANGLE, axis_length=WALL, fixed=HingeWishes(inside_radius=10.0))


def test_the_same_question_gets_the_same_answer() -> None:
    wishes = HingeWishes(inside_radius=6.0, zone_width=30.0)  # fails, so that the nearest is looked for too
    first = solve_hinge(BIRCH, angle=RIGHT_ANGLE, axis_length=WALL, fixed=wishes)
    assert all(solve_hinge(BIRCH, angle=RIGHT_ANGLE, axis_length=WALL, fixed=wishes) == first for _ in range(3))


@pytest.mark.parametrize(
    ("wishes", "words"),
    [
        (HingeWishes(pitch=-1.0), "pitch is -1 mm"),
        (HingeWishes(inside_radius=float("nan")), "inside radius is nan"),
        (HingeWishes(pitch=2.0, link_width=1.0, opening=0.5), "rows 1.5 mm apart"),
        (HingeWishes(pitch=1.0, link_width=1.2), "leaves nothing of a pitch"),
        (HingeWishes(opening=0.5, cut=Cut.LINE), "cannot be cut as one pass"),
        (HingeWishes(opening=0.2, cut=Cut.SLOT), "cannot be cut as slots"),
    ],
)
def test_wishes_that_contradict_each_other_are_refused(wishes: HingeWishes, words: str) -> None:
    with pytest.raises(BadSettingError, match=words):
        solve_hinge(BIRCH, angle=RIGHT_ANGLE, axis_length=WALL, fixed=wishes)


def test_a_margin_that_leaves_nothing_is_refused() -> None:
    with pytest.raises(BadSettingError, match="margin is 1"):
        solve_hinge(BIRCH, angle=RIGHT_ANGLE, axis_length=WALL, margin=1.0)


def test_zone_is_the_flat_width_and_one_opening() -> None:
    """Rows are measured between centre lines, the zone to the far side of the outer slits."""
    made = _solved(BIRCH).lattice
    assert zone_width(made) == pytest.approx(made.links * made.pitch + made.opening)


@pytest.mark.parametrize(
    ("stock", "axis_length", "width", "opening", "links", "zone"),
    [
        (THREE_MM, 76.2, 1.2, 0.2, 24, 33.8),  # A: slit contact, 90 / 3.8751
        (THREE_MM, 76.2, 0.8, 0.4, 12, 14.8),  # B: slit contact, 90 / 7.8051
        (ACRYLIC, 100.0, 1.0, 0.5, 18, 27.5),  # C: torsion of the links, 90 / 5.4477 = 16.5, made even
    ],
    ids=["A", "B", "C"],
)
def test_the_worked_examples_are_found_again(
    stock: Stock, axis_length: float, width: float, opening: float, links: int, zone: float
) -> None:
    """The three hinges of test_lattice.py, worked out by hand without a margin: sizes fixed, links asked for."""
    wishes = HingeWishes(link_width=width, opening=opening, bridge=3.0, slit=33.6 if axis_length < 80 else 45.5)
    found = solve_hinge(stock, angle=RIGHT_ANGLE, axis_length=axis_length, fixed=wishes, margin=0.0)
    assert found.holds and found.lattice.slits == 2
    assert found.lattice.links == links
    assert found.zone_width == pytest.approx(zone)
