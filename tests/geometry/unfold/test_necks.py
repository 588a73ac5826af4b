"""Necks: each piece of a slope that was cut in two keeps a side beside the cut, whatever pushes past its end."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import Polygon
from stowfold.geometry.unfold.necks import neck_setback
from stowfold.geometry.unfold.outline import move_sides

#: What is left of a slope beside a valley that ends ``neck`` mm below the ridge, whose cut is side 1.
NECK_SIDE = 1


def half_slope(neck: float) -> np.ndarray:
    return np.array([(0.0, 0.0), (60.0, 60.0 - neck), (60.0, 60.0), (0.0, 60.0)])


@pytest.mark.parametrize("neck", [0.05, 0.7, 3.0])
@pytest.mark.parametrize("valley", [1.1, 3.5])
def test_a_piece_gives_way_at_a_neck_until_it_keeps_a_side(neck: float, valley: float) -> None:
    ring = half_slope(neck)
    back = neck_setback(ring, NECK_SIDE, lambda side: valley if side == 0 else 0.0)
    moved = move_sides(ring, np.array([valley, back, 0.0, 0.0]))
    assert Polygon(moved.points).is_valid and moved.vanished == ()
    # the valley's moved line meets the ridge valley / sin(45) - neck before the cut; a side of 1 mm ends 1 mm further
    least = max(0.0, valley * 2.0**0.5 - neck + 1.0)
    assert least <= back + 1e-9 < least + 0.5
