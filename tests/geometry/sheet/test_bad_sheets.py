"""What no sheet can be made of: one sentence each, before anything is drawn; and what is odd but sound is cut."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import replace
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from parts_by_hand import make_lattice, make_part, make_stock, make_wall
from shapely.geometry import box
from slow_cases import one_quick
from stowfold.geometry.beam.kerf import draw_slits
from stowfold.geometry.beam.laser import Feed, Laser, Operation
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import BadSettingError, GeometryError
from stowfold.geometry.findings import Severity
from stowfold.geometry.paper.coupon_sheet import coupon_files, deliver_coupon
from stowfold.geometry.sheet.check import check_sheets
from stowfold.geometry.sheet.coupon import lay_out_coupon
from stowfold.geometry.sheet.layout import lay_out
from stowfold.geometry.sheet.overview import print_overview
from stowfold.geometry.sheet.svg import draw_sheet

NAME = "birch-plywood-3"
NAN, INF = float("nan"), float("inf")

ODD_NAMES = [
    "",
    " ",
    "a/b\\c:d*e?f",
    "\"W1\" & <co> 'x'",
    "\u05e9\u05dc\u05d5\u05dd \u202eabc",  # Hebrew, and a mark that turns the reading round
    "\U0001f3e0\U0001f468\u200d\U0001f467",
    "\x00\x07\x1b[31m\r\n",
    "\ud800",
    "n" * 300,
    "con",
    "aux.",
    "[0-9]*",
    "../../etc",
]


def one_sentence(error: BaseException) -> None:
    """What a maker reads: a line of its own, not a dump."""
    words = str(error)
    assert 20 < len(words) < 400 and "\n" not in words
    assert "Traceback" not in words and "object at 0x" not in words


def feeds(**changes: object) -> dict[Operation, Feed]:
    return {**Laser().feeds, Operation.SLITS: replace(Laser().feeds[Operation.SLITS], **changes)}


BAD_LASERS = [
    *({"bed": bed} for bed in [(0.0, 300.0), (600.0, 0.0), (-600.0, 300.0), (NAN, 300.0), (600.0, INF)]),
    *({"margin": margin} for margin in [-1.0, NAN, INF, 150.0, 400.0]),
    *({"spacing": spacing} for spacing in [-0.5, NAN, INF]),
    *({"kerf": kerf} for kerf in [0.0, -0.2, NAN, INF, 3.0]),
    *({"travel": speed} for speed in [0.0, -1.0, NAN, INF]),
    *({"acceleration": value} for value in [0.0, -1.0, NAN, INF]),
    *({"feeds": feeds(speed=speed)} for speed in [0.0, -6.0, NAN, INF]),
    *({"feeds": feeds(pierce=pierce)} for pierce in [-0.1, NAN, INF]),
    *({"feeds": feeds(passes=passes)} for passes in [0, -1]),
    *({"holds": holds} for holds in [-1, NAN]),
    *({"hold_length": length} for length in [0.0, -0.5, NAN]),
]

BAD_STOCKS = [
    *({"kerf": kerf} for kerf in [0.0, -0.2, NAN, INF, 3.0, 5.0]),
    *({"thickness": thickness} for thickness in [0.0, -3.0, NAN, INF]),
    *({"sheet": sheet} for sheet in [(0.0, 0.0), (600.0, -1.0), (NAN, 300.0), (INF, 300.0), (300.0, 600.0)]),
]


@pytest.mark.parametrize("changes", BAD_LASERS, ids=str)
def test_a_laser_that_cannot_be_is_refused_before_any_sheet(changes):
    laser = replace(Laser(), **changes)
    part = make_part("W1", box(0, 0, 50, 30))
    with pytest.raises(BadSettingError) as refusal:
        lay_out([part], {NAME: make_stock()}, laser)
    one_sentence(refusal.value)
    with pytest.raises(BadSettingError) as refusal:
        lay_out([part], {NAME: make_stock()}, replace(Laser(), name="sound"), (laser,))
    one_sentence(refusal.value)
    with pytest.raises(BadSettingError) as refusal:
        lay_out_coupon(find_stock(NAME, read_stocks()), laser)
    one_sentence(refusal.value)


@pytest.mark.parametrize("changes", BAD_STOCKS, ids=str)
def test_a_board_that_cannot_be_is_refused_before_any_sheet(changes):
    with pytest.raises(BadSettingError) as refusal:
        lay_out([make_part("W1", box(0, 0, 50, 30))], {NAME: make_stock(**changes)}, Laser())
    one_sentence(refusal.value)


@pytest.mark.parametrize("rest", [(0.0, 50.0), (-100.0, 50.0), (NAN, 50.0), (100.0, INF)])
def test_a_offcut_that_cannot_be_is_refused(rest):
    with pytest.raises(BadSettingError) as refusal:
        lay_out([make_part("W1", box(0, 0, 50, 30))], {NAME: make_stock()}, Laser(), offcuts={NAME: [rest]})
    one_sentence(refusal.value)


def test_a_offcut_too_small_for_anything_is_passed_over():
    layout = lay_out([make_part("W1", box(0, 0, 50, 30))], {NAME: make_stock()}, Laser(), offcuts={NAME: [(5, 4)]})
    assert [sheet.offcut for sheet in layout.sheets] == [False]


def test_a_part_that_no_stock_takes_is_one_finding_and_the_rest_is_cut():
    parts = [make_part("W1", box(0, 0, 2000, 900)), make_part("W2", box(0, 0, 50, 30))]
    layout = lay_out(parts, {NAME: make_stock()}, Laser(), (Laser(name="large", label="large one", bed=(900, 600)),))
    assert [placement.part for placement in layout.placements] == ["W2"]
    (finding,) = [found for found in layout.findings if found.severity is Severity.ERROR]
    assert finding.code == "part-longer-than-sheet" and finding.where.part == "W1"
    assert "2000.2" in finding.message and "break" in finding.message
    text = draw_sheet(layout, 0, {part.id: part for part in parts}, title="x")
    assert "W1" not in text


@pytest.mark.parametrize("kerf", [0.4, 0.41, 0.9])
def test_a_kerf_as_wide_as_a_slit_cuts_one_line_and_never_a_negative_width(kerf):
    """The opening of 0.4 mm comes out as wide as the beam; the lattice's own check says what that does to links."""
    placed = make_lattice(100.0, 62.0, opening=0.4)
    lines, _ = draw_slits(placed, kerf)
    assert all(len(line) == 2 for line in lines.polylines())
    assert len(lines) == len(placed.slits.across)


def test_a_kerf_wider_than_the_slits_opening_is_said():
    """Slits come out wider than drawn and links narrower by the difference, which decides whether they hold."""
    wall = make_wall("W1", lattices=(make_lattice(125.0, 62.0, opening=0.4),))
    layout = lay_out([wall], {NAME: make_stock(kerf=0.6)}, Laser())
    (finding,) = [finding for finding in layout.findings if finding.code == "slit-wider-than-designed"]
    assert finding.severity is Severity.WARNING
    assert "0.40 mm" in finding.message and "0.60 mm" in finding.message and "W1" in finding.message
    for sound in (0.2, 0.4):
        found = lay_out([wall], {NAME: make_stock(kerf=sound)}, Laser()).findings
        assert "slit-wider-than-designed" not in {finding.code for finding in found}


def test_a_kerf_that_eats_the_links_is_an_error():
    """Links of 0.8 mm between slits of 0.4: a beam of 1.2 mm leaves nothing of them."""
    wall = make_wall("W1", lattices=(make_lattice(125.0, 62.0, opening=0.4, link_width=0.8),))
    for kerf, severity in ((1.1, Severity.WARNING), (1.2, Severity.ERROR), (1.5, Severity.ERROR)):
        found = lay_out([wall], {NAME: make_stock(kerf=kerf)}, Laser()).findings
        assert [finding.severity for finding in found if finding.code == "slit-wider-than-designed"] == [severity]


def test_a_kerf_wider_than_a_slot_is_said_and_drawn_once():
    part = make_part("F1", box(0, 0, 80, 40).difference(box(20, 10, 35, 10.3)))
    layout = lay_out([part], {NAME: make_stock(kerf=0.5)}, Laser())
    assert [finding.code for finding in layout.findings] == ["opening-within-kerf"]
    text = draw_sheet(layout, 0, {"F1": part}, title="x")
    (inner,) = ElementTree.fromstring(text).findall("{*}g[@id='inner']")
    assert [element.attrib["d"].count("L") for element in inner.findall(".//{*}path")] == [1]
    assert check_sheets(layout, {"F1": part}) == ()


@pytest.mark.slow
def test_a_thousand_parts_are_laid_and_drawn():
    """A thousand small parts: all lie somewhere, no two in one place, every file whole."""
    parts = [make_part(f"P{k}", box(0, 0, 12 + k % 7, 8 + k % 5)) for k in range(1000)]
    by_id = {part.id: part for part in parts}
    layout = lay_out(parts, {NAME: make_stock()}, Laser())
    assert len(layout.placements) == len(parts) and layout.findings == ()
    assert layout.bound[0] <= len(layout.sheets) <= 2 * layout.bound[0]
    drawn = 0
    for index in range(len(layout.sheets)):
        root = ElementTree.fromstring(draw_sheet(layout, index, by_id, title="x"))
        drawn += len(root.find("{*}g[@id='outer']"))
        bodies = [
            shapely.transform(by_id[placement.part].outline, placement.place) for placement in layout.on_sheet(index)
        ]
        pairs = shapely.STRtree(bodies).query(bodies, predicate="dwithin", distance=Laser().spacing - 1e-6)
        assert (pairs[0] == pairs[1]).all()
    assert drawn == len(parts)


#: Names that Windows keeps for devices, whatever the ending: Microsoft, "Naming Files, Paths, and Namespaces".
RESERVED = {
    "con",
    "prn",
    "aux",
    "nul",
    *(f"{port}{n}" for port in ("com", "lpt") for n in "0123456789\u00b9\u00b2\u00b3"),
}


def safe_everywhere(name: str) -> bool:
    """Tell whether Windows, macOS and Linux take a file name, however they fold case and compose letters.

    NAME_MAX is 255 bytes on ext4 and 255 UTF-16 units on NTFS; the characters are those that the page named above
    forbids, and no name ends with a dot or a space.
    """
    return (
        0 < len(name.encode()) <= 255
        and not re.search(r'[<>:"/\\|?*\x00-\x1f]', name)
        and name == name.rstrip(". ")
        and name.split(".")[0].rstrip(" ").lower() not in RESERVED
        and name == unicodedata.normalize("NFC", name).casefold()
    )


def test_the_judge_of_names_knows_bad_ones():
    for name in ("con.svg", "COM1", "a.", "a ", "a/b", "a:b", "", "n" * 256, "A.svg", "lpt\u00b9.txt"):
        assert not safe_everywhere(name)
    assert safe_everywhere("sheet-01-birch.svg")


@pytest.mark.parametrize("name", ODD_NAMES, ids=ascii)
def test_odd_names_make_files_that_every_system_takes(name):
    stocks = {name: make_stock(name=name, label=name), NAME: make_stock()}
    small = replace(Laser(), name="small", bed=(200.0, 100.0))
    other = replace(Laser(), name=name, label=name)
    parts = [make_part("W1", box(0, 0, 400, 90), stock=name), make_part("W2", box(0, 0, 50, 30)),
             make_part("W3", box(0, 0, 300, 90))]  # fmt: skip
    layout = lay_out(parts, stocks, small, (other,), chosen={"W2": "small"})
    files = [sheet.file for sheet in layout.sheets]
    assert len(files) == 3 and len({file.casefold() for file in files}) == 3
    assert all(map(safe_everywhere, files))
    by_id = {part.id: part for part in parts}
    for index in range(len(files)):
        root = ElementTree.fromstring(draw_sheet(layout, index, by_id, title=name).encode("utf-8"))
        assert root.find("{*}title").text.endswith(f": sheet {index + 1} of 3")
    assert print_overview(layout, by_id, title=name).startswith(b"%PDF")


@pytest.mark.parametrize("name", one_quick(ODD_NAMES), ids=ascii)
def test_the_coupon_of_an_oddly_named_board_is_delivered(tmp_path, name):
    stock = replace(find_stock(NAME, read_stocks()), name=name, label=name)
    made = lay_out_coupon(stock, Laser())
    written = deliver_coupon(made, stock, tmp_path / "a")
    assert [path.name for path in written] == list(coupon_files(made, stock))
    assert all(safe_everywhere(path.name) for path in written)
    # again: the same files and no others
    deliver_coupon(made, stock, tmp_path / "a")
    assert sorted(path.name for path in (tmp_path / "a").iterdir()) == sorted(path.name for path in written)


@pytest.mark.parametrize("name", [name for name in ODD_NAMES if len(name) < 60], ids=ascii)
def test_odd_part_names_are_cut_and_engraved(name):
    part = make_part(name, box(0, 0, 150, 30))
    layout = lay_out([part], {NAME: make_stock()}, Laser())
    assert len(layout.placements) == 1
    root = ElementTree.fromstring(draw_sheet(layout, 0, {name: part}, title="x").encode("utf-8"))
    ids = [element.attrib["id"] for element in root.iter("{*}path")]
    assert all(re.fullmatch(r"[A-Za-z_][A-Za-z0-9_.-]*", number) for number in ids)
    assert check_sheets(layout, {name: part}) == ()


def test_a_name_too_long_for_its_part_costs_the_label_and_not_the_part():
    part = make_part("n" * 300, box(0, 0, 50, 30))
    layout = lay_out([part], {NAME: make_stock()}, Laser())
    assert [placement.part for placement in layout.placements] == [part.id]


def test_two_parts_of_one_name_are_refused():
    parts = [make_part("W1", box(0, 0, 50, 30)), make_part("W1", box(0, 0, 60, 30))]
    with pytest.raises(GeometryError) as refusal:
        lay_out(parts, {NAME: make_stock()}, Laser())
    one_sentence(refusal.value)
    assert "W1" in str(refusal.value)


@pytest.mark.parametrize("shift", [(NAN, 0.0), (INF, 0.0)])
def test_a_pin_that_lies_nowhere_is_refused(shift):
    from stowfold.geometry.sheet.layout import Placement

    pin = Placement("W1", 0, 0.0, np.array(shift))
    with pytest.raises(GeometryError) as refusal:
        lay_out([make_part("W1", box(0, 0, 50, 30))], {NAME: make_stock()}, Laser(), pinned=[pin])
    one_sentence(refusal.value)
