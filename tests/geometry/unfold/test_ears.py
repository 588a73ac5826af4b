"""Ears of gables over their bends: what they cover of the modelled gable, by shapely, and where there are none."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from sample_solids import solid_of
from shapely import get_parts
from shapely.geometry import Polygon, box
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.outcome import Settings
from stowfold.geometry.part import PartKind
from stowfold.geometry.unfold.ears import raise_ears
from stowfold.geometry.unfold.gable_corners import check_gable_corners
from stowfold.geometry.unfold.section import unfold

BIRCH = find_stock("birch-plywood-3", read_stocks())


@pytest.fixture(scope="module")
def store():
    return make_parts(solid_of("grain_store"), Settings(BIRCH, BIRCH, BIRCH, BIRCH), title="Store").outcome


@pytest.fixture(scope="module")
def plain(store):
    return unfold(store.facets, store.settings.as_cut).parts


def gables(store, parts):
    """Each gable as modelled and as its board stands, in the facet's own plane."""
    for part in parts:
        for panel in part.panels:
            facet = store.facets.facets[panel.facet] if panel.facet >= 0 else None
            if part.kind is PartKind.WALL and facet is not None and len(facet.rings[0]) == 5:
                yield Polygon(store.facets.ring(facet)), Polygon(facet.frame.flatten(panel.stands.apply(panel.ring)))


def test_an_ear_lies_in_the_modelled_gable_and_leaves_a_slot_and_a_blunt_tip(store, plain):
    found = list(zip(gables(store, store.parts), gables(store, plain), strict=True))
    assert len(found) == 2
    eaves = 62.0
    for (modelled, board), (_, without) in found:
        assert board.difference(modelled.buffer(1e-6)).area < 1e-6
        above = modelled.intersection(box(-999, eaves, 999, eaves + 8.3))
        open_before, open_now = above.difference(without).area, above.difference(board).area
        # two triangles, 12.3 mm wide and 8/12 of that high, then two slots of 0.9 mm above the eaves and the tips
        radius = 12.3
        assert open_before == pytest.approx(radius * radius * 8 / 12, rel=0.03)
        assert open_now < 2 * (radius * 0.9 + 5.0)
        assert without.difference(board).area < 1e-6


def test_holes_are_told_where_there_are_no_ears(store, plain):
    roof = [part for part in store.parts if part.kind is PartKind.ROOF]
    assert check_gable_corners((*plain, *roof))
    assert check_gable_corners(store.parts) == ()
    assert not [finding for finding in store.findings if finding.code == "hole-at-gable"]


def test_without_a_roof_or_room_there_are_no_ears(store, plain):
    walls = [part for part in plain if part.kind is PartKind.WALL]
    assert raise_ears(walls) == tuple(walls)
    roof = next(part for part in plain if part.kind is PartKind.ROOF)
    # a panel that lies where the first ear would be in the flat
    wall = next(part for part in walls if part.lattices)
    eared = raise_ears((wall, roof))[0].outline
    ears = sorted(get_parts(eared.difference(wall.outline)), key=lambda ear: -ear.area)
    assert len(ears) == 2
    blocking = replace(wall.panels[0], ring=np.asarray(ears[0].exterior.coords)[:-1])
    crowded = replace(wall, panels=(*wall.panels, blocking))
    only = raise_ears((crowded, roof))[0].outline
    assert only.area == pytest.approx(eared.area - ears[0].area)
