"""Contrast: how well a line shows on a colour, by the formula of the Web Content Accessibility Guidelines 2.1.

Colours are written as "#ece2cc", in the colour space of screens (sRGB, IEC 61966-2-1).
"""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["LEAST_CONTRAST", "LEAST_TEXT", "contrast", "hex_of", "linear_of", "luminance", "readable"]

#: Least contrast of lines that mean something (criterion 1.4.11), and of letters (criterion 1.4.3).
LEAST_CONTRAST, LEAST_TEXT = 3.0, 4.5

#: Shares of red, green and blue in luminance, and what the formula adds to both luminances for stray light.
_SHARES, _STRAY = (0.2126, 0.7152, 0.0722), 0.05

#: So often a step toward black or white is halved: finer than one of 255 steps of a screen.
_HALVED = 10

_BLACK, _WHITE = "#000000", "#ffffff"


def linear_of(colour: str) -> tuple[float, float, float]:
    """Return red, green and blue of a colour as amounts of light, 0 to 1."""
    parts = (part / 255 for part in bytes.fromhex(colour[1:]))
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return red, green, blue


def hex_of(light: Sequence[float]) -> str:
    """Return the colour of amounts of red, green and blue light, 0 to 1; what lies beyond is cut off.

    >>> hex_of((0.0, 1.0, 0.2158605))
    '#00ff80'
    """
    kept = (min(max(float(part), 0.0), 1.0) for part in light)
    shown = (12.92 * part if part <= 0.0031308 else 1.055 * part ** (1 / 2.4) - 0.055 for part in kept)
    return "#" + "".join(f"{round(255 * part):02x}" for part in shown)


def luminance(colour: str) -> float:
    """Return how bright a colour is, 0 of black to 1 of white."""
    return sum(share * part for share, part in zip(_SHARES, linear_of(colour), strict=True))


def contrast(one: str, two: str) -> float:
    """Return the contrast of two colours, 1 of equal ones to 21.

    >>> contrast("#000000", "#ffffff")
    21.0
    """
    low, high = sorted((luminance(one), luminance(two)))
    return (high + _STRAY) / (low + _STRAY)


def readable(wished: str, ground: str, least: float = LEAST_CONTRAST) -> str:
    """Return the colour next to the wished one that shows on a ground: moved toward black or white where it must.

    >>> readable("#33210f", "#ece2cc")
    '#33210f'
    """
    if contrast(wished, ground) >= least:
        return wished
    # it moves away from the ground where that reaches, else to the other side
    away = _BLACK if luminance(wished) <= luminance(ground) else _WHITE
    end = away if contrast(away, ground) >= least else max((_BLACK, _WHITE), key=lambda side: contrast(side, ground))
    near, far = 0.0, 1.0
    for _ in range(_HALVED):
        middle = (near + far) / 2
        near, far = (near, middle) if contrast(_mixed(wished, end, middle), ground) >= least else (middle, far)
    return _mixed(wished, end, far)


def _mixed(one: str, two: str, share: float) -> str:
    pairs = zip(bytes.fromhex(one[1:]), bytes.fromhex(two[1:]), strict=True)
    return "#" + "".join(f"{round((1 - share) * a + share * b):02x}" for a, b in pairs)
