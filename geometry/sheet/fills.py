"""Fills: how sheets and the parts on them are coloured, on paper and in the window alike."""

from __future__ import annotations

from collections.abc import Mapping

from ..part import PartKind

__all__ = ["FILLS", "SHEET", "SLITS"]

#: One fill per kind of part; they also differ in grey.
FILLS: Mapping[PartKind, str] = {
    PartKind.WALL: "#ece2cc",
    PartKind.PANEL: "#ece2cc",
    PartKind.ROOF: "#96a4b2",
    PartKind.CORE: "#be8c60",
    PartKind.CHEEK: "#d6b08c",
    PartKind.FLOOR: "#d0dcc4",
    PartKind.STOP: "#80909c",
    PartKind.COUPON: "#e6e6e6",
    PartKind.CASE: "#d8c4dc",
    PartKind.CARRIER: "#be8c60",
    PartKind.LAP: "#80909c",
}

SLITS, SHEET = "#b5179e", "#fbfaf7"
