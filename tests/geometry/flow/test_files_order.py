"""From the files alone: in which order a laser follows the lines of the samples, and how far its head hops."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from delivered import Delivered
from read_sheets import OPERATIONS, holds, read_by_svgpathtools, strokes
from sample_solids import solid_of
from scipy.sparse.csgraph import minimum_spanning_tree
from shapely.geometry import LineString, MultiPoint, Point, Polygon
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.deliver import deliver
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Settings
from stowfold.geometry.paper.coupon_sheet import deliver_coupon
from stowfold.geometry.sheet.coupon import lay_out_coupon
from stowfold.geometry.sheet.grain_arrow import SHEET_MARKS

#: What the guide says: coupon, walls with their joiners, floor, roof with what holds it, then the case.
TURN = {
    "coupon": 0, "wall": 1, "core": 1, "cheek": 1, "panel": 1, "floor": 2, "roof": 3, "stop": 3, "carrier": 3, "lap": 3,
    "case": 4,
}  # fmt: skip


def test_operations_come_in_order_and_outlines_last(sample: Delivered) -> None:
    for file in sample.files:
        read = sample.second[file]
        ranks = [OPERATIONS.index(path.operation) for path in read.paths]
        assert ranks == sorted(ranks)
        last = {}
        for number, path in enumerate(read.paths):
            if path.part != SHEET_MARKS:
                last[path.part] = number, path.operation
        assert {operation for _, operation in last.values()} == {"outer"}
        assert len(read.of("outer")) == len(last)


def test_nothing_is_cut_in_a_part_that_is_free(sample: Delivered) -> None:
    for file in sample.files:
        paths = sample.first[file].paths
        lines = [shapely.union_all(strokes([path])) for path in paths]
        for number, path in enumerate(paths):
            if path.operation == "outer":
                # holds are uncut stretches of an outline that keep its part in place
                free = shapely.union_all(shapely.polygonize([*strokes([path]), *holds(path)]).geoms)
                assert free.area > 0.0, path.id
                assert not any(free.intersects(later) for later in lines[number + 1 :]), path.id


def test_parts_come_in_the_order_of_the_guide(sample: Delivered) -> None:
    """On a sheet outlines never go back to an earlier turn, and no sheet begins earlier than the one before it."""
    kinds = {part["id"]: part["kind"] for part in sample.report["parts"]}
    assert sample.files == sorted(sample.files)
    first = []
    for file in sample.files:
        turns = [TURN[kinds[path.part]] for path in sample.first[file].of("outer")]
        assert turns == sorted(turns), file
        first.append(turns[0])
    assert first == sorted(first)
    # the floor may be cut again for the walls as they stand, so it lies on no sheet before the last wall's
    held = {kind: [k for k, file in enumerate(sample.files) if any(kinds[path.part] == kind for path in
                   sample.first[file].of("outer"))] for kind in ("wall", "floor")}  # fmt: skip
    assert min(held["floor"]) >= max(held["wall"])


def test_closed_lines_start_off_their_corners(sample: Delivered) -> None:
    """The mark of piercing lies half a millimetre or more from a corner, or within a side where none is that long."""
    met = 0
    for file in sample.files:
        for path in sample.first[file].of("inner", "outer"):
            for points, shut in path.lines:
                if not shut:
                    continue
                before, start, after = points[-1], points[0], points[1]
                side = np.hypot(*(after - before))
                # the start lies on the straight way between its neighbours, to what the file can show
                assert LineString([before, after]).distance(Point(start)) < 2e-3, path.id
                rest = points[1:]
                longest = max(side, np.hypot(*np.diff(rest, axis=0).T).max())
                room = min(np.hypot(*(start - before)), np.hypot(*(start - after)))
                assert room > min(0.5, longest / 2 - 2e-3), path.id
                met += 1
    assert met > len(sample.report["parts"])


def test_neighbouring_rows_of_slits_are_never_cut_one_after_another(sample: Delivered) -> None:
    """Every third row first: between two neighbours at least a third of all rows is cut, and the board cools."""
    for lattice in sample.report["lattices"]:
        part = next(part for part in sample.report["parts"] if part["id"] == lattice["part"])
        a, b, c, d, e, f = part["place"]
        matrix = np.array([[a, b], [c, d]])
        begin, end = np.array(lattice["axis"]) @ matrix + [e, f]
        along = (end - begin) / np.linalg.norm(end - begin)
        zone = Polygon(np.array(lattice["zone"]) @ matrix + [e, f]).buffer(1.0)
        (mine,) = [
            path
            for path in sample.first[part["sheet"]].of("slits")
            if path.part == part["id"] and all(zone.contains(MultiPoint(points)) for points, _ in path.lines)
        ]
        offsets = [points @ [-along[1], along[0]] for points, _ in mine.lines]
        middles = np.array([(offset.min() + offset.max()) / 2 for offset in offsets])
        rows = np.rint((middles - middles.min()) / lattice["pitch"]).astype(int)
        sequence = rows[np.concatenate([[True], np.diff(rows) != 0])]
        assert sorted(sequence.tolist()) == list(range(lattice["rows"])), "each row is cut in one go"
        steps = np.abs(np.diff(sequence))
        assert steps.min() >= 2 and (steps != 3).sum() <= 2
        turn = np.argsort(sequence)
        assert np.abs(np.diff(turn)).min() >= lattice["rows"] // 3


def hops_and_bounds(lines: list[tuple[np.ndarray, bool]]) -> tuple[float, float, float]:
    """How far the head hops between lines in this order, and two least spanning trees that join them, mm.

    A tour over all lines joins them, so none has shorter hops than the tree. In the first, a closed line may be met
    anywhere and an open one at either end, whatever else is asked of an order; in the second where the tour did.
    """
    begins = np.array([points[0] for points, _ in lines])
    ends = np.array([points[0] if shut else points[-1] for points, shut in lines])
    hops = float(np.hypot(*(begins[1:] - ends[:-1]).T).sum())
    anywhere = [LineString([*p, p[0]]) if shut else MultiPoint([p[0], p[-1]]) for p, shut in lines]
    there = [Point(p[0]) if shut else MultiPoint([p[0], p[-1]]) for p, shut in lines]
    trees = []
    for doors in (anywhere, there):
        apart = shapely.distance(np.array(doors)[:, None], np.array(doors)[None, :])
        # a distance of nothing would be no edge at all
        trees.append(float(minimum_spanning_tree(np.maximum(apart, 1e-6)).sum()) - 1e-6 * len(lines))
    return hops, *trees


def test_hops_against_the_spanning_tree(sample: Delivered) -> None:
    """A tour through points lies a sixth above their tree at best (see the tests of paths); stages and heat cost more.

    Outlines follow by stage and slits so that heat spreads, so only a slip of several times is caught here.
    """
    for file in sample.files:
        read = sample.first[file]
        said = []
        for operation, most in (("engrave", 3.0), ("inner", 2.0), ("outer", 3.0), ("slits", None)):
            lines = [line for path in read.of(operation) for line in path.lines]
            if len(lines) < 3:
                continue
            hops, anywhere, there = hops_and_bounds(lines)
            assert anywhere <= there <= hops
            said.append(f"{operation} {hops:.0f} mm, {hops / there:.2f} and {hops / anywhere:.2f} times the tree")
            assert most is None or hops < most * there
        print(f"\n{sample.name} {file}: {'; '.join(said)}")


@pytest.mark.slow
def test_the_case_comes_last_and_a_coupon_in_order(tmp_path) -> None:
    birch = find_stock("birch-plywood-3", read_stocks())
    outcome = run(solid_of("toll_house"), Settings(birch, birch, birch, birch, case=True), title="x")
    deliver(outcome, tmp_path)
    kinds = {part.id: part.kind.value for part in outcome.pieces}
    first, met = [], []
    for sheet in outcome.layout.sheets:
        turns = [TURN[kinds[path.part]] for path in read_by_svgpathtools(tmp_path / sheet.file).of("outer")]
        assert turns == sorted(turns)
        first.append(turns[0])
        met += turns
    assert first == sorted(first) and set(met) == {1, 2, 4}
    coupon = lay_out_coupon(birch, Laser())
    for path in deliver_coupon(coupon, birch, tmp_path / "coupon"):
        if path.suffix == ".svg":
            read = read_by_svgpathtools(path)
            ranks = [OPERATIONS.index(path.operation) for path in read.paths]
            assert ranks == sorted(ranks)
            assert {path.operation for path in read.paths} == {"engrave", "slits", "inner", "outer"}


def test_no_floor_shares_a_file_with_walls_where_that_costs_no_sheet(sample: Delivered) -> None:
    """Of the samples only the toll house, whose parts all lie on one sheet, has its floor beside its walls."""
    on = {part["id"]: (part["kind"], part["sheet"]) for part in sample.report["parts"]}
    floors = {sheet for kind, sheet in on.values() if kind == "floor"}
    walls = {sheet for kind, sheet in on.values() if kind in ("wall", "core", "cheek")}
    assert bool(floors & walls) == (len(sample.files) == 1)
