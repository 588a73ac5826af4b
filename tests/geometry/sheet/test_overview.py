"""The overview shows every sheet and part, as a picture and as a page that other readers open."""

from __future__ import annotations

import io
from xml.etree import ElementTree

import numpy as np
import PIL.Image
import pypdf
import pypdfium2
import pytest
import resvg_py
from parts_by_hand import make_building, make_stock
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.sheet.layout import lay_out
from stowfold.geometry.sheet.overview import Page, draw_overview, print_overview
from stowfold.geometry.sheet.pdf import Shape, Words, write_pdf

NAME = "birch-plywood-3"
TITLE = 'Toll house "at the lock" / <Süd> \u202bשלום\u202c \U0001f3e0'


@pytest.fixture(scope="module")
def laid():
    parts = make_building()
    return lay_out(parts, {NAME: make_stock()}, Laser()), {part.id: part for part in parts}


@pytest.mark.parametrize(("page", "size"), [(Page.A4, (297, 210)), (Page.A3, (420, 297))])
def test_pages_have_the_size_of_iso_216(laid, page, size):
    """ISO 216: A0 is 841 x 1189 mm, each next size halves the longer side, rounded down."""
    short, long = 841, 1189
    for _ in range(int(page.name[1])):
        short, long = long // 2, short
    assert size == (long, short)
    reader = pypdf.PdfReader(io.BytesIO(print_overview(*laid, title=TITLE, page=page)), strict=True)
    assert len(reader.pages) == 1
    sides = [float(side) * 25.4 / 72 for side in (reader.pages[0].mediabox.width, reader.pages[0].mediabox.height)]
    assert sides == pytest.approx(size, abs=1e-3)
    root = ElementTree.fromstring(draw_overview(*laid, title=TITLE, page=page))
    assert (root.attrib["width"], root.attrib["height"]) == (f"{size[0]}mm", f"{size[1]}mm")


def test_every_part_and_sheet_is_named_in_both(laid):
    layout, parts = laid
    text = pypdf.PdfReader(io.BytesIO(print_overview(*laid, title=TITLE))).pages[0].extract_text()
    root = ElementTree.fromstring(draw_overview(*laid, title=TITLE))
    words = [each.text for each in root.iter("{http://www.w3.org/2000/svg}text")]
    assert words[0] == TITLE and root[0].text == TITLE
    for name in parts:
        assert words.count(name) == 1 and name in text.split()
    for index, sheet in enumerate(layout.sheets):
        assert f"Sheet {index + 1} of {len(layout.sheets)}: Birch plywood 3 mm, 600 x 300 mm, {sheet.file}" in text
    assert pypdf.PdfReader(io.BytesIO(print_overview(*laid, title=TITLE))).metadata.title == TITLE


def test_two_renderers_agree_on_the_picture(laid):
    """The same page by the renderer of SVG and by the one of PDF, at the same size: nearly the same pixels."""
    page = pypdfium2.PdfDocument(print_overview(*laid, title="x", page=Page.A4))[0]
    theirs = page.render(scale=2).to_pil().convert("L")
    png = resvg_py.svg_to_bytes(
        svg_string=draw_overview(*laid, title="x", page=Page.A4), width=theirs.width, background="#ffffff", dpi=96
    )
    ours = PIL.Image.open(io.BytesIO(bytes(png))).convert("L").resize(theirs.size)
    a, b = np.asarray(ours, dtype=float), np.asarray(theirs, dtype=float)
    # Text is left to each renderer's own face; areas and lines must lie in the same place.
    assert np.abs(a - b).mean() < 4.0
    assert np.corrcoef(a.ravel(), b.ravel())[0, 1] > 0.9
    assert a.std() > 10.0


def test_marks_stay_on_the_page_and_sheets_apart(laid):
    root = ElementTree.fromstring(draw_overview(*laid, title="x"))
    boxes = []
    for path in root.iter("{http://www.w3.org/2000/svg}path"):
        data = path.attrib["d"].replace("Z", "").replace("M", " ").replace("L", " ")
        points = np.array([each.split(",") for each in data.split()], dtype=float)
        assert points.min() > 0 and points[:, 0].max() < 420 and points[:, 1].max() < 297
        if path.attrib["fill"] == "#fbfaf7":
            boxes.append((*points.min(axis=0), *points.max(axis=0)))
    assert len(boxes) == len(laid[0].sheets)
    for i, a in enumerate(boxes):
        for b in boxes[i + 1 :]:
            assert a[2] < b[0] or b[2] < a[0] or a[3] < b[1] or b[3] < a[1]


def test_a_filled_square_covers_its_area_true_to_size():
    square = np.array([[20, 30], [70, 30], [70, 60], [20, 60.0]])
    hole = np.array([[30, 40], [40, 40], [40, 50], [30, 50.0]])
    data = write_pdf((101.6, 76.2), [Shape((square, hole), "#000000", "#000000", 0.01, True)], title="x")
    image = np.asarray(pypdfium2.PdfDocument(data)[0].render(scale=254 / 72).to_pil().convert("L"))
    assert max(abs(image.shape[0] - 762), abs(image.shape[1] - 1016)) <= 1  # 4 x 3 in, ten to the millimetre
    # This renderer draws no line thinner than a dot: half a dot of 0.1 mm outside the wood, half inside the hole.
    wanted = 50 * 30 - 10 * 10 + 0.1 / 2 * (160 + 40) * 2
    assert (image < 128).sum() / 100 == pytest.approx(wanted, rel=5e-3)
    rows, columns = np.nonzero(image < 128)
    assert (columns.min() / 10, columns.max() / 10) == pytest.approx((20, 70), abs=0.2)
    assert (76.2 - rows.max() / 10, 76.2 - rows.min() / 10) == pytest.approx((30, 60), abs=0.2)


def test_text_with_brackets_and_strange_letters_is_read_back():
    data = write_pdf((100.0, 80.0), [Words(r"a(b\c) ü שׁ", (10.0, 10.0), 5.0)], title="x")
    assert pypdf.PdfReader(io.BytesIO(data), strict=True).pages[0].extract_text().startswith(r"a(b\c) ü ?")
    assert data == write_pdf((100.0, 80.0), [Words(r"a(b\c) ü שׁ", (10.0, 10.0), 5.0)], title="x")


def test_no_sheets_make_an_empty_page():
    layout = lay_out([], {}, Laser())
    assert "<svg" in draw_overview(layout, {}, title="x")
    assert print_overview(layout, {}, title="x").startswith(b"%PDF-1.4")
