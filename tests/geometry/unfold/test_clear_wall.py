"""Breaks keep clear of bends in the top of a wall, where a strip of it would be a sliver."""

from __future__ import annotations

import math

import numpy as np
import pytest
from drawn_meshes import Drawing, Variant, draw_solid
from hooded_roofs import Roof, eave_plane, plane_hood
from house_walls import wall_faces
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.settings import BuildSettings
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.unfold.clear_wall import clear_stretches
from stowfold.geometry.unfold.setbacks import find_setbacks

LONG, WIDE, HEIGHT, INSET = 200.0, 160.0, 60.0, 30.0
STEEP, FLAT = math.tan(math.radians(50.0)), math.tan(math.radians(25.0))


def test_a_stretch_for_breaks_keeps_clear_of_the_knees_of_a_gambrel() -> None:
    board = find_stock("birch-plywood-3", read_stocks())
    knee = HEIGHT + INSET * STEEP
    planes = [
        eave_plane((0, inset), (LONG, inset), height, slope)
        for inset, height, slope in ((0, HEIGHT, STEEP), (INSET, knee, FLAT))
    ]
    planes += [
        eave_plane((LONG, WIDE - inset), (0, WIDE - inset), height, slope)
        for inset, height, slope in ((0, HEIGHT, STEEP), (INSET, knee, FLAT))
    ]
    plan = np.array([(0.0, 0.0), (LONG, 0.0), (LONG, WIDE), (0.0, WIDE)])
    walls = Drawing("gambrel", [list(wall_faces(Roof((plane_hood(planes),)).tops(plan), {}))])
    variant = Variant(False, False, 0.0, 0.0, (0.0, 0.0))
    facets = find_facets(draw_solid(walls, variant, np.random.default_rng(0), source="gambrel"))
    setbacks = find_setbacks(facets, [], BuildSettings(board, board, board, board))
    end = next(facet for facet in facets.facets if abs(facet.frame.n[0]) > 0.9)
    outline = facets.ring(end)
    reach = 12.0
    knees = [outline[:, 0].min() + INSET, outline[:, 0].max() - INSET]
    stretches = clear_stretches(setbacks.facets[end.id], outline, reach)
    assert stretches
    for low, high in stretches:
        assert all(high <= at - reach + 1e-3 or low >= at + reach - 1e-3 for at in knees)
    free = WIDE - 2 * reach - 2 * 2 * reach - 2 * 2 * reach  # its ends, its knees, its apex twice as far
    assert sum(high - low for low, high in stretches) == pytest.approx(free, abs=1.0)
