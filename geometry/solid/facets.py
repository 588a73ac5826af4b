"""Facets: the flat regions of a solid, the lines where they meet, and the side the board grows to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np

from ..findings import Finding
from ..sentence import FaceRef, Listed
from ..tolerance import UPRIGHT
from .opening import Opening
from .solid import Role

__all__ = ["Edge", "Facet", "Facets", "Frame", "Shell", "ShellKind"]


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """A right-handed frame of a plane: u to the right and v up for one who looks against n.

    origin, u, v, n: (3,) float64, read-only; u, v, n of unit length.
    """

    origin: np.ndarray
    u: np.ndarray
    v: np.ndarray
    n: np.ndarray

    def flatten(self, points: np.ndarray) -> np.ndarray:
        """Return the plane coordinates, (k, 2) mm, of ``points``, (k, 3) mm."""
        axes = np.empty((3, 2))
        axes[:, 0], axes[:, 1] = self.u, self.v
        return (np.asarray(points) - self.origin) @ axes

    def raise_(self, points: np.ndarray, height: float = 0.0) -> np.ndarray:
        """Return the model points, (k, 3) mm, of plane coordinates (k, 2), ``height`` above the plane."""
        points = np.asarray(points)
        return self.origin + points @ np.array([self.u, self.v]) + height * self.n


class ShellKind(StrEnum):
    """What a connected surface is built as."""

    WALLS = "walls"  # closed ring of upright facets, top and perhaps bottom open
    ROOF = "roof"  # open, nothing upright: referenced at its underside, board grows upward
    SOLID = "solid"  # anything else


@dataclass(frozen=True, slots=True)
class Edge:
    """A straight line where one facet meets another one, or ends.

    start, end: point indices. ``left`` is the facet whose ring runs from start to end; ``right``
    the one whose ring runs back, None where the surface ends here.
    angle: signed bend angle in radians, + where the neighbour turns away from the board side,
    0 for breaks and free edges.
    host_edges: ids of the host edges that lie on the line, ``source`` their object.
    """

    id: int
    start: int
    end: int
    left: int
    right: int | None
    role: Role
    angle: float
    host_edges: tuple[int, ...]
    source: int

    def beyond(self, facet: int) -> int | None:
        """Return the facet across the edge from ``facet``; None where there is none or the edge is not its own."""
        return self.right if facet == self.left else self.left if facet == self.right else None


@dataclass(frozen=True, slots=True, eq=False)
class Facet:
    """A maximal flat region with holes; a break line ends it like any other edge.

    rings: point indices; rings[0] is the outline, counter-clockwise seen against the frame's n,
    the others are holes, clockwise. A point stays where neighbour or role changes, also on a
    straight line.
    ring_edges: per ring the id of the Edge from point i to point i + 1.
    frame: origin on the facet's plane, n the side toward which the board grows.
    faces: host face ids; source: index of their object; shell: id of the shell.
    """

    id: int
    faces: tuple[int, ...]
    source: int
    shell: int
    rings: tuple[tuple[int, ...], ...]
    ring_edges: tuple[tuple[int, ...], ...]
    frame: Frame

    @property
    def upright(self) -> bool:
        """Whether the facet stands vertically, as a wall does."""
        return abs(float(self.frame.n[2])) < UPRIGHT


@dataclass(frozen=True, slots=True)
class Shell:
    """One connected surface of the solid.

    bottom: the horizontal facet at the lowest height whose edges are all plain (it becomes the
    floor), or None.
    stands_on: the facets that it ends on: slopes, of a dormer or chimney, the wall, of a porch; empty for all others.
    """

    id: int
    kind: ShellKind
    facets: tuple[int, ...]
    closed: bool
    bottom: int | None
    stands_on: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Facets:
    """All facets of a solid, with its points.

    points: (n, 3) mm, the welded points of the solid; rings and edges index them.
    noise: how far points lie from the planes of their facets, mm, at most; read_noise: how far they lay as the
    host has them, before they were moved onto these planes.
    openings: those that were cut out of walls as things of their own.
    finishes: name of the finish by (source, host face id), as the solid has them.
    """

    points: np.ndarray
    facets: tuple[Facet, ...]
    edges: tuple[Edge, ...]
    shells: tuple[Shell, ...]
    sources: tuple[str, ...]
    noise: float
    findings: tuple[Finding, ...]
    openings: tuple[Opening, ...] = ()
    finishes: Mapping[tuple[str, int], str] = field(default_factory=dict)
    read_noise: float = 0.0

    def ref(self, *facets: Facet) -> FaceRef | Listed:
        """Return facets, at least one, as a sentence names them."""
        refs = tuple(FaceRef(facet.faces[0], self.sources[facet.source]) for facet in facets)
        return refs[0] if len(refs) == 1 else Listed(refs)

    def left(self, edge: Edge) -> Facet:
        """Return the facet whose ring runs from an edge's start to its end."""
        return self.facets[edge.left]

    def pair(self, edge: Edge) -> tuple[Facet, Facet]:
        """Return the facets left and right of an edge that does not end the surface."""
        assert edge.right is not None, "the edge ends the surface"
        return self.facets[edge.left], self.facets[edge.right]

    def beyond(self, edge: Edge, facet: Facet) -> Facet | None:
        """Return the facet across an edge of ``facet``; None where the surface ends."""
        other = edge.beyond(facet.id)
        return None if other is None else self.facets[other]

    def ends(self, edge: Edge) -> np.ndarray:
        """Return the start and the end of an edge, (2, 3) mm."""
        return self.points[[edge.start, edge.end]]

    def length(self, edge: Edge) -> float:
        """Return the length of an edge, mm."""
        return float(np.linalg.norm(self.points[edge.end] - self.points[edge.start]))

    def u_of(self, edge: Edge, facet: Facet) -> float:
        """Return how far along a facet's u an edge starts, mm."""
        return float(facet.frame.flatten(self.points[[edge.start]])[0, 0])

    def edges_of(self, facet: Facet, ring: int = 0) -> tuple[Edge, ...]:
        """Return the edges of one ring of a facet, in its order."""
        return tuple(self.edges[edge] for edge in facet.ring_edges[ring])

    def corners(self, facet: Facet) -> np.ndarray:
        """Return the corners of a facet's outline, (k, 3) mm."""
        return self.points[list(facet.rings[0])]

    def outline_points(self, shell: Shell) -> np.ndarray:
        """Return the corners of all outlines of a shell, facet after facet, (k, 3) mm."""
        return np.concatenate([self.corners(self.facets[facet]) for facet in shell.facets])

    def shell_of(self, facet: Facet) -> Shell:
        """Return the shell that a facet belongs to."""
        return self.shells[facet.shell]

    def source_of(self, facet: Facet) -> str:
        """Return the name of the object that a facet comes from."""
        return self.sources[facet.source]

    def is_wall(self, facet: Facet) -> bool:
        """Whether a facet stands upright and belongs to no roof."""
        return facet.upright and self.shell_of(facet).kind is not ShellKind.ROOF

    def finishes_of(self, facet: int) -> tuple[str, ...]:
        """Return the names of the finishes on a facet, each once, in the order of its faces."""
        source = self.source_of(self.facets[facet])
        found = (self.finishes.get((source, face), "") for face in self.facets[facet].faces)
        return tuple(dict.fromkeys(name for name in found if name))

    def is_porch(self, shell: Shell) -> bool:
        """Whether a shell stands against a wall of another one, on whose floor it stands too."""
        return any(self.facets[facet].upright for facet in shell.stands_on)

    def lowest(self, shell: Shell) -> float:
        """Return the least height of a shell's outlines, mm."""
        return float(self.outline_points(shell)[:, 2].min())

    def ring(self, facet: Facet, index: int = 0) -> np.ndarray:
        """Return ring ``index`` of a facet in its own plane, (k, 2) mm."""
        return facet.frame.flatten(self.points[list(facet.rings[index])])
