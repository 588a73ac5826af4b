"""Stock: a board with its measured thickness, its sheet, grain, strength and calibration.

``read_stocks`` reads a file of them (``stocks.toml`` beside this module unless told otherwise),
``find_stock`` picks one by name, ``check_stock`` refuses numbers that no board can have.
``read_tables`` and ``stock_from`` are the steps of reading, for files that hold more than stocks.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import MISSING, dataclass, field, fields
from enum import StrEnum
from pathlib import Path
from typing import Any

from ..catalogue import check_names, find_named, read_catalogue, read_number, read_text, read_values
from ..errors import BadSettingError

__all__ = ["Grain", "Stock", "check_stock", "find_stock", "read_stocks", "read_tables", "stock_from"]

_PACKAGED = Path(__file__).with_name("stocks.toml")


class Grain(StrEnum):
    """Which way the board's grain runs on the sheet."""

    NONE = "none"  # the same in all directions
    LENGTH = "length"  # along the longer side of the sheet
    WIDTH = "width"  # along the shorter side
    CROSSED = "crossed"  # plywood: layers both ways, either turn is good


@dataclass(frozen=True, slots=True)
class Stock:
    """One stock. Lengths in mm, stresses in MPa.

    name: slug; label: what the maker reads. thickness +- thickness_tolerance; thickness_under, thickness_over: how
    much thinner and thicker it may be, where that is not the same.
    kerf: width that one pass removes.
    shear_modulus (G), elastic_modulus (E) of the links.
    shear_limit: torsion stress that links may carry again and again.
    cross_tension: bending stress that bridges may carry.
    link_width: narrowest link; bridge: shortest bridge that survives cutting and handling.
    sheet: (length, width), the longer first.
    slide, press, glue: what a slot is wider than the board for a fit of this kind, None where not measured.
    price: of a whole sheet, in the maker's own money, None where it is not known.
    calibration: None for catalogue values, otherwise what was measured, when, from which batch.
    measured: fields whose values were measured on this batch; the others may lie anywhere in the catalogue's range.
    sources: where each value comes from, by field name.
    """

    name: str
    label: str
    thickness: float
    thickness_tolerance: float
    kerf: float
    shear_modulus: float
    elastic_modulus: float
    shear_limit: float
    cross_tension: float
    link_width: float
    bridge: float
    sheet: tuple[float, float]
    grain: Grain
    slide: float | None = None
    press: float | None = None
    glue: float | None = None
    thickness_under: float | None = None
    thickness_over: float | None = None
    price: float | None = None
    calibration: str | None = None
    measured: tuple[str, ...] = ()
    sources: Mapping[str, str] = field(default_factory=dict, hash=False)


def read_stocks(path: Path | None = None) -> tuple[Stock, ...]:
    """Read the stocks of a TOML file in its own order, or those that come with Stowfold.

    Raises UnreadableError where the file is missing, torn, or lacks or misspells a value, and
    BadSettingError where a value cannot be a board's.
    """
    path = _PACKAGED if path is None else path
    return tuple(stock_from(table, place) for place, table in read_tables(path))


def read_tables(path: Path) -> tuple[tuple[str, Mapping[str, Any]], ...]:
    """Return the [[stock]] tables of a TOML file in its own order, each after the words that say where it stands.

    Raises UnreadableError where the file is missing or torn, holds no table, or two of one name.
    """
    tables = read_catalogue(path, "stock")
    check_names(path, "stock", (table.get("name") for _, table in tables))
    return tables


def stock_from(table: Mapping[str, Any], place: str) -> Stock:
    """Return the checked stock that one table describes; ``place`` says where it stands.

    Raises UnreadableError for a value that is missing, unknown or of the wrong kind, BadSettingError
    for one that cannot be a board's.
    """
    known = fields(Stock)
    needed = [field.name for field in known if field.default is MISSING and field.default_factory is MISSING]
    stock = Stock(**read_values(table, place, [field.name for field in known], _value, needed=needed))
    check_stock(stock)
    return stock


def _value(key: str, raw: object) -> object:
    """Return a value of the file in the type of its field; raise TypeError or ValueError otherwise."""
    if key in ("name", "label", "calibration", "grain"):
        text = read_text(raw)
        return Grain(text) if key == "grain" else text
    if key == "measured":
        known = [field.name for field in fields(Stock)]
        if not (isinstance(raw, list) and all(name in known for name in raw)):
            raise TypeError("a list of names of values is needed")
        return tuple(raw)
    if key == "sources":
        if not (isinstance(raw, dict) and all(isinstance(text, str) for text in raw.values())):
            raise TypeError("a table of texts is needed")
        return dict(raw)
    if key == "sheet":
        if not (isinstance(raw, list) and len(raw) == 2):
            raise TypeError("length and width are needed")
        return (read_number(raw[0]), read_number(raw[1]))
    return read_number(raw)


def find_stock(name: str, stocks: Iterable[Stock]) -> Stock:
    """Return the stock of this name; raise BadSettingError that lists the names otherwise.

    >>> stock = find_stock("birch-plywood-3", read_stocks())
    >>> stock.thickness, stock.sheet
    (3.0, (600.0, 300.0))
    """
    return find_named("stock", name, stocks)


def check_stock(stock: Stock) -> None:
    """Raise BadSettingError, in one sentence, where a value cannot be a board's."""
    sizes = (
        ("thickness", stock.thickness, "mm"),
        ("kerf", stock.kerf, "mm"),
        ("narrowest link", stock.link_width, "mm"),
        ("shortest bridge", stock.bridge, "mm"),
        ("sheet length", stock.sheet[0], "mm"),
        ("sheet width", stock.sheet[1], "mm"),
        ("shear modulus", stock.shear_modulus, "MPa"),
        ("elastic modulus", stock.elastic_modulus, "MPa"),
        ("shear limit", stock.shear_limit, "MPa"),
        ("cross tension", stock.cross_tension, "MPa"),
    )
    for what, size, unit in sizes:
        if not (math.isfinite(size) and size > 0.0):
            raise BadSettingError(f"The {what} of {stock.label} is {size:g} {unit}; it must be larger than 0.")
    for fit in ("slide", "press", "glue"):
        clearance = getattr(stock, fit)
        if clearance is not None and not abs(clearance) < stock.thickness / 2.0:
            raise BadSettingError(
                f"The clearance of {stock.label} for a {fit} fit is {clearance:g} mm; "
                f"it must be less than half the thickness of {stock.thickness:g} mm."
            )
    if stock.price is not None and not (math.isfinite(stock.price) and stock.price >= 0.0):
        raise BadSettingError(f"The price of a sheet of {stock.label} is {stock.price:g}; it cannot be less than 0.")
    if not 0.0 <= stock.thickness_tolerance < stock.thickness:
        raise BadSettingError(
            f"The thickness tolerance of {stock.label} is {stock.thickness_tolerance:g} mm; "
            f"it must be at least 0 and less than the thickness of {stock.thickness:g} mm."
        )
    for side, spread in (("below", stock.thickness_under), ("above", stock.thickness_over)):
        if spread is not None and not 0.0 <= spread < stock.thickness:
            raise BadSettingError(
                f"{stock.label} may lie {spread:g} mm {side} its thickness; "
                f"that must be at least 0 and less than the thickness of {stock.thickness:g} mm."
            )
    if stock.kerf >= stock.thickness:
        raise BadSettingError(
            f"The kerf of {stock.label} is {stock.kerf:g} mm; "
            f"it must be less than the thickness of {stock.thickness:g} mm."
        )
    if stock.sheet[0] < stock.sheet[1]:
        raise BadSettingError(
            f"The sheet of {stock.label} is {stock.sheet[0]:g} x {stock.sheet[1]:g} mm; the longer side comes first."
        )
