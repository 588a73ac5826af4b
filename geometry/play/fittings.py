"""Fittings of a room: leaves as they stand open or shut, and the corners that bend into it."""

from __future__ import annotations

import math
from collections.abc import Iterable

import numpy as np
from shapely.geometry import Point, Polygon

from ..part import Panel, Part
from ..settings import BuildSettings
from ..solid.facets import Facets
from ..solid.opening import Opening
from ..solid.places import name_places
from ..solid.solid import Role
from ..unfold.section import outward
from .pieces import blocker_of_leaf
from .table_top import Blocker, RoundedCorner

__all__ = ["room_bends", "room_leaves"]

#: An opening stands no farther than this from its wall's face, mm: half a common square, as for cutting it.
_NEAR = 12.7


def room_leaves(openings: Iterable[Opening], parts: Iterable[Part] = (), *, wide_open: bool) -> tuple[Blocker, ...]:
    """Return the leaves of doors and shutters as sheets, shut in their openings or opened by their swing.

    parts: that the leaves are cut in; light passes their panes.
    """
    hung = [part.panels[placed.child] for part in parts for placed in part.lattices if placed.swing]
    found = []
    for opening in openings:
        if opening.leaf is None:
            continue
        ring = np.array(opening.ring, dtype=float)
        jamb = float(ring[:, 0].min() if opening.leaf.on_left else ring[:, 0].max())
        # hung on the left it sweeps from +x to its own z, on the right from -x
        turn = (-opening.leaf.swing if opening.leaf.on_left else opening.leaf.swing) if wide_open else 0.0
        c, s = math.cos(turn), math.sin(turn)
        face = []
        for outline in (ring, *_panes(opening, hung)):
            away = outline[:, 0] - jamb
            face.append(opening.stands.apply(np.column_stack([jamb + c * away, outline[:, 1], -s * away])))
        found.append(blocker_of_leaf(f"The leaf of {opening.name}", [face]))
    return tuple(found)


def _panes(opening: Opening, hung: Iterable[Panel]) -> list[np.ndarray]:
    """Return the panes of an opening's leaf as it hangs shut, (k, 2) mm in the opening's own frame."""
    outline, back = Polygon(opening.ring), opening.stands.inverse()
    for panel in hung:
        middle = back.apply(panel.stands.apply(panel.ring)).mean(axis=0)
        if abs(middle[2]) < _NEAR and outline.contains(Point(middle[:2])):
            return [back.apply(panel.stands.apply(hole))[:, :2] for hole in panel.holes]
    return []


def room_bends(facets: Facets, parts: Iterable[Part], settings: BuildSettings) -> tuple[RoundedCorner, ...]:
    """Return the flex corners that bend into the room, as they stand on the floor, with their inside radius."""
    radii = {
        edge: placed.lattice.inside_radius for part in parts for placed in part.lattices for edge in placed.host_edges
    }
    names, found = name_places(facets).edges, []
    for edge in facets.edges:
        if edge.role is not Role.FLEX or edge.right is None or not edge.host_edges:
            continue
        one, other = facets.pair(edge)
        radius = next((radii[host] for host in edge.host_edges if host in radii), None)
        side = outward(facets, one, settings)
        upright = facets.is_wall(one) and other.upright
        # where the walls turn the other way the bend stands outside the square
        if radius is None or not upright or edge.angle * side <= 0.0:
            continue
        corner = facets.ends(edge).mean(axis=0)
        corner[2] = facets.ends(edge)[:, 2].min()
        normals = one.frame.n[:2] * side, other.frame.n[:2] * side
        if side < 0:
            # the modelled face is the outside; the room's corner lies a board further in
            bisector = normals[0] + normals[1]
            corner[:2] -= settings.walls.thickness * bisector / (1.0 + float(normals[0] @ normals[1]))
        ways = []
        for facet, normal in zip((one, other), normals, strict=True):
            way = np.array([-normal[1], normal[0], 0.0])
            middle = facets.corners(facet).mean(axis=0) - corner
            ways.append(way if float(way @ middle) > 0.0 else -way)
        along = np.array(ways)
        along.setflags(write=False)
        corner.setflags(write=False)
        found.append(RoundedCorner(f"the bend of the {names[edge.id]}", corner, along, radius))
    return tuple(found)
