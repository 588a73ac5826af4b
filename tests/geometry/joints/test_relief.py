"""Boards that would cross are notched: judged by the solids of manifold3d, and by shadows worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from boards_as_solids import board_solids, shared_volumes
from hips_by_rectangles import PLANS, house
from parts_by_hand import make_part, make_stock
from shapely.geometry import Polygon, box
from slow_cases import one_quick
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.unfolding import unfold_solid
from stowfold.geometry.fold.collide import prisms
from stowfold.geometry.joints.held_roof import hold_roofs
from stowfold.geometry.joints.joiner import make_joiners
from stowfold.geometry.joints.relief import RELIEF_AIR, relieve, relieve_boards, shadow
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.part import Part, PartKind, plain_panel
from stowfold.geometry.pose import Pose
from stowfold.geometry.solid.solid import Solid, make_solid

BIRCH = make_stock()
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH, propose=Proposal.ALL)

#: What two boards of a building may share and still pass for boards that touch, mm^3: OVERLAP deep over a square cm.
TOUCH = 0.1

#: The plane x = 0 seen from +x: y to the right, z up, so that the board grows toward +x.
FACING_X = Pose.of((0, 1, 0), (0, 0, 1), (1, 0, 0), (0, 0, 0))


def _board(name: str, outline: Polygon, stands: Pose, kind: PartKind = PartKind.WALL) -> Part:
    return replace(make_part(name, outline), kind=kind, panels=(plain_panel(outline, stands),))


def _gable_askew(rise: float) -> Solid:
    """Walls over a rhomb-like plan under a gable whose ridge meets no wall squarely."""
    plan = np.array([(0.0, 0.0), (160.0, 10.0), (140.0, 110.0), (-10.0, 90.0)])
    slope, middle = rise / 50.0, 55.0
    tops: list[tuple[float, float]] = []
    for here, there in zip(plan, np.roll(plan, -1, axis=0), strict=True):
        tops.append((float(here[0]), float(here[1])))
        if (here[1] - middle) * (there[1] - middle) < 0.0:
            cut = here + (there - here) * (middle - here[1]) / (there[1] - here[1])
            tops.append((float(cut[0]), middle))
    height = {top: 60.0 + slope * (55.0 - abs(top[1] - middle)) for top in tops}
    points = [(x, y, 0.0) for x, y in plan.tolist()] + [(x, y, height[x, y]) for x, y in tops]
    at = {top: 4 + k for k, top in enumerate(tops)}
    corners = [at[x, y] for x, y in plan.tolist()]
    faces = []
    for k in range(4):
        start, end = corners[k], corners[(k + 1) % 4]
        run_over = [4 + j % len(tops) for j in range(start - 4, (end - 4) + (len(tops) if end < start else 0) + 1)]
        faces.append((k, (k + 1) % 4, *reversed(run_over)))
    rim = len(points)
    points += [(x, y, 60.0 + slope * (55.0 - abs(y - middle))) for x in (-16.0, 166.0) for y in (-6.0, middle, 116.0)]
    faces += [(rim, rim + 3, rim + 4, rim + 1), (rim + 1, rim + 4, rim + 5, rim + 2)]
    return make_solid(points, faces, roles={})


def _check(solid: Solid) -> None:
    """Hold that all that stands of a building, with stops and closures, shares no place, and is all there."""
    settings = SETTINGS.as_cut
    unfolded = unfold_solid(solid, SETTINGS)
    sections, joiners, _ = relieve_boards(
        unfolded.sections,
        make_joiners(unfolded.facets, unfolded.sections, settings),
        settings,
        deeper=settings.proof_limit,
    )
    stops, closures = hold_roofs(unfolded.facets, sections, joiners.parts, settings)
    parts = (*sections.parts, *joiners.parts, *stops, *closures.parts)
    assert {part.kind for part in parts} >= {PartKind.WALL, PartKind.ROOF, PartKind.STOP, PartKind.CHEEK}
    assert not [finding for finding in sections.findings if finding.severity is Severity.ERROR]
    shared = shared_volumes(board_solids(parts))
    assert max(shared.values(), default=0.0) < TOUCH, shared


@pytest.mark.parametrize("plan", one_quick(["L", "Z", "T", "U"]))
def test_boards_under_hips_and_valleys_share_no_place(plan: str) -> None:
    """Walls bend round inner corners under valleys, where a top lowered for a straight wall is too high."""
    _check(house(PLANS[plan]))


@pytest.mark.parametrize("rise", one_quick([70.0, 30.0]))
def test_a_gable_whose_ridge_is_askew_to_its_walls_lets_the_roof_lie(rise: float) -> None:
    _check(_gable_askew(rise))


def test_the_solids_see_a_crossing() -> None:
    """The oracle itself: two boards of 3 mm at right angles that cross share a bar of 3 x 3 x 20 mm."""
    boards = [
        _board("A", box(-30, 0, 30, 20), FACING_X),
        _board("B", box(0, 0, 50, 20), Pose.of((1, 0, 0), (0, 0, 1), (0, -1, 0), (0, 0, 0))),
    ]
    (volume,) = shared_volumes(board_solids(boards)).values()
    assert volume == pytest.approx(180.0)


def test_a_shadow_is_what_lies_in_the_layer() -> None:
    """A cube that leans into the layer at 45 degrees: its edge along x reaches 2 mm in, so it covers 4 mm of width."""
    root = 2.0**-0.5
    leaning = Pose.of((1, 0, 0), (0, root, root), (0, -root, root), (10.0, 20.0, 1.0))
    covered = shadow(Pose.identity(), (0.0, 3.0), prisms(box(0, 0, 8, 8), leaning, 0.0, 8.0))
    assert covered.bounds == pytest.approx((10.0, 18.0, 18.0, 22.0), abs=2e-3)
    assert covered.area == pytest.approx(32.0, abs=0.05)


def test_a_wall_gives_way_to_a_roof_and_by_no_more_than_it_must() -> None:
    """A level roof of 3 mm lies 2 mm too low on a wall: the wall loses 2 mm all along, and air."""
    wall = _board("W1", box(0, 0, 60, 50), FACING_X)
    roof = _board("R1", box(-30, -20, 30, 90), Pose.identity().moved_to((0.0, 0.0, 48.0)), PartKind.ROOF)
    relief = relieve((wall, roof), SETTINGS)
    assert relief.parts[1] is roof
    left = Polygon(relief.parts[0].panels[0].ring)
    assert left.bounds == pytest.approx((0.0, 0.0, 60.0, 48.0 - RELIEF_AIR), abs=2e-3)
    assert relief.parts[0].outline.area == pytest.approx(left.area)
    assert relief.parts[0].panels[0].corners is wall.panels[0].corners
    (note,) = relief.findings
    assert note.severity is Severity.NOTE and note.code == "notched-board" and "2.0 mm" in note.message
    assert not shared_volumes(board_solids(relief.parts))


def test_all_notched_boards_are_told_the_deepest_first() -> None:
    """A level roof lies 1 mm too low on one wall and 2 mm on another one."""
    walls = [
        _board(name, box(start, 0, start + 60, top), FACING_X) for name, top, start in (("W1", 49, 0), ("W2", 50, 80))
    ]
    roof = _board("R1", box(-30, -20, 30, 170), Pose.identity().moved_to((0.0, 0.0, 48.0)), PartKind.ROOF)
    (note,) = relieve((*walls, roof), SETTINGS).findings
    assert "(W2) is notched up to 2.0 mm deep where R1 passes it, and so is W1 by 1.0 mm;" in note.message
    assert note.where.part == "W2"


@pytest.mark.parametrize("pitch", [1.5, 6.0, 35.0, 70.0])
@pytest.mark.parametrize("turn", [0.0, 8.0, 40.0])
def test_nothing_is_left_of_a_crossing_however_sharp_its_tips(pitch: float, turn: float) -> None:
    """A slope of any pitch, turned against the wall, whose lower edge passes 1.5 mm below the wall's top."""
    tilt, yaw = np.radians(pitch), np.radians(turn)
    ahead = np.array([np.sin(yaw), np.cos(yaw), 0.0])
    up_slope = ahead * np.cos(tilt) + np.array([0.0, 0.0, np.sin(tilt)])
    aside = np.array([np.cos(yaw), -np.sin(yaw), 0.0])
    stands = Pose.of(aside, up_slope, np.cross(aside, up_slope), (0.0, 30.0, 48.5))
    roof = _board("R1", box(-60, 0, 60, 90), stands, PartKind.ROOF)
    wall = _board("W1", box(0, 0, 60, 50), FACING_X)
    before = shared_volumes(board_solids((wall, roof)))
    assert sum(before.values()) > 1.0
    relief = relieve((wall, roof), SETTINGS)
    assert relief.parts[1] is roof
    assert sum(shared_volumes(board_solids(relief.parts)).values()) < 1e-6


@pytest.mark.parametrize("pitch", [3.0, 12.0, 25.0])
def test_nothing_is_left_of_a_crossing_with_many_narrow_boards(pitch: float) -> None:
    """A comb whose teeth of 0.6 mm dip into a wall's top, as the links of a bent lattice do."""
    tilt = np.radians(pitch)
    up_slope = np.array([0.0, np.cos(tilt), np.sin(tilt)])
    stands = Pose.of((1, 0, 0), up_slope, np.cross((1, 0, 0), up_slope), (0.0, 30.0, 49.9))
    teeth = [box(-20, k, 20, k + 0.6) for k in range(12)]
    comb = shapely.union_all([box(-25, 0, -20, 12), *teeth])
    roof = _board("R1", comb, stands, PartKind.ROOF)
    wall = _board("W1", box(0, 0, 60, 50), FACING_X)
    relief = relieve((wall, roof), SETTINGS)
    assert relief.parts[0] is not wall and relief.parts[1] is roof
    assert sum(shared_volumes(board_solids(relief.parts)).values()) < 1e-6


def test_boards_that_only_touch_stay_as_they_are() -> None:
    wall = _board("W1", box(0, 0, 60, 50), FACING_X)
    roof = _board("R1", box(-30, -20, 30, 90), Pose.identity().moved_to((0.0, 0.0, 50.0)), PartKind.ROOF)
    relief = relieve((wall, roof), SETTINGS)
    assert relief.parts == (wall, roof) and not relief.findings


def test_a_board_through_the_middle_of_another_one_is_left_for_the_proof() -> None:
    """A chimney's wall through a slope is no matter of edges: a slot of 3 mm lies 30 mm and more from its edges."""
    wall = _board("W1", box(0, 0, 30, 80), FACING_X)
    roof = _board("R1", box(-40, -40, 60, 80), Pose.identity().moved_to((0.0, 0.0, 40.0)), PartKind.ROOF)
    relief = relieve((wall, roof), SETTINGS)
    assert relief.parts == (wall, roof)
