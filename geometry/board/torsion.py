"""Torsion of a link: the narrow strip of board between two slits twists like a rectangular bar.

Gives the coefficients of Saint-Venant's solution for a bar with sides a >= c, and from them the
torsion constant, the torque and the peak stress. Everything works on arrays, so that a search
over link widths is one call.

Source: B. de Saint-Venant, *Mémoire sur la torsion des prismes* (1855), in the series form of
S. Timoshenko and J. N. Goodier, *Theory of Elasticity*, chapter on torsion. How bridges hold the ends of a
link is the business of ``links``; the warping constant that it needs is here.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..errors import BadSettingError

__all__ = ["Coefficients", "coefficients", "peak_stress", "torque", "torsion_constant", "warping_constant"]

#: Odd terms of the series. They fall as m^-5 and e^-m: what is left out stays below 1e-8.
_ODD = np.arange(1, 64, 2, dtype=np.float64)


class Coefficients(NamedTuple):
    """J = k1 a c^3, peak stress = torque / (k2 a c^2) = k_tau G (twist / length) c, k2 = k1 / k_tau."""

    k1: np.ndarray
    k2: np.ndarray
    k_tau: np.ndarray


def coefficients(ratio: float | np.ndarray) -> Coefficients:
    """Return the torsion coefficients for longer side / shorter side, in the shape of ``ratio``.

    Raises BadSettingError for a ratio below 1. Series as in the module's source.
    """
    ratio = np.asarray(ratio, dtype=np.float64)
    if not np.all(ratio >= 1.0):
        raise BadSettingError(f"The sides of a link have a ratio of {np.min(ratio):.3g}; it must be at least 1.")
    half = ratio[..., None] * _ODD * (np.pi / 2)
    decay = np.exp(-half)  # 1 / cosh written with a falling exponential, which cannot overflow
    k1 = (1.0 - (192.0 / np.pi**5) * (np.tanh(half) / _ODD**5).sum(axis=-1) / ratio) / 3.0
    k_tau = 1.0 - (8.0 / np.pi**2) * (2.0 * decay / (1.0 + decay * decay) / _ODD**2).sum(axis=-1)
    return Coefficients(k1, k1 / k_tau, k_tau)


def torsion_constant(width: float | np.ndarray, thickness: float | np.ndarray) -> np.ndarray:
    """Return J of a ``width`` by ``thickness`` bar, mm^4: k1 a c^3 with a the longer side.

    >>> round(float(torsion_constant(1.0, 3.0)), 4)
    0.79
    """
    long, short = np.maximum(width, thickness), np.minimum(width, thickness)
    return np.asarray(coefficients(long / short).k1 * long * short**3)


def torque(
    width: float | np.ndarray, thickness: float, *, shear_modulus: float, twist: float, length: float | np.ndarray
) -> np.ndarray:
    """Return the torque that twists a bar of ``length`` mm by ``twist`` radians, N mm: G J twist / length."""
    return np.asarray(shear_modulus * torsion_constant(width, thickness) * twist / length)


def peak_stress(
    width: float | np.ndarray, thickness: float, *, shear_modulus: float, twist: float, length: float | np.ndarray
) -> np.ndarray:
    """Return the greatest shear stress of the twisted bar, MPa; it sits in the middle of the longer side."""
    long, short = np.maximum(width, thickness), np.minimum(width, thickness)
    return np.asarray(coefficients(long / short).k_tau * shear_modulus * twist * short / length)


def warping_constant(width: float | np.ndarray, thickness: float | np.ndarray) -> np.ndarray:
    """Return the warping constant of a ``width`` by ``thickness`` bar, mm^6: the integral of psi^2.

    psi = y z - sum of 8 c^2 (-1)^n / (pi m)^3 sin(m pi y / c) sinh(m pi z / c) / cosh(m pi a / 2c), m = 2n + 1,
    is Saint-Venant's warping function, squared and integrated term by term. a^3 c^3 / 144 is its limit
    for a thin strip; a square keeps only a fiftieth of that.
    """
    long, short = np.maximum(width, thickness), np.minimum(width, thickness)
    long, short = np.asarray(long, dtype=np.float64)[..., None], np.asarray(short, dtype=np.float64)[..., None]
    wave = _ODD * np.pi / short
    size = 8.0 * short**2 / (np.pi * _ODD) ** 3
    decay = np.exp(-wave * long / 2.0)
    tanh, cosh = np.tanh(wave * long / 2.0), (1.0 + decay * decay) / (2.0 * decay + np.finfo(np.float64).tiny)
    crossed = size * (4.0 / wave**2) * (long / (2.0 * wave) - tanh / wave**2)
    squared = size**2 * (short / 2.0) * (tanh / wave - long / (2.0 * np.square(np.minimum(cosh, 1e150))))
    return np.asarray((long * short)[..., 0] ** 3 / 144.0 + (squared - 2.0 * crossed).sum(axis=-1))
