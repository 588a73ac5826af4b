"""Own drawing: the maker's lines in space, engraved on the wall or slope that they lie against."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..findings import Finding, Location, Severity, place
from ..part import Dressing, Joiner, Part, Way, frozen
from ..solid.facets import Facets
from ..unfold.section import Sections
from .dress import Board, boards_of, covered_stretches, on_board
from .finish import Finish, Pattern
from .lines import ordered, pack
from .runs import Run, find_runs
from .surface import Surface

__all__ = ["OwnDrawing", "draw_own"]

#: A drawing belongs to the wall whose modelled face is no farther than this from all of it, mm: boards are 3 mm thick,
#: and cheeks lie 6 mm before them.
_REACH = 12.0

#: Points that a line misses by less than this are left out first, mm: a tenth of a line's width.
_SMOOTH = 0.02

#: Lines are cut in stretches of so many points, so that one that crosses itself a thousand times costs no more.
_STRETCH = 48


@dataclass(frozen=True, slots=True, eq=False)
class OwnDrawing:
    """Lines of the maker. name: of the host's object; strokes: (k, 3) mm each, in the model; way: how they are made.

    edge: what they keep from edges, openings and slits, mm.
    """

    name: str
    strokes: tuple[np.ndarray, ...]
    way: Way = Way.ENGRAVE
    edge: float = 1.0

    def __eq__(self, other: object) -> bool:
        return (
            isinstance(other, OwnDrawing)
            and (self.name, self.way, self.edge, len(self.strokes))
            == (other.name, other.way, other.edge, len(other.strokes))
            and all(np.array_equal(a, b) for a, b in zip(self.strokes, other.strokes, strict=True))
        )

    def __hash__(self) -> int:
        return hash((self.name, self.way, len(self.strokes)))


def draw_own(
    facets: Facets,
    sections: Sections,
    joiners: Sequence[Joiner],
    parts: Sequence[Part],
    drawings: Sequence[OwnDrawing],
) -> tuple[tuple[Part, ...], tuple[Finding, ...]]:
    """Return the parts with the maker's drawings on them, carried over joiners and cut like any finish.

    What lies against no wall or slope is told.
    """
    if not drawings:
        return tuple(parts), ()
    runs = find_runs(facets, sections.setbacks)
    boards = list(boards_of(parts, joiners, runs))
    areas = _areas(runs, boards)
    covered = covered_stretches(joiners, runs)
    made: dict[int, list[Dressing]] = {}
    findings = []
    for drawing in drawings:
        stretches = _stretches(drawing, runs, areas)
        if not stretches:
            findings.append(_off_walls(drawing, runs, areas))
        style = Finish(Pattern.CHEQUER, 1.0, 1.0, way=drawing.way, edge=drawing.edge, frames=False)
        for k, blocks in stretches.items():
            surface = Surface(areas[k].bounds, Polygon(), joiners=tuple(covered.get(k, ())))
            for board in (board for board in boards if board.run == k):
                drawn = on_board(parts[board.part], board, runs[k], ([], blocks, Polygon()), None, style, surface)
                if drawn:
                    points, starts = pack(ordered(drawn))
                    dressing = Dressing(drawing.name, drawing.way, frozen(points), starts)
                    made.setdefault(board.part, []).append(dressing)
    return (
        tuple(replace(part, dressings=(*part.dressings, *made.get(k, ()))) for k, part in enumerate(parts)),
        tuple(findings),
    )


def _areas(runs: Sequence[Run], boards: Sequence[Board]) -> dict[int, shapely.Geometry]:
    """Return what the boards of every run cover, in its coordinates."""
    shapes: dict[int, list[Polygon]] = {}
    for board in boards:
        shapes.setdefault(board.run, []).append(board.shape)
    return {k: shapely.union_all(several) for k, several in shapes.items()}


def _stretches(
    drawing: OwnDrawing, runs: Sequence[Run], areas: dict[int, shapely.Geometry]
) -> dict[int, list[np.ndarray]]:
    """Return the lines of a drawing by run, in its coordinates, in stretches of (1, points, 2) mm."""
    found: dict[int, list[np.ndarray]] = {}
    for stroke in drawing.strokes:
        k = _run_of(stroke, runs, areas)
        if k is None or len(stroke) < 2:
            continue
        line = shapely.linestrings(runs[k].flatten(stroke))
        points = shapely.get_coordinates(shapely.simplify(line, _SMOOTH, preserve_topology=False))
        for first in range(0, len(points) - 1, _STRETCH):
            found.setdefault(k, []).append(points[None, first : first + _STRETCH + 1])
    return found


def _run_of(stroke: np.ndarray, runs: Sequence[Run], areas: dict[int, shapely.Geometry]) -> int | None:
    """Return the run that a line lies against: the nearest of those that have most of its points before them."""
    best: tuple[int, float, int] | None = None
    for k, area in areas.items():
        away = float(np.abs((stroke - runs[k].frame.origin) @ runs[k].frame.n).max())
        if away > _REACH:
            continue
        within = int(shapely.contains_xy(area, runs[k].flatten(stroke)).sum())
        if within and (best is None or (-within, away, k) < best):
            best = (-within, away, k)
    return None if best is None else best[2]


def _off_walls(drawing: OwnDrawing, runs: Sequence[Run], areas: dict[int, shapely.Geometry]) -> Finding:
    """Say that a drawing lies against no wall or slope, and how far its middle is from the nearest."""
    points = np.concatenate([*drawing.strokes, np.empty((0, 3))])
    if not len(points):
        message = f"Drawing '{drawing.name}' has no lines; draw some, or do not engrave it."
        return Finding(Severity.WARNING, "drawing-off-walls", message, Location(source=drawing.name))
    middle = points.mean(axis=0)
    beside = [shapely.distance(area, shapely.points(runs[k].flatten(middle[None])[0])) for k, area in areas.items()]
    before = [abs(float((middle - runs[k].frame.origin) @ runs[k].frame.n)) for k in areas]
    away = float(np.hypot(beside, before).min()) if areas else np.inf
    return Finding(
        Severity.WARNING,
        "drawing-off-walls",
        f"Drawing '{drawing.name}' is {away:.1f} mm from the nearest wall or slope and is not engraved; "
        f"lay it flat against one, within {_REACH:g} mm.",
        Location(source=drawing.name, point=place(middle)),
    )
