"""The proof can hold and the proof can fail: whole buildings folded back, and faults put into them on purpose."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from slow_cases import one_quick
from stowfold.geometry.board.stock import Stock, read_stocks
from stowfold.geometry.fold.fold import fold
from stowfold.geometry.fold.lines import standing_lines
from stowfold.geometry.joints.floor import lay_floor
from stowfold.geometry.joints.joiner import make_joiners
from stowfold.geometry.joints.stops import make_stops
from stowfold.geometry.part import FaceUp
from stowfold.geometry.pose import Pose
from stowfold.geometry.proof.prove import prove
from stowfold.geometry.settings import BoardFace, BuildSettings
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, Solid, make_solid
from stowfold.geometry.tolerance import PROOF_DOUBLE
from stowfold.geometry.unfold.flip import flipped
from stowfold.geometry.unfold.section import unfold

STOCKS = {stock.name: stock for stock in read_stocks()}
BIRCH = STOCKS["birch-plywood-3"]


def ring_of_walls(plan: list[tuple[float, float]], height: float, breaks: dict[int, list[float]]) -> Solid:
    """A closed ring of walls, all corners flex; breaks: distances from the start of wall k."""
    points: list[tuple[float, float]] = []
    marks: list[Role] = []
    for k, start in enumerate(plan):
        end = plan[(k + 1) % len(plan)]
        length = math.dist(start, end)
        points.append(start)
        marks.append(Role.FLEX)
        for at in sorted(breaks.get(k, [])):
            share = at / length
            points.append((start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share))
            marks.append(Role.BREAK)
    n = len(points)
    space = [(x, y, 0.0) for x, y in points] + [(x, y, height) for x, y in points]
    faces = [(i, (i + 1) % n, (i + 1) % n + n, i + n) for i in range(n)]
    return make_solid(np.array(space), faces, roles={(i, i + n): mark for i, mark in enumerate(marks)})


def rectangle(length: float, width: float, height: float, breaks: dict[int, list[float]]) -> Solid:
    return ring_of_walls([(0.0, 0.0), (length, 0.0), (length, width), (0.0, width)], height, breaks)


def with_gable_roof(length: float, width: float, height: float, pitch: float) -> Solid:
    """A rectangle with gables at x = 0 and x = length, two breaks, and a roof as a surface of its own."""
    ridge, over = height + pitch * width / 2, 6.0
    low = [(0, 0), (length / 2, 0), (length, 0), (length, width), (length / 2, width), (0, width)]
    points = [(x, y, 0.0) for x, y in low] + [(x, y, height) for x, y in low]
    points += [(length, width / 2, ridge), (0, width / 2, ridge)]
    faces = [(0, 1, 7, 6), (1, 2, 8, 7), (2, 3, 9, 12, 8), (3, 4, 10, 9), (4, 5, 11, 10), (5, 0, 6, 13, 11)]
    roles = {(0, 6): Role.FLEX, (2, 8): Role.FLEX, (3, 9): Role.FLEX, (5, 11): Role.FLEX}
    roles |= {(1, 7): Role.BREAK, (4, 10): Role.BREAK}
    eave = height - over * pitch
    points += [(-over, -over, eave), (length + over, -over, eave), (length + over, width / 2, ridge)]
    points += [(-over, width / 2, ridge), (length + over, width + over, eave), (-over, width + over, eave)]
    faces += [(14, 15, 16, 17), (17, 16, 18, 19)]
    roles[16, 17] = Role.FLEX
    return make_solid(np.array(points, dtype=float), faces, roles=roles)


def platonic(kind: str, edge: float) -> Solid:
    if kind == "cube":
        points = np.array([(x, y, z) for x in (0, 1) for y in (0, 1) for z in (0, 1)], dtype=float) * edge
        faces = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
        tree = [(0, 1), (0, 2), (1, 3), (2, 3), (5, 7)]
    else:
        points = np.array([(1, 1, 1), (1, -1, -1), (-1, 1, -1), (-1, -1, 1)], dtype=float) * edge / math.sqrt(8)
        faces = [(0, 1, 2), (0, 3, 1), (0, 2, 3), (1, 3, 2)]
        tree = [(0, 1), (0, 2), (1, 2)]
    return make_solid(points, faces, roles=dict.fromkeys(tree, Role.FLEX))


def moved(solid: Solid, degrees: float, shift: tuple[float, float, float]) -> Solid:
    turn = math.radians(degrees)
    matrix = np.array([[math.cos(turn), -math.sin(turn), 0], [math.sin(turn), math.cos(turn), 0], [0, 0, 1]])
    return replace(solid, points=solid.points @ matrix.T + np.array(shift))


class Build:
    """A building made of one solid, with the proof to be asked again after something was changed."""

    def __init__(self, solid: Solid, stock: Stock = BIRCH, **changes: object) -> None:
        self.settings = replace(BuildSettings(stock, stock, stock, stock), **changes)
        self.facets = find_facets(solid, wall_face=self.settings.face.value)
        self.sections = unfold(self.facets, self.settings)
        self.made = make_joiners(self.facets, self.sections, self.settings)
        self.floors = lay_floor(self.facets, self.sections, self.made, self.settings, largest=(594.0, 294.0))
        self.joiners, self.tabs = self.made.joiners, self.floors.tabs
        self.parts = (
            *self.sections.parts,
            *self.made.parts,
            *self.floors.parts,
            *make_stops(self.facets, self.sections, self.settings),
        )

    def proof(self):
        return prove(self.facets, self.sections, self.parts, self.joiners, self.tabs, self.settings, limit=PROOF_DOUBLE)

    def with_section(self, index: int, part) -> None:
        sections = list(self.sections.parts)
        sections[index] = part
        self.parts = (*sections, *self.parts[len(sections) :])
        self.sections = replace(self.sections, parts=tuple(sections))


L_PLAN = [(0.0, 0.0), (203.2, 0.0), (203.2, 76.2), (101.6, 76.2), (101.6, 177.8), (0.0, 177.8)]

BUILDINGS = {
    "rectangle": lambda: rectangle(230.0, 152.0, 62.0, {0: [115.0], 2: [115.0]}),
    "L-plan": lambda: ring_of_walls(L_PLAN, 62.0, {0: [101.6], 4: [50.8]}),
    "gable": lambda: with_gable_roof(228.6, 152.4, 62.0, 8 / 12),
    "steep gable": lambda: with_gable_roof(203.2, 127.0, 76.0, 1.0),
    "cube": lambda: platonic("cube", 160.0),
    "tetrahedron": lambda: platonic("tetrahedron", 170.0),
}


@pytest.mark.parametrize("face", list(BoardFace))
@pytest.mark.parametrize("name", list(BUILDINGS))
def test_every_line_of_the_proof_holds_in_double_precision(name: str, face: BoardFace) -> None:
    build = Build(moved(BUILDINGS[name](), 0.0, (0.0, 0.0, 0.0)), face=face)
    proof = build.proof()
    assert proof.holds, proof
    assert proof.corner_distance is not None
    if name in ("rectangle", "L-plan", "gable", "steep gable"):
        assert proof.loop_gap is not None and proof.tab_slot_distance is not None and proof.joiner_distance is not None
    else:
        assert proof.closure_distance is not None


@pytest.mark.parametrize("degrees", [31.7, 118.0, -77.3])
@pytest.mark.parametrize("name", one_quick(["rectangle", "L-plan", "gable"]))
def test_the_proof_does_not_mind_where_the_building_stands(name: str, degrees: float) -> None:
    assert Build(moved(BUILDINGS[name](), degrees, (412.3, -95.1, 17.7))).proof().holds


@pytest.mark.parametrize("face", list(BoardFace))
@pytest.mark.parametrize("over", [(0,), (1,), (0, 1)], ids=str)
@pytest.mark.parametrize("name", ["rectangle", "L-plan"])
def test_the_proof_does_not_mind_which_face_of_a_wall_lies_up(
    name: str, over: tuple[int, ...], face: BoardFace
) -> None:
    build = Build(BUILDINGS[name](), face=face)
    before = build.proof()
    for index in over:
        build.with_section(index, replace(flipped(build.sections.parts[index]), face_up=FaceUp.ROOM))
    proof = build.proof()
    assert before.holds and proof.holds, proof.findings
    assert proof.loop_gap is not None and proof.joiner_distance is not None
    first, *others = build.joiners
    build.joiners = (replace(first, core_width=first.core_width + 0.1), *others)
    assert not build.proof().holds


@pytest.mark.parametrize("name", ["rectangle", "L-plan", "gable", "tetrahedron"])
def test_one_degree_of_error_in_one_lattice_makes_the_proof_fail(name: str) -> None:
    build = Build(BUILDINGS[name]())
    part = build.sections.parts[0]
    wrong = replace(part.lattices[0], angle=part.lattices[0].angle + math.radians(1.0))
    build.with_section(0, replace(part, lattices=(wrong, *part.lattices[1:])))
    proof = build.proof()
    assert not proof.holds
    # the far end of a wall of length L swings by L * sin(1 degree), 0.01745 L
    reach = max(np.ptp(panel.corners, axis=0).max() for panel in part.panels)
    assert 0.2 * reach * 0.01745 < proof.corner_distance < 20 * reach * 0.01745
    assert any(finding.code == "proof-fails" for finding in proof.findings)


def test_a_pull_back_that_is_off_by_a_tenth_shows_as_a_tenth() -> None:
    build = Build(BUILDINGS["rectangle"]())
    part = build.sections.parts[0]
    child = part.lattices[0].child
    shifted = replace(part.panels[child], corners=part.panels[child].corners + part.lattices[0].across * 0.1)
    panels = tuple(shifted if k == child else panel for k, panel in enumerate(part.panels))
    build.with_section(0, replace(part, panels=panels))
    assert build.proof().corner_distance == pytest.approx(0.1, abs=1e-9)


def test_a_lattice_with_one_row_too_many_fails() -> None:
    build = Build(BUILDINGS["rectangle"]())
    part = build.sections.parts[0]
    placed = part.lattices[0]
    longer = replace(placed, lattice=replace(placed.lattice, rows=placed.lattice.rows + 2))
    build.with_section(0, replace(part, lattices=(longer, *part.lattices[1:])))
    # the axis moves by 2 p / angle, and a quarter turn about it carries the wall by that times sqrt 2
    off = 2 * placed.lattice.pitch / (math.pi / 2)
    assert build.proof().corner_distance == pytest.approx(off * math.sqrt(2), rel=1e-6)


def test_a_wider_core_opens_the_loop_by_its_error() -> None:
    build = Build(BUILDINGS["rectangle"]())
    build.joiners = (replace(build.joiners[0], core_width=build.joiners[0].core_width + 0.3), build.joiners[1])
    proof = build.proof()
    assert proof.loop_gap == pytest.approx(0.3, abs=1e-9)
    assert not proof.holds


def test_a_slot_beside_its_tab_fails() -> None:
    build = Build(BUILDINGS["rectangle"]())
    tab = build.tabs[0]
    along = (tab.slot[1] - tab.slot[0]) / np.linalg.norm(tab.slot[1] - tab.slot[0])
    build.tabs = (replace(tab, slot=tab.slot + along * 0.25), *build.tabs[1:])
    assert build.proof().tab_slot_distance == pytest.approx(0.25, abs=1e-9)


def test_boards_that_enter_each_other_are_found_with_their_depth() -> None:
    build = Build(BUILDINGS["gable"]())
    roof = next(k for k, part in enumerate(build.sections.parts) if part.id.startswith("R"))
    part = build.sections.parts[roof]
    sunk = tuple(
        replace(panel, stands=Pose(panel.stands.matrix - np.array([[0, 0, 0, 0], [0, 0, 0, 0], [0, 0, 0, 0.8]])))
        for panel in part.panels
    )
    build.with_section(roof, replace(part, panels=sunk))
    proof = build.proof()
    # on the slopes the roof now enters by 0.8 cos(pitch), at the level top of the ridge's bend by the whole 0.8
    assert 0.8 * math.cos(math.atan(8 / 12)) <= proof.board_overlap <= 0.8
    said = [finding.message for finding in proof.findings if finding.code == "boards-cross"]
    # a maker knows walls and slopes by where they face
    assert any(
        re.match(r"The (front|right|back|left) (wall|slope) \((W|R)1\) and .* would share 0\.\d+ mm", words)
        for words in said
    )


@settings(max_examples=40, deadline=None)
@given(
    length=st.floats(150.0, 900.0),
    width=st.floats(120.0, 700.0),
    height=st.floats(50.0, 110.0),
    stock=st.sampled_from(sorted(STOCKS)),
    count=st.integers(1, 4),
    face=st.sampled_from(list(BoardFace)),
)
@pytest.mark.slow
def test_flat_length_of_a_loop_is_the_closed_form(
    length: float, width: float, height: float, stock: str, count: int, face: BoardFace
) -> None:
    """P - n (c + 2 g) + sum (B - 2 d), whatever the size, the board and the number of breaks."""
    breaks = {k: [(width if k % 2 else length) / 2] for k in range(count)}
    build = Build(rectangle(length, width, height, breaks), STOCKS[stock], face=face)
    flat = sum(np.ptp(part.outline.exterior.coords, axis=0)[0] for part in build.sections.parts)
    joiner = build.settings.joiner
    gains = sum(bend.gain for bend in build.sections.setbacks.bends.values())
    assert len(build.sections.setbacks.bends) == 4
    expected = 2 * (length + width) - count * (joiner.core_width + 2 * joiner.gap) + gains
    assert flat == pytest.approx(expected, abs=1e-9)


def test_flat_length_agrees_with_the_rounded_mid_plane() -> None:
    """Perimeter of the rounded mid-plane rectangle: 2 (a + b) - (8 - 2 pi) r, as worked examples check it."""
    build = Build(rectangle(152.4, 101.6, 62.0, {0: [76.2]}), face=BoardFace.OUTSIDE)
    bend = next(iter(build.sections.setbacks.bends.values()))
    t = BIRCH.thickness
    mid = 2 * (152.4 - t + 101.6 - t) - (8 - 2 * math.pi) * bend.neutral_radius
    joiner = build.settings.joiner
    flat = sum(np.ptp(part.outline.exterior.coords, axis=0)[0] for part in build.sections.parts)
    assert flat == pytest.approx(mid - joiner.core_width - 2 * joiner.gap, abs=1e-9)


def test_unfolded_halfway_the_far_wall_stands_at_half_the_angle() -> None:
    part = Build(BUILDINGS["rectangle"]()).sections.parts[0]
    placed = part.lattices[0]
    stands = fold(part, 0.5)
    between = stands[placed.parent].z @ stands[placed.child].z
    assert math.acos(between) == pytest.approx(abs(placed.angle) / 2, abs=1e-12)


def test_flat_at_fraction_zero() -> None:
    part = Build(BUILDINGS["L-plan"]()).sections.parts[0]
    stands = fold(part, 0.0)
    for one in stands[1:]:
        np.testing.assert_allclose(one.matrix, stands[0].matrix, atol=1e-12)


def test_slits_of_the_last_row_lie_on_the_wall_that_they_bend_to() -> None:
    build = Build(BUILDINGS["gable"]())
    for part in build.sections.parts:
        for placed in part.lattices:
            only = replace(part, lattices=(placed,), panels=part.panels)
            stands = fold(part)[placed.child]
            lines = standing_lines([replace(only, lattices=(placed,))], ())["lattice"]
            rows = placed.slits.across
            last = lines[: len(rows)][rows == rows.max()].reshape(-1, 3)
            if placed.parent == 0:
                np.testing.assert_allclose(stands.back(last)[:, 2], 0.0, atol=1e-9)
