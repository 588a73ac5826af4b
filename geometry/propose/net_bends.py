"""Bends of a net, one after the other: the lattices that they need beside each other, and what is left of the facets.

It asks of every bend what the sections will ask once it is built (see ``unfold.setbacks``): its board bears it over
the axis that the bends beside it leave, and no facet loses a side or falls apart.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from ..board.lattice import Lattice
from ..settings import BuildSettings
from ..solid.facets import Facet, Facets, Shell
from ..tolerance import LENGTH
from ..unfold.corner import Bend, bend
from ..unfold.eaves import Eaves, find_eaves
from ..unfold.met_walls import WallRooms
from ..unfold.outline import MovedRing, move_sides
from ..unfold.section_checks import is_whole, short_sides
from ..unfold.setbacks import MovedFacet, design_axis, designed, find_narrow, reach, side_distance, stock_for, strain

__all__ = ["Bench", "Bends", "Hinge", "Panel"]

#: Rounds in which lattices may widen each other before a bend is given up; neighbours that fit need two or three.
_ROUNDS = 8


@dataclass(frozen=True, slots=True, eq=False)
class Hinge:
    """The lattice of an edge as it is designed for an axis, mm, and the bend that it makes."""

    axis: float
    lattice: Lattice
    bend: Bend
    holds: bool


@dataclass(frozen=True, slots=True, eq=False)
class Panel:
    """A facet between its hinges.

    ring: its outline. reach: from where to where it runs beside each bent edge, mm from the edge's start.
    whole: whether it kept all its sides and did not fall apart.
    """

    ring: MovedRing
    reach: Mapping[int, tuple[float, float]]
    whole: bool


class Bench:
    """What all bends of one shell have in common: its facets and stock, and all hinges and panels made so far."""

    def __init__(self, facets: Facets, shell: Shell, settings: BuildSettings) -> None:
        self.facets = facets
        self.settings = settings
        self._stock = stock_for(facets, facets.facets[min(shell.facets)], settings)
        self._hinges: dict[tuple[int, float], Hinge] = {}
        self._panels: dict[tuple[int, tuple[tuple[int, float], ...]], Panel] = {}
        eaves, narrow = find_eaves(facets, {}), find_narrow(facets, settings)
        self._rings = {}
        self._distances = {}
        for k in shell.facets:
            facet = facets.facets[k]
            self._rings[k] = [facets.ring(facet, r) for r in range(len(facet.rings))]
            self._distances[k] = [self._parted(facet, r, eaves, narrow) for r in range(len(facet.rings))]
        # no edge of an opening bends, so openings stay as they are
        self._holes = {
            k: [move_sides(*moved) for moved in zip(rings[1:], self._distances[k][1:], strict=True)]
            for k, rings in self._rings.items()
        }
        self.start = Bends(self, {}, {}, {}, {k: self.panel(k, {}) for k in shell.facets})

    def _parted(self, facet: Facet, ring: int, eaves: Eaves, narrow: frozenset[int]) -> np.ndarray:
        """Return the setbacks of the sides of a ring where nothing bends, mm."""
        sides, rooms = range(len(facet.rings[ring])), WallRooms(self.facets, self.settings.walls.thickness)
        return np.array(
            [side_distance(self.facets, facet, ring, side, {}, eaves, self.settings, narrow, rooms) for side in sides]
        )

    def hinge(self, edge: int, axis: float) -> Hinge:
        """Return the hinge of an edge over an axis, mm, with the rows that the sections will give it."""
        key = (edge, design_axis(axis))
        if key not in self._hinges:
            angle, wishes = self.facets.edges[edge].angle, self.settings.hinge
            made = designed(self._stock, abs(angle), axis, wishes.inside_radius, wishes.wishes)
            made_bend = bend(angle, flat_width=made.flat_width, thickness=self._stock.thickness)
            self._hinges[key] = Hinge(key[1], made, made_bend, strain(made) <= 1.0)
        return self._hinges[key]

    def panel(self, facet_id: int, hinges: Mapping[int, Hinge]) -> Panel:
        """Return a facet set back for those of the hinges that are its own, and for what stays parted."""
        facet = self.facets.facets[facet_id]
        bent = {side: edge for side, edge in enumerate(facet.ring_edges[0]) if edge in hinges}
        key = (facet_id, tuple((edge, hinges[edge].axis) for edge in bent.values()))
        if key not in self._panels:
            distances = self._distances[facet_id][0].copy()
            for side, edge in bent.items():
                distances[side] = hinges[edge].bend.setback
            ring = move_sides(self._rings[facet_id][0], distances)
            moved = MovedFacet(facet, (ring, *self._holes[facet_id]))
            lattices = {edge: hinges[edge].lattice for edge in bent.values()}
            self._panels[key] = Panel(
                ring,
                {edge: reach(self.facets, moved, self.facets.edges[edge]) for edge in lattices},
                not short_sides(lattices, moved) and is_whole(moved),
            )
        return self._panels[key]

    def hinged(self, facet: int) -> tuple[int, ...]:
        """Return the edges of a facet's outline."""
        return self.facets.facets[facet].ring_edges[0]

    def pair(self, edge: int) -> tuple[int, int]:
        """Return the facets on both sides of an edge."""
        one, two = self.facets.pair(self.facets.edges[edge])
        return one.id, two.id

    def length(self, edge: int) -> float:
        """Return the length of an edge, mm."""
        return self.facets.length(self.facets.edges[edge])


@dataclass(frozen=True, slots=True, eq=False)
class Bends:
    """Edges of one shell that bend, by id, with their hinges and the panels that these leave.

    axes: the shortest axis that an edge had while bends were added, mm; its hinge is designed for that one.
    spans: from where to where along its edge a lattice runs, mm from the edge's start. panels: of all facets.
    """

    bench: Bench
    hinges: Mapping[int, Hinge]
    axes: Mapping[int, float]
    spans: Mapping[int, tuple[float, float]]
    panels: Mapping[int, Panel]

    def with_bend(self, edge: int) -> Bends | None:
        """Return these bends and one more; None where one of them is asked too much of, or a facet loses a side."""
        return self._grown((edge,), forced=False)

    def with_forced(self, edges: Iterable[int]) -> Bends:
        """Return these bends and more, whatever becomes of the facets beside them."""
        grown = self._grown(tuple(edges), forced=True)
        assert grown is not None, "forced bends are never given up"
        return grown

    def without(self, edge: int) -> Bends:
        """Return the other bends; those on the same facets get the room that it leaves."""
        beside = {other for facet in self.bench.pair(edge) for other in self.bench.hinged(facet)}
        again = tuple(other for other in self.hinges if other in beside and other != edge)
        gone = {edge, *again}
        hinges = {other: made for other, made in self.hinges.items() if other not in gone}
        changed = {facet for other in gone for facet in self.bench.pair(other)}
        rest = Bends(
            self.bench,
            hinges,
            {other: axis for other, axis in self.axes.items() if other not in gone},
            {other: run for other, run in self.spans.items() if other not in gone},
            {**self.panels, **{facet: self.bench.panel(facet, hinges) for facet in changed}},
        )
        return rest.with_forced(again)

    @property
    def sound(self) -> bool:
        """Whether all facets keep their panels and the board bears all bends."""
        return all(panel.whole for panel in self.panels.values()) and all(map(self._holds, self.hinges))

    def _holds(self, edge: int) -> bool:
        low, high = self.spans[edge]
        return self.hinges[edge].holds and high - low > self.hinges[edge].lattice.least_axis

    def _grown(self, edges: tuple[int, ...], *, forced: bool) -> Bends | None:
        bench = self.bench
        hinges, axes, spans, panels = dict(self.hinges), dict(self.axes), dict(self.spans), dict(self.panels)
        axes.update((edge, bench.length(edge)) for edge in edges)
        grown = Bends(bench, hinges, axes, spans, panels)
        waiting = list(edges)
        touched: set[int] = set()
        for _ in range(_ROUNDS):
            for edge in waiting:
                hinges[edge] = bench.hinge(edge, axes[edge])
            near = sorted({facet for edge in waiting for facet in bench.pair(edge)})
            panels.update((facet, bench.panel(facet, hinges)) for facet in near)
            touched.update(near)
            beside = sorted({edge for facet in near for edge in panels[facet].reach})
            for edge in beside:
                runs = [panels[facet].reach[edge] for facet in bench.pair(edge)]
                spans[edge] = (
                    max(0.0, *(low for low, _ in runs)),
                    min(bench.length(edge), *(high for _, high in runs)),
                )
            if not forced and not all(map(grown._holds, beside)):
                return None
            shortest = {edge: min(axes[edge], max(spans[edge][1] - spans[edge][0], LENGTH)) for edge in beside}
            waiting = [edge for edge in beside if design_axis(shortest[edge]) < hinges[edge].axis]
            axes.update(shortest)
            if not waiting:
                break
        if not forced and (waiting or not all(panels[facet].whole for facet in touched)):
            return None
        return grown
