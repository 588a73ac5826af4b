"""Patterns against rules of the trade and published tables: what shapely makes of their lines are the right units."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from parts_by_hand import make_part
from scipy.sparse.csgraph import minimum_spanning_tree
from shapely.geometry import Polygon, box
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.finish.chance import chance, splitmix
from stowfold.geometry.finish.check import check_finishes
from stowfold.geometry.finish.draw import draw
from stowfold.geometry.finish.finish import (
    DARKEST,
    Finish,
    Pattern,
    burnt_share,
    coarsened,
    finish_of,
    length_per_area,
)
from stowfold.geometry.finish.lines import clip, ordered, united
from stowfold.geometry.finish.rubble import lay_stones
from stowfold.geometry.finish.surface import Surface
from stowfold.geometry.finish.timber import Rank, frame
from stowfold.geometry.part import Dressing, Way


def segments(finish: Finish, surface: Surface) -> np.ndarray:
    pattern, _, _ = draw(finish, surface)
    return np.concatenate([np.stack([block[:, :-1], block[:, 1:]], axis=2).reshape(-1, 2, 2) for block in pattern])


def units(finish: Finish, area: Polygon) -> list[Polygon]:
    """All regions that the lines of a finish part an area into and that do not touch its edge, by shapely."""
    surface = Surface.of(area.buffer(2 * finish.length, join_style="mitre"))
    lines = shapely.linestrings(segments(finish, surface))
    regions = shapely.get_parts(shapely.polygonize([shapely.union_all(shapely.set_precision(lines, 1e-6))]))
    return [region for region in regions if area.contains(region)]


def sizes(regions: list[Polygon]) -> Counter[tuple[float, float]]:
    return Counter((round(x1 - x0, 3), round(y1 - y0, 3)) for x0, y0, x1, y1 in (region.bounds for region in regions))


def test_bonds_are_laid_of_the_bricks_that_they_are_named_for() -> None:
    wall = box(0.0, 0.0, 60.0, 50.0)
    stretcher, header = (6.0, 2.5), (3.0, 2.5)
    assert set(sizes(units(finish_of(Pattern.STRETCHER_BOND), wall))) == {stretcher}
    english = sizes(units(finish_of(Pattern.ENGLISH_BOND), wall))
    flemish = sizes(units(finish_of(Pattern.FLEMISH_BOND), wall))
    assert set(english) == set(flemish) == {stretcher, header}
    # a course of headers on one of stretchers, and in Flemish bond as many of one as of the other
    assert english[header] / english[stretcher] == pytest.approx(2.0, rel=0.1)
    assert flemish[header] / flemish[stretcher] == pytest.approx(1.0, rel=0.1)


@pytest.mark.parametrize(
    ("pattern", "lap"), [(Pattern.STRETCHER_BOND, 1 / 2), (Pattern.ENGLISH_BOND, 1 / 4), (Pattern.FLEMISH_BOND, 1 / 4)]
)
def test_bricks_overlap_as_the_bond_asks(pattern: Pattern, lap: float) -> None:
    finish = finish_of(pattern)
    lines = segments(finish, Surface.of(box(0.0, 0.0, 72.0, 50.0)))
    upright = lines[np.abs(lines[:, 0, 0] - lines[:, 1, 0]) < 1e-9]
    rows = {round(y, 6): np.sort(upright[np.isclose(upright[:, 0, 1], y), 0, 0]) for y in np.unique(upright[:, 0, 1])}
    heights = sorted(rows)
    gaps = [np.abs(rows[low][:, None] - rows[high][None, :]).min() for low, high in pairwise(heights)]
    # quarter bonds lap a quarter of a brick, stretcher bond half of one (Building Construction 3-1, Bond)
    assert min(gaps) == pytest.approx(lap * finish.length)


# Units on a square metre as merchants state them: bricks 215 x 65 with joints of 10; slates at a headlap of 100 with
# the joint of 5 of BS 8000-6, by length and width; plain tiles 265 x 165 at a gauge of 100.
@pytest.mark.parametrize(
    ("pattern", "length", "height", "stated", "within"),
    [
        (Pattern.STRETCHER_BOND, 225.0, 75.0, 60.0, 0.015),
        (Pattern.SLATES, 255.0, 200.0, 19.6, 0.003),
        (Pattern.SLATES, 255.0, 150.0, 26.1, 0.003),
        (Pattern.SLATES, 205.0, 100.0, 48.8, 0.003),
        (Pattern.SLATES, 165.0, 100.0, 60.0, 0.015),
        (Pattern.PANTILES, 301.0, 345.0, 9.63, 0.003),
    ],
)
def test_as_many_units_lie_on_a_square_metre_as_merchants_state(
    pattern: Pattern, length: float, height: float, stated: float, within: float
) -> None:
    finish = Finish(pattern, length, height)
    across, up = 40 * length, 40 * height
    region = box(0.37 * length, 0.37 * height, 0.37 * length + across, 0.37 * height + up)
    pattern_lines, _, _ = draw(finish, Surface.of(region.buffer(length)))
    # every unit has one joint at its left: an upright piece as high as a course
    upright = [block for block in pattern_lines if len(block) and np.allclose(block[:, 0, 0], block[:, -1, 0])]
    total = sum(line.length for line in shapely.intersection(shapely.linestrings(np.concatenate(upright)), region))
    assert total / height / (across * up / 1e6) == pytest.approx(stated, rel=within)


@pytest.mark.parametrize("pattern", [p for p in Pattern if p not in (Pattern.TIMBER_FRAME, Pattern.RUBBLE)])
def test_lines_are_as_long_as_the_closed_form(pattern: Pattern) -> None:
    finish = finish_of(pattern)
    blocks = max(round(finish.length / finish.height), 2)
    period = 2 * blocks if pattern in (Pattern.BASKET, Pattern.HERRINGBONE) else 12
    up = finish.length if pattern is Pattern.CHEQUER else finish.height
    region = box(0.31, 0.17, 0.31 + period * finish.length, 0.17 + 3 * period * up)
    lines = shapely.linestrings(segments(finish, Surface.of(region.buffer(3 * finish.length))))
    drawn = shapely.length(shapely.intersection(lines, region)).sum()
    assert drawn / region.area == pytest.approx(length_per_area(finish), rel=0.04)


def test_parquet_is_laid_of_whole_blocks() -> None:
    for pattern in (Pattern.BASKET, Pattern.HERRINGBONE):
        laid = sizes(units(finish_of(pattern), box(0.0, 0.0, 120.0, 90.0)))
        length, width = (8.4, 2.8) if pattern is Pattern.BASKET else (9.0, 3.0)
        assert set(laid) == {(length, width), (width, length)}
        assert laid[length, width] / laid[width, length] == pytest.approx(1.0, abs=0.1)


def test_joints_of_shingles_keep_clear_of_two_courses_below() -> None:
    finish = finish_of(Pattern.SHINGLES, seed=7)
    lines = segments(finish, Surface.of(box(0.0, 0.0, 200.0, 60.0)))
    upright = lines[np.abs(lines[:, 0, 0] - lines[:, 1, 0]) < 1e-9]
    rows = [upright[np.isclose(upright[:, 0, 1], y), 0, 0] for y in np.unique(np.round(upright[:, 0, 1], 6))]
    for k, row in enumerate(rows):
        for below in rows[max(k - 2, 0) : k]:
            # 40 mm of a shingle of 200 mm (wood shingle code), at the scale of the pattern
            assert np.abs(row[:, None] - below[None, :]).min() >= 40.0 / 200.0 * finish.length - 1e-9


@pytest.mark.parametrize("seed", range(4))
def test_no_four_stones_meet_and_they_fill_the_ring(seed: int) -> None:
    ring, height = 754.7639, 62.0
    stones = lay_stones(ring, height, 7.5, 3.75, seed)
    corners = np.array([(stone.x0, stone.y0, stone.x1, stone.y1) for stone in stones])
    covered = (corners[:, 2] - corners[:, 0]) * (np.minimum(corners[:, 3], height) - corners[:, 1])
    assert covered.sum() == pytest.approx(ring * height)
    round_again = np.array([ring, 0.0, ring, 0.0])
    every = np.concatenate([corners, corners + round_again, corners - round_again])
    boxes = shapely.STRtree(shapely.box(*every.T))
    points = shapely.points(np.concatenate([corners[:, [0, 1]], corners[:, [2, 3]]]))
    met = np.bincount(boxes.query(points, predicate="dwithin", distance=1e-6)[0])
    assert met.max() <= 3


def test_a_ring_closes_in_whole_bricks() -> None:
    finish, ring = finish_of(Pattern.STRETCHER_BOND), 754.7639
    area = box(-20.0, 0.0, ring + 20.0, 25.0)
    lines = segments(finish, Surface.of(area, ring=ring))
    upright = lines[np.abs(lines[:, 0, 0] - lines[:, 1, 0]) < 1e-9][:, 0]
    start = upright[(upright[:, 0] > -15.0) & (upright[:, 0] < 15.0)]
    again = upright[(upright[:, 0] > ring - 15.0) & (upright[:, 0] < ring + 15.0)] - [ring, 0.0]
    near = np.hypot(*(start[:, None] - again[None, :]).transpose(2, 0, 1)).min(axis=1)
    assert len(start) and near.max() < 1e-9


def test_chance_is_that_of_the_published_generator() -> None:
    # the first numbers of SplitMix64 for the seed 1234567, as its public reference lists state them
    states = np.uint64(1234567) + np.arange(5, dtype=np.uint64) * np.uint64(0x9E3779B97F4A7C15)
    assert splitmix(states).tolist() == [
        6457827717110365317,
        3203168211198807973,
        9817491932198370423,
        4593380528125082431,
        16408922859458223821,
    ]
    drawn = chance(3, np.arange(20_000))
    assert drawn.min() >= 0.0 and drawn.max() < 1.0
    assert np.histogram(drawn, bins=10, range=(0.0, 1.0))[0] == pytest.approx(2000, rel=0.1)


def test_a_finer_pattern_than_a_beam_can_draw_is_coarsened() -> None:
    brick = finish_of(Pattern.STRETCHER_BOND, true_to_scale=True)
    assert burnt_share(brick, 0.3) == pytest.approx(0.32, abs=0.005)
    # 7.1 line widths high for bricks 2.4 to 3 times as long as high
    coarse = coarsened(brick, 0.3)
    assert burnt_share(coarse, 0.3) == pytest.approx(DARKEST) and coarse.length / coarse.height == pytest.approx(3.0)
    slate = finish_of(Pattern.SLATES)
    assert coarsened(slate, 0.1) == slate
    with pytest.raises(BadSettingError, match=r"cannot be 0\.1 mm high"):
        replace(brick, height=0.1)


def test_a_face_that_would_turn_brown_is_told_with_the_least_sizes() -> None:
    brick = finish_of(Pattern.STRETCHER_BOND, true_to_scale=True)
    drawn = Dressing("brick", Way.ENGRAVE, np.zeros((0, 2)), np.zeros(1))
    wall = make_part("W1", box(0.0, 0.0, 50.0, 50.0), dressings=(drawn,))
    (told,) = check_finishes({"brick": brick}, [wall], {wall.stock: 0.2})
    assert told.code == "finish-too-fine" and "6.0 x 2.0 mm" in told.message and "32%" in told.message
    assert not check_finishes({"brick": coarsened(brick, 0.3)}, [wall], {wall.stock: 0.2})


def test_timbers_stand_at_corners_joiners_and_jambs_and_do_not_cross() -> None:
    finish = finish_of(Pattern.TIMBER_FRAME)
    wall = Polygon([(0, 0), (150, 0), (150, 62), (75, 100), (0, 62)], [[(20, 20), (20, 42), (42, 42), (42, 20)]])
    surface = replace(Surface.of(wall, rise=62.0), joiners=((80.0, 110.0),))
    posts = [member.shape.bounds for member in frame(finish, surface) if member.rank is Rank.POST]
    edges = {round(x, 6) for x0, _, x1, _ in posts for x in (x0, x1)}
    assert {0.0, 150.0, 20.0, 42.0, 80.0, 110.0} <= edges
    lines = segments(finish, surface)
    assert len(united(lines)) == len(lines)
    window = Polygon(wall.interiors[0]).buffer(-0.01)
    assert not shapely.intersects(shapely.linestrings(lines), window).any()


def test_clipped_lines_are_those_of_one_overlay() -> None:
    wall = Polygon([(0, 0), (90, 0), (90, 40), (45, 70), (0, 40)], [[(20, 10), (20, 30), (40, 30), (40, 10)]])
    pattern, _, _ = draw(finish_of(Pattern.FLEMISH_BOND), Surface.of(wall))
    kept = clip(pattern, wall)
    whole = shapely.intersection(shapely.linestrings(np.concatenate(pattern)), wall)
    lengths = shapely.length(shapely.get_parts(whole))
    assert sum(map(shapely.length, map(shapely.linestrings, kept))) == pytest.approx(lengths[lengths >= 0.8].sum())


def test_lines_that_lie_on_each_other_are_drawn_once() -> None:
    rng = np.random.default_rng(1)
    starts = np.column_stack([rng.integers(0, 40, 60), rng.integers(0, 3, 60)]).astype(float)
    level = np.stack([starts, starts + np.column_stack([rng.integers(1, 6, 60), np.zeros(60)])], axis=1)
    turned = level @ np.array([[0.6, 0.8], [-0.8, 0.6]])
    once = united(np.concatenate([turned, turned[:, ::-1]]))
    whole = shapely.union_all(shapely.linestrings(level)).length
    assert np.hypot(*(once[:, 1] - once[:, 0]).T).sum() == pytest.approx(whole)
    assert len(united(once)) == len(once)


def test_the_head_goes_a_short_way() -> None:
    pattern, _, _ = draw(finish_of(Pattern.STRETCHER_BOND), Surface.of(box(0.0, 0.0, 120.0, 60.0)))
    lines = clip(pattern, box(1.0, 1.0, 119.0, 59.0))
    path = ordered(lines)
    assert np.allclose(np.sort([line.sum() for line in path]), np.sort([line.sum() for line in lines]))
    ends = np.array([[line[0], line[-1]] for line in lines])
    # no way can be shorter than the tree that ties all lines together by their nearest ends
    apart = np.min(
        [np.hypot(*(ends[:, None, i] - ends[None, :, j]).transpose(2, 0, 1)) for i in (0, 1) for j in (0, 1)], axis=0
    )
    bound = minimum_spanning_tree(np.where(apart == 0.0, 1e-9, apart)).sum()
    hops = sum(float(np.hypot(*(after[0] - before[-1]))) for before, after in pairwise(path))
    drawn = shapely.length(shapely.linestrings([line[[0, -1]] for line in lines])).sum()
    assert drawn + hops < 1.25 * (drawn + bound)
