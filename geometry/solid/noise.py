"""Noise of a mesh: how far its vertices lie from where flat, upright and level faces would have them."""

from __future__ import annotations

import numpy as np

from ..tolerance import STRAY, STRAY_ANGLE
from .mesh import Mesh
from .solid import Role

__all__ = ["estimate_noise", "widths"]

#: Neighbours that turn by less than this are meant as one flat face, radians (1 degree): nobody bends board by less.
_NEARLY_FLAT = 0.0175

#: Faces at most this far from upright are walls where a building has walls, radians (45 degrees): roofs are flatter.
_STEEP = 0.7854


def estimate_noise(mesh: Mesh) -> float:
    """Return how far vertices are astray at most, mm, as far as single faces and pairs of neighbours tell.

    Faces out of flat, out of plumb or out of level by a little tell it, and neighbours that all but lie in one plane;
    by more than STRAY they are meant so. A face out of plumb beside others that slope on purpose is meant so too.
    """
    return max(_out_of_flat(mesh), _out_of_plumb(mesh), _all_but_flat(mesh))


def widths(mesh: Mesh) -> np.ndarray:
    """Return how wide every face is across its longest side, (f,) mm."""
    longest = np.zeros(len(mesh.area))
    np.maximum.at(longest, mesh.face, np.linalg.norm(mesh.points[mesh.end] - mesh.points[mesh.start], axis=1))
    width: np.ndarray = mesh.area / longest
    return width


def _largest(off: np.ndarray) -> float:
    """Return the largest of distances that are no more than STRAY, mm; 0 where there is none."""
    return float(off[off <= STRAY].max(initial=0.0))


def _out_of_flat(mesh: Mesh) -> float:
    off = np.zeros(len(mesh.area))
    arm = mesh.points[mesh.start] - mesh.centre[mesh.face]
    np.maximum.at(off, mesh.face, np.abs(np.einsum("ij,ij->i", arm, mesh.normal[mesh.face])))
    return _largest(off)


def _out_of_plumb(mesh: Mesh) -> float:
    """Return how far nearly upright faces lean, and nearly level ones fall, over half their size, mm.

    Faces only count as leaning where at least half of all that is steep, by area, is nearly upright.
    """
    half = np.zeros((len(mesh.area), 3))
    np.maximum.at(half, mesh.face, np.abs(mesh.points[mesh.start] - mesh.centre[mesh.face]))
    lean, fall = np.abs(mesh.normal[:, 2]), np.hypot(mesh.normal[:, 0], mesh.normal[:, 1])
    upright = lean < STRAY_ANGLE
    if 2.0 * mesh.area[upright].sum() < mesh.area[lean < np.sin(_STEEP)].sum():
        upright[:] = False
    return max(
        _largest((lean * half[:, 2])[upright]),
        _largest((fall * np.hypot(half[:, 0], half[:, 1]))[fall < STRAY_ANGLE]),
    )


def _all_but_flat(mesh: Mesh) -> float:
    """Return how far the centres of neighbours lie from each other's plane where they nearly are one face, mm."""
    one = np.flatnonzero(mesh.mate > np.arange(len(mesh.mate)))
    one = one[~np.isin(mesh.role[one], (Role.BREAK, Role.CLOSURE))]
    a, b = mesh.face[one], mesh.face[mesh.mate[one]]
    turned = np.linalg.norm(np.cross(mesh.normal[a], mesh.normal[b]), axis=1)
    nearly = (turned < _NEARLY_FLAT) & (np.einsum("ij,ij->i", *mesh.normal[[a, b]]) > 0.0)
    a, b = a[nearly], b[nearly]
    away = mesh.centre[b] - mesh.centre[a]
    off = np.abs(np.stack([np.einsum("ij,ij->i", away, mesh.normal[k]) for k in (a, b)]))
    return _largest(off.min(axis=0))
