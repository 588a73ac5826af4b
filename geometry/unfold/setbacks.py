"""Setbacks: how far every side of every facet stops short of its model edge, and the lattices that need it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from ..board.hinge import solve_hinge
from ..board.lattice import Lattice, lattice
from ..board.lattice_design import design_lattice
from ..board.stock import Stock
from ..board.wishes import HingeWishes
from ..settings import BuildSettings, HingeSettings
from ..solid.facets import Edge, Facet, Facets, ShellKind
from ..solid.solid import Role
from ..tolerance import LENGTH, SNAP
from .butts import butt_setback
from .corner import Bend, bend, parted_setback
from .eaves import Eaves, find_eaves
from .headroom import span_under_roof
from .hollow import hollow_setback, narrow_facets
from .met_walls import WallRooms, roof_stand_off, stand_off
from .necks import is_neck, neck_setback
from .outline import MovedRing, move_sides
from .round_seams import seam_setback
from .saddles import saddle_of, saddle_setback

__all__ = [
    "MovedFacet",
    "Setbacks",
    "design_axis",
    "designed",
    "find_narrow",
    "find_setbacks",
    "lattice_designer",
    "least_axis",
    "reach",
    "refitted",
    "side_distance",
    "stock_for",
    "strain",
    "strained_bends",
]

#: Rounds of designing a lattice for its axis and measuring the axis again before its size is kept.
_ROUNDS = 8

#: Lattices are designed for axes in steps of this, mm, so that axes nearly alike share one search; finer than any
#: change of its rows that a maker could tell.
_AXIS_STEP = 0.25

#: ... and for bends in steps of this, radians: the rounding of single precision turns them by about as much.
_ANGLE_STEP = 1e-6

#: Axes up to this length are tried to find the shortest that a board bends over, mm: longer slits are not cut.
_LONGEST_TRIED = 200


@dataclass(frozen=True, slots=True, eq=False)
class MovedFacet:
    """A facet whose sides were set back: one MovedRing per ring, in the facet's plane."""

    facet: Facet
    rings: tuple[MovedRing, ...]

    def side_of(self, edge: Edge) -> tuple[int, int]:
        """Return (ring, side) where the facet's boundary runs along an edge."""
        for r, ids in enumerate(self.facet.ring_edges):
            if edge.id in ids:
                return r, ids.index(edge.id)
        raise KeyError(edge.id)


@dataclass(frozen=True, slots=True, eq=False)
class Setbacks:
    """All facets set back, with the bend and the lattice of each hinge by edge id.

    spans: per hinge, from where to where along the model edge its lattice runs, mm from the edge's start.
    """

    facets: Mapping[int, MovedFacet]
    bends: Mapping[int, Bend]
    lattices: Mapping[int, Lattice]
    spans: Mapping[int, tuple[float, float]]
    eaves: Eaves


def stock_for(facets: Facets, facet: Facet, settings: BuildSettings) -> Stock:
    """Return the stock that a facet is cut from."""
    return settings.roof if facets.shell_of(facet).kind is ShellKind.ROOF else settings.walls


def find_narrow(facets: Facets, settings: BuildSettings) -> frozenset[int]:
    """Return the facets that are too narrow to give way in a hollow."""
    return narrow_facets(facets, lambda facet: stock_for(facets, facet, settings).thickness)


def find_setbacks(facets: Facets, hinges: Iterable[int], settings: BuildSettings) -> Setbacks:
    """Design the lattice of every hinge and move the sides of all facets back to make room for them.

    A lattice's length depends on the setbacks of the neighbouring edges and those on their
    lattices, so both are repeated until no lattice changes its width; one that keeps changing keeps
    its rows and is only fitted to its axis. Lattices that meet may shorten each other in turn, so each
    is designed for the shortest axis that it had in any round: on a longer one it is stressed less.
    """
    hinges = tuple(hinges)
    flat_eaves = find_eaves(facets, {})
    narrow = find_narrow(facets, settings)
    design = lattice_designer(settings.hinge)
    axes = {edge: (0.0, facets.length(facets.edges[edge])) for edge in hinges}
    shortest = {edge: high - low for edge, (low, high) in axes.items()}
    lattices: dict[int, Lattice] = {}
    for attempt in range(_ROUNDS):
        widths = {edge: made.flat_width for edge, made in lattices.items()}
        for edge in hinges:
            axis = max(axes[edge][1] - axes[edge][0], LENGTH)
            angle = abs(facets.edges[edge].angle)
            stock = stock_for(facets, facets.left(facets.edges[edge]), settings)
            if attempt == _ROUNDS - 1:
                lattices[edge] = refitted(lattices[edge], stock, angle, axis)
            else:
                shortest[edge] = min(shortest[edge], axis)
                made = design(stock, angle, shortest[edge], settings.hinge.inside_radius)
                lattices[edge] = refitted(made, stock, angle, axis)
        bends = {
            edge: bend(
                facets.edges[edge].angle,
                flat_width=made.flat_width,
                thickness=made.thickness,
            )
            for edge, made in lattices.items()
        }
        if all(abs(widths.get(edge, 0.0) - made.flat_width) < LENGTH for edge, made in lattices.items()):
            break
        rooms = WallRooms(facets, settings.walls.thickness, bends)
        moved = {f.id: _moved(facets, f, bends, flat_eaves, settings, narrow, rooms) for f in facets.facets}
        eaves = find_eaves(facets, {edge: made.reference_radius for edge, made in bends.items()})
        axes = {
            edge: span_under_roof(
                facets,
                facets.edges[edge],
                bends[edge],
                lattices[edge].thickness,
                eaves,
                _span(facets, moved, facets.edges[edge]),
            )
            for edge in hinges
        }
    if not hinges:
        rooms = WallRooms(facets, settings.walls.thickness)
        moved = {f.id: _moved(facets, f, {}, flat_eaves, settings, narrow, rooms) for f in facets.facets}
    radii = {edge: made.reference_radius for edge, made in bends.items()}
    return Setbacks(moved, bends, lattices, axes, find_eaves(facets, radii))


def strained_bends(facets: Facets, hinges: Iterable[int], settings: BuildSettings) -> dict[int, float]:
    """Return the hinges whose lattices are asked for more than their board bears, by edge id, with how many times.

    Infinite where the axis is too short for one cell of slits and bridges.
    """
    strained = {edge: strain(made) for edge, made in find_setbacks(facets, hinges, settings).lattices.items()}
    return {edge: asked for edge, asked in strained.items() if asked > 1.0}


def least_axis(stock: Stock, angle: float, hinge: HingeSettings) -> float | None:
    """Return the shortest whole length of an axis, mm, over which the board bends so far; None where it never does."""
    design = lattice_designer(hinge)
    for length in range(1, _LONGEST_TRIED):
        if strain(design(stock, angle, float(length), hinge.inside_radius)) <= 1.0:
            return float(length)
    return None


def strain(made: Lattice) -> float:
    """Return how many times a lattice is asked for what its board bears; infinite where no cell fits its axis."""
    asked = max(made.held_shear / made.shear_limit, made.held_bridge_stress / made.bridge_limit)
    return asked if made.contact_twist is None else max(asked, made.twist / made.contact_twist)


def side_distance(
    facets: Facets,
    facet: Facet,
    ring: int,
    side: int,
    bends: Mapping[int, Bend],
    eaves: Eaves,
    settings: BuildSettings,
    narrow: frozenset[int],
    rooms: WallRooms,
) -> float:
    """Return the setback of one side of a facet, mm, by the role of its edge and its neighbour.

    narrow: facets too narrow to give way in a hollow (see ``hollow``); rooms: what walls take while these edges bend.
    """
    edge = facets.edges[facet.ring_edges[ring][side]]
    other = edge.beyond(facet.id)
    thickness = stock_for(facets, facet, settings).thickness
    if edge.id in bends:
        return bends[edge.id].setback
    if edge.role is Role.BREAK and other is not None:
        return settings.joiner.core_width / 2 + settings.joiner.gap
    if other is None:
        slope = saddle_of(facets, facet, edge)
        if slope is not None:
            roof = stock_for(facets, slope, settings).thickness
            return saddle_setback(facets, facet, edge, slope=slope, board=thickness, roof=roof)
        drop = top_drop(facets, facet, ring, side, eaves, (0.0, thickness))
        return max(drop, stand_off(facet, edge, rooms), roof_stand_off(facets, facet, edge, settings))
    if other == facets.shell_of(facet).bottom:
        return 0.0
    if facets.shell_of(facet).stands_on:
        glued = butt_setback(facets, facet, edge, board=thickness)
        if glued is not None:
            return glued
    if is_neck(facets, edge):

        def beside(near: int) -> float:
            return side_distance(facets, facet, ring, near, bends, eaves, settings, narrow, rooms)

        return neck_setback(facets.ring(facet, ring), side, beside)
    if edge.angle >= 0.0:
        return max(parted_setback(edge.angle, thickness=thickness), seam_setback(facets, edge, bends))
    return hollow_setback(edge, facet, narrow, thickness=thickness)


def top_drop(facets: Facets, facet: Facet, ring: int, side: int, eaves: Eaves, layer: tuple[float, float]) -> float:
    """Return the setback of a free top side of an upright facet under a roof, for a board in ``layer``, mm."""
    points = facets.points[[facet.rings[ring][side], facet.rings[ring][(side + 1) % len(facet.rings[ring])]]]
    run = facet.frame.flatten(points)
    along = (run[1] - run[0]) / np.hypot(*(run[1] - run[0]))
    # the material lies left of a side, so a top side runs toward -u
    if not facet.upright or along[0] > -SNAP:
        return 0.0
    return eaves.drop(facet, points[0], points[1], layer) * abs(float(along[0]))


def _moved(
    facets: Facets,
    facet: Facet,
    bends: Mapping[int, Bend],
    eaves: Eaves,
    settings: BuildSettings,
    narrow: frozenset[int],
    rooms: WallRooms,
) -> MovedFacet:
    rings = []
    for r in range(len(facet.rings)):
        distances = [
            side_distance(facets, facet, r, side, bends, eaves, settings, narrow, rooms)
            for side in range(len(facet.rings[r]))
        ]
        rings.append(move_sides(facets.ring(facet, r), np.array(distances)))
    return MovedFacet(facet, tuple(rings))


def reach(facets: Facets, moved: MovedFacet, edge: Edge) -> tuple[float, float]:
    """Return from where to where a moved side of a facet runs beside its edge, mm from the edge's start."""
    start, end = facets.ends(edge)
    ring, side = moved.side_of(edge)
    along = (end - start) / facets.length(edge)
    run = (moved.facet.frame.raise_(moved.rings[ring].sides[side]) - start) @ along
    return float(run.min()), float(run.max())


def _span(facets: Facets, moved: Mapping[int, MovedFacet], edge: Edge) -> tuple[float, float]:
    """Where both moved sides and the model edge itself run beside each other, mm from the edge's start."""
    runs = [reach(facets, moved[facet.id], edge) for facet in facets.pair(edge)]
    return max(0.0, *(low for low, _ in runs)), min(facets.length(edge), *(high for _, high in runs))


def lattice_designer(hinge: HingeSettings) -> Callable[[Stock, float, float, float], Lattice]:
    """Return a designer that searches once for bends alike, as the four of a wall loop are.

    It takes the stock, the unsigned bend in radians, the axis and the inside radius aimed at, mm. The rows are
    those of an axis a little shorter (see design_axis), on which they are stressed more.
    """

    def design(stock: Stock, angle: float, axis: float, radius: float) -> Lattice:
        return refitted(designed(stock, angle, axis, radius, hinge.wishes), stock, angle, axis)

    return design


def design_axis(axis: float) -> float:
    """Return the axis for which the lattice of this one is designed, mm: one of a few lengths, and no longer."""
    return max(math.floor(axis / _AXIS_STEP + LENGTH) * _AXIS_STEP, min(axis, _AXIS_STEP))


def designed(stock: Stock, angle: float, axis: float, radius: float, wishes: HingeWishes) -> Lattice:
    """Return the lattice for an unsigned bend, radians, over the design axis of an axis, mm.

    radius: inside radius aimed at, mm. Bends and axes nearly alike get one and the same lattice.
    """
    return _designed(stock, max(round(angle / _ANGLE_STEP), 1) * _ANGLE_STEP, design_axis(axis), radius, wishes)


@lru_cache(maxsize=16384)
def _designed(stock: Stock, angle: float, axis: float, radius: float, wishes: HingeWishes) -> Lattice:
    if wishes == HingeWishes():
        return design_lattice(stock, angle=angle, axis_length=axis, inside_radius=radius)
    fixed = replace(wishes, inside_radius=radius)
    return solve_hinge(stock, angle=angle, axis_length=axis, fixed=fixed).lattice


def refitted(like: Lattice, stock: Stock, angle: float, axis: float) -> Lattice:
    """Return a lattice with the rows and links of another one, its slits filling an axis of its own, mm."""
    return lattice(
        stock,
        angle=angle,
        axis_length=axis,
        link_width=like.link_width,
        opening=like.opening,
        links=like.links,
        slits=like.slits,
        bridge=like.bridge,
    )
