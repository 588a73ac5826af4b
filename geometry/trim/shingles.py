"""Shingle strips: courses of shingles or slates as strips of a thinner board, cut between them, glued from the eaves.

Each strip is one gauge and an overlap high, leans with its lower edge on the strip below, and ends with the board that
bears it, so that courses meet at hips with the cut of the hip. It ends before whatever stands on the slope. Its corners
are scored on the roof, and the finish, which it covers, is not engraved there.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from shapely.geometry import Polygon, box
from shapely.geometry.polygon import orient

from ..board.stock import Stock
from ..findings import Finding, Location, Severity, gathered, place
from ..finish.dress import Board, boards_of, flat_area
from ..finish.fillings import without_lines
from ..finish.finish import Finish
from ..finish.runs import Run, find_runs
from ..finish.surface import Surface
from ..part import ColourField, FaceUp, Joiner, PaintRole, Part, PartKind, frozen, plain_panel
from ..pose import Pose
from ..settings import BuildSettings, TrimSettings
from ..solid.facets import Facets
from ..tolerance import SNAP
from ..unfold.section import Sections
from .joints import LAPPED, joints_of
from .leaning import STEEPEST, Leaning, lean_on, leaned
from .members import LEAST_WIDTH
from .on_slopes import Slope, standing_over
from .room import KEEP, finish_on, lattice_zones
from .two_boards import Course, shared

__all__ = ["OVERLAP_OF_COURSES", "Strip", "Strips", "make_strips", "under_strips"]

#: A strip lies so far over the one below, mm.
OVERLAP_OF_COURSES = 1.0

#: Necks narrower than this are left out, mm: a hand that lays them breaks them (common practice, no source).
_NECK = 2.0

#: What a neck joined is laid so far apart, mm: so that both can be glued by eye.
_APART = 0.5

#: Strips end so far below what stands up the slope, mm: as far as one of 2 mm board that leans most reaches, so that
#: the usual thin boards give the same strips.
_REACH = 1.15

#: Marks of a strip's upper corners lie so far inside it, and are so long at most, mm: as those of other glue places.
_INSET, _STROKE, _SHARE = 0.5, 4.0, 0.35

#: Above the cuts between shingles so much stays, mm, so that a strip is one piece (common practice, no source).
_BACK = 2.0

#: One strip in so many is cut besides where there are many alike (common practice, no source).
_SPARE = 20

#: Strips are alike where no corner differs by more than this, mm; digits after the point to which they are compared,
#: far finer.
_ALIKE, _DIGITS = 0.01, 5


@dataclass(frozen=True, slots=True, eq=False)
class Strip:
    """A strip in its place. part: its id; roof: what the part that bears it is called; course: from the eaves, from 1.

    up: how far its lower edge lies above the eaves, along the slope, mm. area: on that part, in its frame, as cut.
    host: id of that part; panel: its panel. lean: angle to the slope, radians. rise: how far it stands out of the
    slope's face, mm. second: whether it is of the second board.
    """

    part: str
    name: str
    roof: str
    course: int
    up: float
    area: Polygon
    host: str = ""
    panel: int = 0
    lean: float = 0.0
    rise: float = 0.0
    second: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Strips:
    """All shingle strips. parts: those laid, in the order of ``strips``, then the spare ones; spare: by name.

    findings: slopes that get none.
    """

    parts: tuple[Part, ...] = ()
    strips: tuple[Strip, ...] = ()
    spare: Mapping[str, int] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()

    @property
    def laid(self) -> tuple[Part, ...]:
        """The strips on the roof, without the spare ones."""
        return self.parts[: len(self.strips)]

    @property
    def bearers(self) -> dict[str, tuple[str, int]]:
        """The id and the panel of what bears every strip, by the strip's id."""
        return {strip.part: (strip.host, strip.panel) for strip in self.strips}

    @property
    def covered(self) -> dict[str, shapely.Geometry]:
        """What strips cover of every part that bears them, in its frame, by id."""
        found: dict[str, list[Polygon]] = {}
        for strip in self.strips:
            found.setdefault(strip.host, []).append(strip.area)
        return {name: shapely.union_all(areas) for name, areas in found.items()}

    @property
    def thickness(self) -> float:
        """How much they raise a slope at most, mm: two boards and a bit where courses overlap."""
        return max((strip.rise for strip in self.strips), default=0.0)


@dataclass(frozen=True, slots=True, eq=False)
class _Found:
    """A strip before it has a name. piece: in the coordinates of its run; leaning: on the strip below.

    second: whether it is of the second board.
    """

    board: Board
    run: Run
    finish: str
    course: int
    low: float
    piece: Polygon
    cuts: tuple[np.ndarray, ...]
    leaning: Leaning
    second: bool


def make_strips(
    facets: Facets,
    sections: Sections,
    joiners: Sequence[Joiner],
    parts: Sequence[Part],
    settings: BuildSettings,
    finishes: Mapping[str, Finish],
) -> Strips:
    """Return the strips of all slopes whose finish is shingles or slates; none where they are not wanted.

    parts: all of the building; strips end before those that stand on a slope or close against it.
    """
    trim = settings.trim
    if trim.stock is None or not trim.shingles:
        return Strips()
    runs = find_runs(facets, sections.setbacks)
    boards = [board for board in boards_of(parts, joiners, runs) if parts[board.part].kind is PartKind.ROOF]
    names = {k: finish_on(facets, run, finishes, *LAPPED) for k, run in enumerate(runs) if not run.upright}
    boards = [board for board in boards if names.get(board.run)]
    thick = _thickest(trim)
    high = 2.0 * thick + OVERLAP_OF_COURSES
    slopes = list(dict.fromkeys((board.part, _panel_of(parts, board)) for board in boards))
    over = {
        slope: standing_over(parts, Slope(*slope), [Slope(*values) for values in slopes], high, settings)
        for slope in slopes
    }
    found: list[_Found] = []
    findings: list[Finding] = []
    for k, run in enumerate(runs):
        own = [board for board in boards if board.run == k]
        if not own:
            continue
        finish = finishes[names[k]]
        x0, y0, x1, y1 = shapely.total_bounds([board.shape for board in own]).tolist()
        surface = Surface((x0, y0, x1, y1), Polygon(), reach=run.reach)
        gauge = surface.up(finish.height)
        if thick > gauge * run.scale * math.sin(STEEPEST):
            findings.append(_too_thick(thick, gauge * run.scale, run))
            continue
        joints = joints_of(finish, surface, trim.second, gauge * run.scale)
        for board in own:
            free = _free(parts[board.part], board, run, over[board.part, _panel_of(parts, board)], trim)
            below: list[Leaning] = []
            for course in range(math.floor(y0 / gauge), math.ceil(y1 / gauge)):
                low = course * gauge
                band = box(x0 - 1.0, low - OVERLAP_OF_COURSES / run.scale, x1 + 1.0, low + gauge)
                here = []
                for whole in _sound(free.intersection(band)):
                    for piece, under in _laid(whole, below, run, thick):
                        cuts = _cuts(piece, joints.at(course))
                        parted = _of_two(piece, cuts, trim, course, gauge * run.scale, (x0 + x1) / 2.0)
                        for part, inner, second in parted:
                            leaning = lean_on(part, under, run.scale, _stock_of(trim, second).thickness)
                            here.append(leaning)
                            up = low * run.scale
                            found.append(
                                _Found(board, run, names[k], course + 1, up, part, tuple(inner), leaning, second)
                            )
                below = here
    return replace(_numbered(found, parts, trim), findings=gathered(findings))


def _thickest(trim: TrimSettings) -> float:
    return max(stock.thickness for stock in trim.stocks)


def _too_thick(thick: float, gauge: float, run: Run) -> Finding:
    """Say that strips of a board would stand up rather than lie; in a stack of even courses sin(lean) = t / gauge."""
    least = thick / math.sin(STEEPEST)
    message = (
        f"A slope gets no shingle strips: of {thick:g} mm board they would stand up in courses of "
        f"{gauge:.1f} mm; make courses {least:.1f} mm or more, or take thinner board."
    )
    return Finding(Severity.NOTE, "trim-without-room", message, Location(point=place(run.frame.origin)))


def under_strips(parts: Sequence[Part], strips: Strips) -> tuple[Part, ...]:
    """Return the parts with the corners of strips scored on roofs, and without the lines that strips cover."""
    covered = strips.covered
    return tuple(_covered(part, covered[part.id], strips) if part.id in covered else part for part in parts)


def _covered(part: Part, area: shapely.Geometry, strips: Strips) -> Part:
    marks = [frozen(mark) for strip in strips.strips if strip.host == part.id for mark in _marks(strip, part)]
    return replace(without_lines(part, area), score=(*part.score, *marks))


def _panel_of(parts: Sequence[Part], board: Board) -> int:
    return next(k for k, panel in enumerate(parts[board.part].panels) if panel is board.panel)


def _laid(
    whole: Polygon, below: Sequence[Leaning], run: Run, thick: float
) -> Iterator[tuple[Polygon, Sequence[Leaning]]]:
    """Yield a strip with those that it lies on; what is too short to lean on them lies flat above them, on none."""
    if lean_on(whole, below, run.scale, thick).angle <= STEEPEST:
        yield whole, below
        return
    above = max(lower.edge for lower in below if lower.bears(whole)) / run.scale
    x0, _, x1, y1 = whole.bounds
    if y1 > above:
        for piece in _sound(whole.intersection(box(x0 - 1.0, above, x1 + 1.0, y1 + 1.0))):
            yield piece, ()


def _of_two(
    piece: Polygon, cuts: list[np.ndarray], trim: TrimSettings, course: int, gauge: float, middle: float
) -> list[tuple[Polygon, list[np.ndarray], bool]]:
    """Return a strip with its cuts, parted where the maker wants another board. gauge: along the slope, mm."""
    if trim.second is None:
        return [(piece, cuts, False)]
    return shared(piece, cuts, Course(trim.second, course, gauge, middle))


def _free(part: Part, board: Board, run: Run, over: shapely.Geometry, trim: TrimSettings) -> shapely.Geometry:
    """Return what of a slope's board bears strips, in the coordinates of its run.

    over: what stands on it, in the part frame. A strip that leans reaches up the slope with its upper edge.
    """
    free = board.shape
    reach = max(_REACH, _thickest(trim) * math.sin(STEEPEST))
    for other in part.panels:
        # in the flat, boards that no lattice parts lie a kerf beside each other
        near = Polygon(other.ring).buffer(reach + KEEP / 2, join_style="mitre")
        if other is not board.panel:
            free = free.difference(shapely.transform(near, lambda xy: _back(xy, board, run)))
    if not over.is_empty:
        kept = shapely.transform(over.buffer(KEEP, join_style="mitre"), lambda xy: _back(xy, board, run))
        lower = shapely.affinity.translate(kept, 0.0, -reach / run.scale)
        both = [shapely.union_all(pair).convex_hull for pair in _pairs(kept, lower)]
        free = free.difference(shapely.union_all(both))
    for zone in lattice_zones(part, board, run):
        free = free.difference(zone)
    return free


def _pairs(one: shapely.Geometry, two: shapely.Geometry) -> Iterator[tuple[shapely.Geometry, shapely.Geometry]]:
    return zip(shapely.get_parts(one), shapely.get_parts(two), strict=True)


def _back(points: np.ndarray, board: Board, run: Run) -> np.ndarray:
    """Return points of the part frame in the coordinates of a run, (n, 2)."""
    return run.flatten(board.panel.stands.apply(points))


def _sound(area: shapely.Geometry) -> Iterator[Polygon]:
    """Yield the pieces of an area that are nowhere only sliver: a member is 3 mm wide at least, its necks 2 mm."""
    for whole in shapely.get_parts(area):
        for piece in _without_necks(whole):
            if not piece.buffer(-LEAST_WIDTH / 2 + _ALIKE, join_style="mitre").is_empty:
                yield piece


def _without_necks(whole: shapely.Geometry) -> Iterator[Polygon]:
    """Yield an area as it is, or where it has necks what they join, a kerf and more apart."""
    cores = shapely.get_parts(whole.buffer(-_NECK / 2, join_style="mitre"))
    if len(cores) < 2:
        yield from [whole] if isinstance(whole, Polygon) else []
        return
    taken: shapely.Geometry = Polygon()
    for core in cores:
        grown = core.buffer(_NECK / 2, join_style="mitre").intersection(whole).difference(taken)
        pieces = [piece for piece in shapely.get_parts(shapely.simplify(grown, _ALIKE)) if isinstance(piece, Polygon)]
        if pieces:
            largest = max(pieces, key=lambda piece: float(piece.area))
            taken = taken.union(largest.buffer(_APART))
            yield largest


def _cuts(piece: Polygon, joints: np.ndarray) -> list[np.ndarray]:
    """Return the cuts between the shingles of a strip, (2, 2) each, from its lower edge up, in its run.

    joints: where they stand in its course, (n,). None lies nearer than a member to another one or to an end.
    """
    bottom, top = piece.bounds[1], piece.bounds[3] - _BACK
    kept: list[np.ndarray] = []
    last = piece.bounds[0]
    for x in joints.tolist():
        inside = piece.buffer(_ALIKE).contains(box(x - LEAST_WIDTH, bottom, x + LEAST_WIDTH, top))
        if top - bottom >= _BACK and x - last >= LEAST_WIDTH and inside:
            kept.append(np.array([(x, bottom), (x, top)]))
            last = x
    return kept


def _numbered(found: Sequence[_Found], parts: Sequence[Part], trim: TrimSettings) -> Strips:
    """Return strips with ids and names, those that are cut alike under one name, and spare ones."""
    known: dict[bool, list[tuple[Polygon, tuple[np.ndarray, ...], str]]] = {False: [], True: []}
    strips: list[Strip] = []
    made: list[Part] = []
    for number, each in enumerate(found, start=1):
        board, run, roof = each.board, each.run, parts[each.board.part]
        area = orient(flat_area(board, run, each.piece))
        ways = _ways(board, run)
        shape, lines, frame = _upright(area, [_in_part(cut, board, run) for cut in each.cuts], ways[2])
        name = _name_of(shape, lines, known[each.second], "RD" if each.second else "RS")
        lean = leaned(each.leaning, *ways, max(0.0, roof.board_side * roof.thickness))
        part = _part(f"{name}-{number}", name, shape, lines, _stock_of(trim, each.second))
        role = PaintRole.UNITS if each.second else PaintRole.MAIN
        field_ = ColourField(each.finish, role, shape, up=True)
        panel = plain_panel(shape, board.panel.stands @ lean @ frame)
        made.append(replace(part, panels=(panel,), colour_fields=(field_,)))
        strips.append(
            Strip(
                part.id,
                name,
                roof.name,
                each.course,
                each.low,
                area,
                roof.id,
                _panel_of(parts, board),
                each.leaning.angle,
                each.leaning.rise,
                each.second,
            )
        )
    spare = {n: math.ceil(k / _SPARE) for n, k in sorted(Counter(s.name for s in strips).items()) if k > 1}
    first = {part.shared_name: (strip, part) for strip, part in zip(reversed(strips), reversed(made), strict=True)}
    extra = [
        _part(f"{name}-spare{k + 1}", name, part.outline, part.pricks, _stock_of(trim, strip.second))
        for name, count in spare.items()
        for strip, part in (first[name],)
        for k in range(count)
    ]
    return Strips((*made, *extra), tuple(strips), spare)


def _stock_of(trim: TrimSettings, second: bool) -> Stock:
    """Return the board that a strip is cut from."""
    stock = trim.second.stock if second and trim.second is not None else trim.stock
    assert stock is not None
    return stock


def _in_part(points: np.ndarray, board: Board, run: Run) -> np.ndarray:
    """Return points of a run in the frame of the part that bears it, (n, 2) mm."""
    flat: np.ndarray = board.panel.stands.back(run.raise_(points))[:, :2]
    return flat


def _ways(board: Board, run: Run) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the origin of a run in the part frame, and its directions along the eaves and up the slope, (2,) each."""
    origin, along, up = _in_part(np.array([(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)]), board, run)
    return origin, along - origin, (up - origin) / np.hypot(*(up - origin))


def _marks(strip: Strip, part: Part) -> list[np.ndarray]:
    """Return the marks of both upper corners of a strip on its roof, (2, 2) mm each, under it."""
    up = part.panels[strip.panel].stands.turn[2, :2]
    up = up / np.hypot(*up)
    turn = np.array([[up[1], up[0]], [-up[0], up[1]]])
    inside = shapely.transform(strip.area, lambda xy: xy @ turn).buffer(-_INSET, join_style="mitre")
    x0, _, x1, y1 = inside.bounds
    level = inside.intersection(shapely.LineString([(x0, y1 - _ALIKE), (x1, y1 - _ALIKE)]))
    if level.is_empty:
        return []
    x0, _, x1, _ = level.bounds
    long = min(_STROKE, _SHARE * (x1 - x0))
    return [np.array([(a, y1), (b, y1)]) @ turn.T for a, b in ((x0, x0 + long), (x1, x1 - long))]


def _upright(area: Polygon, cuts: Sequence[np.ndarray], up: np.ndarray) -> tuple[Polygon, tuple[np.ndarray, ...], Pose]:
    """Return a strip and its cuts turned so that up the slope is up, its box at the origin, and that frame.

    up: (2,) unit, in the part frame.
    """
    c, s = float(up[1]), -float(up[0])
    turn = np.array([[c, -s], [s, c]])
    # without corners on straight lines, which parting leaves, so that strips that look alike are alike
    turned = orient(shapely.simplify(shapely.transform(area, lambda xy: xy @ turn), SNAP))
    corner = np.array(turned.bounds[:2])
    shape = shapely.transform(turned, lambda xy: xy - corner)
    frame = Pose.of((c, s, 0.0), (-s, c, 0.0), (0.0, 0.0, 1.0), (*(corner @ turn.T), 0.0))
    return shape, tuple(frozen(cut @ turn - corner) for cut in cuts), frame


def _name_of(
    shape: Polygon, cuts: tuple[np.ndarray, ...], known: list[tuple[Polygon, tuple[np.ndarray, ...], str]], letters: str
) -> str:
    # rounded, so that noise does not change which corner comes first
    plain = shapely.normalize(shapely.transform(shape, lambda xy: np.round(xy, _DIGITS) + 0.0))
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
