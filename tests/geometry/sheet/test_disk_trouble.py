"""The disk lets us down: the maker's earlier set stays whole, and one sentence says what to do."""

from __future__ import annotations

import errno
import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from stowfold.geometry import files as delivery
from stowfold.geometry.errors import UnreadableError
from stowfold.geometry.files import already_there, file_word, replace_files, seal

SET = {f"sheet-0{n}.svg": seal(f"<svg>{n}</svg>" + " " * 4000) for n in range(1, 6)}
EARLIER = {f"sheet-0{n}.svg": f"earlier {n}" for n in (1, 2, 4)}


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir()) if path.is_file()}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, text in EARLIER.items():
        (tmp_path / name).write_text(text)
    (tmp_path / "mine.txt").write_text("mine")
    return tmp_path


def refusal(folder: Path) -> str:
    with pytest.raises(UnreadableError) as caught:
        replace_files(folder, SET, obsolete=["sheet-*.svg"])
    words = str(caught.value)
    assert "\n" not in words
    return words


def fail_from(monkeypatch: pytest.MonkeyPatch, name: str, number: int, code: int, *, times: int = 10**6) -> list[str]:
    """Let the function ``name`` of os fail from its call ``number`` on, so many times; return the targets it had."""
    real, calls = getattr(os, name), []

    def failing(*arguments: object, **named: object) -> object:
        calls.append(str(arguments[-1]))
        if number <= len(calls) < number + times:
            raise OSError(code, os.strerror(code))
        return real(*arguments, **named)

    monkeypatch.setattr(delivery.os, name, failing)
    return calls


@pytest.mark.parametrize("number", [1, 3, 5])
@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EDQUOT, errno.EIO, errno.EROFS])
def test_a_disk_that_fails_while_new_files_are_written(folder, monkeypatch, number, code):
    before = contents(folder)
    fail_from(monkeypatch, "fsync", number, code)
    words = refusal(folder)
    assert contents(folder) == before and sorted(folder.iterdir()) == sorted(folder / name for name in before)
    expected = {errno.EIO: "nothing was changed", errno.EROFS: "may not be written to"}
    assert expected.get(code, "make room") in words


@pytest.mark.parametrize("number", [1, 2, 5])
def test_a_file_that_another_program_holds_open(folder, monkeypatch, number):
    """On Windows a file in use cannot be replaced: PermissionError. The others are put back."""
    before = contents(folder)
    fail_from(monkeypatch, "replace", number, errno.EACCES, times=1)
    assert "close programs that hold its files" in refusal(folder)
    assert contents(folder) == before


def test_what_cannot_be_put_back_either_is_kept_and_named(folder, monkeypatch):
    """The disk fails for good in the middle of the set: every earlier file is still there, in place or beside."""
    calls = fail_from(monkeypatch, "replace", 3, errno.EIO)
    words = refusal(folder)
    assert len(calls) > 3
    assert "sheet-01.svg, sheet-02.svg could not be put back" in words and "do not cut" in words
    (shelf,) = folder.glob(".stowfold-*/.before")
    assert str(shelf) in words
    assert {name: (shelf / name).read_text() for name in ("sheet-01.svg", "sheet-02.svg")} == {
        name: EARLIER[name] for name in ("sheet-01.svg", "sheet-02.svg")
    }
    assert (folder / "sheet-04.svg").read_text() == EARLIER["sheet-04.svg"]
    assert (folder / "mine.txt").read_text() == "mine"


def test_a_new_file_that_cannot_be_taken_away_again_is_named(tmp_path, monkeypatch):
    fail_from(monkeypatch, "replace", 2, errno.EIO, times=1)
    monkeypatch.setattr(Path, "unlink", lambda *_, **__: (_ for _ in ()).throw(OSError(errno.EIO, "x")))
    assert re.search(r"sheet-01\.svg.* could not be put back as before", refusal(tmp_path))


@pytest.mark.parametrize("stop", [KeyboardInterrupt, MemoryError])
def test_work_that_is_stopped_between_two_files_leaves_the_earlier_set(folder, monkeypatch, stop):
    before, real, calls = contents(folder), os.replace, []

    def stopped(source: object, target: object) -> None:
        real(source, target)
        calls.append(target)
        if len(calls) == 2:
            raise stop

    monkeypatch.setattr(delivery.os, "replace", stopped)
    with pytest.raises(stop):
        replace_files(folder, SET)
    assert contents(folder) == before and len(list(folder.iterdir())) == len(before)


@pytest.mark.parametrize("step", ["mkdtemp", "copy2"])
def test_a_folder_that_is_taken_away_meanwhile(folder, monkeypatch, step):
    module = delivery.tempfile if step == "mkdtemp" else delivery.shutil
    real = getattr(module, step)

    def vanish(*arguments: object, **named: object) -> object:
        shutil.rmtree(folder)
        return real(*arguments, **named)

    monkeypatch.setattr(module, step, vanish)
    assert "is not there any more" in refusal(folder)
    assert not folder.exists()


def test_a_new_folder_that_is_taken_away_meanwhile(tmp_path, monkeypatch):
    target, real = tmp_path / "cut", os.fsync

    def vanish(stream: int) -> None:
        shutil.rmtree(target)
        real(stream)

    monkeypatch.setattr(delivery.os, "fsync", vanish)
    with pytest.raises(UnreadableError, match="is not there any more"):
        replace_files(target, SET)
    assert list(tmp_path.iterdir()) == []


def test_a_leftover_sheet_that_is_locked_does_not_undo_the_new_set(folder, monkeypatch):
    (folder / "sheet-09.svg").write_text(seal("<svg>old</svg>"))
    monkeypatch.setattr(Path, "unlink", lambda *_, **__: (_ for _ in ()).throw(PermissionError(errno.EACCES, "held")))
    replace_files(folder, SET, obsolete=["sheet-*.svg"])
    assert {name: (folder / name).read_text() for name in SET} == SET
    assert (folder / "sheet-09.svg").exists()


def test_links_are_replaced_and_what_they_point_to_is_left_alone(tmp_path):
    (tmp_path / "elsewhere.svg").write_text("mine")
    (tmp_path / "cut").mkdir()
    try:
        (tmp_path / "cut" / "sheet-01.svg").symlink_to(tmp_path / "elsewhere.svg")
    except OSError:
        pytest.skip("this system makes no links for us")
    replace_files(tmp_path / "cut", SET)
    assert (tmp_path / "elsewhere.svg").read_text() == "mine"
    assert (tmp_path / "cut" / "sheet-01.svg").read_text() == SET["sheet-01.svg"]


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of 64 kB."""
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = shutil.which("mount")
    command = [mount or "mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(disk)]
    if mount is None or subprocess.run(command, check=False, capture_output=True).returncode:
        pytest.skip("only the superuser mounts disks")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


def test_a_disk_that_is_really_full(small_disk):
    before = {"sheet-01.svg": "a" * 20_000, "sheet-02.svg": "b" * 20_000}
    replace_files(small_disk, before)
    with pytest.raises(UnreadableError, match=r"disk is full.*make room"):
        replace_files(small_disk, {"sheet-01.svg": "c" * 20_000, "sheet-02.svg": "d" * 20_000})
    assert {name: (small_disk / name).read_text() for name in before} == before
    assert len(list(small_disk.iterdir())) == 2


def test_a_disk_without_room_for_copies_of_the_earlier_files(small_disk):
    """The new files fit beside the old ones, but the copies that guard the old ones do not."""
    before = {"sheet-01.svg": "a" * 12_000, "sheet-02.svg": "b" * 12_000}
    replace_files(small_disk, before)
    with pytest.raises(UnreadableError, match="disk is full"):
        replace_files(small_disk, {name: text.upper() for name, text in before.items()} | {"x": "c" * 6_000})
    assert {name: (small_disk / name).read_text() for name in before} == before
    assert len(list(small_disk.iterdir())) == 2


@pytest.mark.parametrize(
    ("name", "word"),
    [
        ("basswood-3.2", "basswood-3.2"), ("Birch 3 mm", "birch-3-mm"), ("../../etc", "etc"), ("a..b", "a-b"),
        ("con.", "con"), ("\u05e9\u05dc", "stock"), ("", "stock"), ("x" * 300, "x" * 48), ("a/b:c*?", "a-b-c"),
        ("x" * 47 + ". y", "x" * 47),
    ],
)  # fmt: skip
def test_words_for_file_names(name, word):
    assert file_word(name, "stock") == word


def test_what_lies_in_a_folder_already(folder):
    assert already_there(folder, ("mine.txt", "none.txt"), pattern="sheet-*.svg") == ("mine.txt", *sorted(EARLIER))
    assert already_there(folder / "no", ("mine.txt",), pattern="*") == ()
    assert already_there(folder / "mine.txt", ("a",), pattern="*") == ()
    with pytest.raises(UnreadableError, match="too long"):
        already_there(folder / ("n" * 300))
