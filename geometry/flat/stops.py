"""Stops: strips glued under a roof's slopes, just inside the walls, so that it cannot slide off."""

from __future__ import annotations

import numpy as np

from ..solid.facets import Facet, Facets, ShellKind
from ..solid.solid import Role
from .layer import board_layer
from .part import FaceUp, Part, PartKind
from .section import Sections
from .settings import BoardFace, BuildSettings

__all__ = ["make_stops"]

#: Kept free between a stop and whatever bounds its stretch of wall, mm (common practice, no source).
_AIR = 3.0

#: Where along a wall it is asked which slope lies there, as shares.
_LOOKS = (0.25, 0.5, 0.75)

#: A shorter stop guides nothing, mm (common practice, no source).
_SHORTEST = 8.0


def make_stops(facets: Facets, sections: Sections, settings: BuildSettings) -> tuple[Part, ...]:
    """Cut one stop for every roof slope that falls outward over an eave wall, clear of bends and joiners."""
    parts: list[Part] = []
    longest: dict[int, tuple[float, Facet, np.ndarray]] = {}
    for facet in facets.facets:
        if not facet.upright or facets.shells[facet.shell].kind is ShellKind.ROOF:
            continue
        for edge_id in facet.ring_edges[0]:
            edge = facets.edges[edge_id]
            ends = facets.points[[edge.start, edge.end]]
            if edge.right is not None:
                continue
            thickness = settings.walls.thickness
            layer = (0.0, thickness) if settings.face is BoardFace.INSIDE else (-thickness, 0.0)
            if sections.pulls.eaves.drop(facet, ends[0], ends[1], layer) <= 0.0:
                continue
            length = float(np.linalg.norm(ends[1] - ends[0]))
            # a roof in halves lies on a wall with more than one slope
            for slope in {sections.pulls.eaves.slope_over(ends[0] + share * (ends[1] - ends[0])) for share in _LOOKS}:
                if slope is not None and length > longest.get(slope, (0.0,))[0]:
                    longest[slope] = (length, facet, ends)
    for slope, (_, wall, ends) in sorted(longest.items()):
        if slope not in sections.part_of:
            continue
        made = _stop(facets, sections, settings, facets.facets[slope], wall, ends, f"S{len(parts) + 1}")
        if made is not None:
            parts.append(made)
    return tuple(parts)


def _stop(
    facets: Facets,
    sections: Sections,
    settings: BuildSettings,
    slope: Facet,
    wall: Facet,
    ends: np.ndarray,
    name: str,
) -> Part | None:
    run = np.sort(wall.frame.flatten(ends)[:, 0])
    over = wall.frame.flatten(facets.points[list(slope.rings[0])])[:, 0]
    run = np.array([max(run[0], over.min()), min(run[1], over.max())])
    free = _longest_free(run, _taken(facets, sections, settings, wall))
    eaves = settings.eaves
    length = min(eaves.stop_length, free[1] - free[0] - 2 * _AIR)
    if length < _SHORTEST:
        return None
    middle = (free[0] + free[1]) / 2
    # the room-side face of the wall, shifted into the room by the clearance, brought up to the slope
    inward = settings.walls.thickness if settings.face is BoardFace.OUTSIDE else 0.0
    into = wall.frame.n if settings.face is BoardFace.OUTSIDE else -wall.frame.n
    v = float(wall.frame.flatten(ends)[0, 1])
    line = wall.frame.raise_(np.array([[middle - length / 2, v], [middle + length / 2, v]]))
    line = line + into * (inward + eaves.stop_clearance)
    n, origin = slope.frame.n, slope.frame.origin
    line[:, 2] = origin[2] - ((line[:, :2] - origin[:2]) @ n[:2]) / n[2]
    foot = slope.frame.flatten(line)
    low, high = np.sort(foot[:, 0])
    base = float(foot[:, 1].min())
    ring = np.array([[low, base], [high, base], [high, base + eaves.stop_width], [low, base + eaves.stop_width]])
    outline, panel = board_layer(slope, ring, ring, height=0.0, eye=-1)
    eave = facets.ring(slope)
    roof = sections.part_of[slope.id]
    note = (
        f"Glue it flat under {roof}, long edge along the eave: {base - eave[:, 1].min():.1f} mm up the slope from the "
        f"eave edge and {low - eave[:, 0].min():.1f} mm from that slope's left end as seen from outside."
    )
    return Part(
        id=name,
        label=f"Roof stop {name[1:]}",
        kind=PartKind.STOP,
        stock=settings.roof.name,
        thickness=settings.roof.thickness,
        face_up=FaceUp.ROOM,
        board_side=1,
        outline=outline,
        panels=(panel,),
        stage=3,
        notes=(note,),
    )


def _taken(facets: Facets, sections: Sections, settings: BuildSettings, wall: Facet) -> list[tuple[float, float]]:
    """Return the stretches of a wall's u where a stop would meet a joiner or the inside of a bend."""
    taken = []
    half = settings.joiner.cheek_width / 2
    for edge_id in wall.ring_edges[0]:
        edge = facets.edges[edge_id]
        at = float(wall.frame.flatten(facets.points[[edge.start]])[0, 0])
        if edge.role is Role.BREAK:
            taken.append((at - half, at + half))
        elif edge_id in sections.pulls.bends:
            reach = sections.pulls.bends[edge_id].pull_back
            taken.append((at - reach, at + reach))
    return taken


def _longest_free(run: np.ndarray, taken: list[tuple[float, float]]) -> tuple[float, float]:
    pieces = [(float(run[0]), float(run[1]))]
    for low, high in taken:
        pieces = [piece for a, b in pieces for piece in ((a, min(b, low)), (max(a, high), b)) if piece[1] > piece[0]]
    return max(pieces, key=lambda piece: piece[1] - piece[0], default=(0.0, 0.0))
