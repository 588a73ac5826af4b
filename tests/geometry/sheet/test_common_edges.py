"""Without spacing parts share cuts: each line is cut once, and every part keeps its size."""

from __future__ import annotations

import io

import numpy as np
import pytest
import shapely
import svgelements
from parts_by_hand import make_building, make_part, make_stock, make_wall
from shapely.geometry import LineString, Polygon, box
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.part import LabelSpot
from stowfold.geometry.sheet.check import check_sheets, doubled_lines
from stowfold.geometry.sheet.layout import lay_out
from stowfold.geometry.sheet.piece import Placement
from stowfold.geometry.sheet.svg import draw_sheet

NAME = "birch-plywood-3"
KERF = 0.2

#: svgelements gives px; CSS fixes 96 px to the inch of 25.4 mm.
MM = 25.4 / 96


def cut(name, outline, **changes):
    """A part whose label hides in its own middle, so that nothing is drawn in the waste."""
    x0, y0, x1, y1 = outline.bounds
    spot = LabelSpot(((x0 + x1) / 2, (y0 + y1) / 2), 0.0, (x1 - x0) / 2, (y1 - y0) / 3)
    return make_part(name, outline, label_spot=spot, **changes)


def drawn_lines(layout, index, parts, *, but=None):
    """The straight lines that a sheet's file cuts, by somebody else's reader, mm, y up; ``but`` those of one part."""
    text = draw_sheet(layout, index, {part.id: part for part in parts}, title="Sheet")
    lines, height = [], layout.sheets[index].size[1]
    for group in svgelements.SVG.parse(io.StringIO(text)).select(lambda e: isinstance(e, svgelements.Group)):
        if group.id not in ("slits", "inner", "outer"):
            continue
        for path in group.select(lambda e: isinstance(e, svgelements.Path)):
            if path.id.rsplit("-", 1)[0] == but:
                continue
            for step in path:
                if isinstance(step, (svgelements.Line, svgelements.Close)) and step.start != step.end:
                    lines.append(LineString([(p.x * MM, height - p.y * MM) for p in (step.start, step.end)]))
    return lines


def laid(layout, parts, index):
    """The parts as designed where they lie."""
    by_id = {part.id: part for part in parts}
    return {
        placement.part: shapely.transform(by_id[placement.part].outline, placement.place)
        for placement in layout.placements
        if placement.sheet == index
    }


def assert_whole(layout, parts, index):
    """Burn half a kerf off either side of all lines: what is left of the sheet are the parts as designed."""
    lines = drawn_lines(layout, index, parts)
    burnt = shapely.union_all([line.buffer(KERF / 2) for line in lines])
    left = shapely.get_parts(box(0, 0, *layout.sheets[index].size).difference(burnt))
    for name, designed in laid(layout, parts, index).items():
        piece = max(left, key=lambda piece: piece.intersection(designed).area)
        assert designed.difference(piece).area < 2e-3 * designed.length, name  # 1 um per coordinate in the file
        # a round beam leaves inner corners round: half a kerf times (root of two less one)
        assert piece.hausdorff_distance(designed) < 0.415 * KERF / 2 + 3e-3, name


def assert_each_line_once(layout, parts, index):
    lines = drawn_lines(layout, index, parts)
    assert doubled_lines(np.array([line.coords for line in lines])) == []
    # and by another library: all lines together are as long as their union, where equal stretches count once
    union = shapely.union_all(lines, grid_size=2e-3)
    assert sum(line.length for line in lines) == pytest.approx(union.length, abs=0.05)


def test_tiles_are_packed_edge_to_edge_and_every_shared_line_is_cut_once():
    parts = [cut(f"P{k}", box(0, 0, 60, 40)) for k in range(12)]
    stocks, laser = {NAME: make_stock(sheet=(250.0, 140.0))}, Laser(spacing=0.0)
    layout = lay_out(parts, stocks, laser)
    assert len(layout.sheets) == 1 and check_sheets(layout, {part.id: part for part in parts}) == ()
    assert_each_line_once(layout, parts, 0)
    assert_whole(layout, parts, 0)
    rings = [outline.buffer(KERF / 2, join_style="mitre").exterior for outline in laid(layout, parts, 0).values()]
    alone = sum(ring.length for ring in rings)
    shared = alone - shapely.union_all(rings, grid_size=1e-4).length
    assert len(rings) == 12 and shared >= 843.2 - 1e-6  # two rows of six: 10 long sides and 6 short ones
    assert sum(line.length for line in drawn_lines(layout, 0, parts)) == pytest.approx(alone - shared, abs=0.05)


def test_faces_between_the_lines_less_half_a_kerf_are_the_parts():
    triangle, step = Polygon([(0, 0), (80, 0), (0, 50)]), box(0, 0, 90, 40).difference(box(50, 20, 91, 41))
    parts = [cut(f"T{k}", triangle) for k in range(4)] + [cut(f"L{k}", step) for k in range(4)]
    layout = lay_out(parts, {NAME: make_stock(sheet=(300.0, 150.0))}, Laser(spacing=0.0))
    assert len(layout.sheets) == 1 and check_sheets(layout, {part.id: part for part in parts}) == ()
    faces = shapely.get_parts(shapely.polygonize([shapely.union_all(drawn_lines(layout, 0, parts), grid_size=2e-3)]))
    for name, designed in laid(layout, parts, 0).items():
        face = next(face for face in faces if face.contains(designed.representative_point()))
        assert face.buffer(-KERF / 2, join_style="mitre", mitre_limit=10).hausdorff_distance(designed) < 6e-3, name
    assert_each_line_once(layout, parts, 0)
    assert_whole(layout, parts, 0)


def test_sides_that_are_hardly_out_of_parallel_are_one_cut():
    askew = Polygon([(0, 0), (60, 0.003), (60.004, 40), (0.003, 40.002)])
    parts = [cut(f"P{k}", askew if k % 2 else box(0, 0, 60, 40)) for k in range(6)]
    layout = lay_out(parts, {NAME: make_stock(sheet=(200.0, 100.0))}, Laser(spacing=0.0))
    assert len(layout.sheets) == 1 and check_sheets(layout, {part.id: part for part in parts}) == ()
    lines = drawn_lines(layout, 0, parts)
    along = [
        one.intersection(other.buffer(0.015, cap_style="flat")).length
        for k, one in enumerate(lines)
        for other in lines[:k]
    ]
    assert max(along) < 0.1
    # six parts of 200 mm in two rows of three: 120 mm along and 160 mm across are cut for two at once
    assert sum(line.length for line in lines) < 6 * 200.0 - 280.0 + 10.0


def test_tiles_that_fit_only_with_common_cuts_share_a_sheet():
    parts = [cut(f"P{k}", box(0, 0, 59.8, 39.8)) for k in range(4)]
    stocks = {NAME: make_stock(sheet=(120.0 + 2 * 3.1, 80.0 + 2 * 3.1))}  # margin 3 and half a kerf
    assert len(lay_out(parts, stocks, Laser(spacing=0.0)).sheets) == 1
    assert lay_out(parts, stocks, Laser(spacing=0.0)).bound[0] == 1
    assert len(lay_out(parts, stocks, Laser(spacing=0.01)).sheets) > 1


def test_a_part_as_high_as_the_hole_that_it_lies_in_shares_three_of_its_lines():
    frame = box(0, 0, 120, 90).difference(box(20, 20, 80.4, 60.4))  # drawn, the hole is 60.2 by 40.2
    rim = LabelSpot((60.0, 10.0), 0.0, 80.0, 10.0)
    parts = [make_part("A", frame, label_spot=rim), cut("B", box(0, 0, 59, 40))]
    layout = lay_out(parts, {NAME: make_stock(sheet=(126.4, 96.4))}, Laser(spacing=0.0))
    assert len(layout.sheets) == 1 and check_sheets(layout, {part.id: part for part in parts}) == ()
    assert_each_line_once(layout, parts, 0)
    assert_whole(layout, parts, 0)
    length = sum(line.length for line in drawn_lines(layout, 0, parts))
    assert length == pytest.approx(2 * (120.2 + 90.2) + 2 * (60.2 + 40.2) + 40.2, abs=0.05)


@pytest.mark.slow
def test_walls_with_open_slits_and_labels_in_the_waste_lose_nothing_to_their_neighbours():
    laser = Laser(spacing=0.0)
    parts = [part for part in make_building() if part.id in ("W1", "J1", "J1a", "J2a", "S1", "S2")]
    parts += [make_wall("W3", 150.0, label_spot=None), make_wall("W4", 150.0, label_spot=None)]
    layout = lay_out(parts, {NAME: make_stock()}, laser)
    assert check_sheets(layout, {part.id: part for part in parts}) == ()
    for index in range(len(layout.sheets)):
        assert_each_line_once(layout, parts, index)
        for name, designed in laid(layout, parts, index).items():
            others = [line.buffer(KERF / 2) for line in drawn_lines(layout, index, parts, but=name)]
            assert shapely.union_all(others).intersection(designed).area < 2e-3 * designed.length, name
    plain = [part for part in parts if not part.lattices]
    layout = lay_out(plain, {NAME: make_stock()}, laser)
    for index in range(len(layout.sheets)):
        assert_whole(layout, plain, index)


def test_holds_stay_on_shared_lines_too():
    parts = [cut(f"P{k}", box(0, 0, 60, 40)) for k in range(2)]
    places = [Placement("P0", 0, 0.0, np.array([20.0, 20.0])), Placement("P1", 0, 0.0, np.array([80.2, 20.0]))]
    layout = lay_out(parts, {NAME: make_stock()}, Laser(spacing=0.0, holds=2), pinned=places)
    assert check_sheets(layout, {part.id: part for part in parts}) == ()
    assert_each_line_once(layout, parts, 0)
    left = shapely.get_parts(
        box(0, 0, *layout.sheets[0].size).difference(
            shapely.union_all([line.buffer(KERF / 2) for line in drawn_lines(layout, 0, parts)])
        )
    )
    assert len(left) == 1  # all still hangs together
