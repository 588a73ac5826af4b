"""The film: every part at every fold time, in the order in which hands put the building up and stow it.

From 0 to 1: parts leave their sheets and go together as the assembly found it free. From 1 to 2 all of this is undone,
and every part goes to its place in the box, layer by layer. ``poses_at`` is the one function that says where everything
is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from ..joints.round_joiner import is_round_cheek
from ..outcome import Outcome
from ..paint.paint import Paint
from ..part import Part, PartKind, plain_panel
from ..pose import Pose
from ..sheet.preview import Spread, spread_out
from .bending import lattice_angles, panel_poses
from .boards import Boards, boards_of, standing_points
from .riders import Rider, riders_of
from .script import BOXED, Act, write_script
from .stacking import stack
from .track import STANDING, Track
from .yard import Site

__all__ = ["Film", "Moment", "film_of", "points_to_see", "poses_at"]

#: Between the building and what lies beside it, its sheets at the right and its box at the left, mm.
_BESIDE = 80.0

#: Between the walls and the roof that was lifted off them, mm: about a square, so that both are seen in one view.
_LIFTED_GAP = 25.0


@dataclass(frozen=True, slots=True, eq=False)
class Moment:
    """One part at one fold time: the pose of its frame in the model, and the share of its bends, 0 flat .. 1."""

    pose: Pose
    share: float


@dataclass(frozen=True, slots=True, eq=False)
class Film:
    """A building as bodies, and how they move. boards and tracks by part id, parts without panels left out.

    riders: parts that go with another one from their fold time ``glued`` on; until then they follow their own track.
    acts: what hands do on the way up, in order.
    box: lowest and highest corner of the box that takes the parts, (2, 3) mm in the model. sheets: the four corners of
    every sheet where it lies, (n, 4, 3) mm. paint: the colours of its coats.
    """

    boards: Mapping[str, Boards]
    tracks: Mapping[str, Track]
    riders: Mapping[str, Rider]
    glued: Mapping[str, float]
    acts: tuple[Act, ...]
    box: np.ndarray
    sheets: np.ndarray
    paint: Paint = field(default_factory=Paint)


def film_of(
    outcome: Outcome,
    *,
    sheets: Sequence[float] | None = None,
    ground: float | None = None,
    known: Mapping[str, Boards] | None = None,
) -> Film:
    """Return the film of a building.

    sheets: (x, y) mm of the lower left corner of the first sheet on the ground; beside the building where None.
    ground: level on which sheets and box lie, mm; the lowest of the standing building where None.
    known: boards of an earlier film, used again where they are of the very same parts.
    """
    before = {} if known is None else known
    boards = {
        part.id: before[part.id] if part.id in before and before[part.id].part is part else boards_of(part)
        for part in (*outcome.standing, *_props(outcome))
        if part.panels
    }
    standing = standing_points(boards.values())
    low, high = (standing.min(axis=0), standing.max(axis=0)) if len(standing) else (np.zeros(3), np.zeros(3))
    corner = (float(high[0]) + _BESIDE, float(low[1])) if sheets is None else tuple(sheets)
    ground = float(low[2]) if ground is None else ground
    box = _box(outcome, low, high, ground)
    riders = riders_of(boards, outcome.joiners, outcome.strips.bearers)
    stacked = stack(boards, riders, outcome.joiners, outcome.stow, box[0])
    # beside the building the sheets lie in a column, which is seen from nearer by than a row
    spread = spread_out(outcome.layout, corner, **({"abreast": 1} if sheets is None else {}))
    sheet_poses = _on_sheets(outcome, boards, spread, ground)
    script = write_script(outcome, boards, riders, Site(low, high, box), sheet_poses, stacked)
    flat = spread.boxes()
    lying = np.concatenate([flat, np.full((*flat.shape[:2], 1), ground)], axis=2)
    return Film(boards, script.tracks, riders, script.glued, script.acts, box, lying, outcome.settings.paint)


def poses_at(film: Film, time: float, *, lifted: bool = False, opened: float = 0.0) -> dict[str, Moment]:
    """Return where every part is at a fold time, 0 flat on its sheet .. 1 standing .. 2 stacked in the box.

    lifted: the roof, with all that is glued to it or stands on it, lies beside the standing building. opened: share
    by which leaves stand open; props hold them where they are wide open, and lie on their sheets until then.
    """
    moments = {}
    for name, track in film.tracks.items():
        pose, share = track.at(time)
        moments[name] = Moment(pose, share)
    for name, rider in film.riders.items():
        if time >= film.glued.get(name, np.inf):
            host = moments[rider.host]
            # cheeks of a round joiner are glued to the end of a wall and bend with it; all else was bent before
            share = host.share if is_round_cheek(film.boards[name].part) else 1.0
            moments[name] = Moment(_ridden(film, rider, host), share)
    if time == STANDING and opened >= 1.0:
        held = (board for board in film.boards.values() if board.part.kind is PartKind.PROP)
        moments |= {board.part.id: Moment(board.stands, 1.0) for board in held}
    if lifted:
        aside = _aside(film)
        for name, moment in moments.items():
            if film.boards[name].part.kind in (PartKind.ROOF, PartKind.UPSTAND) or _rides_roof(film, name):
                moved = moment.pose.matrix.copy()
                moved[:, 3] += aside
                moments[name] = Moment(Pose(moved), moment.share)
    return moments


def _props(outcome: Outcome) -> list[Part]:
    """Return the props that lie on a sheet, as boards that stand where they hold their leaf."""
    placed = {placement.part for placement in outcome.layout.placements}
    return [
        replace(prop.part, panels=(plain_panel(prop.part.outline, prop.held),))
        for prop in outcome.props
        if prop.part.id in placed
    ]


def points_to_see(film: Film, time: float) -> np.ndarray:
    """Return the points that a picture of a fold time must show, (n, 3) mm.

    All parts while they lie on their sheets, then those that have left these, and the place where they come to stand.
    """
    moments = poses_at(film, time)
    left = [name for name in moments if _has_left(film, name, time)]
    found = [moments[name].pose.apply(film.boards[name].points(moments[name].share)) for name in left or moments]
    if left and time < BOXED:
        found.append(standing_points(film.boards.values()))
    return np.concatenate(found)


def _has_left(film: Film, name: str, time: float) -> bool:
    """Return whether a part has come to its first station after its sheet."""
    times = film.tracks[name].times
    return bool(time >= times[min(2, len(times) - 1)])


def _ridden(film: Film, rider: Rider, host: Moment) -> Pose:
    """Return where a rider is on its host."""
    boards = film.boards[rider.host]
    poses = panel_poses(boards.part, lattice_angles(boards.part, host.share), root=boards.root)
    return host.pose @ poses[rider.panel] @ rider.pose


def _rides_roof(film: Film, name: str) -> bool:
    rider = film.riders.get(name)
    part = film.boards[name].part
    if rider is None:
        return part.kind is PartKind.LAP and any(board.part.kind is PartKind.ROOF for board in film.boards.values())
    return film.boards[rider.host].part.kind is PartKind.ROOF


def _aside(film: Film) -> np.ndarray:
    """Return the way that puts a lifted roof on the ground behind the building, (3,) mm."""
    upper: list[Boards] = []
    lower: list[Boards] = []
    for name, board in film.boards.items():
        of_roof = board.part.kind in (PartKind.ROOF, PartKind.UPSTAND) or _rides_roof(film, name)
        (upper if of_roof else lower).append(board)
    lifted, left = standing_points(upper), standing_points(lower)
    if not len(lifted) or not len(left):
        return np.zeros(3)
    behind = float(left[:, 1].max()) + _LIFTED_GAP - float(lifted[:, 1].min())
    return np.array([0.0, behind, float(left[:, 2].min() - lifted[:, 2].min())])


def _box(outcome: Outcome, low: np.ndarray, high: np.ndarray, ground: float) -> np.ndarray:
    """Return the corners of the box at the left of the building, in line with its middle, (2, 3) mm."""
    size = np.array(outcome.stow.box)
    corner = np.array([low[0] - _BESIDE - size[0], (low[1] + high[1] - size[1]) / 2, ground])
    return np.array([corner, corner + size])


def _on_sheets(outcome: Outcome, boards: Mapping[str, Boards], spread: Spread, ground: float) -> dict[str, Pose]:
    """Return how parts lie on their sheets, the sheets spread out on the ground."""
    found = {}
    for placement in outcome.layout.placements:
        each = boards.get(placement.part)
        if each is None:
            continue
        x, y = (placement.place(np.zeros((1, 2)))[0] + spread.corners[placement.sheet]).tolist()
        cos, sin = np.cos(placement.turn), np.sin(placement.turn)
        low = min(0.0, each.part.board_side * each.part.thickness)
        found[placement.part] = Pose.of((cos, sin, 0), (-sin, cos, 0), (0, 0, 1), (x, y, ground - low))
    return found
