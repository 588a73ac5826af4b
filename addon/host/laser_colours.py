"""Colours of lines between the window, which mixes them, and files, which spell them."""

from __future__ import annotations

from collections.abc import Iterable

__all__ = ["hex_of", "mixed"]


def hex_of(colour: Iterable[float]) -> str:
    """Return a colour of red, green and blue from 0 to 1 as files spell it, such as #2a9d8f."""
    return "#" + "".join(f"{round(255 * share):02x}" for share in colour)


def mixed(spelt: str) -> tuple[float, ...]:
    """Return red, green and blue from 0 to 1 of a colour as files spell it."""
    return tuple(int(spelt[k : k + 2], 16) / 255 for k in (1, 3, 5))
