"""Standing room: whether bases stand in their squares, and what stands in their way.

A base of 25 mm leaves 0.2 mm to a wall on the line of its square; a board, a joiner's cheek or a bend
that takes more pushes it out. ``find_standing_room`` tells how much room every square leaves a base,
how many stand on the furniture, and what overlaps.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from ..findings import Finding, Location, Severity, place
from ..tolerance import AREA, SNAP
from .footing import BASE_LEVEL, Doorway, doorways, footprints, widest_bend
from .table_top import Blocker, BlockerKind, Miniature, RoundedCorner, Squares

__all__ = ["StandingRoom", "find_standing_room", "places_on_top", "room_outline"]

_WALLS = (BlockerKind.WALL, BlockerKind.GABLE)
_FIXED = (*_WALLS, BlockerKind.JOINER, BlockerKind.LEAF)


@dataclass(frozen=True, slots=True, eq=False)
class StandingRoom:
    """How bases stand.

    base: diameter, mm. room: (rows, columns) mm between a base in the middle of the square and what is nearest,
    negative by how much it is pushed out; NaN outside the room. nearest: (rows, columns) index in
    ``names``, or -1. on_top: name of each piece of furniture and how many bases surely stand on it.
    """

    base: float
    room: np.ndarray
    nearest: np.ndarray
    names: tuple[str, ...]
    on_top: tuple[tuple[str, int], ...]
    doorways: tuple[Doorway, ...]
    findings: tuple[Finding, ...]

    @property
    def stands(self) -> np.ndarray:
        """Whether a base stands in the square, (rows, columns) bool."""
        return self.room >= -SNAP


def room_outline(squares: Squares) -> BaseGeometry:
    """Return the squares of the room as one area of the plan, mm."""
    row, column = np.nonzero(squares.inside)
    whole = shapely.union_all(shapely.box(column, row, column + 1, row + 1))
    (a, d), (b, e) = squares.size * squares.u[:2], squares.size * squares.v[:2]
    return affinity.affine_transform(whole, [a, b, d, e, float(squares.origin[0]), float(squares.origin[1])])


def find_standing_room(
    squares: Squares,
    blockers: Iterable[Blocker],
    *,
    bends: Iterable[RoundedCorner] = (),
    miniatures: Iterable[Miniature] = (),
    base: float = 25.0,
) -> StandingRoom:
    """Lay a base into every square, every miniature and piece of furniture into the room.

    base: diameter, mm, of the bases that are to stand everywhere. Roofs hang above and are passed over.
    """
    bends, miniatures = tuple(bends), tuple(miniatures)
    blockers = tuple(blocker for blocker in blockers if blocker.kind not in (BlockerKind.ROOF, BlockerKind.MINIATURE))
    fixed = [blocker for blocker in blockers if blocker.kind in _FIXED]
    furniture = [blocker for blocker in blockers if blocker.kind is BlockerKind.FURNITURE]
    floor = float(squares.origin[2])
    standing = [*fixed, *furniture]
    centres = squares.centres[..., :2]
    gaps = _distances(standing, bends, centres.reshape(-1, 2), floor) - base / 2
    names = (*(blocker.name for blocker in standing), *(bend.name for bend in bends))
    shape = squares.inside.shape
    room = np.where(squares.inside, gaps.min(axis=0, initial=np.inf).reshape(shape), np.nan)
    nearest = np.full(shape, -1)
    if len(gaps):
        near = squares.inside & np.isfinite(room)
        nearest[near] = gaps.argmin(axis=0).reshape(shape)[near]
    frames = [blocker for blocker in fixed if blocker.kind is BlockerKind.JOINER]
    passages = doorways([blocker for blocker in fixed if blocker.kind in _WALLS], floor, beside=frames)
    room.setflags(write=False)
    nearest.setflags(write=False)
    outline = room_outline(squares)
    findings = (
        *_check_squares(squares, fixed, bends, gaps, len(standing), base),
        *_check_doorways(passages, base, floor),
        *_check_miniatures(squares, outline, standing, bends, miniatures),
        *_check_furniture(outline, fixed, furniture),
    )
    on_top = tuple((piece.name, places_on_top(piece, base)) for piece in furniture)
    return StandingRoom(base, room, nearest, names, on_top, passages, findings)


def _distances(
    blockers: Sequence[Blocker], bends: Sequence[RoundedCorner], spots: np.ndarray, ground: float
) -> np.ndarray:
    """Return the distances of plan points from what stands on the ground, (blockers + bends, points) mm."""
    prints = np.array(footprints(blockers, ground + BASE_LEVEL), dtype=object)
    apart = shapely.distance(prints[:, None], shapely.points(spots)[None, :]) if len(prints) else np.empty((0, 1))
    rows = [np.where(np.isnan(row), np.inf, row) for row in apart]  # NaN: nothing of it stands so low
    return np.array([*rows, *(bend.distance(spots) for bend in bends)]).reshape(-1, len(spots))


def _check_squares(
    squares: Squares,
    fixed: Sequence[Blocker],
    bends: Sequence[RoundedCorner],
    gaps: np.ndarray,
    first: int,
    base: float,
) -> list[Finding]:
    """Report the squares that walls, cheeks and bends push a base out of: one finding per culprit, one for cheeks."""
    found = []
    pushed = (gaps < -SNAP).reshape(-1, *squares.inside.shape) & squares.inside
    cheeks = [
        index for index, blocker in enumerate(fixed) if blocker.kind is BlockerKind.JOINER and pushed[index].any()
    ]
    for index, blocker in enumerate(fixed):
        if not pushed[index].any() or blocker.kind is BlockerKind.JOINER:
            continue
        where, least = _worst(squares, pushed[index], gaps[index])
        message = (
            f"{blocker.name[:1].upper()}{blocker.name[1:]} stands {least:.1f} mm too far into {where.words} "
            f"for a base of {base:g} mm; move it to the line of the grid or outside it, or use smaller bases there."
        )
        found.append(Finding(Severity.WARNING, "wall-in-square", message, Location(point=where.point)))
    if cheeks:
        # every joiner has an inner cheek, and one strip frees the squares of all of them
        where, least = _worst(squares, pushed[cheeks].any(axis=0), gaps[cheeks].min(axis=0))
        name = fixed[cheeks[0]].name
        what = f"{name[:1].upper()}{name[1:]} stands" if len(cheeks) == 1 else f"{len(cheeks)} joiners' cheeks stand"
        message = (
            f"{what} {least:.1f} mm too far into {where.words} for a base of {base:g} mm; make the strip between walls "
            f"and squares {math.ceil(10.0 * least) / 10.0:g} mm wider (added buildings have one), or use smaller bases."
        )
        # a note: the maker who wants the squares parts the wall elsewhere
        found.append(Finding(Severity.NOTE, "cheek-in-square", message, Location(point=where.point)))
    return [*found, *_check_bends(squares, bends, pushed[first:], gaps[first:], base)]


def _check_bends(
    squares: Squares, bends: Sequence[RoundedCorner], pushed: np.ndarray, gaps: np.ndarray, base: float
) -> tuple[Finding, ...]:
    """Report the bends that push a base out of its square as one finding, since one radius mends all of them."""
    wide = [index for index in range(len(bends)) if pushed[index].any()]
    if not wide:
        return ()
    where, least = _worst(squares, np.asarray(pushed[wide].any(axis=0)), gaps[wide].min(axis=0))
    worst = bends[min(wide, key=lambda index: float(gaps[index].min()))]
    advice = "use smaller bases there"
    if base <= squares.size:
        ways = (bends[index].along for index in wide)
        sharpest = min(math.acos(float(np.clip(along[0] @ along[1], -1.0, 1.0))) for along in ways)
        limit = widest_bend(base, squares.size, between=sharpest)
        advice = f"bend to at most {math.floor(limit * 100) / 100:.2f} mm, or {advice}"
    name = worst.name[:1].upper() + worst.name[1:]
    what = f"{name} stands" if len(wide) == 1 else f"{len(wide)} bends stand"
    message = (
        f"{what} {least:.1f} mm too far into {where.words} for a base of {base:g} mm, with an inside radius of "
        f"{worst.inside_radius:.2f} mm; {advice}."
    )
    return (Finding(Severity.WARNING, "square-blocked-by-bend", message, Location(point=where.point)),)


@dataclass(frozen=True, slots=True)
class _Where:
    words: str
    point: tuple[float, float, float]


def _worst(squares: Squares, mask: np.ndarray, gaps: np.ndarray) -> tuple[_Where, float]:
    """Return the square that is most intruded on, named with how many there are, and by how much, mm."""
    depth = np.where(mask, -gaps.reshape(mask.shape), -np.inf)
    row, column = np.unravel_index(int(depth.argmax()), mask.shape)
    count = int(mask.sum())
    words = f"column {column + 1}, row {row + 1}"
    return (
        _Where(words if count == 1 else f"{count} squares, most into {words},", place(squares.centres[row, column])),
        float(depth.max()),
    )


def _check_doorways(passages: Iterable[Doorway], base: float, floor: float) -> list[Finding]:
    return [
        Finding(
            Severity.WARNING,
            "door-narrower-than-base",
            f"A doorway of {passage.wall} is {passage.width:.1f} mm wide; a base of {base:g} mm needs "
            f"{base - passage.width:.1f} mm more.",
            Location(point=place((*passage.middle, floor))),
        )
        for passage in passages
        if passage.width < base - SNAP
    ]


def _check_miniatures(
    squares: Squares,
    room: BaseGeometry,
    standing: Sequence[Blocker],
    bends: Sequence[RoundedCorner],
    miniatures: Sequence[Miniature],
) -> list[Finding]:
    found = []
    floor = float(squares.origin[2])
    for miniature in miniatures:
        spot, where = Point(miniature.foot[:2]), Location(point=place(miniature.foot))
        inside = room.covers(spot)
        low_bends = bends if miniature.foot[2] < floor + BASE_LEVEL else ()
        gaps = (
            _distances(standing, low_bends, miniature.foot[None, :2], float(miniature.foot[2]))[:, 0]
            - miniature.base / 2
        )
        if inside and len(gaps) and gaps.min() < -SNAP:
            names = [*(blocker.name for blocker in standing), *(bend.name for bend in low_bends)]
            culprit = names[int(gaps.argmin())]
            found.append(
                Finding(
                    Severity.WARNING,
                    "miniature-blocked",
                    f"The base of {miniature.name}, {miniature.base:g} mm, runs {-gaps.min():.1f} mm into {culprit}; "
                    "move it or choose a smaller base.",
                    where,
                )
            )
            continue
        if room.is_empty:
            continue  # a building so small that it has no square: there is no edge to stand beyond
        beyond = miniature.base / 2 + float(room.boundary.distance(spot)) * (-1.0 if inside else 1.0)
        if beyond > SNAP:
            wholly = beyond >= miniature.base
            found.append(
                Finding(
                    Severity.WARNING,
                    "miniature-outside",
                    f"The miniature {miniature.name} stands "
                    + (
                        f"{beyond - miniature.base:.1f} mm outside the room"
                        if wholly
                        else f"{beyond:.1f} mm over its edge"
                    )
                    + "; move it onto the squares.",
                    where,
                )
            )
    for one, other in combinations(miniatures, 2):
        over = (one.base + other.base) / 2 - float(np.hypot(*(one.foot - other.foot)[:2]))
        apart = max(float(other.foot[2] - one.foot[2]) - one.height, float(one.foot[2] - other.foot[2]) - other.height)
        if over > SNAP and apart < -SNAP:
            found.append(
                Finding(
                    Severity.WARNING,
                    "miniatures-overlap",
                    f"The bases of {one.name} and {other.name} overlap by {over:.1f} mm; move one of them.",
                    Location(point=place((one.foot + other.foot) / 2.0)),
                )
            )
    return found


def _check_furniture(room: BaseGeometry, fixed: Sequence[Blocker], furniture: Sequence[Blocker]) -> list[Finding]:
    """Report furniture that leaves the room, or crosses or hides in something else at the height of its foot."""
    found = []
    room = room.buffer(SNAP)
    feet = [min(float(ring[:, 2].min()) for rings in piece.faces for ring in rings) for piece in furniture]
    everything = [*furniture, *fixed]
    cuts = {foot: footprints(everything, foot + BASE_LEVEL) for foot in sorted(set(feet))}
    for index, (piece, foot) in enumerate(zip(furniture, feet, strict=True)):
        own = cuts[foot][index]
        own = own if own.area > AREA else own.convex_hull
        if own.is_empty:
            continue  # as flat as a rug: bases stand on it
        where = Location(point=place((own.centroid.x, own.centroid.y, foot)))
        if not room.covers(own):
            found.append(
                Finding(
                    Severity.WARNING,
                    "furniture-outside",
                    f"The furniture {piece.name} stands {own.difference(room).area:.0f} mm² beyond the room; "
                    "move it onto the squares.",
                    where,
                )
            )
        core = own.buffer(-SNAP)
        # Of two that stand at one level the first reports; of a stack, the one that stands higher.
        for k, (other, print_) in enumerate(zip(everything, cuts[foot], strict=True)):
            reported = k < len(furniture) and (
                k == index or feet[k] > foot + SNAP or (feet[k] > foot - SNAP and k < index)
            )
            if reported or not core.intersects(print_):
                continue
            holds = print_.area > AREA and print_.buffer(SNAP).covers(own)
            held = print_.area > AREA and own.buffer(SNAP).covers(print_)
            how = "stands inside" if holds else "encloses" if held else "crosses"
            found.append(
                Finding(
                    Severity.WARNING,
                    "furniture-overlaps",
                    f"The furniture {piece.name} {how} {other.name}; move one of them clear of the other.",
                    where,
                )
            )
    return found


def places_on_top(furniture: Blocker, base: float) -> int:
    """Return how many bases, mm across, surely stand on the highest level of a piece of furniture.

    Counted in straight and in staggered rows along the sides of its smallest rectangle; a cleverer
    arrangement may take more.
    """
    level = [rings for rings in furniture.faces if np.ptp(rings[0][:, 2]) <= SNAP]
    if not level:
        return 0
    top = max(float(rings[0][0, 2]) for rings in level)
    faces = [
        shapely.Polygon(rings[0][:, :2], [hole[:, :2] for hole in rings[1:]])
        for rings in level
        if rings[0][0, 2] >= top - SNAP
    ]
    # Grown by a hair, so that a top of just one base takes one.
    free = shapely.union_all(faces, grid_size=AREA).buffer(-base / 2 + SNAP)
    if free.is_empty:
        return 0
    corners = np.array(shapely.union_all(faces, grid_size=AREA).minimum_rotated_rectangle.exterior.coords)
    best = 1
    for a, b, d in ((0, 1, 3), (1, 2, 0)):
        long, wide = corners[b] - corners[a], corners[d] - corners[a]
        length, width = float(np.hypot(*long)), float(np.hypot(*wide))
        for pitch, shift in ((base, 0.0), (base * math.sqrt(3.0) / 2.0, base / 2)):
            rows = max(0, math.floor((width - base + SNAP) / pitch) + 1)
            spots = [
                (base / 2 + k * base + (row % 2) * shift, base / 2 + row * pitch)
                for row in range(rows)
                for k in range(math.floor((length + SNAP) / base) + 1)
            ]
            if spots:
                along = np.array(spots)
                points = corners[a] + along[:, :1] * long / length + along[:, 1:] * wide / width
                best = max(best, int(shapely.covers(free, shapely.points(points)).sum()))
    return best
