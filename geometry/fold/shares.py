"""Shares: many things of unequal size are worked through in array arithmetic without filling the memory."""

from __future__ import annotations

import numpy as np

__all__ = ["counted", "in_shares"]

#: So many pairs are looked at together at most: as many as memory takes easily.
_AT_ONCE = 50_000


def in_shares(these: np.ndarray, sizes: np.ndarray) -> list[np.ndarray]:
    """Return things, (n,), in shares whose sizes, (n,), together are no more than memory takes easily.

    A thing that alone is larger comes alone or with few others.
    """
    if not len(these):
        return []
    share = np.cumsum(sizes) // _AT_ONCE
    return np.split(these, np.flatnonzero(np.diff(share)) + 1)


def counted(counts: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return for things of which there are so many which thing every one is, and its number among its own.

    >>> thing, number = counted(np.array([2, 0, 3]))
    >>> thing.tolist(), number.tolist()
    ([0, 0, 2, 2, 2], [0, 1, 0, 1, 2])
    """
    thing = np.repeat(np.arange(len(counts)), counts)
    return thing, np.arange(len(thing)) - np.repeat(np.cumsum(counts) - counts, counts)
