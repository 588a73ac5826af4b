"""Carry finishes over: when a building is laid out again, its faces bear what the faces in their place bore.

A wall takes the finish of a wall, a slope that of a slope: of those that look the same way the nearest one. A face
of a kind that was not there before, such as a first roof, stays bare.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..tolerance import UPRIGHT

__all__ = ["BARE", "DressedFaces", "carry_slots"]

#: Slot of a face that bears nothing.
BARE = -1

#: What the distance of two faces counts beside the way they look, as a share of the building's size: a wall that
#: looks the same way at the other end of the house is nearer than one round the corner.
_NEARNESS = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class DressedFaces:
    """Faces of a building. normals: (n, 3), of length 1. middles: (n, 3). slots: (n,), the material of every face."""

    normals: np.ndarray
    middles: np.ndarray
    slots: np.ndarray


def carry_slots(before: DressedFaces, normals: np.ndarray, middles: np.ndarray) -> np.ndarray:
    """Return the slot of every new face, (n,), ``BARE`` where no face of its kind was there before.

    normals, middles: of the new faces, (n, 3), in the same axes.
    """
    carried = np.full(len(normals), BARE, dtype=np.int32)
    stood, stands = np.abs(before.normals[:, 2]) < UPRIGHT, np.abs(normals[:, 2]) < UPRIGHT
    old, new = _in_own_box(before.middles), _in_own_box(middles)
    for upright in (True, False):
        from_faces, to_faces = np.flatnonzero(stood == upright), np.flatnonzero(stands == upright)
        if not len(from_faces) or not len(to_faces):
            continue
        alike = normals[to_faces] @ before.normals[from_faces].T
        apart = np.linalg.norm(new[to_faces][:, None] - old[from_faces][None], axis=2)
        carried[to_faces] = before.slots[from_faces[np.argmax(alike - _NEARNESS * apart, axis=1)]]
    return carried


def _in_own_box(points: np.ndarray) -> np.ndarray:
    """Return points as shares of the box that holds them all, (n, 3), so that a longer house compares with a short."""
    if not len(points):
        return points
    low, size = points.min(axis=0), np.ptp(points, axis=0)
    return (points - low) / np.where(size > 0.0, size, 1.0)
