"""The flat shape of a net before it is built: as far as lattices are cut, and no farther."""

from __future__ import annotations

import pytest
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.plan.walls import Roof, RoofKind, block_out, pitch_of_rise
from stowfold.geometry.propose.net import links_of
from stowfold.geometry.propose.net_flat import NetDrawing
from stowfold.geometry.settings import BuildSettings
from stowfold.geometry.solid.facets import ShellKind
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import make_solid
from stowfold.geometry.unfold.setbacks import lattice_designer

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = BuildSettings(BIRCH, BIRCH, BIRCH, BIRCH)


def test_nets_that_mirror_each_other_are_drawn_alike() -> None:
    """A hip roof's slope with its ridge and both hips bent: whichever slope it is, nothing lies on itself."""
    plan = [(0.0, 0.0), (280.0, 0.0), (280.0, 180.0), (0.0, 180.0)]
    built = block_out(plan, roof=Roof(RoofKind.HIP, pitch_of_rise(8.0), 6.0))
    facets = find_facets(make_solid(built.points, built.faces))
    shell = next(shell for shell in facets.shells if shell.kind is ShellKind.ROOF)
    links = links_of(facets, shell)
    design = lattice_designer(SETTINGS.hinge)
    lattices = {link.edge: design(BIRCH, link.bend, link.length, SETTINGS.hinge.inside_radius) for link in links}
    drawing = NetDrawing(facets, lattices, thickness=BIRCH.thickness)
    ridge = next(link for link in links if facets.ends(facets.edges[link.edge])[:, 2].std() < 1e-6)
    drawn = [
        drawing.draw(shell.facets, [link for link in links if slope in (link.one, link.two)])
        for slope in (ridge.one, ridge.two)
    ]
    assert [piece.flaws for piece in drawn] == [0, 0]
    assert [piece.overlap for piece in drawn] == [0.0, 0.0]
    assert sorted(drawn[0].size) == pytest.approx(sorted(drawn[1].size))
