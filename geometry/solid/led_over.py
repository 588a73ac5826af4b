"""Led over: the edge of a roof moved out over the boards of the walls below it, every slope in its own plane."""

from __future__ import annotations

import numpy as np

from ..tolerance import COPLANAR_ANGLE, FLAT, SNAP, UPRIGHT
from .connected import connected
from .merge import Regions
from .mesh import Mesh

__all__ = ["led_over"]

#: An edge of a roof is never led farther than so many times the wanted distance: where steep and shallow slopes meet
#: at a hip, their common eaves come down by what the steepest one needs.
_FARTHEST = 6.0

#: Sides of its edge keep this much of their length, as a share of how far it is led.
_LEAST_SIDE = 0.25

#: Planes and edges meet in a point where they miss it by no more than this, mm: a facet with a vertex that far off its
#: plane is still flat, and pieces of one noisy edge, as a cut leaves them, ask for places that differ by less.
_MEETS = FLAT


def led_over(mesh: Mesh, regions: Regions, cover: np.ndarray, over: float) -> dict[int, np.ndarray]:
    """Return the new place, (3,) mm, of every point at the edge of a roof; nothing where its slopes forbid it.

    cover: the regions of the roof. over: how far its edges go out from the walls in plan, mm, at the least. Eaves that
    meet at a hip or valley come down to one height, so that they go out by different lengths under unequal slopes.
    """
    inside = np.isin(regions.of_face[mesh.face], cover)
    edge = np.flatnonzero(inside & ((mesh.mate < 0) | ~inside[mesh.mate]))
    region = regions.of_face[mesh.face[edge]]
    run = mesh.points[mesh.end[edge]] - mesh.points[mesh.start[edge]]
    level = np.hypot(run[:, 0], run[:, 1])
    if not len(edge) or (level < SNAP).any():
        return {}
    # the roof lies to the left of its edge, seen from above, where its faces look up
    up = np.sign(regions.normal[region, 2])
    out = np.column_stack([run[:, 1], -run[:, 0]]) * (up / level)[:, None]
    distance = _distances(mesh, regions, edge, region, run, out, over)
    if distance.max() > _FARTHEST * over:
        return {}
    placed: dict[int, np.ndarray] = {}
    for point in np.unique(mesh.start[edge]).tolist():
        at = np.flatnonzero((mesh.start[edge] == point) | (mesh.end[edge] == point))
        slopes = np.unique(regions.of_face[mesh.face[inside & ((mesh.start == point) | (mesh.end == point))]])
        place = _meeting(mesh.points[point], regions.normal[slopes], out[at], distance[at])
        if place is None:
            return {}
        placed[point] = place
    moved = np.array([placed[int(b)] - placed[int(a)] for a, b in zip(mesh.start[edge], mesh.end[edge], strict=True)])
    # where a narrow notch would close, the roof stays as it is
    left = np.einsum("ij,ij->i", moved, run) / np.linalg.norm(run, axis=1)
    return placed if (left >= _LEAST_SIDE * over).all() else {}


def _distances(
    mesh: Mesh,
    regions: Regions,
    edge: np.ndarray,
    region: np.ndarray,
    run: np.ndarray,
    out: np.ndarray,
    over: float,
) -> np.ndarray:
    """Return how far every edge of a roof goes out, (k,) mm; eaves joined at a hip come down by one height."""
    normal = regions.normal[region] * np.sign(regions.normal[region, 2:3])
    fall = np.einsum("ij,ij->i", normal[:, :2], out) / normal[:, 2]
    eaves = (np.abs(run[:, 2]) < SNAP) & (fall > UPRIGHT)
    ahead = {int(start): k for k, start in enumerate(mesh.start[edge].tolist())}
    pairs = [(k, ahead[end]) for k, end in enumerate(mesh.end[edge].tolist()) if end in ahead]
    hips = [(a, b) for a, b in pairs if eaves[a] and eaves[b] and np.abs(out[a] - out[b]).max() > UPRIGHT]
    group = connected(len(edge), *np.array(hips, dtype=int).reshape(-1, 2).T)
    steepest = np.zeros(len(edge))
    np.maximum.at(steepest, group, np.where(eaves, fall, 0.0))
    distance = np.full(len(edge), over)
    distance[eaves] = over * steepest[group[eaves]] / fall[eaves]
    # edges along one wall go out alike
    straight = [(a, b) for a, b in pairs if np.abs(out[a] - out[b]).max() <= UPRIGHT]
    line = connected(len(edge), *np.array(straight, dtype=int).reshape(-1, 2).T)
    farthest = np.zeros(len(edge))
    np.maximum.at(farthest, line, distance)
    return farthest[line]


def _meeting(point: np.ndarray, slopes: np.ndarray, out: np.ndarray, distance: np.ndarray) -> np.ndarray | None:
    """Return where a point of a roof's edge goes that stays on its slopes and goes out by a distance; None for nowhere.

    slopes: (k, 3) normals. out: (m, 2) unit directions in plan; distance: (m,) mm.
    """
    rows = np.vstack([slopes, np.column_stack([out, np.zeros(len(out))])])
    wanted = np.concatenate([np.zeros(len(slopes)), distance])
    # directions that only noise turns from one another are one direction
    step = np.linalg.lstsq(rows, wanted, rcond=COPLANAR_ANGLE)[0]
    return point + step if np.abs(rows @ step - wanted).max() <= _MEETS else None
