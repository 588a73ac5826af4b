"""The log of times: written and read again, torn files, whose notes count, and what is said of them."""

from __future__ import annotations

import tomllib
from dataclasses import replace

import pytest
from parts_by_hand import make_building, make_stock
from stowfold.geometry.beam.feeds import expected_seconds
from stowfold.geometry.beam.laser import Feed, Laser, Operation
from stowfold.geometry.beam.time_log import learn_feeds, notes_for, read_times, sentences, write_times
from stowfold.geometry.errors import BadSettingError, UnreadableError
from stowfold.geometry.sheet.layout import lay_out
from stowfold.geometry.sheet.times import expected_sheets, job_of, note_sheet, sheet_seconds

BIRCH = "birch-plywood-3"
#: All cuts at half the speed, with a longer pierce.
SLOW = {
    operation: replace(feed, speed=feed.speed / 2, pierce=2 * feed.pierce) if feed.pierce else feed
    for operation, feed in Laser().feeds.items()
}


@pytest.fixture(scope="module")
def building():
    parts = make_building()
    layout = lay_out(parts, {BIRCH: make_stock()}, Laser())
    return layout, {part.id: part for part in parts}


@pytest.fixture(scope="module")
def take(building):
    """A function that notes a sheet as a laser with slow cuts takes it, give or take a share."""
    layout, parts = building

    def take(index=0, share=1.0, date="2026-04-01", title="Grain store"):
        as_cut = replace(
            layout, sheets=tuple(replace(sheet, laser=replace(sheet.laser, feeds=SLOW)) for sheet in layout.sheets)
        )
        took = sheet_seconds(as_cut, index, parts)["total"]
        return note_sheet(layout, index, parts, took * share, date=date, title=title)

    return take


@pytest.mark.slow
def test_a_job_takes_what_was_estimated_where_the_feeds_are_right(building):
    layout, parts = building
    for index, sheet in enumerate(layout.sheets):
        job = job_of(layout, index, parts, 9999.0)
        assert expected_seconds(job, sheet.laser) == pytest.approx(sheet_seconds(layout, index, parts)["total"])


def test_sheets_are_expected_to_take_what_they_take_with_other_feeds(building, take):
    layout, parts = building
    right = sum(take(index).seconds for index in range(len(layout.sheets)))
    slow = replace(Laser(), feeds=SLOW)
    assert expected_sheets(layout, parts, slow, BIRCH) == pytest.approx(right, rel=1e-3)
    assert expected_sheets(layout, parts, slow, "basswood-3") == 0.0
    assert expected_sheets(layout, parts, replace(slow, name="shed"), BIRCH) == 0.0


def test_notes_are_read_as_they_were_written_by_us_and_by_python(tmp_path, take):
    odd = take(title='The "Gull" \\ \x01\x7f \U0001f6f6 \u05d1')
    notes = (take(), odd, replace(take(), laser="a/b 'c'", sheet="sheet-01.svg\n"))
    path = tmp_path / "own" / "times.toml"
    write_times(path, notes)
    assert read_times(path) == notes
    assert [time.key for time in read_times(path)] == [note.key for note in notes]
    assert len({note.key for note in notes}) == 3
    with path.open("rb") as file:
        raw = tomllib.load(file)["job"]
    assert raw[1]["title"] == odd.title
    assert raw[0]["work"]["outer"]["length"] == notes[0].work[Operation.OUTER].length
    write_times(path, ())
    assert not path.exists()
    assert read_times(path) == ()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda text: text.replace("[[job]]", "[[job]"), "is not valid TOML"),
        (lambda text: text.replace("[[job]]", "[[jobs]]"), "holds 'jobs'"),
        (lambda text: text.replace('laser = "hobby"\n', ""), "Job 1 of .* lacks the value laser"),
        (lambda text: text.replace("seconds = ", "seconds = -"), "seconds = -.*; it must be a number of 0 or more"),
        (lambda text: text.replace("seconds = ", "minutes = "), "minutes = .*; known are the texts"),
        (lambda text: text.replace("besides = ", "besides = 1e9 # "), "cannot be used: it took"),
        (lambda text: text.replace("work.outer", "work.inside"), "work.inside"),
        (lambda text: text.replace("pierces", "holes"), "has length, pieces, pierces"),
        (lambda text: "[[job]]\nseconds = true", "seconds = True; a number is needed"),
    ],
)
def test_torn_files_are_one_sentence_and_stay_as_they_are(tmp_path, take, change, words):
    path = tmp_path / "times.toml"
    write_times(path, [take()])
    torn = change(path.read_text())
    path.write_text(torn)
    with pytest.raises(UnreadableError, match=words) as raised:
        read_times(path)
    assert "\n" not in str(raised.value)
    assert path.read_text() == torn


def test_times_that_cannot_be_are_refused(building):
    layout, parts = building
    travel = sheet_seconds(layout, 0, parts)["travel"]
    for seconds in (0.0, -5.0, travel, float("nan"), float("inf")):
        with pytest.raises(BadSettingError, match=r"sheet-01.*cannot have taken"):
            note_sheet(layout, 0, parts, seconds, date="2026-04-01")


@pytest.mark.slow
def test_only_notes_of_this_laser_stock_and_number_of_passes_count(take):
    notes = (
        take(date="2026-04-02"),
        take(),
        replace(take(), laser="diode"),
        replace(take(), stock="basswood-3"),
        replace(take(), feeds={**take().feeds, Operation.OUTER: Feed(6.0, 0.1, 2)}),
    )
    assert [note.date for note in notes_for(notes, Laser(), BIRCH)] == ["2026-04-01", "2026-04-02"]
    with pytest.raises(BadSettingError, match="no note of a sheet of this board on the laser shed"):
        learn_feeds(notes, Laser(name="shed"), BIRCH)


def test_a_few_notes_bring_the_times_near_those_of_the_slow_laser(building, take):
    layout, parts = building
    notes = [take(0, 1.03), take(1, 0.98), take(0, 0.99), take(1, 1.02)]
    learned = learn_feeds(notes, Laser(), BIRCH)
    for index in range(len(layout.sheets)):
        right = take(index).seconds
        before = sheet_seconds(layout, index, parts)["total"]
        after = expected_seconds(job_of(layout, index, parts, right), learned.laser)
        assert abs(after / right - 1) < 0.04 < abs(before / right - 1)
    assert learned.laser.feeds[Operation.SCORE] == Laser().feeds[Operation.SCORE]
    assert learned.laser.feeds[Operation.OUTER].speed == pytest.approx(3.0, rel=0.1)


@pytest.mark.slow
def test_the_same_notes_give_the_same_feeds_however_often_they_are_used(take):
    notes = [take(0, 1.05), take(1, 0.9), take(0, 1.0)]
    once = learn_feeds(notes, Laser(), BIRCH)
    again = learn_feeds(notes, once.laser, BIRCH)
    assert again.laser == once.laser
    # a later note, estimated with the speeds that were learned, does not shift the start either
    later = replace(take(0, 1.0, "2026-06-01"), feeds={feed: once.laser.feeds[feed] for feed in take().feeds})
    with_it = learn_feeds([*notes, later], once.laser, BIRCH)
    plain = learn_feeds([*notes, take(0, 1.0, "2026-06-01")], Laser(), BIRCH)
    assert with_it.laser == plain.laser


def test_what_one_note_cannot_tell_is_said(take):
    said = " ".join(sentences(learn_feeds([take()], Laser(), BIRCH)))
    assert "1 note of whole sheets" in said
    assert "Slits and outlines are scaled together" in said
    assert "Too little of engraving" in said


def test_a_note_that_is_a_slip_is_named(take):
    notes = [take(k % 2, share) for k, share in enumerate((1.0, 1.02, 0.99, 1.01, 0.98))]
    slip = replace(notes[0], seconds=notes[0].seconds * 10, date="2026-04-09")
    said = sentences(learn_feeds([*notes, slip], Laser(), BIRCH))
    assert "The note of 2026-04-09, sheet-01-birch-plywood-3.svg, does not go with the others" in said[1]
    assert all("does not go" not in words for words in (said[0], *said[2:]))
