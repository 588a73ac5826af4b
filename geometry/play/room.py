"""Room: the walls of a building as they stand in the way, and the squares that they enclose.

Walls are boards: an inner and an outer face with reveals round every opening and along every rim, mitred
where boards meet at a corner. What of an end wall rises above the eaves is a blocker of its own, so that it
can be weighed against a roof that takes it off; roof boards are left out where the roof is lifted.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon, box
from shapely.geometry.polygon import orient

from ..errors import GeometryError
from ..part import Part, PartKind
from ..polygons import polygons_in
from ..settings import BuildSettings
from ..solid.facets import Facet, Facets, Frame, ShellKind
from ..solid.places import name_facets
from ..solid.solid import Role
from ..tolerance import AREA, COPLANAR_ANGLE, SNAP
from ..unfold.section import outward
from ..unfold.setbacks import stock_for
from .table_top import Blocker, BlockerKind, Squares

__all__ = ["room_blockers", "room_squares"]

#: Corners sharper than this stay without a mitre, which would run out too far, radians.
_SHARPEST = math.radians(150.0)

#: A square belongs to the room where more than this share of it does (common practice, no source).
_IN_ROOM = 0.5

#: Trim that reaches over an opening, as its id ends.
_OVER_OPENINGS = frozenset({"head", "jamb", "sill", "foot", "frame"})

Ring = tuple[np.ndarray, ...]


def room_blockers(
    facets: Facets, settings: BuildSettings, *, roof: bool = False, cheeks: Sequence[Part] = ()
) -> tuple[Blocker, ...]:
    """Return the boards of a building as bodies that block sight, walls first.

    roof: whether it is on. cheeks: parts, of which those are taken that are cheeks of joiners or frames of openings.
    """
    standing: list[tuple[BlockerKind, Sequence[Facet], tuple[Ring, ...]]] = []
    eaves = _eaves(facets)
    taken: set[int] = set()
    for facet in facets.facets:
        if facet.id in taken or _is_floor(facets, facet):
            continue
        shell = facets.shell_of(facet)
        upstand = shell.stands_on and not facets.is_porch(shell)
        if upstand or not facet.upright:
            above = float(facets.corners(facet)[:, 2].max()) > eaves.get(facet.shell, -np.inf) + SNAP
            # dormers and chimneys are lifted off with the roof
            roofing = upstand or shell.kind is ShellKind.ROOF or (above and facet.frame.n[2] > 0.0)
            if roof or not roofing:
                faces = _board(facets, facet, settings, _outline(facets, facet))
                standing.append((BlockerKind.ROOF if roofing else BlockerKind.WALL, (facet,), faces))
            continue
        run = _run(facets, facet)
        taken.update(facet.id for facet in run)
        low: list[Ring] = []
        high: list[Ring] = []
        for facet in run:
            level = max(eaves.get(facet.shell, -np.inf), _lowest_top(facets, facet)) - facet.frame.origin[2]
            whole = _outline(facets, facet)
            left, bottom, right, top = whole.bounds
            if top <= level + SNAP:
                low += _board(facets, facet, settings, whole)
                continue
            low += _board(facets, facet, settings, whole.intersection(box(left - 1, bottom - 1, right + 1, level)))
            rising = whole.intersection(box(left - 1, level, right + 1, top + 1))
            high += _board(facets, facet, settings, rising, mitred=False)
        standing.append((BlockerKind.WALL, run, tuple(low)))
        if high:
            standing.append((BlockerKind.GABLE, run, tuple(high)))
    boards = _named(facets, standing)
    joiners = [_cheek(part) for part in cheeks if part.kind is PartKind.CHEEK or _narrows(part)]
    roofs = [board for board in boards if board.kind is BlockerKind.ROOF]
    return (*(board for board in boards if board.kind is not BlockerKind.ROOF), *joiners, *roofs)


def _named(facets: Facets, standing: Sequence[tuple[BlockerKind, Sequence[Facet], tuple[Ring, ...]]]) -> list[Blocker]:
    """Return boards as blockers under the names of their places: walls, then gables, then what is a roof."""
    groups = {run[0].id: run for _, run, _ in standing}
    names = dict(zip(groups, name_facets(facets, tuple(groups.values())), strict=True))
    found = []
    for wanted in (BlockerKind.WALL, BlockerKind.GABLE, BlockerKind.ROOF):
        for kind, run, faces in standing:
            if kind is wanted:
                gable = "the gable of " if kind is BlockerKind.GABLE else ""
                found.append(Blocker(f"{gable}the {names[run[0].id]}", kind, faces, solid=True))
    return found


def _outline(facets: Facets, facet: Facet) -> Polygon:
    """Return a facet with its openings in its own plane."""
    rings = [facets.ring(facet, k) for k in range(len(facet.rings))]
    return Polygon(rings[0], rings[1:])


def _is_floor(facets: Facets, facet: Facet) -> bool:
    shell = facets.shell_of(facet)
    level = abs(float(facet.frame.n[2])) > 1.0 - COPLANAR_ANGLE
    return level and float(facet.frame.origin[2]) < facets.lowest(shell) + SNAP


def _eaves(facets: Facets) -> dict[int, float]:
    """Return per shell how high the lowest of its walls reaches, mm: that is where roofs rest."""
    tops: dict[int, float] = {}
    for facet in facets.facets:
        if facet.upright:
            top = float(facets.corners(facet)[:, 2].max())
            tops[facet.shell] = min(top, tops.get(facet.shell, np.inf))
    return tops


def _lowest_top(facets: Facets, facet: Facet) -> float:
    """Return how high the lowest end of a wall's upper rim lies, mm."""
    points = facets.ring(facet)
    ends = (points[:, 0] < points[:, 0].min() + SNAP, points[:, 0] > points[:, 0].max() - SNAP)
    return float(facet.frame.origin[2]) + min(float(points[end, 1].max()) for end in ends)


def _run(facets: Facets, facet: Facet) -> list[Facet]:
    """Return a wall with all that goes straight on beyond its breaks."""
    run = [facet]
    for here in run:
        for edge in facets.edges_of(here):
            far = facets.beyond(edge, here)
            straight = edge.role is Role.BREAK and abs(edge.angle) < COPLANAR_ANGLE
            if far is not None and straight and far not in run:
                run.append(far)
    return run


def _board(
    facets: Facets, facet: Facet, settings: BuildSettings, shape: shapely.Geometry, *, mitred: bool = True
) -> tuple[Ring, ...]:
    """Return the board over a region of a facet as closed bodies, outlines counter-clockwise seen from outside."""
    thickness = stock_for(facets, facet, settings).thickness
    ends = _mitres(facets, facet, thickness) if mitred and facet.upright else ()
    faces: list[Ring] = []
    for region in polygons_in(shape, above=AREA):
        solid = orient(region)
        rings = [np.array(ring.coords)[:-1] for ring in (solid.exterior, *solid.interiors)]
        faces += _prism(facet.frame, rings, [_moved(ring, ends) for ring in rings], 0.0, thickness)
    return tuple(faces)


def _mitres(facets: Facets, facet: Facet, thickness: float) -> tuple[tuple[float, float, float, float], ...]:
    """Return (u, lowest v, highest v, shift along u) of the upright sides where another wall joins at a corner."""
    ring, found = facets.ring(facet), []
    for k, edge in enumerate(facets.edges_of(facet)):
        far = facets.beyond(edge, facet)
        if far is None or not far.upright or not COPLANAR_ANGLE < abs(edge.angle) < _SHARPEST:
            continue
        one, two = ring[k], ring[(k + 1) % len(ring)]
        # counter-clockwise round, the right end is walked upward
        out = 1.0 if two[1] > one[1] else -1.0
        low, high = sorted((float(one[1]), float(two[1])))
        found.append((float(one[0]), low, high, out * thickness * math.tan(edge.angle / 2.0)))
    return tuple(found)


def _moved(ring: np.ndarray, ends: Sequence[tuple[float, float, float, float]]) -> np.ndarray:
    moved = ring.copy()
    for u, low, high, shift in ends:
        there = (np.abs(ring[:, 0] - u) < SNAP) & (ring[:, 1] > low - SNAP) & (ring[:, 1] < high + SNAP)
        moved[there, 0] += shift
    return moved


def _prism(frame: Frame, near: Sequence[np.ndarray], far: Sequence[np.ndarray], low: float, high: float) -> list[Ring]:
    """Return the faces between two outlines with holes, (k, 2) mm each, at two heights above a frame's plane."""
    bottom = [frame.raise_(ring, low) for ring in near]
    top = [frame.raise_(ring, high) for ring in far]
    faces: list[Ring] = [tuple(ring[::-1] for ring in bottom), tuple(top)]
    for one, two in zip(bottom, top, strict=True):
        after, above = np.roll(one, -1, axis=0), np.roll(two, -1, axis=0)
        for a, b, c, d in zip(one, after, above, two, strict=True):
            normal = np.cross(b - a, d - a)
            size = float(np.linalg.norm(normal))
            if size > AREA and abs(float(normal @ (c - a))) > AREA * size:
                # a mitred rim that slopes is twisted: two triangles
                faces += [(np.array([a, b, c]),), (np.array([a, c, d]),)]
            else:
                faces.append((np.array([a, b, c, d]),))
    return faces


def _narrows(part: Part) -> bool:
    """Whether a part is trim that reaches over an opening."""
    return part.kind is PartKind.TRIM and part.id.partition("-")[2] in _OVER_OPENINGS


def _cheek(part: Part) -> Blocker:
    """Return a cheek or a piece of trim as it stands."""
    faces: list[Ring] = []
    low, high = (0.0, part.thickness) if part.board_side > 0 else (-part.thickness, 0.0)
    for panel in part.panels:
        pose = panel.stands
        frame = Frame(pose.origin, pose.x, pose.y, pose.z)
        # a mirrored frame would turn the body inside out
        if np.linalg.det(pose.turn) < 0.0:
            raise GeometryError(f"{part.label} stands mirrored; lay the part out again.")
        solid = orient(Polygon(panel.ring, panel.holes))
        rings = [np.array(ring.coords)[:-1] for ring in (solid.exterior, *solid.interiors)]
        faces += _prism(frame, rings, rings, low, high)
    return Blocker(part.label, BlockerKind.JOINER, tuple(faces), solid=True)


def room_squares(facets: Facets, settings: BuildSettings, *, size: float = 25.4) -> Squares:
    """Return the scale grid over the plan of a building's walls.

    It runs along the longest wall, columns as near to x as can be, from the plan's lowest corner, where the
    squares engraved on a floor start, or a strip inside it. Squares are inside where more than half of them lies in the
    plan, without that strip.
    Raises GeometryError where the walls enclose no plan.
    """
    runs: list[np.ndarray] = []
    out: list[np.ndarray] = []
    for facet in facets.facets:
        if facets.is_wall(facet):
            points, u = facets.corners(facet), facets.ring(facet)[:, 0]
            runs.append(np.array([points[u.argmin(), :2], points[u.argmax(), :2]]))
            out.append(facet.frame.n[:2] * outward(facets, facet, settings))
    plan = _plan(runs, out)
    if plan.is_empty:
        raise GeometryError("The walls enclose no plan on which squares could lie; join their upright edges to a ring.")
    along = max((run[1] - run[0] for run in runs), key=lambda step: round(float(np.hypot(*step)), 3))
    angle = math.atan2(along[1], along[0])
    angle -= round(angle / (math.pi / 2)) * (math.pi / 2)
    # what single precision left of a right angle is none
    angle = 0.0 if abs(angle) < COPLANAR_ANGLE / 100.0 else angle
    u, v = np.array([math.cos(angle), math.sin(angle), 0.0]), np.array([-math.sin(angle), math.cos(angle), 0.0])
    corners = np.concatenate(runs)
    flat = np.column_stack([corners @ u[:2], corners @ v[:2]])
    strip = settings.ground.strip
    low = flat.min(axis=0) + strip
    columns, rows = (max(1, math.ceil((extent - 2.0 * strip - SNAP) / size)) for extent in np.ptp(flat, axis=0))
    level = min(facets.lowest(shell) for shell in facets.shells if shell.kind is not ShellKind.ROOF)
    origin = low[0] * u + low[1] * v + np.array([0.0, 0.0, level])
    plan = plan.buffer(-strip, join_style="mitre") if strip else plan
    turned = shapely.transform(plan, lambda p: np.column_stack([p @ u[:2], p @ v[:2]]) - low)
    x, y = np.meshgrid(np.arange(columns) * size, np.arange(rows) * size)
    share = shapely.area(shapely.intersection(shapely.box(x, y, x + size, y + size), turned)) / size**2
    inside = share > _IN_ROOM
    for array in (origin, u, v, inside):
        array.setflags(write=False)
    return Squares(origin, u, v, size, inside)


def _plan(runs: Sequence[np.ndarray], out: Sequence[np.ndarray]) -> shapely.Geometry:
    """Return the rooms between walls: areas round which the walls, by length, mostly look out."""
    if not runs:
        return Polygon()
    lines = shapely.linestrings(np.array(runs))
    areas = shapely.get_parts(shapely.polygonize(shapely.get_parts(shapely.union_all(lines, grid_size=SNAP))))
    middles = np.array([run.mean(axis=0) for run in runs])
    lengths = shapely.length(lines)
    within = shapely.points(middles - 5.0 * SNAP * np.array(out))
    beyond = shapely.points(middles + 5.0 * SNAP * np.array(out))
    rooms = [
        area
        for area in areas
        if float(lengths @ shapely.contains(area, within)) > float(lengths @ shapely.contains(area, beyond))
    ]
    return shapely.union_all(rooms)
