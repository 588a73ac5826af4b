"""The shelf: written and read again, torn files, what a cut takes and gives, and never twice."""

from __future__ import annotations

import os
import tomllib

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from parts_by_hand import make_part, make_stock
from shapely.geometry import box
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.errors import BadSettingError, UnreadableError
from stowfold.geometry.sheet.layout import lay_out
from stowfold.geometry.sheet.offcut_list import KeptCut, KeptPiece, OffcutList, read_offcuts, write_offcuts
from stowfold.geometry.sheet.shelf import change_by, name_of_cut

BIRCH = "birch-plywood-3"
PIECE = KeptPiece(BIRCH, 240.0, 180.5, 2, "from the boat shed", "2026-03-01")


@settings(deadline=None, max_examples=60)
@given(
    st.lists(
        st.builds(
            KeptPiece,
            stock=st.text(min_size=1, alphabet=st.characters(exclude_categories=["Cs"])),
            length=st.floats(0.5, 5000.0),
            width=st.floats(0.5, 5000.0),
            count=st.integers(1, 99),
            note=st.text(alphabet=st.characters(exclude_categories=["Cs"])),
            date=st.just("2026-03-01"),
        ),
        max_size=4,
    )
)
def test_whatever_is_kept_is_read_again_by_us_and_by_python(tmp_path_factory, pieces):
    path = tmp_path_factory.mktemp("shelf") / "own" / "offcuts.toml"
    shelf = OffcutList(tuple(pieces), (KeptCut("ab12", 'The "Gull"', "2026-03-01"),))
    write_offcuts(path, shelf)
    assert read_offcuts(path) == shelf
    with path.open("rb") as file:
        raw = tomllib.load(file)
    assert [piece["length"] for piece in raw.get("piece", [])] == [piece.length for piece in pieces]
    write_offcuts(path, OffcutList())
    assert not path.exists()
    assert read_offcuts(path) == OffcutList()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[[piece]\nstock =", "is not valid TOML"),
        ("\xff".encode("latin-1"), "is not valid TOML"),
        ("[[peice]]\nstock = 'a'", r"holds 'peice'; only tables \[\[piece\]\] and \[\[cut\]\] are known"),
        ("piece = 3", "holds 'piece'"),
        ("[[piece]]\nlength = 3.0\nwidth = 2.0", "Piece 1 of .* lacks the value stock"),
        (
            "[[piece]]\nstock = 'a'\nlength = true\nwidth = 2.0",
            "length = True, which .*: a number is needed",
        ),
        ("[[piece]]\nstock = 'a'\nlength = -3.0\nwidth = 2.0", "The length of an offcut is -3 mm"),
        ("[[piece]]\nstock = 'a'\nlength = nan\nwidth = 2.0", "The length of an offcut is nan mm"),
        (
            "[[piece]]\nstock = 'a'\nlength = 3.0\nwidth = 2.0\ncount = 1.5",
            "count = 1.5, which .*: a whole number",
        ),
        ("[[piece]]\nstock = 'a'\nlength = 3.0\nwidth = 2.0\ncount = 0", "There are 0 pieces"),
        (
            "[[piece]]\nstock = 'a'\nlength = 3.0\nwidth = 2.0\ndepth = 1.0",
            "an unknown value depth; known are stock, length",
        ),
        ("[[cut]]\nname = 7", "Cut 1 of .* has name = 7, which cannot be used: text is needed"),
    ],
)
def test_torn_files_are_one_sentence_and_stay_as_they_are(tmp_path, text, words):
    path = tmp_path / "offcuts.toml"
    content = text if isinstance(text, bytes) else text.encode()
    path.write_bytes(content)
    with pytest.raises(UnreadableError, match=words) as raised:
        read_offcuts(path)
    assert "\n" not in str(raised.value).replace(str(path), "")
    assert path.read_bytes() == content


def test_a_read_only_folder_is_one_sentence(tmp_path):
    folder = tmp_path / "own"
    folder.mkdir(mode=0o500)
    if os.access(folder, os.W_OK):
        pytest.skip("this user may write anywhere")
    with pytest.raises(UnreadableError, match="may not be written to"):
        write_offcuts(folder / "offcuts.toml", OffcutList((PIECE,)))


def test_a_file_in_the_place_of_the_folder_is_one_sentence(tmp_path):
    (tmp_path / "own").write_text("")
    for path in (tmp_path / "own" / "offcuts.toml", tmp_path / "own" / "deeper" / "offcuts.toml"):
        with pytest.raises(UnreadableError):
            write_offcuts(path, OffcutList((PIECE,)))


def test_pieces_of_one_size_and_note_stand_together_and_go_one_by_one():
    shelf = OffcutList().with_piece(PIECE).with_piece(PIECE).with_piece(KeptPiece(BIRCH, 240.0, 180.5))
    assert [piece.count for piece in shelf.pieces] == [4, 1]
    assert shelf.sizes([BIRCH])[BIRCH] == ((240.0, 180.5),) * 5
    assert shelf.sizes(["oak"]) == {}
    less = shelf.without(PIECE.key).without(shelf.pieces[1].key)
    assert [piece.count for piece in less.pieces] == [3]
    with pytest.raises(BadSettingError, match="not on the list any more"):
        less.without(shelf.pieces[1].key)
    twice = OffcutList((PIECE, PIECE))  # as a maker may write it by hand
    assert [piece.count for piece in twice.without(PIECE.key).pieces] == [1, 2]
    with pytest.raises(BadSettingError, match="must be more than 0"):
        shelf.with_piece(KeptPiece(BIRCH, 0.0, 10.0))


def cut_from_a_piece(laser=None):
    """A plate that an offcut of 240 x 180.5 takes, and one that needs a whole sheet."""
    parts = [make_part("P1", box(0, 0, 200, 100)), make_part("P2", box(0, 0, 500, 200))]
    shelf = OffcutList((PIECE, KeptPiece("oak", 240.0, 180.5)))
    layout = lay_out(parts, {BIRCH: make_stock()}, laser or Laser(), offcuts=shelf.sizes([BIRCH]))
    assert sorted(sheet.offcut for sheet in layout.sheets) == [False, True]
    return shelf, layout, {part.id: part for part in parts}


@pytest.mark.parametrize("bed", [(600.0, 300.0), (300.0, 600.0)])
def test_a_cut_takes_the_piece_it_used_and_gives_what_it_leaves(bed):
    shelf, layout, parts = cut_from_a_piece(Laser(bed=bed))
    change = change_by(shelf, layout, parts, title="Boat shed")
    assert [(offcut.stock, offcut.length, offcut.count) for offcut in change.taken] == [(BIRCH, 240.0, 1)]
    assert change.lost == ()
    assert change.before is None
    after = change.apply(shelf, range(len(change.new)), date="2026-05-02", note="boat shed")
    before = {piece.key: piece.count for piece in shelf.pieces}
    counts = {piece.key: piece.count for piece in after.pieces}
    assert counts[PIECE.key] == before[PIECE.key] - 1
    assert sum(counts.values()) == sum(before.values()) - 1 + len(change.new)
    # board is neither made nor found twice: what is new came out of the sheets that were cut
    new = sum(offcut.length * offcut.width for offcut in change.new)
    assert 0 < new < sum(s.size[0] * s.size[1] for s in layout.sheets) - sum(p.area for p in parts.values())
    assert after.cuts == (KeptCut(name_of_cut(layout, parts), "Boat shed", "2026-05-02"),)


def test_only_the_pieces_that_the_maker_wants_are_kept():
    shelf, layout, parts = cut_from_a_piece()
    change = change_by(shelf, layout, parts)
    after = change.apply(shelf, ())
    assert sum(piece.count for piece in after.pieces) == sum(piece.count for piece in shelf.pieces) - 1


def test_the_same_parts_are_the_same_cut_however_they_lie():
    shelf, layout, parts = cut_from_a_piece()
    after = change_by(shelf, layout, parts).apply(shelf, (), date="2026-05-02")
    elsewhere = lay_out(list(parts.values()), {BIRCH: make_stock()}, Laser(), offcuts=after.sizes([BIRCH]))
    again = change_by(after, elsewhere, parts)
    assert again.before is not None and again.before.date == "2026-05-02"
    moved = {**parts, "P1": make_part("P1", shapely.box(0, 0, 200, 100.1))}
    assert name_of_cut(layout, moved) != name_of_cut(layout, parts)
    assert len(again.apply(after, (), date="2026-05-03").cuts) == 1


def test_a_piece_that_is_gone_from_the_list_is_told():
    _, layout, parts = cut_from_a_piece()
    change = change_by(OffcutList((KeptPiece("oak", 240.0, 180.5),)), layout, parts)
    assert change.taken == ()
    assert change.lost == ((BIRCH, (240.0, 180.5)),)
