"""What lies on boards: trim beside joiners and leaves, and rows of tiles between walls, with their clearances.

Trim is glued by eye. Where it comes to lie over the place of a cheek, its wall no longer enters the joiner; where it
reaches over a leaf, the leaf does not open.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..finish.tiles import Tiling
from ..fold.standing import standing_boards
from ..joints.glue_places import find_bearers
from ..part import Joiner, Panel, Part, PartKind
from ..proof.swings import opened
from ..settings import BuildSettings
from ..tolerance import SNAP
from ..trim.on_slopes import footprints
from ..trim.shingles import Strip, Strips
from ..trim.signboard import HungSign
from .clearances import Clearance, Joint, JointKind, Term
from .ranges import Cause

__all__ = ["sign_joints", "strip_joints", "tile_joints", "trim_joints"]

#: Trim further than this from a cheek or leaf never meets it, mm: more than hand, kerf and places come to.
_NEAR = 3.0

#: A cheek whose middle lies further than this from a wall's plane stands at another wall, mm: two boards of 5 mm.
_BESIDE = 10.0

#: Planes whose normals agree to this cosine are parallel.
_PARALLEL = 0.999


def trim_joints(parts: Sequence[Part], joiners: Sequence[Joiner]) -> Iterator[Joint]:
    """Yield, for every piece of trim, what is free between it and the nearest cheek, and between it and a leaf."""
    trim = [part for part in parts if part.kind is PartKind.TRIM]
    if not trim:
        return
    by_id = {part.id: part for part in parts}
    bearers = find_bearers(parts)
    outer = [by_id[joiner.cheeks[0]] for joiner in joiners]
    for piece in trim:
        if piece.id not in bearers:
            continue
        wall = by_id[bearers[piece.id][0]]
        panel = wall.panels[bearers[piece.id][1]]
        shape = _seen_from(panel, piece.panels[0])
        gaps = [
            (gap, cheek)
            for cheek in outer
            if _is_beside(panel, cheek) and (gap := shapely.distance(shape, _seen_from(panel, cheek.panels[0]))) < _NEAR
        ]
        if gaps:
            gap, cheek = min(gaps, key=lambda near: near[0])
            yield _beside(JointKind.TRIM_CHEEK, piece, cheek, _signed(gap, shape, _seen_from(panel, cheek.panels[0])))
        height = float(panel.stands.back(piece.panels[0].stands.apply(piece.panels[0].ring))[:, 2].mean())
        for leaf in _leaves(wall, panel, height):
            gap = shapely.distance(shape, leaf)
            if gap < _NEAR:
                yield _beside(JointKind.TRIM_LEAF, piece, wall, _signed(gap, shape, leaf))


def _beside(kind: JointKind, piece: Part, other: Part, gap: float) -> Clearance:
    """Return the clearance between the edges of two parts, one of them glued by eye."""
    terms = tuple(
        Term(cause, part.stock, share)
        for part in (piece, other)
        for cause, share in ((Cause.KERF, 0.5), (Cause.TAPER, -0.25))
    )
    return Clearance(kind, (piece.id, other.id), gap, terms, features=1, by_hand=1, name=f"{piece.id} {other.id}")


def _signed(gap: float, one: Polygon, two: Polygon) -> float:
    """Return the gap between two outlines, or how wide they overlap as a negative one, mm."""
    if gap > 0.0:
        return gap
    x0, y0, x1, y1 = one.intersection(two).bounds or (0.0, 0.0, 0.0, 0.0)
    return -float(min(x1 - x0, y1 - y0))


def _seen_from(panel: Panel, other: Panel) -> Polygon:
    """Return the outline of a standing panel in the frame of another one's part, mm."""
    return Polygon(panel.stands.back(other.stands.apply(other.ring))[:, :2])


def _is_beside(panel: Panel, cheek: Part) -> bool:
    """Whether a cheek stands flat before the plane of a panel."""
    if not cheek.panels:
        return False
    middle = panel.stands.back(cheek.panels[0].stands.apply(cheek.panels[0].ring)).mean(axis=0)
    return abs(float(middle[2])) < _BESIDE and abs(float(panel.stands.z @ cheek.panels[0].stands.z)) > _PARALLEL


def _leaves(wall: Part, panel: Panel, height: float) -> list[Polygon]:
    """Return the leaves of a wall's panel, shut, in its part frame, that open toward what lies on it.

    height: of what lies on the panel, in its frame, mm. A leaf that opens the other way may shut against it.
    """
    found = []
    for placed in wall.lattices:
        leaf = wall.panels[placed.child]
        if not placed.swing or abs(float(leaf.stands.z @ panel.stands.z)) <= _PARALLEL:
            continue
        middle = panel.stands.back(opened(wall, placed).apply(leaf.ring)).mean(axis=0)
        if float(middle[2]) * height > 0.0:
            found.append(_seen_from(panel, leaf))
    return found


def strip_joints(parts: Sequence[Part], strips: Strips, settings: BuildSettings) -> Iterator[Joint]:
    """Yield what is free, on every slope, between its strips and each part that stands on it or closes against it.

    Strips are glued by eye before all that comes. Measured in the slope's plane, over the height that strips reach.
    Thicker strips lean farther up the slope, by their sine; in a valley their neighbours come nearer as well.
    """
    by_id = {part.id: part for part in parts}
    others = [*parts, *strips.laid]
    prisms = {part.id: [board.corners for board in standing_boards([part], (), settings)] for part in others}
    for host, index in sorted(set(strips.bearers.values())):
        own = [strip for strip in strips.strips if (strip.host, strip.panel) == (host, index)]
        slope = by_id[host]
        panel, low = slope.panels[index], max(0.0, slope.board_side * slope.thickness)
        high = low + max(strip.rise for strip in own)
        mine = {strip.part for strip in own}
        seen = {name: _seen_on(panel, prisms[name], low, high) for name in mine}
        whole = shapely.union_all(list(seen.values()))
        for other in others:
            if other.id in mine or other.id == host:
                continue
            there = _seen_on(panel, prisms[other.id], low, high)
            gap = shapely.distance(whole, there)
            if there.is_empty or gap >= _NEAR:
                continue
            near = min(own, key=lambda strip: shapely.distance(seen[strip.part], there))
            yield _strip_beside(strips, near, other, gap if gap > 0.0 else -_depth(whole, there))


def _seen_on(panel: Panel, boards: Sequence[np.ndarray], low: float, high: float) -> shapely.Geometry:
    """Return what boards cover of a slope between two heights over it, in its part frame."""
    local = [panel.stands.back(corners) for corners in boards]
    return shapely.union_all(list(footprints(local, low + SNAP, high)))


def _depth(one: shapely.Geometry, two: shapely.Geometry) -> float:
    x0, y0, x1, y1 = one.intersection(two).bounds or (0.0, 0.0, 0.0, 0.0)
    return float(min(x1 - x0, y1 - y0))


def _strip_beside(strips: Strips, strip: Strip, other: Part, gap: float) -> Clearance:
    """Return the clearance beside a strip; where the other one is a strip as well, both are glued by eye."""
    part = next(part for part in strips.laid if part.id == strip.part)
    both = other.id in strips.bearers
    terms = [
        Term(cause, board.stock, share)
        for board in (part, other)
        for cause, share in ((Cause.KERF, 0.5), (Cause.TAPER, -0.25))
    ]
    terms.append(Term(Cause.THICKNESS, part.stock, -math.sin(strip.lean) * (2.0 if both else 1.0)))
    names = (strip.part, other.id)
    hands = 2 if both else 1
    return Clearance(JointKind.STRIPS, names, gap, tuple(terms), features=1, by_hand=hands, name=" ".join(names))


def tile_joints(tiling: Tiling) -> Iterator[Joint]:
    """Yield the longest row of a floor's tiles between its walls, whose tiles a fine kerf makes larger."""
    if not tiling.tiles:
        return
    if tiling.tops:
        yield from _inlay_joints(tiling)
        return
    count = tiling.longest
    stocks = sorted({part.stock for part in tiling.parts})
    share = count / len(stocks)
    terms = tuple(
        Term(cause, stock, factor * share)
        for stock in stocks
        for cause, factor in ((Cause.KERF, 1.0), (Cause.TAPER, -0.5))
    )
    yield Clearance(JointKind.TILES, (tiling.tiles[0].part,), tiling.slack * count, terms, features=2, name="tiles")


def _inlay_joints(tiling: Tiling) -> Iterator[Joint]:
    """Yield the joints of a piece in its opening, and of the longest row of pieces in one: their mean width.

    A fine kerf makes the opening smaller and every piece larger. Pieces are cut with the other face up than the top
    layer, so that both opening and piece widen toward the upper face: what one board tapers more than the other one,
    and what pieces in a row taper together, shuts the joints at one of the two faces.
    """
    assert tiling.boards is not None
    light, dark = tiling.boards.light.name, tiling.boards.dark.name
    first = next(tile for tile in tiling.tiles if tile.dark)
    for count in sorted({1, tiling.longest}):
        joints = count + 1
        kerfs = (Term(Cause.KERF, light, 1.0 / joints), Term(Cause.KERF, dark, count / joints))
        parts = (first.part, tiling.tops[0].part)
        for face in (1.0, -1.0):
            share = face * 0.5 / joints
            terms = (*kerfs, Term(Cause.TAPER, light, share), Term(Cause.TAPER, dark, -share * count))
            yield Clearance(JointKind.INLAY, parts, tiling.boards.gap, terms, features=1, name=f"inlay {count}")


def sign_joints(signs: Sequence[HungSign], by_id: Mapping[str, Part]) -> Iterator[Joint]:
    """Yield the tab of every sign in its slot, across and along."""
    for sign in signs:
        wall, board = by_id[sign.wall].stock, sign.part.stock
        slot = (Term(Cause.KERF, wall, 1.0), Term(Cause.TAPER, wall, -0.5))
        own = ((Term(Cause.THICKNESS, board, -1.0),), (Term(Cause.KERF, board, 1.0), Term(Cause.TAPER, board, -0.5)))
        for play, terms, way in zip(sign.play, own, ("across", "along"), strict=True):
            name = f"{sign.part.id} {way}"
            yield Clearance(JointKind.SIGN, (sign.part.id, sign.wall), play, (*slot, *terms), features=2, name=name)
