"""What the boards of a layout cost, as far as the maker has given prices."""

from __future__ import annotations

from .layout import Layout, Sheet

__all__ = ["layout_cost", "sheet_cost"]


def sheet_cost(sheet: Sheet) -> float | None:
    """Return the price of the board that one sheet takes, in the maker's own money; None without a price.

    Where the bed takes only a piece of a whole sheet, that piece costs its share of the area. Pieces left
    over from earlier work were paid then.
    """
    if sheet.stock.price is None:
        return None
    if sheet.left_over:
        return 0.0
    length, width = sheet.stock.sheet
    return sheet.stock.price * min(1.0, sheet.size[0] * sheet.size[1] / (length * width))


def layout_cost(layout: Layout) -> tuple[float | None, tuple[str, ...]]:
    """Return the price of all sheets, None where no price is known, and the labels of stocks without one."""
    costs = [sheet_cost(sheet) for sheet in layout.sheets]
    known = [cost for cost in costs if cost is not None]
    lacking = sorted({sheet.stock.label for sheet in layout.sheets if sheet.stock.price is None})
    return (sum(known) if known else None), tuple(lacking)
