"""Many lines at once: near ends as scipy finds them, lines cut away as shapely cuts one after the other."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from scipy.spatial import cKDTree
from stowfold.geometry.finish.lines import SHORTEST, _near_pairs, cut_away


@pytest.mark.parametrize("reach", [1.5, 6.0, 90.0])
def test_near_ends_are_those_that_a_tree_of_points_finds(reach: float) -> None:
    rng = np.random.default_rng(7)
    ends = np.concatenate([rng.uniform(-40.0, 60.0, (240, 2)), np.arange(60.0)[:, None] * (1.0, 0.0)])
    free = np.sort(rng.permutation(len(ends))[:200])
    found = _near_pairs(ends, free, reach)
    assert set(found) == {(int(free[i]), int(free[j])) for i, j in cKDTree(ends[free]).query_pairs(reach)}
    gaps = [round(float(np.hypot(*(ends[a] - ends[b]))), 6) for a, b in found]
    assert len(found) > 10 and gaps == sorted(gaps)


def test_lines_keep_their_order_where_some_are_cut_away() -> None:
    rng = np.random.default_rng(3)
    lines = [rng.uniform(0.0, 100.0, (int(count), 2)) for count in rng.integers(2, 5, 40)]
    area = shapely.Point(50.0, 50.0).buffer(18.0)
    free = shapely.box(-10.0, -10.0, 110.0, 110.0).difference(area)
    expected = []
    for line in map(shapely.LineString, lines):
        pieces = shapely.get_parts(line.difference(area)) if line.intersects(area) else [line]
        expected += [np.asarray(piece.coords) for piece in pieces if piece.length >= SHORTEST]
    found = cut_away(lines, area, free)
    assert len(found) == len(expected) > len(lines)
    assert all(np.allclose(one, two) for one, two in zip(found, expected, strict=True))
