"""Cut files are true to size for any reader, plain, and hold every line once."""

from __future__ import annotations

import io
import re
import zlib
from xml.etree import ElementTree

import numpy as np
import pytest
import resvg_py
import svgelements
import svgpathtools
from parts_by_hand import make_building, make_lattice, make_part, make_stock, make_wall
from shapely.geometry import Polygon, box
from stowfold.geometry.beam.laser import Laser, Operation
from stowfold.geometry.beam.lines import Lines
from stowfold.geometry.sheet.layout import lay_out
from stowfold.geometry.sheet.svg import draw_sheet, path_data, place_matrix

NAME = "birch-plywood-3"
SVG = "{http://www.w3.org/2000/svg}"
#: CSS Values and Units Module Level 3, absolute lengths: 1in = 2.54cm = 96px.
MM_PER_PX = 25.4 / 96


@pytest.fixture(scope="module")
def drawn():
    parts = make_building()
    stocks, laser, by_id = {NAME: make_stock()}, Laser(), {p.id: p for p in parts}
    layout = lay_out(parts, stocks, laser)
    texts = [
        draw_sheet(layout, i, by_id, title="Grain store <1>", date="2030-05-01") for i in range(len(layout.sheets))
    ]
    return layout, by_id, texts


def flipped(placement, sheet, points):
    a, b, c, d, e, f = place_matrix(placement, sheet)
    return points @ np.array([[a, b], [c, d]]) + [e, f]


def pixels(png):
    """A PNG of 8-bit colours as an array, by the rules of the PNG specification (ISO/IEC 15948)."""
    stream = io.BytesIO(png)
    stream.read(8)
    data, width, height, channels = b"", 0, 0, 0
    while header := stream.read(8):
        length, kind = int.from_bytes(header[:4], "big"), header[4:]
        chunk = stream.read(length)
        stream.read(4)
        if kind == b"IHDR":
            width, height = int.from_bytes(chunk[:4], "big"), int.from_bytes(chunk[4:8], "big")
            channels = {2: 3, 6: 4}[chunk[9]]
        elif kind == b"IDAT":
            data += chunk
    raw = np.frombuffer(zlib.decompress(data), dtype=np.uint8).reshape(height, 1 + width * channels)
    image = np.zeros((height, width, channels), dtype=np.uint8)
    above = np.zeros((width, channels), dtype=np.uint8)
    for row, line in enumerate(raw):
        values = line[1:].reshape(width, channels)
        if line[0] == 1:
            above = np.cumsum(values, axis=0, dtype=np.uint8)
        elif line[0] == 2:
            above = values + above
        elif line[0] == 0:
            above = values
        else:
            above = _average_or_paeth(values, above, int(line[0]))
        image[row] = above
    return image


def _average_or_paeth(values, above, kind):
    line = np.zeros_like(values)
    left, corner = np.zeros(values.shape[1], dtype=int), np.zeros(values.shape[1], dtype=int)
    for i, (value, up) in enumerate(zip(values.astype(int), above.astype(int), strict=True)):
        if kind == 3:
            guess = (left + up) // 2
        else:
            p = left + up - corner
            a, b, c = abs(p - left), abs(p - up), abs(p - corner)
            guess = np.where((a <= b) & (a <= c), left, np.where(b <= c, up, corner))
        left, corner = (value + guess) % 256, up
        line[i] = left
    return line


def test_first_reader_measures_true_millimetres(drawn):
    layout, by_id, texts = drawn
    for index, text in enumerate(texts):
        read = svgelements.SVG.parse(io.StringIO(text))
        assert read.width * MM_PER_PX == pytest.approx(600.0, abs=1e-3)
        paths = {e.id: e for e in read.elements() if isinstance(e, svgelements.Path)}
        outers = {e.attrib["id"] for e in ElementTree.fromstring(text).find(f"{SVG}g[@id='outer']").iter(f"{SVG}path")}
        here = {p.part: p for p in layout.placements if p.sheet == index}
        assert len(outers) == len(here)
        for name in outers:
            placement = here[name.rsplit("-", 1)[0]]
            outline = by_id[placement.part].outline
            wanted = flipped(placement, layout.sheets[index], np.asarray(outline.exterior.coords))
            x0, y0, x1, y1 = (v * MM_PER_PX for v in paths[name].bbox())
            low, high = wanted.min(axis=0) - 0.1, wanted.max(axis=0) + 0.1  # half the kerf of 0.2
            if not name.startswith("R"):  # the mitred corners of the roof reach farther than half a kerf
                np.testing.assert_allclose([x0, y0, x1, y1], [*low, *high], atol=1e-3)


def test_second_reader_finds_every_wall_corner_where_place_puts_it(drawn):
    layout, by_id, texts = drawn
    for placement in layout.placements:
        part = by_id[placement.part]
        paths, attributes = svgpathtools.svgstr2paths(texts[placement.sheet])
        named = {a["id"]: (p, a["stroke"]) for p, a in zip(paths, attributes, strict=True)}
        mine = [p for name, (p, stroke) in named.items() if name.rsplit("-", 1)[0] == part.id and stroke == "#3d405b"]
        (outer,) = mine
        drawn_ring = Polygon([(s.start.real, s.start.imag) for s in outer])
        matrix = place_matrix(placement, layout.sheets[placement.sheet])
        nominal = Polygon(flipped(placement, layout.sheets[placement.sheet], np.asarray(part.outline.exterior.coords)))
        assert matrix[0] * matrix[3] - matrix[1] * matrix[2] == pytest.approx(-1.0)
        grown = nominal.buffer(0.1, join_style="mitre", mitre_limit=10)
        assert drawn_ring.symmetric_difference(grown).area < 1e-3 * grown.length


def test_an_asymmetric_part_comes_back_unmirrored_from_file_and_place_alone(drawn):
    layout, _, texts = drawn
    placement = next(p for p in layout.placements if p.part == "W1")
    a, b, c, d, e, f = place_matrix(placement, layout.sheets[placement.sheet])
    paths, attributes = svgpathtools.svgstr2paths(texts[placement.sheet])
    window = next(
        p for p, at in zip(paths, attributes, strict=True) if at["id"].startswith("W1-") and at["stroke"] == "#e09f3e"
    )
    points = np.array([[s.start.real, s.start.imag] for s in window])
    back = (points - [e, f]) @ np.linalg.inv([[a, b], [c, d]])
    np.testing.assert_allclose([*back.min(axis=0), *back.max(axis=0)], [40.1, 25.1, 64.9, 49.9], atol=1e-3)


def test_pixels_lie_where_millimetres_say():
    part = make_part("W1", box(0, 0, 50, 30).difference(box(5, 5, 15, 15)))
    stocks, laser = {NAME: make_stock(sheet=(80.0, 60.0))}, Laser(margin=5.0)
    layout = lay_out([part], stocks, laser)
    text = draw_sheet(layout, 0, {"W1": part}, title="x")
    outer_only = re.sub(r'<path [^>]*stroke="(?!' + laser.colours[Operation.OUTER] + r")[^>]*/>", "", text)
    image = pixels(bytes(resvg_py.svg_to_bytes(svg_string=outer_only, background="#ffffff", dpi=254)))
    assert image.shape[:2] == (600, 800)  # 254 dots per inch: ten to the millimetre
    rows, columns = np.nonzero(image[:, :, 0] < 200)
    low, high = place_box(layout)
    assert columns.min() / 10 == pytest.approx(low[0], abs=0.1)
    assert (columns.max() + 1) / 10 == pytest.approx(high[0], abs=0.1)
    assert rows.min() / 10 == pytest.approx(low[1], abs=0.1)
    assert (rows.max() + 1) / 10 == pytest.approx(high[1], abs=0.1)


def place_box(layout):
    """The drawn outline, half the kerf of 0.2 outside the part, and half the stroke of 0.1 outside that."""
    corners = flipped(layout.placements[0], layout.sheets[0], np.array([[-0.15, -0.15], [50.15, 30.15]]))
    return corners.min(axis=0), corners.max(axis=0)


def test_file_holds_groups_in_cutting_order_and_nothing_a_program_might_ignore(drawn):
    _, _, texts = drawn
    laser = Laser()
    for text in texts:
        root = ElementTree.fromstring(text)
        assert root.attrib["width"] == "600mm" and root.attrib["height"] == "300mm"
        assert root.attrib["viewBox"] == "0 0 600 300"
        groups = root.findall(f"{SVG}g")
        assert [g.attrib["id"] for g in groups] == ["fill", "engrave", "score", "slits", "inner", "outer"]
        for group in groups:
            colour = laser.colours[Operation(group.attrib["id"])]
            assert group.attrib["stroke"] == colour and group.attrib["fill"] == "none"
            assert all(p.attrib["stroke"] == colour for p in group.iter(f"{SVG}path"))
            # all of one part that is cut in one go can be switched off at once
            for own in group:
                part, operation = own.attrib["id"].split("-")[:2]
                assert operation == group.attrib["id"]
                assert own.tag == f"{SVG}g" and {p.tag for p in own} == {f"{SVG}path"}
                assert {p.attrib["id"].rpartition("-")[0] for p in own} == {part}
        ids = [e.attrib["id"] for e in root.iter() if "id" in e.attrib]
        assert len(ids) == len(set(ids))
        for forbidden in ("transform", "<text", "<use", "class=", "style", "clip"):
            assert forbidden not in text
        assert root.find(f"{SVG}title").text.startswith("Grain store <1>")
        assert "kerf of 0.2 mm" in root.find(f"{SVG}desc").text and "2030-05-01" in root.find(f"{SVG}desc").text
        for data in (p.attrib["d"] for p in root.iter(f"{SVG}path")):
            assert re.fullmatch(r"(?:[ML]\d+\.\d{3},\d+\.\d{3}|Z)+", data)  # never negative, three decimals


def test_one_compound_path_per_lattice(drawn):
    _, _, texts = drawn
    slits = [ElementTree.fromstring(text).find(f"{SVG}g[@id='slits']") for text in texts]
    count = sum(len(group.findall(f".//{SVG}path")) for group in slits)
    assert count == 4  # two walls with two corners each


def test_path_data_reads_back():
    lines = Lines.joined(
        [Lines.of([np.array([[0, 0], [1.23456, 2]])]), Lines.of([np.array([[3, 3], [4, 3], [4, 4.0]])], closed=True)]
    )
    assert path_data(lines) == "M0.000,0.000L1.235,2.000M3.000,3.000L4.000,3.000L4.000,4.000Z"
    assert "-0.000" not in path_data(Lines.of([np.array([[-1e-5, 0], [1, 1]])]))


def test_the_beam_never_stands_still_on_a_line():
    near = np.array([[0, 0], [5, 0], [5.0002, 0.0001], [9, 0], [9, 4.0]])
    dot = np.array([[2, 2], [2.0001, 2], [2.0002, 2.0]])
    lines = Lines.joined([Lines.of([near], closed=True), Lines.of([dot])])
    assert path_data(lines) == "M0.000,0.000L5.000,0.000L9.000,0.000L9.000,4.000ZM2.000,2.000L2.000,2.000"


def test_ids_are_valid_names():
    part = make_part("1 ä<b", box(0, 0, 50, 30))
    stocks = {NAME: make_stock()}
    text = draw_sheet(lay_out([part], stocks, Laser()), 0, {part.id: part}, title="x")
    names = [e.attrib["id"] for e in ElementTree.fromstring(text).iter(f"{SVG}path")]
    assert names and all(re.fullmatch(r"[A-Za-z_][A-Za-z0-9_.-]*", name) for name in names)


@pytest.mark.parametrize("name", ["a/b\\c", '"W1" & <co>', "\u05e9\u05dc\u05d5\u05dd", "\U0001f3e0", "\x00\x07\ud800"])
def test_any_name_makes_a_file_that_is_read_back(name):
    part = make_part(name, box(0, 0, 50, 30))
    stocks = {NAME: make_stock(label=name)}
    layout = lay_out([part, make_part("a-b-c", box(0, 0, 50, 30))], stocks, Laser())
    by_id = {name: part, "a-b-c": make_part("a-b-c", box(0, 0, 50, 30))}
    text = draw_sheet(layout, 0, by_id, title=name)
    root = ElementTree.fromstring(text.encode("utf-8"))
    shown = "".join("\ufffd" if ord(letter) < 32 or 0xD800 <= ord(letter) < 0xE000 else letter for letter in name)
    assert root.find(f"{SVG}title").text == f"{shown}: sheet 1 of 1"
    ids = [path.attrib["id"] for path in root.iter(f"{SVG}path")]
    assert len(ids) == len(set(ids)) and all(re.fullmatch(r"[A-Za-z_][A-Za-z0-9_.-]*", number) for number in ids)
    assert re.fullmatch(r"[a-z0-9.-]+", layout.sheets[0].file)


def test_two_readers_agree_on_count_and_length_of_many_slits():
    wall = make_wall("W1", lattices=(make_lattice(125.0, 62.0, rows=61, slits=8),))
    stocks = {NAME: make_stock()}
    text = draw_sheet(lay_out([wall], stocks, Laser()), 0, {"W1": wall}, title="x")
    theirs, attributes = svgpathtools.svgstr2paths(text)
    (slits,) = [p for p, a in zip(theirs, attributes, strict=True) if a["stroke"] == "#b5179e"]
    read = svgelements.SVG.parse(io.StringIO(text))
    (other,) = [e for e in read.elements() if isinstance(e, svgelements.Path) and e.stroke.hex == "#b5179e"]
    count = len(wall.lattices[0].slits.across)
    assert count > 400
    assert len(slits.continuous_subpaths()) == len(list(other.as_subpaths())) == count
    assert other.length() * MM_PER_PX == pytest.approx(slits.length(), rel=1e-5)


def test_the_file_has_no_invalid_svg(drawn):
    """svgwrite's own validator of SVG 1.1 accepts every path."""
    import svgwrite

    _, _, texts = drawn
    check = svgwrite.Drawing(debug=True)
    for path in ElementTree.fromstring(texts[0]).iter(f"{SVG}path"):
        check.add(check.path(d=path.attrib["d"], id=path.attrib["id"], stroke=path.attrib["stroke"]))
    assert check.tostring().count("<path") > 5
