"""Lines are drawn where the wood comes out as designed."""

from __future__ import annotations

import numpy as np
import pyclipper
import pytest
import shapely
from parts_by_hand import make_lattice, make_part, make_wall
from shapely.geometry import LineString, Polygon, box
from stowfold.geometry.beam.kerf import draw_outline, draw_part, draw_slits
from stowfold.geometry.errors import BadSettingError

KERF = 0.2


def cut_out(lines, kerf=KERF):
    """What a round beam removes along the lines, by shapely."""
    rings = [np.vstack([p, p[:1]]) if shut else p for p, shut in zip(lines.polylines(), lines.closed, strict=True)]
    return shapely.union_all([LineString(ring).buffer(kerf / 2, quad_segs=32) for ring in rings])


def test_outline_agrees_with_an_independent_offsetter():
    outline = make_wall().outline
    outer, inner, _ = draw_outline(outline, KERF)
    scale = 1e6
    offset = pyclipper.PyclipperOffset(10.0)
    turned = shapely.orient_polygons(outline)  # holes the other way round, as this offsetter wants them
    for ring in (turned.exterior, *turned.interiors):
        points = [(round(x * scale), round(y * scale)) for x, y in ring.coords[:-1]]
        offset.AddPath(points, pyclipper.JT_MITER, pyclipper.ET_CLOSEDPOLYGON)
    theirs = [Polygon(np.array(path) / scale) for path in offset.Execute(KERF / 2 * scale)]
    ours = [Polygon(line) for line in [*outer.polylines(), *inner.polylines()]]
    assert len(ours) == len(theirs) == 2
    for mine, other in zip(*(sorted(shapes, key=lambda p: p.area) for shapes in (ours, theirs)), strict=True):
        assert shapely.symmetric_difference(mine, other).area < 1e-3


def test_what_the_beam_leaves_is_the_part_as_designed_but_for_its_round_inner_corners():
    part = make_part("W1", box(0, 0, 80, 40).difference(box(20, 10, 35, 30)))
    drawn = draw_part(part, KERF)
    left = drawn.body.difference(cut_out(drawn.outer)).difference(cut_out(drawn.inner))
    # A round beam leaves r^2 (1 - pi/4) in each of the four corners of the hole.
    assert left.area - part.area == pytest.approx(4 * (KERF / 2) ** 2 * (1 - np.pi / 4), abs=1e-4)
    assert left.difference(part.outline).area == pytest.approx(left.area - part.area, abs=1e-9)


def test_removed_area_is_length_times_kerf_but_for_corners():
    outer, _, _ = draw_outline(box(0, 0, 80, 40), KERF)
    r = KERF / 2
    # Each of four right corners: the strips overlap by r^2 inside and a quarter disc is added outside.
    corners = 4 * (np.pi * r * r / 4 - r * r)
    assert outer.length == pytest.approx(2 * (80.2 + 40.2))
    assert cut_out(outer).area == pytest.approx(outer.length * KERF + corners, abs=1e-4)


@pytest.mark.parametrize("step", [2e-5, 2e-4, 9e-4])
@pytest.mark.parametrize("kerf", [0.1, 0.13, 0.2])
def test_a_step_too_small_to_be_drawn_is_no_opening(step, kerf):
    """Walls whose tops differ by rounding: no line lies along the step, and the part keeps its size."""
    top = [(250, 86), (150, 86), (150, 86 + step), (50, 86 + step), (50, 86), (0, 86)]
    outer, inner, findings = draw_outline(Polygon([(0, 0), (250, 0), *top]), kerf)
    assert not findings and len(inner.polylines()) == 0
    level = box(-kerf / 2, -kerf / 2, 250 + kerf / 2, 86 + kerf / 2)
    assert Polygon(outer.points).hausdorff_distance(level) <= step + 1e-6


def test_a_slot_as_wide_as_a_drawn_step_still_counts():
    slotted = Polygon([(0, 0), (80, 0), (80, 40), (40.05, 40), (40.05, 20), (39.95, 20), (39.95, 40), (0, 40)])
    _, inner, findings = draw_outline(slotted, KERF)
    assert [finding.code for finding in findings] == ["opening-within-kerf"]
    assert len(inner.polylines()) == 1


def test_spire_corner_stays_sharp():
    tip = Polygon([(0, 0), (20, 0), (10, 54)])  # 21 degrees at the tip, as on an octagonal spire at 24/12
    outer, _, findings = draw_outline(tip, KERF)
    half = np.arctan2(10, 54)
    assert outer.points[:, 1].max() == pytest.approx(54 + KERF / 2 / np.sin(half), abs=1e-9)
    assert findings == ()


@pytest.mark.parametrize("width", [0.1, 0.2])
def test_opening_within_the_kerf_becomes_one_centre_line(width):
    outline = box(0, 0, 50, 30).difference(box(10, 15 - width / 2, 25, 15 + width / 2))
    _, inner, findings = draw_outline(outline, KERF, part="W3")
    assert [f.code for f in findings] == ["opening-within-kerf"]
    assert "W3" in findings[0].message
    assert len(inner) == 1 and not inner.closed[0]
    np.testing.assert_allclose(np.sort(inner.points, axis=0), [[10.1, 15], [24.9, 15]], atol=1e-9)


def test_opening_wider_than_the_kerf_stays_a_ring():
    _, inner, findings = draw_outline(box(0, 0, 50, 30).difference(box(10, 10, 25, 10.3)), KERF)
    assert findings == () and inner.closed.tolist() == [True]


def test_a_narrow_notch_is_cut_as_one_line():
    _, inner, findings = draw_outline(box(0, 0, 50, 30).difference(box(20, 20, 20.15, 31)), KERF)
    assert [f.code for f in findings] == ["opening-within-kerf"]
    assert len(inner) == 1
    assert inner.points[:, 1].min() == pytest.approx(20.1)


def test_parts_that_burn_away_or_fall_apart_are_findings():
    _, _, thin = draw_outline(box(0, 0, 50, 0.15), KERF, part="S1")
    dumbbell = shapely.union_all([box(0, 0, 10, 10), box(9, 5, 21, 5.1), box(20, 0, 30, 10)])
    _, _, neck = draw_outline(dumbbell, KERF, part="S2")
    assert [f.code for f in thin] == [f.code for f in neck] == ["part-too-small"]
    assert "2 pieces" in neck[0].message
    assert draw_outline(box(0, 0, 50, 0.3), KERF)[2] == ()


@pytest.mark.parametrize("kerf", [0.0, -0.1, float("nan")])
def test_kerf_must_be_positive(kerf):
    with pytest.raises(BadSettingError, match="kerf"):
        draw_outline(box(0, 0, 1, 1), kerf)


def true_openings(placed):
    s, half = placed.slits, placed.lattice.opening / 2
    x, y = placed.origin
    return [box(x + a - half, y + lo, x + a + half, y + hi) for a, lo, hi in zip(s.across, s.start, s.end, strict=True)]


def test_wide_slits_come_out_as_designed():
    placed = make_lattice(100.0, 62.0)
    lines, findings = draw_slits(placed, KERF)
    assert findings == () and len(lines) == len(placed.slits.across)
    board = box(90, 0, 130, 62)
    outline, _, _ = draw_outline(board, KERF)
    gone = shapely.union_all([cut_out(lines), cut_out(outline)])
    # Cut loose: what is enclosed falls out.
    left = shapely.difference(board, gone)
    body = max(shapely.get_parts(left), key=lambda piece: piece.area)
    wanted = board.difference(shapely.union_all(true_openings(placed)))
    corner = (KERF / 2) ** 2 * (1 - np.pi / 4)
    # Round corners where the beam turns: two per closed end.
    closed_ends = int((~placed.slits.open_start).sum() + (~placed.slits.open_end).sum())
    assert body.difference(wanted).area == pytest.approx(2 * closed_ends * corner, rel=0.01)
    # The legs of open slits end as half discs beyond the edge, where there is no board.
    assert wanted.difference(body).area < 1e-9


def test_open_slits_are_three_sides_whose_legs_cross_the_drawn_outline_once():
    placed = make_lattice(0.0, 62.0)
    lines, _ = draw_slits(placed, KERF)
    outline, _, _ = draw_outline(box(-10, 0, 30, 62), KERF)
    ring = LineString(np.vstack([outline.points, outline.points[:1]]))
    opened = [line for line, shut in zip(lines.polylines(), lines.closed, strict=True) if not shut]
    assert len(opened) == int((placed.slits.open_start | placed.slits.open_end).sum())
    for line in opened:
        assert len(line) == 4
        crossing = LineString(line).intersection(ring)
        assert crossing.geom_type == "MultiPoint" and len(crossing.geoms) == 2
        past = max(-line[:, 1].min(), line[:, 1].max() - 62)
        assert past == pytest.approx(KERF)  # one kerf past the edge of the board


def test_slits_no_wider_than_the_kerf_are_centre_lines():
    placed = make_lattice(0.0, 62.0, opening=KERF)
    lines, _ = draw_slits(placed, KERF)
    order = np.lexsort((placed.slits.start, placed.slits.across))
    s = placed.slits
    wanted = np.column_stack(
        [s.across, np.where(s.open_start, -KERF, s.start + KERF / 2), np.where(s.open_end, 62 + KERF, s.end - KERF / 2)]
    )[order]
    drawn = sorted((p[0, 0], p[:, 1].min(), p[:, 1].max()) for p in lines.polylines())
    np.testing.assert_allclose(drawn, wanted, atol=1e-9)


def test_slit_open_at_both_ends_is_two_lines():
    lines, _ = draw_slits(make_lattice(0.0, 62.0, rows=3, through=True), KERF)
    assert sorted(len(p) for p in lines.polylines()) == [2, 2, 4, 4, 4, 4]
    assert lines.segments().shape == (4 * 4 + 2, 2, 2)


def test_rows_are_skipped_so_that_heat_spreads():
    lines, _ = draw_slits(make_lattice(0.0, 62.0, rows=7), KERF)
    middles = [round((p[:, 0].mean()) / 1.2) for p in lines.polylines()]
    assert list(dict.fromkeys(middles)) == [0, 3, 6, 1, 4, 2, 5]


def test_slit_shorter_than_the_kerf_is_an_error():
    lines, findings = draw_slits(make_lattice(0.0, 9.3, rows=3), KERF)
    assert [f.code for f in findings] == ["slit-within-kerf"]
    assert len(lines) == 2  # the two that are open at an edge
