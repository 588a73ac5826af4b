"""Signboards in Blender: objects that count as signs become values, with their letters as single strokes in mm."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..geometry.trim.signboard import Signboard
from .lengths import as_typed, mm_per_unit
from .poses import pose_of

if TYPE_CHECKING:
    from bpy.types import Object, PropertyGroup, Scene

__all__ = ["read_sign", "signs_in", "strokes_of"]

#: Letters take so much of the sign's height and width at most.
_HIGH, _WIDE = 0.5, 0.82


def signs_in(scene: Scene) -> tuple[Signboard, ...]:
    """Return the signboards of a scene, by name."""
    found = [target for target in scene.objects if target.type == "MESH" and target.stowfold.sign.is_sign]
    return tuple(read_sign(target, scene) for target in sorted(found, key=lambda target: target.name))


def read_sign(target: Object, scene: Scene) -> Signboard:
    """Return a signboard where it stands, in mm."""
    fields = target.stowfold.sign
    centre = pose_of(target).origin * mm_per_unit(scene)
    return Signboard(
        target.name,
        (float(centre[0]), float(centre[1]), float(centre[2])),
        as_typed(fields.width),
        as_typed(fields.height),
        tuple(tuple((float(x), float(y)) for x, y in stroke) for stroke in strokes_of(fields)),
        bool(fields.border),
        bool(fields.hangs),
    )


def strokes_of(fields: PropertyGroup) -> list[np.ndarray]:
    """Return the letters of a sign as lines about its middle, (k, 2) mm each, as large as its board takes them."""
    # needs the package of the font: only called when something is to be made
    from ..geometry.beam.lettering import letter, letter_width

    words = fields.text.strip()
    if not words:
        return []
    wide, high = _WIDE * as_typed(fields.width), _HIGH * as_typed(fields.height)
    size = min(high, wide / max(letter_width(words, 1.0), 1e-6))
    lines = [np.asarray(line, dtype=float) for line in letter(words, size)]
    if not lines:
        return []
    points = np.concatenate(lines)
    middle = (points.min(axis=0) + points.max(axis=0)) / 2.0
    return [line - middle for line in lines]
