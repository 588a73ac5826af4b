"""Props of leaves: laid against the opened leaf and its wall as solids of manifold3d."""

from __future__ import annotations

import json
import math
import re
import shutil
import subprocess
from dataclasses import replace
from functools import cache
from pathlib import Path

import manifold3d
import numpy as np
import pytest
from boards_as_solids import board_solids
from slow_cases import one_quick
from stowfold.geometry.board.stock import read_stocks
from stowfold.geometry.fit.clearances import JointKind
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Outcome, Settings
from stowfold.geometry.paper import turning
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


def _posed(data: dict, shares: dict[int, float], time: float) -> list[list[np.ndarray]]:
    """Return where the page's own arithmetic puts every panel, (3, 4) mm, with leaves opened by shares."""
    script = Path(turning.__file__).with_name("turn.js").read_text(encoding="utf-8")
    arithmetic = script.partition("// ---- small algebra")[2].partition("// ---- bodies")[0]
    program = (
        f"const data = {json.dumps(data)}, shares = {json.dumps(shares)};\n//{arithmetic}\n"
        "for (const part of data.parts) for (const strip of part.strips) strip.open = shares[strip.leaf] || 0;\n"
        f"arrange({time});"
        "console.log(JSON.stringify(data.parts.map((part) => part.poses.map((pose) => times(part.pose, pose)))));"
    )
    told = subprocess.run(["node", "-"], input=program, capture_output=True, text=True, check=True).stdout
    return [[np.array(pose).reshape(4, 3).T for pose in poses] for poses in json.loads(told)]


@pytest.mark.skipif(shutil.which("node") is None, reason="the script's own arithmetic is run by node")
def test_the_page_opens_every_leaf_on_the_axis_and_to_the_angle_of_the_proof() -> None:
    outcome = house(Leaf(on_left=True, swing=math.radians(100.0)), Leaf(on_left=False, swing=math.radians(-80.0)))
    data = view_data(outcome, film_of(outcome))
    hung = [(part, placed) for part in outcome.parts for placed in part.lattices if placed.swing]
    assert {strip["leaf"] for part in data["parts"] for strip in part["strips"]} == {-1, *range(len(hung))}
    assert data["hint"].endswith("Tap a door or shutter to open or shut it.")
    index = {part["id"]: k for k, part in enumerate(data["parts"])}
    shares = {0: 1.0, 1: 0.4}
    poses = _posed(data, shares, 1.0)
    for number, (part, placed) in enumerate(hung):
        ring = part.panels[placed.child].ring
        matrix = poses[index[part.id]][placed.child]
        shown = (matrix[:, :2] @ ring.T + matrix[:, 3:]).T
        # numbers in the page are rounded
        assert np.abs(shown - opened(part, placed, shares[number]).apply(ring)).max() < 0.02
    held, waiting = outcome.props
    assert np.abs(poses[index[held.part.id]][0] - held.held.matrix).max() < 0.02
    assert np.abs(poses[index[waiting.part.id]][0] - waiting.held.matrix).max() > 1.0  # its leaf is half open
    # leaves are shut again before anything is folded
    for folded in (0.5, 1.5):
        for one, two in zip(_posed(data, shares, folded), _posed(data, {}, folded), strict=True):
            assert all(np.array_equal(a, b) for a, b in zip(one, two, strict=True))


def test_every_leaf_has_a_button_that_names_its_part_and_its_angle() -> None:
    both = house(Leaf(on_left=True, swing=math.radians(100.0)), Leaf(on_left=False, swing=math.radians(-80.0)))
    buttons = re.findall(
        r'<button type="button" data-leaf="(\w+)"[^>]*?(?:title="([^"]*)")?>', turning.turning_view(both)
    )
    assert [leaf for leaf, _ in buttons] == ["all", "0", "1"]
    assert sorted(title for _, title in buttons[1:]) == ["Opens by 100°", "Opens by 80°"]
    one = turning.turning_view(house(Leaf(on_left=True, swing=math.radians(100.0))))
    assert re.findall(r'data-leaf="(\w+)"', one) == ["0"] and "Open the door or shutter" in one
    assert "turn-leaves" not in turning.turning_view(house())
