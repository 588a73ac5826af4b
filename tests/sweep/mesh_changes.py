"""What makers do to a mesh, by chance: split sides, cut openings and breaks, triangulate, jitter, renumber."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely.geometry import Polygon
from stowfold.geometry.solid.solid import Role

__all__ = ["Mesh"]

Point = tuple[float, float, float]
Chance = np.random.Generator


@dataclass
class Mesh:
    """Points, faces and marks while they change. walls: faces that are plain walls, as (start, end) in plan."""

    points: list[np.ndarray] = field(default_factory=list)
    faces: list[list[int]] = field(default_factory=list)
    roles: dict[tuple[int, int], Role] = field(default_factory=dict)
    walls: list[int] = field(default_factory=list)
    _known: dict[Point, int] = field(default_factory=dict)

    def start_surface(self) -> None:
        """Begin a surface that shares no points with what came before."""
        self._known.clear()

    def add_face(self, corners: Iterable[Point], *, wall: bool = False) -> None:
        """Add a face by its corners; points that lie together are one point of the surface."""
        ring = [self._point(corner) for corner in corners]
        ring = [point for k, point in enumerate(ring) if point != ring[k - 1]]
        if wall:
            self.walls.append(len(self.faces))
        self.faces.append(ring)

    def _point(self, corner: Point) -> int:
        x, y, z = (round(float(value), 9) for value in corner)
        if (x, y, z) not in self._known:
            self._known[x, y, z] = len(self.points)
            self.points.append(np.array([x, y, z]))
        return self._known[x, y, z]

    def sides(self) -> list[tuple[int, int]]:
        """Return all sides of faces, the smaller point first, each once, in the order in which they are met."""
        pairs = (pair for ring in self.faces for pair in zip(ring, [*ring[1:], ring[0]], strict=True))
        return list(dict.fromkeys((min(pair), max(pair)) for pair in pairs))

    def mark(self, one: int, two: int, role: Role) -> None:
        """Mark the edge between two points."""
        self.roles[min(one, two), max(one, two)] = role

    # -- changes that keep the surface -------------------------------------------------------------

    def split(self, one: int, two: int, share: float, *, only: int | None = None) -> int:
        """Put a point on an edge, in every face that has the edge or ``only`` in one; return it."""
        new = len(self.points)
        self.points.append(self.points[one] + (self.points[two] - self.points[one]) * share)
        for k, ring in enumerate(self.faces):
            if only is not None and k != only:
                continue
            for i in range(len(ring)):
                if {ring[i], ring[(i + 1) % len(ring)]} == {one, two}:
                    ring.insert(i + 1, new)
                    break
        role = self.roles.pop((min(one, two), max(one, two)), None)
        if role is not None:
            self.mark(one, new, role)
            self.mark(new, two, role)
        return new

    def is_plain_wall(self, face: int) -> bool:
        """Whether a face is still an upright rectangle, its bottom side first."""
        ring = self.faces[face]
        if len(ring) != 4:
            return False
        a, b, c, d = (self.points[k] for k in ring)
        return bool(a[2] == b[2] and abs(c[2] - d[2]) < 1e-9 and np.hypot(*(a - d)[:2]) < 1e-9)

    def break_wall(self, face: int, share: float) -> None:
        """Part a plain wall by an upright line and mark it as a break."""
        a, b, c, d = self.faces[face]
        foot, top = self.split(a, b, share), self.split(c, d, 1.0 - share)
        self.faces[face] = [a, foot, top, d]
        self.faces.append([foot, b, c, top])
        self.mark(foot, top, Role.BREAK)

    def open_wall(self, face: int, along: tuple[float, float], upward: tuple[float, float]) -> None:
        """Cut an opening into a plain wall, from and to as shares of its length and height; from 0 up it is a door."""
        a, b, c, d = self.faces[face]
        foot = [self.split(a, b, along[0])]
        foot.append(self.split(foot[0], b, (along[1] - along[0]) / (1.0 - along[0])))
        top = [self.split(d, c, along[0])]
        top.append(self.split(top[0], c, (along[1] - along[0]) / (1.0 - along[0])))
        door = upward[0] <= 0.0
        jambs = []
        for low, high in zip(foot, top, strict=True):
            rise = self.points[high] - self.points[low]
            heads = [low] if door else []
            for share in upward[1:] if door else upward:
                heads.append(len(self.points))
                self.points.append(self.points[low] + rise * share)
            jambs.append(heads)
        (sill_a, head_a), (sill_b, head_b) = jambs
        left = [a, foot[0], *([] if door else [sill_a]), head_a, top[0], d]
        right = [foot[1], b, c, top[1], head_b, *([] if door else [sill_b])]
        self.faces[face] = left
        self.faces += [right, [head_a, head_b, top[1], top[0]]]
        if door:
            # the foot between the jambs is gone; a floor below keeps its points
            return
        self.faces.append([foot[0], foot[1], sill_b, sill_a])

    def triangulate(self, chance: Chance, share: float) -> None:
        """Cut a share of the faces into triangles; no points are added."""
        for k in range(len(self.faces)):
            ring = self.faces[k]
            if len(ring) > 3 and chance.random() < share:
                triangles = self._triangles(ring)
                if triangles:
                    self.faces[k] = triangles[0]
                    self.faces += triangles[1:]

    def _triangles(self, ring: Sequence[int]) -> list[list[int]]:
        placed = np.array([self.points[k] for k in ring])
        normal = sum(np.cross(placed[k - 1], placed[k]) for k in range(len(ring)))
        axes = [axis for axis in range(3) if axis != int(np.abs(normal).argmax())]
        flat = placed[:, axes]
        turned = float(normal[int(np.abs(normal).argmax())]) * (-1.0 if axes == [0, 2] else 1.0) < 0.0
        shape = Polygon(flat)
        if not shape.is_valid or shape.area == 0.0:
            return []
        known = {(float(x), float(y)): k for (x, y), k in zip(flat, ring, strict=True)}
        triangles = []
        for piece in shapely.constrained_delaunay_triangles(shape).geoms:
            corners = [known[x, y] for x, y in shapely.get_coordinates(piece.normalize())[:3]]
            clockwise = not piece.normalize().exterior.is_ccw
            triangles.append(corners[::-1] if clockwise != turned else corners)
        return triangles

    # -- changes that disturb it -------------------------------------------------------------------

    def jitter(self, chance: Chance, size: float) -> None:
        """Move every point by up to ``size`` mm along every axis."""
        self.points = [point + chance.uniform(-size, size, 3) for point in self.points]

    def renumber(self, chance: Chance) -> None:
        """Give points and faces another order, and every face another first corner."""
        place = chance.permutation(len(self.points))
        points = list(self.points)
        for old, new in enumerate(place.tolist()):
            points[new] = self.points[old]
        self.points = points
        order = chance.permutation(len(self.faces)).tolist()
        faces = [[int(place[point]) for point in self.faces[k]] for k in order]
        starts = [int(chance.integers(len(ring))) for ring in faces]
        self.faces = [[*ring[s:], *ring[:s]] for ring, s in zip(faces, starts, strict=True)]
        self.roles = {(min(place[a], place[b]), max(place[a], place[b])): role for (a, b), role in self.roles.items()}

    def flip(self) -> None:
        """Turn every face over, so that fronts point inward."""
        self.faces = [ring[::-1] for ring in self.faces]
