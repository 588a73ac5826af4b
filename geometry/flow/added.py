"""A building as it is added: blocked out, its roof unfolded and its walls parted, so that it is cut as it stands.

Sizes that cannot be cut with the chosen boards and lasers are refused in one sentence.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from ..errors import BadSettingError
from ..findings import Finding, Severity
from ..fold.folding import order_bends
from ..joints.floor import lay_floor
from ..joints.held_roof import hold_roofs
from ..joints.joiner import make_joiners
from ..joints.relief import relieve_boards
from ..outcome import Proposal, Settings
from ..part import Part, PartKind
from ..plan.carry import Carried, break_spots, carry_roles
from ..plan.outline import Corner
from ..plan.roof import RoofKind
from ..plan.sizes import BuildingSizes, lay_out_building
from ..plan.walls import BlockOut
from ..progress import SILENT, Progress
from ..proof.prove import prove
from ..propose.breaks import propose_breaks
from ..propose.buildable import refuse_unbuildable_walls, refuse_unparted_walls
from ..propose.net import propose_net
from ..propose.wall_corners import bending_corners, upright_corners
from ..sheet.routing import benches_for, route
from ..solid.facets import ShellKind
from ..solid.opening import Opening
from ..solid.solid import Role, Solid, join_solids, make_solid
from ..tolerance import SNAP
from .limits import check_building_size, check_settings, largest_piece
from .unfolding import facets_of, unfold_solid

__all__ = ["Earlier", "Rebuilt", "Trial", "add_building", "as_solid", "rebuild_building", "try_building"]

#: A net that is sought without looking at sheets; what is too large is cut in halves afterwards.
_ANY_SHEET = (math.inf, math.inf)

#: Where pieces of a net come out larger than drawn, they are sought again for a sheet so much smaller, as a share.
_TIGHTER = 0.94

#: What is said of parts that are too large for a sheet.
_TOO_LARGE = ("roof-in-halves", "part-longer-than-sheet")

#: Share of the work that is done when walls are parted, before nets of the roof are tried.
_PARTED = 0.2

_NOTHING: Mapping[tuple[int, int], Role] = MappingProxyType({})

#: Parts that may be too large for any sheet: what they are a piece of, and which sizes make them smaller.
_CURES = {PartKind.WALL: ("walls", "lower walls"), PartKind.ROOF: ("roof", "a lower pitch, a smaller plan")}


@dataclass(frozen=True, slots=True, eq=False)
class Earlier:
    """The marks on the mesh of a building that is blocked out again.

    points: (n, 3) mm; edges: (m, 2); roles: (m,). made: (m,) the role that the tool itself gave to every edge: a
    mark that is still the same is the tool's and is proposed again, any other one is the maker's and stays.
    """

    points: np.ndarray
    edges: np.ndarray
    roles: tuple[Role, ...]
    made: tuple[Role, ...]

    def by_hand(self) -> tuple[np.ndarray, np.ndarray, tuple[Role, ...]]:
        """Return points, and those edges with their roles that the maker decided."""
        chosen = [k for k, (role, made) in enumerate(zip(self.roles, self.made, strict=True)) if role is not made]
        return self.points, self.edges[chosen].reshape(-1, 2), tuple(self.roles[k] for k in chosen)


@dataclass(frozen=True, slots=True, eq=False)
class Rebuilt:
    """A building that was blocked out again. made: the roles that the tool gave, by edge, as Earlier wants them again.

    kept, lost: how many of the maker's own marks found their line again, and how many did not.
    """

    block: BlockOut
    made: tuple[tuple[tuple[int, int], Role], ...]
    kept: int
    lost: int


def as_solid(block: BlockOut, openings: tuple[Opening, ...] = ()) -> Solid:
    """Return a block-out as it is read back from a mesh, whose points are stored in single precision."""
    stored = block.points.astype(np.float32).astype(np.float64)
    return replace(make_solid(stored, block.faces, roles=dict(block.roles)), openings=openings)


def add_building(sizes: BuildingSizes, settings: Settings) -> BlockOut:
    """Return the block-out with all its marks: corners and roof lines that bend, closures, and breaks.

    Raises BadSettingError, in one sentence, for what cannot be built, or not be cut with these settings.
    """
    trial = try_building(sizes, settings)
    if trial.errors:
        raise BadSettingError(trial.reason(settings))
    return trial.block


def try_building(sizes: BuildingSizes, settings: Settings) -> Trial:
    """Return the building with the marks that lead to the fewest findings, and these findings.

    Raises BadSettingError, in one sentence, for what cannot be built, or whose walls cannot be cut.
    """
    check_settings(settings)
    bare = lay_out_building(sizes, square=settings.square)
    check_building_size(bare.points)
    block = _with_corners(bare, settings)
    if not any(role is Role.FLEX for _, role in block.roles):
        refuse_unbuildable_walls(facets_of(as_solid(bare), settings), settings.as_cut, square=settings.square)
    parting = _parting(block, settings)
    if parting.findings:
        longest = max(largest_piece(settings.walls, settings.lasers))
        refuse_unparted_walls(facets_of(as_solid(block), settings), settings.as_cut, longest=longest)
    block = parting.put_on(lay_out_building(sizes, square=settings.square, breaks=parting.spots))
    return min(_trials(sizes, settings, block, {}, ()), key=lambda trial: trial.weight)


def rebuild_building(
    sizes: BuildingSizes,
    settings: Settings,
    earlier: Earlier,
    openings: tuple[Opening, ...] = (),
    *,
    beside: Sequence[Solid] = (),
    progress: Progress = SILENT,
) -> Rebuilt:
    """Return the block-out with the maker's own marks where their line still is, and the others proposed again.

    openings: those that stand in the building, in its own mm; no break is proposed over them. beside: porches that
    stand against it, behind which no break is proposed. What becomes of the
    maker's marks is for the check to say; sizes that could not be added are refused as ``add_building`` does.
    Raises CancelledError where the work was given up.
    """
    check_settings(settings)
    check_building_size(lay_out_building(sizes, square=settings.square).points)
    mine = earlier.by_hand()
    kept_spots = break_spots(*mine)

    def lay_out(spots: tuple[Corner, ...]) -> Carried:
        return carry_roles(*mine, lay_out_building(sizes, square=settings.square, breaks=spots))

    carried = lay_out(kept_spots)
    decided = dict(carried.decided)
    parting = _parting(_with_corners(carried.block, settings, decided), settings, decided, openings, beside)
    carried = lay_out((*kept_spots, *parting.spots))
    decided = dict(carried.decided)
    block = parting.put_on(carried.block, decided)
    progress.tell(_PARTED)
    trial = min(_trials(sizes, settings, block, decided, openings, progress), key=lambda trial: trial.weight)
    if trial.errors:
        # refuse sizes that could not be cut without the maker's marks either
        add_building(sizes, settings)
    # the opposite of what the maker decided, so that it stays the maker's
    against = {pair: Role.FLEX for pair, role in decided.items() if role is Role.PLAIN}
    made = {pair: role for pair, role in trial.block.roles if pair not in decided} | against
    return Rebuilt(trial.block, tuple(sorted(made.items())), carried.kept, carried.lost)


def _trials(
    sizes: BuildingSizes,
    settings: Settings,
    block: BlockOut,
    decided: Mapping[tuple[int, int], Role],
    openings: tuple[Opening, ...],
    progress: Progress = SILENT,
) -> Iterator[Trial]:
    """Yield the building with one net of its roof after the other, until one is found that nothing is wrong with."""
    tried = set()
    for room in _rooms(sizes, settings):
        marked = _with_net(block, settings, room, decided)
        if marked.roles in tried:
            continue
        tried.add(marked.roles)
        progress.tell(_PARTED)
        trial = _try(marked, settings, openings)
        yield trial
        # a smaller room changes nothing for a net whose pieces fit
        if not trial.findings or trial.fits:
            return


def _rooms(sizes: BuildingSizes, settings: Settings) -> Iterator[tuple[float, float]]:
    """Yield the rooms, mm, for which the net of a roof is sought in turn: first whole, or in halves, then in pieces."""
    yield _ANY_SHEET
    if any(roof.kind is not RoofKind.NONE for roof in (sizes.roof, *(wing.roof for wing in sizes.wings))):
        length, width = largest_piece(settings.roof, settings.lasers)
        yield length, width
        yield _TIGHTER * length, _TIGHTER * width


@dataclass(frozen=True, slots=True)
class _Parting:
    """Where walls part: plan points, mm, of breaks and of corners; findings say where no place was found."""

    spots: tuple[Corner, ...]
    corners: tuple[Corner, ...]
    findings: tuple[Finding, ...]

    def put_on(self, block: BlockOut, decided: Mapping[tuple[int, int], Role] = _NOTHING) -> BlockOut:
        """Return a block-out whose corners part here, but for those that the maker decided."""
        roles = dict(block.roles)
        for (foot, top), role in block.roles:
            away = [math.dist(block.points[foot][:2], corner) for corner in self.corners]
            if role is Role.FLEX and (foot, top) not in decided and min(away, default=math.inf) < SNAP:
                roles[foot, top] = Role.CLOSURE
        return replace(block, roles=tuple(sorted(roles.items())))


def _with_corners(block: BlockOut, settings: Settings, decided: Mapping[tuple[int, int], Role] = _NOTHING) -> BlockOut:
    """Return a block-out whose corners part where the board does not bend; those that the maker decided stay."""
    open_corners = {pair for pair, role in block.roles if role is Role.FLEX and pair not in decided}
    kept = tuple((pair, role) for pair, role in block.roles if pair not in open_corners)
    solid = as_solid(replace(block, roles=kept))
    pairs = dict(zip(zip(solid.edge_sources, solid.edge_ids, strict=True), solid.edges, strict=True))
    facets = facets_of(solid, settings)
    roles = dict(kept)
    for shell in facets.shells:
        bent = bending_corners(facets, shell, settings.as_cut) if shell.kind is ShellKind.WALLS else ()
        for edge in upright_corners(facets, shell) if shell.kind is ShellKind.WALLS else ():
            for host in edge.host_edges:
                if (pair := pairs[edge.source, host]) in open_corners:
                    roles[pair] = Role.FLEX if edge.id in bent else Role.CLOSURE
    return replace(block, roles=tuple(sorted(roles.items())))


def _parting(
    block: BlockOut,
    settings: Settings,
    decided: Mapping[tuple[int, int], Role] = _NOTHING,
    openings: tuple[Opening, ...] = (),
    beside: Sequence[Solid] = (),
) -> _Parting:
    """Return where the walls of a block-out are to part; corners only where breaks alone will not do."""
    solid = join_solids([as_solid(block, openings), *beside])
    numbered = zip(solid.edges, solid.edge_sources, solid.edge_ids, solid.edge_roles, strict=True)
    corners = {
        (source, number): pair for pair, source, number, role in numbered if role is Role.FLEX and pair not in decided
    }
    largest = largest_piece(settings.walls, settings.lasers)
    proposed = propose_breaks(facets_of(solid, settings), settings.as_cut, largest=largest, may_part=corners)
    spots = tuple((float(cut.point[0]), float(cut.point[1])) for cut in proposed.cuts)
    parted = {corners[mark.source, edge] for mark in proposed.marks for edge in mark.edges}
    parted |= {pair for pair, role in block.roles if role is Role.CLOSURE and pair not in decided}
    feet = [block.points[foot] for foot, _ in sorted(parted)]
    return _Parting(spots, tuple((float(x), float(y)) for x, y, _ in feet), proposed.findings)


def _with_net(
    block: BlockOut,
    settings: Settings,
    largest: tuple[float, float],
    decided: Mapping[tuple[int, int], Role],
) -> BlockOut:
    """Return a block-out whose unmarked roof lines bend or are closures; what the maker decided stays.

    A line that the maker left plain stands in as a closure, so that nothing is made of it.
    """
    plain = {pair: Role.CLOSURE for pair, role in decided.items() if role is Role.PLAIN}
    solid = as_solid(replace(block, roles=(*block.roles, *plain.items())))
    proposed = propose_net(facets_of(solid, settings), settings.as_cut, largest=largest)
    marked = proposed.put_on(solid)
    roles = zip(marked.edges, marked.edge_roles, strict=True)
    return replace(
        block, roles=tuple(sorted(role for role in roles if role[1] is not Role.PLAIN and role[0] not in plain))
    )


@dataclass(frozen=True, slots=True, eq=False)
class Trial:
    """A building and its parts, with what the check would say up to where they lie on sheets, notes left out.

    fits: whether every part of the roof finds room on a sheet as it was unfolded, not cut in halves.
    """

    block: BlockOut
    findings: tuple[Finding, ...]
    parts: tuple[Part, ...]
    fits: bool

    @property
    def errors(self) -> tuple[Finding, ...]:
        return tuple(finding for finding in self.findings if finding.severity is Severity.ERROR)

    @property
    def weight(self) -> tuple[int, int]:
        """Errors, and all findings: less is better."""
        return len(self.errors), len(self.findings)

    def reason(self, settings: Settings) -> str:
        """Return the sentence that says why it cannot be cut."""
        first = self.errors[0]
        if first.code == "boards-cross":
            return f"{first.message.partition(';')[0]}; choose higher walls, a wider plan or a lower pitch"
        part = next((part for part in self.parts if part.id == first.where.part), None)
        if first.code != "part-longer-than-sheet" or part is None or part.kind not in _CURES:
            return first.message
        what, cure = _CURES[part.kind]
        length, width = largest_piece(settings.stocks[part.stock], settings.lasers)
        return (
            f"A piece of the {what} is {max(part.size):.0f} x {min(part.size):.0f} mm in the flat and a sheet takes "
            f"{length:.0f} x {width:.0f} mm; choose {cure}, or a larger sheet or laser"
        )


def _try(block: BlockOut, settings: Settings, openings: tuple[Opening, ...]) -> Trial:
    """Make the parts that bear the marks, as the whole flow does, and gather what is wrong with them."""
    cut = settings.as_cut
    unfolded = unfold_solid(as_solid(block, openings), replace(settings, propose=Proposal.NONE))
    facets, sections = unfolded.facets, unfolded.sections
    joiners = make_joiners(facets, sections, cut)
    sections, joiners, _ = relieve_boards(sections, joiners, cut, deeper=settings.proof_limit)
    floors = lay_floor(facets, sections, joiners, cut, largest=largest_piece(settings.floor, settings.lasers))
    sections = replace(sections, parts=order_bends(sections.parts))
    stops, closures = hold_roofs(facets, sections, joiners.parts, cut)
    parts = (*sections.parts, *joiners.parts)
    found = [*facets.findings, *sections.findings, *joiners.findings, *closures.findings]
    if any(part.kind is PartKind.ROOF for part in parts):
        standing = (*parts, *floors.parts, *stops, *closures.parts)
        found += prove(facets, sections, standing, joiners.joiners, (), cut, limit=settings.proof_limit).findings
    for name, stock in settings.stocks.items():
        mine = [part for part in parts if part.stock == name]
        found += route(mine, benches_for(stock, settings.lasers), {})[1]
    fits = not any(finding.code in _TOO_LARGE for finding in (*unfolded.findings, *found))
    return Trial(block, tuple(finding for finding in found if finding.severity is not Severity.NOTE), parts, fits)
