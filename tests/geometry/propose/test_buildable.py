"""Sizes of walls that no board takes are refused in a sentence, and what the sentence advises is taken."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest
from stowfold.geometry.board.stock import read_stocks
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.plan.walls import PlanKind, block_out, outline_of
from stowfold.geometry.propose.buildable import refuse_unbuildable_walls, refuse_unparted_walls
from stowfold.geometry.settings import BuildSettings, JoinerSettings
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import make_solid
from stowfold.geometry.unfold.section import unfold
from stowfold.geometry.unfold.section_checks import short_sides
from stowfold.geometry.unfold.setbacks import find_setbacks, least_axis

SQUARE = 25.4
BOARDS = {stock.name: stock for stock in read_stocks()}


def settings_for(name):
    board = BOARDS[name]
    return BuildSettings(board, board, board, board)


def facets_of(kind, *, breaks=(), height=62.0, **sizes):
    block = block_out(outline_of(kind, square=SQUARE, **sizes), height=height, breaks=breaks)
    return find_facets(make_solid(block.points, block.faces, roles=dict(block.roles)))


@pytest.mark.parametrize("name", sorted(BOARDS))
def test_walls_as_high_as_advised_bend_without_a_warning_and_lower_ones_do_not(name):
    settings = settings_for(name)
    sizes = {"length": 16, "width": 16, "breaks": ((203.2, 0.0),)}
    with pytest.raises(BadSettingError, match="too low for their corners") as said:
        refuse_unbuildable_walls(facets_of(PlanKind.RECTANGLE, height=6.0, **sizes), settings, square=SQUARE)
    least = float(re.search(r"at least (\d+) mm", str(said.value))[1])
    for height, fine in ((least, True), (least - 1.0, False)):
        # judged by the findings of the sections, which know nothing of the advice
        found = unfold(facets_of(PlanKind.RECTANGLE, height=height, **sizes), settings).findings
        strained = {"lattice-too-short", "link-over-stressed", "bridge-over-stressed", "slit-contact"}
        assert (
            not strained & {finding.code for finding in found}
            if fine
            else strained & {finding.code for finding in found}
        )


def test_the_advised_axis_grows_with_the_angle():
    settings = settings_for("birch-plywood-3")
    axes = [least_axis(settings.walls, math.radians(angle), settings.hinge) for angle in (30.0, 60.0, 90.0)]
    assert axes == sorted(axes)


def test_a_wall_between_two_corners_is_as_long_as_advised():
    settings = settings_for("mdf-3")
    with pytest.raises(BadSettingError, match=r"A wall is 12\.7 mm long") as said:
        refuse_unbuildable_walls(facets_of(PlanKind.T, length=8, width=8, bar=3, wing=7), settings, square=SQUARE)
    squares = float(re.search(r"at least ([\d.]+) squares", str(said.value))[1])
    # a wing narrower by twice as much leaves so long a wall on either side of it
    facets = facets_of(PlanKind.T, length=8, width=8, bar=3, wing=8 - 2 * squares)
    refuse_unbuildable_walls(facets, settings, square=SQUARE)


def test_between_two_bends_one_link_of_board_stays():
    settings = settings_for("birch-plywood-3")

    def short(step):
        facets = facets_of(PlanKind.L, length=8, width=8, bar=8 - step / SQUARE, wing=4)
        bent = [edge.id for edge in facets.edges if edge.angle]
        setbacks = find_setbacks(facets, bent, settings)
        return [side for facet in setbacks.facets.values() for side in short_sides(setbacks.lattices, facet)], setbacks

    found, setbacks = short(15.0)
    least = max(entry[2] for entry in found)
    convex, hollow = (next(b for b in setbacks.bends.values() if (b.angle > 0) == outward) for outward in (True, False))
    made = next(iter(setbacks.lattices.values()))
    assert least == pytest.approx(convex.setback + hollow.setback + made.link_width + made.opening, abs=0.5)
    assert not short(least + 0.01)[0]
    assert short(least - 0.01)[0]


def test_why_no_break_is_found_is_said_with_what_a_joiner_needs():
    settings = settings_for("birch-plywood-3")
    small = facets_of(PlanKind.RECTANGLE, length=2, width=2)
    with pytest.raises(BadSettingError, match=r"A joiner needs 28\.5 mm of straight wall"):
        refuse_unparted_walls(small, settings, longest=594.0)
    narrow = replace(settings, joiner=JoinerSettings(core_width=6.0, cheek_width=20.0))
    with pytest.raises(BadSettingError, match="within the 594 mm"):
        refuse_unparted_walls(small, narrow, longest=594.0)
