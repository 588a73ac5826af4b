"""Cells: the sizes of link, opening, bridge and slit that a board can be cut to, and how far each cell may twist.

A cell is one link between two bridges, with its share of slit. ``link_widths``, ``openings``,
``bridges`` and ``slit_counts`` say what is worth trying in a stock, ``allowed_twists`` how far a link
of each cell may twist before it, its bridges or the closing slit stop it. Everything works on arrays.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ..tolerance import LENGTH
from .links import held_ends
from .stock import Stock
from .torsion import coefficients

__all__ = [
    "LEAST_PITCH",
    "LEAST_RADIUS",
    "LONGEST_SLIT",
    "MOST_LINKS",
    "Twists",
    "allowed_twists",
    "bridges",
    "contact_twists",
    "cut_ways",
    "even_links",
    "free_length",
    "link_widths",
    "openings",
    "slit_counts",
]

# What is tried, mm. Common practice, no source.
LONGEST_SLIT = 100.0  # longer ones leave a corner without any hold in the hand ...
LEAST_PITCH = 1.2  # closer rows pile up heat under the laser
LEAST_RADIUS = 0.5
MOST_LINKS = 100  # a short axis that would need more is over-stressed instead
_LONG_SLIT = 60.0  # shorter ones bend less and take longer to cut
_PIERCE_WAY = 0.6  # a tenth of a second to pierce at 6 mm/s, as a hobby laser cuts 3 mm board
_WIDEST_LINK = 2.0  # times the stock's narrowest
_LINK_STEP = 0.1
_WIDEST_OPENING = 1.5
_OPENING_STEP = 0.05
_LONGEST_BRIDGE = 2.0  # times the stock's shortest
_BRIDGE_STEP = 0.5


class Twists(NamedTuple):
    """How far one link may twist, radians, before each of these is at its limit; infinite where it never is."""

    link: np.ndarray
    bridge: np.ndarray
    contact: np.ndarray

    @property
    def least(self) -> np.ndarray:
        """The twist at which the first of them is at its limit."""
        return np.minimum(np.minimum(self.link, self.bridge), self.contact)


def allowed_twists(
    stock: Stock,
    *,
    link_width: np.ndarray,
    opening: np.ndarray,
    bridge: float | np.ndarray,
    free: np.ndarray,
) -> Twists:
    """Return the twists at which links, bridges and slits of these cells reach the stock's limits.

    All sizes in mm and of one shape; ``free`` is the length over which a link twists, larger than 0.
    Links: peak stress of a bar in torsion whose ends are held by bridges. Bridges: two links' torque bends
    each over its section.
    """
    thickness = stock.thickness
    widths, back = np.unique(link_width, return_inverse=True)  # the series is the dear part of it
    long, short = np.maximum(widths, thickness), np.minimum(widths, thickness)
    found = coefficients(long / short)
    per_length = (stock.shear_limit / (found.k_tau * stock.shear_modulus * short))[back]
    rigidity = (stock.shear_modulus * found.k1 * long * short**3)[back]
    held = held_ends(stock, link_width=link_width, opening=opening, bridge=np.asarray(bridge), free=free)
    bends = stock.cross_tension * bridge * thickness**2 * free / (12.0 * rigidity)
    return Twists(per_length * free / held, bends / held, contact_twists(link_width, opening, thickness))


def contact_twists(link_width: np.ndarray, opening: np.ndarray, thickness: float | np.ndarray) -> np.ndarray:
    """Return the twists at which slits close, radians, infinite where they never do.

    Solves w cos a + t sin a = w + k: strips turned by +a and -a meet in the middle of the slit.
    """
    reach = (link_width + opening) / np.hypot(link_width, thickness)
    closing = np.arctan2(thickness, link_width) - np.arccos(np.minimum(reach, 1.0))
    return np.where(reach < 1.0, closing, np.inf)


def cut_ways(
    stock: Stock, *, opening: np.ndarray, links: np.ndarray, bridge: float, count: np.ndarray, axis_length: float
) -> np.ndarray:
    """Return how far the beam goes for all slits of lattices, mm, each pierce counted as cutting: what time follows.

    One pass makes a slit as wide as the kerf; a wider one is a closed outline, drawn half a kerf inside.
    """
    slot = opening > stock.kerf + LENGTH
    length = axis_length - (count + 1) * bridge - count * stock.kerf
    ways = np.where(slot, 2.0 * length + 2.0 * count * (opening - stock.kerf), length)
    return np.asarray((links + 1) * (ways + count * _PIERCE_WAY))


def even_links(least: np.ndarray | float) -> np.ndarray:
    """Return the even numbers of links that are enough, at most as many as anyone would cut."""
    return np.asarray(2.0 * np.ceil(np.clip(least, 1.0, MOST_LINKS) / 2.0), dtype=np.int64)


def free_length(axis_length: float, bridge: float | np.ndarray, count: np.ndarray) -> np.ndarray:
    """Return the length over which links twist, mm, where ``count`` slits and their bridges fill the axis."""
    return np.asarray((axis_length - (2 * count + 1) * bridge) / (2.0 * count))


def link_widths(stock: Stock) -> np.ndarray:
    """Return the link widths to try, mm, narrowest first."""
    steps = math.floor(stock.link_width * (_WIDEST_LINK - 1.0) / _LINK_STEP + 0.5)
    return np.round(stock.link_width + _LINK_STEP * np.arange(steps + 1), 6)


def openings(stock: Stock) -> np.ndarray:
    """Return the openings to try, mm: one pass of the laser, then slots whose two sides lie at least a kerf apart.

    Nearer lines leave nothing between them, and a laser program that joins them makes them one.
    """
    first = math.ceil(2.0 * stock.kerf / _OPENING_STEP - LENGTH)
    last = round(_WIDEST_OPENING / _OPENING_STEP)
    return np.concatenate(([stock.kerf], np.round(_OPENING_STEP * np.arange(first, last + 1), 6)))


def bridges(stock: Stock) -> np.ndarray:
    """Return the bridges to try, mm, shortest first."""
    steps = math.floor(stock.bridge * (_LONGEST_BRIDGE - 1.0) / _BRIDGE_STEP + 0.5)
    return np.round(stock.bridge + _BRIDGE_STEP * np.arange(steps + 1), 6)


def slit_counts(axis_length: float, bridge: float) -> np.ndarray:
    """Return how many full slits a row may have, so that none is longer than it may be.

    More than the last count is never needed: shorter slits bend less.
    """
    fill = axis_length - bridge  # = count * (slit + bridge), with edge bridges as long as bridges
    fewest = max(1, math.ceil(fill / (LONGEST_SLIT + bridge)))
    return np.arange(fewest, max(1, math.ceil(fill / (_LONG_SLIT + bridge))) + 1)
