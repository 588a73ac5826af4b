"""The flat shape of a net before it is built: as far as lattices are cut, and no farther."""

from __future__ import annotations

import pytest
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.plan.walls import Roof, RoofKind, block_out, pitch_of_rise
from stowfold.geometry.propose.net import links_of
from stowfold.geometry.propose.net_bends import Bench
from stowfold.geometry.propose.net_flat import NetDrawing
from stowfold.geometry.settings import BuildSettings
from stowfold.geometry.solid.facets import ShellKind
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import make_solid

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = BuildSettings(BIRCH, BIRCH, BIRCH, BIRCH)


def test_nets_that_mirror_each_other_are_drawn_alike() -> None:
    """A hip roof's slope with its ridge and both hips bent: whichever slope it is, nothing lies on itself."""
    plan = [(0.0, 0.0), (280.0, 0.0), (280.0, 180.0), (0.0, 180.0)]
    built = block_out(plan, roof=Roof(RoofKind.HIP, pitch_of_rise(8.0), 6.0))
    facets = find_facets(make_solid(built.points, built.faces))
    shell = next(shell for shell in facets.shells if shell.kind is ShellKind.ROOF)
    links = links_of(facets, shell)
    bench, drawing = Bench(facets, shell, SETTINGS), NetDrawing(facets)
    ridge = next(link for link in links if facets.ends(facets.edges[link.edge])[:, 2].std() < 1e-6)
    drawn = []
    for slope in (ridge.one, ridge.two):
        bent = [link for link in links if slope in (link.one, link.two)]
        drawn.append(drawing.draw(bench.start.with_forced(link.edge for link in bent), shell.facets, bent))
    assert [piece.overlap for piece in drawn] == [0.0, 0.0]
    assert sorted(drawn[0].size) == pytest.approx(sorted(drawn[1].size))
