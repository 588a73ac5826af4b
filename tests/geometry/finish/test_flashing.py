"""Flashing lines lie where the standing boards of a lower roof meet the wall; planes are cut by trimesh."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
import shapely
import trimesh
from shapely.geometry import LineString, Polygon
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.added import add_building, as_solid
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.outcome import Outcome, Settings
from stowfold.geometry.part import Dressing, FaceUp, Panel, Part, Way
from stowfold.geometry.plan.outline import PlanKind
from stowfold.geometry.plan.roof import Roof, RoofKind
from stowfold.geometry.plan.sizes import BuildingSizes
from stowfold.geometry.plan.wings import Wing
from upstand_samples import house_with, porch_body

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH)


@cache
def winged(kind: RoofKind) -> Outcome:
    wing = Wing(40.0, Roof(kind, math.radians(25.0)))
    roof = Roof(RoofKind.GABLE, math.radians(35.0))
    sizes = BuildingSizes(PlanKind.T, 9, 7, bar=4, wing=4, height=105.0, roof=roof, wings=(wing,))
    return make_parts(as_solid(add_building(sizes, SETTINGS)), SETTINGS, title="Toll house").outcome


def flashings(outcome: Outcome) -> list[tuple[Part, Dressing]]:
    return [(part, dressing) for part in outcome.parts for dressing in part.dressings if dressing.finish == "Flashing"]


def standing(part: Part, points: np.ndarray) -> np.ndarray:
    """Return points of a part, (k, 2) mm, on the outside of its board where it stands."""
    panel = next(panel for panel in part.panels if Polygon(panel.ring).buffer(0.1).covers(LineString(points)))
    return panel.stands.apply(points, part.thickness * part.board_side if part.face_up is FaceUp.OUTSIDE else 0.0)


def slab(part: Part, panel: Panel) -> trimesh.Trimesh:
    body = trimesh.creation.extrude_polygon(Polygon(panel.ring), part.thickness)
    body.apply_translation([0.0, 0.0, 0.0 if part.board_side > 0 else -part.thickness])
    return body.apply_transform(np.vstack([panel.stands.matrix, [0.0, 0.0, 0.0, 1.0]]))


@pytest.mark.parametrize("kind", [RoofKind.GABLE, RoofKind.LEAN_TO])
def test_lines_of_a_wing_lie_under_its_boards_at_the_outer_face_of_the_wall(kind: RoofKind) -> None:
    outcome = winged(kind)
    lines = [standing(part, line) for part, dressing in flashings(outcome) for line in dressing.lines]
    assert lines
    length = sum(float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum()) for line in lines)
    width = 4 * 25.4
    whole = width / math.cos(math.radians(25.0)) if kind is RoofKind.GABLE else width
    assert length == pytest.approx(whole, rel=0.2)  # with the overhang, less the band of a joiner and ends
    wall_y = np.concatenate(lines)[:, 1]
    assert np.ptp(wall_y) < 1e-3
    # a little before the wall the roof's boards are cut by an upright plane: their lower edge runs along the lines
    boards = [slab(p, q) for p in outcome.parts if p.kind == "roof" for q in p.panels]
    before = wall_y[0] + 0.5
    cuts = [board.section(plane_origin=[0.0, before, 0.0], plane_normal=[0.0, 1.0, 0.0]) for board in boards]
    edges = [
        LineString(cut.vertices[entity.points][:, [0, 2]]) for cut in cuts if cut is not None for entity in cut.entities
    ]
    slope = math.tan(math.radians(25.0)) * 0.5 if kind is RoofKind.LEAN_TO else 0.0
    for line in lines:
        middle = shapely.Point(line[:, [0, 2]].mean(axis=0) - [0.0, slope])
        assert min(edge.distance(middle) for edge in edges) < 0.05


def test_lines_are_scored_on_the_outside_clear_of_bends_and_openings() -> None:
    for part, dressing in flashings(winged(RoofKind.GABLE)):
        assert dressing.way is Way.SCORE
        assert part.face_up is FaceUp.OUTSIDE
        bends = shapely.union_all([Polygon(placed.zone) for placed in part.lattices])
        for line in dressing.lines:
            assert LineString(line).distance(bends) > 0.4
            assert part.outline.covers(LineString(line))


def test_a_porch_has_its_line_and_a_house_alone_has_none() -> None:
    alone = BuildingSizes(PlanKind.RECTANGLE, 9, 6, roof=Roof(RoofKind.GABLE, math.radians(35.0)))
    assert not flashings(make_parts(as_solid(add_building(alone, SETTINGS)), SETTINGS, title="House").outcome)
    porch = make_parts(house_with(0.6, porch_body(120, 70, 40, 25, 40)), SETTINGS, title="Porch").outcome
    (line,) = (line for _, dressing in flashings(porch) for line in dressing.lines)
    assert np.hypot(*(line[1] - line[0])) == pytest.approx(70.0, abs=2.0)
