"""A line of sight: from an eye to a point, and where it first meets something opaque."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from ..tolerance import LENGTH
from .bodies import Bodies, grid_frame
from .squares import Squares

__all__ = ["SightLine", "draw_sight_line"]


@dataclass(frozen=True, slots=True, eq=False)
class SightLine:
    """eye, target: (3,) mm in the model. hit: where the line first meets something, or None; blocker: its name."""

    eye: np.ndarray
    target: np.ndarray
    hit: np.ndarray | None = None
    blocker: str | None = None


def draw_sight_line(
    eye: np.ndarray, target: np.ndarray, bodies: Bodies, squares: Squares, *, through: str | None = None
) -> SightLine:
    """Return the line from an eye to a target, (3,) mm each in the model, and what it meets first.

    through: name of a blocker that does not count, the figure itself. What lies in the eye
    or in the target itself does not count either, nor a face that the line runs along.
    """
    turn = grid_frame(squares)
    start, way = turn @ (eye - squares.origin), turn @ (target - eye)
    length = float(np.linalg.norm(way))
    if not len(bodies.owner) or length <= LENGTH:
        return SightLine(eye, target)
    normal = bodies.normal
    across = normal @ way
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.einsum("ij,ij->i", normal, bodies.origin - start) / across
    near = (np.abs(across) > 1e-12 * length) & (share * length > LENGTH) & ((1.0 - share) * length > LENGTH)
    if through in bodies.names:
        near &= bodies.owner != bodies.names.index(through)
    faces = np.flatnonzero(near)
    points = start + share[faces, None] * way
    away = points - bodies.origin[faces]
    flat = [np.einsum("ij,ij->i", away, axis[faces]) for axis in (bodies.across, bodies.up)]
    # the rim counts: where two boards of a wall meet no line slips between them
    met = faces[shapely.intersects_xy(bodies.shapes[faces], *flat)]
    if not len(met):
        return SightLine(eye, target)
    first = met[share[met].argmin()]
    return SightLine(eye, target, eye + share[first] * (target - eye), bodies.names[bodies.owner[first]])
