"""The lattice: staggered rows of slits that let a flat board bend along a straight axis.

Rows run along the bend axis. The links between two rows twist; the bridges between two slits of
a row carry the twist on to the next row.

``lattice`` works out one with given sizes, ``design_lattice`` finds the sizes for a board and a
bend, ``lay_out_slits`` says where to cut, ``check_lattice`` says what the maker should know.

The mechanics: links in series in angle, the segments of one link in parallel; each segment is a
rectangular bar in torsion (see ``torsion``) whose ends are held by bridges (see ``links``). Slits close
where neighbouring strips, turned against each other by twice the twist per link, touch at the inner face.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ..errors import BadSettingError
from ..findings import Finding, Location, Severity, all_places
from ..tolerance import ANGLE
from .cells import (
    LEAST_PITCH,
    LEAST_RADIUS,
    contact_twists,
    cut_ways,
    even_links,
    free_length,
    link_widths,
    openings,
    slit_counts,
)
from .links import held_ends
from .spread import reserved_twists
from .stock import Stock
from .torsion import peak_stress, torque

__all__ = [
    "LARGEST_ANGLE",
    "STRENGTH",
    "Lattice",
    "SlitLayout",
    "check_bend",
    "check_lattice",
    "check_radii",
    "contact_twist",
    "design_lattice",
    "lattice",
    "lay_out_slits",
]

#: A corner bent further cannot be modelled as an edge: its tangent lines run away from it.
LARGEST_ANGLE = math.radians(150.0)

#: A lattice that takes so much longer to cut is as good as the quickest (common practice, no source).
_AS_SOON = 1.03

#: Limits are two thirds of strength (see ``Stock``), so this is where the board is expected to break.
STRENGTH = 1.5


@dataclass(frozen=True, slots=True)
class Lattice:
    """One lattice, engineered for its board. Lengths in mm, stresses in MPa, angles in radians.

    angle: bend angle it is made for, unsigned. axis_length: length of the bend axis (H).
    rows: slit rows (N, odd); links = rows - 1 (M). slits: full slits in a closed-ended row (n).
    slit, bridge, edge_bridge: true lengths along the axis (s, b, e).
    pitch: row to row (p); link_width: solid strip (w); opening: width of a slit (k); pitch = w + k.
    flat_width: first row to last row in the flat, links * pitch (B).
    neutral_radius B / angle; inside_radius = neutral_radius - thickness / 2.
    twist: per link; contact_twist: where slits close, None if they never do.
    shear, bridge_stress: at ``angle``; the limits beside them. moment: spring-back, N mm. All three of
    links as free bars, in line with the shear modulus; restraint: how many times that bridges make them
    (see ``links``), which held_shear, held_bridge_stress and held_moment contain.
    Where the axis is too short for one cell (slit <= bridge) nothing can twist: shear,
    bridge_stress and moment are infinite.
    """

    angle: float
    axis_length: float
    thickness: float
    rows: int
    links: int
    slits: int
    slit: float
    bridge: float
    edge_bridge: float
    pitch: float
    link_width: float
    opening: float
    flat_width: float
    neutral_radius: float
    inside_radius: float
    twist: float
    contact_twist: float | None
    shear: float
    shear_limit: float
    bridge_stress: float
    bridge_limit: float
    moment: float
    restraint: float = 1.0

    @property
    def least_axis(self) -> float:
        """What an axis must be longer than for one cell, mm: a slit longer than a bridge, between two edge bridges."""
        return 2.0 * self.edge_bridge + self.bridge

    @property
    def held_shear(self) -> float:
        """Shear in the links as their bridges hold them, MPa: the twist is given, so it grows with the stiffness."""
        return self.shear * self.restraint

    @property
    def held_bridge_stress(self) -> float:
        """Bending stress in the bridges that hold such links, MPa."""
        return self.bridge_stress * self.restraint

    @property
    def held_moment(self) -> float:
        """Spring-back of links held by their bridges, N mm."""
        return self.moment * self.restraint


@dataclass(frozen=True, slots=True, eq=False)
class SlitLayout:
    """Where the slits of a lattice lie, one entry per slit, row by row.

    across: (m,) centre line of the slit from the first row, mm, 0 .. flat_width.
    start, end: (m,) true ends along the axis, 0 .. axis_length.
    open_start, open_end: (m,) bool, whether the slit runs off the board at that end.
    """

    across: np.ndarray
    start: np.ndarray
    end: np.ndarray
    open_start: np.ndarray
    open_end: np.ndarray


def contact_twist(link_width: float, opening: float, thickness: float) -> float | None:
    """Return the twist per link at which slits close, radians, or None where they never do.

    Solves w cos a + t sin a = w + k: strips turned by +a and -a meet in the middle of the slit.
    """
    limit = float(contact_twists(np.asarray(link_width), np.asarray(opening), thickness))
    return limit if math.isfinite(limit) else None


def lattice(
    stock: Stock,
    *,
    angle: float,
    axis_length: float,
    link_width: float,
    opening: float,
    links: int,
    slits: int,
    bridge: float | None = None,
    edge_bridge: float | None = None,
) -> Lattice:
    """Work out the lattice with these sizes; its slits fill ``axis_length`` exactly.

    angle in radians, lengths in mm; links even. The bridge defaults to the stock's, the edge
    bridge to the bridge. Raises BadSettingError for sizes that are not positive, an odd number
    of links or an angle beyond LARGEST_ANGLE.
    """
    bridge = stock.bridge if bridge is None else bridge
    edge_bridge = bridge if edge_bridge is None else edge_bridge
    check_bend(angle, axis_length)
    for what, size in (("link", link_width), ("opening", opening), ("bridge", bridge), ("edge bridge", edge_bridge)):
        if not (math.isfinite(size) and size > 0.0):
            raise BadSettingError(f"The {what} of the lattice is {size:g} mm; it must be larger than 0.")
    if links < 2 or links % 2:
        raise BadSettingError(f"The lattice has {links} links; the number must be even and at least 2.")
    if slits < 1:
        raise BadSettingError(f"The lattice has {slits} full slits in a row; at least 1 is needed.")

    sizes = (float(size) for size in (angle, axis_length, link_width, opening, bridge, edge_bridge))
    return _worked_out(stock, int(links), int(slits), *sizes)


@lru_cache(maxsize=4096)
def _worked_out(
    stock: Stock,
    links: int,
    slits: int,
    angle: float,
    axis_length: float,
    link_width: float,
    opening: float,
    bridge: float,
    edge_bridge: float,
) -> Lattice:
    """Return the lattice with these sizes; a search and every joint beside it ask for the same ones again."""
    thickness, modulus = stock.thickness, stock.shear_modulus
    slit = (axis_length - 2.0 * edge_bridge - (slits - 1) * bridge) / slits
    free = (slit - bridge) / 2.0
    pitch = link_width + opening
    flat_width = links * pitch
    twist = angle / links
    shear = segment_torque = math.inf
    held = 1.0
    if free > 0.0:
        cell = {"link_width": link_width, "opening": opening, "bridge": bridge, "free": free}
        held = float(held_ends(stock, **{size: np.asarray(value) for size, value in cell.items()}))
        shear = float(peak_stress(link_width, thickness, shear_modulus=modulus, twist=twist, length=free))
        segment_torque = float(torque(link_width, thickness, shear_modulus=modulus, twist=twist, length=free))
    return Lattice(
        angle=angle,
        axis_length=axis_length,
        thickness=thickness,
        rows=links + 1,
        links=links,
        slits=slits,
        slit=slit,
        bridge=bridge,
        edge_bridge=edge_bridge,
        pitch=pitch,
        link_width=link_width,
        opening=opening,
        flat_width=flat_width,
        neutral_radius=flat_width / angle,
        inside_radius=flat_width / angle - thickness / 2.0,
        twist=twist,
        contact_twist=contact_twist(link_width, opening, thickness),
        shear=shear,
        shear_limit=stock.shear_limit,
        bridge_stress=_bridge_stress(segment_torque, bridge, edge_bridge, thickness),
        bridge_limit=stock.cross_tension,
        moment=2.0 * slits * segment_torque,
        restraint=held,
    )


def _bridge_stress(segment_torque: float, bridge: float, edge_bridge: float, thickness: float) -> float:
    """Return the greater bending stress: a bridge carries two segments' torque, an edge bridge one."""
    return 6.0 * segment_torque / thickness**2 * max(2.0 / bridge, 1.0 / edge_bridge)


def design_lattice(
    stock: Stock,
    *,
    angle: float,
    axis_length: float,
    inside_radius: float = 10.0,
    link_width: float | None = None,
    opening: float | None = None,
    links: int | None = None,
    slits: int | None = None,
    bridge: float | None = None,
) -> Lattice:
    """Find the lattice for this board and bend: within all limits and ``inside_radius``, with few rows.

    What the maker fixes (link_width to bridge) stays; the rest is searched. Each combination of
    link width, opening and number of slits gets the fewest links that keep shear, bridges and slit
    contact within their limits. Among those within the wanted radius rows at least 1.2 mm apart win, then what the
    laser cuts soonest: single lines with more links or slots with fewer; of what takes at most 3 per cent longer the
    least radius, then wider links, narrower openings.
    If the radius is out of reach: the least one that the limits allow; if a short axis or fixed
    sizes break the limits: the one that breaks them least. An axis too short for one cell gets one too.
    ``check_lattice`` tells of each. Raises BadSettingError for an angle not within 0 .. 150 degrees
    or sizes that no lattice can have.

    >>> import math
    >>> made = design_lattice(birch, angle=math.radians(90), axis_length=60.0, inside_radius=12.0)
    >>> made.links, round(made.flat_width, 2)
    (18, 21.6)
    """
    check_bend(angle, axis_length)
    if not (math.isfinite(inside_radius) and inside_radius > 0.0):
        raise BadSettingError(f"The inside radius is {inside_radius:g} mm; it must be larger than 0.")
    bridge = stock.bridge if bridge is None else bridge
    thickness = stock.thickness
    widths = link_widths(stock) if link_width is None else np.array([link_width])
    gaps = openings(stock) if opening is None else np.array([opening])
    counts = slit_counts(axis_length, bridge) if slits is None else np.array([slits])

    def work_out(width: float, opening: float, links: int | np.ndarray, slits: int) -> Lattice:
        return lattice(
            stock,
            angle=angle,
            axis_length=axis_length,
            link_width=float(width),
            opening=float(opening),
            links=int(links),
            slits=int(slits),
            bridge=bridge,
        )

    # Worked out on its own so that fixed sizes which no lattice can have are refused before the search.
    first = work_out(widths[0], gaps[0], 2 if links is None else links, counts[0])
    tightest = angle * (LEAST_RADIUS + thickness / 2.0)  # flat width that bends to the least radius
    counts = counts[axis_length > (2 * counts + 1) * bridge]  # those whose slits are longer than a bridge
    if not len(counts):
        return work_out(widths[0], gaps[0], even_links(tightest / first.pitch), first.slits) if links is None else first

    width, gap, count, allowed = _cells(
        stock, axis_length, bridge, *(tuple(x.tolist()) for x in (widths, gaps, counts))
    )
    pitch = width + gap
    least = np.maximum(angle / allowed, tightest / pitch)
    chosen = even_links(least) if links is None else np.full(len(least), links)

    radius = chosen * pitch / angle - thickness / 2.0
    excess = np.maximum(least / chosen, 1.0)
    wide = radius > inside_radius
    overshoot = np.where(wide, radius, 0.0)
    way = cut_ways(stock, opening=gap, links=chosen, bridge=bridge, count=count, axis_length=axis_length)
    # The last key weighs most.
    ranked = (pitch < LEAST_PITCH, overshoot, wide, excess)
    first = np.lexsort((way, *ranked))[0]
    alike = np.all([key == key[first] for key in ranked], axis=0) & (way <= _AS_SOON * way[first])
    best = np.lexsort((gap, -width, np.round(radius, 6), ~alike))[0]
    return work_out(width[best], gap[best], chosen[best], count[best])


@lru_cache(maxsize=4096)
def _cells(
    stock: Stock,
    axis_length: float,
    bridge: float,
    widths: tuple[float, ...],
    openings: tuple[float, ...],
    counts: tuple[int, ...],
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Return link width, opening and number of slits of every cell to try, mm, and how far its links may twist.

    No angle comes into it, so that all bends over axes of one length share it.
    """
    width, gap, count = (size.ravel() for size in np.meshgrid(widths, openings, counts, indexing="ij"))
    free = free_length(axis_length, bridge, count)
    allowed = reserved_twists(stock, link_width=width, opening=gap, bridge=bridge, free=free).least
    return _frozen(width), _frozen(gap), _frozen(count), _frozen(allowed)


def check_bend(angle: float, axis_length: float) -> None:
    """Raise BadSettingError unless a board can be bent so far over an axis so long."""
    if not 0.0 < angle <= LARGEST_ANGLE + ANGLE:
        raise BadSettingError(
            f"A bend of {math.degrees(angle):.1f} degrees cannot be cut; it must be more than 0 and at most 150."
        )
    if not (math.isfinite(axis_length) and axis_length > 0.0):
        raise BadSettingError(f"The bend is {axis_length:g} mm long; it must be longer than 0.")


def lay_out_slits(lattice: Lattice) -> SlitLayout:
    """Place every slit: even rows with closed ends, odd rows shifted by half a period with open ends.

    The layout is the same from either end of the axis and from either side; slits of an axis too
    short for them are left out.
    """
    period = lattice.slit + lattice.bridge
    closed = lattice.edge_bridge + period * np.arange(lattice.slits)
    closed_ends = closed + lattice.slit
    # The bridges of an open-ended row face the middle of the closed slits beside it.
    middle = (closed + closed_ends) / 2.0
    opened = np.concatenate(([0.0], middle + lattice.bridge / 2.0))
    opened_ends = np.concatenate((middle - lattice.bridge / 2.0, [lattice.axis_length]))

    row, start, end, at_start, at_end = [], [], [], [], []
    for number in range(lattice.rows):
        starts, ends = (opened, opened_ends) if number % 2 else (closed, closed_ends)
        row.append(np.full(len(starts), float(number)))
        start.append(starts)
        end.append(ends)
        at_start.append((np.arange(len(starts)) == 0) & bool(number % 2))
        at_end.append((np.arange(len(starts)) == len(starts) - 1) & bool(number % 2))
    starts, ends = np.concatenate(start), np.concatenate(end)
    real = ends > starts
    columns = (np.concatenate(row) * lattice.pitch, starts, ends, np.concatenate(at_start), np.concatenate(at_end))
    return SlitLayout(*(_frozen(column[real]) for column in columns))


def _frozen(column: np.ndarray) -> np.ndarray:
    """Return the array after closing it to writing."""
    column.setflags(write=False)
    return column


def check_lattice(
    lattice: Lattice, stock: Stock, where: Location, *, wanted: float | None = None
) -> tuple[Finding, ...]:
    """Return what the maker should know about the lattice at ``where``.

    wanted: inside radius asked for, mm; without it a wide corner is not remarked on.
    Codes: lattice-too-short, link-over-stressed, bridge-over-stressed, slit-contact, corner-radius-wide.
    """
    least_axis = 2.0 * lattice.edge_bridge + lattice.slits * lattice.bridge + (lattice.slits - 1) * lattice.bridge
    if lattice.slit <= lattice.bridge:
        message = (
            f"The bend is {lattice.axis_length:.1f} mm long, but one cell of slits and bridges in {stock.label} "
            f"needs more than {least_axis:.1f} mm; make the edge longer or part it there."
        )
        return (Finding(Severity.ERROR, "lattice-too-short", message, where),)
    findings = []
    degrees = math.degrees(lattice.angle)
    loads = (
        (
            "link-over-stressed",
            "link",
            lattice.held_shear,
            lattice.shear_limit,
            "more rows, narrower links or longer slits",
        ),
        (
            "bridge-over-stressed",
            "bridge",
            lattice.held_bridge_stress,
            lattice.bridge_limit,
            "longer bridges or more rows",
        ),
    )
    for code, what, stress, limit, remedy in loads:
        if stress <= limit:
            continue
        breaks = stress > STRENGTH * limit
        fate = f"are likely to break (at about {STRENGTH * limit:.2f} MPa)" if breaks else "wear out early"
        message = (
            f"At {degrees:.0f} degrees the {what}s in {stock.label} carry {stress:.2f} MPa where {limit:.2f} MPa "
            f"is allowed, and {fate}; use {remedy}."
        )
        findings.append(Finding(Severity.ERROR if breaks else Severity.WARNING, code, message, where))
    if lattice.contact_twist is not None and lattice.twist > lattice.contact_twist:
        closing = math.degrees(lattice.contact_twist * lattice.links)
        message = (
            f"The slits of {lattice.opening:.2f} mm close at {closing:.0f} degrees, before the bend reaches "
            f"{degrees:.0f} degrees; use wider openings or at least "
            f"{2 * math.ceil(lattice.angle / lattice.contact_twist / 2.0) + 1} rows."
        )
        findings.append(Finding(Severity.WARNING, "slit-contact", message, where))
    return (*findings, *(check_radii([(lattice, where)], stock, wanted=wanted) if wanted is not None else ()))


def check_radii(bent: Sequence[tuple[Lattice, Location]], stock: Stock, *, wanted: float) -> tuple[Finding, ...]:
    """Return one note on all lattices in one board that bend wider than asked for. wanted: inside radius, mm.

    With two links there is nothing left to take away: a gentle bend is wide by its nature. Radii are compared as
    they are said, to one decimal: nobody measures more on a bent corner.
    """
    wide = [(made, where) for made, where in bent if round(made.inside_radius, 1) > round(wanted, 1) and made.links > 2]
    if not wide:
        return ()
    radii = sorted(round(made.inside_radius, 1) for made, _ in wide)
    axes = sorted(round(made.axis_length) for made, _ in wide)
    what = "The corner bends" if len(wide) == 1 else f"{len(wide)} corners bend"
    message = (
        f"{what} to an inside radius of {_range(radii, '.1f')} mm where {wanted:.1f} mm was asked for; plan for it, or "
        f"choose a board that twists further than {stock.label} over {_range(axes, '.0f')} mm."
    )
    return (Finding(Severity.NOTE, "corner-radius-wide", message, all_places([where for _, where in wide])),)


def _range(values: Sequence[float], form: str) -> str:
    """Return the first and last of values in order in words, one where they are the same."""
    low, high = format(values[0], form), format(values[-1], form)
    return low if low == high else f"{low} to {high}"
