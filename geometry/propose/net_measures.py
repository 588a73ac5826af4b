"""What a net takes, measured on its pieces as they are cut, and told in one line."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ..findings import Finding, Severity
from ..part import Part
from ..settings import BuildSettings
from ..solid.facets import Edge, Facets, Shell, ShellKind
from ..solid.places import say_places
from ..tolerance import LENGTH, SNAP
from ..unfold.section import Sections, unfold

__all__ = ["Measures", "TriedNet", "count_edges", "measure_net", "shell_with", "told_change", "told_net"]

#: Differences of the open length below this are not told, mm; the maker's ruler shows no more.
_TOLD = 1.0

#: Share of an edge's run that it may rise and still count as level: a ridge.
_LEVEL = 1e-3


@dataclass(frozen=True, slots=True)
class Measures:
    """What a net takes. Lengths in mm.

    pieces: of board. open_length: of all edges that stay parted; open_edges: their names with how many of each.
    bends, rows: lattices, and their rows of slits; slit_length: of all slits.
    box: (width, height) of the piece that needs the largest sheet; beyond: what it needs more than the sheet has.
    trouble: the first reason why it cannot be built, in a sentence; empty where nothing speaks against it.
    """

    pieces: int
    open_length: float
    open_edges: tuple[tuple[str, int], ...]
    bends: int
    rows: int
    slit_length: float
    box: tuple[float, float]
    beyond: float
    trouble: str

    @property
    def good(self) -> bool:
        """Whether it can be built and every piece finds room on a sheet."""
        return not self.trouble and self.beyond <= LENGTH


@dataclass(frozen=True, slots=True, eq=False)
class TriedNet:
    """A net built of its board: its pieces in the flat, mm, the edges that bend and those that part, its measures.

    bent, parted: in the facets that the pieces were made from.
    """

    parts: tuple[Part, ...]
    facets: Facets
    bent: tuple[Edge, ...]
    parted: tuple[Edge, ...]
    measures: Measures


def shell_with(facets: Facets, source: int, face: int) -> Shell | None:
    """Return the shell that a host face of an object is part of; None where there is none."""
    for facet in facets.facets:
        if facet.source == source and face in facet.faces:
            return facets.shell_of(facet)
    return None


def measure_net(facets: Facets, shell: Shell, settings: BuildSettings, *, largest: tuple[float, float]) -> TriedNet:
    """Return what the marks on a shell come to. largest: (width, height) of a piece that sheet and bed take, mm."""
    sections = unfold(facets, settings)
    own = set(shell.facets)
    parts = tuple(part for part in sections.parts if any(panel.facet in own for panel in part.panels))
    lattices = [placed.lattice for part in parts for placed in part.lattices]
    inner = [edge for edge in facets.edges if edge.left in own and edge.right is not None]
    hinges = set(sections.hinges.edges)
    parted = tuple(edge for edge in inner if edge.id not in hinges and shell.bottom not in (edge.left, edge.right))
    box, beyond = _tightest(parts, largest)
    measures = Measures(
        pieces=sum(bool(own & set(group)) for group in sections.hinges.groups),
        open_length=sum(facets.length(edge) for edge in parted),
        open_edges=count_edges(facets, parted),
        bends=sum(edge.id in hinges for edge in inner),
        rows=sum(made.rows for made in lattices),
        slit_length=sum(made.rows * made.slits * made.slit for made in lattices),
        box=box,
        beyond=beyond,
        trouble=_first_trouble(facets, shell, parts, sections),
    )
    bent = tuple(edge for edge in inner if edge.id in hinges)
    return TriedNet(parts, facets, bent, parted, measures)


def _tightest(parts: Sequence[Part], largest: tuple[float, float]) -> tuple[tuple[float, float], float]:
    """Return the (width, height) of the part that needs most of a sheet, and what it needs more than there is, mm."""
    low, high = min(largest), max(largest)
    needs = [(max(min(part.size) - low, max(part.size) - high), part.size) for part in parts]
    if not needs:
        return (0.0, 0.0), 0.0
    beyond, size = max(needs)
    return size, max(0.0, beyond)


def _first_trouble(facets: Facets, shell: Shell, parts: Iterable[Part], sections: Sections) -> str:
    ids = {part.id for part in parts}
    own = [facets.facets[facet] for facet in shell.facets]
    faces = {(facets.source_of(facet), face) for facet in own for face in facet.faces}
    edges = {
        (facets.sources[facets.edges[edge].source], host)
        for facet in own
        for ring in facet.ring_edges
        for edge in ring
        for host in facets.edges[edge].host_edges
    }

    def is_own(finding: Finding) -> bool:
        where = finding.where
        source = where.source or ""
        return (
            where.part in ids
            or any((source, face) in faces for face in where.faces)
            or any((source, edge) in edges for edge in where.edges)
        )

    troubles = (found for found in sections.findings if found.severity is Severity.ERROR and is_own(found))
    first = next(troubles, None)
    return "" if first is None else say_places([first], facets)[0].message


def count_edges(facets: Facets, edges: Iterable[Edge]) -> tuple[tuple[str, int], ...]:
    """Return the names of edges with how many there are of each, ridges first.

    >>> from stowfold.geometry.solid.find import find_facets
    >>> facets = find_facets(solid)
    >>> count_edges(facets, [edge for edge in facets.edges if edge.right is not None])
    (('corner', 4), ('seam', 1))
    """
    counts = Counter(_name(facets, edge) for edge in edges)
    return tuple((name, counts[name]) for name in ("ridge", "hip", "valley", "corner", "edge", "seam") if counts[name])


def _name(facets: Facets, edge: Edge) -> str:
    """Return what a roofer calls the line of a roof; of other bodies corners stand and edges do not."""
    if abs(edge.angle) < SNAP:
        return "seam"
    run = facets.ends(edge)[1] - facets.ends(edge)[0]
    rise, level = abs(float(run[2])), float((run[0] ** 2 + run[1] ** 2) ** 0.5)
    if facets.shell_of(facets.left(edge)).kind is not ShellKind.ROOF:
        return "corner" if level < _LEVEL * rise else "edge"
    if edge.angle < 0.0:
        return "valley"
    return "ridge" if rise < _LEVEL * level else "hip"


def told_net(measures: Measures) -> str:
    """Return a net in one line."""
    pieces, bends = _counted(measures.pieces, "piece"), _counted(measures.bends, "bend")
    names = ", ".join(_counted(number, name) for name, number in measures.open_edges)
    opened = f"{measures.open_length:.0f} mm open ({names})" if names else "nothing open"
    return f"{pieces}, {opened}, {bends}; {_told_fit(measures)}"


def _told_fit(measures: Measures) -> str:
    if measures.trouble:
        return "cannot be built"
    if measures.beyond > LENGTH:
        return f"{max(measures.beyond, 0.1):.1f} mm too large for the sheet"
    return "fits the sheet" if measures.pieces == 1 else "each fits a sheet"


def told_change(before: Measures, after: Measures) -> str:
    """Return in one line what a net takes more or less than the one before."""
    said = []
    if after.pieces != before.pieces:
        said.append(f"{_counted(after.pieces, 'piece')} instead of {before.pieces}")
    longer = after.open_length - before.open_length
    if abs(longer) >= _TOLD:
        said.append(f"{abs(longer):.0f} mm {'more' if longer > 0 else 'less'} open")
    if after.bends != before.bends:
        said.append(f"{_counted(after.bends, 'bend')} instead of {before.bends}")
    if not after.good or not before.good:
        said.append(_told_fit(after))
    return ", ".join(said) or "as long open as before, in other places"


def _counted(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"
