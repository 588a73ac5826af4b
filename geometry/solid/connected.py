"""What hangs together: items joined by pairs, labelled by the smallest one of each group."""

from __future__ import annotations

import numpy as np

__all__ = ["connected"]


def connected(count: int, one: np.ndarray, two: np.ndarray) -> np.ndarray:
    """Return for each of ``count`` items the smallest one that it hangs together with by pairs (one, two), (n,) int."""
    label = np.arange(count)
    while True:
        a, b = label[one], label[two]
        apart = a != b
        if not apart.any():
            return label
        np.minimum.at(label, np.maximum(a, b)[apart], np.minimum(a, b)[apart])
        # every chain of labels is followed to its end, so that only ends are joined in the next round
        while not np.array_equal(further := label[label], label):
            label = further
