"""Shingle strips: the courses of a slope as strips of a thinner board, cut between shingles, glued on from the eaves.

Each strip is one gauge and an overlap high, lies with its lower edge on the strip below, and ends with the board that
bears it, so that courses meet at hips with the cut of the hip. Strips are laid on by the guide's list, as tiles are.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry import Polygon, box
from shapely.geometry.polygon import orient

from ..board.stock import Stock
from ..finish.courses import shingles
from ..finish.dress import Board, boards_of
from ..finish.finish import Finish, Pattern
from ..finish.runs import Run, find_runs
from ..finish.surface import Surface
from ..part import FaceUp, Joiner, Part, PartKind, frozen
from ..settings import TrimSettings
from ..solid.facets import Facets
from ..unfold.section import Sections
from .members import LEAST_WIDTH
from .room import finish_on, lattice_zones
from .two_boards import Course, shared

__all__ = ["OVERLAP_OF_COURSES", "Strip", "Strips", "make_strips"]

#: A strip lies so far over the one below, mm.
OVERLAP_OF_COURSES = 1.0

#: Above the cuts between shingles so much stays, mm, so that a strip is one piece (common practice, no source).
_BACK = 2.0

#: One strip in so many is cut besides where there are many alike (common practice, no source).
_SPARE = 20

#: Strips are alike where no corner differs by more than this, mm.
_ALIKE = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class Strip:
    """A strip in its place. part: its id; roof: the part that bears it; course: from the eaves, from 1.

    up: how far its lower edge lies above the eaves, along the slope, mm. area: on that part, in its frame.
    second: whether it is of the second board.
    """

    part: str
    name: str
    roof: str
    course: int
    up: float
    area: Polygon
    second: bool = False


#: A strip before it has a name: its roof, whether it is of the second board, its course, how far up, outline and cuts.
_Found = tuple[Part, bool, int, float, Polygon, tuple[np.ndarray, ...]]


@dataclass(frozen=True, slots=True, eq=False)
class Strips:
    """All shingle strips. parts: those laid, in the order of ``strips``, then the spare ones; spare: by name."""

    parts: tuple[Part, ...] = ()
    strips: tuple[Strip, ...] = ()
    spare: Mapping[str, int] = field(default_factory=dict)

    @property
    def thickness(self) -> float:
        """How much they raise a slope, mm: two boards where courses overlap."""
        return 2.0 * max((part.thickness for part in self.parts), default=0.0)


def make_strips(
    facets: Facets,
    sections: Sections,
    joiners: Sequence[Joiner],
    parts: Sequence[Part],
    trim: TrimSettings,
    finishes: Mapping[str, Finish],
) -> Strips:
    """Return the strips of all slopes whose finish is shingles; none where they are not wanted."""
    if trim.stock is None or not trim.shingles:
        return Strips()
    runs = find_runs(facets, sections.setbacks)
    boards = [board for board in boards_of(parts, joiners, runs) if parts[board.part].kind is PartKind.ROOF]
    found: list[_Found] = []
    for k, run in enumerate(runs):
        name = finish_on(facets, run, finishes, Pattern.SHINGLES)
        own = [board for board in boards if board.run == k]
        if run.upright or not name or not own:
            continue
        finish = finishes[name]
        x0, y0, x1, y1 = shapely.total_bounds([board.shape for board in own]).tolist()
        surface = Surface((x0, y0, x1, y1), Polygon(), reach=run.reach)
        gauge, joints = surface.up(finish.height), shingles(finish, surface)[1]
        for board in own:
            free = _free(parts[board.part], board, run)
            for course in range(math.floor(y0 / gauge), math.ceil(y1 / gauge)):
                low = course * gauge
                band = box(x0 - 1.0, low - OVERLAP_OF_COURSES / run.scale, x1 + 1.0, low + gauge)
                for piece in _sound(free.intersection(band)):
                    cuts = _cuts(piece, joints, low, gauge)
                    for part, inner, second in _of_two(piece, cuts, trim, course, gauge * run.scale, (x0 + x1) / 2.0):
                        flat = _flat(part, inner, board, run)
                        found.append((parts[board.part], second, course + 1, low * run.scale, *flat))
    return _numbered(found, trim)


def _of_two(
    piece: Polygon, cuts: list[np.ndarray], trim: TrimSettings, course: int, gauge: float, middle: float
) -> list[tuple[Polygon, list[np.ndarray], bool]]:
    """Return a strip with its cuts, parted where the maker wants another board. gauge: along the slope, mm."""
    if trim.second is None:
        return [(piece, cuts, False)]
    return shared(piece, cuts, Course(trim.second, course, gauge, middle))


def _free(part: Part, board: Board, run: Run) -> shapely.Geometry:
    """Return what of a slope's board bears strips, in the coordinates of its run."""
    free = board.shape
    for zone in lattice_zones(part, board, run):
        free = free.difference(zone)
    return free


def _sound(area: shapely.Geometry) -> Iterator[Polygon]:
    """Yield the pieces of an area that are nowhere only sliver: a member is 3 mm wide at least."""
    for piece in shapely.get_parts(area):
        if isinstance(piece, Polygon) and not piece.buffer(-LEAST_WIDTH / 2 + _ALIKE, join_style="mitre").is_empty:
            yield piece


def _cuts(piece: Polygon, joints: np.ndarray, low: float, gauge: float) -> list[np.ndarray]:
    """Return the cuts between the shingles of a strip, (2, 2) each, from its lower edge up, in its run.

    joints: (n, 2, 2) upright lines of all courses. None lies nearer than a member to another one or to an end.
    """
    here = np.sort(joints[np.abs(joints[:, 0, 1] - low) < gauge / 2][:, 0, 0])
    bottom, top = piece.bounds[1], piece.bounds[3] - _BACK
    kept: list[np.ndarray] = []
    last = piece.bounds[0]
    for x in here.tolist():
        inside = piece.buffer(_ALIKE).contains(box(x - LEAST_WIDTH, bottom, x + LEAST_WIDTH, top))
        if top - bottom >= _BACK and x - last >= LEAST_WIDTH and inside:
            kept.append(np.array([(x, bottom), (x, top)]))
            last = x
    return kept


def _flat(piece: Polygon, cuts: Sequence[np.ndarray], board: Board, run: Run) -> tuple[Polygon, tuple[np.ndarray, ...]]:
    """Return a strip and its cuts in the frame of the part that bears it."""

    def lay(points: np.ndarray) -> np.ndarray:
        flat: np.ndarray = board.panel.stands.back(run.raise_(points))[:, :2]
        return flat

    return orient(shapely.transform(piece, lay)), tuple(lay(cut) for cut in cuts)


def _numbered(found: Sequence[_Found], trim: TrimSettings) -> Strips:
    """Return strips with ids and names, those that are cut alike under one name, and spare ones."""
    known: dict[bool, list[tuple[Polygon, tuple[np.ndarray, ...], str]]] = {False: [], True: []}
    strips: list[Strip] = []
    parts: list[Part] = []
    for number, (roof, second, course, up, area, cuts) in enumerate(found, start=1):
        shape, lines = _upright(area, cuts)
        name = _name_of(shape, lines, known[second], "RD" if second else "RS")
        strips.append(Strip(f"{name}-{number}", name, roof.name, course, up, area, second))
        parts.append(_part(f"{name}-{number}", name, shape, lines, _stock_of(trim, second)))
    spare = {n: math.ceil(k / _SPARE) for n, k in sorted(Counter(s.name for s in strips).items()) if k > 1}
    first = {part.shared_name: (strip, part) for strip, part in zip(reversed(strips), reversed(parts), strict=True)}
    extra = [
        _part(f"{name}-spare{k + 1}", name, part.outline, part.pricks, _stock_of(trim, strip.second))
        for name, count in spare.items()
        for strip, part in (first[name],)
        for k in range(count)
    ]
    return Strips((*parts, *extra), tuple(strips), spare)


def _stock_of(trim: TrimSettings, second: bool) -> Stock:
    """Return the board that a strip is cut from."""
    stock = trim.second.stock if second and trim.second is not None else trim.stock
    assert stock is not None
    return stock


def _upright(area: Polygon, cuts: Sequence[np.ndarray]) -> tuple[Polygon, tuple[np.ndarray, ...]]:
    """Return a strip and its cuts turned so that its longest side lies level, its box at the origin."""
    ring = np.asarray(area.exterior.coords)
    edges = np.diff(ring, axis=0)
    along = edges[int(np.argmax(np.hypot(*edges.T)))]
    c, s = (along / np.hypot(*along)).tolist()
    turn = np.array([[c, -s], [s, c]])
    turned = orient(shapely.transform(area, lambda xy: xy @ turn))
    corner = np.array(turned.bounds[:2])
    shape = shapely.transform(turned, lambda xy: xy - corner)
    return shape, tuple(frozen(cut @ turn - corner) for cut in cuts)


def _name_of(
    shape: Polygon, cuts: tuple[np.ndarray, ...], known: list[tuple[Polygon, tuple[np.ndarray, ...], str]], letters: str
) -> str:
    plain = shapely.normalize(shape)
    for other, lines, name in known:
        same = len(lines) == len(cuts) and all(np.allclose(a, b, atol=_ALIKE) for a, b in zip(lines, cuts, strict=True))
        if same and shapely.equals_exact(plain, other, _ALIKE):
            return name
    known.append((plain, cuts, f"{letters}{len(known) + 1}"))
    return known[-1][2]


def _part(name: str, shared: str, shape: Polygon, cuts: tuple[np.ndarray, ...], stock: Stock) -> Part:
    return Part(
        id=name,
        label="Shingle strip",
        kind=PartKind.TRIM,
        stock=stock.name,
        thickness=stock.thickness,
        face_up=FaceUp.OUTSIDE,
        board_side=1,
        outline=shape,
        panels=(),
        stage=3,
        pricks=cuts,
        shared_name=shared,
    )
