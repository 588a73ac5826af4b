"""Lengths and stresses of the trade in the units used inside: millimetres, newtons, radians."""

from __future__ import annotations

__all__ = ["GRAVITY", "MM_PER_INCH", "MPA_PER_PSI"]

#: International yard and pound agreement of 1959: one inch is exactly 25.4 mm.
MM_PER_INCH = 25.4

#: One pound-force per square inch: 4.4482216152605 N / (25.4 mm)^2 (exact by definition).
MPA_PER_PSI = 4.4482216152605 / 25.4**2

#: Standard acceleration of gravity, m/s^2 (third General Conference on Weights and Measures, 1901).
GRAVITY = 9.80665
