"""What is cut beside the walls: joiners, floor, tabs, roof stops; and the findings that keep them from being cut."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Polygon
from slow_cases import one_quick
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Outcome, Proposal, Settings
from stowfold.geometry.part import PartKind
from stowfold.geometry.settings import BoardFace, FloorSettings, JoinerSettings
from stowfold.geometry.solid.solid import Role, Solid, make_solid

#: International yard and pound agreement of 1959.
MM_PER_INCH = 25.4
BIRCH = find_stock("birch-plywood-3", read_stocks())
DEFAULT = Settings(BIRCH, BIRCH, BIRCH, BIRCH)


def walls(
    length: float = 230.0,
    width: float = 152.0,
    *,
    at: float = 0.5,
    break_top: float = 0.0,
    gable: float = 0.0,
    roof: float = 0.0,
    flex: bool = True,
) -> Solid:
    """Four walls 62 high; breaks at share ``at`` of the long walls; gables ``gable`` mm above the short ones.

    roof: pitch of a gable roof over them; break_top: how far the front break's top is shifted.
    """
    low = [(0, 0), (at * length, 0), (length, 0), (length, width), (at * length, width), (0, width)]
    points = [(x, y, 0.0) for x, y in low] + [(x, y, 62.0) for x, y in low]
    points[7] = (at * length + break_top, 0.0, 62.0)
    faces = [[0, 1, 7, 6], [1, 2, 8, 7], [2, 3, 9, 8], [3, 4, 10, 9], [4, 5, 11, 10], [5, 0, 6, 11]]
    roles = {(i, i + 6): Role.FLEX for i in (0, 2, 3, 5)} if flex else {}
    roles |= {(1, 7): Role.BREAK, (4, 10): Role.BREAK}
    rise = roof * width / 2 if roof else gable
    if rise:
        points += [(length, width / 2, 62.0 + rise), (0, width / 2, 62.0 + rise)]
        faces[2], faces[5] = [2, 3, 9, 12, 8], [5, 0, 6, 13, 11]
    if roof:
        eave, over, n = 62.0 - 6.0 * roof, 6.0, len(points)
        points += [(-over, -over, eave), (length + over, -over, eave), (length + over, width / 2, 62.0 + rise)]
        points += [(-over, width / 2, 62.0 + rise), (length + over, width + over, eave), (-over, width + over, eave)]
        faces += [[n, n + 1, n + 2, n + 3], [n + 3, n + 2, n + 4, n + 5]]
        roles[n + 2, n + 3] = Role.FLEX
    return make_solid(np.array(points, dtype=float), faces, roles=roles)


def build(solid: Solid, settings: Settings = DEFAULT) -> Outcome:
    return run(solid, settings, title="Boat shed")


def part(outcome: Outcome, name: str):
    return next(one for one in outcome.parts if one.id == name)


def codes(outcome: Outcome) -> set[str]:
    return {finding.code for finding in outcome.findings}


def test_a_joiner_an_inch_wide_takes_a_quarter_inch_of_each_wall() -> None:
    """Core 1/2 in, cheeks 1 in (common practice, no source)."""
    inch = MM_PER_INCH
    joiner = replace(JoinerSettings(), core_width=inch / 2, cheek_width=inch, gap=0.0)
    outcome = build(walls(), replace(DEFAULT, joiner=joiner))
    assert outcome.joiners[0].engaged == pytest.approx(inch / 4)
    assert part(outcome, "J1-core").size[0] == pytest.approx(inch / 2)
    assert part(outcome, "J1-outer").size == pytest.approx((inch, 62.0))


@pytest.mark.slow
def test_the_channel_takes_the_painted_board() -> None:
    joiner = build(walls()).joiners[0]
    assert joiner.channel == pytest.approx(3.0 + 0.12 + 2 * 0.08)
    assert joiner.shim == pytest.approx(joiner.channel - 3.0)


@pytest.mark.parametrize("rise", one_quick([6, 8, 12]))
def test_eaves_by_the_carpenter_s_square(rise: int) -> None:
    """Roof panels are as long as the common rafter: 13.42, 14.42, 16.97 in per foot of run (framing-square table)."""
    pitch = rise / 12
    outcome = build(walls(roof=pitch))
    assert outcome.proof.holds
    per_foot = {6: 13.42, 8: 14.42, 12: 16.97}[rise]
    roof = part(outcome, "R1")
    bend = roof.lattices[0]
    slope = (152.0 / 2 + 6.0) / 12 * per_foot
    neutral = bend.lattice.neutral_radius
    lost = 2 * (neutral - 1.5) * math.tan(bend.angle / 2) - bend.lattice.flat_width
    # the table has two decimals of an inch: 0.005 / 12 of the run, on both slopes
    assert min(roof.size) == pytest.approx(2 * slope - lost, abs=2 * (152.0 / 2 + 6.0) / 12 * 0.005)
    # a square-cut wall top touches with its outer edge: lowered by t tan(pitch), the outer cheek by twice that
    drop = 3.0 * pitch
    # and both cheeks by what card, paint and the thickest or thinnest boards of EN 315 add, and 0.1
    card = 0.12 + 2 * 0.08
    assert part(outcome, "J1-outer").size[1] == pytest.approx(62.0 - 2 * drop - (card / 2 + 0.08 + 0.29 + 0.1) * pitch)
    assert part(outcome, "J1-inner").size[1] == pytest.approx(62.0 - (0.49 - card / 2 + 0.1) * pitch)
    assert part(outcome, "J1-core").size[1] == pytest.approx(62.0 - drop + 2.8)


@pytest.mark.slow
def test_a_gable_apex_is_cut_to_the_ridge_s_inside_arc() -> None:
    outcome = build(walls(roof=8 / 12))
    radius = part(outcome, "R1").lattices[0].lattice.inside_radius
    gable = part(outcome, "W1")
    apex = 62.0 + 8 / 12 * 76.0
    bend = math.atan(8 / 12)
    # the arc that touches both slopes tops out at radius / cos(pitch) - radius below the sharp apex
    assert gable.outline.bounds[3] - 2.8 == pytest.approx(apex - radius / math.cos(bend) + radius, abs=1e-6)


@pytest.mark.slow
def test_without_a_roof_the_gable_keeps_its_point() -> None:
    outcome = build(walls(gable=50.0))
    assert part(outcome, "W1").outline.bounds[3] - 2.8 == pytest.approx(112.0)


def test_stops_lie_inside_the_walls_with_their_clearance() -> None:
    outcome = build(walls(roof=8 / 12))
    stops = [one for one in outcome.parts if one.kind is PartKind.STOP]
    assert [stop.id for stop in stops] == ["S1", "S1a-fin", "S1b-fin", "S2", "S2a-fin", "S2b-fin", "S3", "S4"]
    for stop in stops:
        panel = stop.panels[0]
        corners = panel.stands.apply(panel.ring)
        across = 230.0 if stop.id in ("S3", "S4") else 152.0
        along = corners[:, 0 if stop.id in ("S3", "S4") else 1]
        assert min(abs(along).min(), abs(across - along).min()) == pytest.approx(0.8)
        assert corners[:, 1].min() > 0 and corners[:, 1].max() < 152.0
        assert stop.notes and ("S" if stop.id.endswith("-fin") else "R1") in stop.notes[0]


def test_every_tab_has_a_slot_larger_by_the_play_and_none_lies_in_a_joiner() -> None:
    outcome = build(walls())
    floor = part(outcome, "F1")
    assert len(floor.outline.interiors) == len(outcome.tabs)
    for tab in outcome.tabs:
        slot, own = Polygon(tab.slot[:, :2]), Polygon(tab.tab[:, :2])
        assert slot.contains(own)
        assert slot.area == pytest.approx((own.area / 3.0 + 0.8) * (3.0 + 0.29 + 0.25))
    feet = [tab for tab in outcome.tabs if tab.part.endswith("core")]
    others = [tab for tab in outcome.tabs if not tab.part.endswith("core")]
    assert len(feet) == 2
    for tab in others:
        along_front = np.abs(tab.tab[:, 1]).max() < 4.0 or np.abs(tab.tab[:, 1] - 152.0).max() < 4.0
        if along_front:
            assert np.abs(tab.tab[:, 0] - 115.0).min() > 15.0


def test_the_floor_carries_the_walls_and_their_rim() -> None:
    outcome = build(walls(), replace(DEFAULT, ground=replace(FloorSettings(), rim=5.0)))
    panel = part(outcome, "F1").panels[0]
    outline = shapely.transform(part(outcome, "F1").outline, lambda xy: xy + panel.stands.origin[:2])
    # walls reach 3 mm beyond the plan, the rim 5 mm beyond them
    assert outline.covers(LineString([(-7.99, 20), (-7.99, 60)]))
    assert not outline.covers(shapely.Point(-8.1, 40))
    # the outer cheeks stand a board farther out
    assert outline.covers(shapely.Point(115.0, -10.9))


def test_squares_count_from_the_inner_corner() -> None:
    outcome = build(walls(6 * MM_PER_INCH, 5 * MM_PER_INCH), replace(DEFAULT, propose=Proposal.NONE))
    floor = part(outcome, "F1")
    shift = floor.panels[0].stands.origin[:2]
    upright = sorted(
        {round(float(line[0, 0] + shift[0]), 6) for line in floor.engrave if abs(np.ptp(line[:, 0])) < 1e-9}
    )
    assert upright == pytest.approx([MM_PER_INCH * k for k in range(1, 6)])
    for line in floor.engrave:
        placed = line + shift
        assert placed.min() > -1e-9 and placed[:, 0].max() < 6 * MM_PER_INCH + 1e-9


def test_a_play_mat_has_no_floor_no_tabs_no_feet() -> None:
    outcome = build(walls(), replace(DEFAULT, ground=replace(FloorSettings(), wanted=False)))
    assert not outcome.tabs and PartKind.FLOOR not in {part.kind for part in outcome.parts}
    assert all(one.outline.bounds[3] - one.outline.bounds[1] == pytest.approx(62.0) for one in outcome.parts)
    assert outcome.proof.holds


def test_a_floor_larger_than_the_sheet_is_parted_along_the_squares() -> None:
    outcome = build(walls(620.0, 260.0), replace(DEFAULT, propose=Proposal.BREAKS))
    floors = [one for one in outcome.parts if one.kind is PartKind.FLOOR]
    assert len(floors) > 1
    whole = shapely.union_all(
        [
            shapely.transform(floor.outline, lambda xy, s=floor.panels[0].stands.origin[:2]: xy + s).buffer(1e-6)
            for floor in floors
        ]
    )
    assert whole.geom_type == "Polygon"
    for floor in floors:
        assert max(floor.size) <= 594.0 and min(floor.size) <= 294.0
    assert {tab.floor for tab in outcome.tabs} <= {floor.id for floor in floors}


@pytest.mark.parametrize(
    ("solid", "words"),
    [
        (lambda: walls(break_top=8.0), "leans by 7.4 degrees"),
        (lambda: walls(at=0.08), "mm from the next opening, bend or wall end"),
    ],
)
@pytest.mark.slow
def test_bad_break_lines_say_by_how_much(solid, words: str) -> None:
    outcome = build(solid())
    found = [finding for finding in outcome.findings if finding.code == "bad-break-line"]
    assert found and any(words in finding.message for finding in found)


def test_a_wall_too_narrow_for_its_bends_says_the_least_length() -> None:
    outcome = build(walls(230.0, 14.0))
    found = [finding for finding in outcome.findings if finding.code == "vanishing-panel"]
    assert found and "14.0 mm long" in found[0].message and "make it longer than" in found[0].message


def test_no_break_found_says_why() -> None:
    low = [(0, 0), (60, 0), (60, 60), (0, 60)]
    points = np.array([(x, y, z) for z in (0.0, 62.0) for x, y in low], dtype=float)
    faces = [(i, (i + 1) % 4, (i + 1) % 4 + 4, i + 4) for i in range(4)]
    tower = make_solid(points, faces, roles={(i, i + 4): Role.FLEX for i in range(4)})
    outcome = build(
        tower, replace(DEFAULT, propose=Proposal.BREAKS, joiner=JoinerSettings(core_width=40.0, cheek_width=56.0))
    )
    assert "no-break-found" in codes(outcome)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"walls": replace(BIRCH, thickness=0.0)}, "thick"),
        ({"walls": replace(BIRCH, kerf=0.0)}, "kerf"),
        ({"walls": replace(BIRCH, kerf=3.5)}, "kerf"),
        ({"joiner": replace(JoinerSettings(), core_width=31.0)}, "holds no wall"),
        ({"square": 0.0}, "must be more than 0"),
    ],
)
def test_settings_that_nothing_can_be_cut_with(change: dict, words: str) -> None:
    with pytest.raises(BadSettingError, match=words):
        build(walls(), replace(DEFAULT, **change))


def test_loop_tolerance_names_its_terms() -> None:
    loop = build(walls()).proof.tolerance[0]
    terms = dict(loop.terms)
    # four right angles, tan 45 = 1 each, times the board's tolerance
    assert terms["board thickness"] == pytest.approx(4 * BIRCH.thickness_tolerance)
    assert loop.spread == pytest.approx(sum(terms.values()))
    assert set(loop.parts) == {"W1", "W2"}


@pytest.mark.parametrize("face", list(BoardFace))
@pytest.mark.parametrize(
    ("wall", "joiner"), one_quick([("birch-plywood-3", "basswood-3.2"), ("grey-board-2", "birch-plywood-3")])
)
def test_joiners_of_another_board_stand_in_the_floor_all_the_same(wall: str, joiner: str, face: BoardFace) -> None:
    stocks = {stock.name: stock for stock in read_stocks()}
    settings = replace(DEFAULT, walls=stocks[wall], joiners=stocks[joiner], face=face)
    outcome = build(walls(roof=8 / 12), settings)
    assert outcome.proof.holds
    foot = next(tab for tab in outcome.tabs if tab.part == "J1-core")
    slot, own = Polygon(foot.slot[:, :2]), Polygon(foot.tab[:, :2])
    assert own.area == pytest.approx(10.0 * stocks[joiner].thickness)
    assert slot.contains(own)
