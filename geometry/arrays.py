"""Arrays that cannot be changed: results are handed on without copies, and a change would reach all who hold one."""

from __future__ import annotations

import numpy as np

__all__ = ["frozen", "read_only"]


def read_only(values: np.ndarray) -> np.ndarray:
    """Make an array read-only, without a copy, and return it."""
    values.setflags(write=False)
    return values


def frozen(values: np.ndarray) -> np.ndarray:
    """Return a read-only copy in double precision."""
    return read_only(np.array(values, dtype=float))
