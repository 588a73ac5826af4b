"""Pins and lasers of single parts: what the maker wishes of them on sheets, from the scene to values and back."""

from __future__ import annotations

import math
from collections.abc import Collection
from typing import TYPE_CHECKING

from ..geometry.sheet.layout_wishes import Pin
from .lengths import as_typed

if TYPE_CHECKING:
    from bpy.types import Scene

__all__ = ["choose_laser", "lasers_of_parts", "pin", "pins_of", "unpin"]


def pins_of(scene: Scene) -> tuple[Pin, ...]:
    """Return the scene's pins by part; the last one counts where a part was pinned twice by a script."""
    pins = {
        pin.part: Pin(pin.part, pin.sheet, pin.turn * math.pi / 2, (as_typed(pin.x), as_typed(pin.y)), pin.laser)
        for pin in scene.stowfold.pins
        if pin.part
    }
    return tuple(pins[part] for part in sorted(pins))


def pin(scene: Scene, wanted: Pin) -> None:
    """Pin a part, instead of where it was pinned before. Turns are whole quarters."""
    unpin(scene, {wanted.part})
    new = scene.stowfold.pins.add()
    new.part, new.sheet = wanted.part, wanted.sheet
    new.turn = round(wanted.turn / (math.pi / 2)) % 4
    new.x, new.y = wanted.shift
    new.laser = wanted.laser


def unpin(scene: Scene, parts: Collection[str] | None = None) -> int:
    """Take pins out, of some parts or all; return how many there were."""
    pins = scene.stowfold.pins
    gone = [k for k, pin in enumerate(pins) if parts is None or pin.part in parts]
    for k in reversed(gone):
        pins.remove(k)
    return len(gone)


def lasers_of_parts(scene: Scene) -> dict[str, str]:
    """Return the names of the lasers that the maker wants for single parts."""
    return {laser.name: laser.laser for laser in scene.stowfold.part_lasers if laser.laser}


def choose_laser(scene: Scene, part: str, laser: str) -> None:
    """Have a part cut on this laser, or with none named on whichever takes it first; a pin elsewhere is taken out."""
    chosen = scene.stowfold.part_lasers
    if (index := chosen.find(part)) >= 0:
        chosen.remove(index)
    if not laser:
        return
    new = chosen.add()
    new.name, new.laser = part, laser
    if any(pin.part == part and pin.laser not in ("", laser) for pin in scene.stowfold.pins):
        unpin(scene, {part})
