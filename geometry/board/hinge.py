"""The hinge solved: the narrowest lattice that keeps every limit of its board, around what the maker has fixed.

A maker may fix the inside radius, the room for the lattice, any size of its cells, or whether slits are
one pass of the laser or slots. ``solve_hinge`` finds the rest, with a reserve kept back from every
strength, and reports each limit beside its value. Where the wishes cannot all be kept it gives the
lattice that breaks its limits least, the nearest one that holds, and one sentence that says so.
``check_hinge`` makes a finding of that.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from ..errors import BadSettingError
from ..findings import Finding, Location, Severity
from ..tolerance import LENGTH
from .cells import (
    LEAST_PITCH,
    LEAST_RADIUS,
    LONGEST_SLIT,
    MOST_LINKS,
    allowed_twists,
    bridges,
    even_links,
    free_length,
    link_widths,
    openings,
    slit_counts,
)
from .lattice import Lattice, check_bend, lattice
from .lattice_design import design_lattice
from .limits import Limit, hinge_limits, zone_width
from .spread import reserved_twists
from .stock import Stock
from .wishes import SPOKEN, Cut, HingeWishes, check_wishes, is_cut

__all__ = ["MARGIN", "HingeSolution", "check_hinge", "solve_hinge"]

#: Share of each strength that is kept back unless told otherwise. Common practice, no source: limits are two
#: thirds of strength already, so this is for what one cut differs from the next.
MARGIN = 0.1


@dataclass(frozen=True, slots=True)
class HingeSolution:
    """The lattice that was found, and what it makes of its limits.

    Where ``failure`` is None every limit holds and no narrower zone does in what was tried. Otherwise
    ``lattice`` keeps the wishes and breaks its limits least, ``failure`` says which one and by how much,
    and ``nearest`` is the lattice closest to the wishes that holds, None where the axis is too short for any.
    """

    lattice: Lattice
    limits: tuple[Limit, ...]
    margin: float
    failure: str | None = None
    nearest: Lattice | None = None

    @property
    def holds(self) -> bool:
        """Whether every limit holds with its margin."""
        return self.failure is None

    @property
    def zone_width(self) -> float:
        """What the slits take up across the axis, mm."""
        return zone_width(self.lattice)


def solve_hinge(
    stock: Stock, *, angle: float, axis_length: float, fixed: HingeWishes | None = None, margin: float = MARGIN
) -> HingeSolution:
    """Find the lattice of the narrowest zone that bends the stock by ``angle`` radians and keeps every limit.

    Tried are all cells of ``cells`` that agree with what is fixed, each with the fewest links that bear
    the bend. Among equal zones the fewest links win, then wider links, then shorter bridges. ``margin`` is kept
    back from torsion, bending and slit contact; with one the bend also holds at the worst kerf and thickness, as
    ``design_lattice`` sees to. Sizes for cutting and handling hold as they are.
    Raises BadSettingError for sizes that are not positive or contradict each other, a margin outside
    0 .. 0.9, or a bend that no board has.
    """
    fixed = HingeWishes() if fixed is None else fixed
    check_bend(angle, axis_length)
    check_wishes(stock, fixed)
    if not 0.0 <= margin <= 0.9:
        raise BadSettingError(f"The margin is {margin:g}; it must be within 0 and 0.9.")
    trial = _Trial(stock, angle, axis_length, margin)
    found = trial.run(fixed)
    made = found[0] if found else design_lattice(stock, angle=angle, axis_length=axis_length, bridge=fixed.bridge)
    limits = hinge_limits(made, stock, fixed, margin=margin)
    if found and found[1]:
        return HingeSolution(made, limits, margin)
    failure, nearest = trial.explain(fixed, limits if found else ())
    return HingeSolution(made, limits, margin, failure, nearest)


def check_hinge(solution: HingeSolution, where: Location) -> tuple[Finding, ...]:
    """Return what the maker should know where the wishes could not all be kept. Code: hinge-wish-not-met."""
    if solution.failure is None:
        return ()
    return (Finding(Severity.WARNING, "hinge-wish-not-met", solution.failure, where),)


@dataclass(frozen=True, slots=True)
class _Trial:
    """One bend of one board, tried with different wishes."""

    stock: Stock
    angle: float
    axis_length: float
    margin: float
    known: dict[HingeWishes, tuple[np.ndarray, ...] | None] = field(default_factory=dict)

    def run(self, fixed: HingeWishes, near: tuple[str, float] | None = None) -> tuple[Lattice, bool] | None:
        """Return the best lattice and whether it holds, or None where the axis takes no cell.

        near: a size and its value; among lattices that hold, the one closest to it is best.
        """
        key = replace(fixed, inside_radius=None, zone_width=None)  # these two change nothing in the cells
        if key not in self.known:
            self.known[key] = self._cells(key)
        cells = self.known[key]
        if cells is None:
            return None
        width, gap, bridge, count, free, bears = cells
        pitch, thickness = width + gap, self.stock.thickness
        slit = 2.0 * free + bridge
        needed = self.angle / bears
        tightest = self.angle * (LEAST_RADIUS + thickness / 2.0)
        most = np.full(len(width), float(MOST_LINKS))
        if fixed.inside_radius is not None:
            most = np.minimum(most, (self.angle * (fixed.inside_radius + thickness / 2.0) + LENGTH) / pitch)
        if fixed.zone_width is not None:
            most = np.minimum(most, (fixed.zone_width - gap + LENGTH) / pitch)
        links = even_links(np.maximum(needed, tightest / pitch) - LENGTH)
        links = np.minimum(links, np.maximum(2, 2 * np.floor(most / 2.0).astype(np.int64)))

        flat = links * pitch
        radius = flat / self.angle - thickness / 2.0
        zone = flat + gap
        with np.errstate(divide="ignore"):
            least_radius = np.where(radius > 0.0, LEAST_RADIUS / np.maximum(radius, LENGTH), np.inf)
        used = [needed / links, least_radius, LEAST_PITCH / pitch, self.stock.kerf / gap]
        used += [self.stock.link_width / width, self.stock.bridge / bridge]
        if fixed.slit is None:
            used.append(slit / LONGEST_SLIT)
        if fixed.inside_radius is not None:
            used.append(radius / fixed.inside_radius)
        if fixed.zone_width is not None:
            used.append(zone / fixed.zone_width)
        # Rounded, so that sizes that are equal but for the last bits are equal in the order too.
        worst = np.round(np.maximum.reduce(used), 6)
        holds = np.asarray(worst <= 1.0)
        excess = np.where(holds, 1.0, worst)
        distance = np.zeros(len(width))
        if near is not None:
            sizes = {"inside_radius": radius, "zone_width": zone, "slit": slit, "bridge": bridge, "pitch": pitch}
            sizes |= {"link_width": width, "opening": gap}
            distance = np.round(np.abs(sizes[near[0]] - near[1]), 6)
        # The last key weighs most.
        best = np.lexsort((count, bridge, -width, links, np.round(zone, 6), distance, excess))[0]
        made = lattice(
            self.stock,
            angle=self.angle,
            axis_length=self.axis_length,
            link_width=float(width[best]),
            opening=float(gap[best]),
            links=int(links[best]),
            slits=int(count[best]),
            bridge=float(bridge[best]),
        )
        return made, bool(holds[best])

    def _cells(self, fixed: HingeWishes) -> tuple[np.ndarray, ...] | None:
        """Return every cell to try, None where none fits the axis.

        In columns: link width, opening, bridge, slits per row, free length, and the twist that it bears.
        """
        stock = self.stock
        widths = link_widths(stock) if fixed.link_width is None else np.array([fixed.link_width])
        gaps = openings(stock) if fixed.opening is None else np.array([fixed.opening])
        gaps = gaps[is_cut(gaps, stock, fixed.cut)]
        if fixed.pitch is not None:
            if fixed.link_width is None:
                gaps = gaps[gaps < fixed.pitch - LENGTH]
                widths = fixed.pitch - gaps
            else:
                gaps = np.array([fixed.pitch - fixed.link_width])
                gaps = gaps[is_cut(gaps, stock, fixed.cut)]
                widths = np.broadcast_to(widths, gaps.shape)
            pairs = np.stack((widths, gaps))
        else:
            pairs = np.stack([grid.ravel() for grid in np.meshgrid(widths, gaps, indexing="ij")])
        lengths = bridges(stock) if fixed.bridge is None else np.array([fixed.bridge])
        rows = [
            (length, count)
            for length in lengths.tolist()
            for count in self._counts(fixed, length)
            if self.axis_length > (2 * count + 1) * length + LENGTH
        ]
        if not rows or not pairs.size:
            return None
        width, gap = np.repeat(pairs, len(rows), axis=1)
        bridge, count = np.tile(np.array(rows).T, pairs.shape[1])
        count = count.astype(np.int64)
        free = free_length(self.axis_length, bridge, count)
        twists = allowed_twists(stock, link_width=width, opening=gap, bridge=bridge, free=free)
        bears = (1.0 - self.margin) * twists.least
        if self.margin > 0.0:
            # where slits close, a narrow kerf and a thick board take more than the margin
            worst = reserved_twists(stock, link_width=width, opening=gap, bridge=bridge, free=free)
            bears = np.minimum(bears, worst.least)
        return width, gap, bridge, count, free, bears

    def _counts(self, fixed: HingeWishes, bridge: float) -> list[int]:
        """Return the numbers of slits to try in a row with this bridge."""
        if fixed.slit is None:
            return [int(count) for count in slit_counts(self.axis_length, bridge)]
        return [max(1, round((self.axis_length - bridge) / (fixed.slit + bridge)))]

    def explain(self, fixed: HingeWishes, limits: tuple[Limit, ...]) -> tuple[str, Lattice | None]:
        """Return the sentence that says what fails, by how much, and the nearest that holds; and that lattice.

        limits: of the best lattice that keeps the wishes, none where the axis takes no cell.
        """
        wished = {name: getattr(fixed, name) for name in SPOKEN if getattr(fixed, name) is not None}
        spoken = [SPOKEN[name].format(size) for name, size in wished.items()]
        if fixed.cut is not Cut.ANY:
            spoken.append("slits of one laser pass" if fixed.cut is Cut.LINE else "slots")
        fails = (
            f"{self.stock.label[0].upper()}{self.stock.label[1:]} does not bend {math.degrees(self.angle):.0f} degrees "
            f"over {self.axis_length:.1f} mm{' with ' if spoken else ''}{' and '.join(spoken)}: {_worst(limits)}"
        )
        others = self._others(fixed, wished)
        if others:
            return f"{fails}; {', or '.join(words for words, _ in others)} would hold.", others[0][1]
        found = self.run(HingeWishes())
        if spoken and found is not None and found[1]:
            other = found[0]
            remedy = (
                f"no single change helps, but links of {other.link_width:.2f} mm, openings of "
                f"{other.opening:.2f} mm and bridges of {other.bridge:.2f} mm with an inside radius of "
                f"{other.inside_radius:.1f} mm would hold"
            )
            return f"{fails}; {remedy}.", other
        return f"{fails}; make the bend at least {self._least_axis()} mm long or bend it less.", None

    def _others(self, fixed: HingeWishes, wished: dict[str, float]) -> list[tuple[str, Lattice]]:
        """Return what would hold if one wish were let go: the size that changes least, the other cut."""
        sizes = []
        for name, size in wished.items():
            without: dict[str, Any] = {name: None}
            found = self.run(replace(fixed, **without), (name, size))
            if found is not None and found[1]:
                got = _size(found[0], name)
                sizes.append((abs(got - size) / size, SPOKEN[name].format(got).replace("at most ", ""), found[0]))
        others = [(words, made) for _, words, made in sorted(sizes, key=lambda size: size[0])[:1]]
        if fixed.cut is not Cut.ANY:
            found = self.run(replace(fixed, cut=Cut.ANY))
            if found is not None and found[1]:
                kind = "slots" if fixed.cut is Cut.LINE else "single lines"
                others.append((f"{kind} of {found[0].opening:.2f} mm", found[0]))
        return others

    def _least_axis(self) -> int:
        """Return the shortest axis over which any cell bears the bend, in whole millimetres."""

        def bears(length: int) -> bool:
            found = _Trial(self.stock, self.angle, float(length), self.margin).run(HingeWishes())
            return found is not None and found[1]

        low, high = math.floor(self.axis_length), 2 * math.ceil(self.axis_length)
        while not bears(high):
            low, high = high, 2 * high
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if bears(middle) else (middle, high)
        return high


def _size(made: Lattice, name: str) -> float:
    """Return what a lattice has of a wish."""
    return zone_width(made) if name == "zone_width" else float(getattr(made, name))


def _worst(limits: tuple[Limit, ...]) -> str:
    """Return in words which limit fails most, and by how much."""
    if not limits:
        return "no cell of slits and bridges fits the bend"
    first = max(limits, key=lambda limit: limit.used / (1.0 - limit.margin))
    allowed = first.limit * (1.0 - first.margin)
    kept = f" with {100 * first.margin:.0f} per cent kept back" if first.margin else ""
    bound = "at least" if first.at_least else "at most"
    return f"{first.name} is {first.value:.2f} where {bound} {allowed:.2f} {first.unit} is allowed{kept}"
