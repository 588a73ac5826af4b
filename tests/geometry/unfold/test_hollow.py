"""Boards in a hollow: whichever gives way, shapely finds them touching and not crossing in the cross-section."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from shapely.affinity import rotate
from shapely.geometry import box
from slow_cases import one_quick
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.solid.facets import Edge, Facets
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Solid, make_solid
from stowfold.geometry.unfold.corner import parted_setback
from stowfold.geometry.unfold.hollow import hollow_setback
from stowfold.geometry.unfold.setbacks import find_narrow

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH)
THICKNESS = 3.0


def grooved(width: float, flare: float) -> Solid:
    """Return a block with a groove 20 mm deep in its back, ``width`` wide at its bottom and wider at its mouth."""
    half = width / 2
    plan = [(0, 0), (120, 0), (120, 80), (60 + half + flare, 80), (60 + half, 60), (60 - half, 60)]
    plan += [(60 - half - flare, 80), (0, 80)]
    count = len(plan)
    points = np.array([(x, y, z) for z in (0.0, 50.0) for x, y in plan], dtype=float)
    sides = [(k, (k + 1) % count, (k + 1) % count + count, k + count) for k in range(count)]
    return make_solid(points, [*sides, tuple(range(count - 1, -1, -1)), tuple(range(count, 2 * count))])


def hollow_edge(facets: Facets) -> Edge:
    return next(edge for edge in facets.edges if edge.angle < -0.1)


@pytest.mark.parametrize("degrees", [15, 40, 70, 90, 110, 140])
@pytest.mark.parametrize("runs_on", [0, 1, None])
def test_boards_in_a_hollow_touch_and_do_not_cross(degrees: float, runs_on: int | None) -> None:
    facets = find_facets(grooved(30.0, 8.0))
    edge = replace(hollow_edge(facets), angle=-math.radians(degrees))
    pair = facets.pair(edge)
    narrow = frozenset() if runs_on is None else frozenset({pair[runs_on].id})
    one, two = (hollow_setback(edge, facet, narrow, thickness=THICKNESS) for facet in pair)
    # one board lies along x, the other one leans over it by what is left of a straight line
    lying = box(one, 0.0, 100.0, THICKNESS)
    leaning = rotate(box(two, -THICKNESS, 100.0, 0.0), 180 - degrees, origin=(0.0, 0.0))
    assert lying.intersection(leaning).area < 1e-9
    assert lying.distance(leaning) < 1e-9
    if runs_on is not None:
        assert (one, two)[runs_on] < parted_setback(edge.angle, thickness=THICKNESS)


@pytest.mark.parametrize("way", one_quick([Proposal.NONE, Proposal.ALL]))
@pytest.mark.parametrize("width", one_quick([4.0, 5.0, 20.0]))
def test_a_groove_narrower_than_two_boards_is_cut_and_proved(width: float, way: Proposal) -> None:
    solid = grooved(width, 8.0)
    facets = find_facets(solid)
    narrow = find_narrow(facets, SETTINGS.as_cut)
    assert len(narrow) == (width < 4.1)
    outcome = run(solid, replace(SETTINGS, propose=way), title="Grain store")
    assert not [finding.code for finding in outcome.findings if finding.severity is Severity.ERROR]
    assert outcome.proof.holds
    assert {panel.facet for part in outcome.parts for panel in part.panels} >= narrow
