"""Stock: a board with its measured thickness, its sheet, grain, strength and calibration."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum

__all__ = ["Grain", "Stock"]


class Grain(str, Enum):
    """Which way the board's grain runs on the sheet."""

    NONE = "none"  # the same in all directions
    LENGTH = "length"  # along the longer side of the sheet
    WIDTH = "width"  # along the shorter side
    CROSSED = "crossed"  # plywood: layers both ways, either turn is good


@dataclass(frozen=True, slots=True)
class Stock:
    """One stock. Lengths in mm, stresses in MPa.

    name: slug; label: what the maker reads. thickness +- thickness_tolerance.
    kerf: width that one pass removes.
    shear_modulus (G), elastic_modulus (E) of the links.
    shear_limit: torsion stress that links may carry again and again.
    cross_tension: bending stress that bridges may carry.
    link_width: narrowest link; bridge: shortest bridge that survives cutting and handling.
    sheet: (length, width), the longer first.
    calibration: None for catalogue values, otherwise what was measured, when, from which batch.
    sources: where each value comes from, by field name.
    """

    name: str
    label: str
    thickness: float
    thickness_tolerance: float
    kerf: float
    shear_modulus: float
    elastic_modulus: float
    shear_limit: float
    cross_tension: float
    link_width: float
    bridge: float
    sheet: tuple[float, float]
    grain: Grain
    calibration: str | None = None
    sources: Mapping[str, str] = field(default_factory=dict)
