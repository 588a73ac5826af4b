"""A block with floor and lid: what was understood is said, with the number of its boards."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import trimesh
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.run import run
from stowfold.geometry.joints.glue_strip import is_glue_strip
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.part import PartKind
from stowfold.geometry.settings import ClosureSettings
from stowfold.geometry.solid.solid import Role, Solid, make_solid

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH)


def block(*, faces: slice = slice(None), roles: dict | None = None) -> Solid:
    """A box; its bottom is the first face, its lid the last one."""
    points = np.array([(x, y, z) for z in (0.0, 60.0) for x, y in ((0, 0), (120, 0), (120, 90), (0, 90))], float)
    rings = [(3, 2, 1, 0), *((k, (k + 1) % 4, 4 + (k + 1) % 4, 4 + k) for k in range(4)), (4, 5, 6, 7)][faces]
    return make_solid(points, rings, roles=roles, source="Block")


@pytest.mark.parametrize(("propose", "boards"), [(Proposal.NONE, "5 boards"), (Proposal.ALL, "2 boards")])
def test_a_body_whose_lid_is_to_bend_is_told_with_its_boards(propose, boards):
    solid = block(roles={(4, 5): Role.FLEX})
    mesh = trimesh.Trimesh(solid.points, [(f[0], *f[k : k + 2]) for f in solid.faces for k in (1, 2)], process=False)
    assert mesh.is_watertight
    outcome = run(solid, replace(SETTINGS, propose=propose), title="Block")
    (finding,) = (found for found in outcome.findings if found.code == "closed-body")
    assert finding.severity is Severity.NOTE
    assert finding.message.startswith(f"'Block' is a closed body: its walls, floor and lid are cut as {boards};")
    # the four upright corners stay parted and are glued to strips, which are no boards of the body
    strips = [part for part in outcome.parts if is_glue_strip(part)]
    assert len(outcome.parts) - len(strips) == int(boards.split()[0])
    assert len(strips) == (4 if propose is Proposal.ALL else 0)
    assert outcome.stow.glued == ((("P1",),) if strips else ())
    assert sorted(finding.where.faces) == list(range(6))


def test_walls_with_a_floor_and_no_lid_are_no_closed_body():
    outcome = run(block(faces=slice(0, 5)), SETTINGS, title="Block")
    assert not [finding for finding in outcome.findings if finding.code == "closed-body"]


def test_strips_are_glued_only_where_the_maker_lets_all_be_proposed_and_wants_them():
    """A net alone keeps the body whole and parts it as little as it can; nothing is added to it."""
    solid = block()
    net = run(solid, replace(SETTINGS, propose=Proposal.NET), title="Block")
    assert {part.kind for part in net.parts} == {PartKind.PANEL}
    assert sum(len(part.panels) for part in net.parts) == 6
    assert not [found for found in net.findings if found.severity is Severity.ERROR]
    dry = replace(SETTINGS, propose=Proposal.ALL, closure=ClosureSettings(glue=False))
    for settings, glued in ((dry, False), (replace(dry, closure=ClosureSettings()), True)):
        outcome = run(block(roles={(4, 5): Role.FLEX}), settings, title="Block")
        assert any(is_glue_strip(part) for part in outcome.parts) is glued
