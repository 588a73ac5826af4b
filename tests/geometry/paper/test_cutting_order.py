"""The guide says in which order sheets are cut, and the files are numbered and drawn so, in all samples."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import pytest
from sample_solids import NAMES, solid_of
from shapely.geometry import box
from slow_cases import one_quick
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.deliver import deliver
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Settings
from stowfold.geometry.paper.cutting_order import order_section
from stowfold.geometry.part import PartKind
from stowfold.geometry.sheet.layout import lay_out
from toll_house_corner import make_outcome, make_piece

BIRCH = find_stock("birch-plywood-3", read_stocks())
PLAIN = Settings(BIRCH, BIRCH, BIRCH, BIRCH)
#: Boards whose names would put the floor first and the walls last, were sheets ordered by name.
SEVERAL = Settings(
    *(replace(BIRCH, name=name, label=f"board {name}") for name in ("z-walls", "m-roof", "a-floor", "b-joiners"))
)
VARIANTS = {"one board": PLAIN, "several boards and a case": replace(SEVERAL, case=True)}

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module", params=one_quick(NAMES, "toll_house"))
def solid(request: pytest.FixtureRequest):
    return solid_of(request.param)


def outlines(path: Path) -> list[str]:
    """Ids of the parts of a sheet in the order in which their outlines are drawn."""
    groups = {group.get("id"): group for group in ET.parse(path).getroot().iter(f"{SVG}g")}
    names = [path.get("id").rsplit("-", 1)[0] for path in groups["outer"].iter(f"{SVG}path")]
    return list(dict.fromkeys(names))


@pytest.mark.parametrize("variant", one_quick(list(VARIANTS)))
def test_paper_and_files_agree_on_the_order(solid, variant: str, tmp_path: Path) -> None:
    outcome = run(solid, VARIANTS[variant], title="Sample")
    deliver(outcome, tmp_path, anyway=True)
    page = ET.fromstring((tmp_path / "guide.html").read_text(encoding="utf-8").removeprefix("<!DOCTYPE html>\n"))
    table = next(
        chart
        for chart in page.iter("table")
        if [head.text for head in chart.iter("th")][1:4] == ["File", "Board", "Holds"]
    )
    rows = [
        ["".join(cell.itertext()) for cell in row.iter("td")] for row in table.iter("tr") if row.find("td") is not None
    ]
    files = sorted(path.name for path in tmp_path.glob("sheet-*.svg"))
    assert [row[1] for row in rows] == files
    assert [row[0] for row in rows] == [f"{number}." for number in range(1, len(files) + 1)]

    kinds = {part.id: part.kind for part in outcome.pieces}
    on_sheet = [outlines(tmp_path / name) for name in files]
    assert sorted(part for here in on_sheet for part in here) == sorted(kinds)
    words = {
        "walls": {PartKind.WALL}, "joiners": {PartKind.CORE, PartKind.CHEEK}, "floor": {PartKind.FLOOR},
        "roof": {PartKind.ROOF}, "carrying case": {PartKind.CASE},
        "what is glued under the roof": {PartKind.STOP, PartKind.LAP, PartKind.CARRIER},
    }  # fmt: skip
    for row, here in zip(rows, on_sheet, strict=True):
        said = re.split(r", | and ", row[3])
        assert {word for word, named in words.items() if named & {kinds[part] for part in here}} == set(said)

    # one after another, over all sheets: no floor before the last wall, and on a sheet no floor before its walls
    sequence = [kinds[part] for here in on_sheet for part in here]
    assert sequence.index(PartKind.FLOOR) > len(sequence) - 1 - sequence[::-1].index(PartKind.WALL)
    if variant != "one board":
        boards = [name.removesuffix(".svg").split("-", 2)[2] for name in files]
        assert boards.index("a-floor") > len(boards) - 1 - boards[::-1].index("z-walls")
        assert boards[0] in ("b-joiners", "z-walls")


def test_the_coupon_comes_first_and_is_left_out_once_it_was_cut(outcome) -> None:
    said = order_section(outcome)
    assert said.index("coupon") < said.index("<table") and "stowfold coupon ply-3 -o coupon" in said
    settings = outcome.settings
    measured = {
        kind: replace(getattr(settings, kind), calibration="3 May") for kind in ("walls", "roof", "floor", "joiners")
    }
    said = order_section(make_outcome(settings=replace(settings, **measured)))
    assert "stowfold coupon" not in said and "measured with a coupon" in said


def test_a_floor_beside_walls_is_named_and_one_alone_is_not(outcome) -> None:
    assert "floor can be made again" in order_section(outcome)
    assert "leave the lines named" not in order_section(outcome)
    moved = tuple(replace(placement, sheet=0) for placement in outcome.layout.placements)
    together = make_outcome(layout=replace(outcome.layout, placements=moved))
    assert "leave the lines named <b>F1</b> out" in order_section(together)


def test_parts_without_a_place_are_named(outcome) -> None:
    assert "On no sheet" not in order_section(outcome)
    kept = tuple(placement for placement in outcome.layout.placements if placement.part != "W2")
    assert "On no sheet: <b>W2</b>" in order_section(make_outcome(layout=replace(outcome.layout, placements=kept)))


def test_nothing_laid_out_has_no_order(empty) -> None:
    assert order_section(empty) == ""


def test_no_floor_is_cut_before_walls_that_share_their_sheet_with_late_parts() -> None:
    """Case boards lie on the walls' sheet, the floor alone on another board: on the average the floor comes earlier."""
    parts = [
        make_piece("W1", PartKind.WALL, box(0, 0, 200, 60), (), stock="b-walls", stage=1),
        *(make_piece(f"K{k}", PartKind.CASE, box(0, 0, 200, 60), (), stock="b-walls", stage=4) for k in (1, 2)),
        make_piece("F1", PartKind.FLOOR, box(0, 0, 200, 150), (), stock="a-floor", stage=2),
    ]
    stocks = {name: replace(BIRCH, name=name) for name in ("a-floor", "b-walls")}
    layout = lay_out(parts, stocks, Laser())
    assert [sheet.stock.name for sheet in layout.sheets] == ["b-walls", "a-floor"]


@pytest.mark.slow
def test_time_laser_cost_and_offcuts_stand_with_each_sheet() -> None:
    """Sums by hand: one whole sheet, and a quarter of one on the smaller bed; prices are invented."""
    board = replace(BIRCH, sheet=(1200.0, 600.0), price=8.0)
    bench, hall = Laser(name="bench", label="bench laser", bed=(600.0, 300.0)), Laser(
        name="hall", label="hall laser", bed=(1200.0, 600.0)
    )  # fmt: skip
    settings = Settings(board, board, board, board, laser=bench, other_lasers=(hall,))
    outcome = run(solid_of("grain_store"), settings, title="Sample")
    words = re.sub(r"<[^>]+>", " ", order_section(outcome))
    assert "Laser" not in words and "Board costs" in words  # all fits the first laser: its name would tell nothing
    assert f"All boards together cost {2.0 * len(outcome.layout.sheets):.2f} by the prices" in words

    first, second = outcome.layout.sheets[0], replace(outcome.layout.sheets[0], laser=hall, size=(1200.0, 600.0))
    rest = replace(first, size=(320.0, 200.0), offcut=True)
    unpriced = replace(first, stock=replace(board, label="grey board", price=None))
    sheets = (first, second, rest, unpriced)
    seconds = tuple({**outcome.sheet_seconds[0], "total": 60.0 * k} for k in (3, 4, 5, 6))
    other = replace(outcome, layout=replace(outcome.layout, sheets=sheets, placements=()), sheet_seconds=seconds)
    written = re.sub("</?bdi>", "", order_section(other))
    rows = [re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row) for row in re.findall(r"<tr>(.*?)</tr>", written)]
    heads, *rows = rows
    told = {head: [row[k] for row in rows] for k, head in enumerate(heads)}
    assert told["Laser"] == ["bench laser", "hall laser", "bench laser", "bench laser"]
    assert [word.split()[0] for word in told["Time"]] == ["3", "4", "5", "6"]
    assert told["Board costs"] == ["2.00", "8.00", "0.00", ""]
    assert "an offcut of 320" in told["Board"][2] and told["Board"][0] == board.label
    assert "All boards together cost 10.00 by the prices that you entered. grey board not counted" in written
