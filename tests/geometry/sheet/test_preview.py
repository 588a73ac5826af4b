"""The preview: areas and lines to be drawn, measured with shapely; parts found under a pointer."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from parts_by_hand import make_building, make_one_sheet, make_part, make_stock, make_wall
from shapely.geometry import Polygon, box
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.part import PartKind
from stowfold.geometry.sheet.fills import FILLS
from stowfold.geometry.sheet.layout import lay_out
from stowfold.geometry.sheet.preview import draw_figures, figure_of, part_at, spread_out


def lengths(pieces):
    return np.hypot(*(pieces[:, 1] - pieces[:, 0]).T)


@pytest.fixture
def laid():
    parts = make_building()
    stocks = {"birch-plywood-3": make_stock()}
    layout = lay_out(parts, stocks, Laser())
    by_id = {part.id: part for part in parts}
    return layout, by_id, {name: figure_of(part) for name, part in by_id.items()}


def test_triangles_cover_a_part_and_leave_its_holes_open():
    for part in make_building():
        triangles = shapely.polygons(figure_of(part).triangles)
        assert shapely.area(triangles).sum() == pytest.approx(part.area, rel=1e-9)
        covered = shapely.union_all(triangles, grid_size=1e-6)
        assert shapely.area(shapely.symmetric_difference(covered, part.outline)) == pytest.approx(0.0, abs=1e-3)
        assert lengths(figure_of(part).edges).sum() == pytest.approx(part.outline.length)


def test_slits_are_as_long_as_the_lattice_has_them():
    wall = make_wall()
    slits = figure_of(wall).slits
    assert len(slits) == sum(len(placed.slits.start) for placed in wall.lattices)
    assert lengths(slits).sum() == pytest.approx(sum((p.slits.end - p.slits.start).sum() for p in wall.lattices))


def test_a_name_is_written_where_board_is_free():
    for part in (make_wall(), make_part("C1", box(0, 0, 14, 62))):
        figure = figure_of(part)
        ring = shapely.Point(figure.spot).buffer(0.98 * figure.room)
        assert shapely.covers(part.outline, ring)
        assert not any(shapely.intersects(ring, Polygon(placed.zone)) for placed in part.lattices)
    # the strip's widest circles are half its width, and its name is written in its middle
    assert figure.room == pytest.approx(7.0, abs=0.5)
    np.testing.assert_allclose(figure.spot, (7.0, 31.0))


def test_sheets_lie_in_rows_that_do_not_overlap():
    parts = [make_part(f"W{k}", box(0, 0, 500, 250)) for k in range(7)]
    layout = lay_out(parts, {"birch-plywood-3": make_stock()}, Laser())
    spread = spread_out(layout, (100.0, -20.0))
    boxes = shapely.polygons(spread.boxes())
    assert len(boxes) == 7
    assert [round(area) for area in shapely.area(boxes)] == [180000] * 7
    assert not shapely.intersects(boxes[:, None], boxes[None]).sum() > 7
    np.testing.assert_allclose(spread.corners[0], (100.0, -20.0))
    assert shapely.covers(box(*spread.box), shapely.union_all(boxes))
    margins = shapely.polygons(spread.boxes(3.0))
    assert shapely.area(margins) == pytest.approx(594 * 294)
    assert lengths(spread.edges()).sum() == pytest.approx(7 * 1800)


def test_everything_is_drawn_on_its_sheet_by_kind(laid):
    layout, parts, figures = laid
    spread = spread_out(layout, (1000.0, 50.0))
    drawn = draw_figures(layout.placements, parts, figures, spread)
    for kind, triangles in drawn.fills.items():
        own = sum(parts[placement.part].area for placement in layout.placements if parts[placement.part].kind is kind)
        assert shapely.area(shapely.polygons(triangles)).sum() == pytest.approx(own)
    sheets = shapely.union_all(shapely.polygons(spread.boxes(3.0)))
    everything = np.concatenate([drawn.edges, drawn.slits, drawn.marks])
    assert shapely.covers(sheets, shapely.multilinestrings(list(everything)))
    assert set(drawn.fills) <= set(FILLS)
    assert set(FILLS) == set(PartKind)


@pytest.mark.slow
def test_parts_are_turned_and_never_mirrored(laid):
    layout, parts, figures = laid
    spread = spread_out(layout, (0.0, 0.0))
    for placement in layout.placements:
        drawn = draw_figures([placement], parts, figures, spread)
        (triangles,) = drawn.fills.values()
        area = shapely.union_all(shapely.polygons(triangles), grid_size=1e-6)
        c, s = math.cos(placement.turn), math.sin(placement.turn)
        x, y = placement.shift + spread.corners[placement.sheet]
        turned = shapely.affinity.affine_transform(parts[placement.part].outline, [c, -s, s, c, x, y])
        assert shapely.area(shapely.symmetric_difference(area, turned)) < 1e-2


@pytest.mark.slow
def test_the_part_under_a_point_is_the_one_whose_outline_holds_it(laid):
    layout, parts, figures = laid
    spread = spread_out(layout, (0.0, 0.0))
    outlines = {}
    for placement in layout.placements:
        ring = (
            placement.place(np.array(parts[placement.part].outline.exterior.coords)) + spread.corners[placement.sheet]
        )
        outlines[placement.part] = Polygon(ring)
        spot = placement.place(figures[placement.part].spot[None])[0] + spread.corners[placement.sheet]
        assert part_at(layout.placements, parts, spread, spot) == placement.part
    rng = np.random.default_rng(5)
    x0, y0, x1, y1 = spread.box
    for point in rng.uniform((x0, y0), (x1, y1), (400, 2)):
        holding = {name for name, ring in outlines.items() if ring.contains(shapely.Point(point))}
        found = part_at(layout.placements, parts, spread, point)
        assert (found in holding) if holding else found is None


def test_a_part_in_the_hole_of_another_is_picked_before_it():
    ring = make_part("P1", box(0, 0, 200, 150).difference(box(40, 40, 160, 110)))
    small = make_part("S1", box(0, 0, 50, 20))
    layout = make_one_sheet(("P1", (20, 20)), ("S1", (90, 80)))
    parts = {"P1": ring, "S1": small}
    spread = spread_out(layout, (0.0, 0.0))
    assert part_at(layout.placements, parts, spread, (95, 85)) == "S1"
    assert part_at(layout.placements, parts, spread, (70, 70)) == "P1"
    assert part_at(layout.placements, parts, spread, (30, 30)) == "P1"
    assert part_at(layout.placements, parts, spread, (300, 30)) is None


def test_beside_a_sheet_is_on_none():
    layout = make_one_sheet(("P1", (20, 20)))
    spread = spread_out(layout, (10.0, 10.0))
    assert spread.sheet_at((10.0, 10.0)) == 0
    assert spread.sheet_at((9.0, 10.0)) is None
    assert spread.sheet_at((9.0, 10.0), 2.0) == 0
