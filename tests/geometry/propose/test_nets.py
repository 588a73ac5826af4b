"""Nets of regular solids: every spanning tree of a cube and a tetrahedron is known, and each folds back."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.run import run
from stowfold.geometry.fold.fold import fold
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.solid.facets import Facets
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, Solid, make_solid
from stowfold.geometry.unfold.hinges import choose_hinges
from stowfold.geometry.unfold.section import unfold

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH)
EDGE = 170.0

CUBE = make_solid(
    np.array([(x, y, z) for x in (0, 1) for y in (0, 1) for z in (0, 1)]) * EDGE,
    [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)],
)
TETRAHEDRON = make_solid(
    np.array([(1, 1, 1), (1, -1, -1), (-1, 1, -1), (-1, -1, 1)]) * EDGE / math.sqrt(8),
    [(0, 1, 2), (0, 3, 1), (0, 2, 3), (1, 3, 2)],
)


def marked(facets: Facets, chosen: tuple[int, ...]) -> Facets:
    edges = tuple(replace(e, role=Role.FLEX if e.id in chosen else Role.CLOSURE) for e in facets.edges)
    return replace(facets, edges=edges, shells=tuple(replace(shell, bottom=None) for shell in facets.shells))


def nets(solid: Solid) -> Iterator[Facets]:
    """Every choice of as many edges as a tree has that our own rule lets pass: no loop of flex corners."""
    facets = find_facets(solid)
    for chosen in itertools.combinations(range(len(facets.edges)), len(facets.facets) - 1):
        net = marked(facets, chosen)
        if not choose_hinges(net).findings:
            yield net


@pytest.mark.parametrize(("solid", "trees", "every"), [(TETRAHEDRON, 16, 1), (CUBE, 384, 11)], ids=["4", "6"])
@pytest.mark.slow
def test_spanning_trees_are_kirchhoff_s_and_each_folds_back(solid: Solid, trees: int, every: int) -> None:
    """16 and 384 spanning trees (matrix-tree theorem); no net overlaps (Horiyama and Shoji, CCCG 2011)."""
    found = list(nets(solid))
    assert len(found) == trees
    for net in found[::every]:
        sections = unfold(net, SETTINGS)
        assert "self-overlap" not in {finding.code for finding in sections.findings}
        (part,) = sections.parts
        for panel, stands in zip(part.panels, fold(part), strict=True):
            corners = stands.apply(panel.corners)
            np.testing.assert_allclose(corners, panel.corner_points, atol=1e-9)
            assert np.linalg.norm(solid.points[None] - corners[:, None], axis=2).min(axis=1).max() < 1e-9


def test_one_edge_more_than_a_tree_names_its_loop() -> None:
    facets = find_facets(CUBE)
    for chosen in itertools.islice(itertools.combinations(range(12), 6), 0, None, 60):
        hinges = choose_hinges(marked(facets, chosen))
        # six edges join six facets: there is a loop, and more than one where the facets stay in pieces
        assert len(hinges.findings) == len(hinges.groups)
        assert {finding.code for finding in hinges.findings} == {"flex-loop-without-break"}
        assert len(hinges.edges) == 6 - len(hinges.groups)


def test_four_flex_corners_and_no_break_name_the_walls() -> None:
    low = [(0, 0), (230, 0), (230, 150), (0, 150)]
    points = np.array([(x, y, z) for z in (0.0, 62.0) for x, y in low])
    faces = [(i, (i + 1) % 4, (i + 1) % 4 + 4, i + 4) for i in range(4)]
    loop = make_solid(points, faces, roles={(i, i + 4): Role.FLEX for i in range(4)})
    (finding,) = choose_hinges(find_facets(loop)).findings
    assert finding.code == "flex-loop-without-break"
    assert all(str(face) in finding.message for face in range(4))
    assert "mark a break line" in finding.message
    assert finding.where.edges


def saddle() -> Solid:
    """Eight triangles about a point with 8 * 75 degrees round it: more than a flat board has."""
    rim = [(100 * math.cos(k * math.pi / 4), 100 * math.sin(k * math.pi / 4), 60.0 * (-1) ** k) for k in range(8)]
    faces = [(0, k + 1, (k + 1) % 8 + 1) for k in range(8)]
    return make_solid(np.array([(0.0, 0.0, 0.0), *rim]), faces, roles={(0, k): Role.FLEX for k in range(2, 9)})


def test_what_would_lie_on_itself_is_reported_and_not_cut() -> None:
    outcome = run(saddle(), SETTINGS, title="Saddle")
    found = [finding for finding in outcome.findings if finding.code == "self-overlap"]
    assert found and not outcome.parts
    # panels that are one full turn apart lie on each other: the fifth panel begins after 4 * 75.2 degrees
    assert any("the back right slope and the front left slope of R1" in finding.message for finding in found)
    assert all(finding.where.faces for finding in found)


def test_a_proposed_net_never_lies_on_itself_and_fits_the_sheet() -> None:
    # one edge of its lid is marked, since the lid would be a part of its own otherwise
    marked = make_solid(CUBE.points, CUBE.faces, roles={(1, 5): Role.FLEX})
    outcome = run(marked, replace(SETTINGS, propose=Proposal.NET), title="Block")
    panels = [part for part in outcome.parts if part.panels and part.id.startswith("P")]
    # four sides of 170 and their bends are longer than a sheet of 600, so one piece cannot hold all; the floor is one
    assert len(panels) == 2 and sum(len(part.panels) for part in panels) == 5
    for part in panels:
        assert max(part.size) <= 594.0 and min(part.size) <= 294.0
        assert part.outline.is_valid
    assert outcome.proof.holds


def test_a_bend_beyond_the_limit_is_told_with_its_angle() -> None:
    """Two flaps 20 degrees apart bend by 160 degrees at their common edge."""
    half = math.radians(10.0)
    away, up = 80 * math.sin(half), 80 * math.cos(half)
    points = np.array([(0, 0, up), (200, 0, up), (200, -away, 0), (0, -away, 0), (200, away, 0), (0, away, 0)])
    flaps = make_solid(points, [(3, 2, 1, 0), (0, 1, 4, 5)], roles={(0, 1): Role.FLEX})
    (finding,) = choose_hinges(find_facets(flaps)).findings
    assert finding.code == "bend-too-sharp" and "160.0 degrees" in finding.message
