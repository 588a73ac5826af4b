"""The script: when every part goes where, in the order and on the paths that the assembly found free.

Parts leave their sheets for a place of their own in the yard. There a section gets what is glued to it and is bent,
joiners and upstands are glued up, and roofs go together with their inside up. Whatever changes its place is lifted over
all that stands, carried level and let down; the last stretch is a move of the assembly. Taking down is the same
backwards, until every piece lies in the yard as it is stored; from there it goes into the box.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..assembly.plan import Move, Stage
from ..outcome import Outcome
from ..part import PartKind
from ..pose import Pose
from .bending import lattice_angles, panel_poses, undone
from .boards import Boards
from .carrying import Carrying
from .riders import Rider
from .stacking import OVER, Stacked
from .track import STACKED, STANDING, Station, Track, track_of
from .yard import Site, Yard, moved

__all__ = ["BOXED", "Act", "Script", "write_script"]

#: How long acts last beside one another.
_CARRIED, _GLUED, _BENT, _LEG = 1.0, 0.25, 1.2, 0.8

#: Fold time at which everything lies in the yard again and the first piece goes into the box.
BOXED = 1.5

#: Taking down is shown so many times faster than putting up.
_FASTER = 2.0

#: What stands or is folded in the yard as it stands in the building; all else lies there.
_UPRIGHT = (PartKind.WALL, PartKind.PANEL, PartKind.ROOF, PartKind.UPSTAND)

#: Shares of a fold at which a place in the yard must hold a section.
_FOLDING = (0.0, 0.5, 1.0)


@dataclass(frozen=True, slots=True)
class Act:
    """What hands do from a fold time on; of: kind of what moves."""

    time: float
    stage: Stage
    of: PartKind


@dataclass(frozen=True, slots=True, eq=False)
class Script:
    """What every part does. glued: fold times at which riders have reached their hosts. acts: in order."""

    tracks: Mapping[str, Track]
    glued: Mapping[str, float]
    acts: tuple[Act, ...]


def write_script(
    outcome: Outcome,
    boards: Mapping[str, Boards],
    riders: Mapping[str, Rider],
    site: Site,
    sheets: Mapping[str, Pose],
    stacked: Mapping[str, Stacked],
) -> Script:
    """Return what every part does. sheets: how parts lie on their sheets; stacked: in the box."""
    moves = tuple(move for move in outcome.assembly.moves if move.stage is not Stage.LEAF)
    if not boards.keys() >= {name for move in moves for name in (*move.parts, *move.onto)}:
        moves = ()  # a building that is not the one that was taken apart has no order yet
    groups = _groups(outcome, boards, moves)
    writer = _Writer(boards, riders, site, sheets, moves, groups)
    return writer.write(stacked)


def _groups(outcome: Outcome, boards: Mapping[str, Boards], moves: Iterable[Move]) -> dict[str, tuple[str, ...]]:
    """Return for every part those that are glued up with it in place: upstands, and what strips join to one piece."""
    bodies: dict[str, list[str]] = {}
    for name, board in boards.items():
        if board.part.kind is PartKind.UPSTAND:
            bodies.setdefault(board.part.body, []).append(name)
    together = [names for names in bodies.values() if len(names) > 1]
    together += [[name for name in names if name in boards] for names in outcome.stow.glued]
    return {name: tuple(names) for names in together for name in names}


class _Writer:
    """Writes the acts one after the other."""

    def __init__(
        self,
        boards: Mapping[str, Boards],
        riders: Mapping[str, Rider],
        site: Site,
        sheets: Mapping[str, Pose],
        moves: Sequence[Move],
        groups: Mapping[str, tuple[str, ...]],
    ) -> None:
        self._boards, self._riders, self._moves, self._groups = boards, riders, moves, groups
        self._yard = Yard(site)
        self._hands = Carrying(boards, sheets, self._pivots())
        self._ready: dict[str, float] = {}
        self._glued: dict[str, float] = {}
        self._acts: list[Act] = []
        self._joined: set[str] = set()

    def write(self, stacked: Mapping[str, Stacked]) -> Script:
        """Return the script of a building whose parts lie so in their box."""
        floors = [name for name, board in self._boards.items() if board.part.kind is PartKind.FLOOR]
        for name in floors:
            place = self._boards[name].stands
            self._hands.carry({name: place}, _CARRIED)
            tiles = {rider.part: place @ rider.pose for rider in self._riders.values() if rider.host == name}
            self._hands.carry(tiles, _CARRIED)
            self._ready[name] = self._hands.clock
            self._glued |= dict.fromkeys(tiles, self._hands.clock)
        for move in self._moves:
            self._make(move)
        # props wait on their sheets until leaves are opened
        rest = [name for name in self._hosts(self._boards) if self._boards[name].part.kind is not PartKind.PROP]
        self._gather(rest)
        for name in rest:
            self._hands.carry({name: self._boards[name].stands}, _CARRIED)
        standing = self._hands.clock
        self._hands.backwards(self._ready, _FASTER)
        lies = self._hands.clock
        self._store(stacked)
        raw = [0.0, standing, lies, self._hands.clock]
        return self._timed(raw, [0.0, STANDING, BOXED, STACKED])

    def _timed(self, raw: list[float], times: list[float]) -> Script:
        """Return the script with the times of acts as fold times; what lies on no sheet yet begins in the yard."""
        tracks = {}
        for name, made in self._hands.stations.items():
            begins = 0.0 if name in self._hands.sheets else self._ready.get(name, self._glued.get(name, 0.0))
            # what no sheet of this layout bears may be there later than its last move
            stations = [station for station in made if station.time >= begins] or made[-1:]
            at = np.interp([station.time for station in stations], raw, times).tolist()
            timed = [Station(time, station.pose, station.share) for time, station in zip(at, stations, strict=True)]
            tracks[name] = track_of(name, self._hands.pivots[name], timed)
        glued = {name: float(np.interp(time, raw, times)) for name, time in self._glued.items()}
        acts = tuple(Act(float(np.interp(act.time, raw, times)), act.stage, act.of) for act in self._acts)
        return Script(tracks, glued, acts)

    def _make(self, move: Move) -> None:
        """Make one move of the assembly, after all that it needs was brought."""
        moving, onto = self._hosts(move.parts), self._hosts(move.onto)
        if move.stage is Stage.FOLD:
            self._say(move)
            for name in moving:
                self._fetch(name)
                self._bend(name)
            return
        self._gather([*onto, *moving])
        self._say(move)
        frame = self._frame(move, onto, moving)
        if move.stage not in (Stage.RING, Stage.CLOSE):
            self._hands.carry({name: frame @ self._boards[name].stands for name in onto}, _CARRIED)
        for made, lasts in _stretches(move):
            to = {name: frame @ moved(self._boards[name].stands, made) for name in moving}
            if lasts:
                self._hands.go(to, lasts)
            else:
                self._hands.carry(to, _CARRIED)

    def _frame(self, move: Move, onto: Sequence[str], moving: Sequence[str]) -> Pose:
        """Return the frame of a move: a ring goes together above its place, a roof in the yard, all else in place."""
        if move.stage is Stage.CLOSE:
            base = self._base(move, onto)
            return self._hands.at(base).pose @ undone(self._boards[base].stands)
        if move.stage is not Stage.RING:
            return Pose.identity()
        after = (later.shift(0.0) for later in self._moves if later.stage is Stage.FLOOR and moving[0] in later.parts)
        above = moved(Pose.identity(), sum(after, start=np.zeros(3)))
        base = self._base(move, onto)
        self._hands.carry({base: above @ self._boards[base].stands}, _CARRIED)
        return above

    def _base(self, move: Move, onto: Sequence[str]) -> str:
        """Return what waits for all others that go together with it."""
        moved_too = {name for other in self._moves if other.stage is move.stage for name in other.parts}
        return next((name for name in onto if name not in moved_too), onto[0])

    def _gather(self, names: Sequence[str]) -> None:
        """Have parts in the yard, bent and glued up."""
        for name in names:
            self._fetch(name)
            self._bend(name)
        for name in names:
            group = self._groups.get(name, ())
            if not group or group[0] in self._joined:
                continue
            self._joined.add(group[0])
            low, *others = sorted(group, key=lambda one: round(float(self._standing_middle(one)[2]), 3))
            frame = self._hands.at(low).pose @ undone(self._boards[low].stands)
            for other in others:
                self._fetch(other)
                self._bend(other)
                self._hands.carry({other: frame @ self._boards[other].stands}, _CARRIED)
            self._ready |= dict.fromkeys(group, self._hands.clock)

    def _fetch(self, name: str) -> None:
        """Bring a part from its sheet into the yard, what is glued to it after it, and stand it up."""
        if name in self._ready:
            return
        each = self._boards[name]
        borne = {-1: self._borne(name, -1), 1: self._borne(name, 1)}
        sides = [side for side in (each.part.board_side, -each.part.board_side) if borne[side]]
        upright = each.part.kind in _UPRIGHT
        poses = [Pose.identity() if side > 0 else OVER for side in sides]
        if upright or not poses:
            stands = Pose(np.column_stack([each.stands.turn, np.zeros(3)])) if upright else Pose.identity()
            poses.append(OVER @ stands if self._lies_on_its_back(name) else stands)
        for place, side in zip(self._places(name, poses), [*sides, 0], strict=False):
            self._hands.carry({name: place}, _CARRIED)
            flat = panel_poses(each.part, lattice_angles(each.part, 0.0), root=each.root)
            for riders in _laid_in_turn(borne.get(side, ())):
                places = {rider.part: place @ flat[rider.panel] @ rider.pose for rider in riders}
                self._hands.carry(places, _CARRIED if len(riders) > 1 else _GLUED)
                self._glued |= dict.fromkeys(places, self._hands.clock)
        self._ready[name] = self._hands.clock

    def _places(self, name: str, poses: Sequence[Pose]) -> list[Pose]:
        """Return poses of a part moved onto one place in the yard, all resting on the ground."""
        boxes = []
        for pose in poses:
            corners = self._hands.corners(name, pose, *(_FOLDING if self._boards[name].part.lattices else (1.0,)))
            boxes.append((corners.min(axis=0), corners.max(axis=0)))
        middle = self._yard.take(np.max([high - low for low, high in boxes], axis=0))
        return [
            moved(pose, middle - np.append((low + high)[:2] / 2, low[2]))
            for pose, (low, high) in zip(poses, boxes, strict=True)
        ]

    def _borne(self, name: str, side: int) -> list[Rider]:
        """Return what is glued to one side of a part, what lies lowest first."""
        part = self._boards[name].part
        found: list[tuple[float, int, Rider]] = []
        for rider in self._riders.values():
            if rider.host == name:
                height = rider.pose.apply(self._boards[rider.part].points())[:, 2]
                if np.sign(height.mean() - part.board_side * part.thickness / 2) == side:
                    found.append((round(float((height * side).max()), 3), len(found), rider))
        return [rider for _, _, rider in sorted(found)]

    def _lies_on_its_back(self, name: str) -> bool:
        """Whether a roof is bent with its inside up; not one whose pieces come to it from above."""
        ways = [
            leg.way[2]
            for move in self._moves
            if move.stage is Stage.CLOSE and name in (*move.parts, *move.onto)
            for leg in move.legs[:1]
        ]
        return self._boards[name].part.kind is PartKind.ROOF and min(ways, default=0.0) >= 0.0

    def _bend(self, name: str) -> None:
        last = self._hands.at(name)
        if last.share < 1.0:
            self._hands.go({name: last.pose}, _BENT, share=1.0)

    def _store(self, stacked: Mapping[str, Stacked]) -> None:
        """Lay piece after piece into the box, the lowest layer first."""
        pieces: dict[tuple[int, str], dict[str, Pose]] = {}
        for name in self._hosts(stacked):
            lies = stacked[name]
            pieces.setdefault((lies.layer, lies.together), {})[name] = lies.pose
        for piece in sorted(pieces):
            self._hands.carry(pieces[piece], _CARRIED)

    def _hosts(self, names: Iterable[str]) -> list[str]:
        return [name for name in names if name not in self._riders]

    def _say(self, move: Move) -> None:
        kind = self._boards[move.parts[0]].part.kind
        if not self._acts or (self._acts[-1].stage, self._acts[-1].of) != (move.stage, kind):
            self._acts.append(Act(self._hands.clock, move.stage, kind))

    def _pivots(self) -> dict[str, np.ndarray]:
        """Return the points of parts, (3,) mm in their frames, that go straight: of what turns as one, the same one."""
        as_one = dict(self._groups)
        for move in self._moves:
            if move.stage in (Stage.ROOF, Stage.UPSTAND):
                as_one |= dict.fromkeys(move.parts, move.parts)
        found = {}
        for name, board in self._boards.items():
            names = [name] if name in self._riders else self._hosts(as_one.get(name, (name,)))
            middle = np.mean([self._standing_middle(other) for other in names], axis=0)
            found[name] = undone(board.stands).apply(middle)
        return found

    def _standing_middle(self, name: str) -> np.ndarray:
        each = self._boards[name]
        ring = each.part.panels[each.root].ring
        middle: np.ndarray = each.stands.apply(np.append((ring.min(axis=0) + ring.max(axis=0)) / 2, 0.0))
        return middle


def _laid_in_turn(riders: Sequence[Rider]) -> list[list[Rider]]:
    """Return riders as they are laid, one after the other, and at the end those that are laid at once."""
    together = [rider for rider in riders if rider.at_once]
    return [*([rider] for rider in riders if not rider.at_once), *([together] if together else [])]


def _stretches(move: Move) -> list[tuple[np.ndarray, float]]:
    """Return how far parts are from their place after each stretch of a move, (3,) mm, and how long it lasts.

    They are carried to the first place; from there they go straight.
    """
    lengths = [leg.length for leg in move.legs]
    total = sum(lengths)
    gone = np.cumsum([0.0, *lengths])
    return [(move.shift(float(far) / total if total else 1.0), _LEG if k else 0.0) for k, far in enumerate(gone)]
