"""Alternatives: the net that is proposed for a roof or another solid, others beside it, and what a change costs.

All nets are built of their board before anything is said of them, so that what is told is what is cut.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace

from ..progress import SILENT, Progress
from ..settings import BuildSettings
from ..solid.facets import Facets, Shell, ShellKind
from ..solid.find import find_facets
from ..solid.solid import Role, Solid
from .net import Net, links_of, propose_net, roles_of_net
from .net_measures import Measures, TriedNet, count_edges, measure_net, shell_with, told_change
from .other_nets import other_nets
from .proposed import Mark, Proposed

__all__ = ["Alternative", "Cost", "HostEdge", "ShellNets", "cost_of", "try_nets"]

#: Nets that are told of one shell: what a maker looks through without losing the first (common practice, no source).
_MOST = 6

#: Nets that are tried for them: mirrored ones are many, and some are left out so that unlike ones find a place.
_TRIED = 12

#: An edge of the host: index of its object, and its number there.
HostEdge = tuple[int, int]

#: A host face by which a shell is found again, whatever is marked: index of its object, and its number there.
_Face = tuple[int, int]


@dataclass(frozen=True, slots=True, eq=False)
class Alternative:
    """A net that was tried: what it comes to, and the marks that put it on the mesh, plain ones among them."""

    tried: TriedNet
    marks: tuple[Mark, ...]

    @property
    def measures(self) -> Measures:
        """What the net takes."""
        return self.tried.measures

    @property
    def bent(self) -> frozenset[HostEdge]:
        """The edges of the host that bend."""
        return frozenset((edge.source, host) for edge in self.tried.bent for host in edge.host_edges)


@dataclass(frozen=True, slots=True, eq=False)
class ShellNets:
    """The nets of one roof or other solid, the proposed one first.

    name: what to call it; faces: its host faces with the index of their object.
    present: which of them is marked on the mesh; None where the mesh leaves the choice open.
    """

    name: str
    faces: frozenset[_Face]
    nets: tuple[Alternative, ...]
    present: int | None


@dataclass(frozen=True, slots=True, eq=False)
class Cost:
    """What it costs to give a role to edges: the net before and the one that is proposed then, the change in one line.

    before, after: None where the edges can not bear the role.
    """

    before: Alternative | None
    after: Alternative | None
    line: str


def try_nets(
    solid: Solid,
    settings: BuildSettings,
    *,
    largest: tuple[float, float],
    wall_face: str = "inside",
    given: Collection[HostEdge] = (),
    progress: Progress = SILENT,
) -> tuple[ShellNets, ...]:
    """Return the nets of every roof and other solid with an edge that could bend.

    Each shell gets the net that is proposed, and as many of the next best as a maker looks through. The maker's own
    marks stay in all of them. given: edges whose marks the tool gave; these are open to choice.
    largest: (width, height) of a piece that sheet and bed take, mm. Raises CancelledError where given up.
    """
    bare = _without(solid, given)
    facets = find_facets(bare, wall_face=wall_face)
    shells = [
        shell
        for shell in facets.shells
        if shell.kind is not ShellKind.WALLS and not shell.stands_on and links_of(facets, shell)
    ]
    shells = [shell for shell in shells if not shell.stands_on]
    names = _names(shells)
    tried = []
    for k, (shell, name) in enumerate(zip(shells, names, strict=True)):
        bench = _Bench(bare, facets, shell, settings, largest, wall_face)
        tried.append(
            _nets_of(bench, name, solid, frozenset(given), progress.part(k / len(shells), (k + 1) / len(shells)))
        )
    return tuple(tried)


def cost_of(
    solid: Solid,
    edges: Collection[HostEdge],
    role: Role,
    settings: BuildSettings,
    *,
    largest: tuple[float, float],
    wall_face: str = "inside",
    given: Collection[HostEdge] = (),
    before: Alternative | None = None,
) -> Cost:
    """Return what changes where the maker gives ``role`` to edges of one roof or other solid.

    It is set against the net on the mesh or, where that leaves the choice open, against the one that is proposed;
    ``before`` saves building that one again, where it is known.
    What the maker marked elsewhere stays; what the tool gave (``given``) is chosen again around it.
    """
    bare = _without(solid, given)
    facets = find_facets(bare, wall_face=wall_face)
    chosen = [edge for edge in facets.edges if any((edge.source, host) in edges for host in edge.host_edges)]
    shells = {facets.facets[edge.left].shell for edge in chosen}
    if not chosen or any(facets.shells[shell].kind is ShellKind.WALLS for shell in shells):
        return Cost(None, None, "Walls bend at their corners and part at breaks, not along a net")
    if any(facets.shells[shell].stands_on for shell in shells):
        return Cost(None, None, "What stands on a roof is glued once; its boards are not bent")
    if len(shells) > 1:
        return Cost(None, None, "These edges belong to more than one body; select edges of one")
    shell = facets.shells[shells.pop()]
    links = {link.edge for link in links_of(facets, shell)} | {edge.id for edge in chosen if edge.role is Role.CLOSURE}
    if not all(edge.id in links for edge in chosen):
        return Cost(None, None, "No board goes on beyond this edge, or none that bends here; it stays as it is")
    bench = _Bench(bare, facets, shell, settings, largest, wall_face)
    before = before or bench.present(solid, frozenset(given)) or bench.build(bench.proposed())
    own = frozenset((edge.source, host) for edge in chosen for host in edge.host_edges)
    name = f"{_told_edges(count_edges(facets, chosen))} {'bent' if role is Role.FLEX else 'parted'}"
    decided = tuple(Mark(edge.source, edge.host_edges, role) for edge in chosen)
    if own <= before.bent if role is Role.FLEX else not own & before.bent:
        others = tuple(mark for mark in before.marks if (mark.source, mark.edges[0]) not in own)
        return Cost(before, replace(before, marks=(*decided, *others)), f"{name}: as the net has it")
    overruled = Proposed(decided).put_on(bare)
    marked = find_facets(overruled, wall_face=wall_face)
    again = replace(bench, solid=overruled, facets=marked, shell=_shell_of(marked, bench.face))
    made = again.build(again.proposed())
    line = f"{name}: {told_change(before.measures, made.measures)}"
    return Cost(before, replace(made, marks=(*decided, *made.marks)), line)


@dataclass(frozen=True, slots=True, eq=False)
class _Bench:
    """One shell with what its nets are built with. facets: of the solid, without the marks that the tool gave."""

    solid: Solid
    facets: Facets
    shell: Shell
    settings: BuildSettings
    largest: tuple[float, float]
    wall_face: str

    @property
    def face(self) -> _Face:
        """A host face of the shell."""
        facet = self.facets.facets[self.shell.facets[0]]
        return facet.source, facet.faces[0]

    def proposed(self) -> tuple[Mark, ...]:
        """Return the marks that are proposed for this shell, plain ones among them."""
        proposal = propose_net(self.facets, self.settings, largest=self.largest)
        roles = {(mark.source, host): mark.role for mark in proposal.marks for host in mark.edges}
        edges = [self.facets.edges[link.edge] for link in links_of(self.facets, self.shell)]
        return tuple(
            Mark(edge.source, edge.host_edges, roles.get((edge.source, edge.host_edges[0]), Role.PLAIN))
            for edge in edges
            if edge.role is Role.PLAIN
        )

    def marks_of(self, net: Net) -> tuple[Mark, ...]:
        """Return the marks of a net for the edges that are not marked, plain ones among them."""
        free = [link for link in links_of(self.facets, self.shell) if self.facets.edges[link.edge].role is Role.PLAIN]
        roles = roles_of_net(self.facets, self.shell, net, free)
        edges = (self.facets.edges[link.edge] for link in free)
        return tuple(Mark(edge.source, edge.host_edges, roles[edge.id]) for edge in edges)

    def build(self, marks: tuple[Mark, ...]) -> Alternative:
        """Return what the shell comes to with marks on it."""
        return Alternative(self._tried(Proposed(marks).put_on(self.solid)), marks)

    def present(self, marked: Solid, given: frozenset[HostEdge]) -> Alternative | None:
        """Return the net that is on the mesh; None where edges of the shell are left open to choice.

        marked: the solid with all its marks; given: edges whose marks the tool gave.
        """
        roles = dict(zip(zip(marked.edge_sources, marked.edge_ids, strict=True), marked.edge_roles, strict=True))
        free = self.marks_of(Net(frozenset(), (), True))
        marks = tuple(replace(mark, role=roles[mark.source, mark.edges[0]]) for mark in free)
        if free and not any((mark.source, host) in given for mark in free for host in mark.edges):
            return None
        return self.build(marks)

    def _tried(self, solid: Solid) -> TriedNet:
        facets = find_facets(solid, wall_face=self.wall_face)
        return measure_net(facets, _shell_of(facets, self.face), self.settings, largest=self.largest)


def _nets_of(bench: _Bench, name: str, solid: Solid, given: frozenset[HostEdge], progress: Progress) -> ShellNets:
    found = other_nets(
        bench.facets,
        bench.shell,
        bench.settings,
        largest=bench.largest,
        most=_TRIED,
        tell=progress.part(0.0, 0.6).tell,
    )
    built: dict[int, Alternative] = {}
    for k in _unlike_first(bench, found):
        progress.tell(0.6 + 0.4 * len(built) / _MOST)
        made = bench.build(bench.marks_of(found[k]))
        if k == 0 or made.measures.good:
            built[k] = made
        if len(built) == _MOST:
            break
    ordered = [built[k] for k in sorted(built)]
    here = bench.present(solid, given)
    if here is not None and here.bent not in (net.bent for net in ordered):
        # what is on the mesh is told even where it is none of the best
        ordered = [*ordered[:1], here, *ordered[1 : _MOST - 1]]
    present = None if here is None else [net.bent for net in ordered].index(here.bent)
    return ShellNets(name, _faces(bench), tuple(ordered), present)


def _unlike_first(bench: _Bench, nets: Sequence[Net]) -> list[int]:
    """Return the places of nets: of those with as many pieces and as long open one, then the others."""
    links = links_of(bench.facets, bench.shell)
    firsts: dict[tuple[int, int], int] = {}
    for k, net in enumerate(nets):
        opened = sum(link.length for link in links if link.edge not in net.edges)
        firsts.setdefault((len(net.pieces), round(opened)), k)
    first = list(firsts.values())
    return [*first, *(k for k in range(len(nets)) if k not in first)]


def _faces(bench: _Bench) -> frozenset[_Face]:
    own = (bench.facets.facets[facet] for facet in bench.shell.facets)
    return frozenset((facet.source, face) for facet in own for face in facet.faces)


def _shell_of(facets: Facets, face: _Face) -> Shell:
    shell = shell_with(facets, *face)
    assert shell is not None, "marks take no face away"
    return shell


def _without(solid: Solid, given: Collection[HostEdge]) -> Solid:
    """Return a solid without the marks on ``given`` edges."""
    return Proposed(tuple(Mark(source, (edge,), Role.PLAIN) for source, edge in given)).put_on(solid)


def _names(shells: Sequence[Shell]) -> tuple[str, ...]:
    words = ["Roof" if shell.kind is ShellKind.ROOF else "Body" for shell in shells]
    return tuple(
        word if words.count(word) == 1 else f"{word} {words[: k + 1].count(word)}" for k, word in enumerate(words)
    )


def _told_edges(counts: Iterable[tuple[str, int]]) -> str:
    said = [name if number == 1 else f"{number} {name}s" for name, number in counts]
    return " and ".join(said).capitalize()
