"""Two readers of sheets that know nothing of ours, and what is measured in what they read."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import shapely
import svgelements
import svgpathtools
from shapely.geometry import LineString, Polygon
from shapely.geometry.polygon import orient

SVG = "{http://www.w3.org/2000/svg}"

#: svgelements gives px; CSS Values and Units Module Level 3, absolute lengths: 1in = 2.54cm = 96px.
MM = 25.4 / 96

#: A coordinate in a file is off by up to half its last decimal, 0.0005 mm, so an area by no more than this per mm
#: of its outline.
ROUNDED = 0.0008

#: No hold is as long as this, mm: the default hold of 0.5 with a kerf, and rounding.
HOLD = 1.0

OPERATIONS = ("fill", "engrave", "score", "slits", "inner", "outer")


@dataclass(frozen=True)
class Drawn:
    """One path of a file: its operation, id, and lines as ((k, 2) mm in the file's axes, whether closed)."""

    operation: str
    id: str
    lines: tuple[tuple[np.ndarray, bool], ...]

    @property
    def part(self) -> str:
        """What stands before the running number of the id."""
        return self.id.rsplit("-", 1)[0]

    @property
    def length(self) -> float:
        """Length of all lines, mm."""
        return sum(float(np.hypot(*np.diff(closed(*line), axis=0).T).sum()) for line in self.lines)


@dataclass(frozen=True)
class Read:
    """A file as a reader gives it: (width, height) mm, and its paths in the order of the file."""

    size: tuple[float, float]
    paths: tuple[Drawn, ...]

    def of(self, *operations: str) -> list[Drawn]:
        """Return the paths of these operations."""
        return [path for path in self.paths if path.operation in operations]


def closed(points: np.ndarray, shut: bool) -> np.ndarray:
    """Return the points of a line with the first one again at the end where it closes."""
    return np.vstack([points, points[:1]]) if shut else points


def _line(points: list[tuple[float, float]], shut: bool) -> tuple[np.ndarray, bool]:
    line = np.array(points)
    # readers close a line by a last point on the first
    if shut and np.hypot(*(line[0] - line[-1])) < 1e-9:
        line = line[:-1]
    return line, shut


def read_by_svgelements(path: Path) -> Read:
    svg = svgelements.SVG.parse(str(path))
    paths = []
    for group in svg.select(lambda e: isinstance(e, svgelements.Group) and e.id in OPERATIONS):
        for shape in group.select(lambda e: isinstance(e, svgelements.Path)):
            lines = []
            for sub in shape.as_subpaths():
                one = svgelements.Path(sub)
                points = [(one[0].end.x * MM, one[0].end.y * MM)]
                points += [(s.end.x * MM, s.end.y * MM) for s in one if isinstance(s, svgelements.Line)]
                lines.append(_line(points, any(isinstance(s, svgelements.Close) for s in one)))
            paths.append(Drawn(group.id, shape.id, tuple(lines)))
    return Read((svg.width * MM, svg.height * MM), tuple(paths))


def read_by_svgpathtools(path: Path) -> Read:
    """Lines by svgpathtools, groups and the size by Python's own reader of XML; units as the file states them."""
    root = ElementTree.parse(path).getroot()
    width, height = (root.attrib[side] for side in ("width", "height"))
    assert width.endswith("mm") and height.endswith("mm")
    size = float(width[:-2]), float(height[:-2])
    x, y, wide, high = (float(number) for number in root.attrib["viewBox"].split())
    assert (x, y) == (0.0, 0.0)
    scale = np.array([size[0] / wide, size[1] / high])
    paths = []
    for group in (group for group in root.iter(f"{SVG}g") if group.attrib["id"] in OPERATIONS):
        for element in group.iter(f"{SVG}path"):
            lines = []
            # one line at a time: this reader joins a line to the one before it where they meet, as letters do
            for move in re.findall("M[^M]*", element.attrib["d"]):
                sub = svgpathtools.parse_path(move)
                points = [sub[0].start, *(segment.end for segment in sub)]
                points = [tuple(np.array([p.real, p.imag]) * scale) for p in points]
                lines.append(_line(points, move.rstrip().upper().endswith("Z")))
            paths.append(Drawn(group.attrib["id"], element.attrib["id"], tuple(lines)))
    return Read(size, tuple(paths))


def strokes(paths: Iterable[Drawn]) -> list[LineString]:
    """Return every line of the paths, closed ones with their last side."""
    return [LineString(closed(*line)) for path in paths for line in path.lines]


def holds(path: Drawn) -> list[LineString]:
    """Return the short stretches that an outline leaves uncut so that its part does not drop."""
    ends = [(line[0], line[-1]) for line, shut in path.lines if not shut]
    return [
        LineString([end, start])
        for _, end in ends
        for start, _ in ends
        if 0.0 < np.hypot(*(end - start)) < HOLD  # both ends of a hold
    ]


def cut_loose(read: Read, kerf: float) -> list[tuple[str, Polygon]]:
    """What stays of each region that outlines enclose once half a kerf is burnt off, and the part its id names.

    Nothing of ours is asked: regions come from the lines of ``inner`` and ``outer`` alone.
    """
    outer = [line for path in read.of("outer") for line in (*strokes([path]), *holds(path))]
    names = [path.part for path in read.of("outer") for _ in (*path.lines, *holds(path))]
    every = shapely.union_all([*outer, *strokes(read.of("inner"))])
    found = []
    for region in shapely.polygonize(list(shapely.get_parts(every))).geoms:
        edge = [k for k, line in enumerate(outer) if shapely.covers(line, shapely.Point(region.exterior.coords[0]))]
        if edge:  # others are the insides of holes, whose edge is an inner line
            found.append((names[edge[0]], region.buffer(-kerf / 2, quad_segs=64)))
    return found


def round_corners(outline: Polygon, kerf: float) -> float:
    """Board that a round beam leaves in the inner corners of an outline whose line is offset with mitres, mm^2.

    At a turn f the mitre holds r^2 tan(f / 2) of which the beam's disc takes the sector r^2 f / 2.
    """
    total = 0.0
    outline = orient(outline)  # board to the left of every ring
    for ring in (outline.exterior, *outline.interiors):
        points = np.asarray(ring.coords)[:-1]
        run = np.roll(points, -1, axis=0) - points
        before = np.roll(run, 1, axis=0)
        turn = np.arctan2(before[:, 0] * run[:, 1] - before[:, 1] * run[:, 0], (before * run).sum(axis=1))
        inward = -turn[turn < -1e-6]
        total += float((np.tan(inward / 2) - inward / 2).sum()) * (kerf / 2) ** 2
    return total


def designed(part: dict[str, Any]) -> Polygon:
    """Return a part of the report where ``place`` puts it in the file."""
    outline = Polygon(part["outline"][0], part["outline"][1:])
    a, b, c, d, e, f = part["place"]
    return shapely.transform(outline, lambda xy: xy @ np.array([[a, b], [c, d]]) + [e, f])
