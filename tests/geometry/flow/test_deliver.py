"""From a solid to files on disk: what is written, what is left alone, what proposals promise."""

from __future__ import annotations

import json
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from parts_by_hand import Waiting
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import UnreadableError
from stowfold.geometry.findings import Severity, worst
from stowfold.geometry.flow.deliver import deliver
from stowfold.geometry.flow.limits import largest_piece
from stowfold.geometry.flow.run import run
from stowfold.geometry.joints.joiner import make_joiners
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.proof.prove import prove
from stowfold.geometry.propose.breaks import propose_breaks
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, Solid, make_solid
from stowfold.geometry.tolerance import PROOF_DOUBLE
from stowfold.geometry.unfold.section import unfold

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH)


def ring(length: float = 230.0, width: float = 150.0, height: float = 62.0) -> Solid:
    """Four walls, four flex corners and no break: a loop that no flat board can make."""
    low = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]
    points = np.array([(x, y, z) for z in (0.0, height) for x, y in low])
    faces = [(i, (i + 1) % 4, (i + 1) % 4 + 4, i + 4) for i in range(4)]
    return make_solid(points, faces, roles={(i, i + 4): Role.FLEX for i in range(4)})


GOOD = replace(SETTINGS, propose=Proposal.BREAKS)


@pytest.fixture(scope="module")
def good():
    return run(ring(), GOOD, title="Lock")


@pytest.fixture(scope="module")
def bad():
    return run(ring(), SETTINGS, title="Lock")


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def test_a_building_that_holds_is_delivered_whole(good, tmp_path: Path) -> None:
    assert worst(good.findings) is not Severity.ERROR
    written = deliver(good, tmp_path, date="2026-01-02")
    names = {path.name for path in written}
    assert names == {sheet.file for sheet in good.layout.sheets} | {
        "report.json",
        "guide.html",
        "overview.pdf",
        "mock-up.pdf",
    }
    report = json.loads((tmp_path / "report.json").read_text(encoding="utf-8"))
    assert {part["id"] for part in report["parts"]} == {part.id for part in good.parts}
    assert {sheet["file"] for sheet in report["layout"]["sheets"]} == names - {
        "report.json",
        "guide.html",
        "overview.pdf",
        "mock-up.pdf",
    }


@pytest.mark.slow
def test_the_same_building_gives_the_same_files(good, tmp_path: Path) -> None:
    again = run(ring(), GOOD, title="Lock")
    for outcome, name in ((good, "a"), (again, "b")):
        deliver(outcome, tmp_path / name, date="2026-01-02")
    assert contents(tmp_path / "a") == contents(tmp_path / "b")


@pytest.mark.slow
def test_an_error_writes_no_sheets_and_leaves_earlier_ones(good, bad, tmp_path: Path) -> None:
    deliver(good, tmp_path)
    (tmp_path / "notes.txt").write_text("ours")
    before = contents(tmp_path)
    written = deliver(bad, tmp_path)
    after = contents(tmp_path)
    assert {path.name for path in written} == {"guide.html", "report.json"}
    assert {name for name in before if after[name] != before[name]} <= {"guide.html", "report.json"}
    codes = {load["code"] for load in json.loads(after["report.json"])["findings"]}
    assert "flex-loop-without-break" in codes


@pytest.mark.slow
def test_anyway_replaces_sheets_of_an_earlier_run(good, bad, tmp_path: Path) -> None:
    deliver(good, tmp_path)
    (tmp_path / "sheet-of-mine.svg").write_text("<svg/>")
    deliver(bad, tmp_path, anyway=True)
    sheets = {path.name for path in tmp_path.glob("sheet-*.svg")}
    assert sheets == {sheet.file for sheet in bad.layout.sheets} | {"sheet-of-mine.svg"}


@pytest.mark.slow
def test_what_fails_while_drawing_leaves_the_folder_as_it_was(
    good, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    deliver(good, tmp_path)
    before = contents(tmp_path)

    def fail(*_: object, **__: object) -> str:
        raise ArithmeticError("torn")

    monkeypatch.setattr("stowfold.geometry.flow.deliver.render_guide", fail)
    with pytest.raises(ArithmeticError):
        deliver(good, tmp_path)
    assert contents(tmp_path) == before


@pytest.mark.slow
def test_a_folder_that_is_a_file_is_one_sentence(good, tmp_path: Path) -> None:
    (tmp_path / "cut").write_text("mine")
    with pytest.raises(UnreadableError) as refusal:
        deliver(good, tmp_path / "cut")
    assert "\n" not in str(refusal.value)
    assert (tmp_path / "cut").read_text() == "mine"


@pytest.mark.slow
def test_progress_only_ever_grows() -> None:
    progress = Waiting()
    run(ring(), GOOD, title="Lock", progress=progress)
    told = progress.told
    assert told == sorted(told) and told[-1] == 1.0


@settings(max_examples=15, deadline=None)
@given(length=st.floats(150.0, 1100.0), width=st.floats(120.0, 900.0), height=st.floats(50.0, 110.0))
@pytest.mark.slow
def test_proposed_breaks_open_every_ring_and_fit_the_sheet(length: float, width: float, height: float) -> None:
    solid = ring(length, width, height)
    largest = largest_piece(BIRCH, SETTINGS.lasers)
    proposed = propose_breaks(find_facets(solid), SETTINGS, largest=largest)
    assert proposed.findings == ()
    facets = find_facets(proposed.put_on(solid))
    sections = unfold(facets, SETTINGS)
    made = make_joiners(facets, sections, SETTINGS)
    assert worst((*sections.findings, *made.findings)) in (None, Severity.NOTE, Severity.WARNING)
    assert len(sections.parts) == len(made.joiners) >= 1
    for part in sections.parts:
        assert part.size[0] <= max(largest) + 1e-6 and part.size[1] <= min(largest)
    parts = (*sections.parts, *made.parts)
    proof = prove(facets, sections, parts, made.joiners, (), SETTINGS, limit=PROOF_DOUBLE)
    assert proof.holds and proof.loop_gap is not None
    # no choice has fewer breaks than the board is longer than the sheet
    flat = 2 * (length + width) + sum(bend.gain for bend in sections.setbacks.bends.values())
    taken = SETTINGS.joiner.core_width + 2 * SETTINGS.joiner.gap
    assert len(made.joiners) >= flat / (max(largest) + taken) - 1e-9


@pytest.mark.slow
def test_a_case_is_cut_with_the_building_and_told_in_the_guide(tmp_path: Path) -> None:
    outcome = run(ring(), replace(GOOD, case=True), title="Lock")
    assert outcome.case is not None
    kinds = {part.kind.value for part in outcome.pieces} - {part.kind.value for part in outcome.parts}
    assert kinds == {"case"}
    assert {placement.part for placement in outcome.layout.placements} == {part.id for part in outcome.pieces}
    # every stowed part lies within the case, by its own longest and shortest sides
    for part in outcome.parts:
        assert max(part.size) <= max(outcome.case.inner) and min(part.size) <= sorted(outcome.case.inner)[1]
    deliver(outcome, tmp_path)
    report = json.loads((tmp_path / "report.json").read_text())
    assert {part["kind"] for part in report["parts"]} >= {"case"}
    jsonschema.validate(
        report, json.loads((files("stowfold.geometry.paper") / "report.schema.json").read_text(encoding="utf-8"))
    )
    assert "carrying case" in (tmp_path / "guide.html").read_text()
