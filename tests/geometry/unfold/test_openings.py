"""Walls with doors and windows in the flat: outlines against shapely, lattices in their zones, faults named."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon
from slow_cases import one_quick
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow import structure
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Outcome, Settings
from stowfold.geometry.part import Part, PartKind
from stowfold.geometry.settings import BoardFace, FloorSettings
from stowfold.geometry.solid.solid import Role, Solid, make_solid
from stowfold.geometry.unfold.eaves import Eaves

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH)
HEIGHTS = (0.0, 20.0, 45.0, 62.0)
COLUMNS = (0.0, 40.0, 70.0, 115.0, 160.0, 190.0, 230.0)
MIDDLE = 3  # the line of COLUMNS at which the front wall parts


def pierced(
    openings: set[tuple[int, int]],
    *,
    columns: tuple[float, ...] = COLUMNS,
    marks: Mapping[int, Role] | None = None,
    rows: tuple[int, ...] = (0, 1, 2),
) -> Solid:
    """Four walls; the front one in columns and rows of faces, those of ``openings`` (column, row) left out.

    marks: role of upright line k of the front wall and onward round the building; rows: where breaks are marked.
    """
    front, length, width = len(columns) - 1, columns[-1], 150.0
    plan = [(x, 0.0) for x in columns] + [(length, width), (length / 2, width), (0.0, width)]
    k = len(plan)
    points = [(x, y, z) for z in HEIGHTS for x, y in plan]
    faces = [
        (j * k + i, j * k + (i + 1) % k, (j + 1) * k + (i + 1) % k, (j + 1) * k + i)
        for j in range(3)
        for i in range(k)
        if (i, j) not in openings
    ]
    sides = {tuple(sorted(pair)) for face in faces for pair in zip(face, (*face[1:], face[0]), strict=True)}
    lines = {0: Role.FLEX, front: Role.FLEX, front + 1: Role.FLEX, front + 3: Role.FLEX, front + 2: Role.BREAK}
    lines |= {MIDDLE: Role.BREAK} if marks is None else marks
    roles = {
        (j * k + i, (j + 1) * k + i): role
        for i, role in lines.items()
        for j in range(3)
        if (j * k + i, (j + 1) * k + i) in sides and (role is not Role.BREAK or i != MIDDLE or j in rows)
    }
    return make_solid(np.array(points), faces, roles=roles)


def build(solid: Solid, settings: Settings = SETTINGS) -> Outcome:
    return run(solid, settings, title="Toll house")


def walls(outcome: Outcome) -> list[Part]:
    return [part for part in outcome.parts if part.kind is PartKind.WALL]


def sentences(outcome: Outcome, code: str) -> list[str]:
    return [finding.message for finding in outcome.findings if finding.code == code]


OPENINGS = {
    "none": set(),
    "window": {(1, 1)},
    "door": {(1, 0), (1, 1)},
    "door and window": {(1, 0), (1, 1), (4, 1)},
    "notch in the top": {(1, 2)},
}


@pytest.mark.parametrize("face", list(BoardFace))
@pytest.mark.parametrize("name", one_quick(list(OPENINGS)))
def test_outlines_are_their_panels_and_lattices_and_tabs(name: str, face: BoardFace) -> None:
    """The outline is walked round; shapely's union of what it should hold is the check."""
    outcome = build(pierced(OPENINGS[name]), replace(SETTINGS, face=face))
    assert outcome.proof.holds and len(walls(outcome)) == 2
    for part in walls(outcome):
        pieces = [Polygon(panel.ring, panel.holes) for panel in part.panels]
        pieces += [Polygon(lattice.zone) for lattice in part.lattices]
        united = shapely.union_all(pieces, grid_size=1e-6)
        assert united.difference(part.outline.buffer(1e-5)).area == 0.0
        tabs = [tab for tab in outcome.tabs if tab.part == part.id]
        # a tab is 2.8 deep with two tips cut off at 45 degrees, 1.25 each way
        lengths = [np.linalg.norm(tab.tab[1] - tab.tab[0]) for tab in tabs]
        expected = united.area + sum(length * 2.8 - 1.25**2 for length in lengths)
        assert part.outline.area == pytest.approx(expected, abs=1e-3)
        assert part.outline.is_valid and part.outline.exterior.is_ccw


@pytest.mark.parametrize("name", one_quick(list(OPENINGS)))
def test_openings_keep_their_size(name: str) -> None:
    mat = replace(SETTINGS, ground=replace(FloorSettings(), wanted=False))
    pair = [walls(build(pierced(openings), mat)) for openings in (set(), OPENINGS[name])]
    plain, cut = (sum(part.area for part in parts) for parts in pair)
    rows = np.diff(HEIGHTS)
    assert plain - cut == pytest.approx(sum(np.diff(COLUMNS)[i] * rows[j] for i, j in OPENINGS[name]), abs=1e-6)
    assert sum(len(part.outline.interiors) for part in pair[1]) == name.count("window")


def test_lattices_lie_in_the_outline_and_slits_in_their_zones() -> None:
    for part in walls(build(pierced({(1, 0), (1, 1)}))):
        for placed in part.lattices:
            assert part.outline.buffer(1e-9).covers(Polygon(placed.zone))
            slits, made = placed.slits, placed.lattice
            assert slits.across.min() == 0.0 and slits.across.max() == pytest.approx(made.flat_width)
            assert slits.start.min() >= -1e-9 and slits.end.max() <= made.axis_length + 1e-9
            assert (slits.end > slits.start).all()


@pytest.mark.slow
def test_no_tab_hangs_in_a_doorway() -> None:
    tabs = build(pierced({(1, 0), (1, 1)})).tabs
    front = [tab.tab[:, 0] for tab in tabs if np.abs(tab.tab[:, 1]).max() < 4.0]
    assert front
    assert all(x.max() < 40.0 or x.min() > 70.0 for x in front)


@pytest.mark.slow
def test_a_window_in_a_bend_says_how_far_it_must_move() -> None:
    columns = (0.0, 5.0, 70.0, 115.0, 160.0, 190.0, 230.0)
    outcome = build(pierced({(1, 1)}, columns=columns))
    (message,) = sentences(outcome, "opening-in-lattice")
    bend = walls(build(pierced(set())))[0].lattices[0].lattice
    short = (bend.neutral_radius - 1.5) * np.tan(bend.angle / 2) - 5.0  # R tan 45 less what there is
    assert f"runs {short:.1f} mm into" in message


@pytest.mark.parametrize("name", ["on both sides", "on the left", "on the right", "wider than its joiner"])
@pytest.mark.slow
def test_a_break_through_a_window_is_told_and_gets_no_joiner(name: str) -> None:
    cells = {"on both sides": {(2, 1), (3, 1)}, "on the left": {(2, 1)}, "on the right": {(3, 1)}}
    outcome = build(pierced(cells.get(name, {(1, 1), (2, 1), (3, 1), (4, 1)})))
    assert any("is cut by an opening" in message for message in sentences(outcome, "bad-break-line"))
    assert len(outcome.joiners) == 1, "only the joiner of the rear wall"


def test_a_break_over_a_doorway_is_told_and_gets_no_joiner() -> None:
    outcome = build(pierced({(2, 0), (3, 0)}))
    (message,) = sentences(outcome, "bad-break-line")
    assert "starts 20.0 mm above the foot of the wall" in message
    assert len(outcome.joiners) == 1
    assert all(tab.tab[0, 2] == pytest.approx(0.0) for tab in outcome.tabs)


@pytest.mark.parametrize(
    ("solid", "words"),
    [
        (lambda: pierced({(4, 1)}, columns=(0, 40, 70, 115, 128, 190, 230)), "move it by 1.2 mm"),
        (lambda: pierced(set(), marks={0: Role.BREAK}), "lies on a corner"),
        (lambda: pierced(set(), rows=(0, 1)), "45.0 mm"),
    ],
    ids=["too near a window", "corner", "partial"],
)
@pytest.mark.slow
def test_other_bad_break_lines(solid, words: str) -> None:
    assert any(words in message for message in sentences(build(solid()), "bad-break-line"))


def with_roof(break_on_roof: bool = False) -> Solid:
    """Walls 230 x 150 with gables, a roof at 8/12 of its own; the ridge flexes, or is marked as a break."""
    low = [(0, 0), (115, 0), (230, 0), (230, 150), (115, 150), (0, 150)]
    points = [(x, y, z) for z in (0.0, 62.0) for x, y in low] + [(230, 75, 112.0), (0, 75, 112.0)]
    faces = [(0, 1, 7, 6), (1, 2, 8, 7), (2, 3, 9, 12, 8), (3, 4, 10, 9), (4, 5, 11, 10), (5, 0, 6, 13, 11)]
    points += [(-6, -6, 58.0), (236, -6, 58.0), (236, 75, 112.0), (-6, 75, 112.0), (236, 156, 58.0), (-6, 156, 58.0)]
    faces += [(14, 15, 16, 17), (17, 16, 18, 19)]
    roles = {(i, i + 6): Role.FLEX for i in (0, 2, 3, 5)} | {(i, i + 6): Role.BREAK for i in (1, 4)}
    roles[16, 17] = Role.BREAK if break_on_roof else Role.FLEX
    return make_solid(np.array(points, dtype=float), faces, roles=roles)


@pytest.mark.slow
def test_a_ridge_is_no_break() -> None:
    assert any("corner" in m or "roof" in m for m in sentences(build(with_roof(True)), "bad-break-line"))


@pytest.mark.slow
def test_gables_that_keep_their_point_would_pierce_the_ridge(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = build(with_roof())
    assert whole.proof.holds
    bend = next(part for part in whole.parts if part.kind is PartKind.ROOF).lattices[0]
    radius = bend.lattice.inside_radius
    monkeypatch.setattr(Eaves, "arcs", lambda *_: {})
    # a notch in the gable would do as well as the arc
    notched = build(with_roof())
    assert notched.proof.holds and [finding for finding in notched.findings if finding.code == "notched-board"]
    monkeypatch.setattr(structure, "relieve_boards", lambda sections, joiners, *_, **__: (sections, joiners, ()))
    outcome = build(with_roof())
    assert not outcome.proof.holds
    # the point stands above the underside of the bend by r / cos(angle / 2) - r
    stands_out = radius / np.cos(bend.angle / 2) - radius
    assert 0.5 * stands_out < outcome.proof.board_overlap <= stands_out + 0.01
    assert sentences(outcome, "boards-cross")
