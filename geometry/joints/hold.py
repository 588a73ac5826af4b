"""What holds sections to each other once they stand: bends, joiners, and what is glued to closures."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from ..findings import Finding, Location, Severity, place
from ..part import Joiner
from ..solid.facets import Edge, Facets, Shell, ShellKind
from ..solid.solid import Role
from ..unfold.section import Sections

__all__ = ["Hold", "check_corners", "check_loose", "check_unmarked", "find_hold"]

#: So many pieces are named in a finding; more would be a list that nobody reads.
_NAMED = 4

#: What the faces of a surface are called.
_FACES = {ShellKind.WALLS: "walls", ShellKind.ROOF: "roof faces", ShellKind.SOLID: "faces"}


@dataclass(frozen=True, slots=True)
class Hold:
    """How far the sections of a building hold together.

    loose: per shell whose sections nothing joins to one piece, its pieces, each the ids of the sections in it.
    open_corners: ids of edges where two walls meet and no bend, no joiner and nothing glued holds them.
    """

    loose: tuple[tuple[tuple[str, ...], ...], ...] = ()
    open_corners: tuple[int, ...] = ()

    @property
    def pieces(self) -> tuple[tuple[str, ...], ...]:
        """All loose pieces, each the ids of its sections."""
        return tuple(piece for pieces in self.loose for piece in pieces)

    def pieces_of(self, names: Iterable[str]) -> tuple[tuple[str, ...], ...]:
        """Return the loose pieces that hold any of these sections."""
        wanted = set(names)
        return tuple(piece for piece in self.pieces if wanted & set(piece))

    @property
    def words(self) -> str:
        """How many boards or pieces are loose, like "16 loose boards"; empty where none is."""
        if not self.pieces:
            return ""
        return f"{len(self.pieces)} loose {'boards' if all(len(piece) == 1 for piece in self.pieces) else 'pieces'}"


def find_hold(facets: Facets, sections: Sections, joiners: Sequence[Joiner], closed: Iterable[int]) -> Hold:
    """Return what holds together. closed: ids of the closures that something glued holds.

    The boards of what stands on a roof are glued to one another.
    """
    glued = (edge.id for edge in facets.edges if facets.shell_of(facets.left(edge)).stands_on)
    held = {*sections.hinges.edges, *closed, *glued}
    taken = {frozenset(joiner.end_facets) for joiner in joiners}
    loose = []
    open_corners = []
    for shell in facets.shells:
        order = {name: k for k, name in enumerate(dict.fromkeys(_names(shell, sections)))}
        pieces = {name: {name} for name in order}
        for edge in _inner_edges(facets, shell, sections):
            if edge.id in held or frozenset((edge.left, edge.beyond(edge.left))) in taken:
                both = set.union(*(pieces[name] for name in _sides(edge, sections)))
                pieces.update(dict.fromkeys(both, both))
            elif shell.kind is ShellKind.WALLS:
                open_corners.append(edge.id)
        apart = {id(piece): tuple(sorted(piece, key=order.__getitem__)) for piece in pieces.values()}
        if len(apart) > 1:
            loose.append(tuple(apart.values()))
    return Hold(tuple(loose), tuple(open_corners))


def check_unmarked(facets: Facets, sections: Sections, hold: Hold) -> tuple[Finding, ...]:
    """Say which surfaces come out as loose boards because none of their edges has a mark."""
    found = []
    for shell, pieces in _loose_shells(facets, sections, hold):
        if _is_marked(facets, shell):
            continue
        message = (
            f"Nothing is marked: the {len(pieces)} {_FACES[shell.kind]} of '{_source(facets, shell)}' come out as "
            f"{len(pieces)} loose boards; propose bends and breaks (--propose all)"
        )
        found.append(Finding(Severity.WARNING, "nothing-marked", message, _where(facets, shell)))
    return tuple(found)


def check_loose(facets: Facets, sections: Sections, hold: Hold) -> tuple[Finding, ...]:
    """Say which marked surfaces fall into pieces that nothing holds together."""
    found = []
    for shell, pieces in _loose_shells(facets, sections, hold):
        if not _is_marked(facets, shell):
            continue
        piece_of = {name: k for k, piece in enumerate(pieces) for name in piece}
        between = [
            edge
            for edge in _inner_edges(facets, shell, sections)
            if len({piece_of[name] for name in _sides(edge, sections)}) > 1
        ]
        resting = all(edge.role is Role.CLOSURE for edge in between)
        names = ", ".join(" + ".join(piece) for piece in pieces[:_NAMED])
        more = f" and {len(pieces) - _NAMED} more" if len(pieces) > _NAMED else ""
        cure = "choose magnets for its closures" if resting else "mark the edges between them, or propose bends"
        found.append(
            Finding(
                Severity.NOTE if resting else Severity.WARNING,
                "loose-pieces",
                f"Nothing holds the {len(pieces)} pieces of '{_source(facets, shell)}' together: {names}{more}; {cure}",
                _where(facets, shell, between),
            )
        )
    return tuple(found)


def check_corners(facets: Facets, sections: Sections, hold: Hold) -> tuple[Finding, ...]:
    """Say at which corners walls of one piece only meet, because the edge between them has no mark."""
    apart = {name for piece in hold.pieces for name in piece}
    found = []
    for edge in (facets.edges[k] for k in hold.open_corners):
        one, two = _sides(edge, sections)
        if edge.role is not Role.PLAIN or one in apart:
            continue
        meet = f"both ends of {one} meet" if one == two else f"{one} and {two} meet"
        where = Location(
            edges=edge.host_edges,
            source=facets.sources[edge.source],
            part=one,
            point=place(facets.ends(edge).mean(axis=0)),
        )
        message = f"Nothing holds the corner where {meet}; mark its edge as flex or closure"
        found.append(Finding(Severity.NOTE, "loose-corner", message, where))
    return tuple(found)


def _names(shell: Shell, sections: Sections) -> Iterator[str]:
    return (sections.part_of[facet] for facet in shell.facets if facet in sections.part_of)


def _inner_edges(facets: Facets, shell: Shell, sections: Sections) -> Iterator[Edge]:
    """Yield the edges of a shell between two facets that both became boards."""
    own = set(shell.facets) & sections.part_of.keys()
    return (edge for edge in facets.edges if edge.left in own and edge.right in own)


def _sides(edge: Edge, sections: Sections) -> tuple[str, str]:
    """Return the ids of the sections left and right of an inner edge."""
    assert edge.right is not None
    return sections.part_of[edge.left], sections.part_of[edge.right]


def _loose_shells(
    facets: Facets, sections: Sections, hold: Hold
) -> Iterator[tuple[Shell, tuple[tuple[str, ...], ...]]]:
    for shell in facets.shells:
        names = set(_names(shell, sections))
        for pieces in hold.loose:
            if pieces[0][0] in names:
                yield shell, pieces


def _is_marked(facets: Facets, shell: Shell) -> bool:
    own = set(shell.facets)
    return any(edge.role is not Role.PLAIN for edge in facets.edges if edge.left in own and edge.right is not None)


def _source(facets: Facets, shell: Shell) -> str:
    return facets.source_of(facets.facets[shell.facets[0]])


def _where(facets: Facets, shell: Shell, edges: Sequence[Edge] = ()) -> Location:
    """Return the place of a whole shell, or of the edges of it that stay apart; faces and edges of one object."""
    source = facets.facets[shell.facets[0]].source
    own = [facets.facets[facet] for facet in shell.facets]
    return Location(
        faces=() if edges else tuple(face for facet in own if facet.source == source for face in facet.faces),
        edges=tuple(host for edge in edges if edge.source == source for host in edge.host_edges),
        source=facets.sources[source],
        point=place(facets.outline_points(shell).mean(axis=0)),
    )
