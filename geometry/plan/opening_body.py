"""Opening bodies: what a door or window looks like in the model: a pane in its wall, and its leaf swung open.

The pane stands a little out of both faces of its wall, so that it is seen and picked from either side. It shows where
the wall is cut and is no part of it. Where bars stand in it, the glass between them is lighter.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from shapely.geometry import Polygon

from ..solid.filling import Filling, fill
from ..solid.opening import Leaf

__all__ = ["GLASS", "LEAF", "PANE", "opening_body"]

#: How far a pane stands out of the modelled wall, mm: enough that a view from afar tells both apart, and less than
#: the thinnest board.
_PROUD = 0.6

#: How far the glass between bars stands out of the pane, mm.
_GLASS = 0.1

#: Numbers of the kinds of faces.
PANE, LEAF, GLASS = 0, 1, 2

Body = tuple[list[tuple[float, float, float]], list[tuple[int, ...]], list[int]]


def opening_body(ring: Sequence[tuple[float, float]], leaf: Leaf | None, filling: Filling | None = None) -> Body:
    """Return the points (x along the wall, y into the room, z up; mm), the faces, and the kind of every face.

    ring: outline of the opening, counter-clockwise seen from outside. The first face is the outside of the pane.
    """
    count = len(ring)
    points = [(x, y, z) for y in (-_PROUD, _PROUD) for x, z in ring]
    faces: list[tuple[int, ...]] = [tuple(range(count)), tuple(range(2 * count - 1, count - 1, -1))]
    faces += [(k, k + count, (k + 1) % count + count, (k + 1) % count) for k in range(count)]
    kinds = [PANE] * len(faces)
    if leaf is not None:
        xs, zs = [x for x, _ in ring], [z for _, z in ring]
        jamb, toward = (min(xs), 1.0) if leaf.on_left else (max(xs), -1.0)
        width = max(xs) - min(xs)
        free = (jamb + toward * width * math.cos(leaf.swing), -width * math.sin(leaf.swing))
        first = len(points)
        points += [(jamb, 0.0, min(zs)), (*free, min(zs)), (*free, max(zs)), (jamb, 0.0, max(zs))]
        faces.append((first, first + 1, first + 2, first + 3))
        kinds.append(LEAF)
    panes = fill(Polygon(ring), filling).panes if filling is not None and leaf is None else ()
    for pane in panes:
        outline = np.asarray(pane.exterior.coords)[:-1][:: 1 if pane.exterior.is_ccw else -1]
        for y, corners in ((-_PROUD - _GLASS, outline), (_PROUD + _GLASS, outline[::-1])):
            faces.append(tuple(range(len(points), len(points) + len(corners))))
            points += [(float(x), y, float(z)) for x, z in corners]
            kinds.append(GLASS)
    return points, faces, kinds
