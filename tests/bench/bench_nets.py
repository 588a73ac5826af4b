"""Nets of solids of more and more facets. Run: pytest tests/bench/bench_nets.py"""

from __future__ import annotations

import numpy as np
import pytest
from convex_solids import hull
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.propose.net import choose_net, links_of, search_for
from stowfold.geometry.propose.net_bends import Bench
from stowfold.geometry.propose.net_search import Search
from stowfold.geometry.settings import BuildSettings
from stowfold.geometry.solid.find import find_facets

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = BuildSettings(BIRCH, BIRCH, BIRCH, BIRCH)
SHEET = (594.0, 294.0)


def ball(corners: int) -> np.ndarray:
    """Return corners spread evenly over a sphere on which all edges are about 60 mm long (a Fibonacci lattice)."""
    k = np.arange(corners) + 0.5
    height = 1.0 - 2.0 * k / corners
    turn = np.pi * (1.0 + 5.0**0.5) * k
    level = np.sqrt(1.0 - height**2)
    return 16.0 * corners**0.5 * np.column_stack([level * np.cos(turn), level * np.sin(turn), height])


@pytest.mark.benchmark(group="nets")
@pytest.mark.parametrize("corners", [12, 30, 60, 120, 252])
def test_choose_net(benchmark, corners):
    facets = find_facets(hull(ball(corners)))
    (shell,) = facets.shells
    net = benchmark.pedantic(lambda: choose_net(search_for(facets, shell, SETTINGS, largest=SHEET)), rounds=1)
    benchmark.extra_info["facets"] = len(facets.facets)
    benchmark.extra_info["pieces"] = len(net.pieces)
    assert net.fits


@pytest.mark.benchmark(group="the first net that is found")
@pytest.mark.parametrize("corners", [12, 30, 60, 120, 252])
def test_first_net(benchmark, corners):
    facets = find_facets(hull(ball(corners)))
    (shell,) = facets.shells

    def first():
        search = Search(Bench(facets, shell, SETTINGS), shell.facets, links_of(facets, shell), (), SHEET)
        return search.filled(search.start, search.free)

    assert len(benchmark.pedantic(first, rounds=1).drawn) < len(facets.facets)
