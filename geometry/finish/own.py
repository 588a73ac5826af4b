"""Own drawing: the maker's lines in space, engraved on the wall or slope that they lie against."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..errors import BadSettingError
from ..findings import Finding, Location, Severity, place
from ..part import Dressing, Joiner, Part, Way
from ..solid.facets import Facets
from ..tolerance import SNAP
from ..unfold.section import Sections
from .dress import Board, boards_of, covered_stretches, dressing_of, flat, free_area
from .hatch import hatch
from .lines import clip, ordered
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

#: A wall with more points of a drawing is black all over (common practice, no source).
MOST_POINTS = 200_000

#: ... and made simpler in stretches of so many, which any stack takes.
_AT_ONCE = 400


@dataclass(frozen=True, slots=True, eq=False)
class OwnDrawing:
    """Lines of the maker. name: of the host's object; strokes: (k, 3) mm each, in the model; way: how they are made.

    With FILL all of them are engraved, and closed ones are hatched besides; what two of them enclose is bare again.
    edge: what they keep from edges, openings and slits, mm. hatch: between strokes of the hatching, mm.
    """

    name: str
    strokes: tuple[np.ndarray, ...]
    way: Way = Way.ENGRAVE
    edge: float = 1.0
    hatch: float = 0.3

    def __eq__(self, other: object) -> bool:
        return (
            isinstance(other, OwnDrawing)
            and (self.name, self.way, self.edge, self.hatch, len(self.strokes))
            == (other.name, other.way, other.edge, other.hatch, len(other.strokes))
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

    What lies against no wall or slope is told, and so is what cannot be drawn or filled.
    """
    if not drawings:
        return tuple(parts), ()
    runs = find_runs(facets, sections.setbacks)
    boards = list(boards_of(parts, joiners, runs))
    areas = _areas(runs, boards)
    covered = covered_stretches(joiners, runs)
    made: dict[int, list[Dressing]] = {}
    findings: list[Finding] = []
    for drawing in drawings:
        strokes, broken = _sound(drawing)
        if len(strokes) > MOST_POINTS // 2:
            findings.append(_not_clear(drawing, f"Drawing '{drawing.name}' is left out: {_too_many(2 * len(strokes))}"))
            continue
        places = _runs_of(strokes, runs, areas)
        if broken:
            findings.append(_broken(drawing, broken))
        if not strokes or any(k is None for k in places):
            findings.append(_off_walls(drawing, strokes, places, runs, areas))
        for k in sorted({k for k in places if k is not None}):
            own = [runs[k].flatten(stroke) for stroke, place in zip(strokes, places, strict=True) if place == k]
            surface = Surface(areas[k].bounds, Polygon(), joiners=tuple(covered.get(k, ())))
            here = [
                (board, free_area(parts[board.part], board, runs[k], None, drawing.edge, surface))
                for board in boards
                if board.run == k
            ]
            try:
                for board, lines in _engraved(drawing, own, runs[k], here):
                    made.setdefault(board.part, []).extend(lines)
                if drawing.way is Way.FILL:
                    for board, lines in _filled(drawing, own, runs[k], here):
                        made.setdefault(board.part, []).extend(lines)
            except BadSettingError as error:
                message = f"Drawing '{drawing.name}' {error}"
                findings.append(_not_clear(drawing, message))
    return (
        tuple(replace(part, dressings=(*part.dressings, *made.get(k, ()))) for k, part in enumerate(parts)),
        tuple(findings),
    )


_Here = Sequence[tuple[Board, shapely.Geometry]]


def _engraved(
    drawing: OwnDrawing, strokes: Sequence[np.ndarray], run: Run, here: _Here
) -> Iterator[tuple[Board, list[Dressing]]]:
    """Yield the lines of a drawing on every board of a run. strokes: (k, 2) mm, in its coordinates.

    Raises BadSettingError where there are too many of them.
    """
    blocks = _stretches(strokes)
    points = sum(block.shape[0] * block.shape[1] for block in blocks)
    if points > MOST_POINTS:
        raise BadSettingError(f"is left out: {_too_many(points)}")
    way = Way.ENGRAVE if drawing.way is Way.FILL else drawing.way
    for board, free in here:
        yield board, dressing_of(drawing.name, way, ordered(clip([flat(board, run, block) for block in blocks], free)))


def _filled(
    drawing: OwnDrawing, strokes: Sequence[np.ndarray], run: Run, here: _Here
) -> Iterator[tuple[Board, list[Dressing]]]:
    """Yield the hatching of closed lines on every board of a run.

    Raises BadSettingError where they cross themselves too often to be filled.
    """
    rings = [stroke[:-1] for stroke in strokes if len(stroke) > 3 and np.ptp(stroke[[0, -1]], axis=0).max() < SNAP]
    if not rings:
        return
    for board, free in here:
        edges = [shapely.get_coordinates(ring)[:-1] for ring in shapely.get_rings(free)]
        flat_rings = [flat(board, run, ring) for ring in rings]
        lines = hatch(flat_rings, drawing.hatch, inset=drawing.hatch / 2, clip=edges)
        yield board, dressing_of(drawing.name, Way.FILL, ordered(lines))


def _areas(runs: Sequence[Run], boards: Sequence[Board]) -> dict[int, shapely.Geometry]:
    """Return what the boards of every run cover, in its coordinates."""
    shapes: dict[int, list[Polygon]] = {}
    for board in boards:
        shapes.setdefault(board.run, []).append(board.shape)
    return {k: shapely.union_all(several) for k, several in shapes.items()}


def _sound(drawing: OwnDrawing) -> tuple[list[np.ndarray], int]:
    """Return the lines of a drawing that have a length, and how many points are no numbers: lines are parted there."""
    kept: list[np.ndarray] = []
    broken = 0
    for stroke in drawing.strokes:
        finite = np.isfinite(stroke).all(axis=1)
        broken += int((~finite).sum())
        bounds = np.flatnonzero(np.diff(np.concatenate([[False], finite, [False]])))
        pieces = [stroke[a:b] for a, b in bounds.reshape(-1, 2)]
        kept += [piece for piece in pieces if len(piece) > 1 and np.ptp(piece, axis=0).max() > SNAP]
    return kept, broken


def _stretches(strokes: Sequence[np.ndarray]) -> list[np.ndarray]:
    """Return lines, (k, 2) mm, without needless points and in short stretches, as blocks of (n, points, 2) mm."""
    # what simplifies a line calls itself once for a point at worst, so long lines are parted first
    parted = [stroke[k : k + _AT_ONCE + 1] for stroke in strokes for k in range(0, len(stroke) - 1, _AT_ONCE)]
    which = np.repeat(np.arange(len(parted)), [len(piece) for piece in parted])
    lines = shapely.linestrings(np.concatenate(parted), indices=which)
    lines = shapely.simplify(lines, _SMOOTH, preserve_topology=False)
    blocks: dict[int, list[np.ndarray]] = {}
    points, which = shapely.get_coordinates(lines, return_index=True)
    for line in np.split(points, np.flatnonzero(np.diff(which)) + 1):
        for first in range(0, len(line) - 1, _STRETCH):
            piece = line[first : first + _STRETCH + 1]
            blocks.setdefault(len(piece), []).append(piece)
    return [np.array(several) for _, several in sorted(blocks.items())]


def _runs_of(
    strokes: Sequence[np.ndarray], runs: Sequence[Run], areas: Mapping[int, shapely.Geometry]
) -> list[int | None]:
    """Return the run that every line lies against: the nearest of those that have most of its points before them."""
    if not strokes:
        return []
    points = np.concatenate(strokes)
    first = np.cumsum([0, *(len(stroke) for stroke in strokes[:-1])])
    best = np.full(len(strokes), -1)
    most, least = np.zeros(len(strokes), dtype=np.intp), np.full(len(strokes), np.inf)
    for k, area in areas.items():
        away = np.maximum.reduceat(np.abs((points - runs[k].frame.origin) @ runs[k].frame.n), first)
        near = np.repeat(away <= _REACH, np.diff([*first, len(points)]))
        inside = np.zeros(len(points), dtype=np.intp)
        shapely.prepare(area)
        inside[near] = shapely.contains_xy(area, runs[k].flatten(points[near]))
        within = np.add.reduceat(inside, first)
        better = (within > most) | ((within == most) & (within > 0) & (away < least))
        best[better], most[better], least[better] = k, within[better], away[better]
    return [int(k) if k >= 0 else None for k in best]


def _broken(drawing: OwnDrawing, points: int) -> Finding:
    many = "a point that is" if points == 1 else f"{points} points that are"
    message = (
        f"Drawing '{drawing.name}' has {many} no number; its lines are parted there. Delete or move what is wrong."
    )
    return _not_clear(drawing, message)


def _too_many(points: int) -> str:
    return f"it has {points:,} points where it is made simpler, more than {MOST_POINTS:,}; draw less."


def _not_clear(drawing: OwnDrawing, message: str) -> Finding:
    return Finding(Severity.WARNING, "drawing-not-clear", message, Location(source=drawing.name))


def _off_walls(
    drawing: OwnDrawing,
    strokes: Sequence[np.ndarray],
    places: Sequence[int | None],
    runs: Sequence[Run],
    areas: Mapping[int, shapely.Geometry],
) -> Finding:
    """Say that lines of a drawing lie against no wall or slope, and how far their middle is from the nearest."""
    if not strokes:
        message = f"Drawing '{drawing.name}' has no lines; draw some, or do not engrave it."
        return Finding(Severity.WARNING, "drawing-off-walls", message, Location(source=drawing.name))
    off = [stroke for stroke, k in zip(strokes, places, strict=True) if k is None]
    middle = np.concatenate(off).mean(axis=0)
    beside = [shapely.distance(area, shapely.points(runs[k].flatten(middle[None])[0])) for k, area in areas.items()]
    before = [abs(float((middle - runs[k].frame.origin) @ runs[k].frame.n)) for k in areas]
    away = float(np.hypot(beside, before).min()) if areas else np.inf
    what = f"Drawing '{drawing.name}' is" if len(off) == len(strokes) else _some(drawing, len(off), len(strokes))
    return Finding(
        Severity.WARNING,
        "drawing-off-walls",
        f"{what} {away:.1f} mm from the nearest wall or slope and not engraved; "
        f"lay it flat against one, within {_REACH:g} mm.",
        Location(source=drawing.name, point=place(middle)),
    )


def _some(drawing: OwnDrawing, off: int, of: int) -> str:
    return f"{off} of {of} lines of drawing '{drawing.name}' {'is' if off == 1 else 'are'}"
