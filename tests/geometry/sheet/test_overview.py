"""The overview shows every sheet and part on a page that other readers open."""

from __future__ import annotations

import io

import numpy as np
import pypdf
import pypdfium2
import pytest
from parts_by_hand import make_building, make_stock
from shapely.geometry import MultiPoint, box
from shapely.ops import unary_union
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.sheet.layout import lay_out
from stowfold.geometry.sheet.overview import Page, print_overview
from stowfold.geometry.sheet.pdf import Shape, Words, write_pdf

NAME = "birch-plywood-3"
#: What the strokes of two outlines widen them by in pdfium, points: half a millimetre on the page.
STROKES = 1.5
TITLE = 'Toll house "at the lock" / <Süd> \u202bשלום\u202c \U0001f3e0'


@pytest.fixture(scope="module")
def laid():
    parts = make_building()
    return lay_out(parts, {NAME: make_stock()}, Laser()), {part.id: part for part in parts}


@pytest.mark.parametrize(("page", "size"), [(Page.A4, (297, 210)), (Page.A3, (420, 297))])
@pytest.mark.slow
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


def test_every_part_and_sheet_is_named(laid):
    layout, parts = laid
    text = pypdf.PdfReader(io.BytesIO(print_overview(*laid, title=TITLE))).pages[0].extract_text()
    # the reader may run neighbouring names together, so the longest are looked for first
    rest = text
    for name in sorted(parts, key=len, reverse=True):
        assert rest.count(name) >= 1
        rest = rest.replace(name, " ", 1)
    for index, sheet in enumerate(layout.sheets):
        assert f"Sheet {index + 1} of {len(layout.sheets)}: Birch plywood 3 mm, 600 x 300 mm, {sheet.file}" in text
    assert pypdf.PdfReader(io.BytesIO(print_overview(*laid, title=TITLE))).metadata.title == TITLE


def test_parts_lie_where_the_layout_has_them_and_sheets_apart(laid):
    """Shapes measured by pdfium against the bodies that shapely places, at the scale of the sheets."""
    layout, parts = laid
    page = pypdfium2.PdfDocument(print_overview(*laid, title="x"))[0]
    shapes = [box(*target.get_bounds()) for target in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_PATH])]
    scale = max(shape.bounds[2] - shape.bounds[0] for shape in shapes) / layout.sheets[0].size[0]
    sheets = [shape for shape in shapes if shape.bounds[2] - shape.bounds[0] > 0.99 * scale * layout.sheets[0].size[0]]
    assert len(sheets) == len(layout.sheets)
    assert box(0, 0, *page.get_size()).contains(unary_union(shapes))
    assert unary_union(sheets).area == pytest.approx(sum(sheet.area for sheet in sheets))
    for placement in layout.placements:
        at = scale * placement.place(np.asarray(parts[placement.part].outline.exterior.coords))
        wanted = MultiPoint(at + sheets[placement.sheet].bounds[:2]).envelope
        assert min(np.abs(np.subtract(shape.bounds, wanted.bounds)).max() for shape in shapes) < STROKES


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
    assert print_overview(layout, {}, title="x").startswith(b"%PDF-1.4")
