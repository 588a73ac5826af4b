"""Closures: parted edges held together by laps or by magnets on carriers, wherever there is room for them.

A lap is a plain strip where both boards lie in one plane; at a bend it is a tie, two fins and a ring
over both. Carriers are small laminated plates in the plane that bisects the edge, one on each side, so
that the magnets buried in a pair meet face to face. Where none of these finds room, and inside closed bodies,
where no hand reaches, a strip is glued into the corner: such an edge is put together once. Where that finds no room
either, a gusset stands across the edge, glued to one board where both are held elsewhere, else to both.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..errors import BadSettingError
from ..findings import Finding, Location, Severity, place
from ..part import Part
from ..propose.net import SHORT_RIDGE
from ..sentence import Sentence
from ..settings import BuildSettings, ClosureKind
from ..solid.facets import Edge, Facets, ShellKind
from ..solid.solid import Role
from ..tolerance import OVERLAP
from ..unfold.necks import is_neck
from ..unfold.round_walls import check_round_walls, round_corners, tight_walls
from ..unfold.section import Sections, outward
from .carriers import make_carriers
from .closing_line import ClosingLine, closing_line
from .glue_strip import place_glue_strip
from .gusset import place_gusset
from .lap import is_level, make_lap
from .round_joiner import place_round_joiner
from .taken import Taken
from .tie import make_tie

__all__ = ["FLUX_LIMIT", "Closures", "flux_index", "make_closures", "opening_force", "pairs_needed"]

#: Flux index from which a loose small magnet is barred from products for entertainment, kG^2 mm^2 (16 CFR 1262.3).
FLUX_LIMIT = 50.0

#: An edge longer than this is held at two places at least, mm (common practice, no source).
_LONG = 150.0

#: How much more than the spring-back a closure must hold (common practice, no source).
_RESERVE = 2.0


#: So many strips are named in a note.
_NAMED = 6


@dataclass(frozen=True, slots=True, eq=False)
class Closures:
    """The parts that hold parted edges together, the ids of the edges held, and what could not be.

    glued: pairs of ids of parts that a strip joins for good.
    """

    parts: tuple[Part, ...]
    findings: tuple[Finding, ...]
    edges: tuple[int, ...] = ()
    glued: tuple[tuple[str, str], ...] = ()


def make_closures(facets: Facets, sections: Sections, taken: Taken, settings: BuildSettings) -> Closures:
    """Cut laps or carriers for every edge marked as a closure, clear of all other boards.

    taken: the room of all that stands by now, sections, joiners and stops, which the parts take as well. A place is
    looked for near the middle of the edge, or of each half of a long one. Where no place is free a strip or a gusset
    is glued inside; where there is no room for that either, the edge rests, and `closure-unpaired` says so of a
    building, but not of a short roof line whose boards are held to each other elsewhere.
    Raises BadSettingError where a magnet is thicker than the board it is to be buried in.
    """
    kind = settings.closure.kind
    _check(settings)
    if kind is ClosureKind.REST:
        return Closures((), ())
    lines = [
        line
        for edge in facets.edges
        if edge.role is Role.CLOSURE and edge.right is not None and not is_neck(facets, edge)
        for line in [closing_line(facets, sections, edge, settings)]
        if line is not None
    ]
    if not lines:
        return Closures((), ())
    making = _Making(facets, sections, taken, settings)
    short = [left for left in map(making.close, lines) if left is not None]
    joined = _joined_parts(line for line in lines if line.edge.id in making.edges)
    tight = {edge.id for wall in tight_walls(facets, settings) for edge in wall.parted}
    findings = list(check_round_walls(facets, settings))
    for left in short:
        if not making.is_bridged(left, joined) and left.line.edge.id not in tight:
            findings.append(_unpaired(facets, left.line.edge, left.held, left.wanted, settings))
    if making.strips:
        findings.append(_glued(facets, making.strips))
    if kind is ClosureKind.MAGNETS and making.count:
        findings.append(_children(2 * making.count, settings))
    glued = tuple(line.parts for line, _ in making.strips)
    return Closures(tuple(making.parts), tuple(findings), tuple(making.edges), glued)


@dataclass(frozen=True, slots=True)
class _Short:
    """A line with room for fewer laps or pairs of magnets than it wants."""

    line: ClosingLine
    held: int
    wanted: int


class _Making:
    """Closures in the making: their parts, the edges that these hold, and the strips and gussets that are glued."""

    def __init__(self, facets: Facets, sections: Sections, taken: Taken, settings: BuildSettings) -> None:
        self._facets, self._sections, self._taken, self._settings = facets, sections, taken, settings
        self.parts: list[Part] = []
        self.edges: list[int] = []
        self.strips: list[tuple[ClosingLine, Part]] = []
        #: Laps or pairs of magnets so far; they are named by it.
        self.count = 0
        self._round_joiners = 0

    def close(self, line: ClosingLine) -> _Short | None:
        """Hold a line by what finds room; return what is still wanted, None where nothing is."""
        edge = line.edge
        name = f"B{self._round_joiners + 1}"
        cheeks = place_round_joiner(self._facets, self._sections, edge, self._settings, name, self._taken)
        if cheeks:
            self.parts += cheeks
            self.edges.append(edge.id)
            self._round_joiners += 1
            return None
        held, wanted = self._pair(line)
        strip: tuple[Part, ...] = ()
        if not held and self._settings.closure.glue:
            strip = place_glue_strip(line, self._settings, self._glued_name, self._taken)
            self._glue(line, strip)
        if held or strip:
            self.edges.append(edge.id)
        return None if held >= wanted or strip else _Short(line, held, wanted)

    def is_bridged(self, left: _Short, joined: dict[str, str]) -> bool:
        """Hold a line without room for laps by a gusset; return whether it needs nothing more.

        joined: the groups of parts held so far, of ``_joined_parts``; a glued gusset joins two of them.
        """
        line = left.line
        shell = self._facets.shell_of(self._facets.left(line.edge))
        rests = shell.kind is ShellKind.ROOF and _are_joined(joined, line)
        gusset: tuple[Part, ...] = ()
        if rests or (not left.held and self._settings.closure.glue):
            name = f"L{self.count + 1}" if rests else self._glued_name
            gusset = place_gusset(line, self._settings, name, self._taken, glued=not rests)
        if gusset and not left.held:
            self.edges.append(line.edge.id)
        if gusset and rests:
            self.parts += gusset
            self.count += 1
        elif gusset:
            self._glue(line, gusset)
            _join(joined, line)
        # what holds both boards of a short line elsewhere holds them here; check_loose says which bodies fall apart
        return bool(gusset) or (rests and line.length < SHORT_RIDGE) or shell.kind is ShellKind.SOLID

    @property
    def _glued_name(self) -> str:
        return f"G{len(self.strips) + 1}"

    def _glue(self, line: ClosingLine, parts: Sequence[Part]) -> None:
        self.parts += parts
        self.strips += [(line, part) for part in parts]

    def _pair(self, line: ClosingLine) -> tuple[int, int]:
        """Hold a line by laps or pairs of magnets; return how many found room, and how many it wants."""
        kind = self._settings.closure.kind
        magnets = kind is ClosureKind.MAGNETS
        force = opening_force(self._facets, self._sections, line.edge)
        wanted = pairs_needed(line.length, force if magnets else 0.0, self._settings.closure.pull)
        if not magnets and self._facets.shell_of(self._facets.left(line.edge)).closed:
            return 0, wanted  # no hand reaches a lap inside a closed body
        for k in range(wanted):
            name = f"{'M' if magnets else 'L'}{self.count + 1}"
            make = _maker(kind, line, self._settings, name, force / wanted, k % 2)
            found = self._taken.nearest(line.length, (k + 0.5) / wanted * line.length, make)
            if not found:
                # the whole line was searched, so the others find no place either
                return k, wanted
            self.parts += found
            self.count += 1
        return wanted, wanted


def _joined_parts(lines: Iterable[ClosingLine]) -> dict[str, str]:
    """Return per part the least part of the group that these lines hold together; parts beside none are left out."""
    joined: dict[str, str] = {}
    for line in lines:
        _join(joined, line)
    return joined


def _join(joined: dict[str, str], line: ClosingLine) -> None:
    """Put the parts of a line that is held into one group."""
    one, two = (joined.setdefault(part, part) for part in line.parts)
    joined.update({part: one for part, first in joined.items() if first == two})


def _are_joined(joined: Mapping[str, str], line: ClosingLine) -> bool:
    one, two = (joined.get(part, part) for part in line.parts)
    return one == two


def opening_force(facets: Facets, sections: Sections, edge: Edge) -> float:
    """Return the force, N, with which the bends beside a parted edge push it open.

    Each lattice of a facet at the edge springs back with its moment; at the middle of the edge that is
    moment / distance from the bend's model edge, added up over the facet. Both boards pull at the same
    joint, so the stronger of the two counts. Friction and the weight of the boards are left out.
    """
    middle = facets.ends(edge).mean(axis=0)
    sums = []
    for facet in (edge.left, edge.right):
        total = 0.0
        for bent_id, made in sections.setbacks.lattices.items():
            bent = facets.edges[bent_id]
            if facet is None or bent.beyond(facet) is None:
                continue
            start, end = facets.ends(bent)
            along = (end - start) / np.linalg.norm(end - start)
            lever = float(np.linalg.norm(np.cross(middle - start, along)))
            if lever > OVERLAP and math.isfinite(made.moment):
                total += made.moment / lever
        sums.append(total)
    return max(sums)


def pairs_needed(length: float, force: float, pull: float) -> int:
    """Return how many laps or pairs of magnets hold an edge ``length`` mm long against ``force`` N, with a reserve."""
    return max(2 if length > _LONG else 1, math.ceil(_RESERVE * force / pull - OVERLAP))


def flux_index(field: float, diameter: float) -> float:
    """Return the flux index of a disc magnet, kG^2 mm^2: surface field (kG) squared times the pole's area (mm^2).

    As 16 CFR 1262.3 defines it, measured by ASTM F963-17, 8.25.
    """
    return field**2 * math.pi * diameter**2 / 4


def _check(settings: BuildSettings) -> None:
    closure, board = settings.closure, settings.joiners.thickness
    if closure.kind is not ClosureKind.MAGNETS:
        return
    if closure.magnet_thickness > board:
        raise BadSettingError(
            f"A magnet {closure.magnet_thickness:g} mm thick cannot be buried in board {board:g} mm thick; choose "
            "thinner magnets or another stock for joiners."
        )
    if not closure.pull > 0.0:
        raise BadSettingError(f"The pull of a pair of magnets is {closure.pull:g} N; it must be more than 0.")


def _maker(
    kind: ClosureKind, line: ClosingLine, settings: BuildSettings, name: str, force: float, side: int
) -> Callable[[float, float], tuple[Part, ...]]:
    """Return what makes the parts for a place along the line, wider all round by a margin.

    force: with which it is pushed open there, N; side: of the board that a flat lap is glued to.
    """
    if kind is ClosureKind.MAGNETS:
        return lambda at, air: make_carriers(line, settings, name, at=at, air=air, force=_RESERVE * force)
    if is_level(line):
        return lambda at, air: make_lap(line, settings, name, at=at, air=air, side=side)
    return lambda at, air: make_tie(line, settings, name, at=at, air=air)


def _unpaired(facets: Facets, edge: Edge, held: int, wanted: int, settings: BuildSettings) -> Finding:
    ends = facets.ends(edge)
    what = "laps" if settings.closure.kind is ClosureKind.LAP else "pairs of magnets"
    # round joiners are made for walls whose inside face is the modelled one
    outside = outward(facets, facets.left(edge), settings) < 0 and bool(
        round_corners(facets, facets.shell_of(facets.left(edge)))
    )
    cure = "model the inside face of this round wall" if outside else "let it rest, or let another edge be the closure"
    return Finding(
        Severity.WARNING,
        "closure-unpaired",
        Sentence.of(
            "The closure between ",
            facets.ref(*facets.pair(edge)),
            f" is {np.linalg.norm(ends[1] - ends[0]):.0f} mm long and has room for {held} of {wanted} {what}; {cure}.",
        ),
        Location(edges=edge.host_edges, source=facets.sources[edge.source], point=place(ends.mean(axis=0))),
    )


def _glued(facets: Facets, strips: Sequence[tuple[ClosingLine, Part]]) -> Finding:
    """Return the note on edges that are put together once."""
    names = ", ".join(part.id for _, part in strips[:_NAMED]) + (", …" if len(strips) > _NAMED else "")
    edges = f"{len(strips)} edges have" if len(strips) > 1 else "1 edge has"
    source = strips[0][0].edge.source
    return Finding(
        Severity.NOTE,
        "glued-once",
        f"{edges} no room for anything that opens again; glue {names} inside: these boards stay together.",
        Location(
            edges=tuple(host for line, _ in strips if line.edge.source == source for host in line.edge.host_edges),
            source=facets.sources[source],
            point=place(facets.ends(strips[0][0].edge).mean(axis=0)),
        ),
    )


def _children(count: int, settings: BuildSettings) -> Finding:
    closure = settings.closure
    index = flux_index(closure.magnet_field, closure.magnet_diameter)
    limit = (
        f"above the limit of {FLUX_LIMIT:.0f} for loose ones in playthings"
        if index >= FLUX_LIMIT
        else f"below the limit of {FLUX_LIMIT:.0f} for loose ones in playthings, yet two of them still pull together"
    )
    return Finding(
        Severity.WARNING,
        "magnets-where-children-play",
        f"{count} magnets of {closure.magnet_diameter:g} mm have a flux index of {index:.0f} kG² mm², {limit} "
        "(16 CFR 1262); swallowed ones can kill, so where children play choose laps instead.",
    )
