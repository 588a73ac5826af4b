"""Calibration: what was measured on one batch of a board with one laser, and overrides the catalogue.

Boards of one name differ from batch to batch, so values of two batches never stand side by side
in silence: ``continued`` adds to an earlier calibration of the same batch and laser, and refuses
another one. ``calibrated`` gives the stock with its measured values and says so on it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from ..errors import BadSettingError
from .stock import Stock

__all__ = ["MEASURED", "Calibration", "Measurable", "calibrated", "continued"]


@dataclass(frozen=True, slots=True)
class Measurable:
    """A value of a stock that can be measured: name of its field, what the maker calls it, unit, decimals shown."""

    name: str
    label: str
    unit: str
    decimals: int


#: What a calibration may hold, in the order in which it is measured.
MEASURED = (
    Measurable("thickness", "thickness", "mm", 2),
    Measurable("kerf", "kerf", "mm", 3),
    Measurable("slide", "slide fit", "mm", 2),
    Measurable("press", "press fit", "mm", 2),
    Measurable("glue", "glue fit", "mm", 2),
    Measurable("shear_modulus", "shear modulus", "MPa", 0),
    Measurable("shear_limit", "shear limit", "MPa", 2),
    Measurable("cross_tension", "bridge limit", "MPa", 2),
)


@dataclass(frozen=True, slots=True)
class Calibration:
    """Measured values of one batch, None where nothing was measured. Units and meaning as in ``Stock``.

    date: ISO 8601, or empty for values typed in by hand; batch, machine: the maker's own names.
    """

    date: str = ""
    batch: str = ""
    machine: str = ""
    thickness: float | None = None
    kerf: float | None = None
    slide: float | None = None
    press: float | None = None
    glue: float | None = None
    shear_modulus: float | None = None
    shear_limit: float | None = None
    cross_tension: float | None = None

    @property
    def known(self) -> dict[str, float]:
        """The values that were measured, by the name of their field."""
        values = {quantity.name: getattr(self, quantity.name) for quantity in MEASURED}
        return {name: value for name, value in values.items() if value is not None}

    @property
    def words(self) -> str:
        """What reports and panels say of a stock with this calibration, empty where nothing was measured."""
        labels = [quantity.label for quantity in MEASURED if quantity.name in self.known]
        if not labels:
            return ""
        what = " and ".join(part for part in (", ".join(labels[:-1]), labels[-1]) if part)
        if not (self.date or self.batch):
            return f"{what} measured"
        origin = ", ".join(
            part for part in (self.date, f"batch {self.batch}" if self.batch else "", self.machine) if part
        )
        return f"calibrated {origin}: {what}"


def calibrated(stock: Stock, calibration: Calibration | None) -> Stock:
    """Return the stock with its measured values in place of the catalogue's.

    Raises BadSettingError for a value that is no number; ``check_stock`` tells whether a board can have it.
    """
    if calibration is None or not calibration.known:
        return stock
    for quantity in MEASURED:
        value = calibration.known.get(quantity.name, 0.0)
        if not math.isfinite(value):
            raise BadSettingError(f"The {quantity.label} measured on {stock.label} is {value:g}; it must be a number.")
    known = calibration.known
    return replace(stock, **known, calibration=calibration.words, measured=tuple(known))  # type: ignore[arg-type]


def continued(earlier: Calibration | None, later: Calibration, *, start_anew: bool = False) -> Calibration:
    """Return ``later`` with what only the earlier calibration knows, where both are of one batch and laser.

    With ``start_anew`` nothing of the earlier one is kept. Raises BadSettingError where ``later``
    names no batch, or where the two differ in it and ``start_anew`` is not set.
    """
    if not later.batch.strip():
        raise BadSettingError(
            "The batch has no name; give it one, such as the day you bought the boards, so that values of different "
            "boards are not mixed."
        )
    if earlier is None or start_anew or not earlier.known:
        return later
    for what, old, new in (("batch", earlier.batch, later.batch), ("laser", earlier.machine, later.machine)):
        if old.strip() != new.strip():
            raise BadSettingError(
                f"The values kept so far are of {what} {old.strip() or 'without a name'!r}, the new ones of "
                f"{new.strip() or 'one without a name'!r}; start again to drop the earlier ones, or correct the name."
            )
    return replace(later, **{**earlier.known, **later.known})  # type: ignore[arg-type]
