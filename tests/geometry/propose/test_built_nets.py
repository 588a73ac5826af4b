"""Nets that the board can bend: any solid of faces larger than the board is thick is cut and proved.

The least number of pieces is found again by building every forest of bends that networkx lets pass.
"""

from __future__ import annotations

from dataclasses import replace

import networkx
import numpy as np
import pytest
from convex_solids import SOLIDS, hull, on_the_ground, random_hull
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from least_pieces import SHEET, built, least_by_building
from slow_cases import one_quick
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Outcome, Proposal, Settings
from stowfold.geometry.part import PartKind
from stowfold.geometry.propose.net import choose_net, links_of, search_for
from stowfold.geometry.propose.net_trees import count_trees
from stowfold.geometry.solid.facets import ShellKind
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Solid, make_solid

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH)
ALL = replace(SETTINGS, propose=Proposal.ALL)


def errors(outcome: Outcome) -> list[str]:
    return [finding.code for finding in outcome.findings if finding.severity is Severity.ERROR]


def missing(outcome: Outcome) -> set[int]:
    """Return the faces that are neither a panel of a section nor the floor."""
    kinds = {PartKind.PANEL, PartKind.WALL, PartKind.ROOF}
    made = {panel.facet for part in outcome.parts if part.kind in kinds for panel in part.panels}
    return {facet.id for facet in outcome.facets.facets} - made - {shell.bottom for shell in outcome.facets.shells}


SMALL = {
    "tetrahedron of 70 mm": on_the_ground(SOLIDS["tetrahedron"][0], 50.0),
    "tetrahedron of 42 mm": on_the_ground(SOLIDS["tetrahedron"][0], 30.0),
    "tetrahedron of 28 mm": on_the_ground(SOLIDS["tetrahedron"][0], 20.0),
    "low pyramid": np.array([(0, 0, 0), (90, 0, 0), (90, 60, 0), (0, 60, 0), (40, 30, 35)], dtype=float),
    "steep pyramid": np.array([(0, 0, 0), (40, 0, 0), (40, 30, 0), (0, 30, 0), (15, 15, 90)], dtype=float),
    "flat wedge": np.array(
        [(0, 0, 0), (90, 0, 0), (40, 50, 0), (0, 0, 22), (90, 0, 34), (40, 50, 26)],
        dtype=float,
    ),
    "random of 4": random_hull(3)[:4],
    "random of 5": random_hull(11, most=60.0)[:5],
}


@pytest.mark.parametrize("name", one_quick(list(SMALL), "tetrahedron of 42 mm"))
def test_no_choice_of_bends_has_fewer_pieces_or_parts_less(name: str) -> None:
    facets = find_facets(hull(SMALL[name]))
    (shell,) = facets.shells
    links = links_of(facets, shell)
    net = choose_net(search_for(facets, shell, SETTINGS.as_cut, largest=SHEET))
    parted = sum(link.length for link in links if link.edge not in net.edges)
    assert net.fits and built(facets, net.edges)
    assert (len(net.pieces), parted) == pytest.approx(least_by_building(facets, links))


@pytest.mark.parametrize(
    ("name", "trees"),
    # Horiyama and Shoji, CCCG 2011; the dual of a solid has as many trees as the solid itself
    [
        ("tetrahedron", 16),
        ("cube", 384),
        ("octahedron", 384),
        ("dodecahedron", 5_184_000),
        ("icosahedron", 5_184_000),
    ],
)
def test_regular_solids_have_their_number_of_trees(name: str, trees: int) -> None:
    facets = find_facets(hull(on_the_ground(SOLIDS[name][0], 100.0)))
    (shell,) = facets.shells
    links = links_of(facets, shell)
    assert count_trees(sorted(shell.facets), links) == trees
    graph = networkx.Graph([(link.one, link.two) for link in links])
    assert round(networkx.number_of_spanning_trees(graph)) == trees


#: Every solid in one of three sizes, by turns.
SIZED = [(name, (60.0, 120.0, 200.0)[k % 3]) for k, name in enumerate(SOLIDS)]


@pytest.mark.parametrize(("name", "size"), one_quick(SIZED, next(case for case in SIZED if case[0] == "octahedron")))
def test_regular_and_half_regular_solids_are_cut_and_proved(name: str, size: float) -> None:
    points, faces = SOLIDS[name]
    solid = hull(on_the_ground(points, size))
    assert len(find_facets(solid).facets) == faces
    outcome = run(solid, ALL, title="Weight")
    assert errors(outcome) == [] and outcome.proof.holds
    assert not missing(outcome)


@pytest.mark.parametrize("seed", one_quick(list(range(200, 206)), 202))
def test_random_hulls_are_cut_and_proved(seed: int) -> None:
    outcome = run(hull(random_hull(seed)), ALL, title="Stone")
    assert errors(outcome) == [] and outcome.proof.holds
    assert not missing(outcome)


@pytest.mark.slow
@settings(max_examples=12, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(st.integers(0, 10_000), st.floats(40.0, 120.0))
def test_a_proposal_never_makes_a_hull_worse(seed: int, radius: float) -> None:
    solid = hull(random_hull(seed, least=radius, most=radius + 1.0))
    outcomes = [run(solid, replace(SETTINGS, propose=way), title="Stone") for way in (Proposal.NONE, Proposal.ALL)]
    loose, proposed = map(errors, outcomes)
    assert len(proposed) <= len(loose)


@pytest.mark.parametrize("seed", one_quick([5, 41, 202], 202))
def test_a_net_does_not_depend_on_how_a_mesh_is_numbered(seed: int) -> None:
    solid = hull(random_hull(seed))
    order = np.random.default_rng(1).permutation(len(solid.points))
    place = np.argsort(order)
    faces = [tuple(int(place[k]) for k in face) for face in reversed(solid.faces)]
    nets = []
    for made in (solid, make_solid(solid.points[order], faces)):
        facets = find_facets(made)
        (shell,) = facets.shells
        net = choose_net(search_for(facets, shell, SETTINGS.as_cut, largest=SHEET))
        nets.append({tuple(np.round(facets.ends(facets.edges[edge]).mean(axis=0), 6)) for edge in net.edges})
    assert nets[0] == nets[1]


def tower(corners: int, levels: list[tuple[float, float]], peak: float) -> Solid:
    """Return a tower on a regular plan: rings of (radius, height), mm, one above the other, and a spire."""
    turns = 2.0 * np.pi * np.arange(corners) / corners
    rings = [np.column_stack([r * np.cos(turns), r * np.sin(turns), np.full(corners, z)]) for r, z in levels]
    faces = [
        (corners * k + i, corners * k + (i + 1) % corners, corners * (k + 1) + (i + 1) % corners, corners * (k + 1) + i)
        for k in range(len(levels) - 1)
        for i in range(corners)
    ]
    last = corners * (len(levels) - 1)
    faces += [(last + i, last + (i + 1) % corners, last + corners) for i in range(corners)]
    return make_solid(np.vstack([*rings, [(0.0, 0.0, peak)]]), faces)


@pytest.mark.slow
@pytest.mark.parametrize("scale", [1.0, 1.7])
def test_a_tower_of_56_facets_under_eaves_and_a_spire_is_built(scale: float) -> None:
    levels = [(60.0, 0.0), (60.0, 80.0), (75.0, 75.0), (75.0, 85.0)]
    facets = find_facets(tower(14, [(r * scale, z * scale) for r, z in levels], 170.0 * scale))
    (shell,) = facets.shells
    assert shell.kind is ShellKind.SOLID and len(facets.facets) == 56
    net = choose_net(search_for(facets, shell, SETTINGS.as_cut, largest=SHEET))
    assert net.fits and built(facets, net.edges)
    assert len(net.pieces) < 30
