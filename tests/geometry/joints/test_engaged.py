"""How deep stops reach, measured by trimesh's rays and closed forms, and what is told where a roof would slide off."""

from __future__ import annotations

import math

import numpy as np
import pytest
from sample_runs import outcome_of
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.fit.clearances import JointKind
from stowfold.geometry.joints.engaged import SHALLOW, check_stops, engagement
from stowfold.geometry.part import PartKind

BIRCH = find_stock("birch-plywood-3", read_stocks())
PITCH = math.atan2(8.0, 12.0)


@pytest.fixture(scope="module")
def store():
    return outcome_of("grain_store")


def test_fins_and_strips_beside_gables_reach_as_deep_as_they_are_drawn(store):
    """A fin 3 mm, whatever the pitch; a strip its own thickness square to the slope."""
    found = engagement(store.facets, store.parts)
    assert {stop.out for stop in found} == {(0.0, -1.0), (0.0, 1.0), (1.0, 0.0), (-1.0, 0.0)}
    assert [stop.depth for stop in found] == pytest.approx([3.0] * len(found), abs=1e-3)
    assert not check_stops(store.facets, store.parts)


def test_a_strip_alone_reaches_what_the_closed_form_says(store):
    """t cos p - (t + c) tan p: 0.16 mm at 8 in 12 with c = 0.5, by the height of its lowest corner at the wall."""
    parts = [part for part in store.parts if not part.id.endswith("-fin")]
    eaves = [stop for stop in engagement(store.facets, parts) if abs(stop.out[1]) > 0.5]
    t, c = BIRCH.thickness, store.settings.eaves.stop_clearance
    expected = t * math.cos(PITCH) - (t + c) * math.tan(PITCH)
    # the lowest corner stands further before the wall, by the slant of the strip's edge
    assert all(stop.depth == pytest.approx(expected, abs=1e-3) for stop in eaves if stop.depth > 0.0)
    told = check_stops(store.facets, parts)
    assert {finding.code for finding in told} == {"stop-shallow"} and len(told) == 2
    assert all(f"where {SHALLOW:g} mm hold" in finding.message for finding in told)


def test_cheeks_under_the_roof_clear_it_in_real_boards(store):
    """Corner by corner: an outer cheek moved out by the thickest boards, card and paint lies under the slope."""
    cheeks = [joint for joint in store.fit.joints if joint.kind is JointKind.CHEEK]
    assert len(cheeks) == 2 * len(store.joiners)
    assert all(joint.least > -0.15 for joint in cheeks) and all(joint.share > 0.98 for joint in cheeks)
    slopes = [panel for part in store.parts if part.kind is PartKind.ROOF for panel in part.panels]
    over, card = 0.29, store.joiners[0].shim
    for joiner in store.joiners:
        outer = next(part for part in store.parts if part.id == joiner.cheeks[0])
        panel = outer.panels[0]
        corners = np.vstack([panel.stands.apply(panel.ring, z) for z in (0.0, outer.thickness)])
        middle = store.facets.points.mean(axis=0)
        away = panel.stands.z if panel.stands.z @ (corners.mean(axis=0) - middle) > 0 else -panel.stands.z
        moved = corners + away * (over + card / 2 + 0.08)
        heights = []
        for slope in slopes:
            n, origin = slope.stands.z, slope.stands.origin
            heights.append(origin[2] - ((moved[:, :2] - origin[:2]) @ n[:2]) / n[2])
        # a gable's underside is the lower of its two slopes
        assert (np.min(heights, axis=0) - moved[:, 2]).min() > -1e-6
