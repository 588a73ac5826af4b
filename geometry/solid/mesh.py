"""The mesh behind a solid: points welded, faces checked and turned the same way, neighbours paired."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from ..errors import UnreadableError
from ..findings import Finding, Location, Severity
from ..tolerance import AREA, WELD
from .solid import Role, Solid

__all__ = ["Groups", "Mesh", "place", "read_mesh"]


class Groups:
    """Union-find over 0 .. n - 1: which items belong together."""

    def __init__(self, count: int) -> None:
        self._parent = list(range(count))

    def find(self, item: int) -> int:
        """Return the representative of an item's group."""
        parent = self._parent
        while parent[item] != item:
            parent[item] = parent[parent[item]]
            item = parent[item]
        return item

    def join(self, pairs: Iterable[tuple[int, int]]) -> None:
        """Put both items of every pair into one group; the smallest item represents it."""
        for a, b in pairs:
            one, two = self.find(a), self.find(b)
            if one != two:
                self._parent[max(one, two)] = min(one, two)

    def labels(self) -> np.ndarray:
        """Return the representative of every item, (n,) int."""
        return np.array([self.find(item) for item in range(len(self._parent))], dtype=int)


@dataclass(frozen=True, slots=True, eq=False)
class Mesh:
    """Faces as half-edges: one per side of each face, in face order.

    points: (n, 3) mm. ids: index of each face in the solid. face: (h,) face of a half-edge;
    start, end: (h,) its points, along the face's ring. mate: (h,) the half-edge on the other side,
    -1 where the surface ends or more than two faces meet. role, host: (h,) mark and host edge id;
    source: (h,) object of the host edge.
    normal: (f, 3) unit; area: (f,) mm^2; centre: (f, 3) mean of the corners.
    shell: (f,) label of the connected surface. turned: (f,) whether the face was reversed to agree
    with its shell.
    """

    points: np.ndarray
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


def read_mesh(solid: Solid) -> Mesh:
    """Weld, check, pair and orient the faces of a solid. Raises UnreadableError where no face has an area."""
    weld = _weld(solid.points)
    rings, ids, findings = _usable_faces(solid, weld)
    if not rings:
        raise UnreadableError(f"No face of {' and '.join(solid.sources)} has an area; model the walls as faces first.")
    counts = np.array([len(ring) for ring in rings])
    face = np.repeat(np.arange(len(rings)), counts)
    start = np.array([i for ring in rings for i in ring], dtype=int)
    end = np.array([i for ring in rings for i in (*ring[1:], ring[0])], dtype=int)
    mate, crowded = _pair(start, end, len(solid.points))
    flip, shell, torn = _orient(face, start, end, mate, len(rings))
    mate = np.where(torn, -1, mate)
    reversed_ = flip[face]
    start, end = np.where(reversed_, end, start), np.where(reversed_, start, end)
    role, host, source = _marks(solid, weld, start, end)
    normal, area, centre = _planes(solid.points, face, start, end, counts)
    for where, what in (
        (crowded, "more than two faces meet"),
        (torn, "the surface twists over onto its back"),
    ):
        for name in np.unique(source[where]):
            here = where & (source == name)
            findings.append(
                _crossing(
                    solid,
                    host[here],
                    int(name),
                    what,
                    solid.points[np.concatenate([start[here], end[here]])].mean(axis=0),
                )
            )
    return Mesh(
        points=solid.points,
        ids=np.array(ids, dtype=int),
        face=face,
        start=start,
        end=end,
        mate=mate,
        role=role,
        host=host,
        source=source,
        normal=normal,
        area=area,
        centre=centre,
        shell=shell,
        turned=flip,
        findings=tuple(findings),
    )


def _weld(points: np.ndarray) -> np.ndarray:
    """Return for every point the first point within WELD of it, (n,) int."""
    # along a slanted line points of a regular building do not share a coordinate, so windows stay short
    key = points @ np.array([0.5377, 0.6143, 0.5776])
    order = np.argsort(key, kind="stable")
    groups = Groups(len(points))
    for step in range(1, len(points)):
        one, two = order[:-step], order[step:]
        near = key[two] - key[one] <= WELD
        if not near.any():
            break
        same = near & (np.linalg.norm(points[two] - points[one], axis=1) <= WELD)
        groups.join(zip(one[same].tolist(), two[same].tolist(), strict=True))
    return groups.labels()


def _usable_faces(solid: Solid, weld: np.ndarray) -> tuple[list[tuple[int, ...]], list[int], list[Finding]]:
    rings: list[tuple[int, ...]] = []
    ids: list[int] = []
    empty: list[int] = []
    repeated: list[int] = []
    seen: dict[tuple[int, ...], int] = {}
    welded = weld.tolist()
    for k, face in enumerate(solid.faces):
        ring = [welded[i] for i in face]
        ring = [point for i, point in enumerate(ring) if point != ring[i - 1]]
        if len(ring) < 3 or _area(solid.points[ring]) < AREA:
            empty.append(k)
            continue
        key = tuple(sorted(ring))
        if key in seen:
            repeated.append(k)
            continue
        seen[key] = k
        rings.append(tuple(ring))
        ids.append(k)
    findings = []
    for code, faces, what in (
        ("zero-area-face", empty, "has no area"),
        ("duplicate-face", repeated, "lies on another face with the same corners"),
    ):
        for k in faces:
            findings.append(
                Finding(
                    Severity.ERROR,
                    code,
                    f"Face {solid.face_ids[k]} {what}; delete it.",
                    Location(
                        faces=(solid.face_ids[k],),
                        source=solid.sources[solid.face_sources[k]],
                        point=place(solid.points[list(solid.faces[k])].mean(axis=0)),
                    ),
                )
            )
    return rings, ids, findings


def _area(ring: np.ndarray) -> float:
    """Return the area of a ring of points, (k, 3) mm, from Newell's normal, mm^2."""
    if len(ring) == 3:
        (ax, ay, az), (bx, by, bz) = (ring[1] - ring[0]).tolist(), (ring[2] - ring[0]).tolist()
        return 0.5 * float((ay * bz - az * by) ** 2 + (az * bx - ax * bz) ** 2 + (ax * by - ay * bx) ** 2) ** 0.5
    return 0.5 * float(np.linalg.norm(np.cross(ring, np.roll(ring, -1, axis=0)).sum(axis=0)))


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


def _orient(
    face: np.ndarray, start: np.ndarray, end: np.ndarray, mate: np.ndarray, count: int
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return which faces to reverse so that neighbours agree, the shell of each, and where that is impossible."""
    paired = np.flatnonzero(mate > np.arange(len(mate)))
    one, two = face[paired], face[mate[paired]]
    against = start[paired] == start[mate[paired]]  # both run the same way: the faces disagree
    groups = Groups(count)
    groups.join(zip(one.tolist(), two.tolist(), strict=True))
    shell = groups.labels()
    flip = np.zeros(count, dtype=bool)
    for label in np.unique(shell[one[against]]):
        _spread(int(label), one, two, against, flip)
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
    pairs = np.sort(weld[np.array(solid.edges, dtype=int).reshape(-1, 2)], axis=1)
    known = pairs[:, 0] * count + pairs[:, 1]
    roles = np.array(solid.edge_roles, dtype=int)
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


def _planes(
    points: np.ndarray, face: np.ndarray, start: np.ndarray, end: np.ndarray, counts: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return unit normal (Newell), area and centre of every face."""
    begin = np.concatenate([[0], np.cumsum(counts)[:-1]])
    centre = np.add.reduceat(points[start], begin) / counts[:, None]
    # about the face's own centre, where products of coordinates stay small
    vectors = 0.5 * np.add.reduceat(np.cross(points[start] - centre[face], points[end] - centre[face]), begin)
    area = np.linalg.norm(vectors, axis=1)
    return vectors / area[:, None], area, centre


def _crossing(solid: Solid, host: np.ndarray, source: int, what: str, middle: np.ndarray) -> Finding:
    edges = tuple(int(edge) for edge in np.unique(host[host >= 0]))
    number = f"{len(edges)} edges" if len(edges) > 1 else "an edge"
    return Finding(
        Severity.ERROR,
        "open-or-crossing-solid",
        f"At {number} of {solid.sources[source]} {what}; part the faces there so that each edge joins two at most.",
        Location(edges=edges, source=solid.sources[source], point=place(middle)),
    )


def place(point: np.ndarray) -> tuple[float, float, float]:
    """Return a point, (3,) mm, as a finding names it."""
    x, y, z = (float(value) for value in point)
    return (x, y, z)
