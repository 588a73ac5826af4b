"""Ties: the plane of their fins by the normals of both slopes, touch and hold by solids, the ring on its way."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
import trimesh
from marked_roofs import marked_block_out
from slow_cases import one_quick
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.fold.collide import Board, find_crossings, prisms
from stowfold.geometry.fold.standing import standing_boards
from stowfold.geometry.joints.closures import make_closures
from stowfold.geometry.joints.joiner import make_joiners
from stowfold.geometry.joints.stops import make_stops
from stowfold.geometry.joints.taken import Taken
from stowfold.geometry.part import Part, PartKind
from stowfold.geometry.plan.walls import Roof, RoofKind, pitch_of_rise
from stowfold.geometry.settings import BuildSettings, ClosureKind, ClosureSettings
from stowfold.geometry.solid.facets import Edge, Facets
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, Solid, make_solid
from stowfold.geometry.stow.stow import stow_away
from stowfold.geometry.tolerance import OVERLAP
from stowfold.geometry.unfold.section import Sections, unfold

BIRCH = find_stock("birch-plywood-3", read_stocks())
DEFAULT = BuildSettings(BIRCH, BIRCH, BIRCH, BIRCH)
SQUARE = 25.4


def hip_roof(rise: float) -> Solid:
    """The lock-keeper's house, 11 x 7 squares, under a hip roof of so many inches in twelve."""
    x, y = 11 * SQUARE, 7 * SQUARE
    made = marked_block_out(
        [(0, 0), (x, 0), (x, y), (0, y)],
        roof=Roof(RoofKind.HIP, pitch_of_rise(rise), 6.0),
        breaks=[(x / 2, 0), (x / 2, y)],
    )
    return make_solid(made.points, made.faces, roles=dict(made.roles))


def valley(rise: float) -> Solid:
    """Two slopes that fall toward a parted line between them."""
    points = [(0, 0, 60), (200, 0, 60), (200, 90, 60 + 90 * rise / 12), (0, 90, 60 + 90 * rise / 12)]
    points += [(200, -90, 60 + 90 * rise / 12), (0, -90, 60 + 90 * rise / 12)]
    return make_solid(np.array(points, dtype=float), [(0, 1, 2, 3), (5, 4, 1, 0)], roles={(0, 1): Role.CLOSURE})


class Closed:
    """A roof, the parts that hold its closures, and the closures."""

    def __init__(self, solid: Solid, settings: BuildSettings = DEFAULT) -> None:
        self.facets: Facets = find_facets(solid)
        self.sections: Sections = unfold(self.facets, settings)
        stops = make_stops(self.facets, self.sections, settings)
        self.made = make_closures(self.facets, self.sections, Taken((*self.sections.parts, *stops), settings), settings)
        self.parts = {part.id: part for part in self.made.parts}
        self.closures: list[Edge] = [edge for edge in self.facets.edges if edge.role is Role.CLOSURE]

    def normals(self, edge: Edge) -> np.ndarray:
        return np.array([self.facets.facets[facet].frame.n for facet in (edge.left, edge.right)])


def tied(closed: Closed) -> list[tuple[int, Edge]]:
    """Every tie's number with its closure: those of one closure come one after the other, as many on each."""
    rings = sum(name.endswith("-ring") for name in closed.parts)
    return [(k + 1, closed.closures[k * len(closed.closures) // rings]) for k in range(rings)]


def board(part: Part, shift: np.ndarray | None = None) -> Board:
    panel = part.panels[0]
    corners = prisms(shapely.Polygon(panel.ring, panel.holes), panel.stands, 0.0, part.thickness)
    return Board(part.id, part.id, corners + (0.0 if shift is None else shift))


def depth(*boards: Board) -> float:
    return find_crossings(boards, deeper=OVERLAP)[0]


def extruded(part: Part) -> trimesh.Trimesh:
    """The standing board as a closed mesh of trimesh."""
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(part.outline))
    points = np.concatenate([np.array(triangle.exterior.coords)[:3] for triangle in triangles])
    points, which = np.unique(points.round(9), axis=0, return_inverse=True)
    mesh = trimesh.creation.extrude_triangulation(points, which.reshape(-1, 3), part.thickness)
    return mesh.apply_transform(np.vstack([part.panels[0].stands.matrix, [0.0, 0.0, 0.0, 1.0]]))


def way_up(closed: Closed, edge: Edge) -> np.ndarray:
    """The unit direction of a closure from its lower to its upper end."""
    ends = closed.facets.points[[edge.start, edge.end]]
    way = ends[np.argmax(ends[:, 2])] - ends[np.argmin(ends[:, 2])]
    return way / np.linalg.norm(way)


@pytest.fixture(scope="module")
def house() -> Closed:
    return Closed(hip_roof(8.0))


def test_every_hip_gets_one_tie_and_none_is_left_open(house: Closed) -> None:
    assert not house.made.findings
    assert [name.split("-")[-1] for name in house.parts] == ["fin", "knee", "fin", "knee", "ring"] * 2
    assert {part.kind for part in house.made.parts} == {PartKind.LAP}


@pytest.mark.parametrize("rise", [5.0, 8.0, 12.0])
def test_fins_meet_face_to_face_in_the_plane_that_halves_the_dihedral(rise: float) -> None:
    """The dihedral of a hip over a square corner is 180 - acos(cos^2 pitch); 133.8131 degrees at 8 in 12.

    The plane is worked out here from the two normals; how the fins touch is asked of trimesh.
    """
    closed = Closed(hip_roof(rise))
    for k, edge in tied(closed):
        one, two = closed.normals(edge)
        dihedral = math.pi - math.acos(one @ two)
        assert dihedral == pytest.approx(math.pi - math.acos(math.cos(pitch_of_rise(rise)) ** 2), abs=1e-9)
        if rise == 8.0:
            assert math.degrees(dihedral) == pytest.approx(133.8131, abs=1e-4)
        normal = (one - two) / np.linalg.norm(one - two)
        start = closed.facets.points[edge.start]
        meshes = [extruded(closed.parts[f"L{k}{letter}-fin"]) for letter in "ab"]
        off = [(mesh.vertices - start) @ normal for mesh in meshes]
        signs = [np.sign(distances.mean()) for distances in off]
        assert sorted(signs) == [-1.0, 1.0]
        for mesh, distances, sign in zip(meshes, off, signs, strict=True):
            assert mesh.is_volume
            np.testing.assert_allclose(np.unique(np.round(distances * sign, 6)), [0.0, BIRCH.thickness], atol=1e-9)
            # the area of its face in the plane, by trimesh, is all of the fin
            face = mesh.area_faces[(np.abs(mesh.face_normals @ normal) > 1 - 1e-9) & on_plane(mesh, start, normal)]
            outline = closed.parts[f"L{k}a-fin"].outline
            assert face.sum() == pytest.approx(outline.area)
        # and both faces are the same face
        points = [mesh.vertices[np.abs(distances) < 1e-6] for mesh, distances in zip(meshes, off, strict=True)]
        gaps = np.linalg.norm(points[0][:, None] - points[1], axis=2).min(axis=1)
        assert gaps.max() < 1e-9


def on_plane(mesh: trimesh.Trimesh, start: np.ndarray, normal: np.ndarray) -> np.ndarray:
    return np.abs((mesh.triangles_center - start) @ normal) < 1e-6


@pytest.mark.parametrize("solid", [hip_roof(8.0), hip_roof(12.0), valley(8.0)], ids=["hip 8", "hip 12", "valley"])
def test_fins_and_knees_touch_their_boards_and_enter_none(solid: Solid) -> None:
    closed = Closed(solid)
    assert len(closed.made.parts) >= 5
    for part in closed.made.parts:
        points = extruded(part).vertices
        heights = np.array(
            [
                (points - closed.facets.facets[facet].frame.origin) @ closed.facets.facets[facet].frame.n
                for facet in {board for edge in closed.closures for board in (edge.left, edge.right)}
            ]
        )
        nearest = heights.max(axis=1)
        if part.id.endswith("-ring"):
            continue
        # on the underside of the slope that it is glued to
        assert np.abs(nearest).min() < 1e-9


@pytest.mark.parametrize("kind", [ClosureKind.LAP, ClosureKind.MAGNETS])
@pytest.mark.parametrize("rise", one_quick([5.0, 8.0, 12.0], 8.0))
def test_the_closed_roof_comes_down_onto_the_walls(rise: float, kind: ClosureKind) -> None:
    """Lowered straight from above, nothing that hangs under it meets walls or joiners on the way."""
    settings = replace(DEFAULT, closure=ClosureSettings(kind=kind))
    closed = Closed(hip_roof(rise), settings)
    joiners = make_joiners(closed.facets, closed.sections, settings).parts
    walls = [part for part in closed.sections.parts if part.kind is PartKind.WALL]
    hung = [replace(board(part), group="hung") for part in closed.made.parts]
    below = [*walls, *joiners]
    boards = standing_boards(below, (), settings)
    standing = [replace(board, group="standing") for board in boards]
    for lift in (0.0, 0.5, 2.0, 5.0, 10.0, 20.0, 40.0):
        up = [replace(board, corners=board.corners + np.array([0.0, 0.0, lift])) for board in hung]
        assert depth(*up, *standing) < 1e-9
    # which can fail: put into the front wall it is seen
    into = np.array([60.0, -1.5, 30.0]) - hung[0].corners.mean(axis=(0, 1))
    assert depth(*(replace(board, corners=board.corners + into) for board in hung), *standing) > 1.0


@pytest.mark.parametrize("rise", [4.0, 8.0, 16.0])
def test_fins_of_a_valley_stay_over_their_own_boards(rise: float) -> None:
    """Corners of the fins as solids of trimesh, seen from the edge of the board that bears them."""
    closed = Closed(valley(rise))
    (edge,) = closed.closures
    start = closed.facets.points[edge.start]
    along = closed.facets.points[edge.end] - start
    into = [np.cross(normal, along) for normal in closed.normals(edge)]
    fins = [extruded(part) for name, part in closed.parts.items() if name.endswith("-fin")]
    assert fins
    for fin in fins:
        # away from the line, on the side of the board that is nearer
        away = max(into[0], -into[1], key=lambda way: float((fin.centroid - start) @ way))
        least = float(((fin.vertices - start) @ (away / np.linalg.norm(away))).min())
        assert 0.4 < least < 1.0


def test_nothing_of_a_tie_enters_the_roof_or_its_stops(house: Closed) -> None:
    everything = (*house.sections.parts, *house.made.parts)
    boards = list(standing_boards(everything, (), DEFAULT))
    assert depth(*boards) < 1e-9
    # which can fail: a fin raised by a millimetre is in its board
    fin = house.parts["L1a-fin"]
    assert depth(*boards, board(replace(fin, id="raised"), np.array([0.0, 0.0, 1.0]))) > 0.3


def test_the_ring_comes_on_from_above_by_hand(house: Closed) -> None:
    """Moved down the closure from beyond the tongues it meets nothing, and stops at the shoulders."""
    roof = [part for part in house.sections.parts if part.kind is PartKind.ROOF]
    for k, edge in tied(house):
        # fins and knees lie against each other; only the ring is asked about
        names = ("a-fin", "a-knee", "b-fin", "b-knee")
        fixed = [replace(board(house.parts[f"L{k}{name}"]), group="fixed") for name in names]
        above = standing_boards(roof, (), DEFAULT)
        above = [replace(board, group="fixed") for board in above]
        ring, up = house.parts[f"L{k}-ring"], way_up(house, edge)
        free = 2 * BIRCH.thickness + 2 * 2.0
        for step in np.linspace(0.0, free, 15):
            assert depth(board(ring, up * step), *fixed, *above) < 1e-9
        assert depth(board(ring, -0.5 * up), *fixed) > 0.4
        tongues = [board_points(house.parts[f"L{k}{letter}-fin"]) @ up for letter in "ab"]
        assert (board_points(ring) @ up + free).min() > max(tongue.max() for tongue in tongues)


def board_points(part: Part) -> np.ndarray:
    return extruded(part).vertices


def test_the_ring_holds_what_would_open(house: Closed) -> None:
    """Either board moved away from, or lifted past, the other takes its fin into the ring within the play."""
    one, two = house.normals(house.closures[0])
    apart = (one - two) / np.linalg.norm(one - two)
    lift = (one + two) / np.linalg.norm(one + two)
    play = DEFAULT.ring_play
    ring = board(house.parts["L1-ring"])
    for letter, facet in (("a", one), ("b", two)):
        fin = house.parts[f"L1{letter}-fin"]
        away = apart if facet @ apart > 0 else -apart
        assert depth(ring, board(fin, away * play * 0.4)) < 1e-9
        assert depth(ring, board(fin, away * (play + 0.3))) > 0.2
        assert depth(ring, board(fin, lift * (play + 0.3))) > 0.2


def test_a_knee_gives_half_the_dihedral(house: Closed) -> None:
    """133.8131 / 2 degrees between fin and board at 8 in 12."""
    for name in ("L1a-knee", "L1b-knee", "L2a-knee", "L2b-knee"):
        ring = np.array(house.parts[name].outline.exterior.coords)[:-1]
        sides = np.roll(ring, -1, axis=0) - ring
        turns = [
            math.degrees(math.acos(-sides[k - 1] @ sides[k] / np.prod(np.linalg.norm(sides[[k - 1, k]], axis=1))))
            for k in range(len(ring))
        ]
        assert min(abs(turn - 133.8131 / 2) for turn in turns) < 1e-4


@pytest.mark.parametrize("rise", [5.0, 8.0, 12.0])
def test_a_flat_roof_is_thicker_by_its_fins(rise: float) -> None:
    """A foot at the depth d in the bisecting plane lies d * cos(angle / 2) below either board."""
    closed = Closed(hip_roof(rise))
    edge = closed.closures[0]
    one, two = closed.normals(edge)
    into = -(one + two) / np.linalg.norm(one + two)
    feet = [board_points(part) for name, part in closed.parts.items() if name.startswith("L1") and "fin" in name]
    depth_of_foot = max(((foot - closed.facets.points[edge.start]) @ into).max() for foot in feet)
    half = math.acos(one @ two) / 2
    for parts, stands_out in (
        (closed.sections.parts, 0.0),
        ((*closed.sections.parts, *closed.made.parts), depth_of_foot * math.cos(half)),
    ):
        spots = stow_away(parts, (), (1.0, 1.0, 1.0)).spots
        roofs = {part.id for part in parts if part.kind is PartKind.ROOF}
        high = max(spot.size[2] for spot in spots if spot.piece in roofs)
        assert high == pytest.approx(BIRCH.thickness + stands_out, abs=1e-9)


def test_a_carrier_is_engraved_with_the_sign_of_its_pole() -> None:
    closed = Closed(hip_roof(8.0), replace(DEFAULT, closure=ClosureSettings(kind=ClosureKind.MAGNETS)))
    strokes = {name: part.engrave for name, part in closed.parts.items() if part.engrave}
    assert sorted(strokes) == ["M1a-back", "M1b-back", "M2a-back", "M2b-back"]
    for name, lines in strokes.items():
        assert len(lines) == (2 if name.endswith("a-back") else 1)
        for line in lines:
            assert closed.parts[name].outline.contains(shapely.LineString(line))


def test_halves_of_a_slope_are_held_from_both_sides() -> None:
    """A line longer than 150 mm in one plane: two strips, each glued to another half, both tapered ends bare."""
    points = [(0, 0, 60), (200, 0, 60), (400, 0, 60), (400, 160, 160), (200, 160, 160), (0, 160, 160)]
    solid = make_solid(np.array(points, dtype=float), [(0, 1, 4, 5), (1, 2, 3, 4)], roles={(1, 4): Role.CLOSURE})
    laps = Closed(solid).made.parts
    assert [part.id for part in laps] == ["L1", "L2"]
    wide = []
    for part in laps:
        corners = board_points(part)
        left, right = (corners[np.sign(corners[:, 0] - 200.0) == sign] for sign in (-1.0, 1.0))
        wide.append(np.ptp(left[:, 1]) - np.ptp(right[:, 1]))
    assert wide[0] * wide[1] < 0.0
