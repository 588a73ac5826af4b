"""Kerf: the beam removes a strip, half of it on either side of the drawn line.

So outlines are drawn half a kerf outside the wood that is to stay, holes half a kerf inside, and
slits so that the opening comes out as designed. An opening that a single pass already makes (or
makes too wide) is drawn as one centre line.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..errors import BadSettingError
from ..findings import Finding, Location, Severity
from ..part import Part, PlacedLattice
from ..tolerance import DRAWN, LENGTH, SNAP
from .lines import Lines

__all__ = ["DrawnPart", "draw_outline", "draw_part", "draw_slits"]

#: Corners sharper than 11.5 degrees are blunted: a mitre runs this many half kerfs past them, at most.
_MITRE_LIMIT = 10.0

#: Every third row of slits is cut, then the rows between, so that heat spreads. Common practice, no source.
_ROW_SKIP = 3


@dataclass(frozen=True, slots=True, eq=False)
class DrawnPart:
    """A part as it is drawn, in the part frame, mm.

    outer: the outline, one closed line. inner: holes (closed), and centre lines of openings that
    are no wider than the kerf (open). slits: per lattice, in the order of cutting.
    """

    outer: Lines
    inner: Lines
    slits: tuple[Lines, ...]
    findings: tuple[Finding, ...]

    @property
    def body(self) -> Polygon:
        """What the drawn outline and holes enclose."""
        holes = [line for line, shut in zip(self.inner.polylines(), self.inner.closed, strict=True) if shut]
        return Polygon(self.outer.points, holes)


def draw_part(part: Part, kerf: float) -> DrawnPart:
    """Draw a part's outline, holes and slits so that what stays is the part as designed.

    kerf: mm, positive; otherwise BadSettingError.
    """
    outer, inner, findings = draw_outline(part.outline, kerf, part=part.id)
    slits = []
    for placed in part.lattices:
        lines, remarks = draw_slits(placed, kerf, part=part.id)
        slits.append(lines)
        findings += remarks
    return DrawnPart(outer, inner, tuple(slits), findings)


def draw_outline(outline: Polygon, kerf: float, *, part: str = "") -> tuple[Lines, Lines, tuple[Finding, ...]]:
    """Return outline, holes and findings, offset by half the kerf to the waste side, with mitred corners.

    ``part`` names the part in the findings. Openings that vanish become centre lines among the holes.
    """
    _check(kerf)
    reach = kerf / 2
    if not outline.is_valid:  # a hole that reaches beyond the outline; the check of the sheets reports it
        outline = Polygon(outline.exterior).difference(shapely.union_all([Polygon(hole) for hole in outline.interiors]))
    clean = shapely.simplify(outline, LENGTH)  # corners on a straight line would only add points
    findings = list(_check_size(clean, kerf, part))
    grown = shapely.buffer(clean, reach, join_style="mitre", mitre_limit=_MITRE_LIMIT)
    pieces = shapely.get_parts(grown)
    if len(pieces) == 0:
        return Lines.of(()), Lines.of(()), tuple(findings)
    body = max(pieces, key=lambda piece: piece.area)
    holes = [_ring(ring) for ring in body.interiors]
    centre_lines = []
    for opening in _lost_openings(clean, grown, kerf):
        line, width = _centre_line(opening, kerf)
        centre = opening.centroid
        findings.append(
            Finding(
                Severity.WARNING,
                "opening-within-kerf",
                f"An opening {width:.2f} mm wide at ({centre.x:.1f}, {centre.y:.1f}) on part {part} is no wider than "
                f"the kerf of {kerf:.2f} mm; it is drawn as one centre line and comes out {kerf:.2f} mm wide",
                Location(part=part or None),
            )
        )
        if line is not None:
            centre_lines.append(line)
    inner = Lines.joined([Lines.of(holes, closed=True), Lines.of(centre_lines)])
    return Lines.of([_ring(body.exterior)], closed=True), inner, tuple(findings)


def draw_slits(placed: PlacedLattice, kerf: float, *, part: str = "") -> tuple[Lines, tuple[Finding, ...]]:
    """Return the slits of a lattice in the part frame, every third row first, and findings.

    An opening wider than the kerf is a rectangle (opening - kerf) by (slit - kerf), or, where the
    slit runs off the board, a U whose legs end one kerf beyond the edge: the outline crosses them
    and closes the mouth, so nothing is cut twice. Otherwise a slit is its centre line. Each slit is
    followed by its neighbour in the row, and every other row is cut backwards.
    """
    _check(kerf)
    layout = placed.slits
    low = np.where(layout.open_start, layout.start - kerf, layout.start + kerf / 2)
    high = np.where(layout.open_end, layout.end + kerf, layout.end - kerf / 2)
    findings: tuple[Finding, ...] = ()
    lost = high - low <= LENGTH
    if lost.any():
        shortest = float((layout.end - layout.start)[lost].min())
        findings = (
            Finding(
                Severity.ERROR,
                "slit-within-kerf",
                f"{int(lost.sum())} slits on part {part} are as short as {shortest:.2f} mm, within the kerf of "
                f"{kerf:.2f} mm; make the slits longer",
                Location(edges=placed.host_edges, part=part or None),
            ),
        )
    findings += _check_opening(placed, kerf, part)
    opening = placed.lattice.opening
    order, backward = _skip_rows(layout.across, low)
    keep = ~lost[order]
    order, backward = order[keep], backward[keep]
    across, low, high = layout.across[order], low[order], high[order]
    if opening <= kerf + LENGTH:
        ends = np.where(backward[:, None], np.stack([high, low], 1), np.stack([low, high], 1))
        local = np.stack([np.repeat(across[:, None], 2, axis=1), ends], axis=2)
        starts = np.arange(0, 2 * len(order) + 1, 2)
        closed = np.zeros(len(order), dtype=bool)
    else:
        local, starts, closed = _slots(
            across, low, high, opening - kerf, layout.open_start[order], layout.open_end[order]
        )
    return Lines(placed.place(local.reshape(-1, 2)), starts, closed), findings


def _slots(
    across: np.ndarray, low: np.ndarray, high: np.ndarray, width: float, open_start: np.ndarray, open_end: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return (m, 4, 2) corners of slots, where each line starts, and which lines close.

    The corners run so that a slot that is open at one end has its mouth between last and first corner;
    a slot open at both ends is two lines of two points each.
    """
    left, right = across - width / 2, across + width / 2
    mouth_high = open_end & ~open_start
    near, far = np.where(mouth_high, high, low), np.where(mouth_high, low, high)
    corners = np.stack(
        [np.stack([left, near], 1), np.stack([left, far], 1), np.stack([right, far], 1), np.stack([right, near], 1)], 1
    )
    through = open_start & open_end
    begin = 4 * np.arange(len(across))
    starts = np.sort(np.concatenate([begin, begin[through] + 2, [4 * len(across)]]))
    closed = np.repeat(~(open_start | open_end), 1 + through)
    return corners, starts, closed


def _skip_rows(across: np.ndarray, low: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the order of slits, every third row first, and which of them lie in rows cut backwards."""
    rows, row = np.unique(np.round(across / LENGTH).astype(np.int64), return_inverse=True)
    turn_of_row = np.empty(len(rows), dtype=np.intp)
    sequence = np.concatenate([np.arange(first, len(rows), _ROW_SKIP) for first in range(_ROW_SKIP)])
    turn_of_row[sequence] = np.arange(len(rows))
    turn = turn_of_row[row]
    backward = turn % 2 == 1
    order = np.lexsort((np.where(backward, -low, low), turn))
    return order, backward[order]


def _ring(ring: shapely.LinearRing) -> np.ndarray:
    return shapely.get_coordinates(ring)[:-1]


def _check(kerf: float) -> None:
    if not kerf > 0 or not np.isfinite(kerf):
        raise BadSettingError(f"The kerf is {kerf:g} mm; it must be above 0, measure it with a coupon")


def _check_size(outline: Polygon, kerf: float, part: str) -> tuple[Finding, ...]:
    """Report a part that the beam would burn away or part: one with a neck that is no wider than the kerf."""
    left = shapely.buffer(outline, -kerf / 2, join_style="mitre", mitre_limit=_MITRE_LIMIT)
    pieces = [piece for piece in shapely.get_parts(left) if piece.area > (kerf / 2) ** 2]
    if len(pieces) == 1:
        return ()
    what = (
        f"is nowhere wider than the kerf of {kerf:.2f} mm and will burn away"
        if not pieces
        else f"has a neck no wider than the kerf of {kerf:.2f} mm and falls into {len(pieces)} pieces"
    )
    message = f"Part {part} {what}; make it wider there"
    return (Finding(Severity.ERROR, "part-too-small", message, Location(part=part or None)),)


def _check_opening(placed: PlacedLattice, kerf: float, part: str) -> tuple[Finding, ...]:
    """Report slits that the beam makes wider than designed, since what it takes more is missing from the links."""
    made = placed.lattice
    if kerf <= made.opening + DRAWN:
        return ()
    link = made.pitch - kerf
    left = f"links of {link:.2f} mm instead of {made.link_width:.2f} mm" if link > LENGTH else "nothing of the links"
    return (
        Finding(
            Severity.WARNING if link > LENGTH else Severity.ERROR,
            "slit-wider-than-designed",
            f"Slits of {made.opening:.2f} mm on part {part} come out as wide as the kerf of {kerf:.2f} mm and leave "
            f"{left}; design the hinge with this kerf, or cut it on a laser with a finer beam",
            Location(edges=placed.host_edges, part=part or None),
        ),
    )


def _lost_openings(outline: Polygon, grown: shapely.Geometry, kerf: float) -> list[Polygon]:
    """Return holes and notches that growing by half a kerf has closed, from left to right.

    What is narrower than SNAP is noise of the model: no beam and no eye finds an opening there.
    """
    shrunk = shapely.buffer(grown, -kerf / 2, join_style="mitre", mitre_limit=_MITRE_LIMIT)
    lost = shapely.difference(shrunk, outline)
    pieces = [
        piece
        for piece in shapely.get_parts(lost)
        if piece.area > (kerf / 4) ** 2 and not shapely.buffer(piece, -SNAP / 2).is_empty
    ]
    return sorted(pieces, key=lambda piece: piece.bounds)


def _centre_line(opening: Polygon, kerf: float) -> tuple[np.ndarray | None, float]:
    """Return the centre line of a narrow opening, (2, 2) mm, half a kerf short at both ends, and its width.

    None where the opening is no longer than the kerf either.
    """
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(opening))
    first, second = corners[1] - corners[0], corners[2] - corners[1]
    if np.hypot(*first) < np.hypot(*second):
        first, second, corners = second, -first, corners[1:]
    length, width = float(np.hypot(*first)), float(np.hypot(*second))
    if length - kerf <= LENGTH:
        return None, width
    begin = corners[0] + second / 2
    inset = first / length * kerf / 2
    return np.array([begin + inset, begin + first - inset]), width
