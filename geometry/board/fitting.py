"""Fitting: one value out of several readings, and how far it can be trusted.

Ordinary least squares in closed form; the deviation is the standard error of the value, None where
there are no more readings than unknowns.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import BadSettingError

__all__ = ["Estimate", "fit_mean", "fit_parallel", "fit_proportion", "least_strength"]

#: Fewer readings than this tell too little of their scatter: the least of them counts. Common practice, no source.
_FEW = 4


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value and its standard error."""

    value: float
    deviation: float | None = None


def fit_mean(readings: Sequence[float]) -> Estimate:
    """Return the mean of the readings."""
    return fit_proportion([1.0] * len(readings), readings)


def fit_proportion(x: Sequence[float], y: Sequence[float]) -> Estimate:
    """Return the slope of the line through the origin, y = a x."""
    across, up = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    square = float(across @ across)
    if not square > 0.0:
        raise BadSettingError("These readings tell nothing: all of them were taken without any load.")
    slope = float(across @ up) / square
    return Estimate(slope, _error(up - slope * across, 1, square))


def fit_parallel(groups: Sequence[Sequence[tuple[float, float]]]) -> Estimate:
    """Return the common slope of parallel lines, y = a + b x with an a for each group of (x, y).

    Groups of one reading cannot have an a of their own: they are left out, or, where there is no
    other group, all lines go through the origin.
    """
    larger = [np.asarray(group, dtype=np.float64) for group in groups if len(group) > 1]
    if not larger:
        return fit_proportion([group[0][0] for group in groups], [group[0][1] for group in groups])
    centred = np.concatenate([group - group.mean(axis=0) for group in larger])
    across, up = centred.T
    square = float(across @ across)
    if not square > 0.0:
        raise BadSettingError("These readings tell nothing: all weights on a hinge are the same; use different ones.")
    slope = float(across @ up) / square
    return Estimate(slope, _error(up - slope * across, len(larger) + 1, square))


def _error(residuals: np.ndarray, unknowns: int, square: float) -> float | None:
    """Return the standard error of a slope, sqrt(sum of squared residuals / (n - unknowns) / square)."""
    freedom = len(residuals) - unknowns
    return math.sqrt(float(residuals @ residuals) / freedom / square) if freedom > 0 else None


def least_strength(readings: Sequence[float]) -> Estimate:
    """Return the strength to count on: the least of up to three readings, of more the mean less two deviations.

    Raises BadSettingError where the readings scatter so much that nothing is left.
    """
    mean = fit_mean(readings)
    if len(readings) < _FEW:
        return Estimate(min(readings), mean.deviation)
    strength = mean.value - 2.0 * float(np.std(readings, ddof=1))
    if not strength > 0.0:
        raise BadSettingError(
            f"{len(readings)} hinges broke at such different stresses, {min(readings):.2f} to {max(readings):.2f} MPa, "
            "that no limit follows; look for a slip of the pen or a bad piece."
        )
    return Estimate(strength, mean.deviation)
