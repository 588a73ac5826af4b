"""Standing drawings: boards as they stand in the model, drawn as a parallel projection.

Faces that look away are left out; the others are painted from the back to the front. One face goes before another when
it lies wholly behind the other one's plane, which is exact for boards that do not cross.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely import STRtree

from ..paint.paint import OF_BOARD, Paint
from ..part import Part, PartKind, Tab
from ..sheet.fills import STANDING_FILLS
from .drawn_faces import THIN, DrawnFace, Look, part_faces, tab_faces
from .markup import text

__all__ = ["Arrow", "draw_standing", "extent"]

#: Fill of boards that stand there already, of slots, and the colour of a floor's grid.
_RESTING, _SLOT, _GRID = "#f4f3f0", "#5b5f58", "#a9b09f"

#: Width of the lines of finishes, mm of the model.
_FINE = 0.3

#: Widest and highest drawing on a printed page, and height of names there, mm.
_PAGE = (180.0, 88.0)
_LETTER = 3.4

#: A name needs a circle of at least this radius, in heights of its letters.
_ROOM = 0.35

#: What stays free round a drawing, mm of the model.
_MARGIN = 3.0

#: A face that turns to the eye by less than this, as a cosine, is seen edge-on and left out.
_EDGE_ON = 1e-6

#: Longest head of an arrow, mm of the model; shorter arrows are half head.
_HEAD = 6.0


@dataclass(frozen=True, slots=True)
class Arrow:
    """A movement of the maker's hand: from ``start`` by ``move``, both (x, y, z) in model mm."""

    start: tuple[float, float, float]
    move: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class _View:
    """Where one looks from: unit vectors to the right, up, and toward the eye."""

    right: np.ndarray = field(repr=False)
    up: np.ndarray = field(repr=False)
    eye: np.ndarray = field(repr=False)

    @classmethod
    def of(cls, azimuth_deg: float, height_deg: float) -> _View:
        """Return the view from that far round to the right of the front, and that far above level."""
        azimuth, height = np.radians([azimuth_deg, height_deg])
        eye = np.array([np.cos(height) * np.sin(azimuth), -np.cos(height) * np.cos(azimuth), np.sin(height)])
        right = np.array([np.cos(azimuth), np.sin(azimuth), 0.0])
        return cls(right, np.cross(eye, right), eye)

    def flatten(self, points: np.ndarray) -> np.ndarray:
        """Return drawing coordinates, y down, of model points (k, 3)."""
        return np.asarray(points) @ np.column_stack([self.right, -self.up])

    def shows(self, face: DrawnFace) -> bool:
        """Whether a face looks toward the eye."""
        return bool(face.normal @ self.eye > _EDGE_ON)


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
    accent = None if accent is None else set(accent)
    tabs = tuple(tabs)
    view = _View.of(azimuth_deg, height_deg)
    faces: list[DrawnFace] = []
    faces_of: dict[str, range] = {}
    for part in shown:
        look = Look(
            colour=_colour(part, paint, pale=accent is not None and part.id not in accent),
            shift=np.asarray((shifts or {}).get(part.id, (0.0, 0.0, 0.0)), dtype=float),
            slots=tuple(tab.slot for tab in tabs if tab.floor == part.id),
            finishes=finishes,
            paint=paint,
        )
        start = len(faces)
        faces += filter(view.shows, [*part_faces(part, look), *_lifted_tabs(part, tabs, shown, look)])
        faces_of[part.id] = range(start, len(faces))
    flat = [[view.flatten(ring) for ring in face.rings] for face in faces]
    order = _back_to_front(faces, flat, view)
    marks = [_arrow(arrow, view) for arrow in arrows]
    left, top, width, height = _frame([*(rings[0] for rings in flat), *(points for points, _ in marks)])
    letter = _LETTER / min(_PAGE[0] / width, _PAGE[1] / height)
    named = [(faces_of[name], words) for name, words in (names or {}).items() if name in faces_of]
    body = [
        *(_draw(faces[k], flat[k], view) for k in order),
        *(_written(named, _Painting.of(flat, order), letter) if named else ()),
        *(drawn for _, drawn in marks),
    ]
    return (
        f'<svg class="standing" role="img" viewBox="{left:.1f} {top:.1f} {width:.1f} {height:.1f}"'
        f' style="aspect-ratio:{width:.1f}/{height:.1f}">'
        f"<title>{text(title)}</title>{''.join(body)}</svg>"
    )


def extent(parts: Iterable[Part]) -> np.ndarray | None:
    """Return the lowest and highest corner, (2, 3) model mm, of the panels as they stand, thickness left out.

    None where no part has a panel.
    """
    points = [panel.stands.apply(panel.ring) for part in parts for panel in part.panels]
    if not points:
        return None
    return np.array([np.vstack(points).min(axis=0), np.vstack(points).max(axis=0)])


def _colour(part: Part, paint: Paint | None, *, pale: bool) -> bytes:
    """Return the colour of a part's bare board: red, green and blue to 255."""
    bare = paint.bare if paint is not None and part.kind in OF_BOARD else ""
    return bytes.fromhex((_RESTING if pale else bare or STANDING_FILLS[part.kind])[1:])


def _lifted_tabs(part: Part, tabs: Iterable[Tab], shown: Iterable[Part], look: Look) -> Iterator[DrawnFace]:
    """Yield the faces of a part's tabs, as deep as the floors that they go into, where the part is shown lifted."""
    if look.shift[2] <= 0.0:
        return
    depth = {floor.id: floor.thickness for floor in shown if floor.kind is PartKind.FLOOR}
    for tab in tabs:
        if tab.part == part.id and tab.floor in depth:
            yield from tab_faces(tab, depth[tab.floor], look)


def _frame(drawn: Sequence[np.ndarray]) -> tuple[float, float, float, float]:
    """Return the left and upper end, width and height, mm, of a drawing of these points, (k, 2) each."""
    corners = np.vstack(drawn) if drawn else np.zeros((1, 2))
    low, high = corners.min(axis=0) - _MARGIN, corners.max(axis=0) + _MARGIN
    return (*low.tolist(), *(high - low).tolist())


@dataclass(frozen=True, slots=True)
class _Painting:
    """Faces as they are drawn: their areas with a tree over them, and when each one is painted."""

    areas: Sequence[shapely.Geometry]
    near: STRtree
    rank: Mapping[int, int]

    @classmethod
    def of(cls, flat: Sequence[Sequence[np.ndarray]], order: Sequence[int]) -> _Painting:
        """Return faces with these rings, (k, 2) mm, painted in this order."""
        areas = [shapely.make_valid(shapely.Polygon(rings[0], rings[1:])) for rings in flat]
        return cls(areas, STRtree(areas), {face: place for place, face in enumerate(order)})

    def bare(self, face: int) -> shapely.Geometry:
        """Return what of a face no later one covers."""
        over = [
            self.areas[k] for k in sorted(self.near.query(self.areas[face]).tolist()) if self.rank[k] > self.rank[face]
        ]
        return self.areas[face].difference(shapely.union_all(over))


def _written(named: Iterable[tuple[range, str]], painting: _Painting, letter: float) -> Iterator[str]:
    """Yield names as text, each where it has most room.

    named: the faces that a name may stand on, with its words; letter: height of letters, mm.
    """
    places: dict[str, tuple[float, float, float]] = {}
    for faces, words in named:
        found = _roomiest_place([painting.bare(face) for face in faces], letter)
        if found is not None:
            places[words] = max(found, places.get(words, found))
    for words, (_, x, y) in places.items():
        yield f'<text class="id" x="{x:.1f}" y="{y:.1f}" dy="0.35em" font-size="{letter:.1f}">{text(words)}</text>'


def _roomiest_place(bare: Iterable[shapely.Geometry], letter: float) -> tuple[float, float, float] | None:
    """Return (radius, x, y) of the largest circle on what is bare of some faces, None where no name finds room."""
    best: tuple[float, float, float] | None = None
    for area in bare:
        if area.is_empty or area.area < letter**2:
            continue
        circle = shapely.maximum_inscribed_circle(area, tolerance=letter / 4)
        if circle.length >= _ROOM * letter and (best is None or circle.length > best[0]):
            best = (float(circle.length), *circle.coords[0][:2])
    return best


def _back_to_front(faces: Sequence[DrawnFace], flat: Sequence[Sequence[np.ndarray]], view: _View) -> list[int]:
    """Return the order of painting. Where planes give no answer or go round in a ring, depth decides."""
    if not faces:
        return []
    points = np.vstack([face.rings[0] for face in faces])
    starts = np.cumsum([0] + [len(face.rings[0]) for face in faces[:-1]])
    normals = np.array([face.normal for face in faces])
    offsets = np.array([face.normal @ face.rings[0][0] for face in faces])
    above = points @ normals.T - offsets
    behind = np.maximum.reduceat(above, starts, axis=0) <= THIN
    ahead = np.minimum.reduceat(above, starts, axis=0) >= -THIN
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


def _draw(face: DrawnFace, rings: Sequence[np.ndarray], view: _View) -> str:
    outline = "".join(_path(ring) for ring in rings)
    drawn = f'<path d="{outline}" fill="{face.fill}" fill-rule="evenodd" stroke="{face.stroke}"/>'
    for fill, coat in face.coats:
        painted = "".join(_path(view.flatten(ring)) for ring in coat)
        drawn += f'<path d="{painted}" fill="{fill}" fill-rule="evenodd" stroke="none"/>'
    if face.lines:
        lines = "".join(_path(view.flatten(line), closed=False) for line in face.lines)
        drawn += f'<path d="{lines}" fill="none" stroke="{_GRID}"/>'
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
    if size < THIN:
        return np.array([start]), ""
    ahead = (end - start) / size
    across = np.array([-ahead[1], ahead[0]])
    head = min(_HEAD, size / 2)
    tip = np.array([end, end - ahead * head + across * head * 0.5, end - ahead * head - across * head * 0.5])
    shaft = np.array([start, end - ahead * head])
    return np.vstack([shaft, tip]), (
        f'<path class="hand" d="{_path(shaft, closed=False)}"/><path class="tip" d="{_path(tip)}"/>'
    )
