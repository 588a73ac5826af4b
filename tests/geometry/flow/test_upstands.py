"""Dormers and chimneys through the whole flow: proved, held by tabs in slots, in report, guide and box."""

from __future__ import annotations

import itertools
import json
import math
from importlib.resources import files

import jsonschema
import numpy as np
import pytest
from board_solids import standing_solid
from shapely.geometry import Polygon
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.findings import Finding, Severity
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Outcome, Proposal, Settings
from stowfold.geometry.paper.guide import render_guide
from stowfold.geometry.paper.report import build_report, dump_report
from stowfold.geometry.part import PartKind
from stowfold.geometry.solid.solid import Solid, join_solids
from upstand_samples import EAVES, WIDTH, chimney_body, dormer_body, gable_house, house_with, roof_with_dormer

PITCH = math.radians(40.0)
RISE = math.tan(PITCH)


def settings() -> Settings:
    board = find_stock("birch-plywood-3", read_stocks())
    return Settings(board, board, board, board, propose=Proposal.ALL)


def cut(solid: Solid) -> Outcome:
    return run(solid, settings(), title="Toll house")


def told(outcome: Outcome) -> list[Finding]:
    """All that is said of the roof and what stands on it, and all that is wrong."""
    return [
        finding
        for finding in outcome.findings
        if finding.severity is not Severity.NOTE or finding.code.startswith("upstand")
    ]


@pytest.fixture(scope="module")
def both() -> Outcome:
    """A gable house with a chimney on its rear slope and a gabled dormer on its front one."""
    return cut(
        house_with(
            PITCH,
            chimney_body((60, WIDTH - 45), (30, 24), 80, 170),
            dormer_body(140, 25, 60, EAVES + 25 * RISE, 18, math.radians(30), 50),
        )
    )


def test_a_house_with_a_dormer_and_a_chimney_is_cut_and_proved(both: Outcome) -> None:
    assert told(both) == []
    assert both.proof.holds and not both.hold.pieces
    upstands = [part for part in both.parts if part.kind is PartKind.UPSTAND]
    assert [part.body for part in upstands] == ["D1"] * 5 + ["C1"] * 5
    assert {part.label for part in upstands} == {
        *(f"Dormer 1, {side}" for side in ("front", "left side", "right side", "left slope", "right slope")),
        *(f"Chimney 1, {side}" for side in ("front", "back", "left side", "right side", "top")),
    }
    assert [part.id for part in both.parts if part.kind is PartKind.ROOF] == ["R1"]
    assert both.layout.placements and {placed.part for placed in both.layout.placements} >= {p.id for p in upstands}


def test_tabs_of_upstands_fit_their_slots_in_the_roof(both: Outcome) -> None:
    by_id = {part.id: part for part in both.parts}
    roof = by_id["R1"]
    assert sorted(by_id[tab.part].label for tab in both.roof_tabs) == [
        "Chimney 1, left side", "Chimney 1, right side", "Dormer 1, left side", "Dormer 1, right side",
    ]  # fmt: skip
    assert len(roof.outline.interiors) == 4 == sum(len(panel.holes) for panel in roof.panels)
    zones = [Polygon(lattice.zone) for lattice in roof.lattices]
    for tab in both.roof_tabs:
        # seen square to the slope the tab lies in the slot with half of the play on every side
        top = roof.board_side * roof.thickness
        panel = next(p for p in roof.panels if np.abs(p.stands.back(tab.slot)[:, 2] - top).max() < 1e-9)
        inner, outer = (Polygon(panel.stands.back(rect)[:, :2]) for rect in (tab.tab, tab.slot))
        assert outer.contains(inner)
        assert inner.exterior.distance(outer.exterior) == pytest.approx(tab.play[0] / 2)
        assert min(zone.distance(outer) for zone in zones) > 3.0
        # the tip stays within the roof's board
        depth = panel.stands.back(tab.tab + tab.reach)[:, 2]
        assert depth == pytest.approx(roof.board_side * settings().ground.tab_short)


def test_the_cut_outline_of_a_wall_has_its_tab_beyond_its_panel(both: Outcome) -> None:
    lengths = {tab.part: float(np.linalg.norm(tab.tab[1] - tab.tab[0])) for tab in both.roof_tabs}
    assert {round(length, 6) for length in lengths.values()} <= {15.0, 10.5}
    for part in both.parts:
        if part.kind is PartKind.UPSTAND:
            beyond = part.outline.area - Polygon(part.panels[0].ring, part.panels[0].holes).area
            # 0.2 mm shorter than the roof's 3 mm, both corners tapered by 1.25 mm
            tab = lengths[part.id] * 2.8 - 1.25**2 if part.id in lengths else 0.0
            assert beyond == pytest.approx(tab, abs=1e-6)


def test_glued_boards_meet_at_every_corner_and_share_nothing(both: Outcome) -> None:
    # a dormer has seven edges between its five faces, a capped chimney eight
    for name, corners in (("D1", 7), ("C1", 8)):
        bodies = [standing_solid(part) for part in both.parts if part.body == name]
        pairs = list(itertools.combinations(bodies, 2))
        assert max((one ^ two).volume() for one, two in pairs) < 1e-2
        assert sum(one.min_gap(two, 100.0) < 1e-3 for one, two in pairs) >= corners


def test_report_and_guide_tell_of_upstands(both: Outcome) -> None:
    schema = json.loads((files("stowfold.geometry.paper") / "report.schema.json").read_text(encoding="utf-8"))
    report = json.loads(dump_report(build_report(both)))
    jsonschema.Draft202012Validator(schema).validate(report)
    assert sum(tab["floor"] == "R1" for tab in report["tabs"]) == 4
    guide = render_guide(both)
    assert "Press the 2 tabs of <b>D1</b> (Dormer 1) into the slots of <b>R1</b>." in guide
    assert "<h3>Dormers and chimneys</h3>" in guide


def test_a_glued_dormer_is_stored_as_one_piece(both: Outcome) -> None:
    stored = {name for layer in both.stow.layers for name in layer}
    assert {"D1", "C1", "R1"} <= stored and not any("-" in name for name in stored)
    assert both.stow.box[2] > 30.0


def test_a_dormer_in_the_roofs_own_surface_is_cut_and_proved() -> None:
    outcome = cut(join_solids([gable_house(PITCH), roof_with_dormer(PITCH, 120, 25, 60, 20, math.radians(35))]))
    assert told(outcome) == [] and outcome.proof.holds
    assert sum(part.kind is PartKind.UPSTAND for part in outcome.parts) == 5 and len(outcome.roof_tabs) == 2


@pytest.mark.slow
def test_a_chimney_on_the_bend_of_the_ridge_is_told_to_be_glued() -> None:
    outcome = cut(house_with(PITCH, chimney_body((70, WIDTH / 2), (30, 30), 100, 190)))
    (finding,) = told(outcome)
    assert finding.code == "upstand-without-tabs" and finding.message.endswith("; glue it on")
    assert outcome.proof.holds


@pytest.mark.slow
def test_a_chimney_beside_the_bend_is_told_how_far_to_move() -> None:
    near = cut(house_with(PITCH, chimney_body((70, WIDTH / 2 - 10), (30, 16), 100, 190)))
    (finding,) = told(near)
    assert finding.code == "upstand-without-tabs" and "mm down the slope" in finding.message
    way = float(finding.message.split("move it ")[1].split(" mm")[0])
    level = way * math.cos(PITCH)
    moved = cut(house_with(PITCH, chimney_body((70, WIDTH / 2 - 10 - level), (30, 16), 90, 190)))
    assert told(moved) == [] and len(moved.roof_tabs) == 2
