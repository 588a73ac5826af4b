"""What can be cut at all: settings and sizes that are refused, and the largest piece that stock and laser take."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..beam.laser import Laser
from ..beam.lasers import check_laser, stock_on
from ..board.stock import Stock, check_stock
from ..errors import BadSettingError
from ..outcome import Settings
from ..solid.solid import Solid
from ..tolerance import LARGEST

__all__ = ["check_building_size", "check_settings", "check_size", "largest_piece"]


def check_settings(settings: Settings) -> None:
    """Raise BadSettingError for the first setting that nothing can be cut with."""
    for stock in settings.chosen_stocks:
        check_stock(stock)
    for laser in settings.lasers:
        check_laser(laser)
    joiner = settings.joiner
    if not 0.0 < joiner.core_width < joiner.cheek_width - 2 * joiner.gap:
        raise BadSettingError(
            f"A joiner with a core of {joiner.core_width:g} mm, gaps of {joiner.gap:g} mm and cheeks of "
            f"{joiner.cheek_width:g} mm holds no wall; make the cheeks wider than core and gaps together."
        )
    if not settings.square > 0.0:
        raise BadSettingError(f"The square's side is {settings.square:g} mm; it must be more than 0.")
    if not settings.ground.rim >= 0.0:
        raise BadSettingError(f"The rim is {settings.ground.rim:g} mm; it cannot be less than 0.")


def check_size(solid: Solid) -> None:
    """Raise BadSettingError for a model that is no building on a table: it would take boards without end."""
    if size := _beyond_largest(solid.points):
        raise BadSettingError(
            f"The model measures {size} mm, and at most {LARGEST:.0f} mm a side can be worked out; "
            "one unit is one square, so for a model in millimetres set the scene's unit scale to 0.001."
        )


def check_building_size(points: np.ndarray) -> None:
    """Raise BadSettingError for a building to be added that is larger than any on a table. points: (n, 3) mm."""
    if size := _beyond_largest(points):
        raise BadSettingError(
            f"The building measures {size} mm, and at most {LARGEST:.0f} mm a side can be worked out; "
            "choose fewer squares or lower walls"
        )


def _beyond_largest(points: np.ndarray) -> str:
    """Return the size of points, (n, 3) mm, in words where it is more than can be worked out, or nothing."""
    sides = np.ptp(points, axis=0) if len(points) else np.zeros(3)
    return " x ".join(f"{side:.0f}" for side in sides) if sides.max() > LARGEST else ""


def largest_piece(stock: Stock, lasers: Sequence[Laser]) -> tuple[float, float]:
    """Return the largest (length, width) that sheet and bed take inside the margin on any of the lasers, mm.

    Beside the part the line is drawn half a kerf out, and the beam burns another half beyond it.
    """
    pieces = []
    for laser in lasers:
        edge = laser.margin + stock_on(stock, laser).kerf
        length, width = min(max(stock.sheet), max(laser.bed)), min(min(stock.sheet), min(laser.bed))
        pieces.append((length - 2 * edge, width - 2 * edge))
    # what is long enough for the walls comes first; a wider bed that is shorter helps only where both fit
    return max(pieces)
