"""The library: what is written is read again, by our reader and as TOML; what is torn is refused and left alone."""

from __future__ import annotations

import tempfile
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from stowfold.geometry.board.calibration import Calibration
from stowfold.geometry.board.library import (
    Entry,
    merged,
    packaged_entries,
    read_library,
    slug,
    write_library,
)
from stowfold.geometry.board.stock import Grain, find_stock, read_stocks
from stowfold.geometry.errors import UnreadableError

BIRCH = find_stock("birch-plywood-3", read_stocks())
MEASURED = Calibration("2026-11-25", "7", "shed laser", thickness=2.87, kerf=0.17, slide=0.2, shear_limit=2.3)


def test_everything_comes_back(tmp_path):
    path = tmp_path / "own" / "stocks.toml"
    entries = (Entry(replace(BIRCH, name="mine", label='The "good" one')), Entry(BIRCH, MEASURED))
    write_library(path, entries)
    assert read_library(path) == entries
    assert read_library(path)[1].stock.kerf == 0.17
    assert read_library(path)[1].base.kerf == BIRCH.kerf


@settings(max_examples=25, deadline=None)
@given(
    st.text(min_size=1).filter(lambda text: text.isprintable() or text.strip()),
    st.floats(0.5, 20.0),
    st.sampled_from(list(Grain)),
)
def test_any_name_and_number_is_valid_toml(label, thickness, grain):
    """Read by the parser of the standard library."""
    stock = replace(BIRCH, label=label, thickness=thickness, grain=grain, sources={label: label})
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "stocks.toml"
        write_library(path, [Entry(stock)])
        (table,) = tomllib.loads(path.read_text(encoding="utf-8"))["stock"]
    assert table["label"] == label.encode("utf-8", "replace").decode()
    assert (table["thickness"], table["grain"]) == (thickness, grain.value)
    assert list(table["sources"].values()) == [table["label"]]


def test_a_file_with_headed_tables_is_still_read(tmp_path):
    """Own stocks were once written so."""
    path = tmp_path / "stocks.toml"
    write_library(path, [Entry(replace(BIRCH, sources={}), MEASURED)])
    flat = path.read_text(encoding="utf-8")
    headed = "".join(line for line in flat.splitlines(True) if not line.startswith("calibration."))
    headed += "\n[stock.calibration]\n"
    headed += "".join(
        line.removeprefix("calibration.") for line in flat.splitlines(True) if line.startswith("calibration.")
    )
    headed += '\n[stock.sources]\n"thickness" = "calipers"\n'
    path.write_text(headed, encoding="utf-8")
    assert read_library(path) == (Entry(replace(BIRCH, sources={"thickness": "calipers"}), MEASURED),)


def test_a_folder_that_cannot_be_made_is_one_sentence(tmp_path):
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(UnreadableError, match="cannot be written"):
        write_library(tmp_path / "file" / "deep" / "stocks.toml", [Entry(BIRCH)])


def test_a_file_that_is_not_there_holds_nothing(tmp_path):
    assert read_library(tmp_path / "stocks.toml") == ()


def test_the_last_stock_takes_the_file_with_it(tmp_path):
    path = tmp_path / "stocks.toml"
    write_library(path, [Entry(BIRCH)])
    write_library(path, [])
    assert not path.exists()
    write_library(path, [])


def test_an_own_stock_stands_in_the_place_of_its_namesake():
    own = Entry(replace(BIRCH, label="mine"))
    extra = Entry(replace(BIRCH, name="extra"))
    known = merged(packaged_entries(), (own, extra))
    assert list(known) == [*(stock.name for stock in read_stocks()), "extra"]
    assert known[BIRCH.name] is own
    assert not known["mdf-3"].own


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda text: text[: len(text) // 2], "not valid TOML|lacks"),
        (lambda text: text.replace("kerf = 0.17", "kerf = 4.0"), "Stock 1 of .* cannot be used: The kerf"),
        (lambda text: text.replace("kerf = 0.17", 'kerf = "thin"'), "calibration.kerf = 'thin'; a number"),
        (lambda text: text.replace("kerf = 0.17", "curf = 0.17"), "calibration with curf"),
        (lambda text: text.replace('batch = "7"', "batch = 7"), "calibration with batch = 7"),
        (lambda text: text.replace("slide = 0.2", "slide = nan"), "slide fit"),
        (lambda text: text + text, "2 times"),
    ],
)
def test_torn_files_are_one_sentence(tmp_path, spoil, words):
    path = tmp_path / "stocks.toml"
    write_library(path, [Entry(BIRCH, MEASURED)])
    path.write_text(spoil(path.read_text(encoding="utf-8")), encoding="utf-8")
    with pytest.raises(UnreadableError, match=words) as caught:
        read_library(path)
    assert str(path) in str(caught.value)
    assert "\n" not in str(caught.value)


def test_names_are_made_of_labels():
    assert slug("Birch of the shed, 4 mm") == "birch-of-the-shed-4-mm"
    assert slug("Birch", {"birch", "birch-2"}) == "birch-3"
    assert slug("木") == "stock"
