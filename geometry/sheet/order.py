"""Order of cutting.

While a part still hangs in its sheet it lies flat and cannot tip into the beam. So everything
inside it comes first: hatching, engraving, scores, slits, holes; its outline last. A part that lies in another
one's hole is cut out before that hole is. Parts follow one another by stage, and within a stage in
the order that makes the hops of the head short.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..beam.holds import common_gaps, hold_count, hold_gaps, share_line
from ..beam.kerf import draw_part
from ..beam.laser import Laser, Operation
from ..beam.lettering import Label, place_label
from ..beam.lines import Lines
from ..beam.path import plan_path
from ..part import Part, PartKind, Way
from ..tolerance import DRAWN, ONE_CUT
from .grain_arrow import SHEET_MARKS, grain_arrow
from .layout import Layout
from .piece import Placement

__all__ = ["CutLines", "path_lines", "sheet_lines"]

#: All paths of a sheet with their part ids, per operation in cutting order.
CutLines = Mapping[Operation, Sequence[tuple[str, Lines]]]

#: A compound of more lines than this keeps the order in which it was drawn: hatching comes in good order.
_COMPOUND_LIMIT = 500


def path_lines(
    part: Part, placement: Placement, kerf: float, laser: Laser, *, label: Label | None = None
) -> dict[Operation, list[Lines]]:
    """Return what is drawn for one part on its sheet, per operation in cutting order, sheet frame, mm.

    Engraving, label (placed here unless given), scores and each finish are one compound path, slits one
    per lattice; each hole and the outline are a path of their own. The outline is whole here: holds and
    common edges are left out where the whole sheet is known.
    """
    drawn = draw_part(part, kerf)
    label = label or place_label(part)
    lines = {
        Operation.FILL: _dressed(part, Way.FILL),
        Operation.ENGRAVE: [
            *(_in_good_order(Lines.of(strokes)) for strokes in (part.engrave, label.strokes)),
            *_dressed(part, Way.ENGRAVE),
        ],
        Operation.SCORE: [_in_good_order(Lines.of(part.score)), *_dressed(part, Way.SCORE)],
        Operation.SLITS: list(drawn.slits),
        Operation.INNER: [*drawn.inner.singly(), *Lines.of(part.pricks).singly()],
        Operation.OUTER: [drawn.outer],
    }
    return {
        operation: [lines.moved(placement.place(lines.points)) for lines in several if len(lines)]
        for operation, several in lines.items()
    }


def sheet_lines(
    layout: Layout,
    index: int,
    parts: Mapping[str, Part],
) -> dict[Operation, list[tuple[str, Lines]]]:
    """Return all paths of sheet ``index`` with their part ids, in cutting order, sheet frame (y up), mm.

    Within an operation parts follow by stage, then so that hops are short; the head starts at the lower left
    corner of the sheet, where an arrow in the margin shows the way of the grain. A hole in which other parts lie is
    cut among the outlines, after those parts. Slits keep the order that spreads heat. Outlines leave the laser's
    holds, and no edge is drawn twice.
    """
    laser, kerf = layout.sheets[index].laser, layout.sheets[index].stock.kerf
    here = layout.on_sheet(index)
    paths = {
        placement.part: path_lines(
            parts[placement.part], placement, kerf, laser, label=layout.labels.get(placement.part)
        )
        for placement in here
    }
    ranked = _ranked(paths, {name: parts[name].stage for name in paths})
    _open_outlines(ranked[Operation.OUTER], {placement.part: placement for placement in here}, parts, laser, kerf)
    sheet: dict[Operation, list[tuple[str, Lines]]] = {operation: [] for operation in Operation}
    head = np.zeros(2)
    if arrow := grain_arrow(layout.sheets[index]):
        sheet[Operation.ENGRAVE].append((SHEET_MARKS, Lines.of(arrow)))
        head = arrow[-1][-1]
    for operation, by_rank in ranked.items():
        for rank in sorted(by_rank):
            waiting = by_rank[rank]
            planned = plan_path(waiting, head)
            sheet[operation] += planned
            if planned:
                head = planned[-1][1].ends[-1]
    return sheet


_Ranked = dict[tuple[int, int], list[tuple[str, Lines]]]


def _ranked(
    paths: Mapping[str, Mapping[Operation, Sequence[Lines]]], stages: Mapping[str, int]
) -> dict[Operation, _Ranked]:
    """Return the paths of every operation by rank: (stage, turn within it); what has a lower rank is cut first."""
    ranked: dict[Operation, _Ranked] = {operation: {} for operation in Operation}
    outlines = {
        name: Polygon(drawn[Operation.OUTER][0].points) for name, drawn in paths.items() if drawn[Operation.OUTER]
    }
    holes = [
        (name, lines, Polygon(lines.points))
        for name, drawn in paths.items()
        for lines in drawn[Operation.INNER]
        if lines.closed[0]
    ]
    held = _held(outlines, holes)
    above = {name: [holes[k][0] for k, names in held.items() if name in names] for name in paths}
    # A part within another's hole cannot wait for its own stage: it goes before whatever holds it.
    first = {name: min(stages[body] for body in (name, *above[name])) for name in paths}
    depth = {name: len(above[name]) for name in paths}
    holding = {id(holes[k][1]) for k in held}
    for name, drawn in paths.items():
        for operation, several in drawn.items():
            for lines in several:
                if operation is Operation.OUTER:
                    rank = (first[name], -2 * depth[name])
                elif id(lines) in holding:
                    rank = (first[name], -2 * depth[name] - 1)
                else:
                    rank = (stages[name], 0)
                among = Operation.OUTER if id(lines) in holding else operation
                ranked[among].setdefault(rank, []).append((name, lines))
    return ranked


def _held(outlines: Mapping[str, Polygon], holes: Sequence[tuple[str, Lines, Polygon]]) -> dict[int, tuple[str, ...]]:
    """Return, for each hole (by index) in which other parts lie, their ids."""
    names = list(outlines)
    tree = shapely.STRtree([outlines[name] for name in names])
    held: dict[int, tuple[str, ...]] = {}
    for k, (owner, _, hole) in enumerate(holes):
        wide = shapely.buffer(hole, DRAWN, join_style="mitre")  # a part may share the hole's own line
        inside = tuple(names[i] for i in sorted(tree.query(wide, predicate="contains")) if names[i] != owner)
        if inside:
            held[k] = inside
    return held


def _open_outlines(
    by_rank: _Ranked, here: Mapping[str, Placement], parts: Mapping[str, Part], laser: Laser, kerf: float
) -> None:
    """Take holds and edges that an earlier outline has in common out of the outlines, in the order of cutting."""
    outlines = [(rank, k) for rank in sorted(by_rank) for k in range(len(by_rank[rank]))]
    rings = [by_rank[rank][k][1] for rank, k in outlines]
    bodies = [Polygon(ring.points) for ring in rings]
    touching = _touching(bodies)
    for number, (rank, k) in enumerate(outlines):
        name, ring = by_rank[rank][k]
        gaps = common_gaps(ring, [rings[other] for other in touching.get(number, ())])
        lattices = [Polygon(here[name].place(placed.zone)) for placed in parts[name].lattices]
        # what is cut to be measured hangs nowhere unless the maker wants it
        count = laser.holds if parts[name].kind is PartKind.COUPON else hold_count(ring, laser)
        gaps += hold_gaps(ring, laser, kerf, avoid=shapely.MultiPolygon(lattices), taken=gaps, count=count)
        by_rank[rank][k] = (name, ring.without(gaps))


def _touching(bodies: Sequence[Polygon]) -> dict[int, list[int]]:
    """Return, for each outline or hole with parts in it, the earlier ones with which it shares a line."""
    if len(bodies) < 2:
        return {}
    pairs = shapely.STRtree(bodies).query(bodies, predicate="dwithin", distance=ONE_CUT).T
    touching: dict[int, list[int]] = {}
    for one, other in sorted((int(a), int(b)) for a, b in pairs if b < a):
        if share_line(bodies[one], bodies[other]):
            touching.setdefault(one, []).append(other)
    return touching


def _dressed(part: Part, way: Way) -> list[Lines]:
    """Return the lines of a part's finishes, one compound each; they come in good order."""
    return [
        Lines(dressing.points, dressing.starts, np.zeros(len(dressing.starts) - 1, dtype=bool))
        for dressing in part.dressings
        if dressing.way is way
    ]


def _in_good_order(compound: Lines) -> Lines:
    """Return the lines of one compound path so that each begins near the end of the one before it."""
    if not 0 < len(compound) <= _COMPOUND_LIMIT:
        return compound
    return Lines.joined(
        lines for _, lines in plan_path([("", lines) for lines in compound.singly()], compound.points[0])
    )
