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

__all__ = [
    "Coefficients",
    "coefficients",
    "face_stress",
    "peak_stress",
    "short_side",
    "torque",
    "torsion_constant",
    "torsional_rigidity",
    "warping_constant",
]

#: Odd terms of the series. They fall as m^-5 and e^-m: what is left out stays below 1e-8.
_ODD = np.arange(1, 64, 2, dtype=np.float64)
_SIGN = np.where(np.arange(len(_ODD)) % 2, -1.0, 1.0)

#: Catalan's constant, the alternating sum of 1 / m^2 over odd m.
_CATALAN = 0.915965594177219


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


def short_side(ratio: float | np.ndarray) -> np.ndarray:
    """Return the stress in the middle of the shorter side over G (twist / length) c, in the shape of ``ratio``.

    Raises BadSettingError for a ratio below 1. Saint-Venant's series, which falls as 1 / m^2, with its
    limit for a thin strip (Catalan's constant) taken out: what is left falls as e^-m.
    """
    ratio = np.asarray(ratio, dtype=np.float64)
    if not np.all(ratio >= 1.0):
        raise BadSettingError(f"The sides of a link have a ratio of {np.min(ratio):.3g}; it must be at least 1.")
    missing = 1.0 - np.tanh(ratio[..., None] * _ODD * (np.pi / 2))
    return np.asarray((8.0 / np.pi**2) * (_CATALAN - (_SIGN * missing / _ODD**2).sum(axis=-1)))


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


def torsional_rigidity(
    width: float | np.ndarray, thickness: float | np.ndarray, *, across: float, through: float
) -> np.ndarray:
    """Return torque / (twist / length) of a link whose shear moduli differ, N mm^2.

    across: modulus for shear along the link in the direction of its width; through: in that of the
    thickness, MPa. A bar stretched by sqrt(through / across) in its width obeys the isotropic equation
    (S. G. Lekhnitskii, *Theory of Elasticity of an Anisotropic Elastic Body*, torsion of an orthotropic
    bar of rectangular section; from memory, and derived again).
    """
    stretch = np.sqrt(through / across)
    return np.asarray(across / stretch * torsion_constant(np.multiply(width, stretch), thickness))


def face_stress(
    width: float, thickness: float, *, across: float, through: float, twist: float, length: float
) -> tuple[float, float]:
    """Return the stress in the middle of the slit faces and of the board's faces of such a link, MPa.

    The first is shear through the thickness, which parts layers; the second shear in the plane of the board.
    """
    stretched = width * np.sqrt(through / across)
    long, short = max(stretched, thickness), min(stretched, thickness)
    on_long, on_short = float(coefficients(long / short).k_tau), float(short_side(long / short))
    on_slit, on_board = (on_long, on_short) if stretched <= thickness else (on_short, on_long)
    rate = twist / length * short
    return float(np.sqrt(across * through)) * rate * on_slit, across * rate * on_board
