"""The maker's own lines: on the wall that they lie against, over its joiner, cut by openings and edges."""

from __future__ import annotations

import time
from dataclasses import replace

import numpy as np
import pytest
import shapely
from sample_solids import solid_of
from shapely.geometry import LineString, Polygon
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.finish.own import OwnDrawing, draw_own
from stowfold.geometry.flow.unfolding import unfold_solid
from stowfold.geometry.joints.joiner import make_joiners
from stowfold.geometry.outcome import Settings
from stowfold.geometry.part import Part, PartKind, Way

BIRCH = find_stock("birch-plywood-3", read_stocks())
PLAIN = Settings(BIRCH, BIRCH, BIRCH, BIRCH)


@pytest.fixture(scope="module")
def store():
    """The grain store's facets, sections, joiners and plain parts."""
    unfolded = unfold_solid(solid_of("grain_store"), PLAIN)
    joiners = make_joiners(unfolded.facets, unfolded.sections, PLAIN)
    return (
        unfolded.facets,
        unfolded.sections,
        joiners.joiners,
        (*unfolded.sections.parts, *joiners.parts),
    )


def standing(parts: tuple[Part, ...]) -> list[tuple[Part, np.ndarray]]:
    """All drawn pieces of parts where they stand in the model, (n, 2, 3) mm, on the modelled faces."""
    found = []
    for part in parts:
        for dressing in part.dressings:
            for panel in part.panels:
                own = shapely.contains_xy(Polygon(panel.ring).buffer(0.01), dressing.segments.mean(axis=1))
                found.append((part, panel.stands.apply(dressing.segments[own])))
    return found


def test_a_line_on_the_front_runs_over_its_joiner_and_stops_at_the_door(store) -> None:
    # along the front wall, 30 mm high, from end to end: the door is at 45.5 to 81.5, the hatch at 166.8 to 188.8
    stroke = np.array([[15.0, -2.0, 30.0], [215.0, -2.0, 30.0]])
    parts, findings = draw_own(*store, (OwnDrawing("Line", (stroke,)),))
    assert findings == ()
    drawn = standing(parts)
    assert {part.kind for part, lines in drawn if len(lines)} == {PartKind.WALL, PartKind.CHEEK}
    lines = np.concatenate([lines for _, lines in drawn])
    assert np.abs(lines[:, :, 2] - 30.0).max() < 1e-9
    covered = shapely.union_all(shapely.linestrings(lines[:, :, 0:1] * [1.0, 0.0]))
    # 1 mm off door, hatch and lattices; the joiner at 127 shows on its cheek, 28 of 30 mm wide
    missing = LineString([(15.0, 0.0), (215.0, 0.0)]).difference(covered.buffer(1e-6))
    gaps = sorted((round(gap.bounds[0], 1), round(gap.bounds[2], 1)) for gap in missing.geoms)
    assert (44.5, 82.5) in gaps and (165.8, 189.8) in gaps
    assert all(high - low < 1.01 for low, high in gaps if 105.0 < low < 150.0)


def test_a_drawing_on_no_wall_is_told_and_draws_nothing(store) -> None:
    away = np.array([[60.0, -40.0, 30.0], [90.0, -40.0, 30.0]])
    parts, (told,) = draw_own(*store, (OwnDrawing("Sign", (away,)),))
    # 40 mm before the door, whose jamb is 6.5 mm aside
    assert told.code == "drawing-off-walls" and f"'Sign' is {np.hypot(40.0, 6.5):.1f} mm from" in told.message
    assert not any(part.dressings for part in parts)
    _, (empty,) = draw_own(*store, (OwnDrawing("Empty", ()),))
    assert "has no lines" in empty.message


def test_a_million_points_that_cross_themselves_are_drawn_within_the_wall(store) -> None:
    turn = np.linspace(0.0, 900.0 * np.pi, 200_000)
    scribble = np.column_stack([150.0 + 200.0 * np.sin(1.013 * turn), np.full(len(turn), -1.0), 30 + 60 * np.cos(turn)])
    start = time.process_time()
    parts, findings = draw_own(*store, (OwnDrawing("Scribble", (scribble[:400_000],)),))
    assert findings == () and time.process_time() - start < 20.0
    dressed = [part for part in parts if part.dressings]
    assert dressed
    for part in dressed:
        lines = shapely.multilinestrings([shapely.linestrings(line) for line in part.dressings[0].lines])
        assert part.outline.buffer(1e-6).covers(lines)


def test_drawings_are_the_same_by_what_they_hold() -> None:
    stroke = np.zeros((3, 3))
    assert OwnDrawing("A", (stroke,)) == OwnDrawing("A", (stroke.copy(),))
    assert OwnDrawing("A", (stroke,)) != OwnDrawing("A", (stroke + 1.0,))
    assert replace(PLAIN, drawings=(OwnDrawing("A", (stroke,)),)) == replace(
        PLAIN, drawings=(OwnDrawing("A", (stroke.copy(),)),)
    )


def circle(x: float, z: float, radius: float, count: int = 90) -> np.ndarray:
    turn = np.linspace(0.0, 2 * np.pi, count + 1)
    return np.column_stack([x + radius * np.cos(turn), np.full(count + 1, -1.0), z + radius * np.sin(turn)])


def test_closed_lines_are_filled_and_what_two_of_them_enclose_is_bare(store) -> None:
    # a ring over the joiner at 127, whose cheek and walls share it
    ring = OwnDrawing("Ring", (circle(127.0, 30.0, 20.0), circle(127.0, 30.0, 12.0)), Way.FILL)
    open_line = OwnDrawing("Line", (np.array([[95.0, -1.0, 55.0], [160.0, -1.0, 55.0]]),), Way.FILL)
    parts, findings = draw_own(*store, (ring, open_line))
    assert findings == ()
    filled = [(part, dressing) for part in parts for dressing in part.dressings if dressing.way is Way.FILL]
    assert {dressing.finish for _, dressing in filled} == {"Ring"}
    assert {part.kind for part, _ in filled} == {PartKind.WALL, PartKind.CHEEK}
    assert {dressing.way for part in parts for dressing in part.dressings if dressing.finish == "Line"} == {Way.ENGRAVE}
    strokes = [shapely.transform(shapely.linestrings(line), lambda xy: xy) for _, one in filled for line in one.lines]
    area = sum(stroke.length for stroke in strokes) * ring.hatch
    # 1 mm off the cheek's edges, and 0.5 mm of the wall under each: the rest is a ring of radii 12 and 20
    whole = Polygon(circle(0, 0, 20.0)[:, [0, 2]], [circle(0, 0, 12.0)[:, [0, 2]]])
    shown = whole.area - 2 * whole.intersection(shapely.box(14.0, -50, 15.0, 50)).area
    assert area == pytest.approx(shown, rel=0.04)
    for part, dressing in filled:
        zones = [Polygon(placed.zone) for placed in part.lattices]
        for line in dressing.lines:
            assert part.outline.covers(shapely.linestrings(line))
            assert all(zone.distance(shapely.linestrings(line)) >= 0.999 for zone in zones)


@pytest.mark.parametrize(
    ("strokes", "code", "words"),
    [
        ((np.zeros((5, 3)),), "drawing-off-walls", "has no lines"),
        (
            (np.array([[60.0, -1.0, 50.0], [np.nan, 0.0, 0.0], [90.0, -1.0, 50.0]]),),
            "drawing-not-clear",
            "a point that",
        ),
        (
            (circle(127, 30, 10), circle(500, 30, 10)),
            "drawing-off-walls",
            "1 of 2 lines of drawing 'X' is 267.0 mm",
        ),  # from the corner of the eaves at 234.6, -6, 58
        ((np.full((4, 3), np.inf),), "drawing-not-clear", "4 points that are no number"),
    ],
)
def test_what_is_wrong_with_a_drawing_is_told(store, strokes, code: str, words: str) -> None:
    parts, findings = draw_own(*store, (OwnDrawing("X", strokes, Way.FILL),))
    told = next(finding for finding in findings if finding.code == code)
    assert words in told.message and len(told.message) < 140
    assert all(np.isfinite(dressing.points).all() for part in parts for dressing in part.dressings)


def test_a_line_is_parted_where_a_point_is_no_number(store) -> None:
    stroke = np.array(
        [[100.0, -1.0, 50.0], [110.0, -1.0, 50.0], [np.nan] * 3, [140.0, -1.0, 50.0], [150.0, -1.0, 50.0]]
    )
    parts, _ = draw_own(*store, (OwnDrawing("X", (stroke,)),))
    lines = np.concatenate([lines for _, lines in standing(parts)])
    assert np.hypot(*np.diff(lines, axis=1)[:, 0, [0, 2]].T).sum() == pytest.approx(20.0, abs=1.1)


@pytest.mark.slow
def test_a_million_points_come_out_right_or_are_told(store) -> None:
    count = 1_000_000
    x = np.linspace(90.0, 160.0, count)
    scribble = np.column_stack([x, np.full(count, -1.0), np.tile([10.0, 58.0], count // 2)])
    start = time.process_time()
    strokes = (np.concatenate([scribble[:8_000], scribble[:1]]),)
    parts, findings = draw_own(*store, (OwnDrawing("Zigzag", strokes, Way.FILL),))
    (told,) = findings
    assert told.code == "drawing-not-clear" and "cannot be filled" in told.message
    assert any(part.dressings for part in parts)
    # all of it would be black, and what makes lines simpler calls itself once for a point
    parts, (told,) = draw_own(*store, (OwnDrawing("Zigzag", (scribble[::3][:330_000],)),))
    assert "left out: it has " in told.message and not any(part.dressings for part in parts)
    # thousands of lines from one point
    rays = 30.0 * np.column_stack([np.cos(x), np.zeros(count), np.sin(x)])[::200, None] * [[[0.0], [1.0]]]
    parts, findings = draw_own(*store, (OwnDrawing("Rays", tuple(rays + np.array([127.0, -1.0, 30.0]))),))
    assert findings == () and sum(len(dressing.starts) for part in parts for dressing in part.dressings) > 4_500
    # a wave of a million points of which a few hundred are needed
    wave = scribble.copy()
    wave[:, 2] = 30.0 + 10.0 * np.sin(x)
    parts, findings = draw_own(*store, (OwnDrawing("Wave", (wave,)),))
    assert findings == () and sum(len(dressing.points) for part in parts for dressing in part.dressings) < 3000
    assert time.process_time() - start < 20.0
