"""Trim and tiles in the fit and in the play checks: what is free beside joiners, leaves, walls and over tiles."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
from marked_roofs import marked_block_out
from sample_solids import solid_of
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.finish.finish import Pattern, finish_of
from stowfold.geometry.fit.assess import assess
from stowfold.geometry.fit.clearances import JointKind
from stowfold.geometry.fit.gather import find_joints
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.outcome import Settings
from stowfold.geometry.part import PartKind
from stowfold.geometry.plan.opening import OpeningKind, OpeningSize, stand_in_wall
from stowfold.geometry.play.pieces import blocker_of_mesh
from stowfold.geometry.play.raised import lift_furniture, lift_miniature
from stowfold.geometry.play.set_table import find_room, set_table
from stowfold.geometry.play.table_top import AtTable, Miniature
from stowfold.geometry.pose import Pose
from stowfold.geometry.proof.swings_over_tiles import check_over_tiles
from stowfold.geometry.settings import FloorTiles, TrimSettings
from stowfold.geometry.solid.opening import Leaf
from stowfold.geometry.solid.solid import make_solid

STOCKS = read_stocks()
BIRCH, THIN, MDF = (find_stock(name, STOCKS) for name in ("birch-plywood-3", "birch-plywood-1.5", "mdf-3"))
DRESSED = Settings(
    BIRCH,
    BIRCH,
    BIRCH,
    BIRCH,
    trim=TrimSettings(THIN, frames=True, sills=True, shutters=True, corner_boards=True),
    tiles=FloorTiles(BIRCH, MDF),
    floor_finish="tiles",
    finishes={"tiles": finish_of(Pattern.CHEQUER, size=2.0)},
)


@pytest.fixture(scope="module")
def house():
    return make_parts(solid_of("lock_keepers_house"), DRESSED, title="House").outcome


def _fit(house, parts=None):
    parts = house.parts if parts is None else parts
    cut = house.settings.as_cut
    return assess(find_joints(parts, house.joiners, house.tabs, cut, house.props, house.tiling), cut.stocks)


def _moved(part, by):
    """A standing piece of trim, moved along its own x by so many mm, as a careless hand glues it."""
    (panel,) = part.panels
    stands = panel.stands.moved_to((by, 0.0))
    return replace(part, panels=(replace(panel, stands=stands),))


@cache
def _with_a_door(swing):
    """A house of two joiners whose door hangs on a lattice and opens by ``swing`` degrees, below 0 inward."""
    block = marked_block_out([(0, 0), (228.6, 0), (228.6, 152.4), (0, 152.4)], breaks=((112.0, 0.0), (112.0, 152.4)))
    solid = make_solid(block.points, block.faces, roles=dict(block.roles))
    at = {"foot": np.array([62.0, 0.0, 0.0]), "along": np.array([1.0, 0.0, 0.0])}
    door = stand_in_wall("Door", OpeningKind.DOOR, OpeningSize(36.0, 45.0), **at)
    door = replace(door, leaf=Leaf(swing=np.radians(swing)))
    return make_parts(replace(solid, openings=(door,)), DRESSED, title="Store").outcome


def test_trim_leaves_the_leaf_free_and_a_slip_of_the_hand_is_told() -> None:
    store = _with_a_door(100.0)
    fit = _fit(store)
    leaf = next(joint for joint in fit.joints if joint.kind is JointKind.TRIM_LEAF and "jamb" in joint.parts[0])
    assert 1.0 <= leaf.clearance < 2.0 and leaf.share > 0.99
    shares = []
    for by in (leaf.clearance - 0.1, 0.1 - leaf.clearance):
        slipped = tuple(_moved(part, by) if part.id == leaf.parts[0] else part for part in store.parts)
        shares += [joint.share for joint in _fit(store, slipped).joints if joint.parts == leaf.parts]
    # one way is off the leaf, the other one leaves a tenth of a millimetre for a hand that is sure to half a one
    assert (min(shares) < 0.6 and len(shares) == 1) or max(shares) > 0.99


def test_trim_over_the_place_of_a_cheek_closes_its_joiner(house) -> None:
    cheek = next(part for part in house.parts if part.id == house.joiners[0].cheeks[0])
    ring = cheek.panels[0].stands.apply(cheek.panels[0].ring)
    pieces = [part for part in house.parts if part.kind is PartKind.TRIM]

    # the nearest piece on the same wall, moved until it overlaps the cheek by half a millimetre
    def gap(part, by):
        there = part.panels[0].stands.back(ring)
        flat = shapely.Polygon(there[:, :2])
        return part.outline.distance(shapely.affinity.translate(flat, -by)), abs(float(there[:, 2].mean()))

    near = [part for part in pieces if gap(part, 0.0)[1] < 6.0]
    part = min(near, key=lambda part: gap(part, 0.0)[0])
    away = gap(part, 0.0)[0]
    assert away >= 1.0 - 1e-6
    by = next(sign * (away - 0.2) for sign in (1.0, -1.0) if gap(part, sign * (away - 0.2))[0] < away)
    moved = tuple(_moved(other, by) if other.id == part.id else other for other in house.parts)
    (told,) = [
        joint for joint in _fit(house, moved).joints if joint.kind is JointKind.TRIM_CHEEK and part.id in joint.parts
    ]
    assert told.clearance == pytest.approx(0.2, abs=1e-6)
    assert told.share < 0.95


def test_a_row_of_tiles_has_the_clearance_of_all_its_kerfs() -> None:
    room = make_parts(solid_of("grain_store"), replace(DRESSED, trim=TrimSettings()), title="Store").outcome
    tiling = room.tiling
    row = [joint for joint in _fit(room).joints if joint.kind is JointKind.TILES]
    # 9 squares: nine times the play, and 0.3 at both walls
    assert row[0].clearance == pytest.approx(9 * 0.05 + 0.6, abs=1e-6)
    assert row[0].least < 0.0 < row[0].most
    assert tiling.longest == 9


def test_a_leaf_that_opens_over_tiles_is_told_and_one_that_clears_them_is_not() -> None:
    assert check_over_tiles(*_leaf_and_tiles(100.0)) == ()
    parts, tiling = _leaf_and_tiles(-90.0)
    (told,) = check_over_tiles(parts, tiling)
    assert told.code == "leaf-in-the-way"
    part = next(part for part in parts if any(placed.swing for placed in part.lattices))
    (placed,) = [placed for placed in part.lattices if placed.swing]
    low = float(part.panels[placed.child].stands.apply(part.panels[placed.child].ring)[:, 2].min())
    assert f"scrapes on them by {3.0 - low:.1f} mm; raise its opening by" in told.message
    assert len(told.message) < 140
    for gap, said in ((0.3, "clears them by 0.3 mm only; raise its opening by 0.2 mm"), (0.6, None)):
        sunk = np.array([0.0, 0.0, low - gap - 3.0])
        lowered = tuple(
            replace(part, panels=tuple(_lifted(panel, sunk) for panel in part.panels)) for part in tiling.parts
        )
        found = check_over_tiles(parts, replace(tiling, parts=lowered))
        assert [said in one.message for one in found] == ([True] if said else [])


def _leaf_and_tiles(swing):
    store = _with_a_door(swing)
    return store.parts, store.tiling


def _lifted(panel, rise):
    stands = panel.stands
    return replace(panel, stands=Pose.of(stands.x, stands.y, stands.z, stands.origin + rise))


def test_miniatures_and_furniture_stand_on_the_tiles(house) -> None:
    settings = house.settings
    bare, raised = (
        find_room(house.facets, settings, square=25.4, parts=house.parts, leaves_open=False, raised=high)
        for high in (0.0, house.tiling.thickness)
    )
    assert raised.squares.origin[2] - bare.squares.origin[2] == pytest.approx(3.0)
    middle = bare.squares.centres[2, 3]
    figure = Miniature("Miller", middle)
    assert lift_miniature(figure, raised.squares, 3.0).foot == pytest.approx(middle + np.array([0.0, 0.0, 3.0]))
    beside = Miniature("Bargee", bare.squares.origin - [40.0, 40.0, 0.0])
    assert lift_miniature(beside, raised.squares, 3.0) is beside
    cube = np.array([(x, y, z) for x in (0, 9.0) for y in (0, 9.0) for z in (0, 9.0)]) + middle
    faces = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    crate, _ = blocker_of_mesh("crate", cube, faces)
    lifted = lift_furniture(crate, raised.squares, 3.0)
    assert min(ring[:, 2].min() for face in lifted.faces for ring in face) == pytest.approx(middle[2] + 3.0)
    at_table = AtTable(None, (), (), (), miniatures=(figure, beside), miniatures_in=True)
    top = set_table(at_table, raised, [crate])
    assert top.table.centre[2] == pytest.approx(bare.squares.origin[2])
    assert [float(one.foot[2]) for one in top.miniatures] == pytest.approx([middle[2] + 3.0, middle[2]])
