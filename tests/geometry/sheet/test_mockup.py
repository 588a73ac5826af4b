"""The mock-up, read back by two readers that we did not write: pypdf for its lines, pdfium for its pixels."""

from __future__ import annotations

import io

import numpy as np
import pypdf
import pypdfium2
import pytest
import shapely
from sample_runs import outcome_of
from shapely.geometry import LineString
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.sheet.mockup import BAR, OVERLAP, Paper, print_mockup

BIRCH = find_stock("birch-plywood-3", read_stocks())
MM = 25.4 / 72


@pytest.fixture(scope="module")
def parts():
    outcome = outcome_of("grain_store")
    return {part.id: part for part in outcome.parts}


def strokes(page) -> list[tuple[str, bool, np.ndarray]]:
    """Every line of a page as (colour, dashed, points in mm), by pypdf's reading of the content stream."""
    found, points, colour, dashed = [], [], "", False
    for operands, operator in pypdf.generic.ContentStream(page.get_contents(), page.pdf).operations:
        values = [float(value) for value in operands if isinstance(value, (int, float))]
        if operator == b"RG":
            colour = " ".join(f"{value:.2f}" for value in values)
        elif operator == b"d":
            dashed = bool(operands[0])
        elif operator == b"m":
            if points:
                found.append((colour, dashed, np.array(points) * MM))
            points = [values]
        elif operator == b"l":
            points.append(values)
        elif operator in (b"S", b"B*"):
            found.append((colour, dashed, np.array(points) * MM))
            points = []
    return found


BLACK = "0.00 0.00 0.00"


def read(parts, paper: Paper = Paper.A4) -> tuple[pypdf.PdfReader, bytes]:
    data = print_mockup(tuple(parts.values()), title="Grain store", paper=paper)
    return pypdf.PdfReader(io.BytesIO(data)), data


@pytest.mark.parametrize("paper", list(Paper))
def test_pages_have_the_size_of_the_paper_and_a_bar_to_measure(parts, paper):
    """ISO 216 A4 is 210 x 297 mm, Letter 8.5 x 11 in."""
    reader, data = read(parts, paper)
    expected = {Paper.A4: (210.0, 297.0), Paper.LETTER: (8.5 * 25.4, 11 * 25.4)}[paper]
    for page in reader.pages:
        assert (float(page.mediabox.width) * MM, float(page.mediabox.height) * MM) == pytest.approx(expected, abs=1e-3)
        bars = [line for colour, _, line in strokes(page) if colour == BLACK and len(line) == 4]
        assert any(np.ptp(bar[:, 0]) == pytest.approx(BAR, abs=1e-3) and bar[0, 1] < 15.0 for bar in bars)
    # the same in pixels of a tenth of a millimetre: the row through the middle of the bar
    picture = pypdfium2.PdfDocument(data)[0].render(scale=254 / 72).to_numpy()[:, :, :3].min(axis=2)
    row = picture.shape[0] - 100  # 10 mm above the lower edge
    dark = np.flatnonzero(picture[row - 2 : row + 3, :1150].min(axis=0) < 100)
    assert (dark.max() - dark.min()) / 10.0 == pytest.approx(BAR, abs=0.4)


def test_small_parts_are_there_at_their_true_size(parts):
    reader, _ = read(parts)
    drawn = [line for page in reader.pages for colour, _, line in strokes(page) if colour == BLACK]
    sizes = {tuple(sorted(np.round(np.ptp(line, axis=0), 2).tolist())) for line in drawn}
    for part in parts.values():
        if max(part.size) < 180.0:
            assert any(tuple(sorted(part.size)) == pytest.approx(size, abs=0.02) for size in sizes), part.id


def test_pages_of_a_large_part_laid_on_each_other_are_the_part(parts):
    """Headings name row and column; every page moved by its step, all lines together are the outline, and no more."""
    reader, _ = read(parts)
    step = np.array([190.0 - OVERLAP, 255.0 - OVERLAP])
    lines, bends, crosses = [], [], {}
    for page in reader.pages:
        words = page.extract_text()
        if "W1, row" not in words:
            continue
        row, column = (int(words.split(word)[1].split()[0]) - 1 for word in ("row ", "column "))
        move = step * np.array([column, row]) - np.array([10.0, 20.0])
        for colour, dashed, line in strokes(page):
            if line[:, 1].max() > 276.0 or (line[:, 1].max() < 14.0):
                continue  # heading and bar
            if colour == BLACK and not dashed:
                lines.append(LineString(line + move))
            elif dashed:
                bends.append(LineString(line + move))
            else:
                crosses.setdefault(tuple(np.round((line + move).mean(axis=0), 2).tolist()), set()).add((row, column))
    part = parts["W1"]
    x0, _, _, y1 = part.outline.bounds
    turned = shapely.transform(part.outline, lambda p: np.column_stack([-p[:, 1] + y1, p[:, 0] - x0]))
    outline = shapely.boundary(turned)
    laid = shapely.union_all(lines)
    assert shapely.hausdorff_distance(laid, outline) < 0.01
    assert shapely.difference(outline, laid.buffer(0.01)).length < 0.01
    # two lines to bend at for every lattice, on its tangent lines
    for placed in part.lattices:
        for ends in (placed.zone[:2], placed.zone[2:]):
            expected = LineString(np.column_stack([-ends[:, 1] + y1, ends[:, 0] - x0]))
            assert any(shapely.hausdorff_distance(expected, bend) < 0.01 for bend in bends)
    # every cross lies at the same place of the part on both pages that it belongs to
    assert crosses and all(len(pages) == 2 for pages in crosses.values())


def test_the_same_parts_give_the_same_bytes_and_nothing_gives_a_page(parts):
    assert print_mockup(tuple(parts.values()), title="x") == print_mockup(tuple(parts.values()), title="x")
    assert len(pypdf.PdfReader(io.BytesIO(print_mockup((), title="x"))).pages) == 1


def test_parts_bear_the_names_that_sheets_and_guide_call_them_by(parts):
    reader, _ = read(parts)
    said = " ".join(page.extract_text() for page in reader.pages).split()
    shared = [part for part in parts.values() if part.name != part.id]
    assert shared and all(said.count(part.name.split()[0]) for part in shared)
    assert not {part.id for part in shared} & set(said)
