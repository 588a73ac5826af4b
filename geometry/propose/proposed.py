"""What a proposal is: marks and cuts for the maker's mesh, and what there is to say about them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from ..findings import Finding
from ..solid.cut_faces import cut_faces
from ..solid.facets import Edge, Facets
from ..solid.solid import Role, Solid
from ..tolerance import SNAP

__all__ = ["Cut", "Mark", "Point", "Proposed"]

Point = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Mark:
    """Host edges of one object that are to bear a role. source: index of the object.

    span: the ends, mm, of the line that the mark is meant for: an edge that was cut has one number in all its pieces,
    and only those pieces bear the role that lie on this line. None stands for all of them.
    """

    source: int
    edges: tuple[int, ...]
    role: Role
    span: tuple[Point, Point] | None = None

    def lies_on(self, ends: np.ndarray) -> bool:
        """Whether an edge with one of these numbers, (2, 3) mm, is on the line that the mark is meant for."""
        if self.span is None:
            return True
        start, end = np.array(self.span)
        length = float(np.linalg.norm(end - start))
        return -SNAP < float((ends.mean(axis=0) - start) @ (end - start)) / length < length + SNAP


@dataclass(frozen=True, slots=True, eq=False)
class Cut:
    """Host faces of one object that are to be cut by a plane, the cut bearing a role. source: index of the object.

    point, normal: (3,) a point of the plane in model mm, and its unit normal.
    """

    source: int
    faces: tuple[int, ...]
    point: np.ndarray
    normal: np.ndarray
    role: Role


@dataclass(frozen=True, slots=True, eq=False)
class Proposed:
    """Marks and cuts that are proposed for one solid, and findings about them.

    A proposal says nothing that a maker could not do by hand: it marks edges and cuts faces of the host's mesh. The
    solid that bears it (``put_on``) is the one that is read back once the same marks and cuts are on the mesh, so
    that what is checked with a proposal and what is cut after it was marked are the same. Facets are found from
    that solid; nothing changes facets themselves.
    """

    marks: tuple[Mark, ...] = ()
    cuts: tuple[Cut, ...] = ()
    findings: tuple[Finding, ...] = ()

    def __add__(self, later: Proposed) -> Proposed:
        """Return one proposal of this one and of one that was made for the solid with this one on it."""
        return Proposed(self.marks + later.marks, self.cuts + later.cuts, self.findings + later.findings)

    def bend_at(self, facets: Facets, edge: Edge) -> Mark | None:
        """Return the proposed bend that an edge bears, None where the maker marked it."""
        ends = facets.ends(edge)
        for mark in self.marks:
            same = mark.source == edge.source and set(mark.edges) & set(edge.host_edges)
            if mark.role is Role.FLEX and same and mark.lies_on(ends):
                return mark
        return None

    def with_shortest_parted(self, facets: Facets, edges: Iterable[Edge]) -> Proposed | None:
        """Return the proposal with the shortest of its bends among these edges parted, None where it has none there."""
        for edge in sorted(edges, key=facets.length):
            mark = self.bend_at(facets, edge)
            if mark is not None:
                return self.with_parted(mark)
        return None

    def with_parted(self, bend: Mark) -> Proposed:
        """Return the proposal with one of its bends a closure instead."""
        parted = replace(bend, role=Role.CLOSURE)
        return replace(self, marks=tuple(parted if mark is bend else mark for mark in self.marks))

    def put_on(self, solid: Solid) -> Solid:
        """Return the solid that the proposal was made for, with its marks and cuts."""
        named = list(zip(solid.edge_sources, solid.edge_ids, strict=True))
        pieces = Counter(named)
        marks: dict[tuple[int, int], list[Mark]] = {}
        for mark in self.marks:
            for edge in mark.edges:
                marks.setdefault((mark.source, edge), []).append(mark)
        roles = list(solid.edge_roles)
        for k, (name, ends) in enumerate(zip(named, solid.edges, strict=True)):
            for mark in marks.get(name, ()):
                if pieces[name] == 1 or mark.lies_on(solid.points[list(ends)]):
                    roles[k] = mark.role
        solid = replace(solid, edge_roles=tuple(roles))
        for cut in self.cuts:
            mine = {(cut.source, face) for face in cut.faces}
            owned = enumerate(zip(solid.face_sources, solid.face_ids, strict=True))
            faces = [index for index, face in owned if face in mine]
            solid = cut_faces(solid, faces, cut.point, cut.normal, role=cut.role)
        return solid
