"""Delivery: all files or none, nothing of the maker's lost, one sentence when it cannot be done."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest
from stowfold.geometry import files as delivery
from stowfold.geometry.errors import UnreadableError
from stowfold.geometry.files import is_sealed, replace_files, seal


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def test_a_new_folder_is_made_in_an_existing_parent(tmp_path: Path) -> None:
    written = replace_files(tmp_path / "cut", {"a.svg": "<svg/>", "b.bin": b"\x00\xff"})
    assert written == (tmp_path / "cut" / "a.svg", tmp_path / "cut" / "b.bin")
    assert contents(tmp_path / "cut") == {"a.svg": b"<svg/>", "b.bin": b"\x00\xff"}


def test_older_files_are_replaced_and_others_stay(tmp_path: Path) -> None:
    (tmp_path / "a.svg").write_text("old")
    (tmp_path / "mine.txt").write_text("mine")
    replace_files(tmp_path, {"a.svg": "new"})
    assert contents(tmp_path) == {"a.svg": b"new", "mine.txt": b"mine"}


def test_text_is_utf8_without_changed_line_ends(tmp_path: Path) -> None:
    replace_files(tmp_path, {"a": "Kornhaus ü\nשלום\n", "b": "lone \udc80"})
    assert (tmp_path / "a").read_bytes() == "Kornhaus ü\nשלום\n".encode()
    assert (tmp_path / "b").read_bytes() == b"lone \\udc80"


@pytest.mark.parametrize("failing", [0, 1, 2])
def test_a_failure_half_way_puts_everything_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failing: int) -> None:
    (tmp_path / "a").write_text("old a")
    (tmp_path / "c").write_text("old c")
    before = contents(tmp_path)
    real, calls = os.replace, []

    def replace(source: str | Path, target: str | Path) -> None:
        calls.append(Path(target).name)
        if len(calls) == failing + 1:
            raise OSError(errno.EIO, "Input/output error")
        real(source, target)

    monkeypatch.setattr(delivery.os, "replace", replace)
    with pytest.raises(UnreadableError, match="could not be written"):
        replace_files(tmp_path, {"a": "new a", "b": "new b", "c": "new c"})
    assert calls[failing] == "abc"[failing]
    assert contents(tmp_path) == before


def test_a_full_disk_leaves_everything_and_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a").write_text("old")

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(delivery.os, "fsync", full)
    with pytest.raises(UnreadableError, match=r"disk is full.*make room"):
        replace_files(tmp_path, {"a": "new"})
    assert contents(tmp_path) == {"a": b"old"}


@pytest.mark.parametrize("code", [errno.EACCES, errno.EPERM, errno.EROFS])
def test_a_read_only_folder_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int) -> None:
    def refuse(*_: object, **__: object) -> str:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(delivery.tempfile, "mkdtemp", refuse)
    with pytest.raises(UnreadableError, match="may not be written to") as caught:
        replace_files(tmp_path, {"a": "new"})
    assert str(tmp_path) in str(caught.value)


def test_a_folder_made_in_vain_is_taken_away_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(delivery.os, "replace", refuse)
    with pytest.raises(UnreadableError):
        replace_files(tmp_path / "cut", {"a": "new"})
    assert contents(tmp_path) == {}


def test_a_file_in_place_of_the_folder_is_kept(tmp_path: Path) -> None:
    (tmp_path / "cut").write_text("a file")
    with pytest.raises(UnreadableError, match="is a file, not a folder"):
        replace_files(tmp_path / "cut", {"a": "new"})
    with pytest.raises(UnreadableError, match="is a file, not a folder"):
        replace_files(tmp_path / "cut" / "deeper", {"a": "new"})
    assert (tmp_path / "cut").read_text() == "a file"


def test_a_missing_parent_is_not_made(tmp_path: Path) -> None:
    with pytest.raises(UnreadableError, match="does not exist"):
        replace_files(tmp_path / "no" / "where", {"a": "new"})
    assert contents(tmp_path) == {}


def test_a_folder_in_place_of_a_file_stops_all(tmp_path: Path) -> None:
    (tmp_path / "b").mkdir()
    with pytest.raises(UnreadableError, match="is a folder where a file must go"):
        replace_files(tmp_path, {"a": "new", "b": "new"})
    assert sorted(path.name for path in tmp_path.iterdir()) == ["b"]


@pytest.mark.parametrize("name", ["../a", "deep/a", "", "..", "/etc/a"])
def test_names_that_lead_elsewhere_are_refused(tmp_path: Path, name: str) -> None:
    with pytest.raises(UnreadableError, match="plain file name"):
        replace_files(tmp_path, {name: "new"})
    assert contents(tmp_path) == {}


def test_a_seal_breaks_with_any_change() -> None:
    sealed = seal("<svg>ü</svg>").encode()
    assert is_sealed(sealed)
    assert not is_sealed(sealed.replace(b"svg", b"g", 1))
    assert not is_sealed(sealed + b" ")
    assert not is_sealed(b"<svg/>")
    assert not is_sealed(sealed[: sealed.index(b"<!--")])


def test_only_untouched_sheets_of_ours_are_cleared_away(tmp_path: Path) -> None:
    ours = seal("<svg>3</svg>")
    replace_files(tmp_path, {"sheet-1.svg": seal("<svg>1</svg>"), "sheet-2.svg": ours, "sheet-3.svg": ours})
    edited = ours.replace("3", "4", 1)
    (tmp_path / "sheet-3.svg").write_text(edited)
    (tmp_path / "sheet-9.svg").write_text("<svg>drawn by hand</svg>")
    (tmp_path / "other.svg").write_text(ours)
    (tmp_path / "sheet-x.svg").mkdir()
    replace_files(tmp_path, {"sheet-1.svg": "new"}, obsolete=["sheet-*.svg"])
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "other.svg", "sheet-1.svg", "sheet-3.svg", "sheet-9.svg", "sheet-x.svg",
    ]  # fmt: skip
    assert (tmp_path / "sheet-3.svg").read_text() == edited


def test_nothing_is_cleared_away_when_delivery_fails(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    replace_files(tmp_path, {"sheet-2.svg": seal("<svg/>")})

    def refuse(*_: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(delivery.os, "replace", refuse)
    with pytest.raises(UnreadableError):
        replace_files(tmp_path, {"sheet-1.svg": "new"}, obsolete=["sheet-*.svg"])
    assert sorted(contents(tmp_path)) == ["sheet-2.svg"]
