"""Constants of nature in the units used inside: millimetres, newtons, radians."""

from __future__ import annotations

__all__ = ["GRAVITY"]

#: Standard acceleration of gravity, m/s^2 (third General Conference on Weights and Measures, 1901).
GRAVITY = 9.80665
