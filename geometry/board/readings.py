"""Readings: what was measured on the cut coupon, and the values of the board that follow from it.

``calibrate`` takes them in the order in which they depend on each other: thickness; the kerf from
the combs; fits from the slot ladder; the shear modulus from weights hung on hinges; the strength of
links and bridges from the angles at which they broke. Sizes of hinges are taken as they were really
cut, with the kerf that was found and not the one that was drawn for.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum

from ..errors import BadSettingError
from ..findings import Finding, Severity
from ..units import GRAVITY
from .calibration import MEASURED, Calibration, Measurable, calibrated, continued
from .coupon import CouponPlan, Rung
from .fitting import Estimate, fit_mean, fit_parallel, fit_proportion, least_strength
from .lattice import LARGEST_ANGLE, Lattice, lattice
from .stock import Grain, Stock, check_stock

__all__ = ["Broken", "Calibrated", "Change", "Direction", "Failed", "Fit", "Hung", "Readings", "Stack", "calibrate"]

#: Limits are two thirds of strength, the usual limit of elastic behaviour (see ``stocks.toml``).
_LIMIT_SHARE = 2.0 / 3.0

#: Kerfs that differ by more between the two directions make slots differ that should be alike, mm: one
#: step of the slot ladder. Common practice, no source.
_UNEVEN_KERF = 0.05


class Direction(StrEnum):
    """The laser's axes, along which a comb's slats are pushed together."""

    X = "x"
    Y = "y"


class Fit(StrEnum):
    """How a board sits in a slot."""

    SLIDE = "slide"  # goes in and out by its own weight
    PRESS = "press"  # the tightest that goes in by hand without crushing
    GLUE = "glue"  # the loosest that still holds its own weight


class Failed(StrEnum):
    """What of a hinge broke first."""

    LINK = "link"
    BRIDGE = "bridge"


@dataclass(frozen=True, slots=True)
class Stack:
    """Slats of one comb, pushed together: how many, and how long the stack is, mm."""

    direction: Direction
    slats: int
    length: float


@dataclass(frozen=True, slots=True)
class Hung:
    """A weight on a hinge: its free leg hangs ``angle`` radians below level with ``mass`` g at ``arm`` mm.

    The other leg is clamped level. A mass of 0 is a reading too: of the leg's own weight.
    """

    rung: str
    mass: float
    arm: float
    angle: float


@dataclass(frozen=True, slots=True)
class Broken:
    """The bend, in radians, at which a hinge broke, and what broke."""

    rung: str
    angle: float
    failed: Failed = Failed.LINK


@dataclass(frozen=True, slots=True)
class Readings:
    """Everything that was read off one coupon; what was not measured stays empty. Lengths in mm.

    slots: the numbers beside the slots of the ladder (their drawn widths) that gave each fit.
    """

    thickness: tuple[float, ...] = ()
    stacks: tuple[Stack, ...] = ()
    slots: Mapping[Fit, tuple[float, ...]] = field(default_factory=dict)
    hung: tuple[Hung, ...] = ()
    broken: tuple[Broken, ...] = ()


@dataclass(frozen=True, slots=True)
class Change:
    """One value before and after; deviation: standard error of the new one, None where the readings only just do."""

    what: Measurable
    before: float | None
    after: float
    deviation: float | None

    @property
    def words(self) -> str:
        """The change as the maker reads it."""
        digits = self.what.decimals
        before = "not measured" if self.before is None else f"{self.before:.{digits}f}"
        spread = "" if self.deviation is None else f" ± {self.deviation:.{digits}f}"
        return f"{self.what.label} {before} → {self.after:.{digits}f}{spread} {self.what.unit}"


@dataclass(frozen=True, slots=True)
class Calibrated:
    """What readings come to: the calibration, the stock with it, every change, and what the maker should know."""

    calibration: Calibration
    stock: Stock
    changes: tuple[Change, ...]
    findings: tuple[Finding, ...]


def calibrate(
    base: Stock,
    plan: CouponPlan,
    readings: Readings,
    *,
    date: str,
    batch: str,
    machine: str = "",
    earlier: Calibration | None = None,
    start_anew: bool = False,
) -> Calibrated:
    """Work out the board's values from the readings of its coupon.

    base: the stock with its catalogue values; earlier: what is kept of it from before. Raises
    BadSettingError for readings that cannot be, for none at all, and where ``earlier`` is of another
    batch or laser unless ``start_anew``.
    Codes: kerf-uneven, slits-closed-first, readings-few, grain-across-tested.
    """
    identity = Calibration(date=date, batch=batch.strip(), machine=machine.strip())
    kept = continued(earlier, identity, start_anew=start_anew)
    before = calibrated(base, earlier)
    found: dict[str, Estimate] = {}
    findings: list[Finding] = []
    if readings.thickness:
        found["thickness"] = fit_mean(readings.thickness)
    if readings.stacks:
        found["kerf"], remarks = _kerf(plan, readings.stacks)
        findings += remarks
    # what is not read now is what was known before
    read = {name: estimate.value for name, estimate in found.items()}
    now = replace(calibrated(base, kept), **read)  # type: ignore[arg-type]
    for fit in Fit:
        if readings.slots.get(fit):
            found[fit.value] = _clearance(readings.slots[fit], now)
    if readings.hung:
        found["shear_modulus"], remarks = _shear_modulus(base, plan, readings.hung, now)
        findings += remarks
        now = replace(now, shear_modulus=found["shear_modulus"].value)
    if readings.broken:
        strengths, remarks = _strengths(plan, readings.broken, now)
        found.update(strengths)
        findings += remarks
    if not found:
        raise BadSettingError("There are no readings yet; fill in at least one line of the sheet.")
    values = {name: estimate.value for name, estimate in found.items()}
    calibration = replace(kept, **values)  # type: ignore[arg-type]
    stock = calibrated(base, calibration)
    check_stock(stock)
    changes = tuple(
        Change(quantity, getattr(before, quantity.name), found[quantity.name].value, found[quantity.name].deviation)
        for quantity in MEASURED
        if quantity.name in found
    )
    return Calibrated(calibration, stock, changes, tuple(findings))


def _kerf(plan: CouponPlan, stacks: Sequence[Stack]) -> tuple[Estimate, list[Finding]]:
    """Return the mean kerf of both directions; a slat is one pitch less one kerf wide, so S = n (pitch - kerf)."""
    kerfs = []
    for direction in Direction:
        own = [stack for stack in stacks if stack.direction is direction]
        for stack in own:
            drawn = stack.slats * plan.pitch
            if stack.slats < 1 or not 0.0 < stack.length < drawn:
                raise BadSettingError(
                    f"A stack of {stack.slats} slats along {direction.value} cannot be {stack.length:g} mm long, "
                    f"since {drawn:g} mm were drawn and the beam took its share; measure it again."
                )
        if own:
            width = fit_proportion([stack.slats for stack in own], [stack.length for stack in own])
            kerfs.append(Estimate(plan.pitch - width.value, width.deviation))
    findings = []
    if len(kerfs) == 2 and abs(kerfs[0].value - kerfs[1].value) > _UNEVEN_KERF:
        findings.append(
            Finding(
                Severity.WARNING,
                "kerf-uneven",
                f"The kerf is {kerfs[0].value:.2f} mm along x and {kerfs[1].value:.2f} mm along y; their mean is used, "
                "so fits differ with the direction of the slot; check the focus and how square the beam meets the bed",
            )
        )
    spreads = [kerf.deviation for kerf in kerfs]
    known = [spread for spread in spreads if spread is not None]
    deviation = math.hypot(*known) / len(kerfs) if len(known) == len(kerfs) else None
    return Estimate(sum(kerf.value for kerf in kerfs) / len(kerfs), deviation), findings


def _clearance(drawn: Sequence[float], now: Stock) -> Estimate:
    """Return what a slot that fits is wider than the board: drawn width + kerf - thickness."""
    width = fit_mean(drawn)
    return Estimate(width.value + now.kerf - now.thickness, width.deviation)


def _as_cut(rung: Rung, plan: CouponPlan, now: Stock, angle: float) -> Lattice:
    """Return a rung's lattice as it came off the laser: what the beam took more than was drawn for is gone."""
    if not 0.0 < angle <= LARGEST_ANGLE:
        raise BadSettingError(
            f"The angle of {rung.id} is {math.degrees(angle):g} degrees; readings lie between 0 and 150 degrees."
        )
    made, more = rung.lattice, now.kerf - plan.kerf
    return lattice(
        now,
        angle=angle,
        axis_length=made.axis_length - more,
        link_width=made.link_width - more,
        opening=made.opening + more,
        links=made.links,
        slits=made.slits,
        bridge=made.bridge - more,
        edge_bridge=made.edge_bridge - more,
    )


def _counts(rung: Rung, stock: Stock) -> bool:
    """Tell whether a rung stands for how the stock is used: with the grain where it has one."""
    return not (rung.across_grain and stock.grain in (Grain.LENGTH, Grain.WIDTH))


def _shear_modulus(base: Stock, plan: CouponPlan, hung: Sequence[Hung], now: Stock) -> tuple[Estimate, list[Finding]]:
    """Return G from the slope of the bend over the hung moment, each piece with its leg's own weight.

    The spring-back moment G k angle (k = 2 n J / (M L)) balances (m g d + own) cos angle, so that
    angle / cos angle = (m g d + own) / (k G).
    """
    loads: dict[str, list[tuple[float, float]]] = {}
    across: dict[str, list[tuple[float, float]]] = {}
    for weight in hung:
        rung = plan.rung(weight.rung)
        if not (weight.mass >= 0.0 and weight.arm > 0.0 and 0.0 < weight.angle < math.pi / 2):
            raise BadSettingError(
                f"The weight of {weight.mass:g} g at {weight.arm:g} mm on {weight.rung} with "
                f"{math.degrees(weight.angle):g} degrees cannot be; the mass is 0 or more, the arm more than "
                "0 and the angle between 0 and 90 degrees."
            )
        made = _as_cut(rung, plan, now, weight.angle)
        stiffness = made.moment / (now.shear_modulus * weight.angle)
        moment = weight.mass * 1e-3 * GRAVITY * weight.arm
        reading = (moment / stiffness, weight.angle / math.cos(weight.angle))
        (loads if _counts(rung, base) else across).setdefault(weight.rung, []).append(reading)
    findings = []
    if across:
        other = _modulus(across)
        findings.append(
            Finding(
                Severity.NOTE,
                "grain-across-tested",
                f"With slits across the grain the shear modulus is {other.value:.0f} MPa; it is not put in, since the "
                "stock's values are for slits along the grain",
            )
        )
    if not loads:
        raise BadSettingError(
            "Weights were hung only on hinges with slits across the grain; hang them on one with slits along it."
        )
    if all(len(own) == 1 for own in loads.values()):
        findings.append(
            Finding(
                Severity.NOTE,
                "readings-few",
                "Each hinge was read with one weight only, so the weight of its own leg is not taken out and the "
                "shear modulus may come out low; read it without a weight as well",
            )
        )
    return _modulus(loads), findings


def _modulus(loads: Mapping[str, Sequence[tuple[float, float]]]) -> Estimate:
    slope = fit_parallel([loads[name] for name in sorted(loads)])
    if not slope.value > 0.0:
        raise BadSettingError("With more weight the hinges bend less in these readings; look for a slip of the pen.")
    deviation = None if slope.deviation is None else slope.deviation / slope.value**2
    return Estimate(1.0 / slope.value, deviation)


def _strengths(plan: CouponPlan, broken: Sequence[Broken], now: Stock) -> tuple[dict[str, Estimate], list[Finding]]:
    """Return the limits that follow from where links and bridges broke, two thirds of the strength each."""
    stresses: dict[str, list[float]] = {}
    findings = []
    for failure in broken:
        rung = plan.rung(failure.rung)
        made = _as_cut(rung, plan, now, failure.angle)
        if not _counts(rung, now):
            findings.append(
                Finding(
                    Severity.NOTE,
                    "grain-across-tested",
                    f"{failure.rung} with slits across the grain broke at {math.degrees(failure.angle):.0f} degrees, "
                    f"{made.shear:.2f} MPa; it is not put in, since the stock's values are for slits along the grain",
                )
            )
            continue
        if made.contact_twist is not None and made.twist > made.contact_twist:
            closing = math.degrees(made.contact_twist * made.links)
            findings.append(
                Finding(
                    Severity.WARNING,
                    "slits-closed-first",
                    f"The slits of {failure.rung} closed at {closing:.0f} degrees, before it broke at "
                    f"{math.degrees(failure.angle):.0f}; from there on links are pushed as well as twisted, so trust "
                    "pieces with wider openings more",
                )
            )
        name = "shear_limit" if failure.failed is Failed.LINK else "cross_tension"
        stresses.setdefault(name, []).append(made.shear if failure.failed is Failed.LINK else made.bridge_stress)
    found = {}
    for name, own in sorted(stresses.items()):
        if len(own) < 3:
            findings.append(
                Finding(
                    Severity.NOTE,
                    "readings-few",
                    f"The {'shear' if name == 'shear_limit' else 'bridge'} limit rests on {len(own)} broken "
                    f"hinge{'s' if len(own) > 1 else ''}; wood scatters, so break three or more",
                )
            )
        strength = least_strength(own)
        deviation = None if strength.deviation is None else strength.deviation * _LIMIT_SHARE
        found[name] = Estimate(strength.value * _LIMIT_SHARE, deviation)
    return found, findings
