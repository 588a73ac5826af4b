"""The lattice for a board and a bend: within the board's limits and the wanted radius, and quick to cut."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from ..errors import BadSettingError
from .cells import LEAST_PITCH, LEAST_RADIUS, cut_ways, even_links, free_length, link_widths, openings, slit_counts
from .lattice import Lattice, check_bend, lattice
from .spread import reserved_twists
from .stock import Stock

__all__ = ["design_lattice"]

#: A lattice that takes so much longer to cut is as good as the quickest (common practice, no source).
_AS_SOON = 1.03


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
    for column in (width, gap, count, allowed):
        column.setflags(write=False)
    return width, gap, count, allowed
