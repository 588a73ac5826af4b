"""The order in which samples go together, their paths sampled with another library, and paths blocked on purpose."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from xml.etree import ElementTree

import manifold3d
import numpy as np
import pytest
from boards_as_solids import board_solids
from sample_solids import NAMES, solid_of
from shapely.geometry import Polygon
from sound_buildings import FAMILIES, make_sound
from spirals import spiral
from stowfold.geometry.assembly.blocked import check_paths
from stowfold.geometry.assembly.find import find_assembly
from stowfold.geometry.assembly.plan import Assembly, Blocked, Move, Stage
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.run import make_parts, run
from stowfold.geometry.fold.fold import fold
from stowfold.geometry.fold.folding import fold_up
from stowfold.geometry.joints import tie
from stowfold.geometry.joints.glue_places import find_bearers
from stowfold.geometry.joints.in_hand import InHand
from stowfold.geometry.joints.tie import is_ring
from stowfold.geometry.outcome import Outcome, Settings
from stowfold.geometry.paper.assembly import putting_up
from stowfold.geometry.paper.moves import draw_move
from stowfold.geometry.part import FaceUp, Part, PartKind, plain_panel, standing_corners
from stowfold.geometry.pose import Pose

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH)

#: Boards nominally touch, so rounding may share a little; what is in the way shares far more, mm^3.
TOUCH = 0.5


@cache
def outcome_of(name: str) -> Outcome:
    return run(solid_of(name), SETTINGS, title=name)


@pytest.fixture(params=[pytest.param(name, id=name) for name in NAMES])
def sample(request: pytest.FixtureRequest) -> Outcome:
    return outcome_of(request.param)


def in_the_way(move: Move, parts: tuple[Part, ...], *, looks: int = 12) -> float:
    """The largest volume that a move shares with what rests, at so many places of its path, mm^3."""
    names = {part.id: part for part in parts}
    moving = manifold3d.Manifold.compose([s for _, s in board_solids(names[name] for name in move.parts)])
    resting = manifold3d.Manifold.compose([s for _, s in board_solids(names[name] for name in move.onto)])
    return max((moving.translate(move.shift(k / looks)) ^ resting).volume() for k in range(looks))


def test_every_path_of_a_sample_is_free_and_samples_of_it_share_nothing(sample: Outcome) -> None:
    assert sample.assembly.is_possible
    straight = [move for move in sample.assembly.moves if move.legs]
    assert {move.stage for move in straight} >= {Stage.RING, Stage.FLOOR}
    for move in straight:
        assert in_the_way(move, sample.parts, looks=5) < TOUCH, move


def test_each_part_moves_to_its_place_once(sample: Outcome) -> None:
    ring = [name for move in sample.assembly.moves if move.stage is Stage.RING for name in move.parts]
    assert len(ring) == len(set(ring))
    walls = {part.id for part in sample.parts if part.kind in (PartKind.WALL, PartKind.CORE, PartKind.CHEEK)}
    (onto_floor,) = (move for move in sample.assembly.moves if move.stage is Stage.FLOOR)
    assert set(onto_floor.parts) == walls
    # one wall waits for all others
    assert len(walls - set(ring)) == 1


def test_an_l_ring_goes_together_by_sideways_moves_alone() -> None:
    moves = outcome_of("toll_house").assembly.moves
    ways = [move.legs[-1].way for move in moves if move.stage is Stage.RING]
    assert len(ways) == 5
    assert all(way[2] == 0.0 for way in ways)


def with_board(outcome: Outcome, ring: list[tuple[float, float]], stands: Pose) -> tuple[Assembly, tuple[Part, ...]]:
    """The assembly with one more board, which is glued to the section that it touches."""
    shape = Polygon(ring)
    board = Part("B1", "Sill", PartKind.STOP, BIRCH.name, 3.0, FaceUp.OUTSIDE, 1, shape, (plain_panel(shape, stands),))
    parts = (*outcome.parts, board)
    tabs = (*outcome.tabs, *outcome.roof_tabs)
    return find_assembly(parts, outcome.joiners, tabs, (), outcome.settings.as_cut), parts


def test_a_sill_that_hooks_into_the_other_walls_window_blocks_the_ring() -> None:
    house = outcome_of("lock_keepers_house")
    by_id = {part.id: part for part in house.parts}
    joiner, facet = next(
        (joiner, facet)
        for joiner in house.joiners
        for end, facet in zip(joiner.ends, joiner.end_facets, strict=True)
        for panel in by_id[end].panels
        # the front has a window as well, too wide to be hooked into
        if panel.facet == facet and panel.holes and panel.stands.origin[1] > 1.0
    )
    core = by_id[joiner.core].panels[0].stands
    end = joiner.ends[joiner.end_facets.index(facet)]
    panel = next(panel for panel in by_id[end].panels if panel.facet == facet)
    window = core.back(panel.stands.apply(panel.holes[0]))
    middle = window.mean(axis=0)
    line = float(by_id[joiner.core].panels[0].ring[:, 0].mean())
    far = 2 * line - float(middle[0])  # as far on the other side of the joiner
    # level, in the room: it lies against one wall, passes the inner cheek and reaches into the other wall's window
    inner = 0.0 if by_id[joiner.cheeks[1]].panels[0].stands.origin @ core.z < core.origin @ core.z else 3.0
    into = -1.0 if inner == 0.0 else 1.0
    at = [(far, 0.0), (far, 12.0), (middle[0], 12.0), (middle[0], -2.0)]
    side = np.sign(middle[0] - far)
    ring = [
        *at,
        (middle[0] - 6 * side, -2.0),
        (middle[0] - 6 * side, 8.0),
        (far + 6 * side, 8.0),
        (far + 6 * side, 0.0),
    ]
    stands = Pose.of(core.x, core.z * into, np.cross(core.x, core.z * into), core.apply((0.0, middle[1], inner)))
    assembly, parts = with_board(house, [(float(x), float(y)) for x, y in ring], stands)
    blocked = [move for move in assembly.moves if move.blocked is not None]
    assert [move.stage for move in blocked] == [Stage.RING]
    assert blocked[0].blocked is not None
    assert "B1" in (blocked[0].blocked.part, blocked[0].blocked.by)
    assert 1.0 < blocked[0].blocked.depth < 8.0
    assert in_the_way(blocked[0], parts) > 20.0
    (finding,) = assembly.findings
    assert finding.code == "assembly-blocked"
    assert "on its way into the ring; move the break" in finding.message


def test_a_lug_below_the_floor_blocks_the_ring_on_its_way_down() -> None:
    store = outcome_of("grain_store")
    wall, floor = (next(part for part in store.parts if part.id == name) for name in ("W1", "F1"))
    panel = wall.panels[0]
    out, up = panel.stands.z * wall.board_side, np.array([0.0, 0.0, 1.0])
    corners = panel.stands.apply(panel.ring)
    beside_the_door = corners.min(axis=0) + 0.2 * np.ptp(corners, axis=0)
    foot = beside_the_door * (1.0, 1.0, 0.0) + corners[:, 2].min() * up + out * BIRCH.thickness
    rim = float((standing_corners(floor, floor.panels[0]) @ out).max() - foot @ out)
    # it is glued to the wall's outer face and hooks round the rim of the floor
    far, low = rim + 9.0, -BIRCH.thickness - 4.0
    hook = [(0.0, 2.0), (rim + 3.0, 2.0), (rim + 3.0, low), (rim - 6.0, low), (rim - 6.0, low - 6.0), (far, low - 6.0)]
    stands = Pose.of(out, up, np.cross(out, up), foot)
    assembly, parts = with_board(store, [*hook, (far, 12.0), (0.0, 12.0)], stands)
    (blocked,) = (move for move in assembly.moves if move.blocked is not None)
    assert blocked.stage is Stage.FLOOR
    assert blocked.blocked is not None
    assert (blocked.blocked.part, blocked.blocked.by) == ("B1", "F1")
    assert blocked.blocked.depth == pytest.approx(BIRCH.thickness, abs=0.5)
    assert in_the_way(blocked, parts, looks=40) > 20.0


def test_a_spiral_runs_into_itself_while_it_is_folded_and_not_when_it_is() -> None:
    wound = spiral((200.0, 200.0, 200.0, 185.0, 175.0))
    crossed = fold_up(wound)
    assert crossed is not None
    assert shared(wound, crossed.fraction) > 10.0
    assert shared(wound, 1.0) < TOUCH
    assert fold_up(spiral((200.0, 200.0, 200.0, 120.0, 60.0))) is None


def shared(part: Part, fraction: float, panels: tuple[int, int] = (0, -1)) -> float:
    """What two panels of a section, its first and last, share at a fraction of its fold, mm^3."""
    poses = fold(part, fraction)
    bent = tuple(replace(panel, stands=pose) for panel, pose in zip(part.panels, poses, strict=True))
    solids = board_solids([replace(part, panels=(bent[k],), lattices=()) for k in panels])
    return float((solids[0][1] ^ solids[1][1]).volume())


def test_a_drawing_of_a_move_has_an_arrow_per_leg() -> None:
    house = outcome_of("lock_keepers_house")
    for move in house.assembly.moves:
        drawing = ElementTree.fromstring(draw_move(move, house.parts, tabs=house.tabs, title="A move"))
        assert len(drawing.findall(".//*[@class='tip']")) == len(move.legs)
    assert (
        max(len(move.legs) for move in house.assembly.moves) == 2
    )  # a ring goes up from below, then along its tongues


def shared_by_fins(outcome: Outcome, fins: Sequence[Part], fraction: float) -> float:
    """What two fins share at a fraction of their roof's fold, mm^3, as solids of manifold3d."""
    bearers = find_bearers(outcome.parts)
    roof = next(part for part in outcome.parts if part.id == bearers[fins[0].id][0])
    solids = []
    for fin in fins:
        panel = bearers[fin.id][1]
        carried = fold(roof, fraction)[panel] @ fold(roof)[panel].inverse()
        solids.append(board_solids([fin])[0][1].transform(np.array(carried.matrix)))
    return float((solids[0] ^ solids[1]).volume())


def put_together(number: int) -> tuple[Outcome, Assembly]:
    """A winged hip of the sound buildings and how it goes together."""
    building = make_sound(1, FAMILIES["winged-hip"], number)
    outcome = make_parts(building.solid, building.settings, title="Hip").outcome
    found = find_assembly(
        outcome.parts, outcome.joiners, outcome.tabs, (), outcome.settings.as_cut, deeper=outcome.proof.limit
    )
    return outcome, found


def test_fins_of_valley_ties_stand_clear_of_each_other_while_the_roof_is_folded() -> None:
    outcome, assembly = put_together(2)
    assert not assembly.findings
    rings = [part.id.partition("-")[0] for part in outcome.parts if is_ring(part)]
    assert rings
    bearers = find_bearers(outcome.parts)
    for name in rings:
        fins = [part for part in outcome.parts if part.id in (f"{name}a-fin", f"{name}b-fin")]
        if len({bearers[fin.id][0] for fin in fins}) > 1:  # of two roofs that are folded apart from each other
            continue
        assert max(shared_by_fins(outcome, fins, fraction) for fraction in np.linspace(0.0, 1.0, 41)) < TOUCH


def test_fins_that_pass_through_each_other_while_the_roof_is_folded_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fins in the plane that halves a valley, placed without asking whether the roof folds."""
    monkeypatch.setattr(tie, "_stand_back", lambda line, foot: 0.0)
    monkeypatch.setattr(InHand, "is_free", lambda hands, parts: True)
    outcome, assembly = put_together(2)
    (blocked,) = [move.blocked for move in assembly.moves if move.blocked is not None]
    (told,) = assembly.findings
    assert told.message.startswith(f"{blocked.part} runs {blocked.depth:.1f} mm into {blocked.by} while it is folded")
    fins = [part for part in outcome.parts if part.id in (blocked.part, blocked.by)]
    assert all(fin.id.endswith("-fin") for fin in fins)
    assert shared_by_fins(outcome, fins, 1.0) < TOUCH < 50.0 < shared_by_fins(outcome, fins, blocked.at)


def test_a_roof_that_would_run_into_itself_bends_in_two_goes() -> None:
    """Two panels at many fractions as solids of manifold3d: with all bends closing together they pass through."""
    outcome, assembly = put_together(520)
    assert not assembly.findings
    (roof,) = [part for part in outcome.parts if any(placed.late for placed in part.lattices)]
    together = replace(roof, lattices=tuple(replace(placed, late=False) for placed in roof.lattices))
    crossed = fold_up(together)
    assert crossed is not None and fold_up(roof) is None
    assert shared(together, crossed.fraction, crossed.panels) > 5.0
    assert max(shared(roof, fraction, crossed.panels) for fraction in np.linspace(0.0, 1.0, 33)) < TOUCH
    (step,) = [step for step in putting_up(outcome) if step.heading == f"Bend {roof.id} in two goes"]
    assert "last" in step.words and step.drawing.startswith("<svg")


def test_two_pieces_of_a_closed_body_are_not_sent_down_onto_a_floor() -> None:
    blocked = Blocked("P1", "P2", 0.5, 17.6, (0.0, 0.0, 0.0))
    move = Move(Stage.FLOOR, ("P1",), ("P2",), blocked=blocked)
    (pieces,) = check_paths([move], {"P1": PartKind.PANEL, "P2": PartKind.PANEL})
    assert "floor" not in pieces.message and "on every straight way to its place" in pieces.message
    (walls,) = check_paths([move], {"P1": PartKind.WALL, "P2": PartKind.FLOOR})
    assert "down onto the floor" in walls.message
