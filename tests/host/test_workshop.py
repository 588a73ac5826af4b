"""The workshop in the window: pieces on the shelf, cuts entered once, times noted, speeds taken and undone."""

from __future__ import annotations

import os
import tomllib
from dataclasses import replace

import bpy
import pytest
from host_window import do, keep_step, redo, undo
from stowfold.geometry.beam.laser import Operation
from stowfold.geometry.sheet.offcut_list import KeptPiece
from stowfold.host import reading, workshop
from stowfold.host.laser_library import laser_in
from stowfold.jobs import results

BIRCH = "birch-plywood-3"


def ours():
    return bpy.context.scene.stowfold


def shelf():
    return [(piece.stock, piece.length, piece.width, piece.count) for piece in workshop.OFFCUTS.value.pieces]


@pytest.fixture
def checked(checked_ring):
    """The outcome of a small ring of walls, all of the first birch."""
    return results.for_object(checked_ring).outcome


# Offcuts


def test_pieces_are_added_by_hand_and_removed_one_by_one(own_folder):
    for _ in range(2):
        bpy.ops.stowfold.add_offcut(stock=BIRCH, length=240.0, width=180.5, note=' "\U0001f6f6" shed\\ ')
    bpy.ops.stowfold.add_offcut(stock=BIRCH, length=90.0, width=60.0, count=3)
    assert shelf() == [(BIRCH, 240.0, 180.5, 2), (BIRCH, 90.0, 60.0, 3)]
    with (own_folder / "offcuts.toml").open("rb") as file:
        assert tomllib.load(file)["piece"][0]["note"] == '"\U0001f6f6" shed\\'
    first, second = workshop.OFFCUTS.value.pieces
    for _ in range(2):
        assert bpy.ops.stowfold.remove_offcut(key=first.key) == {"FINISHED"}
    assert shelf() == [(BIRCH, 90.0, 60.0, 3)]
    with pytest.raises(RuntimeError, match="not on the list any more"):
        bpy.ops.stowfold.remove_offcut(key=first.key)
    for _ in range(3):
        bpy.ops.stowfold.remove_offcut(key=second.key)
    assert not (own_folder / "offcuts.toml").exists()


@pytest.mark.slow
def test_offcuts_reach_the_layout_only_when_they_are_wanted(checked):
    bpy.ops.stowfold.add_offcut(stock=BIRCH, length=590.0, width=290.0, count=2)
    bpy.ops.stowfold.add_offcut(stock="cast-acrylic-3", length=590.0, width=290.0)
    assert reading.read_settings(bpy.context.scene).layout.offcuts == {}
    results.refresh_staleness(bpy.context.scene)
    assert not results.latest().stale
    keep_step()
    ours().use_offcuts = True
    assert reading.read_settings(bpy.context.scene).layout.offcuts == {BIRCH: ((590.0, 290.0),) * 2}
    results.refresh_staleness(bpy.context.scene)
    assert results.latest().stale
    bpy.ops.stowfold.check()
    sheets = results.latest().outcome.layout.sheets
    assert [sheet.offcut for sheet in sheets] == [True] * len(sheets)
    assert sheets[0].size == (590.0, 290.0)


def test_a_cut_takes_the_piece_that_it_used_and_brings_what_it_left_but_once(own_folder, checked):
    bpy.ops.stowfold.add_offcut(stock=BIRCH, length=590.0, width=290.0)
    ours().use_offcuts = True
    bpy.ops.stowfold.check()
    outcome = results.latest().outcome
    assert [sheet.offcut for sheet in outcome.layout.sheets] == [True]
    assert bpy.ops.stowfold.keep_offcuts(note="shed") == {"FINISHED"}
    after = shelf()
    assert (BIRCH, 590.0, 290.0, 1) not in after
    assert after, "a ring of small walls leaves a large piece"
    assert all(length <= 590.0 and width <= 290.0 for _, length, width, _ in after)
    text = (own_folder / "offcuts.toml").read_text()
    with pytest.raises(RuntimeError, match=r"This cut was entered on .* already; tick Cut Once More"):
        bpy.ops.stowfold.keep_offcuts()
    # not after another check either, which lays the same parts on what is left now
    bpy.ops.stowfold.check()
    with pytest.raises(RuntimeError, match="already"):
        bpy.ops.stowfold.keep_offcuts()
    assert (own_folder / "offcuts.toml").read_text() == text
    # a second set of the same walls is another cut, if the maker says so
    assert bpy.ops.stowfold.keep_offcuts(again=True) == {"FINISHED"}
    assert (own_folder / "offcuts.toml").read_text() != text


def test_pieces_that_are_not_wanted_are_not_kept(checked):
    assert bpy.ops.stowfold.keep_offcuts(keep=(False,) * 32) == {"FINISHED"}
    assert shelf() == []
    with pytest.raises(RuntimeError, match="already"):
        bpy.ops.stowfold.keep_offcuts()


def test_there_is_nothing_to_keep_or_note_before_a_check(add_ring):
    add_ring()
    for name in ("keep_offcuts", "note_time"):
        with pytest.raises(RuntimeError, match="No sheets are known; choose Check Building first"):
            getattr(bpy.ops.stowfold, name)()


@pytest.mark.parametrize("name", ["offcuts.toml", "times.toml"])
@pytest.mark.slow
def test_a_torn_file_is_one_sentence_and_is_left_as_it_is(own_folder, checked, name):
    own_folder.mkdir(parents=True, exist_ok=True)
    torn = "[[piece]\nstock ="
    (own_folder / name).write_text(torn)
    assert reading.read_settings(bpy.context.scene).layout.offcuts == {}
    ours().use_offcuts = True
    if name == "offcuts.toml":
        # whole sheets in the place of the pieces that were asked for would cost board
        with pytest.raises(RuntimeError, match=r"is not valid TOML.*Mend it, or switch off Use Offcuts"):
            bpy.ops.stowfold.check()
        ours().use_offcuts = False
    bpy.ops.stowfold.check()
    said = (workshop.OFFCUTS if name == "offcuts.toml" else workshop.TIMES).trouble
    assert "is not valid TOML" in said and "left as it is" in said
    if name == "offcuts.toml":
        calls = (
            (bpy.ops.stowfold.add_offcut, {"stock": BIRCH}),
            (bpy.ops.stowfold.keep_offcuts, {}),
            (bpy.ops.stowfold.remove_offcut, {"key": "x"}),
        )
    else:
        calls = (
            (bpy.ops.stowfold.note_time, {"sheet": 1, "minutes": 20}),
            (bpy.ops.stowfold.use_times, {"stock": BIRCH}),
            (bpy.ops.stowfold.delete_time, {"key": "x"}),
        )
    for operator, values in calls:
        with pytest.raises(RuntimeError, match="is not valid TOML"):
            operator(**values)
    assert (own_folder / name).read_text() == torn
    assert [file.name for file in own_folder.iterdir()] == [name]


def test_a_file_in_the_place_of_the_folder_is_one_sentence(own_folder, checked):
    own_folder.write_text("")
    for operator, values in (
        (bpy.ops.stowfold.add_offcut, {"stock": BIRCH}),
        (bpy.ops.stowfold.note_time, {"sheet": 1, "minutes": 20}),
    ):
        with pytest.raises(RuntimeError, match="is a file, not a folder"):
            operator(**values)


def test_a_read_only_folder_is_one_sentence(own_folder, checked):
    own_folder.mkdir(parents=True, mode=0o500)
    if os.access(own_folder, os.W_OK):
        pytest.skip("this user may write anywhere")
    with pytest.raises(RuntimeError, match="may not be written to"):
        bpy.ops.stowfold.add_offcut(stock=BIRCH)
    with pytest.raises(RuntimeError, match="may not be written to"):
        bpy.ops.stowfold.note_time(sheet=1, minutes=20)


def test_a_piece_of_a_board_that_is_gone_is_still_listed_and_never_used():
    workshop.OFFCUTS.change(lambda shelf: shelf.with_piece(KeptPiece("gone-4", 300.0, 200.0)))
    ours().use_offcuts = True
    assert reading.read_settings(bpy.context.scene).layout.offcuts == {}
    assert workshop.label_of("gone-4") == "gone-4"


# Times


def note(outcome, share, sheet=1):
    """Note that a sheet took so many times its estimate."""
    took = round(outcome.sheet_seconds[sheet - 1]["total"] * share)
    assert bpy.ops.stowfold.note_time(sheet=sheet, minutes=took // 60, seconds=took % 60) == {"FINISHED"}


def told(outcome):
    """What is said of an estimate of these sheets with the speeds of now."""
    laser = laser_in(bpy.context.scene)
    return workshop.told_by(bpy.context.scene, [replace(sheet, laser=laser) for sheet in outcome.layout.sheets])


def speeds():
    laser = laser_in(bpy.context.scene)
    return {operation: feed.speed for operation, feed in laser.feeds.items()}


def test_a_noted_time_is_kept_and_deleted(own_folder, checked):
    note(checked, 1.5)
    note(checked, 1.5)
    (first, _) = workshop.TIMES.value
    sheet = checked.layout.sheets[0]
    assert (first.laser, first.stock, first.sheet, first.title) == ("hobby", BIRCH, sheet.file, "Boat shed")
    assert first.seconds == round(checked.sheet_seconds[0]["total"] * 1.5)
    assert first.besides == pytest.approx(checked.sheet_seconds[0]["travel"])
    # both are the same to the second: one goes at a time
    assert bpy.ops.stowfold.delete_time(key=first.key) == {"FINISHED"}
    assert len(workshop.TIMES.value) == 1
    bpy.ops.stowfold.delete_time(key=first.key)
    assert not (own_folder / "times.toml").exists()
    with pytest.raises(RuntimeError, match="not in the log any more"):
        bpy.ops.stowfold.delete_time(key=first.key)


def test_times_that_cannot_be_are_refused(checked):
    with pytest.raises(RuntimeError, match="cannot have taken 3 s"):
        bpy.ops.stowfold.note_time(sheet=1, seconds=3)
    with pytest.raises(RuntimeError, match="There is no sheet 9; the last check has 1"):
        bpy.ops.stowfold.note_time(sheet=9, minutes=3)
    assert workshop.TIMES.value == ()


@pytest.mark.slow
def test_noted_times_become_speeds_and_are_undone_and_done_again(checked):
    for share in (1.52, 1.47, 1.5):
        note(checked, share)
    before = speeds()
    keep_step()
    assert do(bpy.ops.stowfold.use_times, stock=BIRCH) == {"FINISHED"}
    after = speeds()
    assert after[Operation.OUTER] == pytest.approx(before[Operation.OUTER] / 1.5, rel=0.1)
    # a few glue places are all that is scored, so the notes say next to nothing about it
    assert after[Operation.SCORE] == pytest.approx(before[Operation.SCORE], rel=0.01)
    assert told(checked) == " (from 3 notes)"
    undo()
    assert speeds() == before
    assert told(checked) == ""
    redo()
    assert speeds() == after
    # the next check estimates what was noted
    bpy.ops.stowfold.check()
    estimated = results.latest().outcome.sheet_seconds[0]["total"]
    assert estimated == pytest.approx(1.5 * checked.sheet_seconds[0]["total"], rel=0.03)
    # and the same notes say the same again
    do(bpy.ops.stowfold.use_times, stock=BIRCH)
    assert speeds() == after


def test_speeds_set_by_hand_no_longer_claim_to_rest_on_notes(checked):
    note(checked, 1.5)
    bpy.ops.stowfold.use_times(stock=BIRCH)
    assert told(checked) == " (from 1 note)"
    # what was estimated with the speeds of before does not rest on them
    assert workshop.told_by(bpy.context.scene, checked.layout.sheets) == ""
    sheet = replace(checked.layout.sheets[0], laser=laser_in(bpy.context.scene))
    acrylic = replace(sheet, stock=replace(sheet.stock, name="cast-acrylic-3"))
    assert workshop.told_by(bpy.context.scene, [acrylic]) == ""
    assert workshop.told_by(bpy.context.scene, [sheet, acrylic]) == " (partly from 1 note)"
    ours().laser.slit_speed = 9.0
    assert told(checked) == ""


def test_only_notes_of_this_laser_and_board_are_used(checked):
    note(checked, 1.5)
    bpy.ops.stowfold.take_laser(laser="diode")
    assert workshop.noted_stocks(laser_in(bpy.context.scene)) == {}
    with pytest.raises(RuntimeError, match="no note of a sheet of this board on the laser diode"):
        bpy.ops.stowfold.use_times(stock=BIRCH)
    bpy.ops.stowfold.take_laser(laser="hobby")
    assert workshop.noted_stocks(laser_in(bpy.context.scene)) == {BIRCH: 1}
    with pytest.raises(RuntimeError, match="no note"):
        bpy.ops.stowfold.use_times(stock="cast-acrylic-3")


def test_times_that_contradict_one_another_change_nothing(checked):
    before = speeds()
    note(checked, 0.3)
    note(checked, 3.0)
    with pytest.raises(RuntimeError, match="contradict one another"):
        bpy.ops.stowfold.use_times(stock=BIRCH)
    assert speeds() == before


def test_the_comparison_shows_what_notes_change_and_how_sure_it_is(checked):
    note(checked, 2.0)
    learned = workshop.work_out(bpy.context.scene, BIRCH)
    rows = {change.label: change for change in workshop.compare(bpy.context.scene, learned)}
    assert {"Cutting", "Slits", "Engraving", "Scoring", "Pierce"} == set(rows)
    assert rows["Cutting"].now == 6.0
    assert rows["Cutting"].after == pytest.approx(3.0, rel=0.1)
    assert 0.0 < rows["Cutting"].spread < rows["Cutting"].after
    bpy.ops.stowfold.use_times(stock=BIRCH)
    again = {change.label: change for change in workshop.compare(bpy.context.scene, learned)}
    assert all(change.now == pytest.approx(change.after, rel=1e-6) for change in again.values())


def test_odd_titles_and_names_come_back_as_they_were(checked, own_folder):
    kept = workshop.TIMES.change
    note(checked, 1.2)
    odd = replace(workshop.TIMES.value[0], title="a/b\\c \"q\" '\u05d0' \U0001f6f6\n", laser="it's [one]")
    kept(lambda notes: (*notes, odd))
    assert workshop.TIMES.value[1] == odd
    assert workshop.TIMES.trouble is None
