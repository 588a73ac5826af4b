"""Roof stops: under every slope with an eave and inside every gable, within panels, and deep enough to hold."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from marked_roofs import marked_block_out
from parts_by_hand import make_part
from scipy.optimize import linprog
from shapely.geometry import MultiPoint, Polygon
from slow_cases import one_quick
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.run import run
from stowfold.geometry.joints.stops import make_stops
from stowfold.geometry.joints.taken import Taken
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.part import PartKind, plain_panel
from stowfold.geometry.plan.walls import PlanKind, Roof, RoofKind, outline_of
from stowfold.geometry.pose import Pose
from stowfold.geometry.propose.net import propose_net
from stowfold.geometry.settings import BoardFace, BuildSettings, RoofSettings
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import make_solid
from stowfold.geometry.unfold.section import unfold

SQUARE = 25.4
BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = BuildSettings(BIRCH, BIRCH, BIRCH, BIRCH)
SHEET = (594.0, 294.0)


def made(solid, settings=SETTINGS):
    facets = find_facets(solid, wall_face=settings.face.value)
    solid = propose_net(facets, settings, largest=SHEET).put_on(solid)
    facets = find_facets(solid, wall_face=settings.face.value)
    sections = unfold(facets, settings)
    return facets, sections, make_stops(facets, sections, settings)


def house(length, width, kind, degrees, settings=SETTINGS, overhang=6.0):
    plan = outline_of(PlanKind.RECTANGLE, length=length, width=width, square=SQUARE)
    roof = Roof(kind, math.radians(degrees), overhang)
    block = marked_block_out(plan, roof=roof, breaks=((length * SQUARE / 2, 0.0),))
    return made(make_solid(block.points, block.faces, roles=dict(block.roles)), settings)


def tower(sides, width, degrees):
    rise, inner = math.tan(math.radians(degrees)), width * SQUARE / 2
    turns = 2 * np.pi * np.arange(sides) / sides
    spots = np.column_stack([np.cos(turns), np.sin(turns), np.zeros(sides)]) / math.cos(math.pi / sides)
    up = np.array([0.0, 0.0, 1.0])
    rings = [spots * inner, spots * inner + 62.0 * up, spots * (inner + 6.0) + (62.0 - 6.0 * rise) * up]
    points = np.concatenate([*rings, [(62.0 + rise * inner) * up]])
    after = [(k + 1) % sides for k in range(sides)]
    walls = [(k, after[k], sides + after[k], sides + k) for k in range(sides)]
    roof = [(2 * sides + k, 2 * sides + after[k], 3 * sides) for k in range(sides)]
    return made(make_solid(points, [*walls, *roof]))


def solid_of(part):
    """Return a stop as trimesh builds it, from its outline and its pose."""
    panel = part.panels[0]
    body = trimesh.creation.extrude_polygon(Polygon(panel.ring), part.thickness)
    matrix = np.eye(4)
    matrix[:3] = panel.stands.matrix
    return body.apply_transform(matrix)


def strips(stops):
    return [stop for stop in stops if "-" not in stop.id]


def fins_of(stops, strip):
    return [stop for stop in stops if stop.id.startswith(strip.id) and stop.id.endswith("-fin")]


def fins_alone(stops):
    return [stop for stop in stops if stop.id.endswith("-fin") and stop.id[-5].isdigit()]


def share_room(one, two):
    """Whether two convex bodies of trimesh have a point in common, as scipy's linear programme finds one or not."""
    normals = np.concatenate([one.face_normals, two.face_normals])
    reach = [(body.vertices @ body.face_normals.T).max(axis=0) for body in (one, two)]
    return linprog(np.zeros(3), A_ub=normals, b_ub=np.concatenate(reach), bounds=(None, None)).status == 0


@pytest.mark.parametrize("sides", [3, 6, 8])
@pytest.mark.parametrize("degrees", [20.0, 40.0, 55.0])
def test_a_gable_has_a_stop_at_each_eave_and_one_inside_each_gable(sides, degrees):
    _, _, stops = house(sides, sides, RoofKind.GABLE, degrees)
    assert len(strips(stops)) == 4
    for stop in strips(stops):
        assert stop.outline.area == pytest.approx(math.prod(stop.size))
        assert min(stop.size) >= 5.0 and max(stop.size) >= 8.0


def pushed_onto(stops, wall, out, lift, pushes=(2.0, 5.0)):
    """Whether stops that are lifted and pushed out, from beside the wall's face or before a cheek, meet a wall."""
    for stop, push in itertools.product(stops, pushes):
        moved = solid_of(stop).apply_translation([*(push * out), lift])
        apart = (moved.bounds[0] > wall.bounds[1]).any() or (wall.bounds[0] > moved.bounds[1]).any()
        if not apart and share_room(moved, wall):
            return True
    return False


@pytest.mark.parametrize("stock", ["birch-plywood-3", "grey-board-2"])
@pytest.mark.parametrize("kind", [RoofKind.GABLE, RoofKind.HIP])
@pytest.mark.parametrize("rise", one_quick([8.0, 4.0, 12.0, 16.0]))
def test_a_roof_is_held_in_all_four_directions_at_every_pitch(rise, kind, stock):
    """Lifted by 2.5 mm and pushed outward some stop still meets the wall, as trimesh's solids and scipy find."""
    board = find_stock(stock, read_stocks())
    settings = BuildSettings(board, board, board, board)
    facets, sections, stops = house(9, 6, kind, math.degrees(math.atan2(rise, 12.0)), settings)
    walls = {panel.facet: part for part in sections.parts for panel in part.panels}
    held = set()
    for facet in facets.facets:
        if not facet.upright:
            continue
        panel = next(panel for panel in walls[facet.id].panels if panel.facet == facet.id)
        wall = trimesh.creation.extrude_polygon(Polygon(panel.ring), walls[facet.id].board_side * board.thickness)
        matrix = np.eye(4)
        matrix[:3] = panel.stands.matrix
        wall = wall.apply_transform(matrix).convex_hull  # walls and gables are convex
        assert not pushed_onto(stops, wall, np.zeros(2), 0.0, (0.0,))
        if pushed_onto(stops, wall, facet.frame.n[:2], 2.49):
            held.add(tuple(np.round(facet.frame.n[:2]).astype(int).tolist()))
    assert held == {(1, 0), (-1, 0), (0, 1), (0, -1)}


CASES = [
    ("hip", lambda: house(4, 10, RoofKind.HIP, 33.7)),
    ("narrow hip", lambda: house(11, 3, RoofKind.HIP, 55.0)),
    ("pyramid", lambda: house(3, 3, RoofKind.HIP, 55.0)),
    ("five sides", lambda: tower(5, 4, 60.0)),
    ("eight sides", lambda: tower(8, 6, 70.0)),
]


def slope_over(facets, stop):
    """The slope that a stop hangs under: none of its corners lies above it, and the highest of them is the nearest."""
    corners = np.array(solid_of(stop).vertices)
    slopes = [facet for facet in facets.facets if not facet.upright]
    gaps = {facet.id: float(((corners - facet.frame.origin) @ facet.frame.n).max()) for facet in slopes}
    return min((abs(gap), facet) for facet, gap in gaps.items())[1]


@pytest.mark.parametrize("build", [build for _, build in CASES], ids=[name for name, _ in CASES])
def test_a_stop_lies_under_its_own_panel_and_clear_of_the_planes_that_bisect_its_hips(build):
    facets, sections, stops = build()
    slopes = {facet.id for facet in facets.facets if not facet.upright}
    lone = fins_alone(stops)
    held = {slope_over(facets, stop): stop for stop in (*strips(stops), *lone)}
    assert held.keys() == slopes and len(held) == len(strips(stops)) + len(lone)
    for slope_id, stop in held.items():
        slope = facets.facets[slope_id]
        corners = np.vstack([solid_of(part).vertices for part in (stop, *fins_of(stops, stop))])
        under = sections.setbacks.facets[slope.id].rings[0].points
        strip = slope.frame.flatten(np.array(solid_of(stop).vertices))
        assert Polygon(under).contains(MultiPoint(strip).convex_hull)
        # nothing of it passes the plane between this slope and a neighbour
        for edge_id in slope.ring_edges[0]:
            edge = facets.edges[edge_id]
            other = edge.beyond(slope.id)
            if other is None:
                continue
            plane = slope.frame.n - facets.facets[other].frame.n
            assert ((corners - facets.points[edge.start]) @ plane).min() > 0.0


@pytest.mark.parametrize("build", [build for _, build in CASES], ids=[name for name, _ in CASES])
def test_stops_of_one_roof_share_no_room(build):
    _, _, stops = build()
    bodies = [solid_of(stop) for stop in stops]
    assert share_room(bodies[0], bodies[0].copy())
    # a fin is glued to the end of its strip, where both touch
    for k, one in enumerate(bodies):
        middle = one.vertices.mean(axis=0)
        shrunk = one.copy().apply_translation(-middle).apply_scale(1.0 - 1e-6).apply_translation(middle)
        assert not any(share_room(shrunk, two) for two in bodies[:k])


def test_a_stop_for_which_a_hip_leaves_too_little_width_is_narrower():
    wide = replace(SETTINGS, eaves=RoofSettings(stop_width=30.0))
    _, _, stops = house(3, 3, RoofKind.HIP, 20.0, wide)
    assert len(strips(stops)) + len(fins_alone(stops)) == 4
    assert all(min(stop.size) < 30.0 and max(stop.size) >= 5.0 for stop in strips(stops))
    _, _, stops = house(9, 9, RoofKind.HIP, 20.0, wide)
    # two fins take a board's thickness each
    assert all(sorted(stop.size) == pytest.approx([30.0, 54.0]) for stop in strips(stops))


def test_a_joiner_amid_a_short_wall_leaves_its_slope_a_stop_before_the_cheek():
    # the joiner takes 30 of 76 mm, and the bends most of the rest
    _, _, stops = house(3, 3, RoofKind.GABLE, 40.0)
    y = [np.array(solid_of(stop).vertices)[:, 1] for stop in strips(stops)[:2]]
    gaps = [min(across.min(), 3 * SQUARE - across.max()) for across in y]
    assert sorted(gaps) == pytest.approx([0.8, 0.8 + BIRCH.thickness])


def test_walls_that_are_outside_get_stops_as_well():
    outside = replace(SETTINGS, face=BoardFace.OUTSIDE)
    _, _, stops = house(8, 6, RoofKind.GABLE, 33.7, outside)
    assert len(strips(stops)) == 4
    for stop in strips(stops)[:2]:
        y = np.array(solid_of(stop).vertices)[:, 1]
        assert min(y.min(), 6 * SQUARE - y.max()) == pytest.approx(BIRCH.thickness + 0.8, abs=1e-9)


def test_a_stop_makes_room_for_a_board_that_stands_in_its_place():
    """A post through the middle of the place of a stop: scipy's linear programme finds no point in both."""
    facets, sections, stops = house(8, 6, RoofKind.GABLE, 33.7)
    middle = np.array(solid_of(stops[0]).vertices).mean(axis=0)
    outline = Polygon([(-4, -30), (4, -30), (4, 30), (-4, 30)])
    # its face lies across the wall, so that it reaches far up and down and some way into the room
    stands = Pose.of((0, 1, 0), (0, 0, 1), (1, 0, 0), middle)
    post = replace(make_part("B1", outline), panels=(plain_panel(outline, stands),))
    low, high = np.array(outline.bounds[:2]), np.array(outline.bounds[2:])
    body = trimesh.creation.box((*(high - low), post.thickness))
    body.apply_translation([0.0, 0.0, post.thickness / 2])
    matrix = np.eye(4)
    matrix[:3] = stands.matrix
    body.apply_transform(matrix)
    assert share_room(body, solid_of(stops[0]))
    taken = Taken((*sections.parts, post), SETTINGS)
    moved = make_stops(facets, sections, SETTINGS, taken)
    assert len(moved) == len(stops)
    assert not any(share_room(body, solid_of(stop)) for stop in moved)
    assert max(moved[0].size) >= 5.0


@pytest.mark.parametrize(
    ("kind", "place", "degrees"), one_quick([(RoofKind.HIP, (0.0, 1.5), 40.0), (RoofKind.GABLE, (1.0, 0.0), 27.0)])
)
def test_a_short_wall_that_bends_and_a_joiner_take_still_holds_the_roof(kind, place, degrees):
    """Lifted by 2.5 mm and pushed outward a stop meets a wall or the cheek before it, as trimesh's solids find."""
    length, width = (9, 3) if kind is RoofKind.HIP else (2, 6)
    plan = outline_of(PlanKind.RECTANGLE, length=length, width=width, square=SQUARE)
    spot = (place[0] * SQUARE, place[1] * SQUARE)
    block = marked_block_out(plan, roof=Roof(kind, math.radians(degrees), 6.0), breaks=(spot,))
    solid = make_solid(block.points, block.faces, roles=dict(block.roles))
    made = run(solid, Settings(BIRCH, BIRCH, BIRCH, BIRCH, propose=Proposal.NET), title="Short walls")
    assert not [finding for finding in made.findings if finding.code in ("stop-shallow", "boards-cross")]
    stops = [part for part in made.parts if part.kind is PartKind.STOP]
    boards = [part for part in made.parts if part.kind is PartKind.WALL or part.id.endswith("-inner")]
    held = set()
    standing = [(board, panel) for board in boards for panel in board.panels]
    for board, panel in standing:
        body = trimesh.creation.extrude_polygon(Polygon(panel.ring), board.board_side * board.thickness)
        matrix = np.eye(4)
        matrix[:3] = panel.stands.matrix
        body = body.apply_transform(matrix).convex_hull
        assert not pushed_onto(stops, body, np.zeros(2), 0.0, (0.0,))
        out = made.facets.facets[panel.facet].frame.n[:2]
        if pushed_onto(stops, body, out, 2.49, (2.0, 4.0)):
            held.add(tuple(np.round(out).astype(int).tolist()))
    assert held == {(1, 0), (-1, 0), (0, 1), (0, -1)}
