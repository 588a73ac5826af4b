"""Fills: how sheets and parts are coloured, on paper and in the window alike; the one table of such colours."""

from __future__ import annotations

from collections.abc import Mapping

from ..beam.laser import Laser, Operation
from ..part import PartKind

__all__ = ["CHAR", "FILLS", "SHEET", "SLITS", "STANDING_FILLS", "STROKE", "mixed", "rgb"]

Colour = tuple[float, float, float]

#: One fill per kind of part; they also differ in grey.
FILLS: Mapping[PartKind, str] = {
    PartKind.WALL: "#ece2cc",
    PartKind.PANEL: "#ece2cc",
    PartKind.ROOF: "#96a4b2",
    PartKind.UPSTAND: "#c9bfb4",
    PartKind.CORE: "#be8c60",
    PartKind.CHEEK: "#d6b08c",
    PartKind.FLOOR: "#d0dcc4",
    PartKind.STOP: "#80909c",
    PartKind.COUPON: "#e6e6e6",
    PartKind.CASE: "#d8c4dc",
    PartKind.CARRIER: "#be8c60",
    PartKind.LAP: "#80909c",
    PartKind.CAP: "#8494a2",
    PartKind.TRIM: "#b99a78",
    PartKind.TILE: "#e0d0ac",
    PartKind.DARK_TILE: "#8a6a4c",
    PartKind.PROP: "#c8ac8c",
    PartKind.SIGN: "#c4a07a",
}

#: The same in drawings of boards that stand, whose faces are shaded: cheeks darker, floors and cases nearer to wood.
STANDING_FILLS: Mapping[PartKind, str] = {
    **FILLS,
    PartKind.CHEEK: "#c99a6e",
    PartKind.FLOOR: "#d6dece",
    PartKind.STOP: "#808e9c",
    PartKind.CASE: "#ded0b4",
    PartKind.LAP: "#808e9c",
    PartKind.TRIM: "#7d5c43",
}

#: Slits as the first laser's files show them, the board of a sheet, and the outlines of parts.
SLITS, SHEET, STROKE = Laser().colours[Operation.SLITS], "#fbfaf7", "#3a3a38"


#: Char that a laser leaves on what it cuts, red, green and blue from 0 to 1.
CHAR: Colour = (0.20, 0.13, 0.08)


def rgb(colour: str) -> Colour:
    """Return a colour spelt as #ece2cc as red, green and blue from 0 to 1."""
    red, green, blue = (part / 255 for part in bytes.fromhex(colour[1:]))
    return red, green, blue


def mixed(one: Colour, two: Colour, share: float) -> Colour:
    """Return a colour with a share of another one in it."""
    red, green, blue = ((1.0 - share) * a + share * b for a, b in zip(one, two, strict=True))
    return red, green, blue
