"""Leaves: doors and shutters that stay in the wall's board and swing on a lattice beside their jamb.

A leaf is cut free on three sides by a gap; on the fourth a lattice ties it to the wall. The lattice
lies half in the leaf and half in the wall, since the jamb is where it should turn. It rests flat, so
a shut leaf stands in the wall's plane and the section folds as if it were not there.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from shapely.geometry import Polygon, box

from ..board.lattice import Lattice
from ..board.lattice_checks import check_lattice
from ..board.lattice_design import design_lattice
from ..board.slits import lay_out_slits
from ..board.stock import Stock
from ..errors import GeometryError
from ..findings import Finding, Location, Severity, place
from ..part import Dressing, Panel, Part, PlacedLattice, Way, frozen, plain_panel
from ..settings import BuildSettings
from ..solid.facets import Facets
from ..solid.filling import FILLED, STILE, Filled, fill
from ..solid.opening import Opening
from ..tolerance import LENGTH, SNAP
from .outline import clean_ring

__all__ = ["HungLeaf", "clear_width", "cut_width", "hang_leaf", "plan_leaves"]

#: Between a leaf and what it swings past, mm: a painted edge still passes (common practice, no source).
GAP = 0.8

#: Brings points of a facet's plane into the part frame, mm.
_Flat = Callable[[list[tuple[float, float]] | np.ndarray], np.ndarray]

#: A leaf turns close about its jamb; nobody stands in its corner, mm.
_RADIUS = 5.0

#: Board that stays between a leaf's lattice and whatever lies beside it in the wall, mm (common practice, no source).
_WEB = 3.0

#: A leaf with less solid board than this is no door any more, mm (common practice, no source).
_NARROWEST = 6.0


@dataclass(frozen=True, slots=True, eq=False)
class HungLeaf:
    """A leaf to be hung: the facet it hangs in, its opening, its lattice.

    jamb, latch: u in the facet's plane, mm; low, high: v of the opening. band: u that the lattice and
    its gap take at the foot of the wall. trouble: why it cannot be hung, or None.
    """

    facet: int
    opening: Opening
    lattice: Lattice | None
    jamb: float
    latch: float
    low: float
    high: float
    band: tuple[float, float]
    trouble: Finding | None = None


def plan_leaves(facets: Facets, settings: BuildSettings) -> tuple[HungLeaf, ...]:
    """Design the lattice of every leaf and find the wall it hangs in."""
    return tuple(
        made
        for opening in facets.openings
        if opening.leaf is not None
        for made in [_plan(facets, opening, settings)]
        if made is not None
    )


def _plan(facets: Facets, opening: Opening, settings: BuildSettings) -> HungLeaf | None:
    leaf = opening.leaf
    assert leaf is not None
    ring = np.array(opening.ring)
    (x0, y0), (x1, y1) = ring.min(axis=0).tolist(), ring.max(axis=0).tolist()
    ends = np.array([[x0, y0], [x0, y1]] if leaf.on_left else [[x1, y0], [x1, y1]])
    other = np.array([[x1, y0]] if leaf.on_left else [[x0, y0]])
    jamb_points, latch_point = opening.stands.apply(ends), opening.stands.apply(other)
    facet_id = _home(facets, jamb_points.mean(axis=0))
    if facet_id is None:
        return None
    frame = facets.facets[facet_id].frame
    (jamb, low), (_, high) = frame.flatten(jamb_points)
    latch = float(frame.flatten(latch_point)[0, 0])
    axis = high - low - 2 * GAP
    stock = settings.walls
    try:
        if axis <= 0.0 or len(ring) != 4:
            raise GeometryError(f"a leaf needs a rectangular opening higher than {2 * GAP:g} mm")
        made = design_lattice(stock, angle=abs(leaf.swing), axis_length=axis, inside_radius=_RADIUS)
    except GeometryError as error:
        trouble = _error(opening, f"{opening.name} cannot have a leaf: {error}.")
        return HungLeaf(facet_id, opening, None, jamb, latch, low, high, (jamb, jamb), trouble)
    toward = 1.0 if latch > jamb else -1.0
    half = made.flat_width / 2
    solid = abs(latch - jamb) - GAP - half
    if solid < _NARROWEST:
        trouble = _error(
            opening,
            f"{opening.name} is {abs(latch - jamb):.1f} mm wide, but its leaf needs {GAP + half + _NARROWEST:.1f} mm: "
            f"half the lattice of {made.flat_width:.1f} mm and {_NARROWEST:g} mm of board; make it wider or leave the "
            "leaf out.",
        )
        return HungLeaf(facet_id, opening, None, jamb, latch, low, high, (jamb, jamb), trouble)
    outer = jamb - toward * half
    band = (min(outer, jamb), max(outer, jamb))
    return HungLeaf(facet_id, opening, made, float(jamb), latch, float(low), float(high), band)


def cut_width(stock: Stock, *, width: float, height: float, swing: float) -> float | None:
    """Return how wide a leaf and its hinge are cut, mm, for an opening of ``width`` between its jambs.

    stock: of the walls as the laser cuts it. Half the lattice lies in the wall beside the jamb. None where no leaf
    can hang in the opening.
    """
    made = _hinge(stock, width, height, swing)
    return None if made is None else width + made.flat_width / 2


def clear_width(stock: Stock, *, width: float, height: float, swing: float) -> float | None:
    """Return how much of an opening is free to go straight through while its leaf stands open, mm.

    Its arguments are those of ``cut_width``. The bent lattice, the board's edge and, of a leaf that opens less than
    square, its free end stand in the way. None where no leaf can hang in the opening.
    """
    made = _hinge(stock, width, height, swing)
    if made is None:
        return None
    half, radius, edge, angle = made.flat_width / 2, made.neutral_radius, made.thickness / 2, abs(swing)
    bent = (radius + edge) * math.sin(min(angle, math.pi / 2)) - half
    leaf = width - GAP - half
    end = radius * math.sin(angle) - half + leaf * math.cos(angle) + edge * math.sin(angle)
    return width - max(0.0, bent, end)


@lru_cache(maxsize=32)
def _hinge(stock: Stock, width: float, height: float, swing: float) -> Lattice | None:
    """Return the lattice of a leaf in an opening, None where none can hang there."""
    try:
        made = design_lattice(stock, angle=abs(swing), axis_length=height - 2 * GAP, inside_radius=_RADIUS)
    except GeometryError:
        return None
    return made if width - GAP - made.flat_width / 2 >= _NARROWEST else None


def _home(facets: Facets, point: np.ndarray) -> int | None:
    """Return the wall facet whose plane a jamb lies in and that reaches up to it."""
    best: tuple[float, int] | None = None
    for facet in facets.facets:
        if not facets.is_wall(facet):
            continue
        away = abs(float((point - facet.frame.origin) @ facet.frame.n))
        outline = Polygon(facets.ring(facet))
        x, y = facet.frame.flatten(point[None])[0]
        # openings may stand half a square off their wall
        score = (round(away + outline.distance(box(x - SNAP, y - SNAP, x + SNAP, y + SNAP)), 3), facet.id)
        if best is None or score < best:
            best = score
    return None if best is None else best[1]


def hang_leaf(part: Part, leaf: HungLeaf, facets: Facets, settings: BuildSettings) -> tuple[Part, tuple[Finding, ...]]:
    """Return the section with a leaf left in its opening: outline, panel, lattice, and what stands in the leaf.

    Where it cannot be hung the opening stays open and a finding says why.
    """
    if leaf.trouble is not None or leaf.lattice is None:
        return part, (leaf.trouble,) if leaf.trouble is not None else ()
    index = next(k for k, panel in enumerate(part.panels) if panel.facet == leaf.facet)
    wall = part.panels[index]
    frame = facets.facets[leaf.facet].frame

    def flat(points: list[tuple[float, float]] | np.ndarray) -> np.ndarray:
        """Bring points of the facet's plane into the part frame."""
        return wall.stands.back(frame.raise_(np.array(points)))[:, :2]

    lines = _Lines.of(leaf, leaf.lattice)
    if not _has_wall(wall, leaf, lines, flat):
        return part, (
            _error(
                leaf.opening,
                f"The leaf of {leaf.opening.name} needs {leaf.lattice.flat_width / 2 + _WEB:.1f} mm of wall beside its "
                "jamb for its lattice, and a bend, a joiner or another opening lies there; move the opening, or hang "
                "the leaf on the other side.",
            ),
        )
    low, high = leaf.low, leaf.high
    old = flat([(leaf.jamb, low), (leaf.jamb, high), (leaf.latch, high), (leaf.latch, low)])
    outline = _replaced(part.outline, old, flat(lines.gap(leaf)))
    frame_hole = flat([(lines.far, low), (lines.far, high), (leaf.latch, high), (leaf.latch, low)])
    shape = _replaced(Polygon(wall.ring, wall.holes), old, frame_hole)
    if outline is None or shape is None:
        return part, (
            _error(
                leaf.opening, f"The opening of {leaf.opening.name} is not whole in its wall, so no leaf can hang in it."
            ),
        )
    filled = _filled(leaf, lines)
    panes = tuple(_counterclockwise(flat(np.asarray(pane.exterior.coords)[:-1]))[::-1] for pane in filled.panes)
    board = _leaf_board(leaf, lines, flat)
    changed = replace(
        wall,
        ring=frozen(np.array(shape.exterior.coords)[:-1]),
        holes=tuple(frozen(np.array(hole.coords)[:-1]) for hole in shape.interiors),
    )
    drawn = (Dressing.of(FILLED, Way.ENGRAVE, [flat(line) for line in filled.lines]),) if filled.lines else ()
    hung = replace(
        part,
        outline=Polygon(outline.exterior, [*outline.interiors, *panes]),
        panels=(
            *part.panels[:index],
            changed,
            *part.panels[index + 1 :],
            plain_panel(Polygon(board, panes), wall.stands),
        ),
        lattices=(*part.lattices, _placed(part, index, leaf, lines, flat)),
        dressings=(*part.dressings, *drawn),
    )
    where = Location(source=leaf.opening.name, part=part.id, point=place(leaf.opening.points.mean(axis=0)))
    return hung, check_lattice(leaf.lattice, settings.walls, where)


@dataclass(frozen=True, slots=True)
class _Lines:
    """The upright lines of a leaf, u in the facet's plane, mm.

    far, near: where its lattice ends in the wall and in the leaf; free: where the leaf ends at its latch.
    toward: 1 where the latch lies at a greater u than the jamb, else -1.
    """

    lattice: Lattice
    far: float
    near: float
    free: float
    toward: float

    @classmethod
    def of(cls, leaf: HungLeaf, lattice: Lattice) -> _Lines:
        toward = 1.0 if leaf.latch > leaf.jamb else -1.0
        reach = toward * (lattice.flat_width / 2)
        return cls(lattice, leaf.jamb - reach, leaf.jamb + reach, leaf.latch - toward * GAP, toward)

    def gap(self, leaf: HungLeaf) -> list[tuple[float, float]]:
        """Return the way round the gap, from the jamb's foot inward along the leaf, then back along the opening."""
        low, high = leaf.low, leaf.high
        return [
            (self.far, low), (self.far, low + GAP), (self.free, low + GAP), (self.free, high - GAP),
            (self.far, high - GAP), (self.far, high), (leaf.latch, high), (leaf.latch, low),
        ]  # fmt: skip


def _has_wall(wall: Panel, leaf: HungLeaf, lines: _Lines, flat: _Flat) -> bool:
    """Whether the half of a lattice that lies in the wall finds board there, with a web beside it."""
    beside = lines.far - lines.toward * _WEB
    needed = Polygon(flat([(beside, leaf.low), (leaf.jamb, leaf.low), (leaf.jamb, leaf.high), (beside, leaf.high)]))
    return bool(needed.buffer(-SNAP).difference(Polygon(wall.ring, wall.holes)).area <= LENGTH)


def _leaf_board(leaf: HungLeaf, lines: _Lines, flat: _Flat) -> np.ndarray:
    """Return the outline of a leaf beyond its lattice, part frame, counter-clockwise, (4, 2) mm."""
    low, high = leaf.low + GAP, leaf.high - GAP
    return _counterclockwise(flat([(lines.near, low), (lines.free, low), (lines.free, high), (lines.near, high)]))


def _placed(part: Part, wall: int, leaf: HungLeaf, lines: _Lines, flat: _Flat) -> PlacedLattice:
    """Return the lattice of a leaf in its section; wall: index of the panel that it hangs in."""
    low, high = leaf.low + GAP, leaf.high - GAP
    origin, tip, end = flat([(lines.far, low), (lines.near, low), (lines.far, high)])
    across, along = (tip - origin) / np.hypot(*(tip - origin)), (end - origin) / np.hypot(*(end - origin))
    # a leaf opens to the side of its opening's own z; angles count away from the board side
    outward = float(np.sign(leaf.opening.across @ (part.panels[wall].stands.z * part.board_side)))
    assert leaf.opening.leaf is not None
    return PlacedLattice(
        parent=wall,
        child=len(part.panels),
        host_edges=(),
        origin=frozen(origin),
        across=frozen(across),
        along=frozen(along),
        angle=0.0,
        lattice=lines.lattice,
        slits=lay_out_slits(lines.lattice),
        swing=-outward * leaf.opening.leaf.swing,
    )


def _filled(leaf: HungLeaf, lines: _Lines) -> Filled:
    """Return what stands in a leaf between its lattice and its free edge, u in the facet's plane, mm."""
    if leaf.opening.filling is None:
        return Filled()
    near, free = lines.near, lines.free
    board = box(min(near, free), leaf.low + GAP, max(near, free), leaf.high - GAP)
    return fill(board, leaf.opening.filling, stile=STILE, hinge_on_left=near < free)


def _replaced(shape: Polygon, old: np.ndarray, new: np.ndarray) -> Polygon | None:
    """Return a shape with the corners ``old`` of a hole, or of a notch, replaced by ``new``; None where it has none.

    old: (4, 2) in order, jamb's foot first, latch's foot last; new runs from foot to foot as well.
    """
    for k, hole in enumerate(shape.interiors):
        ring = np.array(hole.coords)[:-1]
        if len(ring) == len(old) and all(np.hypot(*(ring - corner).T).min() < SNAP for corner in old):
            others = [hole for j, hole in enumerate(shape.interiors) if j != k]
            return Polygon(shape.exterior, [*others, _counterclockwise(new)[::-1]])
    ring = np.array(shape.exterior.coords)[:-1]
    at = [int(np.argmin(np.hypot(*(ring - corner).T))) for corner in old]
    if any(np.hypot(*(ring[k] - corner)) > SNAP for k, corner in zip(at, old, strict=True)):
        return None
    count = len(ring)
    step = (at[1] - at[0] + count // 2) % count - count // 2
    if [(at[0] + step * k) % count for k in range(4)] != at or abs(step) != 1:
        return None
    first = at[0] if step == 1 else at[3]
    rest = [ring[(first + 4 + k) % count] for k in range(count - 4)]
    return Polygon(clean_ring(np.array([*(new if step == 1 else new[::-1]), *rest])), shape.interiors)


def _counterclockwise(ring: np.ndarray) -> np.ndarray:
    x, y = ring.T
    return frozen(ring if x @ np.roll(y, -1) - y @ np.roll(x, -1) > 0.0 else ring[::-1])


def _error(opening: Opening, message: str) -> Finding:
    where = Location(source=opening.name, point=place(opening.points.mean(axis=0)))
    return Finding(Severity.ERROR, "leaf-without-room", message, where)
