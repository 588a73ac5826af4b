"""Sections: panels joined by flex corners, laid out in the flat as one piece of board each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import Polygon

from ..board.hinge import check_hinge, solve_hinge
from ..board.lattice import Lattice
from ..board.lattice_checks import check_lattice, check_radii
from ..board.slits import lay_out_slits
from ..board.wishes import HingeWishes
from ..findings import Finding, Location, Severity, place
from ..part import FaceUp, LabelSpot, Panel, Part, PlacedLattice, frozen
from ..pose import Pose
from ..settings import BoardFace, BuildSettings
from ..solid.facets import Edge, Facet, Facets, ShellKind
from ..solid.solid import Role
from ..tolerance import SNAP
from .cheeks import joiner_at
from .flip import flipped
from .hinges import Hinges, choose_hinges
from .leaves import HungLeaf, hang_leaf, plan_leaves
from .outline import clean_ring, replace_corners
from .section_checks import overlaps, uncuttable
from .section_names import SectionName, name_sections
from .setbacks import MovedFacet, Setbacks, find_setbacks, stock_for
from .slope_ears import ear_room
from .tabs import tab_outline, tab_spans

__all__ = ["Foot", "Sections", "outward", "unfold"]


@dataclass(frozen=True, slots=True)
class Foot:
    """A tab of a part: where it leaves the facet, (from, to) along the facet's u at height ``base``, mm."""

    part: str
    facet: int
    span: tuple[float, float]
    base: float


@dataclass(frozen=True, slots=True, eq=False)
class Sections:
    """All sections of a building, with what later rooms need of how they came about.

    part_of: id of the part that a facet went into; hinges, setbacks: the choices and lengths behind it.
    """

    parts: tuple[Part, ...]
    feet: tuple[Foot, ...]
    part_of: Mapping[int, str]
    hinges: Hinges
    setbacks: Setbacks
    findings: tuple[Finding, ...]


def unfold(facets: Facets, settings: BuildSettings) -> Sections:
    """Lay every section of a building out in the flat, seen from the face that lies up on the laser.

    Sides move by their own distances, lattices fill the gaps between panels, and the outline is walked
    along the tree of panels, never united from floating-point shapes.

    >>> from stowfold.geometry.solid.find import find_facets
    >>> [part.id for part in unfold(find_facets(solid), settings).parts]
    ['W1']
    """
    hinges = choose_hinges(facets)
    setbacks = ear_room(facets, find_setbacks(facets, hinges.edges, settings), settings)
    leaves = plan_leaves(facets, settings)
    findings = [*hinges.findings]
    parts: list[Part] = []
    feet: list[Foot] = []
    part_of: dict[int, str] = {}
    bent: dict[str, list[tuple[Lattice, Location]]] = {}
    for group, name in zip(hinges.groups, name_sections(facets, hinges.groups), strict=True):
        builder = _Builder(facets, hinges, setbacks, settings, group, name.id)
        builder.leaves = [leaf for leaf in leaves if leaf.facet in group]
        troubles = uncuttable(facets, setbacks, group)
        findings += troubles
        if any(trouble.severity is Severity.ERROR for trouble in troubles):
            continue
        part = builder.build(name)
        findings += builder.findings
        bent.setdefault(builder.stock.name, []).extend(builder.bent)
        if part is None:
            continue
        for leaf in builder.leaves:
            part, troubles = hang_leaf(part, leaf, facets, settings)
            findings += troubles
        parts.append(part)
        feet += builder.feet
        part_of.update(dict.fromkeys(group, part.id))
    if settings.hinge.radius_asked_for:
        for stock in (settings.walls, settings.roof):
            findings += check_radii(bent.pop(stock.name, ()), stock, wanted=settings.hinge.inside_radius)
    return Sections(tuple(parts), tuple(feet), part_of, hinges, setbacks, tuple(findings))


def outward(facets: Facets, facet: Facet, settings: BuildSettings) -> int:
    """Return +1 where the board side of a facet is the outside of the building, -1 where it is the room side."""
    walls = facets.shell_of(facet).kind is ShellKind.WALLS
    return -1 if walls and settings.face is BoardFace.OUTSIDE else 1


@dataclass(frozen=True, slots=True, eq=False)
class _Placed:
    """A facet in the part frame: plane coordinates q go to q @ turn + shift."""

    moved: MovedFacet
    turn: np.ndarray
    shift: np.ndarray

    def place(self, points: np.ndarray) -> np.ndarray:
        return np.asarray(points) @ self.turn + self.shift


class _Builder:
    """Builds one section; keeps what it notices on the way."""

    def __init__(
        self,
        facets: Facets,
        hinges: Hinges,
        setbacks: Setbacks,
        settings: BuildSettings,
        group: tuple[int, ...],
        name: str,
    ) -> None:
        self.facets = facets
        self.setbacks = setbacks
        self.settings = settings
        self.group = group
        self.name = name
        self.hinge_edges = [facets.edges[e] for e in hinges.edges if facets.edges[e].left in group]
        self.root = facets.facets[group[0]]
        self.stock = stock_for(facets, self.root, settings)
        self.placed: dict[int, _Placed] = {}
        self.feet: list[Foot] = []
        self.findings: list[Finding] = []
        self.leaves: list[HungLeaf] = []
        self.bent: list[tuple[Lattice, Location]] = []

    # -- placing --------------------------------------------------------------------------------

    def build(self, name: SectionName) -> Part | None:
        """Return the section as a part, or None, with a finding, where it would lie on itself in the flat."""
        self.placed[self.root.id] = _Placed(self.setbacks.facets[self.root.id], np.eye(2), np.zeros(2))
        children: dict[int, list[Edge]] = {facet: [] for facet in self.group}
        order = [self.root.id]
        for here in order:
            for edge in self.hinge_edges:
                there = edge.beyond(here)
                if there is not None and there not in self.placed:
                    self._place_child(here, there, edge)
                    children[here].append(edge)
                    order.append(there)
        outline = clean_ring(np.array(self._walk(self.root.id, None, children)))
        corner = outline.min(axis=0)
        shapes = [self.placed[f].place(self.placed[f].moved.rings[0].points) for f in order]
        crossings = overlaps(self.facets, self.name, order, shapes, outline)
        if crossings:
            self.findings += crossings
            return None
        holes = [
            clean_ring(placed.place(ring.points) - corner)
            for facet in order
            for placed in [self.placed[facet]]
            for ring in placed.moved.rings[1:]
        ]
        part = Part(
            id=self.name,
            label=name.label,
            kind=name.kind,
            stock=self.stock.name,
            thickness=self.stock.thickness,
            face_up=FaceUp.OUTSIDE,
            board_side=1,
            outline=Polygon(outline - corner, holes),
            panels=tuple(self._panel(facet, corner) for facet in order),
            lattices=tuple(
                self._lattice(edge, here, order.index(here), order, corner) for here in order for edge in children[here]
            ),
            grain=self._grain(),
            label_spot=self._label_spot(corner),
            stage=name.stage,
        )
        if outward(self.facets, self.root, self.settings) < 0:
            part = flipped(part)
        return part

    def _place_child(self, here: int, there: int, edge: Edge) -> None:
        """Lay a neighbour out beside a placed facet, with room for the lattice between them."""
        start, along, away = self._edge_frame(edge, here)
        child = self.facets.facets[there].frame
        run = child.flatten(self.facets.ends(edge))
        if edge.left != here:
            run = run[::-1]
        direction = (run[1] - run[0]) / np.hypot(*(run[1] - run[0]))
        # the turn that brings the child's view of the edge onto the parent's
        cos = direction @ along
        sin = direction[0] * along[1] - direction[1] * along[0]
        turn = np.array([[cos, sin], [-sin, cos]])
        shift = start + away * self.setbacks.bends[edge.id].gain - run[0] @ turn
        self.placed[there] = _Placed(self.setbacks.facets[there], turn, shift)

    def _edge_frame(self, edge: Edge, here: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Return start, direction and outward direction of a model edge as facet ``here`` runs along it."""
        ends = self.facets.ends(edge)
        if edge.left != here:
            ends = ends[::-1]
        placed = self.placed[here]
        start, end = placed.place(placed.moved.facet.frame.flatten(ends))
        along = (end - start) / np.hypot(*(end - start))
        return start, along, np.array([along[1], -along[0]])

    def _span(self, edge: Edge, here: int) -> tuple[float, float]:
        """Return where the lattice runs, measured from the edge's start as facet ``here`` runs along it."""
        low, high = self.setbacks.spans[edge.id]
        if edge.left == here:
            return low, high
        length = self.facets.length(edge)
        return length - high, length - low

    def _walk(self, here: int, entry: Edge | None, children: Mapping[int, list[Edge]]) -> list[np.ndarray]:
        """Return the outline points met on the way round a panel and all panels that hang on it.

        With ``entry`` the walk starts after the side through which it came and ends before it.
        """
        placed = self.placed[here]
        ring = placed.moved.rings[0]
        ids = placed.moved.facet.ring_edges[0]
        own = {ids.index(edge.id): edge for edge in children[here]}
        first = 0 if entry is None else ids.index(entry.id) + 1
        count = len(ids) - (0 if entry is None else 1)
        arcs = self.setbacks.eaves.arcs(placed.moved.facet, ring.sides[:, 0])
        points: list[np.ndarray] = []
        for k in range(first, first + count):
            side = k % len(ids)
            start, end = placed.place(ring.sides[side])
            points += list(placed.place(arcs[side])) if side in arcs else [start]
            edge = own.get(side)
            if edge is None:
                points += list(placed.place(self._side_extras(placed.moved, side)))
            else:
                there = edge.beyond(here)
                assert there is not None
                base, along, away = self._edge_frame(edge, here)
                bend = self.setbacks.bends[edge.id]
                low, high = self._span(edge, here)
                near, far = -bend.setback, bend.flat_width - bend.setback
                points += [base + along * low + away * near, base + along * low + away * far]
                points += self._walk(there, edge, children)
                points += [base + along * high + away * far, base + along * high + away * near]
            if (side + 1) % len(ids) not in arcs:
                points.append(end)
        return points

    def _side_extras(self, moved: MovedFacet, side: int) -> np.ndarray:
        """Return the points that tabs add to a bottom side, in the facet's plane."""
        facet = moved.facet
        if not self._stands(facet, side):
            return np.zeros((0, 2))
        ground = self.settings.ground
        start, end = moved.rings[0].sides[side]
        depth = self.settings.floor.thickness - ground.tab_short
        bands = [*self._joiner_bands(facet), *(leaf.band for leaf in self.leaves if leaf.facet == facet.id)]
        points = []
        for span in tab_spans(float(start[0]), float(end[0]), bands, ground):
            points.append(tab_outline(span, float(start[1]), depth))
            self.feet.append(Foot(self.name, facet.id, span, float(start[1])))
        return np.vstack(points) if points else np.zeros((0, 2))

    def _stands(self, facet: Facet, side: int) -> bool:
        """Whether a side of the outline stands on the floor."""
        shell = self.facets.shell_of(facet)
        edge = self.facets.edges[facet.ring_edges[0][side]]
        other = edge.beyond(facet.id)
        if not self.settings.ground.wanted or not facet.upright or shell.kind is ShellKind.ROOF:
            return False
        if shell.stands_on and not self.facets.is_porch(shell):
            return False
        if other is not None and other != shell.bottom:
            return False
        heights = self.facets.ends(edge)[:, 2]
        return bool(np.all(np.abs(heights - self.facets.lowest(shell)) < SNAP))

    def _joiner_bands(self, facet: Facet) -> list[tuple[float, float]]:
        """Return the stretches of a facet's u that joiners cover, mm."""
        bands = []
        for edge in self.facets.edges_of(facet):
            if edge.role is Role.BREAK and edge.right is not None:
                u = self.facets.u_of(edge, facet)
                half = joiner_at(self.setbacks, self.facets, edge, self.settings).cheek_width / 2
                bands.append((u - half, u + half))
        return bands

    # -- pieces of the part ---------------------------------------------------------------------

    def _panel(self, facet_id: int, corner: np.ndarray) -> Panel:
        placed = self.placed[facet_id]
        facet = placed.moved.facet
        ring = placed.moved.rings[0].points
        ring = replace_corners(ring, self.setbacks.eaves.arcs(facet, ring))
        corners = [index for points in facet.rings for index in points]
        flat = facet.frame.flatten(self.facets.points[corners])
        x, y = placed.turn.T @ np.vstack([facet.frame.u, facet.frame.v])
        stands = Pose.of(x, y, facet.frame.n, facet.frame.origin).moved_to(corner - placed.shift)
        return Panel(
            facet=facet_id,
            faces=facet.faces,
            ring=frozen(placed.place(ring) - corner),
            holes=tuple(frozen(placed.place(hole.points) - corner) for hole in placed.moved.rings[1:]),
            corners=frozen(placed.place(flat) - corner),
            corner_points=frozen(self.facets.points[corners]),
            stands=stands,
        )

    def _lattice(self, edge: Edge, here: int, parent: int, order: list[int], corner: np.ndarray) -> PlacedLattice:
        made = self.setbacks.lattices[edge.id]
        start, along, away = self._edge_frame(edge, here)
        low, _ = self._span(edge, here)
        there = edge.beyond(here)
        assert there is not None
        self.findings += check_lattice(made, self.stock, self._where(self.root, edge))
        self.bent.append((made, self._where(self.root, edge)))
        hinge = self.settings.hinge
        if hinge.wishes != HingeWishes():
            fixed = replace(hinge.wishes, inside_radius=hinge.inside_radius)
            solved = solve_hinge(self.stock, angle=abs(edge.angle), axis_length=made.axis_length, fixed=fixed)
            self.findings += check_hinge(solved, self._where(self.root, edge))
        return PlacedLattice(
            parent=parent,
            child=order.index(there),
            host_edges=edge.host_edges,
            origin=frozen(start + along * low - away * self.setbacks.bends[edge.id].setback - corner),
            across=frozen(away),
            along=frozen(along),
            angle=edge.angle,
            lattice=made,
            slits=lay_out_slits(made),
        )

    def _grain(self) -> float | None:
        """Return the grain's direction where the maker wants slits along it: up the walls, as corners bend."""
        kind = self.facets.shell_of(self.root).kind
        upright = kind is not ShellKind.ROOF and self.root.upright and bool(self.hinge_edges)
        return np.pi / 2 if self.settings.hinge.along_grain and upright else None

    def _label_spot(self, corner: np.ndarray) -> LabelSpot | None:
        """Return the band at a break that the joiner will hide, if the section ends at one."""
        for facet_id in sorted(self.placed):
            placed = self.placed[facet_id]
            for side, edge in enumerate(self.facets.edges_of(placed.moved.facet)):
                if edge.role is not Role.BREAK or edge.right is None:
                    continue
                engaged = joiner_at(self.setbacks, self.facets, edge, self.settings).engaged
                start, end = placed.place(placed.moved.rings[0].sides[side])
                along = (end - start) / np.hypot(*(end - start))
                inward = np.array([-along[1], along[0]])
                centre = (start + end) / 2 + inward * engaged / 2 - corner
                length = float(np.hypot(*(end - start)))
                direction = float(np.arctan2(along[1], along[0]))
                return LabelSpot((float(centre[0]), float(centre[1])), direction, 0.8 * length, engaged - 2.0)
        return None

    def _where(self, facet: Facet, edge: Edge | None = None) -> Location:
        points = self.facets.corners(facet) if edge is None else self.facets.ends(edge)
        return Location(
            faces=facet.faces,
            edges=() if edge is None else edge.host_edges,
            source=self.facets.source_of(facet),
            part=self.name,
            point=place(points.mean(axis=0)),
        )
