"""Own drawing in Blender: curves, texts and grease pencil strokes to be engraved, as lines in model millimetres."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from ..geometry.finish.own import OwnDrawing
from ..geometry.part import Way
from .lengths import as_typed, mm_per_unit
from .pencil import PENCIL, pencil_strokes
from .poses import pose_of

if TYPE_CHECKING:
    from bpy.types import Object, Scene, Spline

__all__ = ["DRAWN", "drawings_in"]

#: Kinds of objects that can be engraved.
DRAWN = ("CURVE", "FONT", *PENCIL)

#: How far chords may lie off a curve, mm: a tenth of a line's width.
_CHORD = 0.02

#: A span of a curve gets no more chords than this, however far its handles reach.
_MOST_CHORDS = 2000

#: Height of capitals over the size of a text, and distance of its lines, in the host's own font.
_CAPITALS, _LEADING = 0.7, 1.0


def drawings_in(scene: Scene) -> tuple[OwnDrawing, ...]:
    """Return the curves, texts and grease pencil drawings of a scene that are to be engraved, by name."""
    chosen = [target for target in scene.objects if target.type in DRAWN and target.stowfold.engraved]
    return tuple(_drawing(target, scene) for target in sorted(chosen, key=lambda target: target.name))


def _drawing(target: Object, scene: Scene) -> OwnDrawing:
    unit = mm_per_unit(scene)
    stands = pose_of(target)
    scale = float(np.linalg.norm(stands.turn, axis=0).max()) * unit
    if target.type in PENCIL:
        strokes = [_chords(*stroke, scale) for stroke in pencil_strokes(target)]
    else:
        strokes = _letters(target) if target.type == "FONT" else _curves(target, scale)
    placed = tuple(stands.apply(stroke) * unit for stroke in strokes)
    fields = target.stowfold
    return OwnDrawing(target.name, placed, Way(fields.engraved_way.lower()), hatch=as_typed(fields.engraved_hatch))


def _curves(target: Object, scale: float) -> list[np.ndarray]:
    """Return the splines of a curve, (k, 3) in its own units. scale: mm per own unit."""
    return [points for spline in target.data.splines for points in [_flattened(spline, scale)] if len(points) > 1]


def _flattened(spline: Spline, scale: float) -> np.ndarray:
    """Return the points of a spline; a Bezier curve in chords that lie no farther off it than is seen."""
    if spline.type != "BEZIER":
        points = np.array([point.co[:3] for point in spline.points]).reshape(-1, 3)
        return _chords(points, None, bool(spline.use_cyclic_u), scale)
    knots = spline.bezier_points
    points = np.array([knot.co[:] for knot in knots]).reshape(-1, 3)
    handles = np.array([(knot.handle_left[:], knot.handle_right[:]) for knot in knots]).reshape(-1, 2, 3)
    return _chords(points, handles, bool(spline.use_cyclic_u), scale)


def _chords(points: np.ndarray, handles: np.ndarray | None, closed: bool, scale: float) -> np.ndarray:
    """Return the points of a line, (k, 3); one with handles, (k, 2, 3), in chords no farther off it than is seen."""
    if not len(points):
        return points
    following = np.vstack([points[1:], points[:1]]) if closed else points[1:]
    if handles is None:
        return np.vstack([points, points[:1]]) if closed else points
    pieces = [points[:1]]
    for k, other in enumerate(following):
        ends = np.array([points[k], handles[k, 1], handles[(k + 1) % len(points), 0], other], dtype=float)
        # Wang's formula: so many chords lie within a distance of a cubic
        bend = np.linalg.norm(np.diff(ends, 2, axis=0), axis=1).max() * scale
        if not np.isfinite(bend):
            pieces.append(ends[3:])
            continue
        chords = min(max(math.ceil(math.sqrt(0.75 * bend / _CHORD)), 1), _MOST_CHORDS)
        share = np.linspace(0.0, 1.0, chords + 1)[1:, None]
        rest = 1.0 - share
        weights = np.hstack([rest**3, 3 * rest**2 * share, 3 * rest * share**2, share**3])
        pieces.append(weights @ ends)
    return np.concatenate(pieces)


def _letters(target: Object) -> list[np.ndarray]:
    """Return the strokes of a text in single lines, (k, 3) in its own units: filled letters would burn twice."""
    from ..geometry.beam.lettering import letter, letter_width

    text = target.data
    height = _CAPITALS * as_typed(text.size)
    strokes = []
    for number, line in enumerate(text.body.splitlines()):
        share = {"CENTER": 0.5, "RIGHT": 1.0}.get(text.align_x, 0.0)
        shift = np.array([-share * letter_width(line, height), -number * _LEADING * as_typed(text.size)])
        for stroke in letter(line, height):
            strokes.append(np.column_stack([stroke + shift, np.zeros(len(stroke))]))
    return strokes
