"""What stands in openings: panes against closed forms and shapely, bars never thinner than 1.5 mm."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Polygon, box
from stowfold.geometry.board.stock import read_stocks
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Settings
from stowfold.geometry.plan.opening import DEFAULT_SIZES, OpeningKind, OpeningSize, opening_ring, stand_in_wall
from stowfold.geometry.plan.walls import block_out
from stowfold.geometry.play.fittings import room_leaves
from stowfold.geometry.play.room import room_blockers
from stowfold.geometry.settings import BoardFace
from stowfold.geometry.solid.filling import BAR, FILLED, Filling, FillingKind, fill
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.opening import Leaf
from stowfold.geometry.solid.solid import make_solid

STOCK = read_stocks()[0]
LENGTH, WIDTH = 228.6, 152.4
WINDOW = OpeningSize(20.0, 22.0, 22.0)
CUT = (FillingKind.BARS, FillingKind.MULLIONS, FillingKind.LATTICE)


def _solid(*openings):
    block = block_out([(0, 0), (LENGTH, 0), (LENGTH, WIDTH), (0, WIDTH)], breaks=((110.0, 0.0), (110.0, WIDTH)))
    return replace(make_solid(block.points, block.faces, roles=dict(block.roles)), openings=openings)


def _opening(kind, filling, *, size=None, x=60.0, leaf=None):
    made = stand_in_wall(
        kind.value, kind, size or DEFAULT_SIZES[kind], foot=np.array([x, 0.0, 0.0]), along=np.array([1.0, 0.0, 0.0])
    )
    return replace(made, filling=filling, leaf=leaf)


def _run(*openings, face=BoardFace.INSIDE):
    settings = Settings(walls=STOCK, roof=STOCK, floor=STOCK, joiners=STOCK, face=face)
    return run(_solid(*openings), settings, title="house")


def test_panes_and_bars_share_the_opening_without_rest():
    # n panes of (a - (n - 1) bar) / n each way
    for width, height, across, up in ((20.0, 22.0, 3, 3), (34.0, 30.0, 4, 2), (12.0, 40.0, 2, 5)):
        panes = fill(box(0, 0, width, height), Filling(FillingKind.BARS, across=across, up=up)).panes
        assert len(panes) == across * up
        one = (width - (across - 1) * BAR) / across * (height - (up - 1) * BAR) / up
        assert [pane.area for pane in panes] == pytest.approx([one] * len(panes))


@pytest.mark.parametrize("kind", CUT)
@pytest.mark.parametrize("true", [False, True])
def test_bars_are_as_wide_as_they_must_be_and_hang_together(kind, true):
    for shape in (box(0, 0, 20, 22), box(3, 1, 43, 31), Polygon(opening_ring(OpeningKind.ARCH, OpeningSize(32, 50)))):
        panes = fill(shape, Filling(kind, true_to_scale=true)).panes
        bars = shape.buffer(5.0, join_style="mitre").difference(shapely.union_all(panes))
        # what opening by half a bar takes away is thinner than a bar
        opened = bars.buffer(-BAR / 2 + 1e-6, join_style="mitre").buffer(BAR / 2 - 1e-6, join_style="mitre")
        assert opened.geom_type == "Polygon"
        assert bars.difference(opened.buffer(1e-3)).area < 1e-3
        assert all(shape.buffer(1e-9).contains(pane) for pane in panes)
        assert 0.25 < shapely.union_all(panes).area / shape.area < 0.9


def test_slanting_panes_are_as_steep_as_quarries_and_as_large_as_the_formula_says():
    wide, high = 20.0, 22.5
    panes = fill(box(0, 0, wide, high), Filling(FillingKind.LATTICE)).panes
    whole = max(panes, key=lambda pane: pane.area)
    # four nodes across and three up, so 5 x 7.5 mm; a bar takes its width off every side of the rhombus
    over, rise = wide / 4, high / 3
    side = math.hypot(over, rise) / 2
    inset = BAR / 2 / (over * rise / 2 / (2 * side))
    assert whole.area == pytest.approx(over * rise / 2 * (1 - inset) ** 2)
    steep = np.abs(np.diff(np.asarray(whole.exterior.coords), axis=0))
    assert steep[:, 1] / steep[:, 0] == pytest.approx(np.full(4, 1.5))


def test_too_many_panes_are_made_fewer_and_too_small_an_opening_stays_board():
    panes = fill(box(0, 0, 20, 20), Filling(FillingKind.BARS, across=20, up=1)).panes
    assert len(panes) == 3
    assert not fill(box(0, 0, 9, 9), Filling(FillingKind.BARS), stile=3.0).panes
    with pytest.raises(BadSettingError, match="take 0 to 60"):
        Filling(FillingKind.BARS, across=61)


@pytest.mark.parametrize("kind", [FillingKind.BOARDS, FillingKind.PANELS, FillingKind.LOUVRES])
def test_lines_of_doors_keep_off_the_edge_and_apart(kind):
    door = box(0, 0, 28, 43)
    for true in (False, True):
        made = fill(door, Filling(kind, true_to_scale=true))
        assert made.lines
        assert not made.panes
        lines = [LineString(line) for line in made.lines]
        assert all(door.buffer(-1.0 + 1e-6, join_style="mitre").contains(line) for line in lines)
        # level and upright lines stand apart as far as a beam needs (0.5 mm for a double line)
        levels = sorted({round(float(line[0][1]), 6) for line in made.lines if abs(line[0][1] - line[1][1]) < 1e-9})
        assert min(np.diff(levels), default=1.0) > 0.5


def test_braces_rise_from_the_side_of_the_hinge():
    for on_left in (True, False):
        lines = fill(box(0, 0, 28, 43), Filling(FillingKind.BOARDS), hinge_on_left=on_left).lines
        slanting = [line for line in lines if np.abs(np.diff(line, axis=0)).min() > 1.0]
        assert slanting
        for line in slanting:
            low, high = sorted(line.tolist(), key=lambda point: point[1])
            assert (high[0] > low[0]) is on_left


@pytest.mark.parametrize("kind", CUT)
def test_a_window_with_bars_is_cut_as_the_wall_less_its_panes_and_proved(kind):
    window = _opening(OpeningKind.WINDOW, Filling(kind), size=WINDOW)
    outcome = _run(window)
    assert outcome.proof.holds
    assert {finding.code for finding in outcome.findings} <= {"corner-radius-wide"}
    panes = fill(box(50, 22, 70, 44), Filling(kind)).panes
    plain = _run()
    wall, whole = (next(p for p in made.parts if p.id == "W1") for made in (outcome, plain))
    assert whole.outline.area - wall.outline.area == pytest.approx(sum(pane.area for pane in panes))
    assert len(wall.outline.interiors) - len(whole.outline.interiors) == len(panes)


def test_a_leaf_has_its_own_panes_and_swings_as_before():
    door = _opening(OpeningKind.DOOR, Filling(FillingKind.HALF_GLAZED), size=OpeningSize(40.0, 45.0), leaf=Leaf())
    outcome = _run(door)
    assert outcome.proof.holds
    assert {finding.code for finding in outcome.findings} <= {"corner-radius-wide"}
    ((part, placed),) = [(p, lattice) for p in outcome.parts for lattice in p.lattices if lattice.swing]
    leaf = part.panels[placed.child]
    assert len(leaf.holes) == 4
    board, panes = Polygon(leaf.ring), shapely.union_all([Polygon(hole) for hole in leaf.holes])
    assert board.buffer(-3.0 + 1e-6, join_style="mitre").contains(panes)
    (drawn,) = [dressing for dressing in part.dressings if dressing.finish == FILLED]
    assert all(board.contains(LineString(line)) for line in drawn.lines)
    # a sheet with the same panes shuts the opening where it counts for sight
    (shut,) = room_leaves(outcome.facets.openings, outcome.parts, wide_open=False)
    outline, *holes = shut.faces[0]
    flat = Polygon(outline[:, [0, 2]], [hole[:, [0, 2]] for hole in holes])
    assert flat.area == pytest.approx(40.0 * 45.0 - panes.area)


@pytest.mark.parametrize("face", list(BoardFace))
def test_a_door_without_a_leaf_is_shut_for_good_and_drawn_on_the_wall(face):
    door = _opening(OpeningKind.DOOR, Filling(FillingKind.BOARDS))
    outcome = _run(door, face=face)
    assert outcome.proof.holds
    part = next(p for p in outcome.parts if p.id == "W1")
    assert not part.outline.interiors
    (drawn,) = [dressing for dressing in part.dressings if dressing.finish == FILLED]
    (panel,) = [p for p in part.panels if p.facet >= 0 and abs(p.stands.z[1]) > 0.9 and p.stands.origin[1] < 10.0]
    points = panel.stands.apply(drawn.points)
    assert points[:, 0].min() >= 45.0 - 1e-6
    assert points[:, 0].max() <= 75.0 + 1e-6
    assert points[:, 2].max() == pytest.approx(45.0)


def test_bars_hide_as_much_as_they_are_wide():
    plain, barred = (
        room_blockers(find_facets(_solid(opening)), Settings(walls=STOCK, roof=STOCK, floor=STOCK, joiners=STOCK))
        for opening in (
            _opening(OpeningKind.WINDOW, None, size=WINDOW),
            _opening(OpeningKind.WINDOW, Filling(FillingKind.BARS, across=3, up=1), size=WINDOW),
        )
    )
    # the wall whose boards lie at y = 0 and below
    front = [min(made, key=lambda wall: wall.faces[0][0][:, 1].max()) for made in (plain, barred)]
    outer = [max(blocker.faces, key=lambda face: len(face)) for blocker in front]
    area = [Polygon(face[0][:, [0, 2]], [hole[:, [0, 2]] for hole in face[1:]]).area for face in outer]
    assert area[1] - area[0] == pytest.approx(2 * BAR * WINDOW.height)
