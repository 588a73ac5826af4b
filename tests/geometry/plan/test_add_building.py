"""Every building of the menu is cut as it is added: a sample of the sweep in ``tests/sweep/add_building.py``."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace

import add_building as sweep
import numpy as np
import pytest
from slow_cases import one_quick
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.flow.added import Earlier, add_building, as_solid, rebuild_building, try_building
from stowfold.geometry.flow.unfolding import propose
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.plan.sizes import BuildingSizes, lay_out_building, read_corners
from stowfold.geometry.plan.walls import PlanKind, Roof, RoofKind
from stowfold.geometry.solid.solid import Role

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH)
SQUARE = SETTINGS.square

#: What a building may be warned about as it was added, and why that is right.
#: Solid wood is cut either way; the maker may ask for slits along the grain. Where bends and a joiner take all of a
#: short wall, no stop finds room beside it.
WARNINGS = {"grain-across-links", "stop-shallow"}


def rectangle(length, width, kind, degrees, overhang):
    return BuildingSizes(PlanKind.RECTANGLE, length, width, roof=Roof(kind, math.radians(degrees), overhang))


SAMPLE = [
    # stops without area on a rake; stops in a hip's lattice; a ridge too short to bend; slopes larger than a sheet
    ("birch-plywood-3", rectangle(6, 6, RoofKind.GABLE, 40.0, 6.0)),
    ("basswood-3.2", rectangle(11, 3, RoofKind.HIP, 55.0, 1.0)),
    ("mdf-3", rectangle(10, 9, RoofKind.HIP, 45.0, 15.0)),
    ("grey-board-2", rectangle(8, 7, RoofKind.HIP, 55.0, 15.0)),
    # lattices that shorten each other in turn
    ("mdf-3", rectangle(3, 8, RoofKind.HIP, 33.69, 6.0)),
    ("cast-acrylic-3", rectangle(3, 3, RoofKind.GABLE, 20.0, 1.0)),
    ("birch-plywood-3", rectangle(5, 5, RoofKind.HIP, 55.0, 15.0)),
    ("grey-board-2", BuildingSizes(PlanKind.U, 9, 7, bar=3, wing=2)),
    ("cast-acrylic-3", BuildingSizes(PlanKind.T, 9, 7, bar=3, wing=3)),
    ("basswood-3.2", BuildingSizes(None, corners=((0, 0), (8, 0), (8, 3), (4, 3), (4, 7), (0, 7)))),
    # the rim of a joiner beside the rim of a bend
    ("basswood-3.2", BuildingSizes(PlanKind.U, 10, 11, bar=1, wing=3)),
    # stops that leave a closure no room
    ("grey-board-2", rectangle(3, 4, RoofKind.HIP, 45.0, 6.0)),
    # hips, valleys and gables of wings
    ("birch-plywood-3", BuildingSizes(PlanKind.L, 9, 7, bar=3, wing=4, roof=Roof(RoofKind.GABLE))),
    ("grey-board-2", BuildingSizes(PlanKind.T, 9, 7, bar=3, wing=3, roof=Roof(RoofKind.HIP))),
    ("mdf-3", BuildingSizes(None, corners=((0, 0), (8, 0), (9, 5), (1, 6)), roof=Roof(RoofKind.GAMBREL))),
    ("birch-plywood-3", sweep.Tower(6, 4.0, 60.0)),
    ("mdf-3", sweep.Tower(5, 6.0, 70.0)),
]


@pytest.mark.parametrize(
    ("stock", "asked"), one_quick(SAMPLE), ids=[str(sweep.Case(asked, stock)) for stock, asked in SAMPLE]
)
def test_a_building_is_cut_as_it_was_added(stock, asked):
    seen = sweep.look_at(sweep.Case(asked, stock))
    assert (seen.told, seen.crash) == ("", "")
    assert [message for _, severity, message in seen.findings if severity == "error"] == []
    assert {code for code, severity, _ in seen.findings if severity == "warning"} <= WARNINGS
    assert not seen.has_roof or seen.stops >= 2


@pytest.mark.slow
def test_the_sweep_holds_every_plan_roof_and_board_of_the_menu():
    cases = list(sweep.cases())
    asked = [case.asked for case in cases if isinstance(case.asked, BuildingSizes)]
    assert {sizes.plan for sizes in asked} == {*PlanKind, None}
    assert {sizes.roof.kind for sizes in asked} == set(RoofKind)
    # nobody builds walls of the thin board for trim
    assert {case.stock for case in cases} == {stock.name for stock in read_stocks() if stock.thickness >= 2.0}
    assert len(set(map(str, cases))) == len(cases)


def test_breaks_are_those_that_would_be_proposed():
    sizes = BuildingSizes(PlanKind.RECTANGLE, 12, 8)
    bare = as_solid(lay_out_building(sizes, square=SQUARE))
    proposed = propose(bare, replace(SETTINGS, propose=Proposal.BREAKS))
    wanted = sorted(tuple(cut.point[:2].round(3)) for cut in proposed.cuts)
    block = add_building(sizes, SETTINGS)
    breaks = [pair for pair, role in block.roles if role is Role.BREAK]
    assert sorted(tuple(block.points[a][:2].round(3)) for a, _ in breaks) == wanted
    assert wanted


def test_walls_too_narrow_for_a_joiner_part_at_a_corner_that_the_maker_may_choose():
    sizes = BuildingSizes(PlanKind.ROUND, 5, sides=12)
    block = add_building(sizes, SETTINGS)
    roles = dict(block.roles)
    assert Counter(roles.values()) == {Role.FLEX: 11, Role.CLOSURE: 1}
    rebuilt = rebuild_building(sizes, SETTINGS, earlier(block, block.roles))
    assert rebuilt.block.roles == block.roles == rebuilt.made
    # the maker wants that corner to bend and another one to part
    parted = next(pair for pair, role in block.roles if role is Role.CLOSURE)
    other = next(pair for pair in roles if pair != parted)
    by_hand = {parted: Role.FLEX, other: Role.CLOSURE}
    rebuilt = rebuild_building(sizes, SETTINGS, earlier(block, block.roles, by_hand.items()))
    assert dict(rebuilt.block.roles) == roles | by_hand
    assert rebuilt.kept == 2


def test_walls_too_short_for_two_bends_part_at_corners():
    """The wings of this T leave half a square of wall on either side of it, where two bends find no room."""
    trial = try_building(BuildingSizes(PlanKind.T, 8, 7, bar=3, wing=7), SETTINGS)
    assert not trial.errors
    assert {role for _, role in trial.block.roles} == {Role.FLEX, Role.CLOSURE}
    feet = [trial.block.points[foot][:2] / 25.4 for (foot, _), role in trial.block.roles if role is Role.CLOSURE]
    # every parted corner is an end of one of the two short walls
    assert all(round(float(y), 3) == 3.0 and min(x, 8.0 - x) < 0.6 for x, y in feet)


def earlier(block, made, by_hand=()):
    """Return the marks of a block-out as its mesh holds them, some of them changed by hand."""
    roles = dict(block.roles) | dict(by_hand)
    edges = sorted({*roles, *dict(made)})
    return Earlier(
        block.points,
        np.array(edges).reshape(-1, 2),
        tuple(roles.get(edge, Role.PLAIN) for edge in edges),
        tuple(dict(made).get(edge, Role.PLAIN) for edge in edges),
    )


@pytest.mark.slow
def test_what_nobody_changed_is_the_same_after_rebuilding():
    sizes = rectangle(9, 6, RoofKind.HIP, 33.69, 6.0)
    block = add_building(sizes, SETTINGS)
    rebuilt = rebuild_building(sizes, SETTINGS, earlier(block, block.roles))
    assert np.array_equal(rebuilt.block.points, block.points)
    assert rebuilt.block.roles == block.roles == rebuilt.made
    assert (rebuilt.kept, rebuilt.lost) == (0, 0)


def test_rebuilding_keeps_what_the_maker_decided_and_only_that():
    small, large = (rectangle(length, 6, RoofKind.GABLE, 33.69, 6.0) for length in (8, 12))
    block = add_building(small, SETTINGS)
    ridge = max(block.roles, key=lambda role: block.points[list(role[0]), 2].min())[0]
    rebuilt = rebuild_building(large, SETTINGS, earlier(block, block.roles, {ridge: Role.CLOSURE}.items()))
    assert (rebuilt.kept, rebuilt.lost) == (1, 0)
    assert [role for _, role in rebuilt.block.roles].count(Role.CLOSURE) == 1
    assert Role.CLOSURE not in dict(rebuilt.made).values()
    again = rebuild_building(large, SETTINGS, earlier(rebuilt.block, rebuilt.made))
    assert again.block.roles == rebuilt.block.roles


@pytest.mark.parametrize(
    ("sizes", "said"),
    one_quick(
        [
            (BuildingSizes(height=6.0), "Walls 6 mm high are too low"),
            (BuildingSizes(PlanKind.L, 8, 7, bar=3, wing=3, roof=Roof(RoofKind.PYRAMID)), "without inner corners"),
            (rectangle(60, 50, RoofKind.HIP, 45.0, 6.0), "A piece of the roof is"),
            (BuildingSizes(height=700.0), r"A piece of the walls is \d+ x \d+ mm"),
            (BuildingSizes(length=800.0), r"The building measures 20320 x 152 x 62 mm, and at most 3000 mm"),
            (rectangle(8, 5, RoofKind.HIP, 84.0, 6.0), r"\(J1-outer\) and Floor 1 .* choose higher walls"),
        ]
    ),
)
def test_what_cannot_be_cut_is_said_in_one_sentence(sizes, said):
    with pytest.raises(BadSettingError, match=said) as error:
        add_building(sizes, SETTINGS)
    assert "\n" not in str(error.value)


@pytest.mark.parametrize("text", ["0,0 a,b", "0,0 1", "0,0 nan,1", "0,0 1,2,3"])
def test_corners_that_are_no_pairs_are_refused(text):
    with pytest.raises(BadSettingError, match="is no corner"):
        read_corners(text)


def test_corners_are_read_with_any_space_between_them():
    assert read_corners(" 0,0;8,0  8,3.5\n") == ((0.0, 0.0), (8.0, 0.0), (8.0, 3.5))
