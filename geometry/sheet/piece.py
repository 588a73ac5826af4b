"""What a part needs on its sheet: its outline as drawn, its label, half the spacing, its turns; and where it lies."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..beam.kerf import DrawnPart, draw_part
from ..beam.laser import Laser
from ..beam.lettering import LABEL_CLEAR, Label, place_label
from ..board.stock import Stock
from ..findings import Finding, Location, Severity
from ..part import Part
from ..tolerance import ANGLE, LENGTH

__all__ = ["Piece", "Placement", "Unfit", "prepare"]

#: Corners sharper than 60 degrees are blunted where half the spacing is added; the distance stays kept.
_MITRE_LIMIT = 2.0


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A part with its outline as drawn, the area it claims, and the quarter turns it may take (0 .. 3).

    area: part frame, mm; it reaches half the spacing beyond all that is drawn, label in the waste included. Where
    parts may share a cut, the outline is its own limit; labels and open slits still keep what the beam burns there.
    label: where its id is written. keeps_grain: whether a turn that fits runs the grain as the part wants it.
    """

    part: Part
    outline: Polygon
    area: shapely.Geometry
    turns: tuple[int, ...]
    label: Label
    keeps_grain: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class Placement:
    """One part on its sheet.

    turn: the part is turned counter-clockwise by this angle (radians) and then shifted by ``shift``
    (2,) mm; sheet frame: x right, y up, origin at the lower left corner of the sheet.
    """

    part: str
    sheet: int
    turn: float
    shift: np.ndarray

    def place(self, points: np.ndarray) -> np.ndarray:
        """Return points of the part frame, (k, 2) mm, on the sheet."""
        c, s = np.cos(self.turn), np.sin(self.turn)
        return np.asarray(points) @ np.array([[c, s], [-s, c]]) + self.shift


@dataclass(frozen=True, slots=True)
class Unfit:
    """A part that a sheet does not take. excess: mm that it lacks one way at least, infinite for no part at all."""

    excess: float


def prepare(
    part: Part, stock: Stock, laser: Laser, beam: Laser, size: tuple[float, float], grain: float | None
) -> tuple[Piece | Unfit, tuple[Finding, ...]]:
    """Draw a part, find the turns it may take on a sheet of ``size``, and report what is wrong with it.

    beam: the laser with margin and spacing measured to drawn lines. grain: its direction on the sheet,
    radians. Unfit where no sheet takes the part.
    """
    drawn = draw_part(part, stock.kerf)
    label = place_label(part)
    findings = [*drawn.findings]
    if len(drawn.outer) == 0:
        return Unfit(math.inf), tuple(findings)
    area = _claimed(part, drawn, label, beam.spacing / 2, stock.kerf / 2)
    x0, y0, x1, y1 = area.bounds
    wide, tall = x1 - x0 - beam.spacing, y1 - y0 - beam.spacing
    room = (size[0] - 2 * beam.margin, size[1] - 2 * beam.margin)
    fitting = [
        quarter
        for quarter, (w, h) in enumerate([(wide, tall), (tall, wide)])
        if w <= room[0] + LENGTH and h <= room[1] + LENGTH
    ]
    where = Location(part=part.id)
    if not fitting:
        excess = min(max(w - room[0], h - room[1]) for w, h in ((wide, tall), (tall, wide)))
        message = (
            f"Part {part.id} needs {wide:.1f} x {tall:.1f} mm with kerf and label, {excess:.1f} mm more than a sheet "
            f"of {stock.label} has inside its margins on the {laser.label} ({room[0]:.1f} x {room[1]:.1f} mm); "
            f"part it with a break, or take a larger sheet or laser"
        )
        return Unfit(excess), (*findings, Finding(Severity.ERROR, "part-longer-than-sheet", message, where))
    turns = [quarter for quarter in fitting if quarter in _along_grain(part.grain, grain)]
    keeps_grain = bool(turns)
    if not keeps_grain:
        message = (
            f"Part {part.id} fits a sheet of {stock.label} only with the grain the other way than it should run; "
            f"part it with a break, or accept a weaker part"
        )
        findings.append(Finding(Severity.WARNING, "grain-not-kept", message, where))
        turns = fitting
    return Piece(part, drawn.body, area, (*turns, *(turn + 2 for turn in turns)), label, keeps_grain), tuple(findings)


def _along_grain(wanted: float | None, grain: float | None) -> tuple[int, ...]:
    """Return the quarter turns (0 or 1) that bring the part's grain nearest to the sheet's."""
    if wanted is None or grain is None:
        return 0, 1
    off = [abs(math.remainder(wanted + quarter * math.pi / 2 - grain, math.pi)) for quarter in (0, 1)]
    return tuple(quarter for quarter in (0, 1) if off[quarter] <= min(off) + ANGLE)


def _claimed(part: Part, drawn: DrawnPart, label: Label, reach: float, burnt: float) -> shapely.Geometry:
    """Return everything that is drawn for a part and its label, grown by ``reach``, part frame, mm.

    burnt: half a kerf; what is drawn outside the outline is grown by no less.
    """
    areas = [shapely.make_valid(drawn.body)]
    if label.footprint is not None:
        # other parts stay further from a label than its own part is
        clear = max(burnt - reach, LABEL_CLEAR - 2 * reach, 0.0)
        areas.append(shapely.buffer(label.footprint, clear, join_style="mitre"))
    inside = shapely.buffer(shapely.union_all(areas), LENGTH)
    shapely.prepare(inside)
    rows = []
    for placed, lines in zip(part.lattices, drawn.slits, strict=True):
        # open slits end half a kerf beyond the outline, side by side along either edge
        along = lines.points @ placed.along
        upper = along > (along.min(initial=0.0) + along.max(initial=0.0)) / 2
        rows += [lines.points[upper], lines.points[~upper]]
    # sixteen sides round a circle keep the distance in all directions, and no more of it to the sides of the sheet
    corners = (np.arange(16) + 0.5) * (math.pi / 8)
    ring = np.column_stack([np.cos(corners), np.sin(corners)]) * (max(reach, burnt) / math.cos(math.pi / 16))
    beyond = []
    for points in (*rows, *part.engrave, *part.score, *label.strokes):
        strays = np.asarray(points)[~shapely.intersects_xy(inside, points)]
        if len(strays):
            beyond.append(shapely.multipoints((strays[:, None] + ring).reshape(-1, 2)).convex_hull)
    grown = shapely.buffer(areas, reach, join_style="mitre", mitre_limit=_MITRE_LIMIT)
    return shapely.union_all([*grown, *beyond])
