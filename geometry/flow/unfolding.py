"""From a solid to flat sections, with what is proposed for it and with large roofs in halves."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ..findings import Finding
from ..joints.closures import make_closures
from ..joints.hold import find_hold
from ..joints.joiner import make_joiners
from ..joints.relief import relieve
from ..joints.taken import Taken
from ..outcome import Proposal, Settings
from ..proof.proof import proof_limit
from ..propose.breaks import propose_breaks
from ..propose.crossing_bends import part_crossings
from ..propose.narrow_walls import half_bent_walls
from ..propose.neck_cuts import cut_necks
from ..propose.net import propose_net
from ..propose.overlaps import part_overlaps
from ..propose.proposed import Proposed
from ..propose.roof_halves import halve_roofs, part_slopes
from ..settings import BoardFace
from ..solid.facets import Facets
from ..solid.find import find_facets
from ..solid.places import say_places
from ..solid.solid import Role, Solid
from ..solid.straighten import straighten
from ..unfold.section import Sections, unfold
from .limits import largest_piece

__all__ = ["Unfolded", "facets_of", "propose", "unfold_solid"]

#: How often roofs are parted for their sheets, at most: in halves, slope by slope, and where that was not enough.
_PARTED = 3


@dataclass(frozen=True, slots=True, eq=False)
class Unfolded:
    """The facets of a solid with what is proposed for it, their sections, and what there is to say of proposals.

    solid: that the facets were found in, with all that is proposed.
    """

    solid: Solid
    facets: Facets
    sections: Sections
    findings: tuple[Finding, ...]


def facets_of(solid: Solid, settings: Settings) -> Facets:
    """Return the facets of a solid; the settings say which face of the board its walls are, and how thick they are.

    Where a net alone is proposed and nothing parts the walls, a closed body stays one surface: as a ring of walls it
    could not be cut.
    """
    if settings.propose is Proposal.NET and Role.BREAK not in solid.edge_roles:
        return find_facets(solid, wall_face=settings.face.value)
    over = settings.as_cut.walls.thickness if settings.face is BoardFace.INSIDE else 0.0
    return find_facets(solid, wall_face=settings.face.value, over=over)


def propose(solid: Solid, settings: Settings) -> Proposed:
    """Return what the settings ask to be proposed for what the maker left unmarked.

    Bends come first: where walls part depends on which of their corners bend. Of those corners the ones that are
    proposed may part again, those that the maker marked stay.
    """
    proposed, _, facets, _ = _unfold_proposed(solid, settings)
    return replace(proposed, findings=say_places(proposed.findings, facets))


def _propose(solid: Solid, settings: Settings) -> Proposed:
    largest = largest_piece(settings.walls, settings.lasers)
    proposed = Proposed()
    if settings.propose in (Proposal.NET, Proposal.ALL):
        proposed = propose_net(facets_of(solid, settings), settings.as_cut, largest=largest)
    if settings.propose in (Proposal.BREAKS, Proposal.ALL):
        bent = {(mark.source, edge) for mark in proposed.marks for edge in mark.edges}
        facets = facets_of(proposed.put_on(solid), settings)
        proposed += propose_breaks(facets, settings.as_cut, largest=largest, may_part=bent)
    return proposed


def unfold_solid(solid: Solid, settings: Settings) -> Unfolded:
    """Return the sections of a solid with what the settings ask to be proposed for it.

    Where a roof fits no sheet it is cut in halves, and all is proposed again for what stands there then; slopes that
    are too large even so are parted on their own.
    """
    solid, largest = straighten(solid), largest_piece(settings.roof, settings.lasers)
    proposed, cut_solid, facets, sections = _unfold_proposed(solid, settings)
    parted: tuple[Finding, ...] = ()
    necks = cut_necks(facets, sections)
    if necks.cuts:
        solid, parted = necks.put_on(solid), necks.findings
        proposed, cut_solid, facets, sections = _unfold_proposed(solid, settings)
    for attempt in range(_PARTED):
        cut = halve_roofs(facets, sections, largest=largest) if attempt == 0 else Proposed()
        cut = cut if cut.cuts else part_slopes(facets, sections, largest=largest)
        if not cut.cuts:
            break
        solid, parted = cut.put_on(solid), (*parted, *cut.findings)
        proposed, cut_solid, facets, sections = _unfold_proposed(solid, settings)
    return Unfolded(cut_solid, facets, sections, (*proposed.findings, *parted))


def _unfold_proposed(solid: Solid, settings: Settings) -> tuple[Proposed, Solid, Facets, Sections]:
    """Return a proposal none of whose bends makes a section lie on itself or stands in another board.

    With it comes what becomes of the solid that bears it.
    """
    proposed = _propose(solid, settings)
    while True:
        marked = proposed.put_on(solid)
        facets = facets_of(marked, settings)
        sections = unfold(facets, settings.as_cut)
        parted = part_overlaps(facets, sections, proposed)
        if parted is proposed:
            parted = _part_crossings(facets, sections, proposed, settings)
        if parted is proposed:
            parted = _part_narrow_walls(solid, facets, sections, proposed, settings)
        if parted is proposed:
            return proposed, marked, facets, sections
        proposed = parted


def _part_crossings(facets: Facets, sections: Sections, proposed: Proposed, settings: Settings) -> Proposed:
    """Return a proposal one of whose bends parts where it stands in a board, the same where notches are enough."""
    cut = settings.as_cut
    limit = proof_limit(settings.proof_limit, facets.noise, cut)
    parted = part_crossings(facets, sections.parts, proposed, cut, deeper=limit)
    if parted is proposed:
        return proposed
    notched = relieve(sections.parts, cut, deeper=limit).parts
    return part_crossings(facets, notched, proposed, cut, deeper=limit)


def _part_narrow_walls(
    solid: Solid, facets: Facets, sections: Sections, proposed: Proposed, settings: Settings
) -> Proposed:
    """Return a proposal that parts the other corner of a wall as well where that lets more corners be held."""
    walls = ((corner, proposed.bend_at(facets, bent)) for corner, bent in half_bent_walls(facets))
    free = [(corner, bend) for corner, bend in walls if bend is not None]
    before = _open_corners(facets, sections, settings) if free else ()
    for corner, bend in free:
        if corner.id not in before:
            continue
        tried = proposed.with_parted(bend)
        others = facets_of(tried.put_on(solid), settings)
        if len(_open_corners(others, unfold(others, settings.as_cut), settings)) < len(before):
            return tried
    return proposed


def _open_corners(facets: Facets, sections: Sections, settings: Settings) -> tuple[int, ...]:
    """Return the ids of the corners of walls that no bend, no joiner and nothing glued would hold."""
    cut = settings.as_cut
    joiners = make_joiners(facets, sections, cut)
    taken = Taken((*sections.parts, *joiners.parts), cut)
    return find_hold(facets, sections, joiners.joiners, make_closures(facets, sections, taken, cut).edges).open_corners
