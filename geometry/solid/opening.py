"""Openings: doors, windows, hatches and arches that stand in a wall as things of their own.

The maker moves, copies and deletes them; the wall's mesh stays as it was modelled. What they cut out
of the facets is the work of ``cut_openings``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..pose import Pose
from .filling import Filling

__all__ = ["Leaf", "Opening", "OpeningTrim"]


@dataclass(frozen=True, slots=True)
class Leaf:
    """A door or shutter that stays in the wall's board and swings on a lattice at one jamb.

    on_left: hung at the end of the opening's own -x. swing: how far it opens, radians, + to the side
    of the opening's own z.
    """

    on_left: bool = True
    swing: float = np.radians(100.0)


@dataclass(frozen=True, slots=True)
class OpeningTrim:
    """Which trim goes round one opening, whatever the building's other openings get."""

    frames: bool = False
    sills: bool = False
    shutters: bool = False


@dataclass(frozen=True, slots=True)
class Opening:
    """One opening as it stands in the model.

    name: of the host's object. ring: outline in its own frame, x along the wall, y up from its foot,
    mm, without the first corner repeated, either way round. stands: from that frame to the model, z square
    to the wall; its axes have other lengths where the maker scaled it. leaf: what closes it, if anything does.
    filling: bars, boards or panes that stand in it, or in its leaf. trim: what goes round it, None for what the
    building's openings get.
    """

    name: str
    ring: tuple[tuple[float, float], ...]
    stands: Pose
    leaf: Leaf | None = None
    filling: Filling | None = None
    trim: OpeningTrim | None = None

    @property
    def origin(self) -> np.ndarray:
        """Where its foot stands, (3,) mm."""
        return self.stands.origin

    @property
    def across(self) -> np.ndarray:
        """Square to the wall, (3,) unit."""
        return self.stands.z / np.linalg.norm(self.stands.z)

    @property
    def points(self) -> np.ndarray:
        """The corners in the model, (k, 3) mm."""
        return self.stands.apply(self.ring)
