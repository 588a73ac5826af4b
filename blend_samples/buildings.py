"""The sample buildings as plain points, faces and marked edges, in millimetres: houses of a canal.

Nothing here knows Blender. Walls are laid out as runs of upright strips between columns, with
openings as absent faces; neighbouring strips share their points, so that no face side lies against two.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

FLEX, BREAK, CLOSURE = 1, 2, 3

SQUARE = 25.4
WALL_HEIGHT = 62.0

#: What openings snap to.
_HALF = SQUARE / 2

Point = tuple[float, float, float]


@dataclass
class Shape:
    """A mesh under construction: points without repeats within one surface, faces, and edge marks.

    finish: what the next faces show; finishes: what each face does.
    """

    finish: str = ""
    points: list[Point] = field(default_factory=list)
    faces: list[tuple[int, ...]] = field(default_factory=list)
    finishes: list[str] = field(default_factory=list)
    marks: dict[tuple[int, int], int] = field(default_factory=dict)
    _known: dict[Point, int] = field(default_factory=dict)

    def point(self, x: float, y: float, z: float) -> int:
        """Return the index of a point, made when it is new."""
        key = (round(x, 6), round(y, 6), round(z, 6))
        if key not in self._known:
            self._known[key] = len(self.points)
            self.points.append(key)
        return self._known[key]

    def face(self, corners: Iterable[Point]) -> None:
        """Add a face by its corners, counter-clockwise seen from its front."""
        self.faces.append(tuple(self.point(*corner) for corner in corners))
        self.finishes.append(self.finish)

    def mark(self, corners: Sequence[Point], role: int) -> None:
        """Mark the edges along a row of points."""
        row = [self.point(*corner) for corner in corners]
        for pair in pairwise(row):
            self.marks[min(pair), max(pair)] = role

    def start_surface(self) -> None:
        """Begin a surface that shares no points with what came before."""
        self._known.clear()


@dataclass(frozen=True)
class Opening:
    """A door or window in a wall: (from, to) along the wall and in height, mm."""

    along: tuple[float, float]
    height: tuple[float, float]


@dataclass(frozen=True)
class Wall:
    """An upright wall from one plan point to the next, seen from outside left to right."""

    start: tuple[float, float]
    end: tuple[float, float]
    openings: tuple[Opening, ...] = ()
    breaks: tuple[float, ...] = ()
    peak: float = 0.0

    def at(self, along: float, height: float) -> Point:
        """Return the model point ``along`` mm from the wall's start."""
        length = self.length
        share = along / length
        return (
            self.start[0] + (self.end[0] - self.start[0]) * share,
            self.start[1] + (self.end[1] - self.start[1]) * share,
            height,
        )

    def cut_by(self, fitting: Fitting) -> Opening | None:
        """Return what a fitting takes out of the wall; None where it stands in another one."""
        run = [end - start for start, end in zip(self.start, self.end, strict=True)]
        away = [at - start for start, at in zip(self.start, fitting.foot, strict=True)]
        along = (run[0] * away[0] + run[1] * away[1]) / self.length
        beside = abs(run[0] * away[1] - run[1] * away[0]) / self.length
        if beside > 1e-6 or not 0.0 < along < self.length:
            return None
        half = fitting.width / 2
        return Opening((along - half, along + half), (fitting.sill, fitting.sill + fitting.height))

    @property
    def length(self) -> float:
        """Length in plan, mm."""
        return ((self.end[0] - self.start[0]) ** 2 + (self.end[1] - self.start[1]) ** 2) ** 0.5


def ring_of_walls(
    shape: Shape, walls: Sequence[Wall], height: float = WALL_HEIGHT, cut: Sequence[Fitting] = ()
) -> None:
    """Add a closed ring of walls whose corners all flex.

    Every wall is cut at the heights of all openings of the ring, so that neighbours meet point to point. cut: fittings
    that are left out of the faces, each in the wall that it stands in.
    """
    walls = [replace(wall, openings=(*wall.openings, *(o for o in map(wall.cut_by, cut) if o))) for wall in walls]
    levels = sorted({0.0, height, *(z for wall in walls for opening in wall.openings for z in opening.height)})
    for wall in walls:
        columns = sorted({0.0, wall.length, *wall.breaks, *(x for opening in wall.openings for x in opening.along)})
        for left, right in pairwise(columns):
            for low, high in pairwise(levels):
                if any(
                    opening.along[0] <= left < opening.along[1] and opening.height[0] <= low < opening.height[1]
                    for opening in wall.openings
                ):
                    continue
                shape.face([wall.at(left, low), wall.at(right, low), wall.at(right, high), wall.at(left, high)])
        if wall.peak > height:
            shape.face([*(wall.at(x, height) for x in columns), wall.at(wall.length / 2, wall.peak)])
        for x in wall.breaks:
            shape.mark([wall.at(x, z) for z in levels], BREAK)
        shape.mark([wall.at(0.0, z) for z in levels], FLEX)


def gable_roof(shape: Shape, length: float, width: float, *, eaves: float, pitch: float, overhang: float) -> None:
    """Add a gable roof over a rectangle from the origin, ridge along x, as a surface of its own.

    Its underside passes through the walls' inner top edges at height ``eaves``; ``pitch`` is rise over run.
    """
    shape.start_surface()
    ridge = eaves + pitch * width / 2
    foot = eaves - pitch * overhang
    x0, x1 = -overhang, length + overhang
    shape.face([(x0, -overhang, foot), (x1, -overhang, foot), (x1, width / 2, ridge), (x0, width / 2, ridge)])
    shape.face(
        [(x1, width + overhang, foot), (x0, width + overhang, foot), (x0, width / 2, ridge), (x1, width / 2, ridge)]
    )
    shape.mark([(x0, width / 2, ridge), (x1, width / 2, ridge)], FLEX)


def hip_roof(shape: Shape, length: float, width: float, *, eaves: float, pitch: float, overhang: float) -> None:
    """Add a hip roof over a rectangle longer than wide from the origin, as a surface of its own.

    The ridge and two hips that lie across from each other flex, the other two hips are closures, so
    that it unfolds in one piece.
    """
    shape.start_surface()
    foot, ridge = eaves - pitch * overhang, eaves + pitch * width / 2
    x0, x1, y0, y1 = -overhang, length + overhang, -overhang, width + overhang
    low = [(x0, y0, foot), (x1, y0, foot), (x1, y1, foot), (x0, y1, foot)]
    left, right = (width / 2, width / 2, ridge), (length - width / 2, width / 2, ridge)
    shape.face([low[0], low[1], right, left])
    shape.face([low[1], low[2], right])
    shape.face([low[2], low[3], left, right])
    shape.face([low[3], low[0], left])
    shape.mark([left, right], FLEX)
    for corner, top, role in ((0, left, CLOSURE), (1, right, FLEX), (2, right, CLOSURE), (3, left, FLEX)):
        shape.mark([low[corner], top], role)


def grain_store(cut: Sequence[Fitting] = ()) -> Shape:
    """A grain store of 9 x 6 squares: gables on the short sides, one with a slit.

    The loading door left of centre and the hatch are things of their own.
    """
    length, width, pitch = 9 * SQUARE, 6 * SQUARE, 8 / 12
    peak = WALL_HEIGHT + pitch * width / 2
    corners = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]
    slit = Opening((58.0, 70.0), (22.0, 45.0))
    shape = Shape(finish="tarred boards")
    ring_of_walls(
        shape,
        [
            Wall(corners[0], corners[1], (), breaks=(5 * SQUARE,)),
            Wall(corners[1], corners[2], (slit,), peak=peak),
            Wall(corners[2], corners[3], (), breaks=(4.5 * SQUARE,)),
            Wall(corners[3], corners[0], (), peak=peak),
        ],
        cut=cut,
    )
    shape.finish = "slate"
    gable_roof(shape, length, width, eaves=WALL_HEIGHT, pitch=pitch, overhang=6.0)
    return shape


def toll_house(cut: Sequence[Fitting] = ()) -> Shape:
    """A toll house on an L-plan of 8 x 7 squares, open to the sky; its door and windows are things of their own."""
    s = SQUARE
    corners = [(0.0, 0.0), (8 * s, 0.0), (8 * s, 3 * s), (4 * s, 3 * s), (4 * s, 7 * s), (0.0, 7 * s)]
    breaks = {0: (4 * s,), 3: (2 * s,), 5: (3.5 * s,)}
    walls = [Wall(corner, corners[(k + 1) % 6], (), breaks.get(k, ())) for k, corner in enumerate(corners)]
    shape = Shape(finish="timber frame")
    ring_of_walls(shape, walls, cut=cut)
    return shape


def lock_keepers_house(cut: Sequence[Fitting] = ()) -> Shape:
    """A lock-keeper's house of 11 x 7 squares under a hip roof; its door and windows are things of their own."""
    length, width = 11 * SQUARE, 7 * SQUARE
    corners = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)]
    shape = Shape(finish="brick")
    ring_of_walls(
        shape,
        [
            Wall(corners[0], corners[1], (), breaks=(length / 2,)),
            Wall(corners[1], corners[2]),
            Wall(corners[2], corners[3], (), breaks=(length / 2,)),
            Wall(corners[3], corners[0]),
        ],
        cut=cut,
    )
    shape.finish = "slate"
    hip_roof(shape, length, width, eaves=WALL_HEIGHT, pitch=8 / 12, overhang=6.0)
    return shape


@dataclass(frozen=True)
class Fitting:
    """A door or window that stands in a wall: kind, middle of its foot in plan, and what differs from its kind's sizes.

    leaf: "NONE", or the jamb that it hangs at seen from outside, "LEFT" or "RIGHT". filling, trim: as the menus of an
    opening name them.
    """

    name: str
    kind: str
    foot: tuple[float, float]
    width: float
    height: float
    sill: float = 0.0
    leaf: str = "NONE"
    filling: str = "NONE"
    trim: str = "BUILDING"


@dataclass(frozen=True)
class Piece:
    """A box of furniture: lower corner in squares, size in mm."""

    name: str
    corner: tuple[float, float]
    size: tuple[float, float, float]


@dataclass(frozen=True)
class Sign:
    """A signboard that hangs square to a wall: its letters, where it hangs in plan, and how high its middle is, mm."""

    text: str
    place: tuple[float, float]
    above: float


@dataclass(frozen=True)
class Dress:
    """How a finish is drawn: its pattern as the menu of finishes names it, and how it differs from the menu's sizes."""

    pattern: str
    size: float = 1.0


#: What is drawn for the finishes that faces name, and for floors.
DRESSES = {
    "tarred boards": Dress("UPRIGHT_BOARDS"),
    "timber frame": Dress("TIMBER_FRAME"),
    "brick": Dress("FLEMISH_BOND"),
    "slate": Dress("SLATES"),
    "tiled floor": Dress("CHEQUER", 2.0),
    "flagged floor": Dress("FLAGSTONES"),
}


@dataclass(frozen=True)
class Sample:
    """A file: its name, the building, what stands in its walls and on its squares, and how many sit round the table.

    shape: takes the fittings that are to be cut out of its faces, none for whole walls.
    table: its length and depth, mm: small enough that players reach into the building. floor: its finish, none where
    an inlay has motifs alone; laid: how a floor of two boards is laid, "TILES" or "INLAY".
    trim: the switches of what the building gets. signs: that hang on its walls.
    """

    file: str
    name: str
    shape: Callable[..., Shape]
    fittings: tuple[Fitting, ...] = ()
    furniture: tuple[Piece, ...] = ()
    miniatures: tuple[tuple[str, float, float], ...] = ()
    seats: int = 4
    table: tuple[float, float] = (1000.0, 800.0)
    floor: str = ""
    laid: str = ""
    trim: tuple[str, ...] = ()
    signs: tuple[Sign, ...] = ()


SAMPLES = (
    Sample(
        "grain_store",
        "Grain store",
        grain_store,
        fittings=(
            Fitting("Loading door", "DOOR", (5 * _HALF, 0.0), 36.0, 45.0, leaf="LEFT", filling="BOARDS"),
            Fitting("Hatch", "HATCH", (14 * _HALF, 0.0), 22.0, 23.0, 22.0, trim="SHUTTERS"),
        ),
        trim=("frames", "sills"),
        furniture=(
            Piece("Sacks", (6.0, 1.0), (50.0, 25.0, 18.0)),
            Piece("Hoist", (7.0, 4.0), (24.0, 24.0, 40.0)),
        ),
        miniatures=(("Carter", 2.5, 1.5),),
        floor="flagged floor",
    ),
    Sample(
        "toll_house",
        "Toll house",
        toll_house,
        fittings=(
            Fitting("Door", "DOOR", (4 * _HALF, 0.0), 30.0, 45.0),
            Fitting("Toll window", "WINDOW", (12 * _HALF, 0.0), 22.0, 22.0, 20.0, filling="LATTICE"),
            Fitting("Back window", "WINDOW", (4 * _HALF, 7 * SQUARE), 24.0, 22.0, 20.0, filling="LATTICE"),
        ),
        trim=("frames", "sills", "timbers"),
        furniture=(Piece("Counter", (1.0, 2.0), (75.0, 12.0, 22.0)),),
        miniatures=(("Toll keeper", 1.5, 4.5),),
        floor="tiled floor",
        laid="TILES",
        signs=(Sign("TOLLS", (8.0 * SQUARE, 2.0 * SQUARE), 46.0),),
    ),
    Sample(
        "lock_keepers_house",
        "Lock-keeper's house",
        lock_keepers_house,
        fittings=(
            Fitting("Door", "DOOR", (3.5 * SQUARE, 0.0), 30.0, 45.0, leaf="LEFT", filling="BOARDS"),
            Fitting("Shutter", "WINDOW", (8.5 * SQUARE, 0.0), 34.0, 34.0, 16.0, leaf="RIGHT", filling="LOUVRES"),
            Fitting("Right window", "WINDOW", (11 * SQUARE, 6 * _HALF), 22.0, 22.0, 22.0, filling="BARS"),
            Fitting("Back window", "WINDOW", (17 * _HALF, 7 * SQUARE), 26.0, 22.0, 22.0, filling="BARS"),
            Fitting("Left window", "WINDOW", (0.0, 6 * _HALF), 22.0, 22.0, 22.0, filling="BARS"),
        ),
        furniture=(
            Piece("Stove", (10.0, 3.0), (22.0, 22.0, 30.0)),
            Piece("Table and bench", (4.0, 3.0), (50.0, 50.0, 16.0)),
            Piece("Cupboard", (1.0, 6.0), (50.0, 12.0, 40.0)),
        ),
        miniatures=(("Lock-keeper", 2.5, 2.5), ("Bargee", 7.5, 5.5)),
        seats=6,
        laid="INLAY",
        trim=("frames", "sills"),
        table=(1300.0, 900.0),
    ),
)
