"""Light through a standing roof: boards as solids of manifold3d, their shadows along straight rays, by shapely.

A gap is what the modelled surface covers and no board does, seen along a ray that passes every slope from inside to
outside. It is as wide as the widest circle in it. Bends count as closed: their slits are no gaps.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from manifold3d import CrossSection, FillRule, Manifold
from shapely.geometry import LineString, Point, Polygon
from standing_solids import round_shell
from stowfold.geometry.outcome import Outcome
from stowfold.geometry.part import PartKind
from stowfold.geometry.solid.facets import Facet, ShellKind

__all__ = ["Light", "light_through_roof"]

#: Boards that close a roof against light.
_CLOSING = (PartKind.ROOF, PartKind.CAP, PartKind.LAP)

#: Rays lean this far off the upright, degrees, and turn by this; each leaves every slope by this sine at least.
_LEANS, _TURN, _OFF = (0.0, 15.0, 30.0, 45.0), 45.0, 0.1

#: So far from its ends a roof line counts as its middle, and so far to both sides of it gaps are its own, mm.
_END, _BESIDE = 12.0, 6.0

#: Circles are found to this, mm; gaps narrower than twice this are rounding.
_WITHIN = 0.01


@dataclass(frozen=True)
class Light:
    """The widest gap along parted lines away from their ends, where roof lines meet, and at the eaves, mm."""

    along: float
    inner: float
    eaves: float


def light_through_roof(outcome: Outcome, *, thinner: float = 0.0, smaller: float = 0.0) -> Light:
    """Return the light through the roofs; thinner: boards than drawn; smaller: their outlines all round, mm."""
    facets = outcome.facets
    slopes = [
        f for f in facets.facets if facets.shell_of(f).kind is ShellKind.ROOF and not facets.shell_of(f).stands_on
    ]
    ids = {facet.id for facet in slopes}
    solids = list(_boards(outcome, thinner, smaller))
    bent = {host for part in outcome.parts for placed in part.lattices for host in placed.host_edges}
    rims = {point for edge in facets.edges if edge.right is None for point in (edge.start, edge.end)}
    seen = {"along": 0.0, "inner": 0.0, "eaves": 0.0}
    for ray in _rays(slopes):
        aside = np.linalg.svd(ray[None])[2][1:]

        def flat(points: np.ndarray, aside: np.ndarray = aside) -> np.ndarray:
            return np.asarray(points @ aside.T)

        surface = shapely.union_all([Polygon(flat(facets.points[list(facet.rings[0])])) for facet in slopes])
        gaps = surface.difference(_shadow(solids, np.vstack([aside, ray])))
        for edge in facets.edges:
            if edge.left not in ids or edge.right not in ids:
                continue
            ends = flat(facets.points[[edge.start, edge.end]])
            length = float(np.hypot(*(ends[1] - ends[0])))
            if length > 2.5 * _END and not bent.intersection(edge.host_edges):
                back = (ends[1] - ends[0]) * _END / length
                band = LineString([ends[0] + back, ends[1] - back]).buffer(_BESIDE, cap_style="flat")
                seen["along"] = max(seen["along"], _widest(gaps.intersection(band)))
            for point, end in zip((edge.start, edge.end), ends, strict=True):
                where = "eaves" if point in rims else "inner"
                seen[where] = max(seen[where], _widest(gaps.intersection(Point(end).buffer(_END))))
    return Light(**seen)


def _boards(outcome: Outcome, thinner: float, smaller: float) -> Iterator[Manifold]:
    for part in outcome.parts:
        if part.kind not in _CLOSING:
            continue
        board = replace(part, thickness=part.thickness - thinner)
        low = 0.0 if board.board_side > 0 else -board.thickness
        for panel in board.panels:
            whole = Polygon(panel.ring, panel.holes).buffer(-smaller, join_style="mitre")
            for piece in shapely.get_parts(whole):
                rings = [np.asarray(ring.coords)[:-1] for ring in (piece.exterior, *piece.interiors)]
                slab = Manifold.extrude(CrossSection(rings, FillRule.EvenOdd), board.thickness)
                yield slab.translate((0.0, 0.0, low)).transform(panel.stands.matrix)
        for placed in board.lattices:
            yield round_shell(board, placed, board.panels[placed.parent].stands)


def _rays(slopes: Sequence[Facet]) -> Iterator[np.ndarray]:
    normals = np.array([facet.frame.n for facet in slopes])
    for lean in _LEANS:
        for turn in np.arange(7.0, 367.0 if lean else 8.0, _TURN):
            a, b = math.radians(lean), math.radians(turn)
            ray = np.array([math.sin(a) * math.cos(b), math.sin(a) * math.sin(b), math.cos(a)])
            if float((normals @ ray).min()) > _OFF:
                yield ray


def _shadow(solids: Sequence[Manifold], turn: np.ndarray) -> shapely.Geometry:
    shadows = []
    for solid in solids:
        rings = solid.transform(np.column_stack([turn, np.zeros(3)])).project().to_polygons()
        shape: shapely.Geometry = Polygon()
        for ring in rings:
            shape = shape.symmetric_difference(Polygon(ring).buffer(0.0))
        shadows.append(shape)
    return shapely.union_all(shadows)


def _widest(gaps: shapely.Geometry) -> float:
    wide = [gap for gap in shapely.get_parts(gaps) if isinstance(gap, Polygon) and not gap.buffer(-_WITHIN).is_empty]
    return max((2.0 * shapely.maximum_inscribed_circle(gap, tolerance=_WITHIN).length for gap in wide), default=0.0)
