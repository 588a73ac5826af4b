"""Solids of flat faces: hulls of random points, bodies of random planes, regular ones, prisms.

Sound: closed and convex, every face holds a circle of three of the thickest boards as radius (9.6 mm), every edge is
8 mm long at least, and every bend lies between 8 and 140 degrees.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
import shapely
from drawn_meshes import Drawing
from scipy.spatial import ConvexHull, HalfspaceIntersection, QhullError
from shapely.geometry import Polygon
from sound_towers import regular_plan

__all__ = ["convex_body", "draw_convex", "is_sound_body"]

Chance = np.random.Generator
Face = tuple[tuple[float, float, float], ...]

#: Least radius of a circle in a face, least edge, mm; least and greatest bend, radians.
_CIRCLE, _EDGE, _BEND = 9.6, 8.0, (math.radians(8.0), math.radians(140.0))

#: Radii of hulls, mm, and how many faces they have.
_RADII, _FACES = (30.0, 150.0), (6, 40)

#: So often a hull is drawn before its radius and its faces are drawn again.
_TRIES = 20

#: Faces whose normals differ by less are one face.
_FLAT = 1e-6

_GOLDEN = (1.0 + math.sqrt(5.0)) / 2.0


def draw_convex(chance: Chance) -> Drawing:
    """Draw a convex solid of one of the kinds, its largest face on the ground or turned any way."""
    kind = ("hull", "planes", "regular", "prism")[int(chance.choice(4, p=[0.35, 0.35, 0.2, 0.1]))]
    while True:
        name, points = _POINTS[kind](chance)
        faces = convex_body(points)
        counted = _FACES[0] <= len(faces) <= _FACES[1] or kind in ("regular", "prism")
        if counted and is_sound_body(faces):
            return Drawing(name, [_standing(faces, points, chance)])


def convex_body(points: np.ndarray) -> list[Face]:
    """Return the faces of the hull of points, counter-clockwise from outside; triangles of one plane are one face."""
    hull = ConvexHull(points)
    groups: list[tuple[np.ndarray, set[int]]] = []
    for normal, triangle in zip(hull.equations[:, :3], hull.simplices, strict=True):
        known = next((group for group in groups if np.abs(group[0] - normal).max() < _FLAT), None)
        if known is None:
            known = (normal, set())
            groups.append(known)
        known[1].update(triangle.tolist())
    return [_in_order(points[sorted(chosen)], normal) for normal, chosen in groups]


def _in_order(corners: np.ndarray, normal: np.ndarray) -> Face:
    middle = corners.mean(axis=0)
    x = corners[0] - middle
    x = x / np.linalg.norm(x)
    y = np.cross(normal, x)
    turns = np.arctan2((corners - middle) @ y, (corners - middle) @ x)
    return tuple((float(a), float(b), float(c)) for a, b, c in corners[np.argsort(turns)])


def is_sound_body(faces: Iterable[Face]) -> bool:
    """Whether faces, edges and bends of a convex solid are large enough."""
    edges: dict[frozenset[tuple[float, float, float]], list[np.ndarray]] = {}
    for face in faces:
        corners = np.array(face)
        normal = np.cross(corners[1] - corners[0], corners[2] - corners[1])
        normal = normal / np.linalg.norm(normal)
        x = (corners[1] - corners[0]) / np.linalg.norm(corners[1] - corners[0])
        flat = Polygon(np.column_stack([(corners - corners[0]) @ x, (corners - corners[0]) @ np.cross(normal, x)]))
        if shapely.maximum_inscribed_circle(flat, 0.1).length < _CIRCLE:
            return False
        for one, two in zip(face, (*face[1:], face[0]), strict=True):
            if math.dist(one, two) < _EDGE:
                return False
            edges.setdefault(frozenset((one, two)), []).append(normal)
    bends = [math.acos(float(np.clip(pair[0] @ pair[1], -1.0, 1.0))) for pair in edges.values()]
    return all(_BEND[0] <= bend <= _BEND[1] for bend in bends)


def _standing(faces: list[Face], points: np.ndarray, chance: Chance) -> list[Face]:
    """Return a solid on the ground: as it is, or with its largest face down."""
    turn = np.eye(3)
    if chance.random() < 0.5:
        down = max(faces, key=lambda face: float(np.linalg.norm(_area(face))))
        normal = _area(down) / np.linalg.norm(_area(down))
        side = np.cross(normal, np.eye(3)[int(np.abs(normal).argmin())])
        side = side / np.linalg.norm(side)
        turn = np.array([side, np.cross(-normal, side), -normal])
    lowest = min(float((turn @ point)[2]) for point in points)
    placed = [np.array(face) @ turn.T - [0.0, 0.0, lowest] for face in faces]
    return [tuple((float(x), float(y), float(z)) for x, y, z in face) for face in placed]


def _area(face: Face) -> np.ndarray:
    corners = np.array(face)
    crossed: np.ndarray = np.cross(corners[1:-1] - corners[0], corners[2:] - corners[0]).sum(axis=0) / 2.0
    return crossed


# -- where the corners come from -------------------------------------------------------------------


def _even_points(count: int, chance: Chance) -> np.ndarray:
    """Return unit directions that keep away from one another a little."""
    points = chance.normal(size=(count, 3))
    points /= np.linalg.norm(points, axis=1)[:, None]
    for _ in range(10):
        off = points[:, None] - points[None]
        far = np.linalg.norm(off, axis=2) + np.eye(count)
        points = points + 0.1 * (off / far[:, :, None] ** 3).sum(axis=1) / count
        points /= np.linalg.norm(points, axis=1)[:, None]
    return points


def _hull(chance: Chance) -> tuple[str, np.ndarray]:
    """Corners near a ball: all faces are triangles."""
    radius = float(chance.uniform(*_RADII))
    count = int(chance.integers(5, 22))
    return "hull of points", _even_points(count, chance) * radius * chance.uniform(0.85, 1.0, (count, 1))


def _planes(chance: Chance) -> tuple[str, np.ndarray]:
    """Planes near a ball: faces have three corners or more."""
    while True:
        radius, count = float(chance.uniform(*_RADII)), int(chance.integers(*_FACES))
        normals = _even_points(count, chance)
        reach = radius * chance.uniform(0.75, 1.0, count)
        try:
            corners = HalfspaceIntersection(np.column_stack([normals, -reach]), np.zeros(3)).intersections
        except QhullError:
            continue
        if np.isfinite(corners).all() and np.linalg.norm(corners, axis=1).max() < 2.0 * _RADII[1]:
            return "body of planes", _each_once(corners)


def _each_once(points: np.ndarray) -> np.ndarray:
    kept: list[np.ndarray] = []
    for point in points:
        if all(np.abs(point - known).max() > _FLAT for known in kept):
            kept.append(point)
    return np.array(kept)


def _signed(points: Iterable[tuple[float, float, float]]) -> np.ndarray:
    """Return points with every choice of signs and every even order of coordinates."""
    found = {
        tuple((np.roll(point, turn) * signs + 0.0).tolist())
        for point in points
        for turn in range(3)
        for signs in np.array(np.meshgrid([1.0, -1.0], [1.0, -1.0], [1.0, -1.0])).reshape(3, -1).T
    }
    return np.array(sorted(found))


def _regular(chance: Chance) -> tuple[str, np.ndarray]:
    """Platonic solids and some Archimedean ones, by their textbook coordinates."""
    bodies = {
        "tetrahedron": np.array([(1.0, 1.0, 1.0), (1.0, -1.0, -1.0), (-1.0, 1.0, -1.0), (-1.0, -1.0, 1.0)]),
        "cube": _signed([(1.0, 1.0, 1.0)]),
        "octahedron": _signed([(1.0, 0.0, 0.0)]),
        "icosahedron": _signed([(0.0, 1.0, _GOLDEN)]),
        "dodecahedron": _signed([(1.0, 1.0, 1.0), (0.0, 1.0 / _GOLDEN, _GOLDEN)]),
        "cuboctahedron": _signed([(1.0, 1.0, 0.0)]),
        "truncated cube": _signed([(math.sqrt(2.0) - 1.0, 1.0, 1.0)]),
        "truncated octahedron": _signed([(0.0, 1.0, 2.0), (0.0, 2.0, 1.0)]),
        "rhombicuboctahedron": _signed([(1.0, 1.0, 1.0 + math.sqrt(2.0))]),
    }
    name = list(bodies)[int(chance.integers(len(bodies)))]
    points = bodies[name]
    return name, points / np.linalg.norm(points[0]) * float(chance.uniform(40.0, _RADII[1]))


def _prism(chance: Chance) -> tuple[str, np.ndarray]:
    """Prisms and antiprisms of 3 to 8 sides."""
    sides, side, height = (
        int(chance.integers(3, 9)),
        float(chance.uniform(35.0, 80.0)),
        float(chance.uniform(40.0, 110.0)),
    )
    turned = bool(chance.random() < 0.3)
    low = regular_plan(sides, side)
    high = regular_plan(sides, side, math.pi / sides) if turned else low
    points = np.concatenate([np.column_stack([ring, np.full(sides, z)]) for ring, z in ((low, 0.0), (high, height))])
    return "antiprism" if turned else "prism", points


_POINTS = {"hull": _hull, "planes": _planes, "regular": _regular, "prism": _prism}
