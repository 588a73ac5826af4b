"""Play checks: everything that is asked of a building before it is cut, in one go, as the report tells it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import BadSettingError, GeometryError
from ..findings import Finding, Severity, in_order
from ..progress import SILENT, Progress
from .compare import taken_by
from .footing import Bend
from .hand import HandMap, check_hands, map_hands, measure_for, probes_of
from .reach import ReachMap, check_reach, map_reach
from .sight import Eye, SightMap, check_eyes, check_squares_seen, see
from .standing_room import StandingRoom, find_standing_room, room_outline
from .stature import Stature, find_stature
from .table import check_table, eye_of, shoulder_of
from .table_top import Blocker, BlockerKind, Miniature, Seat, Squares, Table

__all__ = ["HEIGHTS", "PlayInput", "PlayOutcome", "check_play", "not_checked"]

#: Heights at which squares are looked at, mm above the floor: base, chest and head of a figure of 28 to
#: 32 mm (common practice, no source).
HEIGHTS = (0.0, 20.0, 35.0)


@dataclass(frozen=True, slots=True, eq=False)
class PlayInput:
    """What stands on the table and who sits round it.

    squares: of the room. building: its blockers, the roof left out where it is lifted off. furniture:
    blockers. seats: with the stature whose eyes count; reaching: the same seats with the stature whose arm
    must reach. fits: name of the stature whose hand must fit everywhere. bends: flex corners as they stand
    in the room.
    """

    squares: Squares
    building: tuple[Blocker, ...]
    table: Table
    seats: tuple[Seat, ...]
    reaching: tuple[Seat, ...]
    furniture: tuple[Blocker, ...] = ()
    miniatures: tuple[Miniature, ...] = ()
    bends: tuple[Bend, ...] = ()
    fits: str = "large"

    @property
    def blockers(self) -> tuple[Blocker, ...]:
        """Building and furniture."""
        return (*self.building, *self.furniture)


@dataclass(frozen=True, slots=True, eq=False)
class PlayOutcome:
    """What a player gets.

    eyes: (seats, 3) mm. sight, reach, hands, standing: the maps. blame: per blocker its name and the
    share of all that seats could see of the room which it alone hides, per height, most first.
    """

    given: PlayInput
    eyes: np.ndarray
    sight: SightMap
    reach: ReachMap
    hands: HandMap
    standing: StandingRoom
    blame: tuple[tuple[str, tuple[float, ...]], ...]
    findings: tuple[Finding, ...]


def check_play(
    given: PlayInput,
    statures: Sequence[Stature],
    *,
    heights: Sequence[float] = HEIGHTS,
    progress: Progress = SILENT,
) -> PlayOutcome:
    """See, reach and stand in the room from every seat.

    Raises BadSettingError where there are no seats, GeometryError where an eye lies in a blocker, CancelledError where
    the work was given up.
    """
    if not given.seats:
        raise BadSettingError("Nobody sits at the table; add seats to see what they see")
    squares, blockers = given.squares, given.blockers
    eyes = [Eye(seat.name, eye_of(seat, given.table, statures)) for seat in given.seats]
    sight = see(blockers, squares, eyes, heights)
    progress.tell(0.3)
    reach = map_reach(squares, given.reaching, given.table, statures)
    probes = probes_of(find_stature(given.fits, statures))
    shoulders = np.array([shoulder_of(seat, given.table, statures) for seat in given.seats])
    hands = map_hands(measure_for(probes, squares, blockers), probes, shoulders)
    progress.tell(0.6)
    standing = find_standing_room(squares, blockers, bends=given.bends, miniatures=given.miniatures)
    room = max(int(squares.inside.sum()), 1)
    lasting = [each for each in blockers if each.kind is not BlockerKind.MINIATURE]
    blame = tuple(
        (taken.name, tuple(float(share) for share in taken.squares.mean(axis=0) / room))
        for taken in taken_by(lasting, squares, eyes, heights)
    )
    progress.tell(1.0)
    found = (
        *check_table(given.table, given.seats, room_outline(squares), statures),
        *check_eyes(blockers, squares, eyes),
        *check_squares_seen(sight),
        *check_reach(reach),
        *check_hands(hands),
        *standing.findings,
    )
    points = np.array([eye.point for eye in eyes])
    points.setflags(write=False)
    return PlayOutcome(given, points, sight, reach, hands, standing, blame, in_order(found))


def not_checked(error: GeometryError) -> Finding:
    """Return what the maker should know where the table keeps the play checks from being made."""
    return Finding(Severity.WARNING, "play-not-checked", f"Nothing is known about the seats: {error}")
