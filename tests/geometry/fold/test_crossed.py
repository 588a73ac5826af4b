"""An outline that crosses itself is told at the place where it does, and the rest of the building goes on."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from parts_by_hand import make_part, make_wall
from shapely.geometry import Polygon
from shapely.validation import explain_validity
from stowfold.geometry.findings import Severity
from stowfold.geometry.fold.crossed import check_outlines, uncrossed
from stowfold.geometry.part import plain_panel
from stowfold.geometry.pose import Pose

SQUARE = Polygon([(0, 0), (30, 0), (30, 20), (0, 20)])

#: Both diagonals of a rectangle are sides: they cross in its middle.
BOW = Polygon([(0, 0), (30, 20), (30, 0), (0, 20)])


def test_sound_outlines_say_nothing_and_stay() -> None:
    parts = (make_part("W1", SQUARE), make_wall("W2"))
    assert check_outlines(parts) == ()
    assert all(one is other for one, other in zip(uncrossed(parts), parts, strict=True))


def test_a_crossing_is_told_where_it_lies() -> None:
    """The place is that which GEOS, through shapely, names for the same ring."""
    assert explain_validity(BOW) == "Self-intersection[15 10]"
    (finding,) = check_outlines([make_part("W1", SQUARE), make_part("W2", BOW)])
    assert (finding.severity, finding.code) == (Severity.ERROR, "outline-crosses-itself")
    assert finding.where.part == "W2"
    assert finding.where.point == pytest.approx((15.0, 10.0, 0.0))
    assert "Wall section W2" in finding.message and "15.0 mm" in finding.message


def test_a_crossed_hole_or_panel_counts_too() -> None:
    hole = make_part("W1", Polygon([(-5, -5), (40, -5), (40, 30), (-5, 30)], [BOW.exterior.coords]))
    panel = replace(plain_panel(SQUARE, Pose.identity()), ring=np.array(BOW.exterior.coords)[:-1])
    parts = (hole, make_part("W2", SQUARE, panels=(panel,)))
    assert [finding.where.part for finding in check_outlines(parts)] == ["W1", "W2"]
    assert check_outlines(uncrossed(parts)) == ()


def test_what_stays_is_the_largest_piece() -> None:
    """Its sides cross at (20, 40 / 3) and leave triangles of 400 and 100 mm^2."""
    lopsided = Polygon([(0, 0), (30, 20), (30, 0), (0, 40)])
    (part,) = uncrossed([make_part("W1", lopsided)])
    assert part.outline.is_valid
    assert part.outline.area == pytest.approx(400.0)


def test_openings_that_cross_one_another_are_told() -> None:
    wide, high = [(2, 8), (20, 8), (20, 12), (2, 12)], [(9, 2), (13, 2), (13, 18), (9, 18)]
    part = make_part("W1", Polygon(SQUARE.exterior, [wide, high]))
    (finding,) = check_outlines([part])
    assert finding.where.point is not None and finding.where.point[1] in (8.0, 12.0)
    (cut,) = uncrossed([part])
    # 18 x 4 and 4 x 16, which share 4 x 4
    assert cut.outline.area == pytest.approx(SQUARE.area - 72 - 64 + 16)
