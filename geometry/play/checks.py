"""Play checks: everything that is asked of a building before it is cut, in one go, as the report tells it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np

from ..errors import BadSettingError, GeometryError
from ..findings import Finding, Severity, in_order
from ..progress import SILENT, Progress
from ..sentence import Sentence
from .compare import rank_occluders
from .hand import HandMap, check_hands, measure_for
from .reach import ReachMap, check_reach, map_reach
from .seated import eyes_at, hands_at, map_seated_hands
from .sight import HEIGHTS, SightMap, check_eyes, check_squares_seen, see
from .standing_room import StandingRoom, find_standing_room, room_outline
from .stature import Stature
from .table import check_table
from .table_top import BlockerKind, TableTop

__all__ = ["PlayOutcome", "check_play", "not_checked"]


@dataclass(frozen=True, slots=True, eq=False)
class PlayOutcome:
    """What a player gets.

    eyes: (seats, 3) mm. sight, reach, hands, standing: the maps. occluders: per blocker its name and the
    share of all that seats could see of the room which it alone hides, per height, most first.
    """

    top: TableTop
    eyes: np.ndarray
    sight: SightMap
    reach: ReachMap
    hands: HandMap
    standing: StandingRoom
    occluders: tuple[tuple[str, tuple[float, ...]], ...]
    findings: tuple[Finding, ...]


def check_play(
    top: TableTop,
    statures: Sequence[Stature],
    *,
    heights: Sequence[float] = HEIGHTS,
    progress: Progress = SILENT,
) -> PlayOutcome:
    """See, reach and stand in the room from every seat.

    Raises BadSettingError where there are no seats, GeometryError where an eye lies in a blocker, CancelledError where
    the work was given up.
    """
    if not top.seats:
        raise BadSettingError("Nobody sits at the table; add seats to see what they see")
    squares, blockers = top.squares, top.blockers
    eyes = eyes_at(top, statures)
    sight = see(blockers, squares, eyes, heights)
    progress.tell(0.3)
    reach = map_reach(squares, top.reaching, top.table, statures)
    probes = chain.from_iterable(hands_at(top.fitting, statures))
    hands = map_seated_hands(measure_for(probes, squares, blockers), top.fitting, top.table, statures)
    progress.tell(0.6)
    standing = find_standing_room(squares, blockers, bends=top.bends, miniatures=top.miniatures)
    room = max(int(squares.inside.sum()), 1)
    lasting = [part for part in blockers if part.kind is not BlockerKind.MINIATURE]
    occluders = tuple(
        (occluder.name, tuple(float(share) for share in occluder.squares.mean(axis=0) / room))
        for occluder in rank_occluders(lasting, squares, eyes, heights)
    )
    progress.tell(1.0)
    found = (
        *check_table(top.table, top.seats, room_outline(squares), statures),
        *check_eyes(blockers, squares, eyes),
        *check_squares_seen(sight),
        *check_reach(reach),
        *check_hands(hands),
        *standing.findings,
    )
    points = np.array([eye.point for eye in eyes])
    points.setflags(write=False)
    return PlayOutcome(top, points, sight, reach, hands, standing, occluders, in_order(found))


def not_checked(error: GeometryError) -> Finding:
    """Return what the maker should know where the table keeps the play checks from being made."""
    said = Sentence.of("Nothing is known about the seats: ", error.sentence)
    return Finding(Severity.WARNING, "play-not-checked", said)
