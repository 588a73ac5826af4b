"""Shingle strips: whole courses from eaves to ridge, overlapping, off bends, each in one piece. Judged by shapely."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from sample_solids import solid_of
from shapely.geometry import LineString, Polygon
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.finish.finish import Pattern, finish_of
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.outcome import Settings
from stowfold.geometry.paper.trim_words import strips_section
from stowfold.geometry.paper.work_order import order_of_work
from stowfold.geometry.settings import TrimSettings

STOCKS = read_stocks()
BIRCH, THIN = (find_stock(name, STOCKS) for name in ("birch-plywood-3", "birch-plywood-1.5"))
FINISH = finish_of(Pattern.SHINGLES, size=3.0)


@pytest.fixture(scope="module", params=["grain_store", "lock_keepers_house"])
def house(request):
    solid = solid_of(request.param)
    keys = {(solid.sources[s], face): "shingles" for face, s in zip(solid.face_ids, solid.face_sources, strict=True)}
    settings = Settings(
        BIRCH, BIRCH, BIRCH, BIRCH, trim=TrimSettings(THIN, shingles=True), finishes={"shingles": FINISH}
    )
    made = make_parts(replace(solid, finishes=keys), settings, title="House").outcome
    assert made.strips.strips
    return made


def test_strips_cover_the_slopes_and_overlap_by_a_millimetre(house) -> None:
    roofs = {part.name: part for part in house.parts}
    for name in {strip.roof for strip in house.strips.strips}:
        own = [strip for strip in house.strips.strips if strip.roof == name]
        part = roofs[name]
        laid = shapely.union_all([strip.area for strip in own])
        assert laid.difference(part.outline.buffer(1e-6)).area < 1e-6
        for placed in part.lattices:
            assert laid.distance(Polygon(placed.zone)) >= 1.0 - 1e-6
        kept = part.outline.difference(
            shapely.union_all([Polygon(p.zone).buffer(1.0, join_style="mitre") for p in part.lattices])
        )
        assert laid.area > 0.93 * kept.area
        # neighbouring courses of one panel share a band of 1 mm, and no others touch
        for k, one in enumerate(own):
            for other in own[:k]:
                shared = one.area.intersection(other.area)
                if shared.area > 0.01 and abs(one.course - other.course) == 1:
                    box = shared.minimum_rotated_rectangle
                    sides = np.hypot(*np.diff(shapely.get_coordinates(box)[:3], axis=0).T)
                    assert min(sides) == pytest.approx(1.0, abs=1e-4)
                else:
                    assert shared.area < 0.01


def test_every_strip_stays_one_piece_and_shingles_are_wide_enough(house) -> None:
    cuts = 0
    for part in house.strips.parts:
        assert min(part.size) >= 3.0 - 0.03
        slit = shapely.union_all([LineString(cut).buffer(0.05, cap_style="square") for cut in part.pricks])
        assert isinstance(part.outline.difference(slit), Polygon)
        across = sorted(float(cut[:, 0].mean()) for cut in part.pricks)
        assert all(b - a >= 3.0 - 1e-6 for a, b in pairwise(across))
        cuts += len(across)
    assert cuts > len(house.strips.strips)


def test_strips_are_counted_told_stowed_and_cut(house) -> None:
    told = strips_section(house.strips)
    assert all(f"<b>{strip.name}</b>" in told for strip in house.strips.strips)
    assert f"{len(house.strips.strips)} strips onto the flat slopes" in order_of_work(house)
    assert sum(house.strips.spare.values()) == len(house.strips.parts) - len(house.strips.strips)
    assert {part.id for part in house.strips.parts} <= {part.id for part in house.pieces}
    assert 2 * THIN.thickness < house.strips.thickness < 2.25 * THIN.thickness


def test_slates_are_cut_as_strips_joint_over_middle_and_lean_as_equal_boards_in_a_stack() -> None:
    """Joints stand over the middles of the slates below (BS 5534: side lap of half a width); sin(lean) = t / gauge."""
    finish = finish_of(Pattern.SLATES, size=2.0)
    solid = solid_of("grain_store")
    keys = {(solid.sources[s], face): "slate" for face, s in zip(solid.face_ids, solid.face_sources, strict=True)}
    settings = Settings(BIRCH, BIRCH, BIRCH, BIRCH, trim=TrimSettings(THIN, shingles=True), finishes={"slate": finish})
    made = make_parts(replace(solid, finishes=keys), settings, title="Store").outcome
    assert made.proof.holds and made.proof.board_overlap < 1e-4
    courses: dict[tuple[int, int], np.ndarray] = {}
    for strip, part in zip(made.strips.strips, made.strips.laid, strict=True):
        across = [float(part.panels[0].stands.apply(cut)[0, 0]) for cut in part.pricks]
        courses[strip.panel, strip.course] = np.sort(across)
    assert len(courses) == len(made.strips.strips) > 20
    for (panel, course), joints in courses.items():
        assert np.diff(joints) == pytest.approx(finish.length)
        if (below := courses.get((panel, course - 1))) is not None:
            assert (joints[1] - below[0]) % finish.length == pytest.approx(finish.length / 2.0)
    steep = math.asin(THIN.thickness / finish.height)
    leans = {strip.course: strip.lean for strip in made.strips.strips}
    settled = [lean for course, lean in leans.items() if 6 < course < max(leans)]
    assert settled == pytest.approx([steep] * len(settled), abs=math.radians(1.0))
