"""Times at the laser in words: rounded to whole minutes, the same in every place where a maker reads them."""

from __future__ import annotations

__all__ = ["about", "minutes"]

_MINUTE, _HOUR = 60, 60 * 60


def minutes(seconds: float) -> str:
    """Return a time as a maker plans with it, in hours and minutes.

    >>> minutes(5600.0), minutes(95.0), minutes(61.0), minutes(20.0), minutes(0.0)
    ('1 h 33 min', '2 min', '1 min', 'under a minute', 'none')
    """
    if seconds < _MINUTE:
        return "under a minute" if seconds > 0 else "none"
    hours, left = divmod(round(seconds / _MINUTE) * _MINUTE, _HOUR)
    return f"{hours} h {left // _MINUTE:02d} min" if hours else f"{left // _MINUTE} min"


def about(seconds: float) -> str:
    """Return a time in a sentence that estimates it.

    >>> about(5600.0), about(0.0)
    ('about 1 h 33 min', 'under a minute')
    """
    return f"about {minutes(seconds)}" if seconds >= _MINUTE else "under a minute"
