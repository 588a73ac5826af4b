"""Parts: anything that gets cut, in the flat, with the poses that stand it up again.

Part frame: seen from the face that lies up on the laser, x to the right, y up, z toward the eye.
The reference face lies in z = 0.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely.geometry import Polygon

from .arrays import frozen
from .board.lattice import Lattice
from .board.slits import SlitLayout
from .pose import Pose

__all__ = [
    "TILES",
    "ColourField",
    "Dressing",
    "FaceUp",
    "Joiner",
    "LabelSpot",
    "PaintRole",
    "Panel",
    "Part",
    "PartKind",
    "PlacedLattice",
    "SameBoards",
    "Tab",
    "Way",
    "frozen",
    "plain_panel",
    "standing_corners",
    "standing_size",
]


class PartKind(StrEnum):
    """What a part is for."""

    WALL = "wall"
    ROOF = "roof"
    PANEL = "panel"  # section of any other solid
    UPSTAND = "upstand"  # section of a dormer, chimney or porch
    CORE = "core"
    CHEEK = "cheek"
    FLOOR = "floor"
    STOP = "stop"
    COUPON = "coupon"
    CASE = "case"
    CARRIER = "carrier"
    LAP = "lap"
    CAP = "cap"
    TRIM = "trim"
    TILE = "tile"  # of a floor of two boards, from the light one
    DARK_TILE = "dark tile"
    PROP = "prop"  # holds a leaf open
    SIGN = "sign"  # hangs square to a wall


#: What is laid on a floor, and raises it.
TILES = frozenset({PartKind.TILE, PartKind.DARK_TILE})


class FaceUp(StrEnum):
    """Which face of the part lies up on the laser."""

    OUTSIDE = "outside"
    ROOM = "room"


@dataclass(frozen=True, slots=True, eq=False)
class Panel:
    """A flat region of a part, made from one facet.

    facet: id in Facets (-1 where the part comes from no facet); faces: host face ids.
    ring, holes: outline in the part frame, (k, 2) mm, outline counter-clockwise; without tabs.
    corners: (m, 2) where the facet's own corners lie in the part frame (before setbacks), and
    corner_points: (m, 3) where they are in the model: what the proof compares.
    stands: from the part frame to the model, taken from the facet.
    """

    facet: int
    faces: tuple[int, ...]
    ring: np.ndarray
    holes: tuple[np.ndarray, ...]
    corners: np.ndarray
    corner_points: np.ndarray
    stands: Pose


def plain_panel(outline: Polygon, stands: Pose) -> Panel:
    """Return the panel of a board that comes from no facet; outline counter-clockwise, in the part frame, mm."""
    return Panel(
        facet=-1,
        faces=(),
        ring=frozen(np.asarray(outline.exterior.coords)[:-1]),
        holes=tuple(frozen(np.asarray(hole.coords)[:-1]) for hole in outline.interiors),
        corners=frozen(np.zeros((0, 2))),
        corner_points=frozen(np.zeros((0, 3))),
        stands=stands,
    )


@dataclass(frozen=True, slots=True, eq=False)
class PlacedLattice:
    """A lattice in a part, between two of its panels.

    parent, child: indices of panels in the part. host_edges: ids of the bent model edge.
    origin: (2,) where the first row meets the start of the axis, part frame, mm.
    across: (2,) unit, from parent to child; along: (2,) unit, along the axis. The zone is
    origin + [0, flat_width] across + [0, axis_length] along.
    angle: signed bend angle in radians toward which the part folds, + away from the board side.
    slits: layout of the rows (its across and start/end along the two directions above).
    swing: of a leaf, which stands shut with angle 0: how far it opens, signed as the angle is; 0 for corners.
    late: whether it bends when all others are bent, since the part would be in its own way otherwise.
    """

    parent: int
    child: int
    host_edges: tuple[int, ...]
    origin: np.ndarray
    across: np.ndarray
    along: np.ndarray
    angle: float
    lattice: Lattice
    slits: SlitLayout
    swing: float = 0.0
    late: bool = False

    @property
    def zone(self) -> np.ndarray:
        """The four corners of the zone, (4, 2) mm, parent's side first."""
        wide, long = self.lattice.flat_width, self.lattice.axis_length
        return self.place([(0.0, 0.0), (0.0, long), (wide, long), (wide, 0.0)])

    @property
    def slit_lines(self) -> np.ndarray:
        """The centre line of each slit from end to end in the part frame, (m, 2, 2) mm."""
        slits = self.slits
        return self.place(np.stack([(slits.across, slits.start), (slits.across, slits.end)]).transpose(2, 0, 1))

    def place(self, points: ArrayLike) -> np.ndarray:
        """Return points of the lattice, (..., 2) mm from the first row and along the axis, in the part frame."""
        points = np.asarray(points, dtype=float)
        placed: np.ndarray = self.origin + points[..., :1] * self.across + points[..., 1:] * self.along
        return placed


@dataclass(frozen=True, slots=True)
class LabelSpot:
    """A place on a part that the standing model hides: centre, reading direction and room, mm, radians."""

    centre: tuple[float, float]
    direction: float
    length: float
    height: float


class Way(StrEnum):
    """How the laser makes the lines of a finish: on the face, a part of the way through, or as hatching of fields."""

    ENGRAVE = "engrave"
    SCORE = "score"
    FILL = "fill"


@dataclass(frozen=True, slots=True, eq=False)
class Dressing:
    """The lines of one finish on a part, in the order in which the laser follows them.

    finish: its name in the model. points: (n, 2) mm, part frame; starts: (m + 1,) where each of the m lines begins,
    and n at the end.
    """

    finish: str
    way: Way
    points: np.ndarray
    starts: np.ndarray

    @classmethod
    def of(cls, finish: str, way: Way, lines: Sequence[np.ndarray]) -> Dressing:
        """Return the dressing of lines, (k, 2) mm each, of which there is one at least."""
        starts = np.concatenate([[0], np.cumsum([len(line) for line in lines])]).astype(np.intp)
        return cls(finish, way, frozen(np.concatenate(lines)), starts)

    @property
    def lines(self) -> list[np.ndarray]:
        """The points of each line, (k, 2) mm."""
        return [self.points[a:b] for a, b in pairwise(self.starts.tolist())]

    @property
    def segments(self) -> np.ndarray:
        """The straight pieces of all lines, (k, 2, 2) mm."""
        pieces = np.stack([self.points[:-1], self.points[1:]], axis=1)
        return np.delete(pieces, self.starts[1:-1] - 1, axis=0)


class PaintRole(StrEnum):
    """What a colour is for: the units of a finish, some of them, what stands round openings; or a kind of board."""

    MAIN = "main"
    UNITS = "units"  # timbers, headers, every other cell
    AROUND = "around"  # frames, soldiers, dressed stones
    LEAF = "leaf"
    TRIM = "trim"
    TILE = "tile"
    DARK_TILE = "dark tile"


@dataclass(frozen=True, slots=True, eq=False)
class ColourField:
    """An area of one face of a part that gets one colour.

    finish: its name in the model, empty where the role alone says the colour. area: in the part frame, mm. up: whether
    that face lies up on the laser. thin: whether it is a lattice, which takes stain or a thin wash only.
    """

    finish: str
    role: PaintRole
    area: shapely.Geometry
    up: bool
    thin: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One piece of board.

    id: short, engraved, unique ("W1"). label: what the guide calls it ("Wall section 1").
    stock: name of the stock. outline: nominal, part frame, with tabs and holes; lattices are inside it.
    thickness: mm; board_side: +1 where the board fills z = 0 .. thickness, -1 where it fills -thickness .. 0.
    engrave, score: polylines, each (k, 2) mm, in the part frame. dressings: the lines of its finishes.
    grain: preferred direction of the grain in the part frame, radians, None where it does not matter.
    label_spot: None where nothing of the part is hidden; the label then goes into the waste beside it.
    stage: order of cutting across sheets (0 coupon, 1 walls and joiners, 2 floor, 3 roof).
    pricks: short cuts right through, (2, 2) mm each, that show on the lower face where something is glued there.
    shared_name: what parts that are cut alike are called together, empty where the id alone names the part.
    colour_fields: what gets which colour; what of a face with colours is in none of them stays bare.
    """

    id: str
    label: str
    kind: PartKind
    stock: str
    thickness: float
    face_up: FaceUp
    board_side: int
    outline: Polygon
    panels: tuple[Panel, ...]
    lattices: tuple[PlacedLattice, ...] = ()
    engrave: tuple[np.ndarray, ...] = ()
    score: tuple[np.ndarray, ...] = ()
    grain: float | None = None
    label_spot: LabelSpot | None = None
    stage: int = 1
    notes: tuple[str, ...] = field(default=())
    dressings: tuple[Dressing, ...] = ()
    pricks: tuple[np.ndarray, ...] = ()
    shared_name: str = ""
    colour_fields: tuple[ColourField, ...] = ()

    @property
    def name(self) -> str:
        """What is engraved and what the guide says: one name for all parts that are cut alike."""
        return self.shared_name or self.id

    @property
    def body(self) -> str:
        """Short name of what a dormer's, chimney's or porch's board belongs to, D1 of D1-a; its own id of others."""
        return self.id.rpartition("-")[0] if self.kind is PartKind.UPSTAND else self.id

    @property
    def area(self) -> float:
        """Nominal area of the outline without its holes, mm^2."""
        return float(self.outline.area)

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the outline in the part frame, mm."""
        x0, y0, x1, y1 = self.outline.bounds
        return x1 - x0, y1 - y0


class SameBoards:
    """A part as the key of what is remembered of its boards: parts that differ in what is drawn on them are equal."""

    __slots__ = ("_counts", "part")

    def __init__(self, part: Part) -> None:
        self.part = part
        # the part keeps its outline, so that no other one gets the same number
        form = (id(part.outline), part.panels, part.lattices)
        self._counts = (part.id, part.kind, part.thickness, part.board_side, *form)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, SameBoards) and self._counts == other._counts

    def __hash__(self) -> int:
        return hash(self._counts)


def standing_corners(part: Part, panel: Panel) -> np.ndarray:
    """Return the corners of both faces of a panel's board as it stands, (2 k, 3) mm, those at z = 0 first."""
    return np.vstack([panel.stands.apply(panel.ring, z) for z in (0.0, part.board_side * part.thickness)])


def standing_size(parts: Iterable[Part]) -> tuple[float, float, float]:
    """Return the size of the box round standing parts, mm; zeros where there is none."""
    corners = [standing_corners(part, panel) for part in parts for panel in part.panels]
    if not corners:
        return (0.0, 0.0, 0.0)
    size = np.ptp(np.concatenate(corners), axis=0)
    return (float(size[0]), float(size[1]), float(size[2]))


@dataclass(frozen=True, slots=True, eq=False)
class Joiner:
    """A laminated H-profile that takes two wall ends at a break.

    core, cheeks (outer, inner), ends: part ids; ends are the sections left and right of the line
    seen from outside, end_facets the facets of theirs that the joiner takes.
    line: (2, 3) bottom and top of the break line in the model, mm.
    engaged: how deep each end enters; height along the line.
    channel: least inside width for the painted board; shim: what is to be added to the core for it.
    host_edges: ids of the marked edges.
    """

    id: str
    core: str
    cheeks: tuple[str, str]
    ends: tuple[str, str]
    end_facets: tuple[int, int]
    line: np.ndarray
    core_width: float
    cheek_width: float
    gap: float
    engaged: float
    height: float
    channel: float
    shim: float
    host_edges: tuple[int, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Tab:
    """A tab of a wall or core in its slot of the floor, or of a dormer or chimney in its slot of the roof.

    floor: id of the part with the slot. tab, slot: (4, 3) corners of the two rectangles in its upper plane, model mm,
    same order. play: (across, along) the slot is larger than the tab, mm.
    reach: (3,) from the root of the tab to its tip, mm; None where it goes straight down into the floor.
    """

    part: str
    floor: str
    tab: np.ndarray
    slot: np.ndarray
    play: tuple[float, float]
    reach: np.ndarray | None = None
