"""Other ways to lay out the same parts: whatever they are, readers agree and what is cut loose is each part, whole."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import resvg_py
import shapely
from PIL import Image
from read_sheets import ROUNDED, read_by_svgelements, read_by_svgpathtools, round_corners, strokes
from sample_runs import outcome_of
from shapely.geometry import LineString, Polygon, box
from stowfold.geometry.beam.laser import Laser, Operation
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.recut import deliver_again
from stowfold.geometry.flow.recut_floor import drawn_size, floor_again
from stowfold.geometry.outcome import Settings
from stowfold.geometry.paper.coupon_sheet import deliver_coupon
from stowfold.geometry.sheet.check import check_sheets
from stowfold.geometry.sheet.coupon import lay_out_coupon
from stowfold.geometry.sheet.layout import Layout, lay_out
from stowfold.geometry.sheet.svg import draw_sheet, place_matrix

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH)


@pytest.fixture(scope="module")
def toll_house():
    return outcome_of("toll_house")


def written(layout: Layout, parts: Sequence, folder: Path) -> list[Path]:
    by_id = {part.id: part for part in parts}
    paths = []
    for index, sheet in enumerate(layout.sheets):
        paths.append(folder / sheet.file)
        paths[-1].write_text(draw_sheet(layout, index, by_id, title="x"), encoding="utf-8")
    assert len(set(paths)) == len(layout.sheets), "no two sheets have one name"
    return paths


def measure(layout: Layout, parts: Sequence, paths: Sequence[Path]) -> None:
    """Two readers and a renderer on every sheet; then count, place, area, spacing and margin of what is cut loose."""
    by_id = {part.id: part for part in parts}
    assert not check_sheets(layout, by_id)
    for index, (path, sheet) in enumerate(zip(paths, layout.sheets, strict=True)):
        one, other = read_by_svgelements(path), read_by_svgpathtools(path)
        assert one.size == pytest.approx(sheet.size, abs=1e-3) and other.size == pytest.approx(sheet.size, abs=1e-9)
        assert [(a.operation, a.id, len(a.lines)) for a in one.paths] == [
            (b.operation, b.id, len(b.lines)) for b in other.paths
        ]
        assert [a.length for a in one.paths] == pytest.approx([b.length for b in other.paths], rel=1e-6)
        png = bytes(resvg_py.svg_to_bytes(svg_string=path.read_text(encoding="utf-8"), background="#ffffff", dpi=127))
        image = np.asarray(Image.open(io.BytesIO(png)).convert("L"))
        assert image.shape == pytest.approx(np.array(sheet.size)[::-1] * 5, abs=0.51)
        rows, columns = np.nonzero(image < 225)
        points = np.concatenate([p for path in other.paths for p, _ in path.lines])
        seen = [columns.min(), rows.min(), columns.max() + 1, rows.max() + 1]
        np.testing.assert_allclose(np.array(seen) / 5, [*points.min(axis=0), *points.max(axis=0)], atol=0.25)
        placed = {
            placement.part: _designed(by_id[placement.part], placement, sheet) for placement in layout.on_sheet(index)
        }
        loose = _cut_loose(other, sheet.stock.kerf, placed)
        assert len(set(map(id, loose.values()))) == len(placed), "every part is a piece of its own"
        for name, wood in loose.items():
            corners = round_corners(placed[name], sheet.stock.kerf)
            tolerance = ROUNDED * placed[name].length
            assert wood.area - corners == pytest.approx(placed[name].area, abs=tolerance), name
            assert wood.symmetric_difference(placed[name]).area < corners + tolerance, name
        shapes = list(loose.values())
        usable = box(0, 0, *sheet.size).buffer(3e-3 - sheet.laser.margin, join_style="mitre")
        assert all(usable.covers(shape.buffer(sheet.stock.kerf, join_style="mitre")) for shape in shapes)
        # between two parts lie the spacing and a kerf on either side of it, or one cut where they share an edge
        apart = sheet.laser.spacing + 2 * sheet.stock.kerf if sheet.laser.spacing else sheet.stock.kerf
        for k, shape in enumerate(shapes):
            assert all(shape.distance(before) > apart - 5e-3 for before in shapes[:k])


def _designed(part, placement, sheet):
    a, b, c, d, e, f = place_matrix(placement, sheet)
    return shapely.transform(part.outline, lambda xy: xy @ np.array([[a, b], [c, d]]) + [e, f])


def _cut_loose(read, kerf: float, placed: Mapping[str, Polygon]) -> Mapping[str, shapely.Geometry]:
    """What falls apart once the beam has followed all outlines and holes: the piece at a point of each placed part.

    Holds are cut through first, as a knife does.
    """
    lines = strokes(read.of("inner", "outer"))
    for path in read.of("outer"):
        open_lines = [points for points, shut in path.lines if not shut]
        for before, after in zip(open_lines, [*open_lines[1:], *open_lines[:1]], strict=True):
            if np.hypot(*(after[0] - before[-1])) < 1.0:  # a hold and a kerf; common edges are longer
                lines.append(LineString([before[-1], after[0]]))
    strips = shapely.buffer(lines, kerf / 2, quad_segs=16)
    pieces = shapely.get_parts(box(0, 0, *read.size) - shapely.union_all(strips))
    tree = shapely.STRtree(pieces)
    names = list(placed)
    spots = shapely.point_on_surface([placed[name] for name in names])
    found = tree.query(spots, predicate="within").T
    assert len(found) == len(names)
    return {names[k]: pieces[piece] for k, piece in found.tolist()}


@pytest.mark.slow
def test_a_coupon(tmp_path) -> None:
    coupon = lay_out_coupon(BIRCH, Laser())
    paths = [path for path in deliver_coupon(coupon, BIRCH, tmp_path) if path.suffix == ".svg"]
    measure(coupon.layout, coupon.parts, paths)


@pytest.mark.slow
def test_a_floor_cut_again(toll_house, tmp_path) -> None:
    length, width = drawn_size(toll_house)
    again = floor_again(toll_house, (length + 0.6, width - 0.4))
    paths = list(deliver_again(again, tmp_path))
    assert [path.name for path in paths] == ["floor-again-01-birch-plywood-3.svg"]
    measure(again.layout, again.parts, paths)


@pytest.mark.slow
def test_two_lasers_with_beams_of_their_own(toll_house, tmp_path) -> None:
    small = Laser(name="small", label="small laser", bed=(250.0, 240.0), kerf=0.14, margin=4.0, spacing=1.5)
    colours = {**Laser().colours, Operation.OUTER: "#112233"}
    large = Laser(name="large", label="large laser", bed=(900.0, 600.0), kerf=0.3, colours=colours)
    layout = lay_out(toll_house.parts, {BIRCH.name: BIRCH}, small, (large,), chosen={"F1": "small", "J1-core": "small"})
    assert {sheet.laser.name for sheet in layout.sheets} == {"small", "large"}
    paths = written(layout, toll_house.parts, tmp_path)
    measure(layout, toll_house.parts, paths)
    for path, sheet in zip(paths, layout.sheets, strict=True):
        assert ("large" in path.name) == (sheet.laser.name == "large")


@pytest.mark.slow
def test_two_stocks(toll_house, tmp_path) -> None:
    card = replace(BIRCH, name="mount board", label="mount board", kerf=0.12, sheet=(420.0, 297.0))
    parts = [replace(part, stock=card.name) if part.kind.value == "floor" else part for part in toll_house.parts]
    layout = lay_out(parts, {BIRCH.name: BIRCH, card.name: card}, Laser())
    assert {sheet.size for sheet in layout.sheets} == {(600.0, 300.0), (420.0, 297.0)}
    measure(layout, parts, written(layout, parts, tmp_path))


@pytest.mark.slow
def test_holds(toll_house, tmp_path) -> None:
    laser = Laser(holds=3, hold_length=0.6)
    layout = lay_out(toll_house.parts, {BIRCH.name: BIRCH}, laser)
    paths = written(layout, toll_house.parts, tmp_path)
    measure(layout, toll_house.parts, paths)
    # before the knife: everything but what falls out of holes still hangs together
    for path, sheet in zip(paths, layout.sheets, strict=True):
        read = read_by_svgelements(path)
        beams = [line.buffer(sheet.stock.kerf / 2) for line in strokes(read.of("inner", "outer"))]
        left = [p for p in shapely.get_parts(box(0, 0, *sheet.size) - shapely.union_all(beams)) if p.area > 1.0]
        closed_holes = sum(shut for path in read.of("inner") for _, shut in path.lines)
        assert len(left) == 1 + closed_holes


@pytest.mark.slow
def test_offcuts(toll_house, tmp_path) -> None:
    rests = {BIRCH.name: [(240.0, 215.0), (90.0, 80.0)]}
    layout = lay_out(toll_house.parts, {BIRCH.name: BIRCH}, Laser(), offcuts=rests)
    assert any(sheet.offcut for sheet in layout.sheets)
    measure(layout, toll_house.parts, written(layout, toll_house.parts, tmp_path))


@pytest.mark.slow
def test_pins(toll_house, tmp_path) -> None:
    pins = [placement for placement in toll_house.layout.placements if placement.part in ("W2", "J2-core")]
    layout = lay_out(toll_house.parts, {BIRCH.name: BIRCH}, Laser(), pinned=pins)
    kept = {placement.part: (placement.turn, *placement.shift) for placement in layout.placements}
    assert all(kept[pin.part] == (pin.turn, *pin.shift) for pin in pins)
    measure(layout, toll_house.parts, written(layout, toll_house.parts, tmp_path))


@pytest.mark.parametrize("spacing", [0.0, 8.0])
@pytest.mark.slow
def test_other_spacings(toll_house, tmp_path, spacing) -> None:
    laser = Laser(spacing=spacing)
    layout = lay_out(toll_house.parts, {BIRCH.name: BIRCH}, laser)
    measure(layout, toll_house.parts, written(layout, toll_house.parts, tmp_path))


@pytest.mark.slow
def test_sheets_of_a_series_sizes(toll_house, tmp_path) -> None:
    """ISO 216:2007: A0 is 841 x 1189 mm, each next one half of it across its longer side, rounded down to whole mm."""
    short, long = 841, 1189
    for number in range(4):
        if number:
            short, long = long // 2, short
        stock = replace(BIRCH, sheet=(float(long), float(short)))
        layout = lay_out(toll_house.parts, {BIRCH.name: stock}, Laser(bed=(1300.0, 900.0)))
        (path, *_) = written(layout, toll_house.parts, tmp_path)
        text = path.read_text(encoding="utf-8")
        assert re.search(rf'width="{long}mm"', text) and re.search(rf'height="{short}mm"', text)
        assert read_by_svgelements(path).size == pytest.approx((long, short), abs=2e-3)
    assert (long, short) == (420, 297)  # A3
