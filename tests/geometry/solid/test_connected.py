"""What hangs together is what scipy's connected components and networkx say, for random graphs."""

from __future__ import annotations

import networkx
import numpy as np
import pytest
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from stowfold.geometry.leaders import leader_of
from stowfold.geometry.solid.connected import connected


@pytest.mark.parametrize("pairs", [0, 1, 40, 90, 400])
def test_items_hang_together_as_scipy_finds_it(pairs: int) -> None:
    count = 120
    one, two = np.random.default_rng(pairs).integers(0, count, (2, pairs))
    labels = connected(count, one, two)
    groups, of = connected_components(coo_matrix((np.ones(pairs), (one, two)), shape=(count, count)), directed=False)
    assert len(np.unique(labels)) == groups
    for group in range(groups):
        members = np.flatnonzero(of == group)
        assert (labels[members] == members.min()).all()


@pytest.mark.parametrize("pairs", [0, 30, 70, 300])
def test_nodes_of_one_leader_are_a_component_of_networkx(pairs: int) -> None:
    graph = networkx.empty_graph(80)
    leaders = list(range(80))
    for a, b in np.random.default_rng(pairs).integers(0, 80, (pairs, 2)).tolist():
        graph.add_edge(a, b)
        leaders[leader_of(leaders, a)] = leader_of(leaders, b)
    found: dict[int, set[int]] = {}
    for node in range(80):
        found.setdefault(leader_of(leaders, node), set()).add(node)
    assert sorted(map(sorted, found.values())) == sorted(map(sorted, networkx.connected_components(graph)))
