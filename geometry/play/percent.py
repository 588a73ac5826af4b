"""Percent: shares of the room in words, for the window, the command line and the guide alike."""

from __future__ import annotations

__all__ = ["LEAST", "as_percent"]

#: A smaller share is nothing but rounding: a thousandth of a thousandth of the room.
_NOTHING = 1e-6

#: Below this share whole percents would say 0, as if nothing were seen.
LEAST = 0.01


def as_percent(share: float) -> str:
    """Return a share, 0 to 1, as whole percents; what is less than one but not nothing is "under 1%"."""
    return "under 1%" if _NOTHING < share < LEAST else f"{share:.0%}"
