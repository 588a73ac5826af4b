"""The script: through which stations every part goes, and when.

Fold times of the acts stand in one table. What is held above the floor while hands work on it is drawn lifted; what is
pushed together sideways is drawn apart before.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from ..outcome import Outcome
from ..part import PartKind
from ..pose import Pose
from .bending import lattice_angles, panel_poses, undone
from .boards import Boards
from .riders import Rider
from .stacking import Stacked
from .track import STANDING, Station

__all__ = ["Script", "Site"]

#: Fold times at which acts begin and end on the way up.
_FLOOR = (0.0, 0.12)
_WALLS_UP, _WALLS_BENT = (0.06, 0.28), (0.28, 0.42)
_JOINERS, _CLOSED, _LOWERED = (0.28, 0.48), (0.49, 0.57), (0.59, 0.68)
_ROOF_UP, _ROOF_GLUED, _ROOF_BENT, _ROOF_ON = (0.46, 0.64), 0.69, (0.70, 0.80), (0.82, 0.91)
_UPSTANDS_UP, _UPSTANDS_ON = (0.72, 0.9), (0.92, 1.0)

#: And on the way into the box: every act ends before the next part of the stack is laid.
_UPSTANDS_OFF, _ROOF_OFF, _ROOF_FLAT = (1.0, 1.06), (1.05, 1.14), (1.15, 1.27)
_RING_OFF, _RING_OPEN, _WALLS_FLAT = (1.16, 1.24), (1.25, 1.33), (1.35, 1.47)
_STACK, _LAID = (1.48, 2.0), 0.1

#: How high above its place the ring, the roof and what stands on it are held, shares of the building's height.
_RING_LIFT, _ROOF_LIFT, _UPSTAND_LIFT = 0.55, 0.75, 1.1

#: How far sections are drawn apart before they meet in a joiner, share of the building's size; how far a ring of one
#: section is open instead, share of its bends.
_APART, _AJAR = 0.16, 0.94

#: How far core and cheeks are drawn apart before they are laminated, and a joiner from its place, mm.
_LAMINA, _OUT = 14.0, 45.0

#: Pieces come down on the stack from so many heights of the box, but at least so high, mm.
_DROP, _LEAST_DROP = 2.0, 40.0


@dataclass(frozen=True, slots=True, eq=False)
class Site:
    """Where things happen: lowest and highest corner of the standing building, (3,) mm, and corners of the box."""

    low: np.ndarray
    high: np.ndarray
    box: np.ndarray

    @property
    def middle(self) -> np.ndarray:
        return (self.low + self.high) / 2

    @property
    def height(self) -> float:
        return float(self.high[2] - self.low[2])

    @property
    def width(self) -> float:
        return float(np.max(self.high[:2] - self.low[:2]))


@dataclass(slots=True, eq=False)
class Script:
    """What every part does. sheets: how parts lie on their sheets; stacked: in the box."""

    outcome: Outcome
    boards: Mapping[str, Boards]
    site: Site
    sheets: Mapping[str, Pose]
    stacked: Mapping[str, Stacked]
    _joiner_of: dict[str, str] = field(init=False)
    _walls: tuple[str, ...] = field(init=False)

    def __post_init__(self) -> None:
        self._joiner_of = {
            board: joiner.id for joiner in self.outcome.joiners for board in (joiner.core, *joiner.cheeks)
        }
        self._walls = tuple(
            name for name, each in self.boards.items() if each.part.kind in (PartKind.WALL, PartKind.PANEL)
        )

    def glued_at(self, name: str) -> float:
        """Return the fold time at which a rider has reached its host."""
        return _ROOF_GLUED

    def pivot(self, name: str, each: Boards) -> np.ndarray:
        """Return the point of a part, (3,) mm in its frame, that goes straight: that of all it is put together with."""
        together = [other for other, lies in self.stacked.items() if lies.together == self._piece(name)]
        if name in self.stacked and len(together) > 1:
            middles = [self.boards[other].stands.apply(self._middle(other)) for other in together]
            return undone(each.stands).apply(np.mean(middles, axis=0))
        return self._middle(name)

    def stations(self, name: str, rider: Rider | None) -> list[Station]:
        """Return the stations of a part, from its sheet over its standing place to the box."""
        each = self.boards[name]
        if rider is not None:
            return self._to_host(name, rider)
        kind = each.part.kind
        if kind in (PartKind.WALL, PartKind.PANEL):
            way = self._wall(name)
        elif kind in (PartKind.CORE, PartKind.CHEEK):
            way = self._joiner_board(name)
        elif kind in (PartKind.ROOF, PartKind.LAP):
            way = self._roof(name)
        elif kind is PartKind.UPSTAND:
            way = self._upstand(name)
        else:
            way = [Station(_FLOOR[1], each.stands, 1.0), Station(_STACK[0], each.stands, 1.0)]
        sheet = self.sheets.get(name)
        first = [Station(self._leaves(name), sheet, 0.0), Station(0.0, sheet, 0.0)] if sheet is not None else []
        return [*first, *way, *self._into_box(name, way[-1])]

    def _leaves(self, name: str) -> float:
        """Return the fold time at which a part leaves its sheet; parts of one kind leave one after the other."""
        kind = self.boards[name].part.kind
        start, end = {
            PartKind.FLOOR: _FLOOR,
            PartKind.CORE: _JOINERS,
            PartKind.CHEEK: _JOINERS,
            PartKind.ROOF: _ROOF_UP,
            PartKind.LAP: _ROOF_UP,
            PartKind.UPSTAND: _UPSTANDS_UP,
        }.get(kind, _WALLS_UP)
        alike = [other for other, each in self.boards.items() if each.part.kind is kind]
        return start + 0.3 * (end - start) * alike.index(name) / max(1, len(alike))

    def _wall(self, name: str) -> list[Station]:
        each = self.boards[name]
        lifted = _moved(each.stands, (0.0, 0.0, _RING_LIFT * self.site.height))
        apart = _moved(lifted, self._outward(name) * _APART * self.site.width)
        several = len(self._walls) > 1
        nearly = 1.0 if several or not self.outcome.joiners else _AJAR
        return [
            Station(_WALLS_UP[1], apart, 0.0),
            Station(_WALLS_BENT[1], apart, nearly),
            Station(_CLOSED[0], apart, nearly),
            Station(_CLOSED[1], lifted, 1.0),
            Station(_LOWERED[0], lifted, 1.0),
            Station(_LOWERED[1], each.stands, 1.0),
            Station(_RING_OFF[0], each.stands, 1.0),
            Station(_RING_OFF[1], lifted, 1.0),
            Station(_RING_OPEN[0], lifted, 1.0),
            *self._apart_again(name, apart, nearly),
        ]

    def _apart_again(self, name: str, apart: Pose, nearly: float) -> list[Station]:
        lies = self.stacked.get(name)
        if lies is not None and not lies.flat:
            return []
        return [
            Station(_RING_OPEN[1], apart, nearly),
            Station(_WALLS_FLAT[0], apart, nearly),
            Station(_WALLS_FLAT[1], apart, 0.0),
        ]

    def _joiner_board(self, name: str) -> list[Station]:
        each = self.boards[name]
        joiner = next(joiner for joiner in self.outcome.joiners if name in (joiner.core, *joiner.cheeks))
        outer = self.boards.get(joiner.cheeks[0], each)
        core = self.boards.get(joiner.core, each)
        out = self._middle_standing(outer.part.id) - self._middle_standing(core.part.id)
        size = float(np.linalg.norm(out))
        out = out / size if size else np.zeros(3)
        side = np.sign((self._middle_standing(name) - self._middle_standing(core.part.id)) @ out) if size else 0.0
        lifted = _moved(each.stands, (0.0, 0.0, _RING_LIFT * self.site.height))
        beside = _moved(lifted, out * _OUT)
        loose = _moved(beside, out * _LAMINA * side)
        start, end = _JOINERS
        return [
            Station(start + 0.65 * (end - start), loose, 1.0),
            Station(start + 0.8 * (end - start), beside, 1.0),
            Station(end, lifted, 1.0),
            Station(_LOWERED[0], lifted, 1.0),
            Station(_LOWERED[1], each.stands, 1.0),
            Station(_RING_OFF[0], each.stands, 1.0),
            Station(_RING_OFF[1], lifted, 1.0),
            Station(_RING_OPEN[1], lifted, 1.0),
            Station(_WALLS_FLAT[0] + 0.04, beside, 1.0),
        ]

    def _roof(self, name: str) -> list[Station]:
        each = self.boards[name]
        lift = _ROOF_LIFT * self.site.height
        lifted = _moved(each.stands, (0.0, 0.0, lift))
        hover = self._hovering(name, lift)
        way = [
            Station(_ROOF_UP[1], hover, 0.0),
            Station(_ROOF_BENT[0], hover, 0.0),
            Station(_ROOF_BENT[1], lifted, 1.0),
            Station(_ROOF_ON[0], lifted, 1.0),
            Station(_ROOF_ON[1], each.stands, 1.0),
            Station(_ROOF_OFF[0], each.stands, 1.0),
            Station(_ROOF_OFF[1], lifted, 1.0),
        ]
        lies = self.stacked.get(name)
        if lies is None or lies.flat:
            way += [Station(_ROOF_FLAT[0], lifted, 1.0), Station(_ROOF_FLAT[1], hover, 0.0)]
        return way

    def _upstand(self, name: str) -> list[Station]:
        each = self.boards[name]
        lifted = _moved(each.stands, (0.0, 0.0, _UPSTAND_LIFT * self.site.height))
        aside = _moved(lifted, (self.site.low[0] - self.site.high[0], 0.0, 0.0))
        return [
            Station(_UPSTANDS_UP[1], lifted, 1.0),
            Station(_UPSTANDS_ON[0], lifted, 1.0),
            Station(_UPSTANDS_ON[1], each.stands, 1.0),
            Station(STANDING, each.stands, 1.0),
            Station(_UPSTANDS_OFF[1], lifted, 1.0),
            Station(_ROOF_FLAT[0], aside, 1.0),
        ]

    def _to_host(self, name: str, rider: Rider) -> list[Station]:
        """Return the stations of a rider until it is glued to its host, which it follows then."""
        host = self.boards[rider.host]
        bent = [station for station in self.stations(rider.host, None) if station.time <= _ROOF_GLUED]
        at = bent[-1] if bent else Station(_ROOF_GLUED, host.stands, 1.0)
        poses = panel_poses(host.part, lattice_angles(host.part, at.share), root=host.root)
        glued = at.pose @ poses[rider.panel] @ rider.pose
        sheet = self.sheets.get(name)
        first = [] if sheet is None else [Station(0.0, sheet, 0.0), Station(_ROOF_UP[0], sheet, 0.0)]
        return [*first, Station(_ROOF_GLUED, glued, 1.0)]

    def _into_box(self, name: str, last: Station) -> list[Station]:
        lies = self.stacked.get(name)
        if lies is None:
            return []
        layers = max((other.layer for other in self.stacked.values()), default=0) + 1
        start, end = _STACK
        begin = start + (end - start - _LAID) * lies.layer / max(1, layers - 1)
        drop = max(_LEAST_DROP, _DROP * float(self.site.box[1, 2] - self.site.box[0, 2]))
        share = 0.0 if lies.flat else 1.0
        return [
            Station(max(begin, last.time), last.pose, last.share),
            Station(begin + 0.7 * _LAID, _moved(lies.pose, (0.0, 0.0, drop)), share),
            Station(begin + _LAID, lies.pose, share),
        ]

    def _hovering(self, name: str, lift: float) -> Pose:
        """Return the pose of a flat roof board held level over the building, its upper side up."""
        each = self.boards[name]
        stands = each.stands
        outside = stands.z * each.part.board_side
        axis = np.cross(outside, (0.0, 0.0, 1.0))
        sine, cosine = float(np.linalg.norm(axis)), float(outside[2])
        turn = np.eye(3)
        if sine > 0.0:
            axis = axis / sine
            cross = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
            turn = np.eye(3) + sine * cross + (1.0 - cosine) * cross @ cross
        level = turn @ stands.turn
        flat = Pose(np.column_stack([level, np.zeros(3)])).apply(each.points(0.0))
        over = self._middle_standing(name) if self._apart_roofs() else self.site.middle
        target = np.array([over[0], over[1], float(self.site.high[2]) + lift])
        if self._apart_roofs():
            target += self._outward(name) * _APART * 2 * self.site.width
        return Pose(np.column_stack([level, target - (flat.min(axis=0) + flat.max(axis=0)) / 2]))

    def _apart_roofs(self) -> bool:
        return sum(each.part.kind is PartKind.ROOF for each in self.boards.values()) > 1

    def _outward(self, name: str) -> np.ndarray:
        """Return the level direction from the building's middle to a part, (3,), none for a part round the middle."""
        several = len([other for other in self.boards.values() if other.part.kind is self.boards[name].part.kind]) > 1
        away = (self._middle_standing(name) - self.site.middle) * (1.0, 1.0, 0.0)
        size = float(np.linalg.norm(away))
        return away / size if several and size > 1.0 else np.zeros(3)

    def _middle(self, name: str) -> np.ndarray:
        each = self.boards[name]
        ring = each.part.panels[each.root].ring
        return np.append((ring.min(axis=0) + ring.max(axis=0)) / 2, 0.0)

    def _middle_standing(self, name: str) -> np.ndarray:
        each = self.boards[name]
        points = each.stands.apply(each.points())
        middle: np.ndarray = (points.min(axis=0) + points.max(axis=0)) / 2
        return middle

    def _piece(self, name: str) -> str:
        return self.stacked[name].together if name in self.stacked else name


def _moved(pose: Pose, way: np.ndarray | tuple[float, float, float]) -> Pose:
    matrix = pose.matrix.copy()
    matrix[:, 3] += np.asarray(way, dtype=float)
    return Pose(matrix)
