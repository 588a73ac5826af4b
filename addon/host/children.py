"""Which objects belong to a block-out: doors, windows, dormers and whatever else stands on it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bpy.types import Object

__all__ = ["belonging_to"]


def belonging_to(objects: Sequence[Object], found: Iterable[Object], *, alone: bool) -> tuple[Object, ...]:
    """Return what of ``found`` hangs below an object of a block-out, by name.

    alone: whether the block-out is the only one, so that what has no parent belongs to it too.
    """
    own = []
    for target in found:
        above = target.parent
        while above is not None and above not in objects:
            above = above.parent
        if above is not None or (alone and target.parent is None):
            own.append(target)
    return tuple(sorted(own, key=lambda target: target.name))
