"""Stops under roofs that fall askew to their walls: judged by shapely over the plan, and by the proof."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import Point, Polygon
from slow_cases import one_quick
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.part import Part, PartKind, standing_corners
from stowfold.geometry.solid.solid import Solid, make_solid

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH, propose=Proposal.ALL)
PLAN = np.array([(0.0, 0.0), (180.0, 0.0), (180.0, 120.0), (0.0, 120.0)])


def lean_to(turn: float, slope: float, height: float = 50.0, overhang: float = 6.0) -> Solid:
    """Walls under one slope of its own that rises toward ``turn``, degrees from x."""
    uphill = slope * np.array([np.cos(np.radians(turn)), np.sin(np.radians(turn))])
    low = float((PLAN @ uphill).min())

    def raised(ring: np.ndarray) -> np.ndarray:
        return np.column_stack([ring, height + ring @ uphill - low])

    out = Polygon(PLAN).buffer(overhang, join_style="mitre").exterior.coords[:-1]
    eaves = np.array(out)[::-1]
    points = np.vstack([np.column_stack([PLAN, np.zeros(4)]), raised(PLAN), raised(eaves)])
    faces = [(k, (k + 1) % 4, (k + 1) % 4 + 4, k + 4) for k in range(4)]
    return make_solid(points, [*faces, (8, 9, 10, 11)])


def corners_of(stop: Part) -> np.ndarray:
    """The corners of both faces of a stop in the model, (8, 3) mm."""
    return standing_corners(stop, stop.panels[0])


@pytest.mark.parametrize("turn", one_quick([0.0, 20.0, 45.0, 70.0, 90.0, 200.0], 20.0))
@pytest.mark.parametrize("slope", one_quick([0.2, 0.6]))
def test_a_stop_lies_along_its_wall_however_the_roof_falls(turn: float, slope: float) -> None:
    outcome = run(lean_to(turn, slope), SETTINGS, title="Lean-to")
    stops = [part for part in outcome.parts if part.kind is PartKind.STOP]
    assert stops
    plan = Polygon(PLAN)
    for stop in [stop for stop in stops if not stop.id.endswith("-fin")]:
        away = [plan.exterior.distance(Point(corner)) for corner in corners_of(stop)[:, :2]]
        assert all(plan.contains(Point(corner)) for corner in corners_of(stop)[:, :2])
        # the edge beside the wall keeps its clearance along its whole length
        assert sorted(away)[:2] == pytest.approx([0.8, 0.8])
        # a strip 10 mm wide, no longer than 60
        assert stop.outline.area / 10.0 == pytest.approx(stop.outline.length / 2.0 - 10.0)
        assert stop.outline.area <= 600.0 + 1e-6
    crossing = [finding.message for finding in outcome.findings if finding.code == "boards-cross"]
    assert not [message for message in crossing if " S" in message]


@pytest.mark.parametrize("noise", [1e-5, 1e-4, 1e-3])
@pytest.mark.slow
def test_a_level_roof_has_no_stops_though_its_corners_lie_off_by_rounding(noise: float) -> None:
    level = lean_to(0.0, 0.0)
    points = level.points + np.random.default_rng(1).uniform(-noise, noise, level.points.shape)
    outcome = run(make_solid(points, level.faces), SETTINGS, title="Flat roof")
    assert not [part.id for part in outcome.parts if part.kind is PartKind.STOP]
    told = {finding.code for finding in outcome.findings if finding.severity is Severity.ERROR}
    assert "part-too-small" not in told
