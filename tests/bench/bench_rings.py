"""Time to find where rings part, beside networkx over the same places: ``pytest tests/bench/bench_rings.py``.

The reference finds fewest openings alone, by Dijkstra over sections that fit; ours also weighs how they show and how
even the sections are. Report ratios, not seconds.
"""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest
from ring_plans import Plan
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.unfolding import propose
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.propose.parting import Places, part_loop

#: Length of the ring and of the longest section, mm.
TOTAL, LONGEST = 4000.0, 580.0


@pytest.fixture(scope="module")
def places() -> Places:
    chance = np.random.default_rng(7)
    at = np.unique(np.round(chance.uniform(0.0, TOTAL, 600), 1))
    costs = chance.integers(0, 3, len(at)).astype(float)
    return Places(at, costs, chance.uniform(0.0, 90.0, len(at)), np.full(len(at), 14.5))


def fewest_by_networkx(places: Places) -> int:
    """Fewest openings of a ring that is opened at the first place, by another library."""
    graph = nx.DiGraph()
    at = [*places.at, places.at[0] + TOTAL]
    for one, start in enumerate(at):
        for two in range(one + 1, len(at)):
            if at[two] - start - 14.5 > LONGEST:
                break
            graph.add_edge(one, two)
    return int(nx.shortest_path_length(graph, 0, len(at) - 1))


def test_reference_networkx_finds_fewest_openings(benchmark, places):
    benchmark(fewest_by_networkx, places)


def test_part_a_long_ring(benchmark, places):
    chosen = benchmark(part_loop, places, total=TOTAL, longest=LONGEST)
    # opened at the best place a ring never needs more than opened at the first
    assert len(chosen) <= fewest_by_networkx(places)


@pytest.mark.parametrize("sides", [8, 32])
def test_propose_for_a_round_tower(benchmark, sides):
    birch = find_stock("birch-plywood-3", read_stocks())
    turns = 2.0 * np.pi * np.arange(sides) / sides
    tower = Plan("tower", [110.0 * np.column_stack([np.cos(turns), np.sin(turns)])], 76.2).solid()
    benchmark(propose, tower, Settings(birch, birch, birch, birch, propose=Proposal.ALL))
