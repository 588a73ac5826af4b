"""Speed of finishes, as ratios: brick on every wall and slates on the roof against plain overlays of the same lines.

Run: ``python -m pytest tests/bench/bench_finish.py -s``.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np
import shapely
from buildings import SAMPLES
from sample_solids import solid_of
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import minimum_spanning_tree
from scipy.spatial import Delaunay
from shapely.geometry import Polygon
from stowfold.geometry.beam.lines import Lines
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.finish.draw import draw
from stowfold.geometry.finish.dress import dress
from stowfold.geometry.finish.finish import Pattern, finish_of
from stowfold.geometry.finish.lines import clip, ordered
from stowfold.geometry.finish.surface import Surface
from stowfold.geometry.flow.unfolding import unfold_solid
from stowfold.geometry.joints.joiner import make_joiners
from stowfold.geometry.outcome import Settings
from stowfold.geometry.sheet.svg import path_data

BIRCH = find_stock("birch-plywood-3", read_stocks())
PLAIN = Settings(BIRCH, BIRCH, BIRCH, BIRCH)

#: An area with a hole, to overlay lines with one by one.
AREA = Polygon([(0, 0), (900, 0), (900, 760), (0, 760)], [[(100, 100), (100, 300), (300, 300), (300, 100)]])


def best(work: Callable[[], object], times: int = 3) -> float:
    took = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        took.append(time.perf_counter() - start)
    return min(took)


def test_a_dressed_house_takes_no_longer_than_one_overlay_for_every_part() -> None:
    name = "lock_keepers_house"
    shape = next(sample.shape() for sample in SAMPLES if sample.file == name)
    solid = replace(solid_of(name), finishes={(name, k): finish for k, finish in enumerate(shape.finishes)})
    unfolded = unfold_solid(solid, PLAIN)
    facets, sections = unfolded.facets, unfolded.sections
    joiners = make_joiners(facets, sections, PLAIN)
    parts = (*sections.parts, *joiners.parts)
    finishes = {"brick": finish_of(Pattern.STRETCHER_BOND), "slate": finish_of(Pattern.SLATES)}
    made = dress(unfolded.solid, facets, sections, joiners.joiners, parts, finishes)
    own = best(lambda: dress(unfolded.solid, facets, sections, joiners.joiners, parts, finishes))
    lines = {part.id: [line for d in part.dressings for line in d.lines] for part in made if part.dressings}
    overlays = [
        (shapely.multilinestrings([shapely.linestrings(line) for line in lines[part.id]]), part.outline)
        for part in made
        if part.id in lines
    ]
    plain = best(lambda: [shapely.intersection(*pair) for pair in overlays])
    count = sum(map(len, lines.values()))
    print(f"\n{count} lines drawn, clipped and ordered in {own:.2f} s, {own / plain:.2f} of bare overlays")
    assert own < 3.0 * plain


def test_a_hundred_thousand_lines_are_clipped_ordered_and_written() -> None:
    area = AREA
    finish = replace(finish_of(Pattern.STRETCHER_BOND), length=3.0, height=2.2)
    pattern, _, _ = draw(finish, Surface.of(area))
    start = time.perf_counter()
    lines = clip(pattern, area.buffer(-1.0))
    clipped = time.perf_counter()
    path = ordered(lines)
    done = time.perf_counter()
    hops = sum(float(np.hypot(*(b[0] - a[-1]))) for a, b in pairwise(path))
    drawn = Lines.of(path)
    written = best(lambda: path_data(drawn))

    def plain() -> str:
        return "".join(
            "M" + "L".join(f"{x:.3f},{y:.3f}" for x, y in line) for line in (points.tolist() for points in path)
        )

    formatted = best(plain)
    bound = spanning_tree(path)
    ratio = (drawn.length + hops) / (drawn.length + bound)
    print(
        f"\n{len(path)} lines: path {ratio:.3f} and hops {hops / bound:.2f} of the spanning tree's; "
        f"clipped in {clipped - start:.2f} s, ordered in {done - clipped:.2f} s, hops {hops / drawn.length:.2f} "
        f"of what is drawn, written in {written / formatted:.2f} of plain formatting"
    )
    assert len(path) > 90_000 and written < 2.0 * formatted and ratio < 1.25


def spanning_tree(lines: list[np.ndarray]) -> float:
    """Length of the shortest tree that joins all lines at their ends, mm: no way of the head hops less (scipy)."""
    ends = np.array([point for line in lines for point in (line[0], line[-1])])
    triangles = Delaunay(ends).simplices
    pairs = np.unique(np.sort(triangles[:, [[0, 1], [1, 2], [0, 2]]].reshape(-1, 2), axis=1), axis=0)
    own = np.arange(len(ends)).reshape(-1, 2)
    gaps = np.hypot(*(ends[pairs[:, 0]] - ends[pairs[:, 1]]).T)
    free = 1e-9  # a line itself costs nothing, but the graph needs a weight
    rows, columns = np.concatenate([own, pairs]).T
    weights = np.concatenate([np.full(len(own), free), np.maximum(gaps, free)])
    graph = coo_matrix((weights, (rows, columns)), shape=(len(ends), len(ends)))
    # a line that is a side of a triangle as well stands twice, and weights of the same place are added up
    graph = graph.tocsr()
    graph[own[:, 0], own[:, 1]] = free
    return float(minimum_spanning_tree(graph).sum())


def test_a_step_of_a_slider_stays_in_step_with_plain_overlays() -> None:
    """What a maker waits for while the size of brick and slates changes: boards are known, lines are drawn again."""
    name = "lock_keepers_house"
    shape = next(sample.shape() for sample in SAMPLES if sample.file == name)
    solid = replace(solid_of(name), finishes={(name, k): finish for k, finish in enumerate(shape.finishes)})
    unfolded = unfold_solid(solid, PLAIN)
    facets, sections = unfolded.facets, unfolded.sections
    joiners = make_joiners(facets, sections, PLAIN)
    parts = (*sections.parts, *joiners.parts)
    steps = []
    for size in np.linspace(0.9, 1.4, 6):
        finishes = {
            "brick": finish_of(Pattern.STRETCHER_BOND, size=float(size)),
            "slate": finish_of(Pattern.SLATES, size=float(size)),
        }
        start = time.perf_counter()
        made = dress(unfolded.solid, facets, sections, joiners.joiners, parts, finishes)
        steps.append(time.perf_counter() - start)
    lines = [line for part in made for d in part.dressings for line in d.lines]
    plain = best(lambda: shapely.intersection(shapely.linestrings(np.array([line[[0, -1]] for line in lines])), AREA))
    print(f"\na step of the size takes {min(steps):.2f} to {max(steps):.2f} s, {len(lines)} lines at last")
    assert float(np.median(steps)) < 40.0 * plain
