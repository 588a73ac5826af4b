"""The last look at the sheets before they are cut: what was laid out is measured, not believed.

Whatever placed the parts, lines that would spoil a sheet are found here: parts too close for the
kerf between them, lines off the usable sheet, holes outside their part, lines that the beam would
follow twice and char.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..beam.holds import hold_gaps, share_edge
from ..beam.laser import Laser, Operation
from ..beam.lettering import Label, place_label
from ..beam.lines import Lines
from ..board.grain import check_grain, check_warp, is_solid_wood
from ..findings import Finding, Location, Severity, in_order
from ..part import Part
from ..tolerance import DRAWN
from .layout import Layout
from .order import path_lines
from .routing import lie_on_bed

__all__ = ["check_grain_way", "check_sheets", "doubled_lines"]

#: Directions that differ by less are the same for a line as long as a sheet, radians.
_PARALLEL = 1e-5

_RINGS = (Operation.INNER, Operation.OUTER)

_CUTS = (Operation.SLITS, Operation.INNER, Operation.OUTER)


@dataclass(frozen=True, slots=True, eq=False)
class _Laid:
    """A part where it lies: its paths, the area inside its outline without its holes, its slits, its label.

    strays: how many holes of the part as designed do not lie within its outline.
    """

    part: str
    paths: Mapping[Operation, list[Lines]]
    body: Polygon
    whole: Polygon
    slits: shapely.Geometry
    label: shapely.Geometry | None
    strays: int


def check_sheets(
    layout: Layout,
    parts_by_id: Mapping[str, Part],
) -> tuple[Finding, ...]:
    """Return what is wrong with the sheets as they will be drawn, the heaviest findings first."""
    findings: list[Finding] = []
    for index, sheet in enumerate(layout.sheets):
        laser, kerf = sheet.laser, sheet.stock.kerf
        laid = [
            _lay(parts_by_id[placement.part], layout, number, kerf, laser, layout.labels.get(placement.part))
            for number, placement in enumerate(layout.placements)
            if placement.sheet == index
        ]
        findings += _check_distances(laid, sheet.file, kerf, laser.spacing)
        findings += _check_margin(laid, sheet.file, sheet.size, laser.margin, kerf)
        findings += _check_holes(laid, kerf)
        findings += _check_doubles(laid, sheet.file)
        findings += _check_holds(laid, kerf, laser)
    return in_order(findings)


def check_grain_way(layout: Layout, parts: Mapping[str, Part]) -> tuple[Finding, ...]:
    """Advise on slits that run across the grain where parts lie now, and on long boards of solid wood."""
    findings: list[Finding] = []
    for placed in layout.placements:
        part = parts[placed.part]
        sheet = layout.sheets[placed.sheet]
        stock = sheet.stock
        if not is_solid_wood(stock):
            continue
        where = Location(part=part.id)
        _, grain, _ = lie_on_bed(stock, sheet.laser)
        for lattice in part.lattices if grain is not None else ():
            run = math.atan2(float(lattice.along[1]), float(lattice.along[0])) + placed.turn
            findings += check_grain(stock, where, between=abs(math.remainder(run - (grain or 0.0), math.pi)))
        findings += check_warp(stock, where, length=max(part.size))
    return tuple(dict.fromkeys(findings))


def _lay(part: Part, layout: Layout, number: int, kerf: float, laser: Laser, label: Label | None) -> _Laid:
    placement = layout.placements[number]
    label = label or place_label(part)
    paths = path_lines(part, placement, kerf, laser, label=label)
    outer = paths[Operation.OUTER][0].points if paths[Operation.OUTER] else np.zeros((3, 2))
    holes = [path.points for path in paths[Operation.INNER] if path.closed[0]]
    slits = Lines.joined(paths[Operation.SLITS])
    footprint = None
    if label.footprint is not None:
        footprint = Polygon(placement.place(shapely.get_coordinates(label.footprint)))
    segments = shapely.MultiLineString(list(slits.segments()))
    return _Laid(part.id, paths, Polygon(outer, holes), Polygon(outer), segments, footprint, _strays(part))


def _strays(part: Part) -> int:
    """Count the holes that leave the outline: growing for the kerf would swallow them unseen."""
    designed = Polygon(part.outline.exterior)
    return sum(not shapely.covers(designed, Polygon(hole)) for hole in part.outline.interiors)


def _check_distances(laid: list[_Laid], file: str, kerf: float, spacing: float) -> list[Finding]:
    """Compare every two parts that lie near each other, open slits and waste labels included."""
    findings = []
    bodies = np.array([lying.body for lying in laid], dtype=object)
    reach = spacing + 3 * kerf  # open slits end half a kerf past the line that they cross
    near = shapely.STRtree(bodies).query(bodies, predicate="dwithin", distance=reach)
    for i, j in sorted({(int(a), int(b)) for a, b in near.T if a < b}):
        one, other = laid[i], laid[j]
        crossings = [(a.slits, b.body) for a, b in ((one, other), (other, one)) if not a.slits.is_empty]
        gap = min(float(shapely.distance(a, b)) for a, b in [(one.body, other.body), *crossings])
        overlap = float(shapely.area(shapely.intersection(one.body, other.body)))
        run_in = sum(float(shapely.length(shapely.intersection(a, b))) for a, b in crossings)
        apart = overlap <= DRAWN * min(one.body.length, other.body.length) and run_in <= DRAWN
        if apart and (spacing == 0 or (gap < DRAWN and share_edge(one.whole, other.whole))):
            continue  # a beam along the line of one takes nothing from the other; what they share is drawn once
        if gap < kerf - DRAWN:
            how = f"overlap by {overlap:.1f} mm^2" if overlap > 0 else f"are {gap:.2f} mm apart"
            if run_in > DRAWN:
                how = f"meet where slits of one run {run_in:.2f} mm into the other"
            findings.append(
                Finding(
                    Severity.ERROR,
                    "parts-overlap",
                    f"Parts {one.part} and {other.part} {how} on {file}; at least the kerf of {kerf:.2f} mm must lie "
                    f"between their lines, move one of them",
                    Location(part=one.part),
                )
            )
        elif gap - kerf < spacing - DRAWN:
            findings.append(
                Finding(
                    Severity.WARNING,
                    "spacing-not-kept",
                    f"{gap - kerf:.2f} mm of board stay between the cuts of parts {one.part} and {other.part} on "
                    f"{file}; the laser's spacing is {spacing:.2f} mm",
                    Location(part=one.part),
                )
            )
    for lying in laid:
        if lying.label is not None:
            for i in sorted(shapely.STRtree(bodies).query(lying.label, predicate="intersects")):
                findings.append(
                    Finding(
                        Severity.WARNING,
                        "label-on-part",
                        f"The label of part {lying.part} lies on part {laid[i].part} on {file}; it belongs in the "
                        "waste",
                        Location(part=lying.part),
                    )
                )
    return findings


def _check_margin(laid: list[_Laid], file: str, size: tuple[float, float], margin: float, kerf: float) -> list[Finding]:
    """Find lines along which the beam burns into the margin."""
    findings = []
    for lying in laid:
        points = np.concatenate([lines.points for several in lying.paths.values() for lines in several])
        excess = float(max((margin - points).max(), (points - (np.array(size) - margin)).max())) + kerf / 2
        if excess > DRAWN:
            findings.append(
                Finding(
                    Severity.ERROR,
                    "outside-margin",
                    f"Part {lying.part} reaches {excess:.2f} mm into the margin of {margin:g} mm on {file}; "
                    f"move it inward",
                    Location(part=lying.part),
                )
            )
    return findings


def _check_holes(laid: list[_Laid], kerf: float) -> list[Finding]:
    """Find holes and slits that leave their part; only open slits cross its outline, by half a kerf."""
    findings = []
    for lying in laid:
        holes = [Polygon(lines.points) for lines in lying.paths[Operation.INNER] if lines.closed[0]]
        holes += [shapely.LineString(lines.points) for lines in lying.paths[Operation.INNER] if not lines.closed[0]]
        outside = max(lying.strays, sum(not inside for inside in shapely.contains_properly(lying.whole, holes)))
        slits_leave = not lying.slits.is_empty and not shapely.covers(
            shapely.buffer(lying.whole, kerf / 2 + DRAWN, join_style="mitre"), lying.slits
        )
        if outside or slits_leave:
            holes_outside = "1 hole" if outside == 1 else f"{outside} holes"
            what = holes_outside if outside else "slits of a lattice"
            findings.append(
                Finding(
                    Severity.ERROR,
                    "hole-outside-part",
                    f"Part {lying.part} has {what} beyond its outline; what is cut must lie inside",
                    Location(part=lying.part),
                )
            )
    return findings


def _check_doubles(laid: list[_Laid], file: str) -> list[Finding]:
    """Find lines of a sheet that run along one another; only engraving and scores may, with a warning."""
    pieces, owner, cuts, rings = [], [], [], []
    for number, lying in enumerate(laid):
        for operation, several in lying.paths.items():
            for lines in several:
                segments = lines.segments()
                pieces.append(segments)
                owner.append(np.full(len(segments), number))
                cuts.append(np.full(len(segments), operation in _CUTS))
                rings.append(np.full(len(segments), bool(lines.closed.all()) and operation in _RINGS))
    if not pieces:
        return []
    segments, owners, cut = np.concatenate(pieces), np.concatenate(owner), np.concatenate(cuts)
    ring = np.concatenate(rings)
    found: dict[tuple[str, str, bool], float] = {}
    for a, b, length in doubled_lines(segments):
        if ring[a] and ring[b] and owners[a] != owners[b]:
            continue  # outlines that share a line: it is drawn once, and whether they may was looked at before
        names = sorted((laid[owners[a]].part, laid[owners[b]].part))
        key = (names[0], names[1], bool(cut[a] or cut[b]))
        found[key] = found.get(key, 0.0) + length
    findings = []
    for (one, other, cutting), length in sorted(found.items()):
        who = f"part {one}" if one == other else f"parts {one} and {other}"
        findings.append(
            Finding(
                Severity.ERROR if cutting else Severity.WARNING,
                "line-drawn-twice",
                f"Lines of {who} run along one another for {length:.2f} mm on {file}; each line must be drawn once",
                Location(part=one),
            )
        )
    return findings


def _check_holds(laid: list[_Laid], kerf: float, laser: Laser) -> list[Finding]:
    """Say which outlines have too little room for the holds that the laser's settings ask for."""
    findings = []
    for lying in laid if laser.holds else ():
        ring = Lines.of([np.asarray(lying.whole.exterior.coords)[:-1]], closed=True)
        zones = shapely.buffer(lying.slits, kerf) if not lying.slits.is_empty else Polygon()
        room = len(hold_gaps(ring, laser, kerf, avoid=zones))
        if room < laser.holds:
            message = (
                f"Part {lying.part} has room for {room} of {laser.holds} holds of {laser.hold_length:g} mm; "
                "it may drop when it is cut, so hold it down or ask for fewer or shorter ones"
            )
            findings.append(Finding(Severity.NOTE, "too-few-holds", message, Location(part=lying.part)))
    return findings


def doubled_lines(segments: np.ndarray) -> list[tuple[int, int, float]]:
    """Return pairs of segments that lie on one line and overlap, with the length they share, mm.

    segments: (k, 2, 2) mm. A segment is paired with the one before it that reaches farthest.
    """
    ends = segments[:, 1] - segments[:, 0]
    lengths = np.hypot(*ends.T)
    kept = np.flatnonzero(lengths > DRAWN)
    if len(kept) < 2:
        return []
    ends = ends[kept] / lengths[kept, None]
    # One direction per line: to the right, or upward where it is upright.
    upright = np.abs(ends[:, 0]) < _PARALLEL
    ends *= np.where(np.where(upright, ends[:, 1], ends[:, 0]) < 0, -1.0, 1.0)[:, None]
    angles = np.arctan2(ends[:, 1], ends[:, 0])
    group = _grouped(angles, np.zeros(len(kept), dtype=np.intp), _PARALLEL)
    # All segments of a group are measured along its mean direction, from the middle of the sheet.
    mean = np.bincount(group, angles) / np.bincount(group)
    direction = np.column_stack([np.cos(mean[group]), np.sin(mean[group])])
    from_middle = segments[kept] - segments[kept].mean(axis=(0, 1))
    aside = from_middle.mean(axis=1)
    offsets = direction[:, 0] * aside[:, 1] - direction[:, 1] * aside[:, 0]
    line = _grouped(offsets, group, DRAWN)
    stations = np.einsum("kij,kj->ki", from_middle, direction)
    first, last = stations.min(axis=1), stations.max(axis=1)
    order = np.lexsort((first, line))
    return _overlaps(kept[order], line[order], first[order], last[order])


def _overlaps(ids: np.ndarray, line: np.ndarray, first: np.ndarray, last: np.ndarray) -> list[tuple[int, int, float]]:
    """Return overlapping pairs of segments sorted by line and start."""
    stride = 2.0 * (last.max() - first.min() + 1.0)
    reached = np.maximum.accumulate(last + line * stride) - line * stride
    suspects = np.flatnonzero((line[1:] == line[:-1]) & (reached[:-1] - first[1:] > DRAWN)) + 1
    pairs = []
    for i in suspects:
        begin = int(np.searchsorted(line, line[i]))
        before = begin + int(np.argmax(last[begin:i]))
        pairs.append((int(ids[before]), int(ids[i]), float(min(last[before], last[i]) - first[i])))
    return pairs


def _grouped(values: np.ndarray, groups: np.ndarray, tolerance: float) -> np.ndarray:
    """Return group numbers: members of one group of ``groups`` whose values follow within the tolerance."""
    order = np.lexsort((values, groups))
    apart = np.ones(len(values), dtype=np.intp)
    apart[0] = 0
    steps = np.diff(values[order]) <= tolerance
    apart[1:] = ~(steps & (np.diff(groups[order]) == 0))
    numbers = np.empty(len(values), dtype=np.intp)
    numbers[order] = np.cumsum(apart)
    return numbers
