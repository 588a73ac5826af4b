"""The structure of a building: all parts that it stands by, before anything is drawn on them or glued onto them."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ..findings import Finding
from ..fold.folding import order_bends
from ..joints.caps import make_caps
from ..joints.closures import Closures
from ..joints.floor import Floors, lay_floor
from ..joints.held_roof import hold_roofs
from ..joints.joiner import Joiners, make_joiners
from ..joints.relief import relieve_boards
from ..joints.roof_slots import Seated, seat_upstands
from ..outcome import Settings
from ..part import Part, Tab
from ..proof.proof import proof_limit
from ..settings import BuildSettings
from ..solid.facets import Facets
from ..unfold.ears import raise_ears
from ..unfold.section import Sections
from .eared import run_on_where_it_folds
from .floor_finish import paved
from .limits import largest_piece
from .unfolding import Unfolded

__all__ = ["Structure", "build", "seat"]


@dataclass(frozen=True, slots=True, eq=False)
class Structure:
    """The parts that a building stands by, and what they were made from.

    parts: all of them, the floors with what is engraved on them. caps: None where the maker wants none. limit: how deep
    boards may enter each other beside noise, mm. notches: what is told of boards that are notched.
    """

    unfolded: Unfolded
    seated: Seated
    sections: Sections
    joiners: Joiners
    floors: Floors
    closures: Closures
    caps: tuple[Part, ...] | None
    parts: tuple[Part, ...]
    limit: float
    notches: tuple[Finding, ...]

    @property
    def facets(self) -> Facets:
        """The facets that the parts were made from."""
        return self.unfolded.facets

    @property
    def tabs(self) -> tuple[Tab, ...]:
        """The tabs of walls in floors, and of what stands on roofs."""
        return (*self.floors.tabs, *self.seated.tabs)


def seat(unfolded: Unfolded, settings: BuildSettings) -> Seated:
    """Return the sections with upstands seated in the roofs, and with all ears with which they fold."""
    seated = seat_upstands(unfolded.facets, unfolded.sections, settings)
    plain = raise_ears(seated.sections.parts)
    eared = run_on_where_it_folds(unfolded.facets, seated.sections.setbacks, plain, settings)
    return replace(seated, sections=replace(seated.sections, parts=eared))


def build(unfolded: Unfolded, seated: Seated, settings: Settings) -> Structure:
    """Join the sections, lay the floor below them, and hold and cap the roofs."""
    facets, cut = unfolded.facets, settings.as_cut
    joiners = make_joiners(facets, seated.sections, cut)
    limit = proof_limit(cut.proof_limit, facets.noise, cut)
    sections, joiners, notches = relieve_boards(seated.sections, joiners, cut, deeper=limit)
    largest = largest_piece(settings.floor, settings.lasers)
    floors = lay_floor(facets, sections, joiners, cut, largest=largest)
    sections = replace(sections, parts=order_bends(sections.parts))
    stops, closures = hold_roofs(facets, sections, joiners.parts, cut)
    roofed = (*sections.parts, *joiners.parts, *stops, *closures.parts)
    caps = make_caps(facets, sections, roofed, cut) if cut.closure.caps else None
    return Structure(
        unfolded=unfolded,
        seated=seated,
        sections=sections,
        joiners=joiners,
        floors=floors,
        closures=closures,
        caps=caps,
        parts=(*sections.parts, *joiners.parts, *paved(floors, settings), *stops, *closures.parts, *(caps or ())),
        limit=limit,
        notches=notches,
    )
