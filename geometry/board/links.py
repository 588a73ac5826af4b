"""Links held by bridges: how much stiffer or softer their held ends make them than a free bar.

All functions take and give arrays, so that a search over thousands of lattices is one call.

A link is a bar in torsion of free length L between the bridge on its one side and the bridge on its
other. Two things at its ends make it differ from Saint-Venant's bar: the bridge is a mirror of the
lattice, so the link's section cannot warp there (stiffer); and the bridge bends and lets the link turn
a little beside it (softer). ``restraint`` weighs both by the beam on an elastic bed,

    E C phi'''' - G J phi'' + kappa phi = 0,   kappa = E' t^3 / 12 / (k / 2 + w / 2) beside a bridge,

(V. Z. Vlasov, *Thin-walled Elastic Beams*, torsion with restrained warping; the bed is the bridge bent
as a plate from the middle of the slit to the middle of the link). Nothing in it is fitted; finite
elements agree within 4 per cent (see DEVELOPERS.md).
"""

from __future__ import annotations

import numpy as np

from .stock import Grain, Stock
from .torsion import torsion_constant, warping_constant

__all__ = ["across_modulus", "held_ends", "restraint"]

#: Modulus of elasticity across the links over that along them. Solid wood: E_R / E_L of basswood, Wood
#: Handbook FPL-GTR-282 table 5-1 (from memory). Plywood of three plies: Handbook of Finnish Plywood,
#: 1000 to 5000 across the face grain against 12000 to 16000 along it (from memory).
_ACROSS = {Grain.NONE: 1.0, Grain.CROSSED: 0.25, Grain.LENGTH: 0.066, Grain.WIDTH: 0.066}

#: Free length over the larger side of the section from which the closed form was held against finite elements.
_CONFIRMED = 2.9


def across_modulus(stock: Stock) -> float:
    """Return the modulus of elasticity across the links, MPa: estimated from the kind of board."""
    return stock.elastic_modulus * _ACROSS[stock.grain]


def held_ends(
    stock: Stock, *, link_width: np.ndarray, opening: np.ndarray, bridge: np.ndarray, free: np.ndarray
) -> np.ndarray:
    """Return how much stiffer held ends make links of this stock than free bars: torque and peak stress grow alike.

    Sizes in mm, larger than 0. The modulus across the links is an estimate (``across_modulus``). A shear
    modulus that was measured by bending a lattice holds this factor already. Links shorter than about three times
    the larger side of their section lie outside what finite elements confirmed: they are never taken as softer
    than free bars, so that a link of nearly no length cannot seem to bear a bend.
    """
    widths, back = np.unique(link_width, return_inverse=True)  # the series is the dear part of it
    rigidity = stock.shear_modulus * torsion_constant(widths, stock.thickness)
    found = restraint(
        link_width,
        opening,
        stock.thickness,
        free=free,
        bridge=bridge,
        rigidity=rigidity[back].reshape(np.shape(link_width)),
        along=stock.elastic_modulus,
        across=across_modulus(stock),
    )
    confirmed = free >= _CONFIRMED * np.maximum(link_width, stock.thickness)
    return np.where(confirmed, found, np.maximum(found, 1.0))


def restraint(
    link_width: np.ndarray,
    opening: np.ndarray,
    thickness: float,
    *,
    free: np.ndarray,
    bridge: np.ndarray,
    rigidity: np.ndarray,
    along: float,
    across: float,
) -> np.ndarray:
    """Return the stiffness of links held by bridges over that of free bars of length ``free``.

    free, bridge: mm, larger than 0; rigidity: torque of a free bar per twist and length (G J), N mm^2;
    along, across: moduli of elasticity along and across the link, MPa. Solves the module's equation for
    half a link, which is odd about its middle and even about the middle of its bridge, in closed form.
    """
    widths, back = np.unique(link_width, return_inverse=True)  # the series is the dear part of it
    warping = warping_constant(widths, thickness)[back].reshape(np.shape(link_width))
    decay = along * warping / rigidity  # length of warping, squared
    bed = across * thickness**3 / (6.0 * (link_width + opening)) / rigidity
    spread = (1.0 - 4.0 * decay * bed).astype(np.complex128)
    root = np.sqrt(np.where(np.abs(spread) < 1e-6, 1e-6, spread))  # equal roots have no limit in floats
    first, second = np.sqrt((1.0 + root) / (2.0 * decay)), np.sqrt((1.0 - root) / (2.0 * decay))
    length = np.sqrt(decay)
    slope = 1.0 / (length * np.tanh(free / (2.0 * length)))
    turns, pulls, closes = [], [], []
    for rate in (first, second):
        grown = rate * np.tanh(rate * bridge / 2.0)
        part = 1.0 - decay * rate**2
        turns.append(part)
        pulls.append(grown * part)
        closes.append(rate**2 * (grown + slope))
    lengthened = 2.0 * (closes[1] * turns[0] - closes[0] * turns[1]) / (closes[1] * pulls[0] - closes[0] * pulls[1])
    return np.asarray(free / (free + lengthened.real))
