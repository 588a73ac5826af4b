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
from stowfold.geometry.part import Part, PartKind

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
        for each in part.dressings:
            for panel in part.panels:
                own = shapely.contains_xy(Polygon(panel.ring).buffer(0.01), each.segments.mean(axis=1))
                found.append((part, panel.stands.apply(each.segments[own])))
    return found


def test_a_line_on_the_front_runs_over_its_joiner_and_stops_at_the_door(store) -> None:
    # along the front wall, 30 mm high, from end to end: the door is at 52 to 82, the hatch at 168 to 190
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
    assert (51.0, 83.0) in gaps and (167.0, 191.0) in gaps
    assert all(high - low < 1.01 for low, high in gaps if 105.0 < low < 150.0)


def test_a_drawing_on_no_wall_is_told_and_draws_nothing(store) -> None:
    away = np.array([[60.0, -40.0, 30.0], [90.0, -40.0, 30.0]])
    parts, (told,) = draw_own(*store, (OwnDrawing("Sign", (away,)),))
    # 40 mm before the door, whose jamb is 7 mm aside
    assert told.code == "drawing-off-walls" and f"'Sign' is {np.hypot(40.0, 7.0):.1f} mm from" in told.message
    assert not any(part.dressings for part in parts)
    _, (empty,) = draw_own(*store, (OwnDrawing("Empty", ()),))
    assert "has no lines" in empty.message


def test_a_million_points_that_cross_themselves_are_drawn_within_the_wall(store) -> None:
    turn = np.linspace(0.0, 900.0 * np.pi, 200_000)
    scribble = np.column_stack([150.0 + 200.0 * np.sin(1.013 * turn), np.full(len(turn), -1.0), 30 + 60 * np.cos(turn)])
    start = time.process_time()
    parts, findings = draw_own(*store, (OwnDrawing("Scribble", (scribble,)),))
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
