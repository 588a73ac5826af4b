"""Saddles: how far boards end short of a slope, by trigonometry and against bodies of another library."""

from __future__ import annotations

import math

import numpy as np
import pytest
from board_solids import standing_solid
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.part import PartKind
from stowfold.geometry.settings import BuildSettings
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Solid
from stowfold.geometry.unfold.saddles import saddle_of, saddle_setback
from stowfold.geometry.unfold.section import unfold
from upstand_samples import EAVES, WIDTH, chimney_body, dormer_body, house_with


@pytest.mark.parametrize("degrees", [15.0, 30.0, 45.0, 60.0])
def test_setbacks_of_an_upright_stack_are_those_of_trigonometry(degrees: float) -> None:
    pitch = math.radians(degrees)
    level = EAVES + 40 * math.tan(pitch)
    facets = find_facets(house_with(pitch, chimney_body((70, 40), (30, 24), level - 40, level + 60)))
    board, roof = 3.0, 4.0
    found = {}
    for facet in facets.facets:
        for edge in facets.edges_of(facet):
            slope = saddle_of(facets, facet, edge)
            if slope is not None:
                name = tuple(np.round(facet.frame.n, 6))
                found[name] = saddle_setback(facets, facet, edge, slope=slope, board=board, roof=roof)
    across = roof / math.cos(pitch)
    assert found == {
        (1.0, 0.0, 0.0): pytest.approx(roof),
        (-1.0, 0.0, 0.0): pytest.approx(roof),
        # the front slope rises along y
        (0.0, -1.0, 0.0): pytest.approx(across),
        (0.0, 1.0, 0.0): pytest.approx(across + board * math.tan(pitch)),
    }


@pytest.mark.parametrize(
    ("degrees", "body"),
    [
        (25.0, chimney_body((70, 40), (30, 24), 60, 160)),
        (40.0, chimney_body((70, 40), (30, 24), 60, 170, turn=0.5)),
        (50.0, chimney_body((70, WIDTH / 2), (40, 36), 100, 220)),
        (40.0, chimney_body((70, WIDTH / 2 - 6), (40, 36), 100, 220)),
        (40.0, dormer_body(120, 25, 60, EAVES + 25 * math.tan(math.radians(40)), 18, math.radians(30), 50)),
        (55.0, dormer_body(120, 15, 40, EAVES + 15 * math.tan(math.radians(55)), 30, math.radians(0), 50)),
    ],
    ids=["chimney", "turned", "over the ridge", "off the ridge", "gabled dormer", "flat dormer"],
)
def test_boards_of_an_upstand_touch_the_roof_and_do_not_enter_it(degrees: float, body: Solid) -> None:
    board = find_stock("birch-plywood-3", read_stocks())
    settings = BuildSettings(board, board, board, board)
    facets = find_facets(house_with(math.radians(degrees), body))
    parts = unfold(facets, settings).parts
    roof = [standing_solid(part) for part in parts if part.kind is PartKind.ROOF]
    shell = next(shell for shell in facets.shells if shell.stands_on)
    own = [part for part in parts if part.panels[0].facet in shell.facets]
    assert len(roof) == 2 and len(own) == len(shell.facets)
    standing = 0
    for part in own:
        solid = standing_solid(part)
        for slope in roof:
            # bodies are in single precision: a layer of 1e-4 mm over a board's foot
            assert (solid ^ slope).volume() < 1e-4 * part.area
        gap = min(solid.min_gap(slope, 100.0) for slope in roof)
        facet = facets.facets[part.panels[0].facet]
        if any(saddle_of(facets, facet, edge) is not None for edge in facets.edges_of(facet)):
            standing += 1
            assert gap < 1e-3
    assert standing >= 3
