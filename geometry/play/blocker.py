"""Blockers: what stands between an eye or a hand and a square, as opaque flat faces with a name."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

__all__ = ["Blocker", "BlockerKind"]


class BlockerKind(StrEnum):
    """What a blocker is, so that the maker can lift it off, open it or leave it out."""

    WALL = "wall"
    GABLE = "gable"  # what of an end wall rises above the eaves
    JOINER = "joiner"  # a cheek that stands into the room
    ROOF = "roof"
    LEAF = "leaf"
    FURNITURE = "furniture"
    MINIATURE = "miniature"


@dataclass(frozen=True, slots=True, eq=False)
class Blocker:
    """One opaque thing.

    name: what the maker calls it, unique. faces: per flat face its rings, (k, 3) mm each, the outline
    first, then holes; the model's frame, z up. solid: the faces close a body and every outline runs
    counter-clockwise seen from outside it; otherwise the faces are sheets that block from both sides.
    """

    name: str
    kind: BlockerKind
    faces: tuple[tuple[np.ndarray, ...], ...]
    solid: bool = False
