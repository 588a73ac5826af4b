"""Nesting against packers of others, in one run: ``pytest tests/bench/bench_layout.py -s``.

A building of 25 parts, worked by hand to need four sheets: against rectpack, which packs boxes. Public
irregular instances (strips with half turns; set STOWFOLD_PACKING to a folder of ``swim.json`` and the like,
items with ``shape`` and ``demand`` and a ``strip_height``): as sheets against rectpack, as a strip against
spyrrow in the same seconds. Report ratios, not seconds.
"""

from __future__ import annotations

import json
import math
import os
import random
import time
from pathlib import Path
from statistics import median

import pytest
import rectpack
import shapely
import spyrrow
from shapely.geometry import Polygon, box
from stowfold.geometry.nest.bound import fewest_sheets
from stowfold.geometry.nest.nesting import Item, nest
from stowfold.geometry.nest.strip import nest_strip

FOLDER = os.environ.get("STOWFOLD_PACKING")
INSTANCES = ("swim", "shirts", "trousers", "albano")
QUARTERS = (0, 1, 2, 3)
SHEET = (609.6, 304.8)
SECONDS = 10
RUNS = 3


def building_set() -> dict[str, Polygon]:
    """Eight walls with tabs and windows, a hip roof, joiners and a floor for sheets of 24 by 12 in."""
    outlines = {}
    for number, length in enumerate((600, 600, 500, 500, 400, 400, 300, 300)):
        tabs = [box(x, -3, x + 15, 0) for x in range(20, length - 20, 50)]
        windows = [box(x, 20, x + 30, 50) for x in range(30, length - 40, 80)]
        wall = shapely.union_all([box(0, 0, length, 67), *tabs])
        outlines[f"W{number + 1}"] = wall.difference(shapely.union_all(windows))
    trapezoid = Polygon([(0, 0), (400, 0), (280, 144.22), (120, 144.22)])
    triangle = Polygon([(0, 0), (240, 0), (120, 144.22)])
    outlines |= {"R1": trapezoid, "R2": trapezoid, "R3": triangle, "R4": triangle, "F1": box(0, 0, 400, 240)}
    return outlines | {f"J{i}": box(0, 0, 25, 60) for i in range(12)}


def grown(outline: Polygon, spacing: float) -> Polygon:
    return shapely.buffer(outline, spacing / 2, join_style="mitre", mitre_limit=2.0) if spacing else outline


FAMILIES = (rectpack.MaxRectsBaf, rectpack.GuillotineBssfSas, rectpack.SkylineBlWm)


def boxes_on_sheets(items: list[Item], room: tuple[float, float], *, rotation: bool, families=FAMILIES) -> int:
    """Return the sheets that rectpack needs for the parts' boxes, by the best of some of its families."""
    counts = []
    for algorithm in families:
        packer = rectpack.newPacker(pack_algo=algorithm, rotation=rotation)
        for item in items:
            packer.add_rect(*(math.ceil(1000 * side) for side in item.sides))
        packer.add_bin(*(math.floor(1000 * side) for side in room), count=len(items))
        packer.pack()
        counts.append(len(packer) if len(packer.rect_list()) == len(items) else len(items))
    return min(counts)


def assert_apart(items: list[Item], laid, room: tuple[float, float]) -> None:
    by_key = {item.key: item.area for item in items}
    assert sorted(placed.key for placed in laid) == sorted(by_key)
    for sheet in {placed.sheet for placed in laid}:
        areas = [placed.place(by_key[placed.key]) for placed in laid if placed.sheet == sheet]
        x0, y0, x1, y1 = shapely.total_bounds(areas)
        assert min(x0, y0, room[0] - x1, room[1] - y1) > -1e-6
        assert sum(area.area for area in areas) - shapely.union_all(areas).area < 1e-9 * room[0] * room[1]


@pytest.mark.parametrize(("margin", "spacing", "fullest"), [(0.0, 0.0, 0.276), (3.0, 2.0, 0.437)])
def test_building_of_25_parts(margin, spacing, fullest):
    outlines = list(building_set().values())
    items = [Item(key, grown(outline, spacing), QUARTERS) for key, outline in enumerate(outlines)]
    room = (SHEET[0] - 2 * margin + spacing, SHEET[1] - 2 * margin + spacing)
    begin = time.perf_counter()
    laid = nest(items, room, fewest=4)
    seconds = time.perf_counter() - begin
    assert_apart(items, laid, room)
    shares = [0.0] * (max(placed.sheet for placed in laid) + 1)
    for placed in laid:  # windows count as used, they are waste on any layout
        shares[placed.sheet] += Polygon(outlines[placed.key].exterior).area / (SHEET[0] * SHEET[1])
    named = building_set()
    bound, _ = fewest_sheets(
        named, dict.fromkeys(named, QUARTERS), (SHEET[0] - 2 * margin, SHEET[1] - 2 * margin), spacing
    )
    theirs = boxes_on_sheets(items, room, rotation=True)
    print(
        f"\n25 parts, margin {margin:g}, spacing {spacing:g}: {len(shares)} sheets in {seconds:.2f} s, bound {bound}, "
        f"shares {', '.join(f'{share:.3f}' for share in sorted(shares, reverse=True))}; rectpack {theirs} sheets"
    )
    assert len(shares) == bound == 4
    assert len(shares) <= theirs
    assert min(shares) <= fullest


@pytest.mark.parametrize(("count", "least", "most"), [(2000, (8, 8), (40, 30)), (300, (150, 50), (560, 80))])
def test_parts_by_the_hundred(count, least, most):
    """Little parts, and the walls of a village, all of different sizes: what each needs against a packer of boxes."""
    chance = random.Random(1)
    outlines = [box(0, 0, *(chance.uniform(a, b) for a, b in zip(least, most, strict=True))) for _ in range(count)]
    items = [Item(key, grown(outline, 2.0), QUARTERS) for key, outline in enumerate(outlines)]
    room = (SHEET[0] - 4, SHEET[1] - 4)
    begin = time.process_time()
    laid = nest(items, room)
    ours = time.process_time() - begin
    assert_apart(items, laid, room)
    begin = time.process_time()
    theirs = boxes_on_sheets(items, room, rotation=True, families=(rectpack.SkylineBlWm,))
    reference = time.process_time() - begin
    sheets = len({placed.sheet for placed in laid})
    least_by_area = math.ceil(sum(item.area.area for item in items) / (room[0] * room[1]))
    print(
        f"\n{count} parts: {sheets} sheets in {ours:.1f} s, by area {least_by_area}; rectpack {theirs} in "
        f"{reference:.1f} s: {ours / reference:.2f} of its time"
    )
    assert least_by_area <= sheets <= theirs


def instance(name: str) -> tuple[list[Item], float]:
    if FOLDER is None:
        pytest.skip("STOWFOLD_PACKING names no folder of instances")
    data = json.loads((Path(FOLDER) / f"{name}.json").read_text())
    outlines = [Polygon(item["shape"]["data"]) for item in data["items"] for _ in range(item["demand"])]
    return [Item(key, outline, (0, 2)) for key, outline in enumerate(outlines)], data["strip_height"]


@pytest.mark.parametrize("name", INSTANCES)
def test_irregular_parts_on_sheets(name):
    items, height = instance(name)
    widest = max(item.sides[0] for item in items)
    room = (max(height, 1.05 * widest), height)
    begin = time.perf_counter()
    laid = nest(items, room)
    seconds = time.perf_counter() - begin
    assert_apart(items, laid, room)
    sheets = len({placed.sheet for placed in laid})
    theirs = boxes_on_sheets(items, room, rotation=False)
    least = math.ceil(sum(item.area.area for item in items) / (room[0] * room[1]))
    print(f"\n{name}, {len(items)} parts: {sheets} sheets in {seconds:.2f} s, by area {least}; rectpack {theirs}")
    assert least <= sheets <= theirs


@pytest.mark.parametrize("name", INSTANCES)
def test_irregular_parts_on_a_strip(name):
    items, height = instance(name)
    area = sum(item.area.area for item in items)
    begin = time.perf_counter()
    alone, _ = nest_strip(items, height)
    alone_seconds = time.perf_counter() - begin
    items = [
        spyrrow.Item(
            str(item.key),
            [tuple(point) for point in shapely.get_coordinates(item.area)[:-1].tolist()],
            1,
            [0.0, 180.0],
        )
        for item in items
    ]
    config = spyrrow.StripPackingConfig(early_termination=False, total_computation_time=SECONDS, seed=1)
    ours, theirs, times = [], [], []
    for _ in range(RUNS):  # by turns, so that both meet the same company on a busy machine
        begin = time.perf_counter()
        # our own search takes part of a second, so the packer within it gets one second less
        length, laid = nest_strip(items, height, seconds=SECONDS - 1)
        times.append(time.perf_counter() - begin)
        assert_apart(items, laid, (length, height))
        ours.append(area / (length * height))
        theirs.append(spyrrow.StripPackingInstance(name, height, items).solve(config).density)
    print(
        f"\n{name}, {len(items)} parts, density: {area / (alone * height):.4f} alone in {alone_seconds:.2f} s; "
        f"medians of {RUNS} runs: {median(ours):.4f} improved in {median(times):.1f} s, "
        f"spyrrow {median(theirs):.4f} in {SECONDS} s; all: {_four(ours)} against {_four(theirs)}"
    )
    # the packer counts time, not steps: two runs of the same seconds differ by a hundredth on a busy machine
    assert median(ours) >= median(theirs) - 0.01


def _four(densities: list[float]) -> str:
    return " ".join(f"{density:.4f}" for density in densities)
