"""How a sheet lies on a laser's bed: which way round, how much of it the bed takes, where its grain runs."""

from __future__ import annotations

import math

from ..beam.laser import Laser
from ..board.stock import Grain, Stock
from ..errors import BadSettingError
from ..findings import Finding, Severity
from ..tolerance import LENGTH

__all__ = ["lie_on_bed", "lie_rest", "lies_lengthwise"]


def lie_on_bed(stock: Stock, laser: Laser) -> tuple[tuple[float, float], float | None, tuple[Finding, ...]]:
    """Return (width, height) of the stock as it lies on the bed, the grain's direction there, and findings.

    The sheet lies so that the bed takes most of it, otherwise with its longer side along the bed's width.
    """
    length, width = stock.sheet
    lengthwise = lies_lengthwise(stock, laser)
    size = lie_rest(stock.sheet, stock, laser)
    if min(size) <= 2 * laser.margin:
        raise BadSettingError(
            f"The margin of {laser.margin:g} mm leaves nothing of {stock.label}, {size[0]:g} x {size[1]:g} mm; "
            f"make it smaller"
        )
    grain = None
    if stock.grain in (Grain.LENGTH, Grain.WIDTH):
        grain = 0.0 if (stock.grain is Grain.LENGTH) == lengthwise else math.pi / 2
    findings: tuple[Finding, ...] = ()
    if size[0] * size[1] < length * width - LENGTH:
        message = (
            f"Sheets of {stock.label} measure {length:g} x {width:g} mm, the laser's bed takes "
            f"{size[0]:g} x {size[1]:g} mm of them; cut them down to that before"
        )
        findings = (Finding(Severity.NOTE, "sheet-larger-than-bed", message),)
    return size, grain, findings


def lies_lengthwise(stock: Stock, laser: Laser) -> bool:
    """Return whether the length of the stock's sheets lies along the bed's width."""
    (bed_width, bed_depth), (length, width) = laser.bed, stock.sheet
    along = min(length, bed_width) * min(width, bed_depth)
    turned = min(width, bed_width) * min(length, bed_depth)
    return along >= turned - LENGTH


def lie_rest(rest: tuple[float, float], stock: Stock, laser: Laser) -> tuple[float, float]:
    """Return (width, height) of a (length, width) piece of a sheet, lying like whole sheets: what the bed takes."""
    lying = rest if lies_lengthwise(stock, laser) else rest[::-1]
    return min(lying[0], laser.bed[0]), min(lying[1], laser.bed[1])
