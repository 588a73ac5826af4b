"""Slices of outlines against shapely's areas and sections, with corners that lie all but above one another."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon, box
from stowfold.geometry.nest.outline_fit import slices


def area_of(cut: np.ndarray) -> float:
    x0, x1, low0, low1, high0, high1 = cut.T
    return float(((high0 - low0 + high1 - low1) / 2 * (x1 - x0)).sum())


@st.composite
def jagged(draw: st.DrawFn) -> Polygon:
    """A comb of a few teeth whose corners are moved aside by next to nothing: from 0.1 nm to 1 mm."""
    count = draw(st.integers(1, 6))
    nudge = st.tuples(st.integers(0, 9), st.integers(3, 10)).map(lambda pair: pair[0] * 10.0 ** -pair[1])
    points = [(0.0, -5.0)]
    for k in range(count):
        for x, y in ((4 * k, 0), (4 * k, 8), (4 * k + 2, 8), (4 * k + 2, 0)):
            points.append((x + draw(nudge), y + draw(nudge)))
    points.append((4.0 * count, -5.0 + draw(nudge)))
    return Polygon(points)


@settings(max_examples=300, deadline=None)
@given(jagged(), st.booleans())
@pytest.mark.slow
def test_slices_cover_what_the_outline_does(outline: Polygon, grown: bool) -> None:
    if not outline.is_valid:
        outline = max(shapely.get_parts(shapely.make_valid(outline)), key=lambda part: part.area)
    area = shapely.buffer(outline, 0.3, quad_segs=2) if grown else outline
    cut = slices(area)
    assert area_of(cut) == pytest.approx(area.area, abs=1e-5 * area.length)
    for x0, x1, low0, low1, high0, high1 in cut:
        middle = (x0 + x1) / 2
        section = shapely.intersection(shapely.LineString([(middle, -50), (middle, 50)]), area)
        inside = shapely.LineString([(middle, (low0 + low1) / 2), (middle, (high0 + high1) / 2)])
        if x1 - x0 > 1e-3:
            assert shapely.distance(shapely.Point(inside.coords[0]), section) < 1e-3
            assert shapely.distance(shapely.Point(inside.coords[-1]), section) < 1e-3


def test_an_outline_with_a_hole_and_upright_sides_is_cut_exactly() -> None:
    cut = slices(box(0, 0, 10, 6).difference(box(2, 1, 5, 4)))
    assert area_of(cut) == pytest.approx(51.0, abs=1e-12)
    assert len(cut) == 4  # beside the hole on both sides, above it and below


def test_corners_that_creep_aside_by_less_than_can_be_told_are_one_station() -> None:
    """A staircase of steps so narrow that each is beneath notice, though all together are not."""
    steps = [(4.0 + 6e-8 * (k // 2), (k + 1) // 2) for k in range(20)]
    outline = Polygon([(0.0, 0.0), *steps, (8.0, 10.0), (8.0, 12.0), (0.0, 12.0)])
    cut = slices(outline)
    assert area_of(cut) == pytest.approx(outline.area, abs=1e-5)
