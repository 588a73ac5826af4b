"""Sight: how much of every square each player sees, exact, live while a piece is moved.

``see`` gives the visible share of every square for every seat and height; ``find_occlusion`` keeps what is
hidden by all that stands still, so that a moved piece costs only its own shadow; ``draw_sight_line`` tells where
a line from an eye to a point first meets something.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
import shapely

from ..errors import GeometryError
from ..findings import Finding, Location, Severity, place, weigh_squares
from ..tolerance import LENGTH, WELD
from .bodies import Bodies, grid_frame, make_bodies
from .coverage import coverage
from .shadows import cast_shadows
from .table_top import Blocker, Squares

__all__ = [
    "HEIGHTS",
    "NEVER_SEEN",
    "SEEN",
    "Eye",
    "FigureHeight",
    "Occlusion",
    "SightLine",
    "SightMap",
    "check_eyes",
    "check_squares_seen",
    "draw_sight_line",
    "eyes_on_squares",
    "find_occlusion",
    "see",
]

#: Heights at which squares are looked at, mm above the floor: base, chest and head of a figure of 28 to
#: 32 mm (common practice, no source).
HEIGHTS = (0.0, 20.0, 35.0)

#: Shares of a square from which on it counts as seen, and below which it counts as hardly seen (common practice,
#: no source).
SEEN, NEVER_SEEN = 0.5, 0.05


class FigureHeight(IntEnum):
    """What of a figure is as high as a square is looked at; the number is its place in ``HEIGHTS``."""

    BASE = 0
    CHEST = 1
    HEAD = 2


@dataclass(frozen=True, slots=True, eq=False)
class Eye:
    """Where someone looks from. seat: its name; point: (3,) mm in the model's frame."""

    seat: str
    point: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class SightMap:
    """Visible shares of squares.

    seats: names. heights: above the floor, mm. share: (seats, heights, rows, columns), 0 hidden .. 1 visible;
    of squares outside the room it says what would be seen of them.
    """

    seats: tuple[str, ...]
    heights: tuple[float, ...]
    squares: Squares
    share: np.ndarray

    @property
    def in_room(self) -> np.ndarray:
        """The shares of the squares of the room alone, (seats, heights, squares), row by row."""
        inside: np.ndarray = self.share[:, :, self.squares.inside]
        return inside


@dataclass(frozen=True, slots=True, eq=False)
class Occlusion:
    """What is hidden by everything that stands still.

    eyes: (s, 3) mm and hidden: (seats, heights) polygons, both in the frame of the squares.
    coverage: (seats, heights, rows, columns) hidden shares.
    """

    seats: tuple[str, ...]
    heights: tuple[float, ...]
    squares: Squares
    eyes: np.ndarray
    hidden: np.ndarray
    coverage: np.ndarray

    @property
    def sight(self) -> SightMap:
        """What is seen with nothing else in the way."""
        return self._map(self.coverage)

    def with_moved(self, moved: Sequence[Blocker]) -> SightMap:
        """Return what is seen with further pieces in the way; only their shadows are cast.

        Raises GeometryError where an eye lies in or on one of the pieces.
        """
        bodies = make_bodies(moved, self.squares)
        _refuse(bodies, self.seats, self.eyes)
        fresh = cast_shadows(bodies, self.eyes, self.heights, _extent(self.squares)).union()
        new = _without(fresh.reshape(-1), self.hidden.reshape(-1))
        more = coverage(new, self.squares.columns, self.squares.rows, self.squares.size)
        return self._map(self.coverage + more.reshape(self.coverage.shape))

    def _map(self, hidden: np.ndarray) -> SightMap:
        share = np.clip(1.0 - hidden, 0.0, 1.0)
        share.setflags(write=False)
        return SightMap(self.seats, self.heights, self.squares, share)


def see(blockers: Sequence[Blocker], squares: Squares, eyes: Sequence[Eye], heights: Sequence[float]) -> SightMap:
    """Return the visible share of every square from every eye at every height above the floor, mm.

    Exact to rounding. Raises GeometryError where an eye lies in or on a blocker, or not above a height.
    """
    return find_occlusion(blockers, squares, eyes, heights).sight


def find_occlusion(
    blockers: Sequence[Blocker], squares: Squares, eyes: Sequence[Eye], heights: Sequence[float]
) -> Occlusion:
    """Return the hidden regions of every eye and height. Raises GeometryError as ``see`` does."""
    names = tuple(eye.seat for eye in eyes)
    points = eyes_on_squares(eyes, squares)
    for name, point in zip(names, points, strict=True):
        for height in heights:
            if point[2] <= height + LENGTH:
                raise GeometryError(
                    f"The eye at {name} is {point[2]:.0f} mm above the floor and cannot look down on {height:g} mm; "
                    "raise the chair or lower the height that is to be seen."
                )
    bodies = make_bodies(blockers, squares)
    _refuse(bodies, names, points)
    hidden = cast_shadows(bodies, points, heights, _extent(squares)).union()
    shares = coverage(hidden.reshape(-1), squares.columns, squares.rows, squares.size)
    shares = shares.reshape(len(eyes), len(heights), squares.rows, squares.columns)
    return Occlusion(names, tuple(float(h) for h in heights), squares, points, hidden, shares)


def eyes_on_squares(eyes: Sequence[Eye], squares: Squares) -> np.ndarray:
    """Return the eyes in the frame of the squares, (s, 3) mm."""
    points = np.array([eye.point for eye in eyes], dtype=float).reshape(-1, 3)
    placed: np.ndarray = (points - squares.origin) @ grid_frame(squares).T
    return placed


def _extent(squares: Squares) -> tuple[float, float]:
    return squares.columns * squares.size, squares.rows * squares.size


def _without(shapes: np.ndarray, others: np.ndarray) -> np.ndarray:
    """Return each shape without the other one of its place."""
    try:
        left: np.ndarray = shapely.difference(shapes, others)
    except shapely.errors.GEOSException:
        left = shapely.difference(shapes, others, grid_size=1e-6)
    return left


def check_eyes(blockers: Sequence[Blocker], squares: Squares, eyes: Sequence[Eye]) -> tuple[Finding, ...]:
    """Report every eye that lies in or on a blocker."""
    return tuple(
        Finding(Severity.ERROR, "eye-in-blocker", message, Location(point=place(eyes[k].point)))
        for k, message in _inside(
            make_bodies(blockers, squares), [eye.seat for eye in eyes], eyes_on_squares(eyes, squares)
        )
    )


def _refuse(bodies: Bodies, seats: Sequence[str], eyes: np.ndarray) -> None:
    for _, message in _inside(bodies, seats, eyes):
        raise GeometryError(message)


def _inside(bodies: Bodies, seats: Sequence[str], eyes: np.ndarray) -> list[tuple[int, str]]:
    """Return the eyes in or on blockers with a sentence for each."""
    if not len(bodies.shapes) or not len(eyes):
        return []
    found = []
    normal = bodies.normal
    ahead = eyes @ normal.T - np.einsum("ij,ij->i", bodies.origin, normal)
    for k, face in zip(*np.nonzero(np.abs(ahead) <= WELD), strict=True):
        away = eyes[k] - bodies.origin[face]
        spot = shapely.Point(away @ bodies.across[face], away @ bodies.up[face])
        if shapely.distance(bodies.shapes[face], spot) <= WELD:
            found.append((int(k), int(bodies.owner[face]), "touches"))
    # an eye inside sees the backs of faces all round: the body fills the whole solid angle
    touched = {(k, owner) for k, owner, _ in found}
    for k, owner in _surrounded(bodies, eyes):
        if (k, owner) not in touched:
            found.append((k, owner, "lies inside"))
    return [
        (k, f"The eye at {seats[k]} {how} {bodies.names[owner]}; move the seat or the building.")
        for k, owner, how in sorted(set(found))
    ]


def _surrounded(bodies: Bodies, eyes: np.ndarray) -> list[tuple[int, int]]:
    """Return (eye, blocker) where a closed body surrounds the eye, by the solid angle of its faces."""
    found = []
    for owner in np.unique(bodies.owner[bodies.solid]).tolist():
        faces = np.flatnonzero(bodies.owner == owner)
        low, high = bodies.level[faces, 0].min(), bodies.level[faces, 1].max()
        for k in np.flatnonzero((eyes[:, 2] > low) & (eyes[:, 2] < high)).tolist():
            corner = bodies.cut(faces, -np.inf)
            angle = _solid_angle(corner.points - eyes[k], corner.rings)
            if abs(angle) > 2.0 * np.pi:
                found.append((k, owner))
    return found


def _solid_angle(points: np.ndarray, rings: np.ndarray) -> float:
    """Return the solid angle of closed rings seen from the origin (Van Oosterom and Strackee 1983), steradians."""
    size = np.diff(rings)
    anchor = np.repeat(points[rings[:-1]], size, axis=0)[:-1]
    one, two = points[:-1], points[1:]
    whole = np.ones(len(one), dtype=bool)
    whole[rings[1:-1] - 1] = False
    a, b, c = anchor[whole], one[whole], two[whole]
    la, lb, lc = (np.linalg.norm(side, axis=1) for side in (a, b, c))
    top = np.einsum("ij,ij->i", a, np.cross(b, c))
    bottom = la * lb * lc
    bottom += np.einsum("ij,ij->i", a, b) * lc + np.einsum("ij,ij->i", b, c) * la + np.einsum("ij,ij->i", c, a) * lb
    flat = np.abs(top) <= 1e-12 * la * lb * lc
    return float(2.0 * np.where(flat, 0.0, np.arctan2(top, bottom)).sum())


def check_squares_seen(sight: SightMap) -> tuple[Finding, ...]:
    """Report, per height, the squares of which no seat sees more than a trace."""
    found = []
    for k, height in enumerate(sight.heights):
        best = sight.share[:, k].max(axis=0, initial=0.0)
        never = np.argwhere((best < NEVER_SEEN) & sight.squares.inside)
        if not len(never):
            continue
        row, column = never[np.argmin(best[tuple(never.T)])]
        centre = sight.squares.centres[row, column] + np.array([0.0, 0.0, height])
        # of a figure counts what stands above the floor
        severity = Severity.NOTE
        if height > 0.0:
            severity = weigh_squares(len(never), int(sight.squares.inside.sum()))
        what = "1 square is" if len(never) == 1 else f"{len(never)} squares are"
        found.append(
            Finding(
                severity,
                "square-never-seen",
                f"{what} hardly seen at {height:g} mm above the floor, under {NEVER_SEEN:.0%} from every seat; the "
                f"worst is in row {row + 1}, column {column + 1}. Lower or open what stands before it, or move a seat.",
                Location(point=place(centre), words=f"{height:g} mm above the floor"),
            )
        )
    return tuple(found)


@dataclass(frozen=True, slots=True, eq=False)
class SightLine:
    """eye, target: (3,) mm in the model. hit: where the line first meets something, or None; blocker: its name."""

    eye: np.ndarray
    target: np.ndarray
    hit: np.ndarray | None = None
    blocker: str | None = None


def draw_sight_line(
    eye: np.ndarray, target: np.ndarray, bodies: Bodies, squares: Squares, *, through: str | None = None
) -> SightLine:
    """Return the line from an eye to a target, (3,) mm each in the model, and what it meets first.

    through: name of a blocker that does not count, the figure itself. What lies in the eye
    or in the target itself does not count either, nor a face that the line runs along.
    """
    turn = grid_frame(squares)
    start, way = turn @ (eye - squares.origin), turn @ (target - eye)
    length = float(np.linalg.norm(way))
    if not len(bodies.owner) or length <= LENGTH:
        return SightLine(eye, target)
    normal = bodies.normal
    across = normal @ way
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.einsum("ij,ij->i", normal, bodies.origin - start) / across
    near = (np.abs(across) > 1e-12 * length) & (share * length > LENGTH) & ((1.0 - share) * length > LENGTH)
    if through in bodies.names:
        near &= bodies.owner != bodies.names.index(through)
    with np.errstate(invalid="ignore"):
        height = start[2] + share * way[2]
        near &= (height >= bodies.level[:, 0] - LENGTH) & (height <= bodies.level[:, 1] + LENGTH)
    faces = np.flatnonzero(near)
    points = start + share[faces, None] * way
    away = points - bodies.origin[faces]
    flat = shapely.points(*(np.einsum("ij,ij->i", away, axis[faces]) for axis in (bodies.across, bodies.up)))
    # a line on the seam of two faces must not slip through between them
    met = faces[shapely.dwithin(bodies.shapes[faces], flat, LENGTH)]
    if not len(met):
        return SightLine(eye, target)
    first = met[share[met].argmin()]
    return SightLine(eye, target, eye + share[first] * (target - eye), bodies.names[bodies.owner[first]])
