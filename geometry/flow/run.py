"""The whole flow: a solid and the maker's settings become parts, proof and sheets."""

from __future__ import annotations

from collections.abc import Sequence

from ..findings import Finding, gathered, in_order
from ..fit.assess import assess
from ..fit.gather import find_joints
from ..fold.crossed import check_outlines, uncrossed
from ..joints.closed_body import check_closed_bodies
from ..joints.engaged import check_stops
from ..joints.floor import lay_floor
from ..joints.held_roof import hold_roofs
from ..joints.hold import check_corners, check_loose, check_unmarked, find_hold
from ..joints.joiner import make_joiners
from ..joints.relief import relieve_boards
from ..joints.roof_slots import seat_upstands
from ..outcome import Outcome, Proposal, Settings
from ..part import Part, standing_size
from ..progress import SILENT, Progress
from ..proof.proof import proof_limit
from ..proof.prove import prove
from ..proof.swings import check_swings
from ..propose.suggested import suggest_breaks
from ..sheet.check import check_grain_way, check_sheets
from ..sheet.layout import Layout, lay_out
from ..sheet.times import estimate_seconds
from ..solid.ground import check_ground
from ..solid.solid import Solid
from ..stow.carrying_case import make_case
from ..stow.stow import stow_away
from .limits import check_settings, check_size, largest_piece
from .sheets import all_lines
from .unfolding import unfold_solid

__all__ = ["run"]


def run(solid: Solid, settings: Settings, *, title: str, progress: Progress = SILENT) -> Outcome:
    """Turn a solid into parts, proof and layout.

    progress is told shares as time goes for a few hundred parts. Raises GeometryError where nothing can be made,
    CancelledError where the work was given up.

    >>> outcome = run(solid, settings, title='House')
    >>> outcome.proof.holds, [part.id for part in outcome.parts]
    (True, ['W1', 'J1-core', 'J1-outer', 'J1-inner', 'F1'])
    """
    check_settings(settings)
    check_size(solid)
    chosen, settings = settings, settings.as_cut
    largest = largest_piece(chosen.floor, chosen.lasers)
    unfolded = unfold_solid(solid, chosen)
    facets = unfolded.facets
    seated = seat_upstands(facets, unfolded.sections, settings)
    sections = seated.sections
    progress.tell(0.25)
    joiners = make_joiners(facets, sections, settings)
    limit = proof_limit(settings.proof_limit, facets.noise, settings)
    sections, joiners, notches = relieve_boards(sections, joiners, settings, deeper=limit)
    floors = lay_floor(facets, sections, joiners, settings, largest=largest)
    stops, closures = hold_roofs(facets, sections, joiners.parts, settings)
    drawn = (*sections.parts, *joiners.parts, *floors.parts, *stops, *closures.parts)
    parts = uncrossed(drawn)
    hold = find_hold(facets, sections, joiners.joiners, closures.edges)
    understood = (
        *check_unmarked(facets, sections, hold),
        *check_loose(facets, sections, hold),
        *check_corners(facets, sections, hold),
        *check_closed_bodies(facets, sections, floors.tabs),
        *check_ground(facets),
    )
    progress.tell(0.35)
    proof = prove(facets, sections, parts, joiners.joiners, (*floors.tabs, *seated.tabs), settings, limit=limit)
    swings = (*check_swings(parts, floors.tabs, settings), *check_stops(facets, parts))
    fit = assess(find_joints(parts, joiners.joiners, floors.tabs, settings), settings.stocks)
    progress.tell(0.5)
    stow = stow_away(parts, joiners.joiners, standing_size(parts), glued=closures.glued)
    case = make_case(stow, settings.floor, largest=largest) if settings.case and parts else None
    pieces = (*parts, *(case.parts if case is not None else ()))
    by_id = {part.id: part for part in pieces}
    layout = _lay_out(pieces, chosen, progress.part(0.5, 0.75))
    checked = (*check_sheets(layout, by_id), *check_grain_way(layout, by_id))
    progress.tell(0.8)
    lines = all_lines(layout, by_id, progress.part(0.8, 1.0))
    seconds = estimate_seconds(layout, by_id, lines)
    progress.tell(1.0)
    helpful: tuple[Finding, ...] = ()
    if chosen.propose not in (Proposal.BREAKS, Proposal.ALL):
        largest = largest_piece(chosen.walls, chosen.lasers)
        helpful = suggest_breaks(facets, by_id, (*sections.findings, *layout.findings), settings, largest=largest)
    steps = (facets, sections, joiners, floors, closures, proof, fit, layout)
    found = [
        *understood,
        *unfolded.findings,
        *seated.findings,
        *helpful,
        *(finding for step in steps for finding in step.findings),
        *notches,
        *check_outlines(drawn),
        *swings,
        *checked,
        *(case.findings if case is not None else ()),
    ]
    return Outcome(
        title=title,
        settings=chosen,
        facets=facets,
        parts=parts,
        joiners=joiners.joiners,
        tabs=floors.tabs,
        proof=proof,
        hold=hold,
        stow=stow,
        layout=layout,
        lines=lines,
        sheet_seconds=seconds,
        findings=in_order(gathered(found)),
        case=case,
        fit=fit,
        roof_tabs=seated.tabs,
    )


def _lay_out(pieces: Sequence[Part], chosen: Settings, progress: Progress) -> Layout:
    """Lay all pieces out as the maker wishes."""
    wishes = chosen.layout
    return lay_out(
        pieces,
        chosen.stocks,
        chosen.laser,
        chosen.other_lasers,
        chosen=wishes.lasers_among([laser.name for laser in chosen.lasers]),
        pinned=[pin.placement for pin in wishes.pins],
        offcuts=wishes.offcuts,
        improve=wishes.improve,
        progress=progress,
    )
