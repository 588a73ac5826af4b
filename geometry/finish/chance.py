"""Chance that comes out the same everywhere: a number from 0 to 1 for a seed and a place, for many places at once."""

from __future__ import annotations

import numpy as np

__all__ = ["chance", "splitmix"]

_STEP = np.uint64(0x9E3779B97F4A7C15)
_FIRST, _SECOND = np.uint64(0xBF58476D1CE4E5B9), np.uint64(0x94D049BB133111EB)

#: Bits of a number in double precision.
_BITS = 53


def splitmix(state: np.ndarray) -> np.ndarray:
    """Return the next numbers of SplitMix64 (Steele, Lea and Flood 2014) for states, (...) uint64."""
    with np.errstate(over="ignore"):
        mixed = np.asarray(state, dtype=np.uint64) + _STEP
        mixed = (mixed ^ (mixed >> np.uint64(30))) * _FIRST
        mixed = (mixed ^ (mixed >> np.uint64(27))) * _SECOND
        return np.asarray(mixed ^ (mixed >> np.uint64(31)))


def chance(seed: int, *place: np.ndarray | int) -> np.ndarray:
    """Return a number from 0 to below 1 for every place, given by whole numbers that broadcast.

    >>> bool(chance(1, 5, 2) == chance(1, 5, 2)), bool(chance(1, 5, 2) == chance(2, 5, 2))
    (True, False)
    """
    state = splitmix(np.asarray(seed, dtype=np.int64).astype(np.uint64))
    for number in place:
        state = splitmix(state ^ np.asarray(number, dtype=np.int64).astype(np.uint64))
    share: np.ndarray = (state >> np.uint64(64 - _BITS)).astype(np.float64) / 2.0**_BITS
    return share
