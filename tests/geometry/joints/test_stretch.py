"""The floor cut again for walls as they were measured, against shapely's affine maps."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from stowfold.geometry.board.stock import read_stocks
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.joints.floor import lay_floor
from stowfold.geometry.joints.floor_outline import walls_outline
from stowfold.geometry.joints.joiner import make_joiners
from stowfold.geometry.joints.stretch import Stretch, outer_size, plan_turn
from stowfold.geometry.plan.walls import block_out
from stowfold.geometry.settings import BuildSettings
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import make_solid
from stowfold.geometry.unfold.section import unfold

STOCK = read_stocks()[0]
SETTINGS = BuildSettings(walls=STOCK, roof=STOCK, floor=STOCK, joiners=STOCK)
LARGE = (2000.0, 2000.0)


def _laid(turn: float = 0.0, standing=None):
    block = block_out([(0, 0), (228.6, 0), (228.6, 152.4), (0, 152.4)], breaks=[(100.0, 0.0), (100.0, 152.4)])
    c, s = math.cos(turn), math.sin(turn)
    points = block.points @ np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
    facets = find_facets(make_solid(points, block.faces, roles=dict(block.roles)))
    sections = unfold(facets, SETTINGS)
    joiners = make_joiners(facets, sections, SETTINGS)
    outline = walls_outline(facets, sections, facets.shells[0].facets, SETTINGS)
    return facets, outline, lay_floor(facets, sections, joiners, SETTINGS, largest=LARGE, standing=standing)


@pytest.mark.parametrize("turn", [0.0, 0.3, -1.2])
def test_the_drawn_size_is_the_room_and_two_boards(turn):
    facets, outline, _ = _laid(turn)
    size = outer_size(outline, plan_turn(facets))
    assert size == pytest.approx((228.6 + 2 * STOCK.thickness, 152.4 + 2 * STOCK.thickness), abs=0.01)


def test_slots_come_to_lie_where_shapely_scales_the_plan_to():
    facets, outline, drawn = _laid()
    size = outer_size(outline, plan_turn(facets))
    standing = (size[0] + 1.2, size[1] - 0.6)
    _, _, again = _laid(standing=standing)
    x0, y0, x1, y1 = outline.bounds
    for before, after in zip(drawn.tabs, again.tabs, strict=True):
        middle = shapely.Polygon(before.slot[:, :2]).centroid
        moved = shapely.affinity.scale(
            middle, standing[0] / size[0], standing[1] / size[1], origin=((x0 + x1) / 2, (y0 + y1) / 2)
        )
        slot = shapely.Polygon(after.slot[:, :2])
        assert slot.centroid.distance(moved) < 1e-9
        assert slot.area == pytest.approx(shapely.Polygon(before.slot[:, :2]).area)
        # the tab went with its slot
        assert np.allclose(after.tab - before.tab, after.slot - before.slot, atol=1e-12)
    grown = np.array(again.parts[0].size) - np.array(drawn.parts[0].size)
    # the outline follows walls and joiners alike, the rim stays
    assert grown == pytest.approx([1.2, -0.6], abs=0.03)


@pytest.mark.parametrize("turn", [0.0, 0.5])
def test_walls_as_drawn_give_the_floor_as_drawn(turn):
    facets, outline, drawn = _laid(turn)
    _, _, again = _laid(turn, outer_size(outline, plan_turn(facets)))
    # the outline is simplified to within a hundredth of a millimetre, 800 mm round
    assert again.parts[0].outline.symmetric_difference(drawn.parts[0].outline).area < 800.0 * 0.01


def test_a_slip_of_the_hand_is_refused_with_both_sizes():
    facets, outline, _ = _laid()
    with pytest.raises(BadSettingError, match="measured length is 324 mm, but the walls are drawn"):
        Stretch.to(outline, plan_turn(facets), (324.0, 158.0))
