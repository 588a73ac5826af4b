"""The shelf after a cut: which offcuts it used up, and which it brings.

A cut is known by its parts, so that none takes pieces from the shelf twice.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

import numpy as np
import shapely

from ..part import Part
from ..tolerance import DRAWN, LENGTH
from .layout import Layout
from .offcut_list import REMEMBERED, KeptCut, KeptPiece, OffcutList
from .offcuts import Offcut, find_offcuts
from .routing import lie_rest

__all__ = ["Change", "change_by", "name_of_cut"]


@dataclass(frozen=True, slots=True)
class Change:
    """What a cut changes on the shelf. taken: entries that it used, one piece each; lost: (stock, (width, height))
    of sheets that were offcuts but are not on the list any more; new: what its sheets leave.

    cut: how the cut is remembered; before: when it was entered already, None where it was not.
    """

    cut: KeptCut
    taken: tuple[KeptPiece, ...]
    lost: tuple[tuple[str, tuple[float, float]], ...]
    new: tuple[Offcut, ...]
    before: KeptCut | None

    def apply(self, shelf: OffcutList, keep: Collection[int], *, date: str = "", note: str = "") -> OffcutList:
        """Return the list after the cut. keep: which of the new pieces (by number) go onto the shelf."""
        for piece in self.taken:
            shelf = shelf.without(piece.key)
        for number, offcut in enumerate(self.new):
            if number in keep:
                shelf = shelf.with_piece(KeptPiece(offcut.stock, offcut.length, offcut.width, 1, note, date))
        cuts = [cut for cut in shelf.cuts if cut.name != self.cut.name]
        return replace(shelf, cuts=(*cuts, replace(self.cut, date=date))[-REMEMBERED:])


def change_by(shelf: OffcutList, layout: Layout, parts: Mapping[str, Part], *, title: str = "") -> Change:
    """Return what cutting all sheets of a layout changes on the shelf."""
    cut = KeptCut(name_of_cut(layout, parts), title)
    before = next((known for known in shelf.cuts if known.name == cut.name), None)
    rest, taken, lost = shelf, [], []
    for sheet in layout.sheets:
        if not sheet.offcut:
            continue
        for piece in rest.pieces:
            lying = lie_rest((piece.length, piece.width), sheet.stock, sheet.laser)
            if piece.stock == sheet.stock.name and np.allclose(lying, sheet.size, rtol=0.0, atol=LENGTH):
                rest = rest.without(piece.key)
                taken.append(replace(piece, count=1))
                break
        else:
            lost.append((sheet.stock.name, sheet.size))
    return Change(cut, tuple(taken), tuple(lost), find_offcuts(layout, parts), before)


def name_of_cut(layout: Layout, parts: Mapping[str, Part]) -> str:
    """Return a name for what a layout cuts: the same parts have the same name, wherever they lie."""
    seen = hashlib.sha256()
    for name in sorted(placement.part for placement in layout.placements):
        part = parts[name]
        outline = shapely.to_wkt(shapely.normalize(shapely.set_precision(part.outline, DRAWN)), rounding_precision=3)
        seen.update(f"{name} {part.stock} {outline}\n".encode())
    return seen.hexdigest()[:16]
