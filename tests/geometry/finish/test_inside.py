"""Finishes on the room side: walls bare outside are turned over, inner cheeks run on, and both faces are never cut."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from sample_solids import solid_of
from shapely.geometry import Polygon
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.finish.finish import Pattern, finish_of
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.outcome import Outcome, Settings
from stowfold.geometry.part import FaceUp, Part, PartKind

BIRCH = find_stock("birch-plywood-3", read_stocks())
BRICK = replace(finish_of(Pattern.STRETCHER_BOND), frames=False)
PLAIN = Settings(BIRCH, BIRCH, BIRCH, BIRCH, inside_finish="brick", finishes={"brick": BRICK})


@pytest.fixture(scope="module")
def inside() -> Outcome:
    return make_parts(solid_of("toll_house"), PLAIN, title="Toll house").outcome


def standing(part: Part) -> np.ndarray:
    """The lines of a part on its upper face as it stands, (n, 2, 3) mm."""
    lines = np.concatenate([dressing.segments for dressing in part.dressings])
    up = max(0.0, part.board_side * part.thickness)
    found = [np.empty((0, 2, 3))]
    for panel in part.panels:
        own = shapely.contains_xy(Polygon(panel.ring, panel.holes), lines.mean(axis=1))
        found.append(panel.stands.apply(lines[own], up))
    return np.concatenate(found)


def test_bare_walls_are_turned_over_and_drawn_on_the_room_side(inside: Outcome) -> None:
    assert inside.proof.holds
    assert not [finding for finding in inside.findings if finding.code in ("inside-left-out", "proof-fails")]
    dressed = [part for part in inside.parts if part.dressings]
    assert {part.kind for part in dressed} == {PartKind.WALL, PartKind.CHEEK}
    assert {part.face_up for part in dressed} == {FaceUp.ROOM}
    plan = Polygon([(0, 0), (203.2, 0), (203.2, 76.2), (101.6, 76.2), (101.6, 177.8), (0, 177.8)])
    for part in dressed:
        points = shapely.points(standing(part)[:, 0, :2])
        off = shapely.distance(plan.exterior, points)
        # walls bear it on their modelled face, inner cheeks 3 mm into the room
        assert off.max() - off.min() < 1e-6 and off[0] == pytest.approx(3.0 * (part.kind is PartKind.CHEEK), abs=1e-6)
        assert plan.buffer(1e-6).covers(shapely.multipoints(points))
        lines = shapely.linestrings(np.concatenate([dressing.segments for dressing in part.dressings]))
        assert part.outline.covers(shapely.multilinestrings(lines))


def test_beds_and_joints_run_on_over_inner_cheeks(inside: Outcome) -> None:
    parts = {part.id: part for part in inside.parts}
    for joiner in inside.joiners:
        way = inside.facets.facets[joiner.end_facets[0]].frame.u
        normal = inside.facets.facets[joiner.end_facets[0]].frame.n
        middle = joiner.line[0]
        places, rows, heights = [], [], []
        for name in (joiner.cheeks[1], *joiner.ends):
            lines = standing(parts[name])
            near = np.abs((lines - middle) @ normal).max(axis=1) < 3.1
            lines = lines[near & (np.abs((lines - middle) @ way).max(axis=1) < 60.0)]
            rise = np.ptp(lines[:, :, 2], axis=1)
            heights.append(lines[rise < 1e-6, 0, 2])
            joints = lines[np.abs(rise - 2.48) < 1e-3]
            places.append(joints[:, 0] @ way)
            rows.append(np.rint(joints[:, :, 2].min(axis=1) / 2.48) % 2)
        beds = np.concatenate(heights) / 2.48
        assert np.abs(beds - np.rint(beds)).max() * 2.48 < 0.01
        brick = float(np.median(np.diff(np.unique(np.round(places[0][rows[0] == 0], 6)))))
        phase = np.concatenate(places) / brick - np.concatenate(rows) / 2
        about = np.angle(np.exp(2j * np.pi * phase).mean()) / (2 * np.pi)
        assert len(phase) > 50
        assert np.abs(np.mod(phase - about + 0.5, 1.0) - 0.5).max() * brick < 0.01


def test_walls_with_lines_outside_stay_and_are_told() -> None:
    solid = solid_of("toll_house")
    named = dict.fromkeys(
        ((solid.sources[source], face) for face, source in zip(solid.face_ids, solid.face_sources, strict=True)),
        "boards",
    )
    finishes = {"brick": BRICK, "boards": finish_of(Pattern.UPRIGHT_BOARDS)}
    outcome = make_parts(replace(solid, finishes=named), replace(PLAIN, finishes=finishes), title="Both").outcome
    (told,) = [finding for finding in outcome.findings if finding.code == "inside-left-out"]
    assert "'brick' is left out on the room side" in told.message
    assert {dressing.finish for part in outcome.parts for dressing in part.dressings} == {"boards"}
    assert {part.face_up for part in outcome.parts if part.dressings} == {FaceUp.OUTSIDE}
