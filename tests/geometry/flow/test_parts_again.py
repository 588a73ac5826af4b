"""Parts cut again: files of these parts alone, read by another library and compared with the building's own."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import svgelements
from read_sheets import OPERATIONS
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.flow.deliver import deliver
from stowfold.geometry.flow.recut import deliver_again
from stowfold.geometry.flow.recut_parts import cut_again
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Settings
from stowfold.geometry.sheet.grain_arrow import SHEET_MARKS
from stowfold.geometry.sheet.layout_wishes import LayoutWishes, Pin
from stowfold.geometry.solid.solid import Role, make_solid

#: svgelements gives px; CSS Values and Units Module Level 3, absolute lengths: 1in = 2.54cm = 96px.
MM = 25.4 / 96


@pytest.fixture(scope="module")
def settings():
    birch = find_stock("birch-plywood-3", read_stocks())
    return Settings(birch, birch, birch, birch)


def ring():
    """Walls of 230 x 150 x 60 mm: four flex corners, a break in the middle of each long wall."""
    plan = [(0, 0), (115, 0), (230, 0), (230, 150), (115, 150), (0, 150)]
    points = np.array([(x, y, z) for z in (0.0, 60.0) for x, y in plan], dtype=float)
    faces = [(k, (k + 1) % 6, 6 + (k + 1) % 6, 6 + k) for k in range(6)]
    roles = {(k, 6 + k): Role.BREAK if k in (1, 4) else Role.FLEX for k in range(6)}
    return make_solid(points, faces, roles=roles, source="Boat shed")


@pytest.fixture(scope="module")
def outcome(settings):
    return run(ring(), settings, title="Boat shed")


def lines_of(files):
    """Return every part's drawn length per group, mm, in all files: what does not change by turning or shifting."""
    found: dict[tuple[str, str], float] = {}
    for path in files:
        groups = svgelements.SVG.parse(str(path)).select(lambda element: isinstance(element, svgelements.Group))
        for group in (group for group in groups if group.id in OPERATIONS):
            for shape in group.select(lambda element: isinstance(element, svgelements.Path)):
                key = group.id, shape.id.rsplit("-", 1)[0]
                if key[1] != SHEET_MARKS:
                    found[key] = found.get(key, 0.0) + shape.length(error=1e-6) * MM
    return found


def test_the_files_hold_these_parts_as_they_were_drawn_before(outcome, tmp_path: Path):
    written = deliver(outcome, tmp_path)
    sheets = [path for path in written if path.name.startswith("sheet-")]
    before = {path: path.read_bytes() for path in written}
    again = cut_again(outcome, ["W1", "J2-inner"])
    files = deliver_again(again, tmp_path, date="2026-01-02")
    assert [path.name for path in files] == ["again-01-birch-plywood-3.svg"]
    drawn, whole = lines_of(files), lines_of(sheets)
    assert {part for _, part in drawn} == {"W1", "J2-inner"}
    assert drawn == {key: pytest.approx(whole[key], abs=0.05) for key in whole if key[1] in ("W1", "J2-inner")}
    assert {path: path.read_bytes() for path in written} == before


@pytest.mark.slow
def test_earlier_files_of_that_name_give_way_and_edited_ones_stay(outcome, tmp_path: Path):
    everything = [part.id for part in outcome.parts]
    small = Laser(bed=(420.0, 180.0))
    many = run(ring(), replace(outcome.settings, laser=small), title="Boat shed")
    for edited in (False, True):
        first, second = deliver_again(cut_again(many, everything), tmp_path)
        if edited:
            second.write_text(second.read_text() + "<!-- my notes -->")
        assert deliver_again(cut_again(many, ["J1-core"]), tmp_path) == (first,)
        assert sorted(tmp_path.iterdir()) == ([first, second] if edited else [first])


@pytest.mark.slow
def test_pins_of_the_first_sheets_do_not_hold_on_new_ones(settings):
    free = run(ring(), settings, title="Boat shed")
    (lying,) = (placement for placement in free.layout.placements if placement.part == "J1-core")
    pinned = replace(settings, layout=LayoutWishes(pins=(replace(Pin.of(lying), shift=(500.0, 200.0)),)))
    there = run(ring(), pinned, title="Boat shed")
    assert any(placement.part == "J1-core" and placement.shift[0] == 500.0 for placement in there.layout.placements)
    (again,) = cut_again(there, ["J1-core"]).layout.placements
    assert again.shift[0] < 100.0


def test_offcuts_are_used_first(outcome, settings):
    wishes = LayoutWishes(offcuts={"birch-plywood-3": ((400.0, 60.0), (170.0, 120.0))})
    again = cut_again(replace(outcome, settings=replace(settings, layout=wishes)), ["J1-outer"])
    assert [(sheet.offcut, sheet.size) for sheet in again.layout.sheets] == [(True, (170.0, 120.0))]


@pytest.mark.slow
def test_a_part_goes_to_the_laser_that_cut_it_before(settings):
    large, small = Laser("large", "large laser"), Laser("small", "small laser", bed=(150.0, 150.0), kerf=0.3)
    wishes = LayoutWishes(lasers={"J1-core": "small"})
    outcome = run(ring(), replace(settings, laser=large, other_lasers=(small,), layout=wishes), title="Boat shed")
    assert {sheet.laser.name for sheet in outcome.layout.sheets} == {"small", "large"}
    for name, laser, kerf in (("J1-core", "small", 0.3), ("J2-core", "large", settings.walls.kerf)):
        (again,) = cut_again(outcome, [name]).layout.sheets
        assert (again.laser.name, again.stock.kerf) == (laser, kerf)


def test_nothing_chosen_and_unknown_parts_are_one_sentence(outcome):
    with pytest.raises(BadSettingError, match="choose at least one"):
        cut_again(outcome, [])
    with pytest.raises(BadSettingError, match=r"has no part X9; its parts are .*W1"):
        cut_again(outcome, ["W1", "X9"])
