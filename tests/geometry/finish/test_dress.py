"""Finishes on buildings: unrolled, cut to the parts and rolled again by the proof's poses they meet everywhere."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest
import shapely
from buildings import SAMPLES
from sample_solids import solid_of
from shapely.geometry import LineString, Polygon
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.finish.dress import dress
from stowfold.geometry.finish.finish import Finish, Pattern, finish_of
from stowfold.geometry.flow.run import run
from stowfold.geometry.flow.unfolding import unfold_solid
from stowfold.geometry.fold.fold import fold
from stowfold.geometry.joints.joiner import make_joiners
from stowfold.geometry.outcome import Settings
from stowfold.geometry.part import Joiner, Part, PartKind, Way
from stowfold.geometry.solid.facets import Facets
from stowfold.geometry.solid.solid import Role, Solid, make_solid

BIRCH = find_stock("birch-plywood-3", read_stocks())
PLAIN = Settings(BIRCH, BIRCH, BIRCH, BIRCH)

SLATES = finish_of(Pattern.SLATES)

#: What lines may miss at a corner, a cheek or a hip, mm.
MEETS = 0.01


@dataclass(frozen=True)
class Dressed:
    """A building whose parts have their finishes."""

    facets: Facets
    parts: tuple[Part, ...]
    joiners: tuple[Joiner, ...]


def dress_up(solid: Solid, finishes: dict[str, Finish]) -> Dressed:
    """Sections and joiners of a building with their finishes; not laid out, which would take longer than all else."""
    unfolded = unfold_solid(solid, PLAIN)
    facets, sections = unfolded.facets, unfolded.sections
    joiners = make_joiners(facets, sections, PLAIN)
    plain = (*sections.parts, *joiners.parts)
    return Dressed(facets, dress(unfolded.solid, facets, sections, joiners.joiners, plain, finishes), joiners.joiners)


def finished(name: str) -> Solid:
    """A sample with the finishes that its shape names."""
    shape = next(sample.shape() for sample in SAMPLES if sample.file == name)
    return replace(solid_of(name), finishes={(name, face): finish for face, finish in enumerate(shape.finishes)})


@cache
def dressed(name: str, walls: Pattern, seed: int = 0) -> Dressed:
    """A sample with a finish on its walls, and slates on its roof."""
    solid = finished(name)
    pattern = {finish: Pattern.SLATES if finish == "slate" else walls for finish in set(solid.finishes.values())}
    return dress_up(solid, {finish: finish_of(kind, seed=seed) for finish, kind in pattern.items()})


def standing(part: Part, height: float, *, level: bool) -> dict[int, np.ndarray]:
    """The level or upright lines of a part as they stand, by panel, (n, 2, 3); height: over the reference face."""
    poses = fold(part)
    lines = np.concatenate([dressing.segments for dressing in part.dressings])
    found = {}
    for k, panel in enumerate(part.panels):
        inside = shapely.contains_xy(Polygon(panel.ring).buffer(0.01), lines.mean(axis=1))
        stands = poses[k].apply(lines[inside], height)
        rises = np.abs(stands[:, 0, 2] - stands[:, 1, 2])
        found[k] = stands[(rises < 1e-6) == level]
    return found


def walls_of(outcome: Dressed) -> list[Part]:
    return [part for part in outcome.parts if part.dressings and part.kind in (PartKind.WALL, PartKind.CHEEK)]


def test_courses_share_their_heights_round_corners_and_over_cheeks() -> None:
    outcome = dressed("lock_keepers_house", Pattern.STRETCHER_BOND)
    # heights of courses that were not cut by an opening: beds are longer than any brick
    heights = []
    for part in walls_of(outcome):
        for lines in standing(part, 0.0, level=True).values():
            long = np.abs(np.diff(lines, axis=1)[:, 0, :2]).max(axis=1) > 20.0
            heights.append(np.unique(np.round(lines[long, 0, 2], 6)))
    assert len(heights) == 8
    gauge = 62.0 / 25
    for level in heights:
        assert np.abs(level / gauge - np.round(level / gauge)).max() * gauge < MEETS
    # boards under the roof are cut 2 mm lower, which takes the last bed; peg holes cut some of the short beds of cheeks
    assert {len(level) for level in heights[:6]} == {23} and min(map(len, heights)) >= 18


@pytest.mark.parametrize(("name", "corners"), [("lock_keepers_house", 4), ("toll_house", 6)])
def test_joints_go_on_at_the_same_distance_round_every_corner_and_joiner(name: str, corners: int) -> None:
    outcome = dressed(name, Pattern.STRETCHER_BOND)
    ring = neutral_line(outcome)
    places, rows = [], []
    for part in walls_of(outcome):
        middle = part.board_side * part.thickness / 2
        for lines in standing(part, middle, level=False).values():
            own = np.abs(np.ptp(lines[:, :, 2], axis=1) - 2.48) < 1e-3  # whole joints of bricks, no soldiers
            points = shapely.points(lines[own, 0, :2])
            places.append(shapely.line_locate_point(ring, points))
            rows.append(np.round(lines[own, :, 2].min(axis=1) / 2.48).astype(int) % 2)
    place, row = np.concatenate(places), np.concatenate(rows)
    count = round(ring.length / 6.0)
    brick = ring.length / count
    # along a line that was built from the plan alone, all joints of the same course are whole bricks apart
    phase = np.mod(place / brick - 0.5 * row, 1.0)
    about = np.angle(np.exp(2j * np.pi * phase).mean()) / (2 * np.pi)
    off = np.abs(np.mod(phase - about + 0.5, 1.0) - 0.5) * brick
    assert len(place) > 1500 and off.max() < MEETS
    assert sum(len(part.lattices) for part in walls_of(outcome)) == corners


def neutral_line(outcome: Dressed) -> LineString:
    """The closed line in the middle of the walls' board, from the plan and the radius of its bends alone."""
    wall = next(part for part in outcome.parts if part.kind is PartKind.WALL)
    half = BIRCH.thickness / 2
    radius = wall.lattices[0].lattice.neutral_radius
    upright = [facet for facet in outcome.facets.facets if outcome.facets.is_wall(facet)]
    lines = [LineString(outcome.facets.corners(facet)[:, :2]) for facet in upright]
    plan = shapely.polygonize([shapely.union_all(lines)]).geoms[0]
    # grown and shrunk twice, the middle line of the board gets all its corners rounded by one radius
    middle = plan.buffer(half, join_style="mitre")
    inner = middle.buffer(-radius, join_style="mitre").buffer(radius, quad_segs=2000)
    outer = inner.buffer(radius, join_style="mitre").buffer(-radius, quad_segs=2000)
    return LineString(outer.exterior.coords)


def test_courses_of_a_hip_roof_meet_at_its_hips() -> None:
    outcome = dressed("lock_keepers_house", Pattern.STRETCHER_BOND)
    roof = next(part for part in outcome.parts if part.kind is PartKind.ROOF)
    levels = [np.unique(np.round(lines[:, 0, 2], 6)) for lines in standing(roof, 0.0, level=True).values()]
    assert len(levels) == 4
    for level in levels[1:]:
        shorter = min(len(level), len(levels[0]))
        assert shorter > 15
        assert np.abs(level[:shorter] - levels[0][:shorter]).max() < MEETS


def test_courses_of_unlike_slopes_rise_alike() -> None:
    # a hip roof of 200 x 100 whose ends are steeper than its sides
    points = [(0, 0, 0), (200, 0, 0), (200, 100, 0), (0, 100, 0), (35, 50, 40), (165, 50, 40)]
    faces = [(0, 1, 5, 4), (1, 2, 5), (2, 3, 4, 5), (3, 0, 4)]
    roles = {(4, 5): Role.FLEX, (1, 5): Role.FLEX, (3, 4): Role.FLEX, (0, 4): Role.CLOSURE, (2, 5): Role.CLOSURE}
    solid = make_solid(np.array(points, dtype=float), faces, roles=roles, source="roof")
    solid = replace(solid, finishes={("roof", k): "slate" for k in range(4)})
    outcome = dress_up(solid, {"slate": finish_of(Pattern.SLATES)})
    levels = [
        np.unique(np.round(lines[:, 0, 2], 6))
        for part in outcome.parts
        if part.dressings
        for lines in standing(part, 0.0, level=True).values()
    ]
    assert len(levels) == 4
    shorter = min(map(len, levels))
    assert shorter > 8 and max(np.ptp([level[:shorter] for level in levels], axis=0)) < MEETS


@pytest.mark.parametrize("walls", [Pattern.FLEMISH_BOND, Pattern.RUBBLE, Pattern.UPRIGHT_BOARDS, Pattern.TIMBER_FRAME])
def test_nothing_lies_near_an_edge_or_a_slit(walls: Pattern) -> None:
    outcome = dressed("grain_store", walls)
    for part in outcome.parts:
        for dressing in part.dressings:
            lines = shapely.multilinestrings([shapely.linestrings(line) for line in dressing.lines])
            assert part.outline.contains(lines)
            assert lines.distance(part.outline.boundary) > 1.0 - 1e-6
            for lattice in part.lattices:
                assert lines.distance(Polygon(lattice.zone)) > 1.0 - 1e-6


def test_level_lines_cross_lattices_where_the_maker_wants_it() -> None:
    solid = finished("lock_keepers_house")
    brick = finish_of(Pattern.STRETCHER_BOND)
    stopped = dress_up(solid, {"brick": brick})
    crossed = dress_up(solid, {"brick": replace(brick, over_bends=True)})
    for before, after in zip(stopped.parts, crossed.parts, strict=True):
        if not (before.lattices and before.dressings):
            continue
        zones = shapely.union_all([Polygon(lattice.zone) for lattice in before.lattices])
        over = [shapely.linestrings(dressing.segments) for dressing in after.dressings]
        crossing = np.concatenate(over)[shapely.intersects(np.concatenate(over), zones)]
        # every bed over every lattice, from wall to wall: as long as the lattice and what both walls leave free
        wide = before.lattices[0].lattice.flat_width
        assert len(crossing) == 23 * len(before.lattices)
        assert shapely.length(crossing) == pytest.approx(np.full(len(crossing), wide + 2.0))
        ends = shapely.get_coordinates(crossing)
        drawn = shapely.multilinestrings([shapely.linestrings(line) for line in before.dressings[0].lines])
        near = shapely.distance(shapely.points(ends), drawn)
        assert np.median(near) < MEETS


def test_a_cheek_shows_what_the_wall_behind_it_would() -> None:
    outcome = dressed("grain_store", Pattern.COURSED_STONE)
    joiner = outcome.joiners[0]
    parts = {part.id: part for part in outcome.parts}
    cheek = parts[joiner.cheeks[0]]
    beside = [parts[name] for name in joiner.ends]
    middle = joiner.line[0, :2]

    def drawn(part: Part) -> np.ndarray:
        lines = np.concatenate([dressing.segments for dressing in part.dressings])
        panel = next(p for p in part.panels if p.facet in joiner.end_facets)
        stands = panel.stands.apply(lines)
        return stands[np.hypot(*(stands[:, :, :2] - middle).transpose(2, 0, 1)).max(axis=1) < 60.0]

    # level joints that end under the cheek's edge go on at the same height on the cheek
    wall = np.concatenate([drawn(part) for part in beside])
    level = wall[np.abs(wall[:, 0, 2] - wall[:, 1, 2]) < 1e-6]
    near = np.abs(np.hypot(*(level[:, :, :2] - middle).transpose(2, 0, 1)).min(axis=1) - joiner.cheek_width / 2) < 0.6
    heights = level[near, 0, 2]
    own = drawn(cheek)
    own = own[np.abs(own[:, 0, 2] - own[:, 1, 2]) < 1e-6, 0, 2]
    assert len(heights) > 10
    assert np.abs(heights[:, None] - own[None, :]).min(axis=1).max() < MEETS


def test_two_finishes_on_one_wall_keep_to_their_faces() -> None:
    points = [(0, 0, 0), (120, 0, 0), (120, 0, 30), (0, 0, 30), (120, 0, 60), (0, 0, 60)]
    solid = make_solid(np.array(points, dtype=float), [(0, 1, 2, 3), (3, 2, 4, 5)], source="wall")
    solid = replace(solid, finishes={("wall", 0): "brick", ("wall", 1): "boards"})
    wanted = {"brick": finish_of(Pattern.STRETCHER_BOND), "boards": finish_of(Pattern.UPRIGHT_BOARDS)}
    wanted["boards"] = replace(wanted["boards"], way=Way.SCORE)
    outcome = run(solid, replace(PLAIN, finishes=wanted), title="Wall")
    part = next(part for part in outcome.parts if part.dressings)
    heights = {dressing.finish: part.panels[0].stands.apply(dressing.points)[:, 2] for dressing in part.dressings}
    assert heights["brick"].max() <= 30.02 and heights["boards"].min() >= 29.98
    assert outcome.seconds["score"] > 0.0 < outcome.seconds["engrave"]


def test_doors_and_windows_get_soldiers_and_leave_no_bricks_behind_them() -> None:
    outcome = dressed("toll_house", Pattern.STRETCHER_BOND)
    walls = [part for part in outcome.parts if part.kind is PartKind.WALL]
    upright = np.concatenate([lines for part in walls for lines in standing(part, 0.0, level=False).values()])
    tall = np.ptp(upright[:, :, 2], axis=1) > 4.0
    # the door is 45 high: its arch stands on that height, 1 mm off its edge, and ends on a bed
    arch = upright[tall & (np.abs(upright[:, :, 2].min(axis=1) - 46.0) < 0.01)]
    assert len(arch) >= 9 and np.abs(arch[:, :, 2].max(axis=1) / 2.48 % 1.0 - 0.5).min() > 0.49


@pytest.mark.parametrize("walls", [Pattern.FLEMISH_BOND, Pattern.LAPPED_BOARDS, Pattern.RUBBLE, Pattern.TIMBER_FRAME])
def test_no_line_is_drawn_twice(walls: Pattern) -> None:
    for part in dressed("toll_house", walls).parts:
        for dressing in part.dressings:
            pieces = dressing.segments
            drawn = np.hypot(*(pieces[:, 1] - pieces[:, 0]).T).sum()
            # lines are level, upright or lean: on a grid of a micron shapely finds what lies on another line
            once = shapely.union_all(shapely.linestrings(np.round(pieces, 3)), grid_size=0.001).length
            assert once == pytest.approx(drawn, rel=1e-3)


def test_the_same_finish_comes_out_twice_and_another_seed_otherwise() -> None:
    first, other = dressed("grain_store", Pattern.RUBBLE), dressed("grain_store", Pattern.RUBBLE, seed=5)
    again = dress_up(finished("grain_store"), {"tarred boards": finish_of(Pattern.RUBBLE), "slate": SLATES})

    def points(outcome: Dressed) -> np.ndarray:
        return np.concatenate([dressing.points for part in outcome.parts for dressing in part.dressings])

    assert np.array_equal(points(first), points(again))
    assert not np.array_equal(points(first)[:100], points(other)[:100])


def test_a_material_that_is_no_finish_draws_nothing() -> None:
    assert not any(part.dressings for part in dress_up(finished("toll_house"), {"oak": SLATES}).parts)


@pytest.mark.parametrize("pattern", [Pattern.TIMBER_FRAME, Pattern.FLEMISH_BOND])
def test_filled_finishes_are_hatched_off_lattices_and_openings_and_on_cheeks(pattern: Pattern) -> None:
    finish = replace(finish_of(pattern), way=Way.FILL, hatch=0.5)
    made = dress_up(finished("toll_house"), {"timber frame": finish})
    filled = [(part, dressing) for part in made.parts for dressing in part.dressings if dressing.way is Way.FILL]
    kinds = {part.kind for part, _ in filled}
    assert kinds == {PartKind.WALL, PartKind.CHEEK}
    assert {dressing.way for part in made.parts for dressing in part.dressings} == {Way.FILL, Way.ENGRAVE}
    for part, dressing in filled:
        strokes = shapely.linestrings(dressing.segments)
        assert shapely.contains_properly(part.outline.buffer(-0.95, join_style="mitre"), strokes).all()
        for placed in part.lattices:
            assert shapely.distance(Polygon(placed.zone), strokes).min() > 0.95
    # hatching takes the share of the face that the dark units have
    area = (
        sum(float(np.hypot(*np.diff(dressing.segments, axis=1)[:, 0].T).sum()) for _, dressing in filled) * finish.hatch
    )
    whole = sum(part.area for part, _ in filled)
    assert 0.15 < area / whole < 0.55
