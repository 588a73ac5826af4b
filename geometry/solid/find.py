"""Finding facets: from the faces of a mesh to flat regions with straight edges between them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import copy
from dataclasses import replace
from itertools import pairwise

import numpy as np

from ..errors import BadSettingError, UnreadableError
from ..findings import place
from ..sentence import FaceRef, PointRef, Sentence
from ..tolerance import COPLANAR_ANGLE, SNAP, STRAIGHT, STRAIGHT_NOISE, STRAY, UPRIGHT
from .cut_openings import cut_openings
from .facets import Edge, Facet, Facets, Frame, Shell, ShellKind
from .merge import Regions
from .mesh import Mesh
from .ordering import first_corner, in_place_order, position_key, walk
from .shells import Side, lowest_level
from .solid import Role, Solid
from .straighten import straighten
from .surfaces import Surfaces, read_surfaces

__all__ = ["find_facets", "plane_frame"]

#: The order of shells: what stands before what rests on it.
_KINDS = (ShellKind.WALLS, ShellKind.SOLID, ShellKind.ROOF)


def find_facets(solid: Solid, *, wall_face: str = "inside", over: float | None = None) -> Facets:
    """Return the facets of a solid, its openings cut out, their edges with signed bend angles, and its shells.

    wall_face: "inside" where the modelled surface of walls is the inside of their board, "outside"
    where it is the outside; roofs and other solids always grow outward.
    over: how far a roof modelled in one surface with its walls, which becomes a shell of its own, is led over them,
    mm: as far as their boards reach out; None leaves such surfaces whole.
    Facets, edges and points are numbered by where they lie, whatever the order of the mesh; what is wrong with
    the mesh is among the findings.
    Raises UnreadableError where no face has an area.

    >>> facets = find_facets(solid)
    >>> len(facets.facets)
    5
    """
    if wall_face not in ("inside", "outside"):
        raise BadSettingError(f"The modelled face of walls is {wall_face!r}; choose inside or outside.")
    surfaces = read_surfaces(_straight(solid), over=over)
    mesh, outlines = surfaces.mesh, _outlines(surfaces, wall_face)
    _check_widths(surfaces.solid, mesh, surfaces.regions, outlines)
    inward = wall_face == "outside"
    sides, regions, outlines = _numbered(surfaces.sides, surfaces.regions, outlines, mesh, inward=inward)
    edges, ring_edges = _join_edges(outlines, mesh)
    facets = _facets(replace(surfaces, sides=sides, regions=regions), outlines, ring_edges)
    straightened = surfaces.solid.straightened
    assert straightened is not None
    found = Facets(
        points=mesh.points,
        facets=facets,
        edges=edges,
        shells=tuple(_shell(k, side, facets, edges, mesh, regions) for k, side in enumerate(sides)),
        sources=surfaces.solid.sources,
        noise=float(regions.noise.max()),
        read_noise=max(straightened.noise, float(regions.noise.max())),
        findings=(
            *straightened.findings,
            *surfaces.findings,
            *mesh.findings,
            *regions.findings,
            *(finding for side in sides for finding in side.findings),
        ),
        finishes=surfaces.solid.finishes,
    )
    return cut_openings(found, surfaces.solid.openings) if surfaces.solid.openings else found


def _outlines(surfaces: Surfaces, wall_face: str) -> list[_Outline]:
    """Return the outlines of all regions, seen from the side toward which their boards grow."""
    mesh, regions = surfaces.mesh, surfaces.regions
    reverse = np.zeros(len(regions.normal), dtype=bool)
    for side in surfaces.sides:
        reverse[list(side.regions)] = side.reverse ^ (wall_face == "outside" and side.kind is ShellKind.WALLS)
    own = regions.of_face[mesh.face]
    beyond = np.where(mesh.mate >= 0, own[mesh.mate], -1)
    border = np.flatnonzero(own != beyond)
    straight = _straightness(surfaces)
    return [
        _Outline(mesh, regions, region, border[mine], beyond, reverse=bool(reverse[region]), straight=straight)
        for region, mine in enumerate(_grouped(own[border], len(reverse)))
    ]


def _straightness(surfaces: Surfaces) -> dict[Role, float]:
    """Return how far points of a line may lie off it, by the line's role, mm."""
    assert surfaces.solid.straightened is not None
    straight = min(max(STRAIGHT, STRAIGHT_NOISE * surfaces.solid.straightened.usual), STRAY)
    # a break crosses triangles of its wall, and where it passes from one to the next they lie off the wall's plane
    of_breaks = min(max(straight, STRAIGHT_NOISE * float(surfaces.regions.noise.max())), STRAY)
    return {role: of_breaks if role is Role.BREAK else straight for role in Role}


def _facets(
    surfaces: Surfaces, outlines: Sequence[_Outline], ring_edges: Sequence[tuple[tuple[int, ...], ...]]
) -> tuple[Facet, ...]:
    """Return the facets of regions that are numbered by now, one for each outline."""
    solid, mesh = surfaces.solid, surfaces.mesh
    faces = [
        sorted(mesh.ids[mine].tolist(), key=lambda k: (solid.face_sources[k], solid.face_ids[k]))
        for mine in _grouped(surfaces.regions.of_face, len(outlines))
    ]
    shell_of = {region: k for k, side in enumerate(surfaces.sides) for region in side.regions}
    return tuple(
        Facet(
            id=k,
            faces=tuple(solid.face_ids[i] for i in faces[k]),
            source=solid.face_sources[faces[k][0]],
            shell=shell_of[k],
            rings=outline.rings,
            ring_edges=ring_edges[k],
            frame=outline.frame,
        )
        for k, outline in enumerate(outlines)
    )


def _straight(solid: Solid) -> Solid:
    """Return a solid straightened and in its own order."""
    return straighten(solid) if solid.straightened is None else in_place_order(solid)


def _numbered(
    sides: Sequence[Side], regions: Regions, outlines: Sequence[_Outline], mesh: Mesh, *, inward: bool
) -> tuple[tuple[Side, ...], Regions, list[_Outline]]:
    """Number shells and their regions by place: walls before roofs, the facet at the front left first, then on round.

    regions are given and returned with their shells and outlines, all of them numbered alike.
    inward: whether the board of walls grows into the room; their numbers stay those seen from outside.
    """
    keys = np.array([position_key(mesh.points[list(outline.rings[0])]).min() for outline in outlines])
    turns = position_key(np.array([outline.frame.n for outline in outlines]))
    beyond = [outline.neighbours for outline in outlines]
    level = np.abs(regions.normal[:, 2]) > UPRIGHT
    walked = []
    for side in sides:
        own = np.array(side.regions)
        if inward and side.kind is ShellKind.WALLS:
            turns[own] *= -1.0
            for region in side.regions:
                beyond[region].reverse()
        for region in side.regions:
            # walls come before their floor and lid
            beyond[region].sort(key=lambda near: bool(level[near]))
        # facets that begin at one corner differ by where they face; walls come before their floor
        near = own[keys[own] < keys[own].min() + SNAP]
        first = int(near[np.lexsort((turns[near], level[near]))[0]])
        walked.append((_KINDS.index(side.kind), float(keys[first]), walk(first, beyond), side))
    walked.sort(key=lambda entry: entry[:2])
    order = [region for *_, way, _ in walked for region in way]
    number = np.empty(len(order), dtype=int)
    number[order] = np.arange(len(order))
    return (
        tuple(
            replace(
                side,
                regions=tuple(number[way].tolist()),
                stands_on=tuple(int(number[slope]) for slope in side.stands_on),
            )
            for *_, way, side in walked
        ),
        regions.renumbered(order),
        [outlines[region].renumbered(number) for region in order],
    )


def _check_widths(solid: Solid, mesh: Mesh, regions: Regions, outlines: list[_Outline]) -> None:
    """Raise UnreadableError for a facet so narrow that its outline, or an opening in it, is a line."""
    for outline in outlines:
        if outline.rings and min(map(len, outline.rings)) > 2:
            continue
        faces = np.flatnonzero(regions.of_face == outline.region)
        points = mesh.points[mesh.start[np.isin(mesh.face, faces)]]
        width = float(mesh.area[faces].sum() / np.linalg.norm(np.ptp(points, axis=0)))
        given = int(mesh.ids[faces[0]])
        source = solid.sources[solid.face_sources[given]]
        narrow = f"is {width:.1g} mm wide, too narrow for any board" if width < SNAP else "has a gap without any width"
        raise UnreadableError(
            Sentence.of(
                FaceRef(solid.face_ids[given], source),
                f" of {source} ",
                PointRef(place(points.mean(axis=0))),
                f" {narrow}; delete it or merge its vertices by distance.",
            )
        )


def _grouped(labels: np.ndarray, count: int) -> list[np.ndarray]:
    """Return for each label 0 .. count - 1 the places that bear it, in order."""
    order = np.argsort(labels, kind="stable")
    return np.split(order, np.searchsorted(labels[order], np.arange(1, count)))


def plane_frame(normal: np.ndarray, centre: np.ndarray, points: np.ndarray) -> Frame:
    """Return the frame of a plane through ``centre``: v as steep as it can be, +y on level planes.

    The origin lies at the lowest, then leftmost of ``points``, (k, 3) mm, moved onto the plane.
    """
    n = normal / np.linalg.norm(normal)
    steep = np.array([0.0, 0.0, 1.0]) if abs(n[2]) < 1.0 - 1e-8 else np.array([0.0, 1.0, 0.0])
    # by cross products alone, since a difference would lose digits on planes that are nearly level
    u = _cross(steep, n)
    u /= np.linalg.norm(u)
    v = _cross(n, u)
    flat = (points - centre) @ np.column_stack([u, v])
    low = np.lexsort((flat[:, 0], np.round(flat[:, 1] / SNAP)))[0]
    origin = centre + flat[low, 0] * u + flat[low, 1] * v
    for axis in (origin, u, v, n):
        axis.setflags(write=False)
    return Frame(origin, u, v, n)


def _cross(one: np.ndarray, two: np.ndarray) -> np.ndarray:
    """Return the cross product of two vectors, (3,): numpy's own takes ten times as long for a single pair."""
    (a, b, c), (x, y, z) = one.tolist(), two.tolist()
    return np.array([b * z - c * y, c * x - a * z, a * y - b * x])


class _Outline:
    """The rings of one region, corners only, with what lies beyond every side."""

    def __init__(
        self,
        mesh: Mesh,
        regions: Regions,
        region: int,
        border: np.ndarray,
        beyond: np.ndarray,
        *,
        reverse: bool,
        straight: Mapping[Role, float],
    ) -> None:
        """straight: how far points of a line may lie off it, by the line's role, mm."""
        sign = -1.0 if reverse else 1.0
        self.frame = plane_frame(sign * regions.normal[region], regions.centre[region], mesh.points[mesh.start[border]])
        self.region = region
        starts, ends = (mesh.end, mesh.start) if reverse else (mesh.start, mesh.end)
        around = np.unique(mesh.start[border])
        plane = dict(zip(around.tolist(), self.frame.flatten(mesh.points[around]), strict=True))
        kind = {
            int(half): (int(far), Role(int(mesh.role[half])) if far >= 0 else Role.PLAIN)
            for half, far in zip(border, beyond[border], strict=True)
        }
        loops = _trace({int(h): (int(starts[h]), int(ends[h])) for h in border}, plane)
        drawn = [_corners(loop, kind, starts, mesh.points, straight) for loop in loops]
        drawn = [_from_first_corner(ring, plane) for ring in drawn]
        # the outline, then holes from the left to the right
        outline = max(drawn, key=lambda ring: abs(_area([plane[point] for point, _ in ring])))
        drawn.sort(key=lambda ring: (ring is not outline, *plane[ring[0][0]].tolist()))
        self.rings = tuple(tuple(point for point, _ in ring) for ring in drawn)
        self.sides = tuple(tuple(halves_ for _, halves_ in ring) for ring in drawn)
        self.kind = kind

    @property
    def neighbours(self) -> list[int]:
        """The regions beyond the sides, in their order round every ring."""
        return [far for ring in self.sides for halves in ring for far, _ in [self.kind[halves[0]]] if far >= 0]

    def renumbered(self, number: np.ndarray) -> _Outline:
        """Return the same outline where ``number``, (r,), says what regions are called now."""
        other = copy(self)
        other.region = int(number[self.region])
        other.kind = {half: (int(number[far]) if far >= 0 else far, role) for half, (far, role) in self.kind.items()}
        return other


def _from_first_corner(
    ring: list[tuple[int, tuple[int, ...]]], plane: dict[int, np.ndarray]
) -> list[tuple[int, tuple[int, ...]]]:
    """Return a ring that begins at its first corner."""
    first = first_corner(np.array([plane[point] for point, _ in ring]))
    return ring[first:] + ring[:first]


def _trace(halves: dict[int, tuple[int, int]], plane: dict[int, np.ndarray]) -> list[list[int]]:
    """Chain border half-edges, the facet on their left, into loops.

    Where loops touch in a point, turn right as far as possible: then no loop meets itself, and an
    opening that touches the outline or another opening stays an opening of its own.
    """
    leaving: dict[int, list[int]] = {}
    for half, (start, _) in halves.items():
        leaving.setdefault(start, []).append(half)
    loops = []
    left = dict.fromkeys(halves)
    while left:
        loop = [next(iter(left))]
        del left[loop[0]]
        while True:
            here = halves[loop[-1]]
            choices = [half for half in leaving[here[1]] if half in left or half == loop[0]]
            step = choices[0]
            if len(choices) > 1:
                turns = [_left_turn(plane, here, halves[half]) for half in choices]
                step = choices[turns.index(min(turns))]
            if step == loop[0]:
                break
            del left[step]
            loop.append(step)
        loops.append(loop)
    return loops


def _left_turn(plane: dict[int, np.ndarray], one: tuple[int, int], two: tuple[int, int]) -> float:
    a, b = plane[one[1]] - plane[one[0]], plane[two[1]] - plane[two[0]]
    return float(np.arctan2(a[0] * b[1] - a[1] * b[0], a @ b))


def _corners(
    loop: list[int],
    kind: dict[int, tuple[int, Role]],
    starts: np.ndarray,
    points: np.ndarray,
    straight: Mapping[Role, float],
) -> list[tuple[int, tuple[int, ...]]]:
    """Return (corner, half-edges of the side that leaves it) round a loop.

    A point stays where the loop turns or what lies beyond changes. Which points those are does not
    depend on the way round, so that both facets of a line agree.
    """
    count = len(loop)
    nodes = [int(starts[half]) for half in loop]
    fixed = [k for k in range(count) if kind[loop[k]] != kind[loop[k - 1]]]
    if not fixed:
        # the point farthest from any other one is a corner
        first = _farthest(nodes, points, min(nodes))
        fixed = sorted({first, _farthest(nodes, points, nodes[first])})
    kept = []
    for k, following in zip(fixed, [*fixed[1:], fixed[0] + count], strict=True):
        run = [nodes[i % count] for i in range(k, following + 1)]
        turned = (run[0], run[1]) > (run[-1], run[-2])
        bends = _bends(points[run[::-1] if turned else run], straight[kind[loop[k % count]][1]])
        kept += [k, *sorted(following - i if turned else k + i for i in bends)]
    return [
        (nodes[k % count], tuple(loop[i % count] for i in range(k, following)))
        for k, following in zip(kept, [*kept[1:], kept[0] + count], strict=True)
    ]


def _farthest(nodes: list[int], points: np.ndarray, origin: int) -> int:
    """Return the place in ``nodes`` of the point farthest from point ``origin``."""
    away = np.linalg.norm(points[nodes] - points[origin], axis=1)
    return min(range(len(nodes)), key=lambda k: (-float(away[k]), nodes[k]))


def _bends(run: np.ndarray, straight: float) -> list[int]:
    """Return which inner points of an open line, (k, 3) mm, must stay so that the others lie within ``straight`` of it.

    The farthest point of each stretch stays (Douglas and Peucker 1973); a point is never judged by
    its neighbours alone, since on a finely drawn arch every single turn is small.
    """
    kept = []
    stretches = [(0, len(run) - 1)]
    while stretches:
        first, last = stretches.pop()
        if last - first < 2:
            continue
        chord, offset = run[last] - run[first], run[first + 1 : last] - run[first]
        length = float(chord @ chord)
        share = np.clip(offset @ chord / length, 0.0, 1.0) if length > 0.0 else np.zeros(len(offset))
        away = np.linalg.norm(offset - share[:, None] * chord, axis=1)
        worst = int(away.argmax())
        if away[worst] > straight:
            middle = first + 1 + worst
            kept.append(middle)
            stretches += [(first, middle), (middle, last)]
    return kept


def _area(ring: list[np.ndarray]) -> float:
    corners = [point.tolist() for point in ring]
    return 0.5 * sum(a[0] * b[1] - a[1] * b[0] for a, b in pairwise([*corners, corners[0]]))


def _join_edges(outlines: list[_Outline], mesh: Mesh) -> tuple[tuple[Edge, ...], list[tuple[tuple[int, ...], ...]]]:
    """Number the sides of all outlines so that both facets of a line name the same Edge."""
    edges: list[Edge] = []
    known: dict[tuple[int, int, int, int], int] = {}
    ring_edges: list[tuple[tuple[int, ...], ...]] = []
    for outline in outlines:
        rings = []
        for ring, sides in zip(outline.rings, outline.sides, strict=True):
            ids = []
            for k, halves in enumerate(sides):
                start, end = ring[k], ring[(k + 1) % len(ring)]
                far, role = outline.kind[halves[0]]
                twin = known.get((end, start, far, outline.region)) if far >= 0 else None
                if twin is not None:
                    ids.append(twin)
                    continue
                known[start, end, outline.region, far] = len(edges)
                ids.append(len(edges))
                edges.append(
                    Edge(
                        id=len(edges),
                        start=start,
                        end=end,
                        left=outline.region,
                        right=far if far >= 0 else None,
                        role=role,
                        angle=_angle(mesh, outline, outlines[far], start, end, role) if far >= 0 else 0.0,
                        host_edges=tuple(int(mesh.host[h]) for h in halves if mesh.host[h] >= 0),
                        source=int(mesh.source[halves[0]]),
                    )
                )
            rings.append(tuple(ids))
        ring_edges.append(tuple(rings))
    return tuple(edges), ring_edges


def _angle(mesh: Mesh, one: _Outline, other: _Outline, start: int, end: int, role: Role) -> float:
    """Return the signed bend angle; 0 where a flat surface parts at a break or a closure."""
    along = mesh.points[end] - mesh.points[start]
    along = along / np.linalg.norm(along)
    angle = float(np.arctan2(_cross(one.frame.n, other.frame.n) @ along, one.frame.n @ other.frame.n))
    return 0.0 if role in (Role.BREAK, Role.CLOSURE) and abs(angle) < COPLANAR_ANGLE else angle


def _shell(
    index: int, side: Side, facets: tuple[Facet, ...], edges: tuple[Edge, ...], mesh: Mesh, regions: Regions
) -> Shell:
    points = mesh.points[[p for r in side.regions for p in facets[r].rings[0]]]
    bottom = None
    for region in side.regions if not side.stands_on else ():
        around = [edges[e] for ids in facets[region].ring_edges for e in ids]
        beyond = [edge.beyond(region) for edge in around]
        if (
            side.kind is not ShellKind.ROOF
            and lowest_level(points, regions.normal[region], regions.centre[region])
            and all(edge.role is Role.PLAIN for edge in around)
            and any(far is not None for far in beyond)
            and all(far is None or facets[far].upright for far in beyond)  # under a doorway no wall stands
        ):
            bottom = region
    return Shell(index, side.kind, side.regions, side.closed, bottom, side.stands_on)
