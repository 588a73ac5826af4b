"""Rooms to look into: 14 x 10 squares within a table of 6 by 4 feet, of planar walls or of board, bare or furnished."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import shapely
from stowfold.geometry.play.sight import Eye
from stowfold.geometry.play.table_top import Blocker, BlockerKind, Squares

SQUARE = 25.4
X, Y = 7 * SQUARE, 5 * SQUARE
_ROUND = [(609.6, 709.6), (0.0, 709.6), (-609.6, 709.6), (609.6, -709.6), (0.0, -709.6), (-609.6, -709.6)]
SEATS = tuple(
    Eye(f"seat {k + 1}", np.array([*spot, 450.0])) for k, spot in enumerate([*_ROUND, (1014.4, 0.0), (-1014.4, 0.0)])
)
SIX_SEATS = tuple(
    Eye(f"seat {k + 1}", np.array([*spot, 450.0]))
    for k, spot in enumerate(
        [(457.2, 709.6), (-457.2, 709.6), (457.2, -709.6), (-457.2, -709.6), (1014.4, 0.0), (-1014.4, 0.0)]
    )
)


def squares(columns=14, rows=10):
    inside = np.ones((rows, columns), dtype=bool)
    size = X * 2 / columns
    return Squares(np.array([-X, -Y, 0.0]), np.array([1.0, 0, 0]), np.array([0, 1.0, 0]), size, inside)


def upright(name, start, end, outline, *holes, kind=BlockerKind.WALL):
    """A sheet on the plan line from start to end: rings of (along, height)."""
    start, end = np.array(start, dtype=float), np.array(end, dtype=float)
    u = (end - start) / np.linalg.norm(end - start)
    rings = tuple(np.array([[*(start + s * u), z] for s, z in ring]) for ring in (outline, *holes))
    return Blocker(name, kind, (rings,))


def with_door(length, top, low, high, door):
    return [(0, 0), (low, 0), (low, door), (high, door), (high, 0), (length, 0), (length, top), (0, top)]


def box(name, low, high, kind=BlockerKind.FURNITURE):
    (a, b, c), (d, e, f) = low, high
    p = [(x, y, z) for z in (c, f) for x, y in ((a, b), (d, b), (d, e), (a, e))]
    faces = [(3, 2, 1, 0), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7)]
    return Blocker(name, kind, tuple((np.array([p[k] for k in face], dtype=float),) for face in faces), solid=True)


def planar(gable=None):
    """Four walls 62 high, a door in the south wall, a window in the east wall; end walls up to ``gable``."""
    s = 3 * SQUARE
    end = [(0, 0), (2 * Y, 0), (2 * Y, 62), *([(Y, gable)] if gable else []), (0, 62)]
    window = [(s, 20), (s, 45), (s + SQUARE, 45), (s + SQUARE, 20)]
    return [
        upright("south", (-X, -Y), (X, -Y), with_door(2 * X, 62, s, s + SQUARE, 45)),
        upright("east", (X, -Y), (X, Y), end, window),
        upright("north", (X, Y), (-X, Y), [(0, 0), (2 * X, 0), (2 * X, 62), (0, 62)]),
        upright("west", (-X, Y), (-X, -Y), end),
    ]


def furnished(pieces=12):
    """With gables, a partition with a door, and boxes: 65 faces with 12 boxes left open below."""
    rng = np.random.default_rng(1)
    at = -X + 6 * SQUARE
    partition = upright("partition", (at, -Y), (at, Y), with_door(2 * Y, 62, 4 * SQUARE, 5 * SQUARE, 45))
    cells = rng.permutation(140)
    boxes = []
    for k in range(pieces):
        x, y = -X + (cells[k % 140] % 14) * SQUARE + 2, -Y + (cells[k % 140] // 14) * SQUARE + 2
        boxes.append(box(f"box {k + 1}", (x, y, 0), (x + 21.4, y + 21.4, rng.uniform(10, 25))))
    return [*planar(125.0), partition, *boxes]


def of_board(t=3.0):
    """The planar walls as boards that grow inward."""
    found = []
    for wall in planar():
        (rings,) = wall.faces
        u = rings[0][1] - rings[0][0]
        inward = np.cross([0, 0, 1.0], u / np.linalg.norm(u)) * t
        faces = [rings, tuple(ring[::-1] + inward for ring in rings)]
        for ring in rings:
            pairs = zip(ring, np.roll(ring, -1, axis=0), strict=True)
            faces += [(np.array([b, a, a + inward, b + inward]),) for a, b in pairs]
        found.append(Blocker(wall.name, BlockerKind.WALL, tuple(faces), solid=True))
    return found


ROOMS = {"A": planar, "B": lambda: planar(125.0), "C": furnished, "D": of_board}


def triangles_of(faces: Iterable[Sequence[np.ndarray]]) -> np.ndarray:
    """Return flat faces, given by their rings (k, 3) in mm, outer one first, as triangles (n, 3, 3) for ray casters."""
    triangles = []
    for rings in faces:
        origin = rings[0][0]
        u = (rings[0][1] - origin) / np.linalg.norm(rings[0][1] - origin)
        normal = np.cross(u, rings[0][2] - origin)
        v = np.cross(normal / np.linalg.norm(normal), u)
        flat = [np.column_stack([(ring - origin) @ u, (ring - origin) @ v]) for ring in rings]
        for part in shapely.get_parts(shapely.constrained_delaunay_triangles(shapely.Polygon(flat[0], flat[1:]))):
            p = np.array(part.exterior.coords)[:3]
            triangles.append(origin + p[:, :1] * u + p[:, 1:] * v)
    return np.array(triangles)
