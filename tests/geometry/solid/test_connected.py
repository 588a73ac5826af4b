"""What hangs together, against scipy's graph routine."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from stowfold.geometry.solid.mesh import connected


@given(st.integers(1, 60), st.integers(0, 80), st.integers(0, 10**6))
def test_connected_items_bear_their_smallest(count: int, pairs: int, seed: int) -> None:
    one, two = np.random.default_rng(seed).integers(0, count, (2, pairs))
    label = connected(count, one, two)
    _, theirs = connected_components(coo_array((np.ones(pairs), (one, two)), shape=(count, count)), directed=False)
    smallest = [int(np.flatnonzero(theirs == k)[0]) for k in theirs]
    assert label.tolist() == smallest


def test_a_long_chain_in_any_order() -> None:
    order = np.random.default_rng(4).permutation(20000)
    assert not connected(20000, order[:-1], order[1:]).any()
