"""Props of leaves: laid against the opened leaf and its wall as solids of manifold3d."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import manifold3d
import numpy as np
import pytest
from boards_as_solids import board_solids
from slow_cases import one_quick
from stowfold.geometry.board.stock import read_stocks
from stowfold.geometry.fit.clearances import JointKind
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Outcome, Settings
from stowfold.geometry.paper.guide import render_guide
from stowfold.geometry.paper.turning import view_data
from stowfold.geometry.part import PartKind
from stowfold.geometry.plan.opening import DEFAULT_SIZES, OpeningKind, OpeningSize, stand_in_wall
from stowfold.geometry.plan.walls import block_out
from stowfold.geometry.pose import Pose
from stowfold.geometry.proof.swings import opened
from stowfold.geometry.show.film import film_of, poses_at
from stowfold.geometry.solid.opening import Leaf
from stowfold.geometry.solid.solid import make_solid

STOCK = read_stocks()[0]


@cache
def house(*leaves: Leaf, props: bool = True, size: OpeningSize = DEFAULT_SIZES[OpeningKind.DOOR]) -> Outcome:
    """A ring of 400 x 150 mm with a door for every leaf in its front."""
    block = block_out([(0, 0), (400, 0), (400, 150), (0, 150)], breaks=((200.0, 0.0), (200.0, 150.0)))
    doors = tuple(
        replace(
            stand_in_wall(f"Door {k}", OpeningKind.DOOR, size,
                          foot=np.array((100.0 + 200.0 * k, 0.0, 0.0)), along=np.array([1.0, 0.0, 0.0])),
            leaf=leaf,
        )
        for k, leaf in enumerate(leaves)
    )  # fmt: skip
    solid = replace(make_solid(block.points, block.faces, roles=dict(block.roles)), openings=doors)
    return run(solid, Settings(STOCK, STOCK, STOCK, STOCK, props=props), title="house")


def plate(ring: np.ndarray, pose: Pose, low: float, thickness: float) -> manifold3d.Manifold:
    section = manifold3d.CrossSection([ring], manifold3d.FillRule.EvenOdd)
    return section.extrude(thickness).translate((0.0, 0.0, low)).transform(np.array(pose.matrix))


@pytest.mark.parametrize("swing", one_quick([100.0, 70.0, 120.0]))
@pytest.mark.parametrize("outward", one_quick([1.0, -1.0]))
@pytest.mark.parametrize("on_left", [True, False])
def test_a_prop_passes_between_leaf_and_wall_and_holds_both(swing: float, outward: float, on_left: bool) -> None:
    outcome = house(Leaf(on_left=on_left, swing=math.radians(outward * swing)))
    (prop,) = outcome.props
    assert math.degrees(prop.angle) == pytest.approx(swing)
    part, placed = next((part, placed) for part in outcome.parts for placed in part.lattices if placed.swing)
    low = min(0.0, part.board_side * part.thickness)
    leaf = plate(np.array(part.panels[placed.child].ring), opened(part, placed), low, part.thickness)
    own = f"{part.id}/{placed.child}", f"{part.id}/lattice{part.lattices.index(placed)}"
    standing = [solid for name, solid in board_solids(outcome.parts) if name not in own]
    ring = np.array(prop.part.outline.exterior.coords)[:-1]
    bar = plate(ring, prop.held, 0.0, prop.part.thickness)
    assert sum((bar ^ solid).volume() for solid in (leaf, *standing)) == pytest.approx(0.0, abs=1e-3)
    # pushed along the wall, or square to it, by more than its play it meets the leaf or the wall
    for way in ((2.0, 0.0, 0.0), (-2.0, 0.0, 0.0), (0.0, 2.0, 0.0), (0.0, -2.0, 0.0)):
        moved = bar.translate(way)
        assert max((moved ^ solid).volume() for solid in (leaf, *standing)) > 1.0, way


def test_leaves_that_are_alike_share_one_prop_and_the_guide_tells_it() -> None:
    outcome = house(Leaf(on_left=True, swing=math.radians(90.0)), Leaf(on_left=True, swing=math.radians(90.0)))
    assert [prop.part.name for prop in outcome.props] == ["PR1", "PR1"]
    assert {prop.part.id for prop in outcome.props} <= {placed.part for placed in outcome.layout.placements}
    assert sum(joint.kind is JointKind.PROP for joint in outcome.fit.joints) == 4
    assert {piece for layer in outcome.stow.layers for piece in layer} >= {prop.part.id for prop in outcome.props}
    page = render_guide(outcome)
    assert "A prop holds a leaf open: <b>PR1</b> (leaf of W1, 90°)" in page and "2 × <b>PR1</b>" in page
    assert "Take the props off" in page


def test_nothing_is_cut_where_props_are_not_wanted_or_nothing_swings() -> None:
    assert house(Leaf(on_left=True, swing=math.radians(90.0)), props=False).props == ()
    assert house().props == ()
    assert all(part.kind is not PartKind.PROP for part in house().pieces)
    # where a leaf swings on toward the wall beside its jamb, a bar would run into its hinge
    wide = house(Leaf(on_left=True, swing=math.radians(150.0)), size=OpeningSize(60.0, 45.0))
    assert any(placed.swing for part in wide.parts for placed in part.lattices) and wide.props == ()


def test_a_prop_is_seen_on_its_sheet_where_it_holds_its_leaf_and_in_the_box() -> None:
    outcome = house(Leaf(on_left=True, swing=math.radians(100.0)))
    (prop,) = outcome.props
    film = film_of(outcome)
    boards = film.boards[prop.part.id]

    def box(time: float, opened: float = 0.0) -> np.ndarray:
        points = poses_at(film, time, opened=opened)[prop.part.id].pose.apply(boards.points())
        return np.array([points.min(axis=0), points.max(axis=0)])

    ring = np.array(prop.part.outline.exterior.coords)[:-1]
    held = np.reshape(plate(ring, prop.held, 0.0, prop.part.thickness).bounding_box(), (2, 3))
    assert box(1.0, opened=1.0) == pytest.approx(held, abs=1e-6)
    assert box(1.0) == pytest.approx(box(0.0), abs=1e-6)
    assert (box(0.0)[0, :2] > film.sheets[:, :, :2].min(axis=(0, 1))).all()
    assert (box(2.0)[0] > film.box[0] - 1e-6).all() and (box(2.0)[1] < film.box[1] + 1e-6).all()
    assert prop.part.id in {part["id"] for part in view_data(outcome, film)["parts"]}
