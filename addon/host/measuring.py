"""Measuring: between the maker's values in the file and calibrations and readings of the arithmetic.

A stock's values in the file, where there are any, stand in the place of all that the library knows
to be measured on it, so that values of two batches never mix.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from ..geometry.board.calibration import MEASURED, Calibration, calibrated
from ..geometry.board.coupon import CouponPlan, Rung, plan_coupon, plan_quick_coupon
from ..geometry.board.lattice import lattice
from ..geometry.board.library import Entry
from ..geometry.board.readings import Broken, Calibrated, Direction, Failed, Fit, Hung, Readings, Stack, calibrate
from ..geometry.errors import BadSettingError
from . import stock_library
from .lengths import as_typed

if TYPE_CHECKING:
    from bpy.types import PropertyGroup, Scene

    from ..geometry.board.stock import Stock

__all__ = [
    "begin_quick_readings",
    "begin_readings",
    "calibration_of",
    "known_stocks",
    "plan_of",
    "read_calibration",
    "read_readings",
    "stock_in",
    "work_out",
    "write_calibration",
]

_FITS = {"SLIDE": Fit.SLIDE, "PRESS": Fit.PRESS, "GLUE": Fit.GLUE}
_COMBS = {"STACK_X": Direction.X, "STACK_Y": Direction.Y}

#: What a corner of a quick coupon is kept by.
_SIZES = ("angle", "axis_length", "link_width", "opening", "links", "slits", "bridge", "edge_bridge")


def read_calibration(own: PropertyGroup) -> Calibration:
    """Return the values of the file that are switched on as a calibration."""
    values = {
        quantity.name: as_typed(getattr(own, quantity.name))
        for quantity in MEASURED
        if getattr(own, f"use_{quantity.name}")
    }
    return Calibration(date=own.date, batch=own.batch, machine=own.machine, **values)


def write_calibration(own: PropertyGroup, stock: Stock, calibration: Calibration) -> None:
    """Put a calibration into the file; what it does not know is switched off and shows what ``stock`` says."""
    own.date, own.batch, own.machine = calibration.date, calibration.batch, calibration.machine
    for quantity in MEASURED:
        value = getattr(calibration, quantity.name)
        shown = getattr(stock, quantity.name) if value is None else value
        if shown is not None:
            setattr(own, quantity.name, shown)
        setattr(own, f"use_{quantity.name}", value is not None)


def calibration_of(scene: Scene, entry: Entry) -> Calibration | None:
    """Return what is measured on a stock: as the file says, otherwise as the library does."""
    own = scene.stowfold.measured.get(entry.base.name)
    return entry.calibration if own is None else read_calibration(own)


def stock_in(scene: Scene, entry: Entry) -> Stock:
    """Return a stock as it is used in this file, with its price where the file knows one."""
    stock = calibrated(entry.base, calibration_of(scene, entry))
    priced = scene.stowfold.prices.get(stock.name)
    return stock if priced is None else replace(stock, price=as_typed(priced.price))


def known_stocks(scene: Scene) -> dict[str, Stock]:
    """Return all stocks as they are used in this file, by name."""
    return {name: stock_in(scene, entry) for name, entry in stock_library.entries().items()}


def read_readings(coupon: PropertyGroup) -> Readings:
    """Return what was filled in; lengths and masses as they were typed."""
    lines = coupon.readings
    return Readings(
        thickness=tuple(as_typed(line.size) for line in lines if line.kind == "THICKNESS"),
        stacks=tuple(
            Stack(_COMBS[line.kind], line.slats, as_typed(line.size)) for line in lines if line.kind in _COMBS
        ),
        slots={fit: tuple(as_typed(line.size) for line in lines if line.kind == kind) for kind, fit in _FITS.items()},
        hung=tuple(
            Hung(line.hinge, as_typed(line.mass), as_typed(line.arm), line.angle)
            for line in lines
            if line.kind == "HUNG"
        ),
        broken=tuple(
            Broken(line.hinge, line.angle, Failed(line.failed.lower())) for line in lines if line.kind == "BROKEN"
        ),
    )


def begin_readings(coupon: PropertyGroup, stock: Stock) -> None:
    """Open the form for a coupon that was drawn with these values; readings of another board are dropped."""
    if coupon.stock != stock.name:
        coupon.readings.clear()
        coupon.batch, coupon.start_anew = "", False
    coupon.stock = stock.name
    coupon.drawn_thickness, coupon.drawn_kerf = stock.thickness, stock.kerf


def begin_quick_readings(coupon: PropertyGroup, plans: Mapping[str, CouponPlan], stock: Stock) -> None:
    """Open the form for a quick coupon of a building. plans: per board; stock: of the walls."""
    if not coupon.quick:
        coupon.readings.clear()
    coupon.corners.clear()
    for board, plan in plans.items():
        for rung in plan.rungs:
            made = rung.lattice
            added = coupon.corners.add()
            added.name, added.board, added.differs = rung.id, board, rung.differs
            for size in _SIZES:
                setattr(added, size, getattr(made, size))
    coupon.quick = True
    begin_readings(coupon, stock)


def plan_of(coupon: PropertyGroup, base: Stock) -> CouponPlan:
    """Return the plan of the coupon as it was drawn, whatever has been measured since."""
    drawn = replace(base, thickness=as_typed(coupon.drawn_thickness), kerf=as_typed(coupon.drawn_kerf))
    if not coupon.quick:
        return plan_coupon(drawn, repeats=coupon.repeats)
    rungs = tuple(_corner(corner, drawn) for corner in coupon.corners if corner.board == base.name)
    return plan_quick_coupon(drawn, rungs, comb=True, ladder=True)


def _corner(corner: PropertyGroup, drawn: Stock) -> Rung:
    """Return a corner of a quick coupon as it was drawn."""
    made = lattice(
        drawn,
        angle=corner.angle,
        axis_length=as_typed(corner.axis_length),
        link_width=as_typed(corner.link_width),
        opening=as_typed(corner.opening),
        links=corner.links,
        slits=corner.slits,
        bridge=as_typed(corner.bridge),
        edge_bridge=as_typed(corner.edge_bridge),
    )
    return Rung(corner.name, made, False, corner.differs)


def work_out(scene: Scene, *, date: str) -> Calibrated:
    """Return what the readings in the file come to.

    Raises BadSettingError, in one sentence, for a board that is not known and for readings that cannot be.
    """
    coupon = scene.stowfold.coupon
    entry = stock_library.entries().get(coupon.stock)
    if entry is None:
        raise BadSettingError("No board has readings here; choose Enter Readings beside the board that was tested.")
    return calibrate(
        entry.base,
        plan_of(coupon, entry.base),
        read_readings(coupon),
        date=date,
        batch=coupon.batch,
        machine=coupon.machine,
        earlier=calibration_of(scene, entry),
        start_anew=coupon.start_anew,
    )
