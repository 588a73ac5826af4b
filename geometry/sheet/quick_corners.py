"""Corners of a quick coupon: which kinds of bends a building has, and each as large as time and sheet allow.

Twist per link is what closes slits and breaks links, so that a piece with fewer rows tells nearly as much: it closes
at an angle less by the share of its links. The cell itself (link, opening, bridge, slit) is never changed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..board.lattice import Lattice, lattice
from ..board.stock import Stock
from ..part import Part, PlacedLattice

__all__ = ["BendKind", "Corner", "bend_kinds"]

#: Cells whose sizes differ by less than this share behave alike: board and kerf differ as much (common practice, no
#: source).
_ALIKE = 0.10

#: With fewer links an error of 2 degrees is more than a fifteenth of the usual 30 (common practice, no source).
_LEAST_LINKS = 6


@dataclass(frozen=True, slots=True, eq=False)
class BendKind:
    """Bends of one cell and stock: the one that uses most of its limits, the part that has it, and how many there are.

    grain: preferred direction of the grain against the slits, radians, None where it does not matter.
    """

    lattice: Lattice
    stock: str
    part: str
    bends: int
    grain: float | None


@dataclass(frozen=True, slots=True, eq=False)
class Corner:
    """One corner of a quick coupon. slits, links: what is left of those of its kind."""

    id: str
    kind: BendKind
    slits: int
    links: int

    @classmethod
    def whole(cls, name: str, kind: BendKind) -> Corner:
        """Return the corner as the building has it."""
        return cls(name, kind, kind.lattice.slits, kind.lattice.links)

    @property
    def share(self) -> float:
        """The share of its links that is left, and of the angle at which slits close."""
        return self.links / self.kind.lattice.links

    @property
    def height(self) -> float:
        """Length of its axis, mm: so many true slits and bridges."""
        made = self.kind.lattice
        return 2.0 * made.edge_bridge + self.slits * made.slit + (self.slits - 1) * made.bridge

    def shorter(self) -> Corner | None:
        """Return the corner one slit high, None where it is so already."""
        return replace(self, slits=1) if self.slits > 1 else None

    def narrower(self) -> Corner | None:
        """Return the corner with two links less, None where no angle could be read any more."""
        return replace(self, links=self.links - 2) if self.links - 2 >= _LEAST_LINKS else None

    def wider(self) -> Corner | None:
        """Return the corner with two links more, None where it has all that the building's has."""
        return replace(self, links=self.links + 2) if self.links + 2 <= self.kind.lattice.links else None

    def lattice(self, stock: Stock) -> Lattice:
        """Return its lattice, made for the angle that asks the same of every link as the building does."""
        made = self.kind.lattice
        return lattice(
            stock,
            angle=made.angle * self.share,
            axis_length=self.height,
            link_width=made.link_width,
            opening=made.opening,
            links=self.links,
            slits=self.slits,
            bridge=made.bridge,
            edge_bridge=made.edge_bridge,
        )


def bend_kinds(parts: Sequence[Part], stocks: Mapping[str, Stock]) -> tuple[BendKind, ...]:
    """Return the kinds of bends of a building, the most frequent first; bends of one cell are one kind."""
    bends = [(part, placed) for part in parts for placed in part.lattices if part.stock in stocks]
    bends.sort(key=lambda bend: -round(_used(bend[1].lattice), 6))
    kinds: list[BendKind] = []
    for part, placed in bends:
        same = next((k for k, kind in enumerate(kinds) if _alike(kind, part.stock, placed.lattice)), None)
        if same is None:
            kinds.append(BendKind(placed.lattice, part.stock, part.id, 1, _grain(part, placed)))
        else:
            kinds[same] = replace(kinds[same], bends=kinds[same].bends + 1)
    return tuple(sorted(kinds, key=lambda kind: -kind.bends))


def _used(made: Lattice) -> float:
    """Return the greatest share of a limit that a bend uses."""
    closing = made.twist / made.contact_twist if made.contact_twist is not None else 0.0
    return max(made.held_shear / made.shear_limit, made.held_bridge_stress / made.bridge_limit, closing)


def _alike(kind: BendKind, stock: str, other: Lattice) -> bool:
    sizes = [(lattice.link_width, lattice.opening, lattice.bridge, lattice.slit) for lattice in (kind.lattice, other)]
    return kind.stock == stock and all(abs(a - b) <= _ALIKE * max(a, b) for a, b in zip(*sizes, strict=True))


def _grain(part: Part, placed: PlacedLattice) -> float | None:
    """Return the direction of the grain where the slits run along y."""
    if part.grain is None:
        return None
    return part.grain - float(np.arctan2(placed.along[1], placed.along[0])) + math.pi / 2
