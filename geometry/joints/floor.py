"""The floor: outline of the standing walls with a rim, a slot for every tab, and the engraved squares."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np
import shapely
from shapely import get_parts
from shapely.geometry import LineString, MultiLineString, MultiPoint, MultiPolygon, Polygon, box
from shapely.geometry.polygon import orient
from shapely.ops import unary_union

from ..board.stock import Stock
from ..findings import Finding, Location, Severity, place
from ..part import FaceUp, Panel, Part, PartKind, Tab, frozen
from ..pose import Pose
from ..sentence import PointRef, Sentence
from ..settings import BuildSettings
from ..solid.facets import Edge, Facets, Shell, ShellKind
from ..solid.solid import Role
from ..tolerance import AREA, LENGTH, SNAP
from ..unfold.cheeks import joiner_at
from ..unfold.outline import clean_ring
from ..unfold.round_seams import bends_like
from ..unfold.section import Foot, Sections, outward
from .floorless import check_floorless
from .joiner import Joiners
from .stretch import Stretch, plan_turn

__all__ = ["Floors", "Room", "lay_floor", "walls_outline"]

#: Chords per quarter of a rounded corner of the floor's outline.
_QUARTER = 12

#: Shorter grid lines are not engraved, mm (common practice, no source).
_SHORT_LINE = 1.0

#: Wide enough to close the hairlines between footprints that single precision leaves, mm.
_HAIR = 1e-3

#: Notches of the outline narrower than this are filled, mm: wider than any kerf, narrower than anyone could use.
_CREVICE = 0.5


#: Where slots lie on its lines, a floor parts along those that divide squares into these shares.
_SHARES = (1.0, 0.5, 0.25)

#: A floor without squares may part at multiples of this, mm (common practice, no source).
_WITHOUT_SQUARES = 10.0

#: A floor comes in so many pieces at most.
_MOST_PIECES = 12


@dataclass(frozen=True, slots=True, eq=False)
class Room:
    """What lies inside the walls over a floor, in plan, mm. origin: (2,) mm, from where squares count."""

    area: Polygon | MultiPolygon
    origin: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Floors:
    """The floor pieces of a building and its tabs in their slots. rooms: by the id of the floor piece."""

    parts: tuple[Part, ...]
    tabs: tuple[Tab, ...]
    findings: tuple[Finding, ...]
    rooms: Mapping[str, Room] = field(default_factory=dict)


def lay_floor(
    facets: Facets,
    sections: Sections,
    joiners: Joiners,
    settings: BuildSettings,
    *,
    largest: tuple[float, float],
    standing: tuple[float, float] | None = None,
) -> Floors:
    """Lay a floor under all walls that have feet; split it along the squares where it exceeds ``largest``.

    largest: (width, height) in mm of the biggest piece that stock and laser take.
    standing: outer (length, width) in mm of the walls as they were measured once put up, joiners left
    out; slots and outline then lie where the walls do stand, and so do the tabs of the outcome.
    """
    feet = [*sections.feet, *joiners.feet]
    if not settings.ground.wanted:
        return Floors((), (), ())
    parts: list[Part] = []
    tabs: list[Tab] = []
    findings = check_floorless(facets, sections, feet, settings)
    rooms: dict[str, Room] = {}
    boards = {part.id: part for part in (*sections.parts, *joiners.parts)}
    for ground in _grounds(facets, sections, feet, settings):
        walls = ground.walls
        stretch = None
        if standing is not None:
            stretch = Stretch.to(walls_outline(facets, sections, ground.facets, settings), plan_turn(facets), standing)
            walls = stretch.shape(walls)
        outline = _rim(walls, settings.ground.rim)
        made = [_tab(foot, boards, facets, settings) for foot in ground.feet]
        if stretch is not None:
            made = [stretch.tab(tab) for tab in made]
        slots = [Polygon(tab.slot[:, :2]) for tab in made]
        strip = settings.ground.strip
        origin = _grid_origin(facets, ground.facets) + strip
        if stretch is not None:
            origin = stretch.points(origin[None])[0]
        square = settings.ground.square
        room = Room(_room(outline, walls), origin)
        # lines along the edge of the squares are lines of the grid too
        squares = room.area.buffer(SNAP - strip, join_style="mitre") if strip else room.area
        grid = _grid(squares, origin, square) if square else ()
        pieces = _split(outline, slots, origin, square, largest)
        for piece in pieces:
            name = f"F{len(parts) + 1}"
            parts.append(_floor_part(name, piece, slots, grid, ground.level, settings.floor))
            rooms[name] = room
            tabs += [replace(tab, floor=name) for tab, slot in zip(made, slots, strict=True) if piece.contains(slot)]
        for tab, slot in zip(made, slots, strict=True):
            if not any(piece.contains(slot) for piece in pieces):
                findings.append(_loose_tab(tab))
    return Floors(tuple(parts), tuple(tabs), tuple(findings), rooms)


@dataclass(frozen=True, slots=True, eq=False)
class _Ground:
    """What stands on one floor: facets of its shells, their feet, the plan that they cover, and its level, mm."""

    facets: tuple[int, ...]
    feet: tuple[Foot, ...]
    walls: Polygon | MultiPolygon
    level: float

    def meets(self, other: _Ground, rim: float) -> bool:
        """Whether the floors of both would lie on each other."""
        return abs(self.level - other.level) < SNAP and _rim(self.walls, rim).intersects(_rim(other.walls, rim))

    def __add__(self, other: _Ground) -> _Ground:
        return _Ground(
            self.facets + other.facets, self.feet + other.feet, unary_union([self.walls, other.walls]), self.level
        )


def _grounds(facets: Facets, sections: Sections, feet: Sequence[Foot], settings: BuildSettings) -> list[_Ground]:
    """Return what stands on every floor: shells whose floors would lie on each other share one.

    So do the walls round a courtyard and those round the building, and houses side by side.
    """
    grounds: list[_Ground] = []
    for shell in facets.shells:
        own = tuple(foot for foot in feet if facets.facets[foot.facet].shell == shell.id)
        if shell.kind is ShellKind.ROOF or not own:
            continue
        walls = _footprint(facets, sections, shell.facets, settings)
        new = _Ground(shell.facets, own, walls, facets.lowest(shell))
        at = len(grounds)
        while met := [ground for ground in grounds if ground.meets(new, settings.ground.rim)]:
            at = min(at, grounds.index(met[0]))
            for ground in met:
                new = ground + new
                grounds.remove(ground)
        grounds.insert(at, new)
    return grounds


def _tab(foot: Foot, boards: Mapping[str, Part], facets: Facets, settings: BuildSettings) -> Tab:
    """Return a foot as it stands, beside the slot that is cut for it, both in the floor's upper plane.

    The tab is where the part's board puts it; the slot is laid out on the plan, from the wall's
    reference line over the board's thickness, larger by the play.
    """
    ground = settings.ground
    facet = facets.facets[foot.facet]
    frame = facet.frame
    board = boards[foot.part]
    panel = next(panel for panel in board.panels if panel.facet == foot.facet)
    # from the facet into the part frame: the part's own pose, undone, so that a misplaced part shows
    ends = frame.raise_(np.array([[foot.span[0], foot.base], [foot.span[1], foot.base]]))
    flat = panel.stands.back(ends)
    low, high = (0.0, board.thickness) if board.board_side > 0 else (-board.thickness, 0.0)
    corners = np.array([[*flat[0, :2], low], [*flat[1, :2], low], [*flat[1, :2], high], [*flat[0, :2], high]])
    tab = panel.stands.apply(corners)
    play = (settings.slot_play(settings.stocks[board.stock]), ground.play_along)
    across, along = play[0] / 2, play[1] / 2
    # a core may be thicker or thinner than the wall; it lies flush with the wall's room-side face
    inward = outward(facets, facet, settings) < 0
    near, far = 0.0, board.thickness
    if inward:
        near, far = settings.walls.thickness - board.thickness, settings.walls.thickness
    start, end = foot.span
    slot = np.vstack(
        [
            frame.raise_(np.array([[start - along, foot.base], [end + along, foot.base]]), near - across),
            frame.raise_(np.array([[end + along, foot.base], [start - along, foot.base]]), far + across),
        ]
    )
    if inward:
        # parts are seen from outside: their frames start at the face that the slot ends with
        slot = slot[[3, 2, 1, 0]]
    return Tab(foot.part, "", frozen(tab), frozen(slot), play)


def walls_outline(facets: Facets, sections: Sections, ids: tuple[int, ...], settings: BuildSettings) -> Polygon:
    """Return the plan of the standing walls of a shell without their joiners, bends rounded, openings ignored."""
    return _footprint(facets, sections, ids, settings, joiners=False)


def _footprint(
    facets: Facets, sections: Sections, ids: tuple[int, ...], settings: BuildSettings, *, joiners: bool = True
) -> Polygon:
    """Return what the standing walls of a shell cover of the plan, bends rounded, openings ignored."""
    thickness = settings.walls.thickness
    setbacks = sections.setbacks
    shapes = []
    for facet_id in ids:
        facet = facets.facets[facet_id]
        if not facet.upright:
            continue
        moved = setbacks.facets[facet_id]
        low = float(moved.rings[0].points[:, 0].min())
        high = float(moved.rings[0].points[:, 0].max())
        run = np.array([[low, 0.0], [high, 0.0]])
        plan = np.vstack([facet.frame.raise_(run), facet.frame.raise_(run[::-1], thickness)])[:, :2]
        shapes.append(Polygon(plan).buffer(_HAIR, join_style="mitre"))
        for edge in facets.edges_of(facet):
            if edge.right is None or edge.left != facet_id:
                continue
            if edge.id in setbacks.bends and facets.facets[edge.right].upright:
                shapes.append(_bent_plan(facets, setbacks.bends[edge.id].reference_radius, edge, thickness))
            elif (like := bends_like(facets, edge)) is not None and like.id in setbacks.bends:
                shapes.append(_bent_plan(facets, setbacks.bends[like.id].reference_radius, edge, thickness))
            elif edge.role is Role.BREAK and joiners:
                cheeks = joiner_at(setbacks, facets, edge, settings).cheek_width
                shapes.append(_joiner_plan(facets, edge, cheeks, settings))
    shapes += [_covered(facets, shell) for shell in facets.shells if shell.facets == ids and facets.is_porch(shell)]
    return unary_union(shapes)


def _covered(facets: Facets, porch: Shell) -> Polygon:
    """Return a hair round what a porch covers, so that the floor goes on below it where its sides are open."""
    covered = MultiPoint(facets.outline_points(porch)[:, :2]).convex_hull
    outline: Polygon = covered.boundary.buffer(_HAIR, join_style="mitre")
    return outline


def _bent_plan(facets: Facets, radius: float, edge: Edge, thickness: float) -> Polygon:
    """Return the plan of an upright bend: a sector of a ring about the bend's axis."""
    one, other = (facet.frame.n[:2] for facet in facets.pair(edge))
    corner = facets.points[edge.start, :2]
    sign = math.copysign(1.0, edge.angle)
    # the axis lies on the bisector of both normals, on the inner side of the bend
    middle = (one + other) / np.hypot(*(one + other))
    centre = corner - sign * middle * radius / math.cos(edge.angle / 2)
    start = math.atan2(sign * one[1], sign * one[0])
    sweep = (math.atan2(sign * other[1], sign * other[0]) - start + math.pi) % (2 * math.pi) - math.pi
    turns = start + np.linspace(0.0, sweep, _QUARTER * 2)
    circle = np.column_stack([np.cos(turns), np.sin(turns)])
    # the board lies from the reference face toward n, which points away from the axis for angle > 0
    ring = np.vstack([centre + circle * radius, (centre + circle * (radius + sign * thickness))[::-1]])
    return Polygon(ring).buffer(_HAIR, join_style="mitre")


def _joiner_plan(facets: Facets, edge: Edge, cheeks: float, settings: BuildSettings) -> Polygon:
    """Return the plan of a joiner: both cheeks and the wall between them."""
    frame = facets.left(edge).frame
    u = facets.u_of(edge, facets.left(edge))
    half = cheeks / 2
    lamination = settings.joiners.thickness
    run = np.array([[u - half, 0.0], [u + half, 0.0]])
    far = settings.walls.thickness + lamination
    plan = np.vstack([frame.raise_(run, -lamination), frame.raise_(run[::-1], far)])[:, :2]
    return Polygon(plan)


def _rim(walls: Polygon | MultiPolygon, rim: float) -> Polygon:
    """Return the floor's outline: everything the walls enclose, grown by the rim."""
    pieces = walls.geoms if isinstance(walls, MultiPolygon) else [walls]
    filled = unary_union([Polygon(piece.exterior) for piece in pieces])
    grown = filled.buffer(rim - _HAIR, quad_segs=_QUARTER)
    if isinstance(grown, MultiPolygon):
        grown = grown.convex_hull
    outline = Polygon(grown.exterior)
    # where the rim of a joiner runs into the rim of a bend, nothing wider than the kerf may stay open
    filled = outline.buffer(_CREVICE / 2, join_style="mitre").buffer(-_CREVICE / 2, join_style="mitre")
    if filled.area > outline.area + AREA:
        outline = Polygon(filled.exterior)
    return orient(outline.simplify(SNAP))


def _room(outline: Polygon, walls: Polygon | MultiPolygon) -> Polygon | MultiPolygon:
    """Return what lies inside the walls."""
    inside = outline.difference(walls)
    pieces = inside.geoms if isinstance(inside, MultiPolygon) else [inside]
    return unary_union([piece for piece in pieces if not piece.buffer(_HAIR).intersects(outline.exterior)])


def _grid_origin(facets: Facets, ids: tuple[int, ...]) -> np.ndarray:
    """Return the plan corner from which squares count: the least x and y of the modelled walls."""
    points = [facets.corners(facets.facets[f])[:, :2] for f in ids if facets.facets[f].upright]
    low: np.ndarray = np.vstack(points).min(axis=0)
    return low


def _grid(room: Polygon | MultiPolygon, origin: np.ndarray, square: float) -> tuple[np.ndarray, ...]:
    """Return the lines of the scale grid, clipped to the room, (2, 2) mm each."""
    if room.is_empty:
        return ()
    x0, y0, x1, y1 = room.bounds
    lines = []
    for axis, (low, high) in enumerate(((x0, x1), (y0, y1))):
        for k in range(math.floor((low - origin[axis]) / square) + 1, math.ceil((high - origin[axis]) / square)):
            at = float(origin[axis] + k * square)
            lines.append(LineString([(at, y0), (at, y1)] if axis == 0 else [(x0, at), (x1, at)]))
    cut = shapely.intersection(np.array(lines, dtype=object), room) if lines else []
    inner = room.buffer(-SNAP)
    return tuple(
        frozen(np.array(clear.coords)) for each in cut for piece in _runs(each) for clear in _off_edges(piece, inner)
    )


def _runs(line: shapely.Geometry) -> list[LineString]:
    """Return the stretches of a clipped line that are worth engraving."""
    pieces = line.geoms if isinstance(line, MultiLineString) else [line]
    return [piece for piece in pieces if isinstance(piece, LineString) and piece.length > _SHORT_LINE]


def _off_edges(piece: LineString, inner: Polygon | MultiPolygon) -> list[LineString]:
    """Return a grid line without what runs along an edge, where the laser cuts: of slots at walls, or of the floor.

    inner: the room, or a piece of the floor, without a hairline along its edge. A line that only ends there stays.
    """
    free = shapely.intersection(piece, inner)
    return [piece] if piece.length - free.length < _SHORT_LINE else _runs(free)


def _off_slots(line: LineString, slots: Sequence[Polygon]) -> shapely.Geometry:
    """Return a grid line without what lies in slots, or would run along the end of one, beside the laser's cut."""
    x0, y0, x1, y1 = line.bounds
    axis, at = (0, x0) if x1 - x0 < y1 - y0 else (1, y0)
    near = [slot for slot in slots if min(abs(slot.bounds[side] - at) for side in (axis, axis + 2)) < _CREVICE]
    return line.difference(unary_union([*(slot.buffer(_CREVICE, join_style="mitre") for slot in near), *slots]))


def _split(
    outline: Polygon,
    slots: list[Polygon],
    origin: np.ndarray,
    square: float | None,
    largest: tuple[float, float],
) -> list[Polygon]:
    """Part a floor that is too large along lines that meet no slot, into as few pieces as it takes.

    The lines are those of the grid; where slots lie on too many of them, those that halve or quarter its squares.
    """
    if _fits(_size(outline), largest):
        return [outline]
    for share in _SHARES if square else (1.0,):
        pieces = _parted(outline, slots, origin, (square or _WITHOUT_SQUARES) * share, largest)
        if pieces:
            return pieces
    return [outline]


def _parted(
    outline: Polygon, slots: list[Polygon], origin: np.ndarray, step: float, largest: tuple[float, float]
) -> list[Polygon]:
    """Return the fewest pieces that fit, parted along lines a step apart, or none where no lines do."""
    x0, y0, x1, y1 = outline.bounds
    free = [
        _free_lines(*ends, float(origin[axis]), step, slots, axis) for axis, ends in enumerate(((x0, x1), (y0, y1)))
    ]
    for cuts in range(2, _MOST_PIECES + 1):
        for columns in range(cuts, 0, -1):
            if cuts % columns:
                continue
            for choose in (_even_lines, _far_lines):
                xs = choose(free[0], (x0, x1), columns, largest)
                ys = choose(free[1], (y0, y1), cuts // columns, largest)
                if xs is None or ys is None:
                    continue
                pieces = _cells(outline, [x0 - 1, *xs, x1 + 1], [y0 - 1, *ys, y1 + 1])
                if pieces and all(_fits(_size(piece), largest) for piece in pieces):
                    return pieces
    return []


def _cells(outline: Polygon, xs: Sequence[float], ys: Sequence[float]) -> list[Polygon]:
    """Return what lies of an outline between lines across x and y."""
    return [
        orient(piece)
        for a, b in pairwise(xs)
        for c, d in pairwise(ys)
        for piece in get_parts(outline.intersection(box(a, c, b, d)))
        if isinstance(piece, Polygon) and not piece.is_empty
    ]


def _free_lines(low: float, high: float, origin: float, step: float, slots: list[Polygon], axis: int) -> list[float]:
    """Return the lines a step apart between low and high that no slot lies on."""
    first, last = math.ceil((low - origin) / step), math.floor((high - origin) / step)
    lines = (origin + k * step for k in range(first, last + 1))
    return [
        at
        for at in lines
        if low < at < high and not any(s.bounds[axis] - SNAP < at < s.bounds[axis + 2] + SNAP for s in slots)
    ]


def _even_lines(
    free: list[float], ends: tuple[float, float], count: int, largest: tuple[float, float]
) -> list[float] | None:
    """Return the free lines nearest to an even division into so many stretches, or None where there are too few."""
    lines: list[float] = []
    for k in range(1, count):
        wanted = ends[0] + (ends[1] - ends[0]) * k / count
        ahead = [at for at in free if not lines or at > lines[-1]]
        if not ahead:
            return None
        lines.append(min(ahead, key=lambda at: abs(at - wanted)))
    return lines


def _far_lines(
    free: list[float], ends: tuple[float, float], count: int, largest: tuple[float, float]
) -> list[float] | None:
    """Return free lines as far apart as the longer side of a sheet lets them be, or None where that takes more."""
    lines: list[float] = []
    for _ in range(1, count):
        last = lines[-1] if lines else ends[0]
        ahead = [at for at in free if last < at <= last + max(largest)]
        if not ahead:
            return None
        lines.append(ahead[-1])
    return lines


def _size(shape: Polygon) -> tuple[float, float]:
    x0, y0, x1, y1 = shape.bounds
    return x1 - x0, y1 - y0


def _fits(size: tuple[float, float], largest: tuple[float, float]) -> bool:
    return min(size) <= min(largest) + LENGTH and max(size) <= max(largest) + LENGTH


def _floor_part(
    name: str, piece: Polygon, slots: list[Polygon], grid: tuple[np.ndarray, ...], level: float, stock: Stock
) -> Part:
    low = np.array(piece.bounds[:2])
    ring = clean_ring(np.array(piece.exterior.coords)[:-1]) - low
    holes = [frozen((np.array(orient(s).exterior.coords)[:-1] - low)[::-1]) for s in slots if piece.contains(s)]
    inner = piece.buffer(-SNAP)
    lines = [
        np.array(clear.coords) - low
        for line in grid
        for run in _runs(_off_slots(LineString(line), slots).intersection(piece))
        for clear in _off_edges(run, inner)
    ]
    return Part(
        id=name,
        label=f"Floor {name[1:]}",
        kind=PartKind.FLOOR,
        stock=stock.name,
        thickness=stock.thickness,
        face_up=FaceUp.ROOM,
        board_side=-1,
        outline=Polygon(ring, holes),
        panels=(
            Panel(
                facet=-1,
                faces=(),
                ring=frozen(ring),
                holes=tuple(holes),
                corners=np.zeros((0, 2)),
                corner_points=np.zeros((0, 3)),
                stands=Pose.identity().moved_to((*low, level)),
            ),
        ),
        engrave=tuple(frozen(line) for line in lines),
        stage=2,
    )


def _loose_tab(tab: Tab) -> Finding:
    middle = place(tab.tab.mean(axis=0))
    return Finding(
        Severity.ERROR,
        "tab-without-slot",
        Sentence.of(
            f"A tab of {tab.part} ",
            PointRef(middle),
            " meets no slot, since the floor is parted or ends there; move the wall or its break by half a square, or "
            "leave the floor out.",
        ),
        Location(part=tab.part, point=middle),
    )
