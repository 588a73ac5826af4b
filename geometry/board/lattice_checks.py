"""What the maker should know about a lattice: whether its board bears the bend, and how round it comes out."""

from __future__ import annotations

import math
from collections.abc import Sequence

from ..findings import Finding, Location, Severity, all_places
from .lattice import STRENGTH, Lattice
from .stock import Stock

__all__ = ["check_lattice", "check_radii"]


def check_lattice(
    lattice: Lattice, stock: Stock, where: Location, *, wanted: float | None = None
) -> tuple[Finding, ...]:
    """Return what the maker should know about the lattice at ``where``.

    wanted: inside radius asked for, mm; without it a wide corner is not remarked on.
    Codes: lattice-too-short, link-over-stressed, bridge-over-stressed, slit-contact, corner-radius-wide.
    """
    least_axis = 2.0 * lattice.edge_bridge + lattice.slits * lattice.bridge + (lattice.slits - 1) * lattice.bridge
    if lattice.slit <= lattice.bridge:
        message = (
            f"The bend is {lattice.axis_length:.1f} mm long, but one cell of slits and bridges in {stock.label} "
            f"needs more than {least_axis:.1f} mm; make the edge longer or part it there."
        )
        return (Finding(Severity.ERROR, "lattice-too-short", message, where),)
    findings = []
    degrees = math.degrees(lattice.angle)
    loads = (
        (
            "link-over-stressed",
            "link",
            lattice.held_shear,
            lattice.shear_limit,
            "more rows, narrower links or longer slits",
        ),
        (
            "bridge-over-stressed",
            "bridge",
            lattice.held_bridge_stress,
            lattice.bridge_limit,
            "longer bridges or more rows",
        ),
    )
    for code, what, stress, limit, remedy in loads:
        if stress <= limit:
            continue
        breaks = stress > STRENGTH * limit
        fate = f"are likely to break (at about {STRENGTH * limit:.2f} MPa)" if breaks else "wear out early"
        message = (
            f"At {degrees:.0f} degrees the {what}s in {stock.label} carry {stress:.2f} MPa where {limit:.2f} MPa "
            f"is allowed, and {fate}; use {remedy}."
        )
        findings.append(Finding(Severity.ERROR if breaks else Severity.WARNING, code, message, where))
    if lattice.contact_twist is not None and lattice.twist > lattice.contact_twist:
        closing = math.degrees(lattice.contact_twist * lattice.links)
        message = (
            f"The slits of {lattice.opening:.2f} mm close at {closing:.0f} degrees, before the bend reaches "
            f"{degrees:.0f} degrees; use wider openings or at least "
            f"{2 * math.ceil(lattice.angle / lattice.contact_twist / 2.0) + 1} rows."
        )
        findings.append(Finding(Severity.WARNING, "slit-contact", message, where))
    return (*findings, *(check_radii([(lattice, where)], stock, wanted=wanted) if wanted is not None else ()))


def check_radii(bent: Sequence[tuple[Lattice, Location]], stock: Stock, *, wanted: float) -> tuple[Finding, ...]:
    """Return one note on all lattices in one board that bend wider than asked for. wanted: inside radius, mm.

    With two links there is nothing left to take away: a gentle bend is wide by its nature. Radii are compared to
    one decimal, as the note gives them: nobody measures a bent corner more closely.
    """
    wide = [(made, where) for made, where in bent if round(made.inside_radius, 1) > round(wanted, 1) and made.links > 2]
    if not wide:
        return ()
    radii = sorted(round(made.inside_radius, 1) for made, _ in wide)
    axes = sorted(round(made.axis_length) for made, _ in wide)
    what = "The corner bends" if len(wide) == 1 else f"{len(wide)} corners bend"
    message = (
        f"{what} to an inside radius of {_range(radii, '.1f')} mm where {wanted:.1f} mm was asked for; plan for it, or "
        f"choose a board that twists further than {stock.label} over {_range(axes, '.0f')} mm."
    )
    return (Finding(Severity.NOTE, "corner-radius-wide", message, all_places([where for _, where in wide])),)


def _range(values: Sequence[float], form: str) -> str:
    """Return the first and last of values in order in words, one where they are the same."""
    low, high = format(values[0], form), format(values[-1], form)
    return low if low == high else f"{low} to {high}"
