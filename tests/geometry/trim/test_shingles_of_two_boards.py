"""Shingle strips of two boards: bands and diamonds fill the courses of one board but for their play. By shapely."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from functools import cache
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from sample_solids import solid_of
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.finish.finish import Pattern, finish_of
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.outcome import Settings
from stowfold.geometry.paper.trim_words import strips_section
from stowfold.geometry.settings import SecondShingles, ShinglePattern, TrimSettings
from stowfold.geometry.trim.two_boards import END_PLAY, Course

STOCKS = read_stocks()
BIRCH, THIN, GREY = (find_stock(name, STOCKS) for name in ("birch-plywood-3", "birch-plywood-1.5", "grey-board-2"))
FINISH = finish_of(Pattern.SHINGLES, size=3.0)


@cache
def _house(pattern: ShinglePattern | None):
    solid = solid_of("lock_keepers_house")
    keys = {(solid.sources[s], face): "shingles" for face, s in zip(solid.face_ids, solid.face_sources, strict=True)}
    second = None if pattern is None else SecondShingles(GREY, pattern, 3)
    trim = TrimSettings(THIN, shingles=True, second=second)
    settings = Settings(BIRCH, BIRCH, BIRCH, BIRCH, trim=trim, finishes={"shingles": FINISH})
    return make_parts(replace(solid, finishes=keys), settings, title="House").outcome


def _courses(house):
    found: dict[tuple[str, int], list] = {}
    for strip in house.strips.strips:
        found.setdefault((strip.roof, strip.course), []).append(strip)
    return found


def test_bands_change_the_board_every_three_courses_and_nothing_else() -> None:
    one, two = _house(None).strips, _house(ShinglePattern.BANDS).strips
    for before, after in zip(one.strips, two.strips, strict=True):
        assert shapely.equals_exact(before.area, after.area, 1e-9)
        assert after.second == (after.course in (4, 5, 6, 10, 11, 12))
    boards = {strip.part: GREY.name if strip.second else THIN.name for strip in two.strips}
    assert all(part.stock == boards[part.id] for part in two.parts[: len(two.strips)])
    assert {part.stock for part in two.parts if part.shared_name.startswith("RD")} == {GREY.name}


def test_diamonds_fill_every_course_but_for_the_play_between_two_boards() -> None:
    whole, parted = _courses(_house(None)), _courses(_house(ShinglePattern.DIAMONDS))
    assert whole.keys() == parted.keys()
    ends = 0
    for place, strips in parted.items():
        course = shapely.union_all([strip.area for strip in whole[place]])
        own = [strip.area for strip in strips]
        assert shapely.union_all(own).difference(course.buffer(1e-6)).area < 1e-6
        tree = shapely.STRtree(own)
        near = [(a, b) for a, b in tree.query(own, predicate="dwithin", distance=2 * END_PLAY).T if a < b]
        for a, b in near:
            assert own[a].distance(own[b]) == pytest.approx(END_PLAY, abs=1e-6)
            assert strips[a].second != strips[b].second
        # what the course lacks: a hair as high as the strip at every end, slanting only at a hip
        lost = course.area - sum(area.area for area in own)
        high = 3.0 * 2.8 + 1.0
        assert -1e-6 <= lost <= len(near) * END_PLAY * high + 1e-6
        ends += len(near)
    assert ends > 100
    strips = _house(ShinglePattern.DIAMONDS).strips
    area = {second: sum(s.area.area for s in strips.strips if s.second is second) for second in (False, True)}
    assert area[True] == pytest.approx(area[False], rel=0.15)
    assert all(min(part.size) >= 3.0 for part in strips.parts)


def test_strips_of_diamonds_that_can_take_the_place_of_one_another_share_a_name() -> None:
    strips = _house(ShinglePattern.DIAMONDS).strips
    known: dict[str, list] = {}
    for part in strips.laid:
        cut = shapely.MultiLineString([part.outline.exterior, *part.pricks])
        alike = {
            name
            for name, (other, stock) in known.items()
            if part.stock == stock and shapely.hausdorff_distance(cut, other) < 0.005
        }
        assert alike <= {part.shared_name}
        known.setdefault(part.shared_name, [cut, part.stock])
    # between two diamonds every course has one strip of either board, and 6 courses come again
    high = max(part.size[1] for part in strips.laid)
    inner = [part for part in strips.laid if part.area == pytest.approx(part.size[0] * high)]
    assert len(inner) > 150
    counts = Counter(part.shared_name for part in inner)
    assert sum(sorted(counts.values())[-12:]) > 0.85 * len(inner)


def test_diamonds_are_the_squares_of_a_chequer_turned_by_45_degrees() -> None:
    second = SecondShingles(GREY, ShinglePattern.DIAMONDS, 3)
    for number in range(12):
        course = Course(second, number, 10.0, middle=100.0)
        places = np.arange(0.5, 200.0, 1.0)
        # a diamond of the second board stands with its lower tip on the eaves, 30 mm below its middle
        across, up = places / 10.0 - 10.0, number + 0.5
        turned = np.floor(np.stack([up + across, up - across]) / 6.0).sum(axis=0)
        assert [course.is_second(x) for x in places] == (turned % 2 == 0).tolist()
        changes = np.flatnonzero(np.diff(turned)) + 1.0
        assert course.changes(0.0, 200.0) == pytest.approx(changes.tolist(), abs=0.51)
    with pytest.raises(BadSettingError, match="0 courses"):
        replace(second, courses=0)


def test_the_guide_draws_every_strip_in_its_place_and_names_its_board() -> None:
    house = _house(ShinglePattern.DIAMONDS)
    told = strips_section(house.strips, house.parts, house.settings.stocks)
    assert "birch plywood 1.5 mm" in told and "grey board 2 mm" in told
    drawn = [ElementTree.fromstring(svg) for svg in re.findall(r"<svg.*?</svg>", told, re.DOTALL)]
    named = sorted(word.text for svg in drawn for word in svg.iter("text"))
    assert named == sorted(strip.name for strip in house.strips.strips)
    roofs = {strip.roof for strip in house.strips.strips}
    assert len(drawn) == len(roofs)
    assert sum(len(list(svg.iter("path"))) for svg in drawn) == len(roofs) + len(named)
    assert "<svg" not in strips_section(_house(None).strips, house.parts, house.settings.stocks)


def test_the_laser_cuts_the_second_board_with_its_own_kerf() -> None:
    settings = replace(_house(ShinglePattern.DIAMONDS).settings, laser=Laser(kerf=0.33))
    assert settings.as_cut.trim.second.stock.kerf == 0.33
    assert settings.as_cut.stocks[GREY.name].kerf == 0.33
