"""Figures: whether a player sees a miniature, by slices while it is dragged, by its silhouette for the report.

A miniature is an upright cylinder. Slices tell what is seen of its disc at base, chest and head, from the same
hidden regions as the squares. The silhouette lies in the upright plane through its axis that faces the eye:
everything before that plane is projected onto it from the eye.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import shapely

from ..tolerance import AREA, LENGTH
from .blocker import Blocker
from .cast import united
from .miniature import Miniature
from .sight import Eye, Shadows, cast_shadows
from .squares import Squares

__all__ = ["FigureSight", "Seen", "see_figures", "silhouette"]

#: Of the silhouette, from this share on a figure counts as visible, and below the other as hidden
#: (common practice, no source).
_VISIBLE, _HIDDEN = 0.5, 0.1

#: A head of which this share shows is seen in part (common practice, no source).
_HEAD = 0.5

#: Chords per quarter of a disc.
_QUARTER = 16


class Seen(StrEnum):
    """How much of a miniature someone sees."""

    VISIBLE = "visible"
    PARTLY = "partly"
    HIDDEN = "hidden"


@dataclass(frozen=True, slots=True, eq=False)
class FigureSight:
    """What the seats see of one miniature.

    slices: (seats, 3) visible shares of its disc at base, chest and head. share: (seats,) of the whole: the mean
    of the slices, or of the silhouette where that was asked for. seen: per seat.
    """

    name: str
    seats: tuple[str, ...]
    slices: np.ndarray
    share: np.ndarray
    seen: tuple[Seen, ...]


def see_figures(
    miniatures: Sequence[Miniature],
    blockers: Sequence[Blocker],
    squares: Squares,
    eyes: Sequence[Eye],
    *,
    exact: bool = False,
) -> tuple[FigureSight, ...]:
    """Return what every seat sees of every miniature; a blocker with a miniature's own name is left out for it.

    exact: judge by the silhouette instead of the mean of three slices. Figures beyond the squares are seen
    rightly only where no shadow ends on the squares' rim. Raises GeometryError as ``see`` does.
    """
    found: dict[int, FigureSight] = {}
    kept: dict[tuple[float, float, str], Shadows] = {}
    named = {blocker.name for blocker in blockers}
    for k, figure in enumerate(miniatures):
        own = figure.name if figure.name in named else ""
        foot = float(figure.foot[2] - squares.origin[2])
        key = (foot, figure.height, own)
        if key not in kept:
            others = [blocker for blocker in blockers if blocker.name != own]
            heights = [foot, foot + figure.height / 2.0, foot + figure.height]
            kept[key] = cast_shadows(others, squares, eyes, heights)
        slices = _slices(figure, kept[key])
        share = slices.mean(axis=1)
        if exact:
            others = [blocker for blocker in blockers if blocker.name != own]
            share = np.array([silhouette(figure, others, eye.point) for eye in eyes])
        seen = tuple(_judged(float(part), float(head)) for part, head in zip(share, slices[:, 2], strict=True))
        found[k] = FigureSight(figure.name, tuple(eye.seat for eye in eyes), slices, share, seen)
    return tuple(found[k] for k in range(len(miniatures)))


def _judged(share: float, head: float) -> Seen:
    if share >= _VISIBLE:
        return Seen.VISIBLE
    return Seen.PARTLY if share >= _HIDDEN or head >= _HEAD else Seen.HIDDEN


def _slices(figure: Miniature, shadows: Shadows) -> np.ndarray:
    """Return the visible share of a figure's disc, (seats, heights)."""
    squares = shadows.squares
    away = figure.foot - squares.origin
    disc = shapely.Point(float(away @ squares.u), float(away @ squares.v)).buffer(figure.base / 2.0, quad_segs=_QUARTER)
    hidden = shapely.area(shapely.intersection(shadows.hidden, disc)) / disc.area
    shares: np.ndarray = np.clip(1.0 - hidden, 0.0, 1.0)
    return shares


def silhouette(figure: Miniature, blockers: Sequence[Blocker], eye: np.ndarray) -> float:
    """Return the visible share of a figure's silhouette from an eye, (3,) mm; 1 for an eye right above it.

    Exact for what stands before the plane of the figure's axis; what reaches into its own depth is cut there.
    """
    step = figure.foot[:2] - eye[:2]
    distance = float(np.hypot(*step))
    if distance < figure.base:
        return 1.0
    ahead = np.array([*(step / distance), 0.0])
    aside = np.array([-ahead[1], ahead[0], 0.0])
    frame = np.vstack([aside, [0.0, 0.0, 1.0], ahead])
    outline = _outline(figure, eye, frame, distance)
    low, bottom, high, top = outline.bounds
    shades = []
    for blocker in blockers:
        for face in blocker.faces:
            rings = [_before((ring - eye) @ frame.T, 1.0, distance) for ring in face]
            flat = [ring[:, :2] * (distance / ring[:, 2:]) for ring in rings if len(ring) > 2]
            if not flat or len(rings[0]) < 3:
                continue
            least, most = flat[0].min(axis=0), flat[0].max(axis=0)
            if least[0] < high and most[0] > low and least[1] < top and most[1] > bottom:
                shade = shapely.make_valid(shapely.Polygon(flat[0], flat[1:]))
                if shade.area > AREA:
                    shades.append(shade)
    if not shades:
        return 1.0
    hidden = united(np.array([shades], dtype=object))[0].intersection(outline).area
    return float(np.clip(1.0 - hidden / outline.area, 0.0, 1.0))


def _outline(figure: Miniature, eye: np.ndarray, frame: np.ndarray, distance: float) -> shapely.Polygon:
    """Return the silhouette of a figure in the plane of its axis: the hull of its base and head circles."""
    turn = np.linspace(0.0, 2.0 * np.pi, 4 * _QUARTER, endpoint=False)
    circle = figure.base / 2.0 * np.column_stack([np.cos(turn), np.sin(turn), np.zeros(len(turn))])
    rims = np.vstack([figure.foot + circle, figure.foot + circle + np.array([0.0, 0.0, figure.height])])
    placed = (rims - eye) @ frame.T
    return shapely.convex_hull(shapely.multipoints(placed[:, :2] * (distance / placed[:, 2:])))


def _before(ring: np.ndarray, near: float, far: float) -> np.ndarray:
    """Return what of a ring lies at depths near .. far, (k, 3) mm (Sutherland and Hodgman 1974)."""
    for depth, sign in ((near, 1.0), (far, -1.0)):
        if len(ring) < 3:
            break
        over = sign * (ring[:, 2] - depth)
        kept = []
        for here, there, a, b in zip(ring, np.roll(ring, -1, axis=0), over, np.roll(over, -1), strict=True):
            if a >= 0.0:
                kept.append(here)
            if (a > LENGTH and b < -LENGTH) or (a < -LENGTH and b > LENGTH):
                kept.append(here + (there - here) * (a / (a - b)))
        ring = np.array(kept).reshape(-1, 3)
    return ring
