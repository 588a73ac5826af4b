"""Standing drawings: boards as they stand in the model, drawn as a parallel projection.

A board is a prism: its panel, from the reference face through its thickness. A lattice is a row of
narrow prisms round the arc of its bend. Faces that look away are left out; the others are painted
from the back to the front. One face goes before another when it lies wholly behind the other one's
plane, which is exact for boards that do not cross.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from shapely import STRtree

from ..paint.paint import OF_BOARD, Paint
from ..part import Panel, Part, PartKind, PlacedLattice, Tab
from ..sheet.fills import STANDING_FILLS, STROKE
from ..show.coats import COATED, coat_of_strip, coated_marks, coats_of
from .markup import text

__all__ = ["Arrow", "bend_faces", "draw_standing", "extent"]

#: Fill of boards that stand there already.
_RESTING = "#f4f3f0"
_SLOT = "#5b5f58"

#: Share of full light on faces that look up, toward the right, and elsewhere.
_LIGHT_UP, _LIGHT_RIGHT, _LIGHT_LEFT = 1.0, 0.93, 0.8

#: Pieces that the arc of a bend is drawn with.
_STRIPS = 6

#: Lines of finishes: their colour, of char on paper that is not to look black, and width, mm of the model.
_CHAR, _FINE = "#857763", 0.3

#: Widest and highest drawing on a printed page, and height of names there, mm.
_PAGE = (180.0, 88.0)
_LETTER = 3.4

#: A name needs a circle of at least this radius, in heights of its letters.
_ROOM = 0.35

#: A side of an outline shorter than this is one of a curve, mm.
_SHORT = 3.0

#: Faces nearer to a plane than this lie in it for the painter, mm: thinner than any drawn line.
_TOUCH = 0.05


@dataclass(frozen=True, slots=True)
class Arrow:
    """A movement of the maker's hand: from ``start`` by ``move``, both (x, y, z) in model mm."""

    start: tuple[float, float, float]
    move: tuple[float, float, float]


@dataclass(frozen=True, slots=True, eq=False)
class _Face:
    """One flat face: outline and holes in the model, the way it looks, and lines drawn on it.

    finish: lines with their colour; coats: rings with their fill.
    """

    rings: tuple[np.ndarray, ...]
    normal: np.ndarray
    fill: str
    lines: tuple[np.ndarray, ...] = ()
    patches: tuple[np.ndarray, ...] = ()
    finish: tuple[tuple[str, np.ndarray], ...] = ()
    coats: tuple[tuple[str, tuple[np.ndarray, ...]], ...] = ()
    stroke: str = STROKE


@dataclass(frozen=True, slots=True)
class _View:
    """Where one looks from: unit vectors to the right, up, and toward the eye."""

    right: np.ndarray = field(repr=False)
    up: np.ndarray = field(repr=False)
    eye: np.ndarray = field(repr=False)

    def flatten(self, points: np.ndarray) -> np.ndarray:
        """Return drawing coordinates, y down, of model points (k, 3)."""
        return np.asarray(points) @ np.column_stack([self.right, -self.up])


def _view(azimuth_deg: float, height_deg: float) -> _View:
    azimuth, height = np.radians([azimuth_deg, height_deg])
    eye = np.array([np.cos(height) * np.sin(azimuth), -np.cos(height) * np.cos(azimuth), np.sin(height)])
    right = np.array([np.cos(azimuth), np.sin(azimuth), 0.0])
    return _View(right, np.cross(eye, right), eye)


def draw_standing(
    parts: Iterable[Part],
    *,
    shifts: Mapping[str, Sequence[float]] | None = None,
    accent: Iterable[str] | None = None,
    tabs: Iterable[Tab] = (),
    arrows: Iterable[Arrow] = (),
    names: Mapping[str, str] | None = None,
    title: str = "",
    finishes: bool = False,
    paint: Paint | None = None,
    azimuth_deg: float = 28.0,
    height_deg: float = 30.0,
) -> str:
    """Return the parts as they stand, as an ``<svg>`` element whose user units are mm.

    shifts: part id to (x, y, z) mm by which it is moved out of its place. accent: ids drawn in
    full colour, the others pale; all in colour where None. tabs: their slots are drawn on floors
    that are shown, the tabs below walls that are shown lifted. names: part id to what is written on it, on
    the face that shows most; the same words stand once, where they have most room. finishes: whether their lines are
    drawn too; paint: and in which colours, None for none. Parts without panels are left out.
    """
    shown = sorted(parts, key=lambda part: part.id)
    shifts = shifts or {}
    coloured = {part.id for part in shown} if accent is None else set(accent)
    tabs = tuple(tabs)
    view = _view(azimuth_deg, height_deg)
    faces: list[_Face] = []
    spans: dict[str, tuple[int, int]] = {}
    for part in shown:
        start = len(faces)
        shift = np.asarray(shifts.get(part.id, (0.0, 0.0, 0.0)), dtype=float)
        bare = paint.bare if paint is not None and part.kind in OF_BOARD else ""
        colour = bytes.fromhex((bare or STANDING_FILLS[part.kind] if part.id in coloured else _RESTING)[1:])
        slots = [tab.slot for tab in tabs if tab.floor == part.id]
        faces += _part_faces(part, shift, colour, slots, finishes=finishes, paint=paint)
        if shift[2] > 0:
            depth = {floor.id: floor.thickness for floor in shown if floor.kind is PartKind.FLOOR}
            for tab in tabs:
                if tab.part == part.id and tab.floor in depth:
                    drop = np.array([0.0, 0.0, -depth[tab.floor]])
                    faces += _box(np.asarray(tab.tab) + shift, np.asarray(tab.tab) + shift + drop, colour)
        spans[part.id] = (start, len(faces))
    seen = [face.normal @ view.eye > 1e-6 for face in faces]
    spans = {name: (sum(seen[:start]), sum(seen[:end])) for name, (start, end) in spans.items()}
    faces = [face for face, looks in zip(faces, seen, strict=True) if looks]
    flat = [[view.flatten(ring) for ring in face.rings] for face in faces]
    order = _back_to_front(faces, flat, view)
    body = [_draw(faces[i], flat[i], view) for i in order]
    marks = [_arrow(arrow, view) for arrow in arrows]
    reach = [rings[0] for rings in flat] + [points for points, _ in marks]
    corners = np.vstack(reach) if reach else np.zeros((1, 2))
    low, high = corners.min(axis=0) - 3.0, corners.max(axis=0) + 3.0
    width, height = high - low
    size = _LETTER / min(_PAGE[0] / width, _PAGE[1] / height)
    rank = {face: place for place, face in enumerate(order)}
    places: dict[str, tuple[float, float, float]] = {}
    areas = [shapely.make_valid(shapely.Polygon(rings[0], rings[1:])) for rings in flat]
    near = shapely.STRtree(areas)
    for name, words in (names or {}).items():
        if name in spans and (found := _bare_place(size, *spans[name], areas, near, rank)) is not None:
            places[words] = max(found, places.get(words, found))
    body += [
        f'<text class="id" x="{x:.1f}" y="{y:.1f}" dy="0.35em" font-size="{size:.1f}">{text(words)}</text>'
        for words, (_, x, y) in places.items()
    ]
    return (
        f'<svg class="standing" role="img" viewBox="{low[0]:.1f} {low[1]:.1f} {width:.1f} {height:.1f}"'
        f' style="aspect-ratio:{width:.1f}/{height:.1f}">'
        f"<title>{text(title)}</title>" + "".join(body) + "".join(drawn for _, drawn in marks) + "</svg>"
    )


def _bare_place(
    size: float,
    start: int,
    end: int,
    areas: Sequence[shapely.Geometry],
    near: shapely.STRtree,
    rank: Mapping[int, int],
) -> tuple[float, float, float] | None:
    """Return (radius, x, y) of the roomiest bare place on the faces from start to end, None where all are covered.

    areas: of all faces as drawn, ``near`` the tree over them; rank: what is drawn later covers what came before.
    """
    best: tuple[float, float, float] | None = None
    for face in range(start, end):
        over = [areas[k] for k in sorted(near.query(areas[face]).tolist()) if rank[k] > rank[face]]
        bare = areas[face].difference(shapely.union_all(over))
        if bare.is_empty or bare.area < size**2:
            continue
        circle = shapely.maximum_inscribed_circle(bare, tolerance=size / 4)
        if circle.length < _ROOM * size:
            continue
        if best is None or circle.length > best[0]:
            best = (float(circle.length), *circle.coords[0][:2])
    return best


def extent(parts: Iterable[Part]) -> np.ndarray | None:
    """Return the lowest and highest corner, (2, 3) model mm, of the panels as they stand, thickness left out.

    None where no part has a panel.
    """
    points = [panel.stands.apply(panel.ring) for part in parts for panel in part.panels]
    if not points:
        return None
    return np.array([np.vstack(points).min(axis=0), np.vstack(points).max(axis=0)])


def _finish_lines(part: Part, panel: Panel, high: float, paint: Paint | None) -> tuple[tuple[str, np.ndarray], ...]:
    """Return the lines of finishes on a panel as it stands, (k, 3) mm each, with the colours that they show."""
    board = shapely.make_valid(shapely.Polygon(panel.ring, panel.holes))
    shapely.prepare(board)
    drawn = [line for dressing in part.dressings for line in dressing.lines]
    middles = np.array([line.mean(axis=0) for line in drawn])
    kept = np.flatnonzero(shapely.contains_xy(board, middles)).tolist()
    if paint is None or not part.colour_fields:
        return tuple((_CHAR, panel.stands.apply(drawn[k], high)) for k in kept)
    inks = {COATED + 2 * k + 1: paint.line_on(*coat) for k, coat in enumerate(coats_of(part))}
    kinds = coated_marks(part, middles).tolist()
    return tuple((inks.get(kinds[k], _CHAR), panel.stands.apply(drawn[k], high)) for k in kept)


def _part_faces(
    part: Part,
    shift: np.ndarray,
    colour: Sequence[int],
    slots: list[np.ndarray],
    *,
    finishes: bool,
    paint: Paint | None,
) -> list[_Face]:
    low, high = min(0.0, part.board_side * part.thickness), max(0.0, part.board_side * part.thickness)
    faces = []
    for panel in part.panels:
        normal = panel.stands.z
        rings = (panel.ring, *panel.holes)
        tops = tuple(panel.stands.apply(ring, high) + shift for ring in rings)
        bottoms = tuple(panel.stands.apply(ring, low) + shift for ring in rings)
        lines: dict[float, tuple[np.ndarray, ...]] = {}
        patches: dict[float, tuple[np.ndarray, ...]] = {}
        finish: dict[float, tuple[tuple[str, np.ndarray], ...]] = {}
        if part.kind is PartKind.FLOOR:
            upper = high if normal[2] > 0 else low
            lines[upper] = tuple(panel.stands.apply(line, upper) + shift for line in part.engrave)
            patches[upper] = tuple(np.asarray(slot, dtype=float) + shift for slot in slots)
        if finishes and part.dressings:
            finish[high] = tuple((ink, line + shift) for ink, line in _finish_lines(part, panel, high, paint))
        for height, turned, looks in ((high, tops, normal), (low, bottoms, -normal)):
            fill = _lit(colour, looks)
            coats = _coats(part, panel, height, shift, looks, paint, up=height == high)
            face = _Face(turned, looks, fill, lines.get(height, ()), patches.get(height, ()), finish.get(height, ()))
            faces.append(replace(face, coats=coats))
        for top, bottom in zip(tops, bottoms, strict=True):
            sides = np.stack([bottom, np.roll(bottom, -1, axis=0), np.roll(top, -1, axis=0), top], axis=1)
            outward = np.cross(sides[:, 2] - sides[:, 3], normal)
            sizes = np.linalg.norm(outward, axis=1)
            for side, looks, size in zip(sides, outward, sizes.tolist(), strict=True):
                if size > _TOUCH:
                    fill = _lit(colour, looks / size)
                    # Sides of a rounded outline run into one another; their seams would blacken it.
                    seam = fill if size < _SHORT else STROKE
                    faces.append(_Face((side,), looks / size, fill, stroke=seam))
    return faces + bend_faces(part, paint, colour, shift)


def bend_faces(part: Part, paint: Paint | None, colour: Sequence[int], shift: np.ndarray | float = 0.0) -> list[_Face]:
    """Return the faces of all bends of a part, four for each of their narrow blocks, the two large ones first.

    colour: where no paint is, red, green and blue to 255. shift: what the part is moved by, (3,) mm.
    """
    low, high = min(0.0, part.board_side * part.thickness), max(0.0, part.board_side * part.thickness)
    faces = []
    for placed in part.lattices:
        up, down = (_coat_of_bend(part, placed, paint, up=up) or colour for up in (True, False))
        faces += _bend_faces(part, placed, low, high, np.zeros(3) + shift, up, down)
    return faces


def _coat_of_bend(part: Part, placed: PlacedLattice, paint: Paint | None, *, up: bool) -> Sequence[int]:
    """Return the colour on one face of a lattice, empty where it has none."""
    coat = coat_of_strip(part, placed, up=up)
    return bytes.fromhex(paint.colour_of(*coat)[1:]) if paint is not None and coat is not None else b""


def _coats(
    part: Part, panel: Panel, height: float, shift: np.ndarray, looks: np.ndarray, paint: Paint | None, *, up: bool
) -> tuple[tuple[str, tuple[np.ndarray, ...]], ...]:
    """Return the colours on one face of a panel as it stands: fill as it is lit, and rings of (k, 3) mm."""
    if paint is None:
        return ()
    board = shapely.make_valid(shapely.Polygon(panel.ring, panel.holes))
    found = []
    for coat in part.colour_fields:
        colour = paint.colour_of(coat.finish, coat.role)
        if coat.up is up and not coat.thin and colour:
            area = shapely.intersection(shapely.get_parts(coat.area), board)
            rings = shapely.get_rings([part for part in shapely.get_parts(area) if part.geom_type == "Polygon"])
            if len(rings):
                placed = [panel.stands.apply(shapely.get_coordinates(ring)[:-1], height) + shift for ring in rings]
                found.append((_lit(bytes.fromhex(colour[1:]), looks), tuple(placed)))
    return tuple(found)


def _bend_faces(
    part: Part,
    placed: PlacedLattice,
    low: float,
    high: float,
    shift: np.ndarray,
    up: Sequence[int],
    down: Sequence[int],
) -> list[_Face]:
    """Round the arc from the parent panel's edge to the child panel's edge, in narrow strips.

    up, down: colours of the face that lies up on the laser, and of the other one.
    """
    first, last = placed.zone[:2], placed.zone[:1:-1]
    parent, child = part.panels[placed.parent].stands, part.panels[placed.child].stands
    leaves, arrives = (pose.turn[:, :2] @ placed.across for pose in (parent, child))
    inner = _arc(parent.apply(first, low), child.apply(last, low), leaves, arrives) + shift
    outer = _arc(parent.apply(first, high), child.apply(last, high), leaves, arrives) + shift
    darker, inside = (tuple(int(0.94 * channel) for channel in colour) for colour in (up, down))
    seams = ["#" + "".join(f"{int(0.6 * channel):02x}" for channel in colour) for colour in (up, down)]
    faces: list[_Face] = []
    for k in range(_STRIPS):
        top = np.array([outer[k, 0], outer[k, 1], outer[k + 1, 1], outer[k + 1, 0]])
        bottom = np.array([inner[k, 0], inner[k, 1], inner[k + 1, 1], inner[k + 1, 0]])
        block = _box(top, bottom, darker, sides=(1, 3), stroke=seams[0])
        block[1] = replace(block[1], fill=_lit(inside, block[1].normal), stroke=seams[1])
        faces += block
    return faces


def _arc(start: np.ndarray, end: np.ndarray, leaves: np.ndarray, arrives: np.ndarray) -> np.ndarray:
    """Return (strips + 1, 2, 3) points on the arc that leaves ``start`` and arrives at ``end``, (2, 3) each."""
    angle = float(np.arccos(np.clip(leaves @ arrives, -1.0, 1.0)))
    steps = np.linspace(0.0, 1.0, _STRIPS + 1)[:, None, None]
    inward = arrives - (arrives @ leaves) * leaves
    size = float(np.linalg.norm(inward))
    if size < 1e-9:
        return start + steps * (end - start)
    radius = np.linalg.norm(end - start, axis=1) / (2 * np.sin(angle / 2))
    along = np.sin(angle * steps) * leaves + (1 - np.cos(angle * steps)) * (inward / size)
    return start + radius[None, :, None] * along


def _box(
    top: np.ndarray,
    bottom: np.ndarray,
    colour: Sequence[int],
    *,
    sides: Iterable[int] = (0, 1, 2, 3),
    stroke: str = STROKE,
) -> list[_Face]:
    """Return the faces of a block between two four-cornered faces, (4, 3) each, in the same order."""
    kept = [0, 1, *(side + 2 for side in sides)]
    ahead = np.roll(np.arange(4), -1)
    rings = np.array([top, bottom, *np.stack([top, top[ahead], bottom[ahead], bottom], axis=1)])[kept]
    normals = np.cross(rings[:, 2] - rings[:, 0], rings[:, 3] - rings[:, 1])
    sizes = np.linalg.norm(normals, axis=1)
    outside = np.einsum("ij,ij->i", normals, rings.mean(axis=1) - (top.mean(axis=0) + bottom.mean(axis=0)) / 2) > 0
    normals = normals / np.where(outside, sizes, -sizes)[:, None]
    return [
        _Face((ring,), looks, _lit(colour, looks), stroke=stroke) for ring, looks in zip(rings, normals, strict=True)
    ]


def _lit(colour: Sequence[int], normal: np.ndarray) -> str:
    up = max(0.0, float(normal[2]))
    side = _LIGHT_RIGHT if normal[0] - 0.3 * normal[1] > 0.5 else _LIGHT_LEFT + 0.12 * max(0.0, -float(normal[1]))
    light = up * _LIGHT_UP + (1 - up) * side
    return "#" + "".join(f"{min(255, round(part * light)):02x}" for part in colour)


def _back_to_front(faces: Sequence[_Face], flat: Sequence[Sequence[np.ndarray]], view: _View) -> list[int]:
    """Return the order of painting. Where planes give no answer or go round in a ring, depth decides."""
    if not faces:
        return []
    points = np.vstack([face.rings[0] for face in faces])
    starts = np.cumsum([0] + [len(face.rings[0]) for face in faces[:-1]])
    normals = np.array([face.normal for face in faces])
    offsets = np.array([face.normal @ face.rings[0][0] for face in faces])
    above = points @ normals.T - offsets
    behind = np.maximum.reduceat(above, starts, axis=0) <= _TOUCH
    ahead = np.minimum.reduceat(above, starts, axis=0) >= -_TOUCH
    goes_before = behind | ahead.T
    counts = [len(rings[0]) for rings in flat]
    outlines = shapely.linearrings(
        np.vstack([rings[0] for rings in flat]), indices=np.repeat(np.arange(len(flat)), counts)
    )
    shapes = shapely.polygons(outlines)
    first, second = STRtree(shapes).query(shapes, predicate="intersects")
    firm = goes_before[first, second] & ~goes_before[second, first]
    after: list[list[int]] = [[] for _ in faces]
    waiting = [0] * len(faces)
    for i, j in zip(first[firm].tolist(), second[firm].tolist(), strict=True):
        after[i].append(j)
        waiting[j] += 1
    depth = [float(face.rings[0].mean(axis=0) @ view.eye) for face in faces]
    ready = [(depth[i], i) for i in range(len(faces)) if waiting[i] == 0]
    heapq.heapify(ready)
    by_depth = sorted(range(len(faces)), key=lambda i: (depth[i], i))
    painted = [False] * len(faces)
    order: list[int] = []
    while len(order) < len(faces):
        i = heapq.heappop(ready)[1] if ready else next(k for k in by_depth if not painted[k])
        if painted[i]:
            continue
        painted[i] = True
        order.append(i)
        for j in after[i]:
            waiting[j] -= 1
            if waiting[j] == 0 and not painted[j]:
                heapq.heappush(ready, (depth[j], j))
    return order


def _path(points: np.ndarray, *, closed: bool = True) -> str:
    return "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points) + ("Z" if closed else "")


def _draw(face: _Face, rings: Sequence[np.ndarray], view: _View) -> str:
    outline = "".join(_path(ring) for ring in rings)
    drawn = f'<path d="{outline}" fill="{face.fill}" fill-rule="evenodd" stroke="{face.stroke}"/>'
    for fill, coat in face.coats:
        painted = "".join(_path(view.flatten(ring)) for ring in coat)
        drawn += f'<path d="{painted}" fill="{fill}" fill-rule="evenodd" stroke="none"/>'
    if face.lines:
        lines = "".join(_path(view.flatten(line), closed=False) for line in face.lines)
        drawn += f'<path d="{lines}" fill="none" stroke="#a9b09f"/>'
    for ink in dict.fromkeys(ink for ink, _ in face.finish):
        lines = "".join(_path(view.flatten(line), closed=False) for colour, line in face.finish if colour == ink)
        drawn += f'<path d="{lines}" class="fine" fill="none" stroke="{ink}" stroke-width="{_FINE}"/>'
    if face.patches:
        patches = "".join(_path(view.flatten(patch)) for patch in face.patches)
        drawn += f'<path d="{patches}" fill="{_SLOT}" stroke="none"/>'
    return drawn


def _arrow(arrow: Arrow, view: _View) -> tuple[np.ndarray, str]:
    """Return the points that the drawing must hold, and the arrow itself."""
    start, end = view.flatten(np.array([arrow.start, np.add(arrow.start, arrow.move)]))
    size = float(np.linalg.norm(end - start))
    if size < _TOUCH:
        return np.array([start]), ""
    ahead = (end - start) / size
    across = np.array([-ahead[1], ahead[0]])
    head = min(6.0, size / 2)
    tip = np.array([end, end - ahead * head + across * head * 0.5, end - ahead * head - across * head * 0.5])
    shaft = np.array([start, end - ahead * head])
    return np.vstack([shaft, tip]), (
        f'<path class="hand" d="{_path(shaft, closed=False)}"/><path class="tip" d="{_path(tip)}"/>'
    )
