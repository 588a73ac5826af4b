"""Proposals as marks: what a proposal would put on the maker's mesh, edge by edge and cut by cut."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..solid.facets import Facets
from ..solid.solid import Role

__all__ = ["Cut", "Mark", "marks_of"]


@dataclass(frozen=True, slots=True)
class Mark:
    """Host edges of one object that are to bear a role."""

    source: str
    edges: tuple[int, ...]
    role: Role


@dataclass(frozen=True, slots=True, eq=False)
class Cut:
    """Host faces of one object that are to be cut by a plane, the cut becoming a break.

    point, normal: (3,) a point of the plane in model mm, and its unit normal, which lies in the wall.
    """

    source: str
    faces: tuple[int, ...]
    point: np.ndarray
    normal: np.ndarray


def marks_of(before: Facets, after: Facets) -> tuple[tuple[Mark, ...], tuple[Cut, ...]]:
    """Return what turns the marks of ``before`` into those of ``after``, a proposal made from it."""
    known = {(edge.source, edge.host_edges): edge.role for edge in before.edges if edge.host_edges}
    marks, cuts = [], []
    for edge in after.edges:
        source = after.sources[edge.source]
        if edge.host_edges:
            if known.get((edge.source, edge.host_edges), edge.role) is not edge.role:
                marks.append(Mark(source, edge.host_edges, edge.role))
        elif edge.role is Role.BREAK:
            facet = after.facets[edge.left]
            cuts.append(Cut(source, facet.faces, after.points[edge.start], facet.frame.u))
    return tuple(marks), tuple(cuts)
