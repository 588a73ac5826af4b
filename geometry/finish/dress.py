"""Dressing: every part gets the lines of the finishes on its faces."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon, box

from ..part import Dressing, FaceUp, Joiner, Panel, Part, PartKind, Way, frozen
from ..solid.facets import Facets
from ..solid.opening import Opening
from ..solid.solid import Solid
from ..tolerance import SNAP
from ..unfold.section import Sections
from .dark import dark_units
from .draw import draw
from .finish import Finish
from .hatch import hatch
from .lines import clip, ordered, pack
from .runs import Run, find_runs
from .surface import Surface

__all__ = [
    "Board",
    "boards_among",
    "boards_of",
    "covered_stretches",
    "dress",
    "dressing_of",
    "flat",
    "flat_area",
    "free_area",
    "lines_on",
    "openings_on",
    "regions_on",
    "surface_of",
]

#: A wall is drawn so far under the edge of the cheek that covers it, mm: more than the gap beside a core, so that no
#: bare strip shows when boards are pushed together (common practice, no source).
_UNDER_CHEEK = 0.5

#: Holes smaller than this are for pegs, wires or hooks, no windows, mm^2.
_LEAST_OPENING = 30.0

#: A doorway begins at most so far over the lowest board, mm: grounds of a model are level within a snap or two.
_AT_FOOT = 1.0

#: An opening belongs to a run no farther than this from it, mm, and turned no farther (cosine), as for cutting it.
_NEAR, _ALONGSIDE = 12.7, 0.999

#: Parts whose upper face is the visible outside of a facet.
_DRESSED = (PartKind.WALL, PartKind.ROOF, PartKind.PANEL, PartKind.UPSTAND)


@dataclass(frozen=True, slots=True, eq=False)
class Board:
    """A flat region of a part that shows a facet: its shape in the coordinates of the run, and in the part frame."""

    part: int
    panel: Panel
    run: int
    shape: Polygon


def dress(
    solid: Solid,
    facets: Facets,
    sections: Sections,
    joiners: Sequence[Joiner],
    parts: Sequence[Part],
    finishes: Mapping[str, Finish],
) -> tuple[Part, ...]:
    """Return the parts with the lines of their finishes; those without any stay as they are.

    solid: that the facets were found in. finishes: by the names that the solid's faces give them.
    """
    named = {name: finish for name, finish in finishes.items() if name in set(facets.finishes.values())}
    if not named:
        return tuple(parts)
    runs = find_runs(facets, sections.setbacks)
    boards = list(boards_of(parts, joiners, runs))
    lines: dict[int, list[Dressing]] = {}
    covered = covered_stretches(joiners, runs)
    for k, run in enumerate(runs):
        own = [board for board in boards if board.run == k]
        for name, where in regions_on(solid, facets, run, named):
            if not own:
                continue
            surface = surface_of(facets, run, own, covered.get(k, ()))
            finish = named[name]
            pattern, around, taken = draw(finish, surface)
            filled = finish.way is Way.FILL
            dark = shapely.difference(dark_units(finish, surface, pattern), taken) if filled else Polygon()
            for board in own:
                part = parts[board.part]
                free = free_area(part, board, run, where, finish.edge, surface)
                made = lines.setdefault(board.part, [])
                made += lines_on(part, board, run, name, finish, (pattern, around, taken), dark, where, free)
    return tuple(
        replace(part, dressings=(*part.dressings, *_merged(lines[k]))) if lines.get(k) else part
        for k, part in enumerate(parts)
    )


def lines_on(
    part: Part,
    board: Board,
    run: Run,
    name: str,
    finish: Finish,
    drawing: tuple[list[np.ndarray], list[np.ndarray], shapely.Geometry],
    dark: shapely.Geometry,
    where: shapely.Geometry | None,
    free: shapely.Geometry,
) -> list[Dressing]:
    """Return what a finish draws on one board: hatching of its dark units, and its lines.

    drawing: as ``draw`` returns it; dark: what is to be hatched; where: of the run bears the finish, None for all of it
    (all in the coordinates of the run); free: where lines may lie, in the part frame.
    """
    made = [] if dark.is_empty else dressing_of(name, Way.FILL, _filled_on(board, run, dark, free, finish.hatch))
    drawn = _on_board(part, board, run, drawing, where, finish, free)
    return made + dressing_of(name, Way.ENGRAVE if finish.way is Way.FILL else finish.way, ordered(drawn))


def dressing_of(finish: str, way: Way, lines: Sequence[np.ndarray]) -> list[Dressing]:
    """Return lines, (k, 2) mm each, as one dressing; none where there are none."""
    if not lines:
        return []
    points, starts = pack(lines)
    return [Dressing(finish, way, frozen(points), starts)]


def _merged(dressings: Iterable[Dressing]) -> tuple[Dressing, ...]:
    """Return the dressings of a part with those of one finish made one, in the order in which they come."""
    kept: dict[tuple[str, str], Dressing] = {}
    for dressing in dressings:
        key = (dressing.finish, dressing.way)
        if key in kept:
            first = kept[key]
            starts = np.concatenate([first.starts[:-1], dressing.starts + len(first.points)])
            kept[key] = replace(first, points=frozen(np.concatenate([first.points, dressing.points])), starts=starts)
        else:
            kept[key] = dressing
    return tuple(kept.values())


def boards_of(parts: Sequence[Part], joiners: Sequence[Joiner], runs: Sequence[Run]) -> Iterable[Board]:
    """Return the regions of board that show the outside of a facet: panels of sections, and outer cheeks."""
    cheeks = {joiner.cheeks[0] for joiner in joiners}
    shown = [part.face_up is FaceUp.OUTSIDE and (part.kind in _DRESSED or part.id in cheeks) for part in parts]
    return boards_among(parts, shown, runs)


def boards_among(parts: Sequence[Part], shown: Sequence[bool], runs: Sequence[Run]) -> Iterator[Board]:
    """Yield the regions of board of those parts that are shown, one flag a part, in the coordinates of the runs."""
    run_of = {facet: k for k, run in enumerate(runs) for facet in run.facets}
    for index, part in enumerate(parts):
        for panel in part.panels if shown[index] else ():
            if panel.facet < 0:
                continue
            run = run_of[panel.facet]
            there = shapely.intersection(shapely.make_valid(Polygon(panel.ring, panel.holes)), part.outline)
            for piece in shapely.get_parts(there):
                if isinstance(piece, Polygon) and piece.area > SNAP:
                    shape = shapely.transform(piece, lambda xy, p=panel, r=runs[run]: r.flatten(p.stands.apply(xy)))
                    yield Board(index, panel, run, shape)


def covered_stretches(joiners: Sequence[Joiner], runs: Sequence[Run]) -> dict[int, list[tuple[float, float]]]:
    """Return the stretches along every run that cheeks cover, (from, to) mm."""
    run_of = {facet: k for k, run in enumerate(runs) for facet in run.facets}
    covered: dict[int, list[tuple[float, float]]] = {}
    for joiner in joiners:
        k = run_of[joiner.end_facets[0]]
        middle = float(runs[k].flatten(joiner.line)[:, 0].mean())
        covered.setdefault(k, []).append((middle - joiner.cheek_width / 2, middle + joiner.cheek_width / 2))
    return covered


def regions_on(
    solid: Solid, facets: Facets, run: Run, named: Mapping[str, Finish] | frozenset[str]
) -> list[tuple[str, shapely.Geometry | None]]:
    """Return the finishes on a run with where they are, in its coordinates; None where they are everywhere."""
    shown: dict[str, list[tuple[str, int]]] = {}
    for facet_id in run.facets:
        facet = facets.facets[facet_id]
        source = facets.source_of(facet)
        for face in facet.faces:
            shown.setdefault(facets.finishes.get((source, face), ""), []).append((source, face))
    if len(shown) == 1:
        name = next(iter(shown))
        return [(name, None)] if name in named else []
    rings = {
        (solid.sources[source], face): ring
        for ring, face, source in zip(solid.faces, solid.face_ids, solid.face_sources, strict=True)
    }
    regions = []
    for name in sorted(set(named) & shown.keys()):
        faces = [Polygon(run.flatten(solid.points[list(rings[key])])) for key in dict.fromkeys(shown[name])]
        # faces share edges that noise of the model puts apart
        whole = shapely.union_all([shapely.make_valid(face).buffer(SNAP, join_style="mitre") for face in faces])
        regions.append((name, whole))
    return regions


def openings_on(facets: Facets, run: Run) -> list[tuple[Opening, Polygon]]:
    """Return the openings that stand in a run as things of their own, with their outlines in its coordinates."""
    found = []
    for opening in facets.openings:
        away = abs(float((opening.origin - run.frame.origin) @ run.frame.n))
        if away < _NEAR and abs(float(opening.across @ run.frame.n)) > _ALONGSIDE:
            found.append((opening, Polygon(run.flatten(opening.points))))
    return found


def _whole(holes: Sequence[Polygon], barred: Sequence[Polygon], outline: shapely.Geometry) -> list[Polygon]:
    """Return the openings of a surface, each whole, whatever stands in it. barred: those with bars or boards."""
    inner = [hole.representative_point() for hole in holes]
    there = [hole for hole in barred if outline.intersects(hole)]
    return [hole for hole, point in zip(holes, inner, strict=True) if not any(b.contains(point) for b in there)] + there


def surface_of(facets: Facets, run: Run, boards: Sequence[Board], covered: Sequence[tuple[float, float]]) -> Surface:
    """Return the surface of all boards of a run: doors reach its foot, windows do not."""
    barred = [
        outline for opening, outline in openings_on(facets, run) if opening.filling is not None and opening.leaf is None
    ]
    whole = shapely.union_all([board.shape.buffer(SNAP, join_style="mitre") for board in boards])
    outlines = [polygon for polygon in shapely.get_parts(whole) if isinstance(polygon, Polygon)]
    x0, y0, x1, y1 = whole.bounds
    filled = [_without_doors(Polygon(outline.exterior), y0) for outline in outlines]
    openings = [Polygon(hole) for outline in outlines for hole in outline.interiors]
    openings += [door for _, doors in filled for door in doors]
    outline = shapely.union_all([area for area, _ in filled])
    modelled = _modelled(facets, run)
    kept = tuple(
        opening
        for opening in _whole(openings, barred, outline)
        if opening.area > _LEAST_OPENING and modelled.intersects(opening)
    )
    rise = run.rise
    return Surface((x0, y0, x1, y1), outline, kept, tuple(covered), run.ring, rise, max(run.reach, y1))


def _modelled(facets: Facets, run: Run) -> shapely.Geometry:
    """Return what is open in a run by the maker's own model: slots that we cut for signs and tabs are not."""
    outlines, holes = [], []
    for index in run.facets:
        facet = facets.facets[index]
        outer, *inner = (Polygon(run.flatten(facets.points[list(ring)])) for ring in facet.rings)
        outlines.append(outer)
        holes += inner
    holes += [outline for _, outline in openings_on(facets, run)]
    solid = shapely.union_all([shapely.make_valid(outline) for outline in outlines])
    x0, y0, x1, y1 = solid.bounds
    # doors are notches of the outline
    return shapely.union_all([*map(shapely.make_valid, holes), box(x0, y0, x1, y1).difference(solid)])


def _without_doors(outline: Polygon, foot: float) -> tuple[Polygon, list[Polygon]]:
    """Return an outline with its doorways filled, and those: what is missing of it above its foot, between walls."""
    x0, _, x1, y1 = outline.bounds
    missing = shapely.difference(box(x0, foot, x1, y1), outline)
    doors = []
    for piece in shapely.get_parts(missing):
        px0, py0, px1, _ = piece.bounds
        if py0 < foot + _AT_FOOT and px0 > x0 + SNAP and px1 < x1 - SNAP:
            doors.append(piece)
    filled = shapely.union_all([outline, *(door.buffer(SNAP, join_style="mitre") for door in doors)])
    if isinstance(filled, MultiPolygon):
        filled = max(filled.geoms, key=lambda hole: hole.area)
    return Polygon(filled.exterior), doors


def free_area(
    part: Part, board: Board, run: Run, where: shapely.Geometry | None, edge: float, surface: Surface
) -> shapely.Geometry:
    """Return where lines may lie on a board, in the part frame: off edges, lattices and what a cheek covers.

    where: of the run bears the finish, in its coordinates, None for all of it; edge: what lines keep from edges, mm.
    """
    free = flat_area(board, run, board.shape).buffer(-edge, join_style="mitre")
    zones = [Polygon(lattice.zone).buffer(edge, join_style="mitre") for lattice in part.lattices]
    if zones:
        free = free.difference(shapely.union_all(zones))
    if part.kind is not PartKind.CHEEK and surface.joiners:
        _, y0, _, y1 = surface.box
        hidden = [box(low + _UNDER_CHEEK, y0 - 1.0, high - _UNDER_CHEEK, y1 + 1.0) for low, high in surface.joiners]
        free = free.difference(flat_area(board, run, shapely.union_all(hidden)))
    return free if where is None else free.intersection(flat_area(board, run, where))


def flat(board: Board, run: Run, points: np.ndarray) -> np.ndarray:
    """Return points of a run, (..., 2) mm, in the part frame."""
    moved: np.ndarray = board.panel.stands.back(run.raise_(points.reshape(-1, 2)))[:, :2]
    return moved.reshape(points.shape)


def flat_area(board: Board, run: Run, area: shapely.Geometry) -> shapely.Geometry:
    return shapely.transform(area, lambda points: flat(board, run, points))


def _filled_on(
    board: Board, run: Run, dark: shapely.Geometry, free: shapely.Geometry, spacing: float
) -> list[np.ndarray]:
    """Return hatching of dark fields where it is free on a board, in the part frame; along the longer side of each.

    dark: in the coordinates of the run; free: in the part frame.
    """
    shapely.prepare(free)
    fields = flat_area(board, run, dark)
    fields = fields.buffer(-spacing / 2, join_style="mitre")
    polygons = shapely.get_parts(shapely.intersection(shapely.get_parts(fields), free))
    polygons = shapely.get_parts(polygons)
    polygons = polygons[shapely.get_type_id(polygons) == shapely.GeometryType.POLYGON]
    if not len(polygons):
        return []
    x0, y0, x1, y1 = shapely.bounds(polygons).T
    tall = y1 - y0 > x1 - x0
    strokes = []
    for own, turn in ((polygons[~tall], 0.0), (polygons[tall], math.pi / 2)):
        rings = shapely.get_rings(own)
        strokes += ordered(hatch([shapely.get_coordinates(ring)[:-1] for ring in rings], spacing, turn=turn))
    return strokes


def _on_board(
    part: Part,
    board: Board,
    run: Run,
    drawing: tuple[list[np.ndarray], list[np.ndarray], shapely.Geometry],
    where: shapely.Geometry | None,
    finish: Finish,
    free: shapely.Geometry,
) -> list[np.ndarray]:
    """Return what of a drawing lies on a board, in the part frame. free: where lines may lie there."""
    pattern, around, taken = drawing
    # grown by a hair, so that a line of the pattern on the edge of a frame is not drawn once more
    bare = free.difference(flat_area(board, run, taken).buffer(SNAP, join_style="mitre"))
    lines = clip([flat(board, run, block) for block in pattern], bare)
    if finish.over_bends and run.upright and where is None:
        lines += _over_bends(part, board, [flat(board, run, _level_lines(block)) for block in pattern], finish.edge)
    return lines + clip([flat(board, run, block) for block in around], free)


def _level_lines(block: np.ndarray) -> np.ndarray:
    """Return the level lines of a block, (n, 2, 2) mm, one for each height."""
    if block.shape[1] != 2:
        return np.empty((0, 2, 2))
    level = block[block[:, 0, 1] == block[:, 1, 1]]
    _, first = np.unique(level[:, 0, 1], return_index=True)
    return level[np.sort(first)]


def _over_bends(part: Part, board: Board, levels: Sequence[np.ndarray], edge: float) -> list[np.ndarray]:
    """Return the level lines, (n, 2, 2) mm in the part frame, over the lattices that hang on a board, up to both walls.

    The next board's lines begin where these end, since a lattice is as long as the pattern counts it.
    """
    lines = []
    for placed in part.lattices:
        if part.panels[placed.parent] is not board.panel or placed.swing:
            continue
        wide, long = placed.lattice.flat_width, placed.lattice.axis_length
        for block in levels:
            heights = (block[:, 0] - placed.origin) @ placed.along
            for height in heights[(heights > edge) & (heights < long - edge)]:
                lines.append(placed.place([(-edge, height), (wide + edge, height)]))
    return lines
