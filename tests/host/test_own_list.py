"""Lists of the maker's own: a file that had another name once is read, carried over and never lost."""

from __future__ import annotations

import pytest
from stowfold.geometry.errors import UnreadableError
from stowfold.host.own_list import OwnList


def read(path):
    if not path.exists():
        return ()
    words = path.read_text(encoding="utf-8").split()
    if "torn" in words:
        raise UnreadableError(f"The file {path} is torn.")
    return tuple(words)


def write(path, words):
    path.unlink(missing_ok=True)
    if words:
        path.write_text(" ".join(words), encoding="utf-8")


@pytest.fixture
def listed(tmp_path):
    return OwnList("new.toml", read, write, (), lambda: tmp_path, formerly="old.toml")


def test_a_file_of_the_former_name_is_read_and_carried_over(listed, tmp_path):
    (tmp_path / "old.toml").write_text("birch basswood", encoding="utf-8")
    assert listed.value == ("birch", "basswood")
    assert listed.change(lambda words: (*words, "mdf")) == ("birch", "basswood", "mdf")
    assert listed.value == ("birch", "basswood", "mdf")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["new.toml", "old.toml.old"]
    assert read(tmp_path / "old.toml.old") == ("birch", "basswood")


def test_what_was_taken_off_the_list_does_not_come_back_from_the_former_file(listed, tmp_path):
    (tmp_path / "old.toml").write_text("birch", encoding="utf-8")
    listed.change(lambda _words: ())
    assert listed.value == ()


def test_the_new_file_goes_before_the_former_one_which_stays(listed, tmp_path):
    (tmp_path / "old.toml").write_text("birch", encoding="utf-8")
    (tmp_path / "new.toml").write_text("mdf", encoding="utf-8")
    assert listed.value == ("mdf",)
    listed.change(lambda words: (*words, "cork"))
    assert read(tmp_path / "old.toml") == ("birch",)


def test_a_torn_file_of_the_former_name_is_told_and_left_as_it_is(listed, tmp_path):
    (tmp_path / "old.toml").write_text("torn", encoding="utf-8")
    assert "old.toml is torn" in listed.trouble
    with pytest.raises(UnreadableError):
        listed.change(lambda words: (*words, "mdf"))
    assert [path.name for path in tmp_path.iterdir()] == ["old.toml"]
