"""By hand: a maker takes a part and moves it about its sheets, and is told where it may lie.

The part keeps the laser's spacing and margin exactly as in a layout: near a fitting place it comes to lie
there, touching what it was pushed against. Parts that are not pinned give way: they are laid out again.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import shapely

from ..nest.outline_fit import Shape, free_spans, joined, slices, turned_shapes
from ..part import Part
from ..tolerance import DRAWN, LENGTH
from .layout import Layout
from .piece import Piece, Placement
from .routing import Bench, benches_for

__all__ = ["Bearing", "Fit", "InHand"]

#: Places are kept to this many decimals of a millimetre, like coordinates in cut files.
_DECIMALS = 3


class Fit(StrEnum):
    """Whether a part may lie where it is held."""

    FREE = "free"  # it keeps spacing and margin
    OTHERS_MOVE = "others move"  # it lies on parts that are not pinned and will be laid out around it
    NOT = "not"


@dataclass(frozen=True, slots=True, eq=False)
class Bearing:
    """Where a part is held and whether it may lie there. why: what to tell the maker, a few words.

    touched: ids of the parts that it would lie on.
    """

    placement: Placement
    fit: Fit
    why: str
    touched: tuple[str, ...] = ()


class InHand:
    """One part that is moved by hand over the sheets of a layout.

    placements: where everything lies now, the part itself included; fixed: ids of parts that do not give way.
    quarter: quarter turns counter-clockwise in which it is held.
    """

    def __init__(
        self,
        layout: Layout,
        parts: Mapping[str, Part],
        part: str,
        *,
        placements: Sequence[Placement] | None = None,
        fixed: Collection[str] = (),
    ) -> None:
        self._layout, self._parts, self._fixed = layout, parts, frozenset(fixed)
        self._others = [placement for placement in placements or layout.placements if placement.part != part]
        self.start = next(placement for placement in placements or layout.placements if placement.part == part)
        self.part = parts[part]
        self.quarter = round(self.start.turn / (math.pi / 2)) % 4
        self._benches: dict[int, Bench] = {}
        self._pieces: dict[tuple[int, str], Piece | None] = {}
        self._shapes: dict[tuple[int, int], tuple[Shape, shapely.Geometry]] = {}
        self._beds: dict[int, _Bed] = {}

    def turn(self) -> None:
        """Turn the part by a quarter, counter-clockwise."""
        self.quarter = (self.quarter + 1) % 4

    def shift_for(self, held: Sequence[float] | np.ndarray, at: Sequence[float] | np.ndarray) -> np.ndarray:
        """Return the shift that brings a point of the part frame to a point of the sheet, (2,) mm."""
        origin = Placement(self.part.id, 0, self.angle, np.zeros(2))
        return np.asarray(at, dtype=float) - origin.place(np.array([held], dtype=float))[0]

    @property
    def angle(self) -> float:
        """The turn in which the part is held, radians."""
        return self.quarter * math.pi / 2

    def bear(
        self, sheet: int, shift: Sequence[float] | np.ndarray, *, snap: float = 0.0, beside: bool = False
    ) -> Bearing:
        """Return where the part comes to lie when it is held on a sheet with this shift, and whether it may.

        snap: how far it may jump to a fitting place, mm. beside: whether the hand is not over the sheet.
        """
        held, snap = np.array(shift, dtype=float), max(snap, DRAWN)
        if beside:
            return self._refuse(sheet, held, "is beside the sheets")
        target = self._layout.sheets[sheet]
        if target.stock.name != self.part.stock:
            return self._refuse(sheet, held, f"wants another board: this sheet is {target.stock.label}")
        if target.laser.name != self._layout.sheets[self.start.sheet].laser.name:
            return self._refuse(sheet, held, f"wants another laser: this sheet is cut on the {target.laser.label}")
        piece = self._piece(sheet, self.part)
        if piece is None:
            return self._refuse(sheet, held, "is too large for sheets of this laser")
        shape, area = self._shape(sheet, piece)
        bed = self._bed(sheet)
        corner = held - shape.origin - bed.edge
        note = "" if self.quarter in piece.turns or len(piece.turns) == 4 else ", against its grain"
        for fixed_only in (False, True):
            upright, lying = bed.obstacles(self._fixed if fixed_only else None)
            found = _nearest_free(shape, corner, bed.room, upright, lying, snap)
            if found is not None:
                place = np.round(found + shape.origin + bed.edge, _DECIMALS)
                if not fixed_only:
                    return self._lay(sheet, place, Fit.FREE, f"fits{note}")
                touched = self._touched(bed, area, place)
                loose = tuple(name for name in touched if name not in self._fixed)
                if not touched:
                    return self._lay(sheet, place, Fit.FREE, f"fits{note}")
                if loose:
                    words = f"lies on {', '.join(loose[:4])}{' ...' if len(loose) > 4 else ''}, to be laid out again"
                    return self._lay(sheet, place, Fit.OTHERS_MOVE, f"{words}{note}", loose)
        touched = tuple(name for name in self._touched(bed, area, held) if name in self._fixed)
        if touched:
            return self._refuse(sheet, held, f"is too near {', '.join(touched)}, pinned there", touched)
        return self._refuse(sheet, held, f"reaches into the sheet's margin of {target.laser.margin:g} mm")

    def _lay(self, sheet: int, shift: np.ndarray, fit: Fit, why: str, touched: tuple[str, ...] = ()) -> Bearing:
        shift = np.array(shift)
        shift.setflags(write=False)
        return Bearing(Placement(self.part.id, sheet, self.angle, shift), fit, why, touched)

    def _refuse(self, sheet: int, shift: np.ndarray, why: str, touched: tuple[str, ...] = ()) -> Bearing:
        return self._lay(sheet, shift, Fit.NOT, why, touched)

    def _bench(self, sheet: int) -> Bench:
        if sheet not in self._benches:
            there = self._layout.sheets[sheet]
            self._benches[sheet] = benches_for(there.stock, [there.laser])[0]
        return self._benches[sheet]

    def _piece(self, sheet: int, part: Part) -> Piece | None:
        # sheets of one stock and laser prepare a part alike
        there = self._layout.sheets[sheet]
        alike = ((known.stock, known.laser) == (there.stock, there.laser) for known in self._layout.sheets)
        like = next(k for k, same in enumerate(alike) if same)
        if (like, part.id) not in self._pieces:
            piece, _ = self._bench(like).prepare(part)
            self._pieces[like, part.id] = piece if isinstance(piece, Piece) else None
        return self._pieces[like, part.id]

    def _shape(self, sheet: int, piece: Piece) -> tuple[Shape, shapely.Geometry]:
        """Return the part's shape as it is turned, and its area drawn in by what rounding may take."""
        if (sheet, self.quarter) not in self._shapes:
            (shape,) = turned_shapes(piece.area, (self.quarter,))
            self._shapes[sheet, self.quarter] = shape, shapely.buffer(piece.area, -DRAWN)
        return self._shapes[sheet, self.quarter]

    def _bed(self, sheet: int) -> _Bed:
        if sheet not in self._beds:
            bench, size = self._bench(sheet), self._layout.sheets[sheet].size
            edge = bench.beam.margin - bench.beam.spacing / 2
            areas = {}
            for other in self._others:
                if other.sheet == sheet and other.part in self._parts:
                    piece = self._piece(sheet, self._parts[other.part])
                    if piece is not None:
                        areas[other.part] = shapely.transform(piece.area, other.place)
            self._beds[sheet] = _Bed(areas, (size[0] - 2 * edge, size[1] - 2 * edge), edge)
        return self._beds[sheet]

    def _touched(self, bed: _Bed, area: shapely.Geometry, shift: np.ndarray) -> tuple[str, ...]:
        here = shapely.transform(area, Placement(self.part.id, 0, self.angle, np.asarray(shift)).place)
        return tuple(sorted(name for name, other in bed.areas.items() if shapely.intersects(here, other)))


class _Bed:
    """What lies on one sheet: areas by part id, sheet frame; room: inside the edge, which is left free, mm."""

    def __init__(self, areas: Mapping[str, shapely.Geometry], room: tuple[float, float], edge: float) -> None:
        self.areas, self.room, self.edge = areas, room, edge
        inside = {name: shapely.transform(area, lambda points: points - edge) for name, area in areas.items()}
        self._slices = {name: (slices(area), slices(_exchanged(area))) for name, area in inside.items()}

    def obstacles(self, names: Collection[str] | None) -> tuple[np.ndarray, np.ndarray]:
        """Return the slices over x and over y of some areas, of all for None."""
        some = [cut for name, cut in self._slices.items() if names is None or name in names]
        return joined([upright for upright, _ in some]), joined([lying for _, lying in some])


def _exchanged(area: shapely.Geometry) -> shapely.Geometry:
    return shapely.transform(area, lambda points: points[:, ::-1])


def _nearest_free(
    shape: Shape,
    corner: np.ndarray,
    room: tuple[float, float],
    upright: np.ndarray,
    lying: np.ndarray,
    snap: float,
) -> np.ndarray | None:
    """Return the free place of the shape's lower left corner near ``corner``, none farther away than ``snap``.

    Places that touch something two ways are better than those that touch one way, and these than free ones.
    """
    most = np.array(room) - shape.size
    if most.min() < -2 * LENGTH:
        return None
    most = np.maximum(most, 0.0)
    at = np.clip(corner, 0.0, most)
    if np.hypot(*(at - corner)) > snap + DRAWN:
        return None

    def up(x: float) -> np.ndarray:
        return free_spans(shape.upright, x, upright, 0.0, float(most[1]))

    def across(y: float) -> np.ndarray:
        return free_spans(shape.lying, y, lying, 0.0, float(most[0]))

    found: list[tuple[int, float, float, float]] = []
    starts = [(x, at[1]) for x, _ in _near(across(at[1]), at[0], snap)]
    starts += [(at[0], y) for y, _ in _near(up(at[0]), at[1], snap)]
    starts.append((at[0], at[1]))
    for x, y in starts:
        for free_y, touches_y in _near(up(x), y, snap):
            for free_x, touches_x in _near(across(free_y), x, snap):
                distance = math.hypot(free_x - corner[0], free_y - corner[1])
                if distance <= snap + DRAWN:
                    found.append((-(touches_x + touches_y), distance, free_x, free_y))
    if not found:
        return None
    return np.array(min(found)[2:])


def _near(spans: np.ndarray, value: float, snap: float) -> list[tuple[float, bool]]:
    """Return free values near a value, with whether each touches the end of its span: at most one apart from ends."""
    values = []
    for low, high in spans.tolist():
        if low - snap <= value <= high + snap:
            ends = [end for end in (low, high) if abs(end - value) <= snap]
            values += [(end, True) for end in ends]
            if low < value < high:
                values.append((value, False))
            elif not ends and low == value == high:
                values.append((value, True))
    return values
