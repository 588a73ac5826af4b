"""The largest rectangle that a crowded sheet leaves, against a search on a raster of 1 mm in the same run.

The raster is the classic stack over a histogram, row by row, its cells taken by shapely. Report the ratio, and how
much larger what is found is.

Run: pytest tests/bench/bench_offcuts.py -s
"""

from __future__ import annotations

import numpy as np
import shapely
from many_slits import shortest
from shapely.geometry import Polygon, box
from stowfold.geometry.sheet.offcuts import largest_free

SIZE = (1200.0, 600.0)


def crowded_sheet(seed=4):
    """120 parts with windows, slanting gables and round ends, anywhere on the sheet."""
    rng = np.random.default_rng(seed)
    areas = []
    for number in range(120):
        x, y, w, h = *rng.uniform((0, 0), SIZE), *rng.uniform(10, 60, 2)
        if number % 3 == 0:
            areas.append(box(x, y, x + w, y + h).difference(box(x + 3, y + 3, x + w - 3, y + h - 3)))
        elif number % 3 == 1:
            areas.append(Polygon([(x, y), (x + w, y), (x + w / 2, y + h)]))
        else:
            areas.append(shapely.buffer(shapely.Point(x, y), min(w, h) / 2))
    return areas


def on_raster(areas):
    nx, ny = (round(side) for side in SIZE)
    x, y = np.meshgrid(np.arange(nx) + 0.5, np.arange(ny) + 0.5)
    together = shapely.union_all(areas)
    shapely.prepare(together)
    taken = shapely.intersects_xy(together, x.ravel(), y.ravel()).reshape(ny, nx)
    heights, best = np.zeros(nx, dtype=int), 0
    for row in taken:
        heights = np.where(row, 0, heights + 1)
        stack: list[int] = []
        for k, now in enumerate((*heights.tolist(), 0)):
            while stack and heights[stack[-1]] >= now:
                height = int(heights[stack.pop()])
                best = max(best, height * (k - (stack[-1] + 1 if stack else 0)))
            stack.append(k)
    return float(best)


def test_exact_against_raster():
    areas = crowded_sheet()
    left, low, right, high = largest_free(SIZE, areas)
    found, coarse = (right - left) * (high - low), on_raster(areas)
    assert box(left, low, right, high).intersection(shapely.union_all(areas)).area < 1e-4
    assert found > coarse - 2 * (right - left + high - low) * 2
    ratio = shortest(lambda: largest_free(SIZE, areas), rounds=3) / shortest(lambda: on_raster(areas), rounds=3)
    print(f"\n{ratio:.2f} times the raster's time; {found:.0f} mm2 against {coarse:.0f} mm2 in whole cells")
