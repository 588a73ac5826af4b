"""Lost marks: marked edges that no face has a side on, so that nothing can come of them."""

from __future__ import annotations

import numpy as np

from ..findings import Finding, Location, Severity, place
from ..sentence import PointRef, Sentence
from .solid import Role, Solid

__all__ = ["lost_marks"]


def lost_marks(solid: Solid, weld: np.ndarray, start: np.ndarray, end: np.ndarray) -> list[Finding]:
    """Tell of marks on edges that vanish: on no face, on faces that were left out, or shorter than a vertex is wide.

    weld: (n,) the point that stands for each point; start, end: (h,) the sides of the faces that are used.
    A vanished piece of a marked line that goes on is no loss.
    """
    count = len(solid.points)
    sides = np.minimum(start, end) * count + np.maximum(start, end)
    marked = np.flatnonzero(np.array(solid.edge_roles, dtype=int) != Role.PLAIN)
    if not len(marked):
        return []
    roles = np.array(solid.edge_roles, dtype=int)[marked]
    pairs = np.sort(weld[np.array([solid.edges[k] for k in marked.tolist()])], axis=1)
    there = np.isin(pairs[:, 0] * count + pairs[:, 1], sides)
    found = []
    lost = np.flatnonzero(~there).tolist()
    for k in sorted(lost, key=lambda k: solid.edge_ids[int(marked[k])]):
        goes_on = there & (roles == roles[k]) & np.isin(pairs, pairs[k]).any(axis=1)
        if pairs[k, 0] == pairs[k, 1] and goes_on.any():
            continue
        found.append(_lost(solid, int(marked[k]), Role(int(roles[k])), bool(pairs[k, 0] == pairs[k, 1])))
    return found


def _lost(solid: Solid, edge: int, role: Role, shrunk: bool) -> Finding:
    ends = solid.points[list(solid.edges[edge])]
    source = solid.sources[solid.edge_sources[edge]]
    why = f"is {np.linalg.norm(ends[1] - ends[0]):.5f} mm long, so" if shrunk else "lies on no face that can be cut, so"
    middle = ends.mean(axis=0)
    where = Location(
        edges=(solid.edge_ids[edge],) if solid.edge_ids[edge] >= 0 else (), source=source, point=place(middle)
    )
    broken = role is Role.BREAK
    return Finding(
        Severity.ERROR if broken else Severity.NOTE,
        "bad-break-line" if broken else "mark-without-bend",
        Sentence.of(
            f"The {role.name.lower()} mark on an edge of {source} ",
            PointRef(place(middle)),
            f" {why} nothing comes of it; mark an edge of a wall, or clear the mark.",
        ),
        where,
    )
