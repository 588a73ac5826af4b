"""Convex solids of flat faces as scipy's hulls make them: regular and half-regular ones, prisms, random points."""

from __future__ import annotations

from itertools import permutations, product

import numpy as np
from sound_solids import convex_body
from stowfold.geometry.solid.solid import Solid, make_solid

__all__ = ["SOLIDS", "dual", "hull", "on_the_ground", "random_hull"]

_GOLDEN = (1.0 + 5.0**0.5) / 2.0


def on_the_ground(points: np.ndarray, size: float) -> np.ndarray:
    """Return points in a box whose longest side is ``size`` mm, the lowest at z = 0."""
    points = points * (size / float(np.ptp(points, axis=0).max()))
    return points - [0.0, 0.0, points[:, 2].min()]


def hull(points: np.ndarray) -> Solid:
    """Return the convex hull of points, (n, 3) mm, triangles of one plane as one face."""
    faces = convex_body(points)
    corners = sorted({corner for face in faces for corner in face})
    index = {corner: k for k, corner in enumerate(corners)}
    return make_solid(np.array(corners), [tuple(index[corner] for corner in face) for face in faces])


def dual(points: np.ndarray) -> np.ndarray:
    """Return the corners of the polar dual of a solid round the origin: one for each of its faces."""
    planes = []
    for face in convex_body(points):
        a, b, c = (np.array(corner) for corner in face[:3])
        normal = np.cross(b - a, c - a)
        planes.append(normal / float(normal @ a))
    return np.array(planes)


def random_hull(seed: int, *, least: float = 30.0, most: float = 150.0) -> np.ndarray:
    """Return 5 to 21 points about a sphere with a radius of 30 to 150 mm: hulls of 6 to 38 triangles."""
    chance = np.random.default_rng(seed)
    count, radius = int(chance.integers(5, 22)), chance.uniform(least, most)
    points = chance.normal(size=(count, 3))
    points *= radius * chance.uniform(0.6, 1.0, size=(count, 1)) / np.linalg.norm(points, axis=1)[:, None]
    return points - [0.0, 0.0, points[:, 2].min()]


def _signed(corner: tuple[float, float, float], *, even: bool) -> np.ndarray:
    """Return a corner with all its signs and all its orders, or only the even ones."""
    orders = [(0, 1, 2), (1, 2, 0), (2, 0, 1)] if even else list(permutations(range(3)))
    signs = product((1.0, -1.0), repeat=3)
    found = {tuple(corner[k] * sign[k] for k in order) for sign in signs for order in orders}
    return np.array(sorted(found)) + 0.0


def _prism(corners: int, *, turned: float) -> np.ndarray:
    turns = 2.0 * np.pi * np.arange(corners) / corners
    rings = [
        np.column_stack([np.cos(turns + shift), np.sin(turns + shift), np.full(corners, z)])
        for z, shift in ((-0.5, 0.0), (0.5, turned * np.pi / corners))
    ]
    return np.concatenate(rings)


_CUBOCTAHEDRON = _signed((1.0, 1.0, 0.0), even=False)
_ICOSIDODECAHEDRON = np.concatenate(
    [_signed((0.0, 0.0, 2.0 * _GOLDEN), even=True), _signed((1.0, _GOLDEN, _GOLDEN**2), even=True)]
)

#: Corners by name, and how many faces the solid has (Cromwell, Polyhedra, 1997).
SOLIDS: dict[str, tuple[np.ndarray, int]] = {
    "tetrahedron": (np.array([(1.0, 1.0, 1.0), (1.0, -1.0, -1.0), (-1.0, 1.0, -1.0), (-1.0, -1.0, 1.0)]), 4),
    "cube": (_signed((1.0, 1.0, 1.0), even=True), 6),
    "octahedron": (_signed((1.0, 0.0, 0.0), even=True), 8),
    "dodecahedron": (
        np.concatenate([_signed((1.0, 1.0, 1.0), even=True), _signed((0.0, 1.0 / _GOLDEN, _GOLDEN), even=True)]),
        12,
    ),
    "icosahedron": (_signed((0.0, 1.0, _GOLDEN), even=True), 20),
    "cuboctahedron": (_CUBOCTAHEDRON, 14),
    "truncated octahedron": (_signed((0.0, 1.0, 2.0), even=False), 14),
    "rhombicuboctahedron": (_signed((1.0, 1.0, 1.0 + 2.0**0.5), even=False), 26),
    "icosidodecahedron": (_ICOSIDODECAHEDRON, 32),
    "rhombic dodecahedron": (dual(_CUBOCTAHEDRON), 12),
    "rhombic triacontahedron": (dual(_ICOSIDODECAHEDRON), 30),
    "hexagonal prism": (_prism(6, turned=0.0), 8),
    "pentagonal antiprism": (_prism(5, turned=1.0), 12),
}
