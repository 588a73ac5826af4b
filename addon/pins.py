"""Pins: parts that stay where the maker put them on a sheet, from the scene to values and back."""

from __future__ import annotations

import math
from collections.abc import Collection
from typing import TYPE_CHECKING

from .geometry.sheet.layout_wishes import Pin
from .lengths import as_typed

if TYPE_CHECKING:
    from bpy.types import Scene

__all__ = ["pin", "pins_of", "unpin"]


def pins_of(scene: Scene) -> tuple[Pin, ...]:
    """Return the scene's pins by part; the last one counts where a part was pinned twice by a script."""
    pins = {
        each.part: Pin(each.part, each.sheet, each.turn * math.pi / 2, (as_typed(each.x), as_typed(each.y)))
        for each in scene.stowfold.pins
        if each.part
    }
    return tuple(pins[part] for part in sorted(pins))


def pin(scene: Scene, wanted: Pin) -> None:
    """Pin a part, instead of where it was pinned before. Turns are whole quarters."""
    unpin(scene, {wanted.part})
    new = scene.stowfold.pins.add()
    new.part, new.sheet = wanted.part, wanted.sheet
    new.turn = round(wanted.turn / (math.pi / 2)) % 4
    new.x, new.y = wanted.shift


def unpin(scene: Scene, parts: Collection[str] | None = None) -> int:
    """Take pins out, of some parts or all; return how many there were."""
    pins = scene.stowfold.pins
    gone = [k for k, each in enumerate(pins) if parts is None or each.part in parts]
    for k in reversed(gone):
        pins.remove(k)
    return len(gone)
