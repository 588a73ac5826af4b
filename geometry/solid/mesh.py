"""The mesh behind a solid: points welded, faces checked and turned the same way, neighbours paired."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import NamedTuple

import numpy as np

from ..errors import UnreadableError
from ..findings import Finding, Location, Severity, place
from ..sentence import FaceRef, Sentence
from ..tolerance import AREA, WELD
from .connected import connected
from .crowded import faces_that_go_on
from .lost_marks import lost_marks
from .sew import check_gaps, sew, stitch_notes
from .solid import Role, Solid
from .stitch import Rims, find_stitches

__all__ = ["Mesh", "areas", "connected", "facing", "read_mesh"]


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """Faces as half-edges: one per side of each face, in face order.

    points: (n, 3) mm. weld: (n,) the point that stands for each. ids: index of each face in the solid.
    face: (h,) face of a half-edge; start, end: (h,) its points, along the face's ring. mate: (h,) the half-edge on
    the other side, -1 where the surface ends or more than two faces meet. role, host: (h,) mark and host edge id;
    source: (h,) object of the host edge.
    normal: (f, 3) unit; area: (f,) mm^2; centre: (f, 3) mean of the corners.
    shell: (f,) label of the connected surface. turned: (f,) whether the face was reversed to agree
    with its shell.
    """

    points: np.ndarray
    weld: np.ndarray
    ids: np.ndarray
    face: np.ndarray
    start: np.ndarray
    end: np.ndarray
    mate: np.ndarray
    role: np.ndarray
    host: np.ndarray
    source: np.ndarray
    normal: np.ndarray
    area: np.ndarray
    centre: np.ndarray
    shell: np.ndarray
    turned: np.ndarray
    findings: tuple[Finding, ...]

    def location_of(self, solid: Solid, faces: np.ndarray) -> Location:
        """Return where faces are, (k,) indices into this mesh of ``solid``: their host ids and the middle of them."""
        return Location(
            faces=tuple(sorted({int(solid.face_ids[k]) for k in self.ids[faces].tolist()})),
            source=solid.sources[solid.face_sources[int(self.ids[faces[0]])]],
            point=place(self.centre[faces].mean(axis=0)),
        )


def read_mesh(solid: Solid, bodies: np.ndarray | None = None) -> Mesh:
    """Weld, check, pair and orient the faces of a solid; free edges that lie on one another are stitched.

    bodies: (n,) number of the body that every point belongs to; nothing of different bodies is joined.
    Raises UnreadableError where no face has an area.
    """
    bodies = np.zeros(len(solid.points), dtype=int) if bodies is None else bodies
    weld = _weld(solid.points, bodies)
    mesh = _read(solid, weld)
    rims, host = _rims(mesh)
    notes: tuple[Finding, ...] = ()
    stitches = find_stitches(mesh.points, rims, bodies)
    if stitches is not None:
        notes = stitch_notes(solid, rims, stitches, host)
        solid = sew(solid, weld, rims, stitches)
        mesh = _read(solid, _weld(solid.points, bodies))
        rims, host = _rims(mesh)
    notes += check_gaps(solid, mesh.points, rims, host, bodies)
    return replace(mesh, findings=(*mesh.findings, *notes)) if notes else mesh


def _rims(mesh: Mesh) -> tuple[Rims, np.ndarray]:
    """Return the free edges of a mesh, and the host edge of each, (k,)."""
    rim = np.flatnonzero(mesh.mate < 0)
    own = mesh.face[rim]
    return Rims(mesh.start[rim], mesh.end[rim], own, mesh.ids[own], mesh.normal[own], mesh.centre[own]), mesh.host[rim]


def _read(solid: Solid, weld: np.ndarray) -> Mesh:
    faces, findings = _usable_faces(solid, weld)
    face = np.repeat(np.arange(len(faces.ids)), faces.counts)
    start, end = faces.corner, faces.corner[_ahead(faces.counts)]
    mate, crowded = _pair(start, end, len(solid.points))
    mate, crowded = _pair_crowded(solid.points, faces, face, start, end, mate, crowded)
    flip, shell, torn = _orient(face, start, end, mate, len(faces.ids))
    mate = np.where(torn, -1, mate)
    reversed_ = flip[face]
    start, end = np.where(reversed_, end, start), np.where(reversed_, start, end)
    role, host, source = _marks(solid, weld, start, end)
    findings += lost_marks(solid, weld, start, end)
    for where, what in (
        (crowded, "more than two faces meet"),
        (torn, "the surface twists over onto its back"),
    ):
        for name in np.unique(source[where]):
            here = where & (source == name)
            middle = solid.points[np.concatenate([start[here], end[here]])].mean(axis=0)
            findings.append(_crossing(solid, host[here], int(name), what, middle))
    return Mesh(
        points=solid.points,
        weld=weld,
        ids=faces.ids,
        face=face,
        start=start,
        end=end,
        mate=mate,
        role=role,
        host=host,
        source=source,
        normal=np.where(flip[:, None], -faces.normal, faces.normal),
        area=faces.area,
        centre=faces.centre,
        shell=shell,
        turned=flip,
        findings=tuple(findings),
    )


def _weld(points: np.ndarray, bodies: np.ndarray) -> np.ndarray:
    """Return for every point the first point of its body within WELD of it, (n,) int."""
    # along a slanted line points of a regular building do not share a coordinate, so windows stay short
    key = points @ np.array([0.5377, 0.6143, 0.5776])
    order = np.argsort(key, kind="stable")
    pairs = [np.zeros((2, 0), dtype=int)]
    for step in range(1, len(points)):
        one, two = order[:-step], order[step:]
        near = key[two] - key[one] <= WELD
        if not near.any():
            break
        same = near & (bodies[one] == bodies[two]) & (np.linalg.norm(points[two] - points[one], axis=1) <= WELD)
        pairs.append(np.array([one[same], two[same]]))
    return connected(len(points), *np.concatenate(pairs, axis=1))


class _Faces(NamedTuple):
    """Faces as corners one after another, (h,), their number per face, index in the solid, and plane of each, (f,)."""

    corner: np.ndarray
    counts: np.ndarray
    ids: np.ndarray
    normal: np.ndarray
    area: np.ndarray
    centre: np.ndarray

    def only(self, kept: np.ndarray) -> _Faces:
        """Return the faces where ``kept``, (f,) bool, holds."""
        if kept.all():
            return self
        return _Faces(self.corner[np.repeat(kept, self.counts)], *(column[kept] for column in self[1:]))


def _usable_faces(solid: Solid, weld: np.ndarray) -> tuple[_Faces, list[Finding]]:
    """Return the welded faces that have an area, each set of corners once, and what was wrong with the others.

    Raises UnreadableError where no face has an area.
    """
    corner = weld[np.fromiter(chain.from_iterable(solid.faces), dtype=int)]
    counts = np.fromiter(map(len, solid.faces), dtype=int, count=len(solid.faces))
    ids = np.flatnonzero(counts)
    counts = counts[ids]
    # a side that welding has shrunk to a point is no side any more
    side = corner != corner[_behind(counts)]
    corner, counts = corner[side], np.add.reduceat(side, _begins(counts), dtype=int)
    ids, counts = ids[counts > 0], counts[counts > 0]
    if len(ids):
        faces = _Faces(corner, counts, ids, *_planes(solid.points, corner, counts))
        whole = faces.only((counts > 2) & (faces.area >= AREA))
    if len(ids) == 0 or len(whole.ids) == 0:
        raise UnreadableError(
            f"No face of {' and '.join(solid.sources)} has an area, since it measures {_size(solid.points)} mm; "
            "check its scale, or model the walls as faces first."
        )
    first = _first_of_its_kind(whole.corner, whole.counts)
    empty = np.setdiff1d(np.arange(len(solid.faces)), whole.ids)
    _check_flattened(solid, empty)
    return whole.only(first), _bad_faces(solid, empty.tolist(), whole.ids[~first].tolist())


def _check_flattened(solid: Solid, empty: np.ndarray) -> None:
    """Raise UnreadableError for an object most of whose faces lost their area, as a scale of 0 does it."""
    sources = np.array(solid.face_sources)
    for source, count in zip(*np.unique(sources[empty], return_counts=True), strict=True):
        own = np.flatnonzero(sources == source)
        if 2 * int(count) > len(own):
            points = solid.points[[point for k in own.tolist() for point in solid.faces[k]]]
            raise UnreadableError(
                f"{count} of the {len(own)} faces of {solid.sources[source]} have no area, since it measures "
                f"{_size(points)} mm; check its scale, or delete these faces."
            )


def _size(points: np.ndarray) -> str:
    """Return the size of the box round points, (k, 3) mm, in words."""
    return " x ".join(f"{side:.4g}" for side in np.ptp(points, axis=0)) if len(points) else "0 x 0 x 0"


def _begins(counts: np.ndarray) -> np.ndarray:
    """Return where each face begins when faces of ``counts`` corners lie one after another."""
    return np.cumsum(counts) - counts


def _behind(counts: np.ndarray) -> np.ndarray:
    """Return for every corner the place of the one before it round its face."""
    behind = np.arange(int(counts.sum())) - 1
    behind[_begins(counts)] += counts
    return behind


def _ahead(counts: np.ndarray) -> np.ndarray:
    """Return for every corner the place of the one after it round its face."""
    ahead = np.arange(int(counts.sum())) + 1
    ahead[_begins(counts) + counts - 1] -= counts
    return ahead


def _first_of_its_kind(corner: np.ndarray, counts: np.ndarray) -> np.ndarray:
    """Return whether no face before has the same corners, (f,) bool."""
    first = np.ones(len(counts), dtype=bool)
    begins = _begins(counts)
    # faces of the same corners have the same sum of scrambled numbers; only those few are compared by corner
    scrambled = (corner.astype(np.uint64) + np.uint64(1)) * np.uint64(0x9E3779B97F4A7C15)
    scrambled *= scrambled ^ (scrambled >> np.uint64(29))
    sums = np.add.reduceat(scrambled, begins)
    order = np.argsort(sums, kind="stable")
    same = sums[order[1:]] == sums[order[:-1]]
    seen: set[tuple[int, ...]] = set()
    for face in np.unique(np.concatenate([order[1:][same], order[:-1][same]])).tolist():
        key = tuple(sorted(corner[begins[face] : begins[face] + counts[face]].tolist()))
        first[face] = key not in seen
        seen.add(key)
    return first


def _bad_faces(solid: Solid, empty: Iterable[int], repeated: Iterable[int]) -> list[Finding]:
    def in_order_of_host(faces: Iterable[int]) -> list[int]:
        return sorted(faces, key=lambda k: (solid.face_sources[k], solid.face_ids[k]))

    return [
        *(_left_out(solid, k, "zero-area-face", "has no area") for k in in_order_of_host(empty)),
        *(
            _left_out(solid, k, "duplicate-face", "lies on another face with the same corners")
            for k in in_order_of_host(repeated)
        ),
    ]


def _left_out(solid: Solid, face: int, code: str, what: str) -> Finding:
    """Tell of a face, by its index, that is left out."""
    number, source = solid.face_ids[face], solid.sources[solid.face_sources[face]]
    middle = place(solid.points[list(solid.faces[face])].mean(axis=0)) if solid.faces[face] else None
    return Finding(
        Severity.NOTE,
        code,
        Sentence.of(FaceRef(number, source), f" of {source} {what}; it is left out."),
        Location(faces=(number,), source=source, point=middle),
    )


def _pair(start: np.ndarray, end: np.ndarray, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Return each half-edge's mate, -1 where it has none, and where more than two share an edge."""
    key = np.minimum(start, end) * count + np.maximum(start, end)
    order = np.argsort(key, kind="stable")
    _, first, uses = np.unique(key[order], return_index=True, return_counts=True)
    mate = np.full(len(start), -1)
    twos = first[uses == 2]
    mate[order[twos]] = order[twos + 1]
    mate[order[twos + 1]] = order[twos]
    crowded = np.zeros(len(start), dtype=bool)
    for begin, many in zip(first[uses > 2], uses[uses > 2], strict=True):
        crowded[order[begin : begin + many]] = True
    return mate, crowded


def _pair_crowded(
    points: np.ndarray,
    faces: _Faces,
    face: np.ndarray,
    start: np.ndarray,
    end: np.ndarray,
    mate: np.ndarray,
    crowded: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    """Pair the faces that go on into each other at edges of more than two; the others end there as free edges."""
    if not crowded.any():
        return mate, crowded
    paired = np.flatnonzero(mate > np.arange(len(mate)))
    bodies = connected(len(faces.ids), face[paired], face[mate[paired]])
    mate, crowded = mate.copy(), crowded.copy()
    halves = np.flatnonzero(crowded)
    low, high = np.minimum(start, end)[halves], np.maximum(start, end)[halves]
    _, group = np.unique(low * len(points) + high, return_inverse=True)
    for k in range(int(group.max()) + 1):
        own = halves[group == k]
        which = face[own]
        ends = points[[start[own[0]], end[own[0]]]]
        pairs = faces_that_go_on(ends, faces.normal[which], faces.centre[which], faces.area[which], bodies[which])
        if pairs is None:
            continue
        for one, two in own[np.array(pairs)]:
            mate[one], mate[two] = two, one
        crowded[own] = False
    return mate, crowded


def _orient(
    face: np.ndarray, start: np.ndarray, end: np.ndarray, mate: np.ndarray, count: int
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return which faces to reverse so that neighbours agree, the shell of each, and where that is impossible."""
    paired = np.flatnonzero(mate > np.arange(len(mate)))
    one, two = face[paired], face[mate[paired]]
    against = start[paired] == start[mate[paired]]  # both run the same way: the faces disagree
    if not against.any():
        return np.zeros(count, dtype=bool), connected(count, one, two), np.zeros(len(mate), dtype=bool)
    # every face once as given (k) and once reversed (count + k): what hangs together then agrees
    crossed = np.where(against, two + count, two)
    other = np.where(against, two, two + count)
    label = connected(2 * count, np.concatenate([one, one + count]), np.concatenate([crossed, other]))
    given, reversed_ = label[:count], label[count:]
    shell = np.minimum(given, reversed_)
    flip = given != shell
    for first in np.unique(shell[given == reversed_]):
        # a surface that twists over onto its back hangs together with its own reverse
        own = shell[one] == first
        _spread(int(first), one[own], two[own], against[own], flip)
    torn = np.zeros(len(mate), dtype=bool)
    wrong = paired[flip[one] ^ flip[two] ^ against]
    torn[wrong] = torn[mate[wrong]] = True
    return flip, shell, torn


def _spread(first: int, one: np.ndarray, two: np.ndarray, against: np.ndarray, flip: np.ndarray) -> None:
    """Walk a shell from its first face and reverse every face that disagrees with the one it was reached from."""
    near: dict[int, list[tuple[int, bool]]] = {}
    for a, b, odd in zip(one.tolist(), two.tolist(), against.tolist(), strict=True):
        near.setdefault(a, []).append((b, odd))
        near.setdefault(b, []).append((a, odd))
    known = {first}
    front = [first]
    for here in front:
        for there, odd in near.get(here, ()):
            if there not in known:
                known.add(there)
                flip[there] = flip[here] ^ odd
                front.append(there)


def _marks(
    solid: Solid, weld: np.ndarray, start: np.ndarray, end: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return role, host edge id and source of every half-edge; of edges welded together a marked one counts."""
    count = len(solid.points)
    pairs = np.sort(weld[np.fromiter(chain.from_iterable(solid.edges), dtype=int).reshape(-1, 2)], axis=1)
    known = pairs[:, 0] * count + pairs[:, 1]
    roles = np.fromiter(solid.edge_roles, dtype=int, count=len(solid.edges))
    # marked edges first, so that a mark survives welding with an unmarked twin
    order = np.lexsort((np.arange(len(known)), -roles, known))
    keys, first = np.unique(known[order], return_index=True)
    pick = order[first]
    wanted = np.minimum(start, end) * count + np.maximum(start, end)
    at = np.clip(np.searchsorted(keys, wanted), 0, len(keys) - 1)
    hit = keys[at] == wanted
    row = pick[at]
    host = np.where(hit, np.array(solid.edge_ids, dtype=int)[row], -1)
    role = np.where(hit, roles[row], int(Role.PLAIN))
    source = np.where(hit, np.array(solid.edge_sources, dtype=int)[row], 0)
    return role, host, source


def _planes(points: np.ndarray, corner: np.ndarray, counts: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return unit normal (Newell), area and mean corner of every face; the normal is 0 where there is no area."""
    begins = _begins(counts)
    placed = points[corner]
    centre = np.add.reduceat(placed, begins) / counts[:, None]
    # about the face's own centre, where products of coordinates stay small
    x, y, z = (placed - np.repeat(centre, counts, axis=0)).T
    ahead = _ahead(counts)
    turns = (y * z[ahead] - z * y[ahead], z * x[ahead] - x * z[ahead], x * y[ahead] - y * x[ahead])
    vectors = 0.5 * np.column_stack([np.add.reduceat(turn, begins) for turn in turns])
    area = np.linalg.norm(vectors, axis=1)
    return vectors / np.where(area > 0.0, area, 1.0)[:, None], area, centre


def areas(points: np.ndarray, rings: Sequence[tuple[int, ...]]) -> np.ndarray:
    """Return the area of every ring of points, (k,) mm^2; 0 for one without corners. points: (n, 3) mm."""
    return _planes_of(points, rings)[1]


def facing(points: np.ndarray, rings: Sequence[tuple[int, ...]]) -> np.ndarray:
    """Return the unit normal of every ring of points, (k, 3), 0 for one without area. points: (n, 3) mm."""
    return _planes_of(points, rings)[0]


def _planes_of(points: np.ndarray, rings: Sequence[tuple[int, ...]]) -> tuple[np.ndarray, np.ndarray]:
    """Return unit normals, (k, 3), and areas, (k,), of rings of points; 0 for one without corners."""
    counts = np.fromiter(map(len, rings), dtype=int, count=len(rings))
    normal, area = np.zeros((len(rings), 3)), np.zeros(len(rings))
    some = counts > 0
    if some.any():
        corner = np.fromiter(chain.from_iterable(rings), dtype=int, count=int(counts.sum()))
        normal[some], area[some], _ = _planes(points, corner, counts[some])
    return normal, area


def _crossing(solid: Solid, host: np.ndarray, source: int, what: str, middle: np.ndarray) -> Finding:
    edges = tuple(int(edge) for edge in np.unique(host[host >= 0]))
    number = f"{len(edges)} edges" if len(edges) > 1 else "an edge"
    return Finding(
        Severity.ERROR,
        "open-or-crossing-solid",
        f"At {number} of {solid.sources[source]} {what}; part the faces there so that each edge joins two at most.",
        Location(edges=edges, source=solid.sources[source], point=place(middle)),
    )
