"""What standing walls cover of the plan, and the outline of the floor round them."""

from __future__ import annotations

import math

import numpy as np
from shapely.geometry import MultiPoint, MultiPolygon, Polygon
from shapely.geometry.polygon import orient
from shapely.ops import unary_union

from ..settings import BuildSettings
from ..solid.facets import Edge, Facets, Shell
from ..solid.solid import Role
from ..tolerance import AREA, SNAP
from ..unfold.cheeks import joiner_at
from ..unfold.round_seams import bends_like
from ..unfold.section import Sections

__all__ = ["CREVICE", "footprint", "inside_walls", "rim_round", "walls_outline"]

#: Chords per quarter of a rounded corner of the floor's outline.
_QUARTER = 12

#: Wide enough to close the hairlines between footprints that single precision leaves, mm.
_HAIR = 1e-3

#: Notches of the outline narrower than this are filled, mm: wider than any kerf, narrower than anyone could use.
CREVICE = 0.5


def walls_outline(facets: Facets, sections: Sections, ids: tuple[int, ...], settings: BuildSettings) -> Polygon:
    """Return the plan of the standing walls of a shell without their joiners, bends rounded, openings ignored."""
    return footprint(facets, sections, ids, settings, joiners=False)


def footprint(
    facets: Facets, sections: Sections, ids: tuple[int, ...], settings: BuildSettings, *, joiners: bool = True
) -> Polygon:
    """Return what the standing walls of a shell cover of the plan, bends rounded, openings ignored."""
    thickness = settings.walls.thickness
    setbacks = sections.setbacks
    shapes = []
    for facet_id in ids:
        facet = facets.facets[facet_id]
        if not facet.upright:
            continue
        moved = setbacks.facets[facet_id]
        low = float(moved.rings[0].points[:, 0].min())
        high = float(moved.rings[0].points[:, 0].max())
        run = np.array([[low, 0.0], [high, 0.0]])
        plan = np.vstack([facet.frame.raise_(run), facet.frame.raise_(run[::-1], thickness)])[:, :2]
        shapes.append(Polygon(plan).buffer(_HAIR, join_style="mitre"))
        for edge in facets.edges_of(facet):
            if edge.right is None or edge.left != facet_id:
                continue
            if edge.id in setbacks.bends and facets.facets[edge.right].upright:
                shapes.append(_bent_plan(facets, setbacks.bends[edge.id].reference_radius, edge, thickness))
            elif (like := bends_like(facets, edge)) is not None and like.id in setbacks.bends:
                shapes.append(_bent_plan(facets, setbacks.bends[like.id].reference_radius, edge, thickness))
            elif edge.role is Role.BREAK and joiners:
                cheeks = joiner_at(setbacks, facets, edge, settings).cheek_width
                shapes.append(_joiner_plan(facets, edge, cheeks, settings))
    shapes += [_covered(facets, shell) for shell in facets.shells if shell.facets == ids and facets.is_porch(shell)]
    return unary_union(shapes)


def _covered(facets: Facets, porch: Shell) -> Polygon:
    """Return a hair round what a porch covers, so that the floor goes on below it where its sides are open."""
    covered = MultiPoint(facets.outline_points(porch)[:, :2]).convex_hull
    outline: Polygon = covered.boundary.buffer(_HAIR, join_style="mitre")
    return outline


def _bent_plan(facets: Facets, radius: float, edge: Edge, thickness: float) -> Polygon:
    """Return the plan of an upright bend: a sector of a ring about the bend's axis."""
    one, other = (facet.frame.n[:2] for facet in facets.pair(edge))
    corner = facets.points[edge.start, :2]
    sign = math.copysign(1.0, edge.angle)
    # the axis lies on the bisector of both normals, on the inner side of the bend
    middle = (one + other) / np.hypot(*(one + other))
    centre = corner - sign * middle * radius / math.cos(edge.angle / 2)
    start = math.atan2(sign * one[1], sign * one[0])
    sweep = (math.atan2(sign * other[1], sign * other[0]) - start + math.pi) % (2 * math.pi) - math.pi
    turns = start + np.linspace(0.0, sweep, _QUARTER * 2)
    circle = np.column_stack([np.cos(turns), np.sin(turns)])
    # the board lies from the reference face toward n, which points away from the axis for angle > 0
    ring = np.vstack([centre + circle * radius, (centre + circle * (radius + sign * thickness))[::-1]])
    return Polygon(ring).buffer(_HAIR, join_style="mitre")


def _joiner_plan(facets: Facets, edge: Edge, cheeks: float, settings: BuildSettings) -> Polygon:
    """Return the plan of a joiner: both cheeks and the wall between them."""
    frame = facets.left(edge).frame
    u = facets.u_of(edge, facets.left(edge))
    half = cheeks / 2
    lamination = settings.joiners.thickness
    run = np.array([[u - half, 0.0], [u + half, 0.0]])
    far = settings.walls.thickness + lamination
    plan = np.vstack([frame.raise_(run, -lamination), frame.raise_(run[::-1], far)])[:, :2]
    return Polygon(plan)


def rim_round(walls: Polygon | MultiPolygon, rim: float) -> Polygon:
    """Return the floor's outline: everything the walls enclose, grown by the rim."""
    pieces = walls.geoms if isinstance(walls, MultiPolygon) else [walls]
    filled = unary_union([Polygon(piece.exterior) for piece in pieces])
    grown = filled.buffer(rim - _HAIR, quad_segs=_QUARTER)
    if isinstance(grown, MultiPolygon):
        grown = grown.convex_hull
    outline = Polygon(grown.exterior)
    # where the rim of a joiner runs into the rim of a bend, nothing wider than the kerf may stay open
    filled = outline.buffer(CREVICE / 2, join_style="mitre").buffer(-CREVICE / 2, join_style="mitre")
    if filled.area > outline.area + AREA:
        outline = Polygon(filled.exterior)
    return orient(outline.simplify(SNAP))


def inside_walls(outline: Polygon, walls: Polygon | MultiPolygon) -> Polygon | MultiPolygon:
    """Return what lies inside the walls."""
    inside = outline.difference(walls)
    pieces = inside.geoms if isinstance(inside, MultiPolygon) else [inside]
    return unary_union([piece for piece in pieces if not piece.buffer(_HAIR).intersects(outline.exterior)])
