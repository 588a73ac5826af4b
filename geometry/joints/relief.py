"""Relief: where two standing boards would cross, the one that shows less is notched until they only pass.

Square-cut boards on the outside of a convex body never meet more than at its edges. Where edges that turn in
and out come together, under hips and valleys and beside bends, the thickness of one board may still reach
into another one. What a board would share with the other one is seen as a shadow on its own plane: the other
board, cut down to the layer that this one fills, laid flat. Without the shadow the two cannot cross.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPoint, Polygon
from shapely.geometry.polygon import orient

from ..findings import Finding, Location, Severity, place
from ..fold.collide import Board, Crossing, find_crossings
from ..fold.fold import fold
from ..fold.standing import standing_boards
from ..part import Panel, Part, PartKind, frozen
from ..polygons import largest_polygon, polygons_in
from ..pose import Pose
from ..settings import BuildSettings
from ..tolerance import AREA, LENGTH, OVERLAP, UPRIGHT, WELD
from ..unfold.outline import clean_ring
from ..unfold.section import Sections
from .joiner import Joiners

__all__ = ["Relief", "relieve", "relieve_boards", "shadow"]

#: What a notch is larger than the shadow all round, mm: a tenth of the thinnest kerf, too little to see.
RELIEF_AIR = 0.02

#: A notch reaches no deeper into its board than this many times the board's thickness: a wall under a slope of 76
#: degrees. What is deeper is no matter of edges but of a model whose faces run into one another.
RELIEF_DEPTH = 4.0

#: ... and takes no more than this share of its panel.
RELIEF_SHARE = 0.25

#: Necks of board narrower than this are cut away with a notch, and crevices up to twice as wide are filled, mm:
#: more than any kerf, less than a board is thick.
_CREVICE = 1.0

#: What a lattice or a tab may lose of the line that holds it to its panel, mm: the air of a notch at its very end.
_HELD = 5.0 * RELIEF_AIR

#: Notches smaller than this are not worth a word, mm: nobody sees light through less than a kerf of an edge.
_WORTH_A_WORD = 1.0

#: So many notched boards beside the deepest are named in a note.
_NAMED = 4


@dataclass(frozen=True, slots=True)
class Relief:
    """The parts with their notches, in the order given, and what there is to say of the notches."""

    parts: tuple[Part, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class _Notch:
    """What a panel loses. depth: how far it reaches in from the panel's outline, mm."""

    part: Part
    area: float
    depth: float


def relieve_boards(
    sections: Sections, joiners: Joiners, settings: BuildSettings, *, deeper: float
) -> tuple[Sections, Joiners, tuple[Finding, ...]]:
    """Return sections and joiners whose boards do not cross one another, and what there is to say of the notches."""
    relief = relieve((*sections.parts, *joiners.parts), settings, deeper=deeper)
    count = len(sections.parts)
    return (
        replace(sections, parts=relief.parts[:count]),
        replace(joiners, parts=relief.parts[count:]),
        relief.findings,
    )


def relieve(parts: Sequence[Part], settings: BuildSettings, *, deeper: float = OVERLAP) -> Relief:
    """Notch the panels of parts so that no two boards cross, as far as small notches beside bends and tabs do it.

    deeper: what boards may share and still count as boards that touch, mm; the proof's limit, or more.

    Of two panels the one yields that shows less: joiners first, then what stands upright, then the one that loses
    less. Lattices and tabs stay whole, so what crosses those yields alone. What is left is for the proof to tell.
    """
    boards = list(standing_boards(parts, (), settings))
    _, crossings = find_crossings(boards, deeper=deeper)
    now = {part.id: part for part in parts}
    notches: dict[str, tuple[float, Crossing]] = {}
    for crossing in sorted(crossings, key=lambda crossing: (-crossing.depth, crossing.places)):
        made = _yielding(crossing, boards, now, settings)
        if made is None:
            continue
        now[made.part.id] = made.part
        if made.depth >= max(_WORTH_A_WORD, notches.get(made.part.id, (0.0,))[0]):
            notches[made.part.id] = made.depth, crossing
    return Relief(tuple(now[part.id] for part in parts), _note(notches, now))


def shadow(stands: Pose, layer: tuple[float, float], other: np.ndarray) -> shapely.Geometry:
    """Return what other boards cover of a panel's plane within the layer that the panel's board fills.

    stands: of the panel; layer: z of its board's two faces in the part frame, mm; other: (m, 6, 3) mm, prisms in the
    model. A prism cut by two planes has its corners where its edges pass the planes and where its own corners lie
    between them.
    """
    low, high = layer[0] + OVERLAP / 2, layer[1] - OVERLAP / 2
    own = stands.back(other)
    heights = own[..., 2]
    near = (heights.min(axis=1) < high) & (heights.max(axis=1) > low)
    hulls = []
    for prism in own[near]:
        corners = [prism[(prism[:, 2] >= low) & (prism[:, 2] <= high), :2]]
        starts, ends = prism[_EDGES[:, 0]], prism[_EDGES[:, 1]]
        for level in (low, high):
            passing = (starts[:, 2] - level) * (ends[:, 2] - level) < 0.0
            share = (level - starts[passing, 2]) / (ends[passing, 2] - starts[passing, 2])
            corners.append((starts[passing] + share[:, None] * (ends[passing] - starts[passing]))[:, :2])
        hull = MultiPoint(np.concatenate(corners)).convex_hull
        if isinstance(hull, Polygon):
            hulls.append(hull)
    return shapely.union_all(hulls)


#: The nine edges of a prism: round either face, and across.
_EDGES = np.array([(0, 1), (1, 2), (2, 0), (3, 4), (4, 5), (5, 3), (0, 3), (1, 4), (2, 5)])


def _yielding(
    crossing: Crossing, boards: Sequence[Board], now: dict[str, Part], settings: BuildSettings
) -> _Notch | None:
    """Return the better of the notches that end a crossing, or None where neither board can take one."""
    one, two = (boards[k] for k in crossing.places)
    found = []
    for board, other in ((one, two), (two, one)):
        index = _panel_of(board)
        if index is None:
            continue
        part = now[board.name]
        notch = _notched(part, index, _corners(other, now, settings))
        if notch is not None:
            found.append((_shows(part, part.panels[index]), notch.area, notch))
    return min(found, key=lambda entry: entry[:2])[2] if found else None


def _panel_of(board: Board) -> int | None:
    """Return which panel of its part a board is, None for a lattice."""
    last = board.group.rpartition("/")[2]
    return int(last) if last.isdecimal() else None


def _corners(board: Board, now: dict[str, Part], settings: BuildSettings) -> np.ndarray:
    """Return the prisms of a board as it is by now."""
    if _panel_of(board) is None:
        return board.corners
    part = now[board.name]
    fresh = standing_boards((part,), (), settings)
    return next(body.corners for body in fresh if body.group == board.group)


def _shows(part: Part, panel: Panel) -> int:
    """Return how much a notch in a panel shows: joiners are lined by walls, walls stand under roofs."""
    if part.kind in (PartKind.CORE, PartKind.CHEEK):
        return 0
    return 1 if abs(float(panel.stands.z[2])) < UPRIGHT else 2


def _notched(part: Part, index: int, other: np.ndarray) -> _Notch | None:
    """Return a part whose panel gives way to other prisms, or None where no small notch beside its bends does it."""
    panel = part.panels[index]
    layer = (0.0, part.thickness) if part.board_side > 0 else (-part.thickness, 0.0)
    body = Polygon(panel.ring, panel.holes)
    if not body.is_valid:
        return None
    meets = shadow(fold(part)[index], layer, other).intersection(body)
    # a sliver no wider than boards may share is a touch; what is wider gets the air all round
    meets = _grown(meets, -OVERLAP / 2)
    # crevices between links, or between one notch and the next, are no board that anyone could use
    filled = _grown(_grown(meets, _CREVICE), RELIEF_AIR - _CREVICE)
    meets = shapely.union(_grown(meets, RELIEF_AIR), filled)  # filling blunts sharp tips
    rest = _without_necks(_largest(_less(body, meets)), meets)
    lost = polygons_in(_without_hairs(_less(body, rest)), above=AREA)
    if rest.is_empty or not lost:
        return None
    area = sum(piece.area for piece in lost)
    rim = shapely.get_coordinates(shapely.segmentize(rest.boundary, part.thickness / 2))
    depth = float(shapely.distance(shapely.points(rim), body.boundary).max())
    if depth > RELIEF_DEPTH * part.thickness or area > RELIEF_SHARE * body.area:
        return None
    stays = _without_hairs(_less(part.outline, body))
    if _joined(rest, stays) < _joined(body, stays) - _HELD:
        return None
    notch = shapely.union_all([meets, *(_grown(piece, LENGTH) for piece in lost)]).difference(stays)
    outline = _largest(_less(part.outline, notch))
    if abs(part.outline.area - outline.area - area) > RELIEF_AIR * sum(piece.length for piece in lost):
        return None  # something else hangs on what would be lost
    ring, *holes = (_ring(line) for line in (rest.exterior, *rest.interiors))
    panels = tuple(
        replace(panel, ring=ring, holes=tuple(holes)) if k == index else panel for k, panel in enumerate(part.panels)
    )
    engrave = tuple(line for line in part.engrave if outline.covers(LineString(line)))
    outline = Polygon(_ring(outline.exterior), [_ring(line) for line in outline.interiors])
    return _Notch(replace(part, outline=outline, panels=panels, engrave=engrave), area, depth)


def _without_necks(body: Polygon, notch: shapely.Geometry) -> Polygon:
    """Return a panel without the necks and tips beside a notch that are too thin to be cut."""
    thick = _grown(_grown(body, -_CREVICE / 2), _CREVICE / 2)
    thin = [piece for piece in polygons_in(_less(body, thick), above=AREA) if piece.distance(notch) <= LENGTH]
    return _largest(_less(body, _grown(shapely.union_all(thin), LENGTH))) if thin else body


def _joined(body: Polygon, stays: shapely.Geometry) -> float:
    """Return over what length a panel meets the lattices and tabs beside it, mm."""
    return float(body.exterior.intersection(stays.buffer(2.0 * WELD)).length) if not stays.is_empty else 0.0


def _less(shape: Polygon, taken: shapely.Geometry) -> shapely.Geometry:
    """Return a shape without what is taken; on a fine grid where lines all but lie on one another."""
    try:
        return shape.difference(taken)
    except shapely.GEOSException:
        return shapely.difference(shape, taken, grid_size=LENGTH)


def _without_hairs(shape: shapely.Geometry) -> shapely.Geometry:
    """Return a shape without what rounding and noise leave between lines that should lie on one another."""
    return _grown(_grown(shape, -WELD), WELD)


def _grown(shape: shapely.Geometry, by: float) -> shapely.Geometry:
    """Return a shape grown all round, its corners sharp."""
    with np.errstate(divide="ignore", invalid="ignore"):  # of mitres of lines that run on in one line
        grown = shape.buffer(by, join_style="mitre")
    return grown if grown.is_valid else grown.buffer(0.0)  # sharp tips of slivers may run past one another


def _largest(shape: shapely.Geometry) -> Polygon:
    """Return the largest polygon of a shape, counter-clockwise, without what rounding leaves."""
    return orient(largest_polygon(shape, above=AREA))


def _ring(line: LineString) -> np.ndarray:
    return frozen(clean_ring(np.array(line.coords)[:-1]))


def _note(notches: dict[str, tuple[float, Crossing]], now: dict[str, Part]) -> tuple[Finding, ...]:
    """Return the note on the boards that are notched, the deepest notch first.

    notches: by part how deep its deepest one is, mm, and the crossing that asked for it.
    """
    if not notches:
        return ()
    order = sorted(notches, key=lambda name: -notches[name][0])
    depth, crossing = notches[order[0]]
    other = crossing.names[0] if crossing.names[1] == order[0] else crossing.names[1]
    what = f"{now[order[0]].label} ({order[0]}) is notched up to {depth:.1f} mm deep where {other} passes it"
    also = [f"{name} by {notches[name][0]:.1f} mm" for name in order[1 : 1 + _NAMED]]
    more = len(order) - 1 - len(also)
    also += [f"{more} more by less"] if more else []
    what += f", and so {'is' if len(order) == 2 else 'are'} {', '.join(also)}" if also else ""
    where = Location(part=order[0], point=place(crossing.point))
    return (Finding(Severity.NOTE, "notched-board", f"{what}; a little light may show.", where),)
