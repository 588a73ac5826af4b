"""Caps cover what stays open outside on a roof, and the roof folds as before; solids by manifold3d."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import manifold3d
import numpy as np
import pytest
import shapely
from boards_as_solids import board_solids
from roof_light import light_through_roof
from sample_solids import solid_of
from shapely.geometry import Point, Polygon
from stowfold.geometry.assembly.plan import Stage
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.added import add_building, as_solid
from stowfold.geometry.flow.run import make_parts, run
from stowfold.geometry.fold.fold import fold
from stowfold.geometry.joints.glue_places import find_bearers
from stowfold.geometry.outcome import Outcome, Settings
from stowfold.geometry.paper.gluing import gluing_section
from stowfold.geometry.part import Part, PartKind, standing_corners
from stowfold.geometry.plan.outline import PlanKind
from stowfold.geometry.plan.roof import Roof, RoofKind
from stowfold.geometry.plan.sizes import BuildingSizes
from stowfold.geometry.settings import ClosureSettings
from stowfold.geometry.tolerance import LIGHT
from stowfold.geometry.unfold.peak_holes import peak_holes
from stowfold.geometry.unfold.section import unfold

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH, closure=ClosureSettings(caps=True))

#: Boards nominally touch, so rounding may share a little, mm^3.
TOUCH = 0.5


@cache
def house() -> Outcome:
    return run(solid_of("lock_keepers_house"), SETTINGS, title="Lock-keeper's house")


@cache
def winged_house() -> Outcome:
    """Return a house whose valley meets hips and ridges in points where ears alone leave holes."""
    roof = Roof(RoofKind.HIP, math.radians(40.0))
    sizes = BuildingSizes(PlanKind.L, 9, 7, bar=3, wing=4, roof=roof)
    return make_parts(as_solid(add_building(sizes, SETTINGS)), SETTINGS, title="Toll house").outcome


def caps_of(outcome: Outcome) -> list[Part]:
    return [part for part in outcome.parts if part.kind is PartKind.CAP]


def roof_of(outcome: Outcome) -> Part:
    return next(part for part in outcome.parts if part.kind is PartKind.ROOF)


def test_no_caps_are_cut_unless_they_are_asked_for() -> None:
    assert not ClosureSettings().caps


def test_every_hole_at_a_peak_lies_under_a_plate_or_is_told() -> None:
    outcome = winged_house()
    sections = unfold(outcome.facets, SETTINGS.as_cut)
    boards = tuple(part for part in outcome.parts if part.kind is PartKind.ROOF)
    holes = peak_holes(outcome.facets, replace(sections, parts=boards))
    assert holes
    plates = [cap for cap in caps_of(outcome) if cap.label.startswith("Peak cap")]
    bare = 0
    for point, width in holes.items():
        middle = outcome.facets.points[point]
        over = [
            cap
            for cap in plates
            if Polygon(cap.panels[0].ring).covers(Point(cap.panels[0].stands.back(middle)[:2]).buffer(width / 2 - 0.2))
        ]
        if not over:
            bare += 1
            continue
        faces = standing_corners(over[0], over[0].panels[0]) - middle
        heights = np.abs(faces @ over[0].panels[0].stands.z)
        assert heights.min() == pytest.approx(BIRCH.thickness, abs=1e-3)  # it lies on the outer face of one slope
    # what no plate covers is told, and nothing is told without light
    assert plates and bare < len(holes)
    told = "hole-at-peak" in {finding.code for finding in outcome.findings}
    assert told == bool(peak_holes(outcome.facets, replace(sections, parts=boards), caps_of(outcome)))
    assert told or not bare
    assert light_through_roof(outcome).inner > 1.0 or not told


@pytest.mark.parametrize(("kind", "left"), [(RoofKind.HIP, 2.0), (RoofKind.CROSSING, 1.2)])
def test_caps_close_what_ears_leave_open_at_valleys(kind: RoofKind, left: float) -> None:
    sizes = BuildingSizes(PlanKind.L, 9, 7, bar=3, wing=4, roof=Roof(kind, math.radians(40.0)))
    light = {}
    for settings in (replace(SETTINGS, closure=ClosureSettings()), SETTINGS):
        outcome = make_parts(as_solid(add_building(sizes, settings)), settings, title="Toll house").outcome
        assert outcome.proof.holds
        light[settings.closure.caps] = light_through_roof(outcome)
    assert light[True].inner < left < light[False].inner
    assert light[True].along < LIGHT < light[False].along


def test_seen_from_above_a_strip_hides_the_open_line_below_it() -> None:
    outcome = house()
    strips = [cap for cap in caps_of(outcome) if cap.label.startswith("Roof cap")]
    assert len(strips) == 2
    roof = roof_of(outcome)
    for cap in strips:
        pose, ring = cap.panels[0].stands, cap.panels[0].ring
        seen = Polygon(pose.apply(ring, BIRCH.thickness)[:, :2])  # its glued face, which lies up on the laser
        tops = [panel.stands.apply(panel.ring, BIRCH.thickness * roof.board_side)[:, :2] for panel in roof.panels]
        gap = seen.difference(shapely.union_all([Polygon(top) for top in tops]))
        # what lies under the strip is board on both sides and the open V in the middle of it
        assert gap.area > 50.0
        both = [Polygon(top).intersection(seen).area for top in tops]
        assert sum(area > 1.0 for area in both) == 2


def test_caps_share_no_place_with_boards_at_any_fraction_of_the_fold() -> None:
    outcome = house()
    (move,) = (m for m in outcome.assembly.moves if m.stage is Stage.FOLD and roof_of(outcome).id in m.parts)
    assert move.blocked is None
    roof, borne = roof_of(outcome), {name: panel for name, (_, panel) in find_bearers(outcome.parts).items()}
    flat = fold(roof)
    for fraction in (0.0, 0.3, 0.6, 0.9, 1.0):
        bent = fold(roof, fraction)
        solids = []
        for k, pose in enumerate(bent):
            boards = [replace(roof, panels=(replace(roof.panels[k], stands=pose),), lattices=())]
            boards += [
                replace(cap, panels=(replace(cap.panels[0], stands=pose @ flat[k].inverse() @ cap.panels[0].stands),))
                for cap in caps_of(outcome)
                if borne[cap.id] == k
            ]
            solids.append(manifold3d.Manifold.compose([solid for _, solid in board_solids(boards)]))
        shared = [(a ^ b).volume() for i, a in enumerate(solids) for b in solids[i + 1 :]]
        assert max(shared) < TOUCH, fraction


def test_every_cap_bears_the_line_of_its_boards_edge_and_stands_in_the_guide() -> None:
    outcome = house()
    roof = roof_of(outcome)
    edges = shapely.MultiLineString(
        [np.vstack([ring, ring[:1]]).tolist() for panel in roof.panels for ring in [panel.ring]]
    )
    carried = {name: panel for name, (_, panel) in find_bearers(outcome.parts).items()}
    words = gluing_section(outcome)
    for cap in caps_of(outcome):
        assert cap.score
        stands = roof.panels[carried[cap.id]].stands
        for point in cap.score[0]:
            on_board = stands.back(cap.panels[0].stands.apply(point))[:2]
            # closures are cut on their line; at a peak the board ends at its bends
            assert edges.distance(Point(on_board)) < 0.05
        assert f"<b>{cap.id}</b>" in words
        assert "slope (R1) alone" in cap.notes[0]


def test_caps_add_a_board_to_the_stack() -> None:
    outcome = house()
    bare = run(solid_of("lock_keepers_house"), replace(SETTINGS, closure=ClosureSettings()), title="Bare")
    assert "<h3>Caps</h3>" not in gluing_section(bare)
    assert outcome.proof.holds
    assert outcome.stow.stack_height == pytest.approx(bare.stow.stack_height + BIRCH.thickness)
