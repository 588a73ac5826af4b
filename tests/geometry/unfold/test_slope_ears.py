"""Ears on slopes close roofs against light; shadows and solids by manifold3d, outlines by shapely."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from functools import cache

import manifold3d
import numpy as np
import pytest
import shapely
from boards_as_solids import board_solids
from roof_light import light_through_roof
from shapely.geometry import Polygon
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.added import add_building, as_solid
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.fold.fold import fold
from stowfold.geometry.outcome import Outcome, Settings
from stowfold.geometry.part import Part, PartKind
from stowfold.geometry.plan.outline import PlanKind
from stowfold.geometry.plan.roof import Roof, RoofKind
from stowfold.geometry.plan.sizes import BuildingSizes
from stowfold.geometry.tolerance import LIGHT
from stowfold.geometry.unfold.peak_holes import peak_holes
from stowfold.geometry.unfold.section import unfold
from stowfold.geometry.unfold.setbacks import strain

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH)

HOUSE = BuildingSizes(PlanKind.RECTANGLE, 9, 6, roof=Roof(RoofKind.HIP, math.radians(40.0)))
TOWER = BuildingSizes(PlanKind.RECTANGLE, 6, 6, roof=Roof(RoofKind.PYRAMID, math.radians(25.0)))
WINGED = BuildingSizes(PlanKind.T, 9, 7, bar=3, wing=3, roof=Roof(RoofKind.HIP, math.radians(25.0)))
STEEP = BuildingSizes(PlanKind.L, 9, 7, bar=3, wing=4, roof=Roof(RoofKind.HIP, math.radians(40.0)))
CROSSED = BuildingSizes(PlanKind.T, 9, 7, bar=3, wing=3, roof=Roof(RoofKind.CROSSING, math.radians(25.0)))

#: Boards nominally touch, so rounding may share a little, mm^3.
TOUCH = 0.5


@cache
def built(sizes: BuildingSizes) -> Outcome:
    outcome = make_parts(as_solid(add_building(sizes, SETTINGS)), SETTINGS, title="Toll house").outcome
    assert outcome.proof.holds
    return outcome


def slopes_of(outcome: Outcome) -> list[Part]:
    return [part for part in outcome.parts if part.kind is PartKind.ROOF and part.lattices]


def holes_of(outcome: Outcome) -> dict[int, float]:
    sections = unfold(outcome.facets, SETTINGS.as_cut)
    return peak_holes(outcome.facets, replace(sections, parts=tuple(slopes_of(outcome))))


@pytest.mark.parametrize("sizes", [HOUSE, TOWER], ids=["hip", "pyramid"])
def test_no_light_falls_through_a_hip_or_pyramid(sizes: BuildingSizes) -> None:
    outcome = built(sizes)
    for real in ({}, {"thinner": 0.2}, {"smaller": 0.05}):
        light = light_through_roof(outcome, **real)
        # where three lines meet, corners of the gaps beside the bends add up
        assert max(light.along, light.inner, light.eaves) < LIGHT + 0.2, real
    assert not holes_of(outcome)


@pytest.mark.parametrize(
    ("sizes", "before", "now"),
    [(WINGED, 11.5, 1.6), (STEEP, 21.5, 2.7), (CROSSED, 17.6, 2.7)],
    ids=["hips", "steep hips", "gables"],
)
def test_where_valleys_meet_hips_and_ridges_little_light_is_left(
    sizes: BuildingSizes, before: float, now: float
) -> None:
    light = light_through_roof(built(sizes))
    assert light.along < LIGHT + 0.25
    assert light.inner < now < before / 5.0
    assert light.eaves < 1.4


def test_bends_bear_what_they_are_asked_for_though_they_are_shorter() -> None:
    for sizes in (HOUSE, TOWER, WINGED):
        for part in slopes_of(built(sizes)):
            assert max(strain(placed.lattice) for placed in part.lattices) <= 1.0


def test_ears_hang_on_necks_and_a_laser_passes_between_them_and_their_bends() -> None:
    for sizes in (HOUSE, TOWER, WINGED, CROSSED):
        for part in slopes_of(built(sizes)):
            zones = shapely.union_all([Polygon(placed.zone) for placed in part.lattices])
            for panel in part.panels:
                body = Polygon(panel.ring)
                assert isinstance(body.buffer(-0.99), Polygon)
            # as wide as the laser cuts, beside the end of every bend, is no board
            for placed in part.lattices:
                zone = placed.zone
                for ends, out in ((zone[[0, 3]], -1.0), (zone[[1, 2]], 1.0)):
                    beside = ends + out * placed.along * BIRCH.kerf
                    inset = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0])) * 0.01
                    cut = Polygon([ends[0] + inset, ends[1] - inset, beside[1] - inset, beside[0] + inset])
                    assert part.outline.intersection(cut).difference(zones.buffer(1e-6)).area < 0.02


@pytest.mark.slow
def test_slopes_with_ears_share_no_place_at_any_fraction_of_the_fold() -> None:
    for part in (*slopes_of(built(HOUSE)), *slopes_of(built(WINGED))):
        for fraction in (0.0, 0.3, 0.6, 0.9, 1.0):
            poses = fold(part, fraction)
            boards = [
                manifold3d.Manifold.compose(
                    [
                        body
                        for _, body in board_solids([replace(part, panels=(replace(panel, stands=pose),), lattices=())])
                    ]
                )
                for panel, pose in zip(part.panels, poses, strict=True)
            ]
            assert max((a ^ b).volume() for a, b in itertools.combinations(boards, 2)) < TOUCH, fraction
