"""Torsion of a link: the narrow strip of board between two slits twists like a rectangular bar.

Gives the coefficients of Saint-Venant's solution for a bar with sides a >= c, and from them the
torsion constant, the torque and the peak stress. Everything works on arrays, so that a search
over link widths is one call.

Source: B. de Saint-Venant, *Mémoire sur la torsion des prismes* (1855), in the series form of
S. Timoshenko and J. N. Goodier, *Theory of Elasticity*, chapter on torsion. Warping held back by
the bridges is not covered: a short link is stiffer than computed here.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from ..errors import BadSettingError

__all__ = ["Coefficients", "coefficients", "peak_stress", "torque", "torsion_constant"]

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
    """Return J of a ``width`` by ``thickness`` bar, mm^4: k1 a c^3 with a the longer side."""
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
