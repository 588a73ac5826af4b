"""Thumbnails: a small picture of a mesh, for the asset browser, drawn without any graphics card.

Faces are painted from the farthest to the nearest, in parallel projection, lit from one side.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np

__all__ = ["SIDE", "draw_swatch", "draw_thumbnail"]

#: Pixels of a side, as the host stores pictures of assets.
SIDE = 128

#: So many times as large the picture is painted before it is made smaller, for smooth edges.
_FINER = 3

#: Share of the picture's side that stays free round the mesh.
_MARGIN = 0.08

#: From where the mesh is seen: turned about the upright axis, then seen from so far above, degrees.
_TURNED, _ABOVE = 30.0, 28.0

#: Where light comes from, and how bright a face is that it does not meet.
_LIGHT, _SHADE = np.array([-0.2, -0.75, 0.63]), 0.45

#: Colours of materials are linear, those of pictures are not.
_GAMMA = 2.2

#: How dark the line round every face is, and how far from its edge it reaches, px of the finer picture.
_LINE, _LINE_WIDTH = 0.55, 1.6


def draw_thumbnail(
    points: np.ndarray,
    faces: Sequence[Sequence[int]],
    colours: Sequence[Sequence[float]],
    *,
    before: Collection[int] = (),
) -> np.ndarray:
    """Return the picture of a mesh, (SIDE, SIDE, 4) in 0 to 1, the lowest row first.

    points: (n, 3). faces: indices into them. colours: red, green and blue of every face. before: faces that lie just
    before a larger one: those that look at the eye are painted after all others, the rest is behind it.
    """
    side = SIDE * _FINER
    right, up, toward = _axes()
    seen = points @ np.column_stack([right, up])
    low, high = seen.min(axis=0), seen.max(axis=0)
    scale = side * (1.0 - 2.0 * _MARGIN) / float((high - low).max())
    seen = (seen - (low + high) / 2.0) * scale + side / 2.0
    picture = np.zeros((side, side, 4))
    ahead = {k for k in before if _normal(points[list(faces[k])]) @ toward > 0.0}
    shown = [k for k in range(len(faces)) if k not in before or k in ahead]
    for k in sorted(shown, key=lambda k: (k in ahead, float((points[list(faces[k])] @ toward).mean()))):
        corners = list(faces[k])
        colour = np.asarray(colours[k][:3]) ** (1.0 / _GAMMA) * _lit(points[corners], toward)
        _paint(picture, seen[corners], colour)
    return picture.reshape(SIDE, _FINER, SIDE, _FINER, 4).mean(axis=(1, 3))


def draw_swatch(lines: Sequence[np.ndarray], size: float, colour: Sequence[float]) -> np.ndarray:
    """Return the picture of a flat piece of board with lines on it, (SIDE, SIDE, 4) in 0 to 1, the lowest row first.

    lines: (k, 2) mm each, in a square of ``size`` mm from the origin. colour: red, green and blue of the board.
    """
    side = SIDE * _FINER
    edge = round(side * _MARGIN)
    scale = (side - 2 * edge) / size
    picture = np.zeros((side, side, 4))
    picture[edge : side - edge, edge : side - edge] = (*(np.asarray(colour[:3]) ** (1.0 / _GAMMA)), 1.0)
    dark = np.zeros((side, side), dtype=bool)
    for line in lines:
        run = np.diff(line, axis=0)
        # so many points that none of the pixels between them is missed
        counts = np.maximum(np.ceil(np.hypot(*run.T) * scale * 2).astype(int), 1)
        for start, step, count in zip(line[:-1], run, counts, strict=True):
            x, y = ((start + np.linspace(0.0, 1.0, count + 1)[:, None] * step) * scale + edge).astype(int).T
            inside = (x >= edge) & (x < side - edge - 1) & (y >= edge) & (y < side - edge - 1)
            for across, up in ((0, 0), (1, 0), (0, 1), (1, 1)):
                dark[y[inside] + up, x[inside] + across] = True
    picture[dark, :3] *= 1.0 - _LINE
    return picture.reshape(SIDE, _FINER, SIDE, _FINER, 4).mean(axis=(1, 3))


def _axes() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the directions right, up and toward the eye, (3,) each."""
    turn, lift = np.radians(_TURNED), np.radians(_ABOVE)
    right = np.array([np.cos(turn), np.sin(turn), 0.0])
    toward = np.array([np.sin(turn) * np.cos(lift), -np.cos(turn) * np.cos(lift), np.sin(lift)])
    return right, np.cross(toward, right), toward


def _normal(corners: np.ndarray) -> np.ndarray:
    """Return the normal of a face as long as twice its area, (3,)."""
    normal: np.ndarray = np.cross(corners, np.roll(corners, -1, axis=0)).sum(axis=0)
    return normal


def _lit(corners: np.ndarray, toward: np.ndarray) -> float:
    """Return how bright a face is, seen from either side."""
    normal = _normal(corners)
    length = float(np.linalg.norm(normal))
    if not length:
        return _SHADE
    normal = normal * np.sign(normal @ toward or 1.0) / length
    return _SHADE + (1.0 - _SHADE) * max(0.0, float(normal @ _LIGHT / np.linalg.norm(_LIGHT)))


def _paint(picture: np.ndarray, ring: np.ndarray, colour: np.ndarray) -> None:
    """Paint one face with a line round it; ring: (n, 2) px."""
    side = len(picture)
    low = np.clip(np.floor(ring.min(axis=0)).astype(int) - 1, 0, side)
    high = np.clip(np.ceil(ring.max(axis=0)).astype(int) + 1, 0, side)
    if (high <= low).any():
        return
    x, y = np.meshgrid(np.arange(low[0], high[0]) + 0.5, np.arange(low[1], high[1]) + 0.5)
    inside, near = np.zeros(x.shape, dtype=bool), np.full(x.shape, np.inf)
    for (ax, ay), (bx, by) in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        if ay != by:
            inside ^= ((ay > y) != (by > y)) & (x < (bx - ax) * (y - ay) / (by - ay) + ax)
        length = (bx - ax) ** 2 + (by - ay) ** 2
        along = np.clip(((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / length, 0.0, 1.0) if length else 0.0 * x
        near = np.minimum(near, np.hypot(x - ax - along * (bx - ax), y - ay - along * (by - ay)))
    part = picture[low[1] : high[1], low[0] : high[0]]
    dark = np.where(near < _LINE_WIDTH, _LINE, 1.0)[..., None]
    part[inside, :3] = (colour * dark)[inside]
    part[inside, 3] = 1.0
