"""The whole flow: a solid and the maker's settings become parts, proof and sheets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ..assembly.find import find_assembly
from ..findings import Finding, gathered, in_order
from ..finish.check import check_finishes
from ..fit.assess import assess
from ..fit.gather import find_joints
from ..fold.crossed import check_outlines
from ..joints.closed_body import check_closed_bodies
from ..joints.engaged import check_stops
from ..joints.floor import Floors
from ..joints.hold import Hold, check_corners, check_loose, check_unmarked, find_hold
from ..joints.props import Prop, make_props
from ..outcome import Outcome, Proposal, Settings
from ..part import Part, standing_size
from ..progress import SILENT, Progress
from ..proof.proof import Proof
from ..proof.prove import prove
from ..proof.swings import check_swings
from ..proof.swings_over_tiles import check_over_tiles
from ..propose.suggested import suggest_breaks
from ..sheet.alike import name_alike
from ..sheet.check import check_grain_way, check_sheets
from ..sheet.layout import NO_LAYOUT, Layout, lay_out
from ..sheet.times import estimate_seconds
from ..solid.facets import Facets
from ..solid.ground import check_ground
from ..solid.places import say_places
from ..solid.solid import Solid
from ..stow.carrying_case import make_case
from ..stow.stow import stow_away
from ..unfold.gable_corners import check_gable_corners
from ..unfold.peak_holes import holes_at_peaks
from ..unfold.section import Sections
from .dressed import dress_building
from .floor_finish import tiled_floor
from .limits import check_settings, check_size, largest_piece
from .sheets import all_lines
from .structure import Structure, build, seat
from .unfolding import unfold_solid

__all__ = ["Made", "finish", "make_parts", "run"]


@dataclass(frozen=True, slots=True, eq=False)
class Made:
    """A building's parts and their proof, before they lie on sheets.

    outcome: without sheets, lines and times. in_flat: findings of the sections, some of which a break would cure.
    """

    outcome: Outcome
    in_flat: tuple[Finding, ...]


def run(solid: Solid, settings: Settings, *, title: str, progress: Progress = SILENT) -> Outcome:
    """Turn a solid into parts, proof and layout.

    progress is told shares as time goes for a few hundred parts. Raises GeometryError where nothing can be made,
    CancelledError where the work was given up.

    >>> outcome = run(solid, settings, title='House')
    >>> outcome.proof.holds, [part.id for part in outcome.parts]
    (True, ['W1', 'J1-core', 'J1-outer', 'J1-inner', 'F1'])
    """
    made = make_parts(solid, settings, title=title, progress=progress.part(0.0, 0.5))
    return finish(made, progress=progress.part(0.5, 1.0))


def make_parts(solid: Solid, settings: Settings, *, title: str, progress: Progress = SILENT) -> Made:
    """Turn a solid into parts and prove them: all that a maker waits for after an edit. ``finish`` does the rest.

    Raises what ``run`` raises.
    """
    check_settings(settings)
    check_size(solid)
    unfolded = unfold_solid(solid, settings)
    seated = seat(unfolded, settings.as_cut)
    progress.tell(0.5)
    structure = build(unfolded, seated, settings)
    dressed = dress_building(structure, settings)
    sections = _as_cut(structure.sections, dressed.parts)
    facets, joiners, closures = structure.facets, structure.joiners.joiners, structure.closures
    hold = find_hold(facets, sections, joiners, closures.edges)
    understood = _understood(facets, sections, hold, structure.floors)
    progress.tell(0.7)
    cut = settings.as_cut
    standing = (*dressed.parts, *dressed.loose)
    proof = prove(facets, sections, standing, joiners, structure.tabs, cut, limit=structure.limit)
    progress.tell(1.0)
    tiling = tiled_floor(structure.floors, cut)
    props = _named_props(make_props(dressed.parts, cut))
    stow = stow_away(
        (*dressed.parts, *(prop.part for prop in props), *dressed.loose),
        joiners,
        standing_size(standing),
        glued=closures.glued,
        on_floors=tiling.thickness,
        laid=dressed.strips.bearers,
    )
    largest = largest_piece(settings.floor, settings.lasers)
    case = make_case(stow, cut.floor, largest=largest) if cut.case and dressed.parts else None
    found = (
        *understood,
        *_found_standing(structure, sections, proof),
        *check_stops(facets, dressed.parts),
        *dressed.findings,
        *tiling.findings,
        *check_finishes(cut.finishes, dressed.parts, {name: stock.kerf for name, stock in cut.stocks.items()}),
        *(case.findings if case is not None else ()),
    )
    outcome = Outcome(
        title=title,
        settings=settings,
        facets=facets,
        parts=dressed.parts,
        joiners=joiners,
        tabs=structure.floors.tabs,
        proof=proof,
        hold=hold,
        stow=stow,
        layout=NO_LAYOUT,
        lines=(),
        sheet_seconds=(),
        findings=in_order(say_places(gathered(found), facets)),
        case=case,
        roof_tabs=seated.tabs,
        tiling=tiling,
        props=props,
        signs=dressed.signs,
        strips=dressed.strips,
    )
    return Made(outcome, sections.findings)


def _understood(facets: Facets, sections: Sections, hold: Hold, floors: Floors) -> tuple[Finding, ...]:
    """Return what the maker should know about how the model was understood: marks, loose pieces, closed bodies."""
    return (
        *check_unmarked(facets, sections, hold),
        *check_loose(facets, sections, hold),
        *check_corners(facets, sections, hold),
        *check_closed_bodies(facets, sections, floors.tabs),
        *check_ground(facets),
    )


def _found_standing(structure: Structure, sections: Sections, proof: Proof) -> tuple[Finding, ...]:
    """Return what the maker should know about the parts that a building stands by, and about their proof.

    sections: as they are cut.
    """
    facets = structure.facets
    steps = (facets, sections, structure.joiners, structure.floors, structure.closures, proof)
    return (
        *structure.unfolded.findings,
        *structure.seated.findings,
        *holes_at_peaks(facets, sections, structure.caps),
        *(finding for step in steps for finding in step.findings),
        *structure.notches,
        *check_gable_corners(structure.parts),
        *check_outlines(structure.parts),
    )


def finish(made: Made, *, progress: Progress = SILENT) -> Outcome:
    """Find what real boards do to a building and how it goes together, lay its parts on sheets; return all.

    Raises what ``run`` raises.
    """
    outcome = made.outcome
    chosen = outcome.settings
    layout = _lay_out(outcome.pieces, chosen, progress.part(0.0, 0.5))
    if _alone(outcome.props, layout):
        outcome = replace(outcome, props=())
        layout = _lay_out(outcome.pieces, chosen, progress.part(0.5, 0.5))
    by_id = {part.id: part for part in outcome.pieces}
    checked = (*check_sheets(layout, by_id), *check_grain_way(layout, by_id))
    progress.tell(0.5)
    cut = chosen.as_cut
    swings = (*check_swings(outcome.parts, outcome.tabs, cut), *check_over_tiles(outcome.parts, outcome.tiling))
    loose = (outcome.props, outcome.tiling, outcome.signs, outcome.strips)
    joints = find_joints(outcome.parts, outcome.joiners, outcome.tabs, cut, *loose)
    fit = assess(joints, cut.stocks)
    tabs = (*outcome.tabs, *outcome.roof_tabs)
    moved = (*outcome.parts, *outcome.strips.laid, *(sign.part for sign in outcome.signs))
    assembly = find_assembly(
        moved,
        outcome.joiners,
        tabs,
        outcome.stow.glued,
        cut,
        laid=outcome.strips.bearers,
        deeper=outcome.proof.limit,
    )
    progress.tell(0.6)
    lines = all_lines(layout, by_id, progress.part(0.6, 1.0))
    helpful: tuple[Finding, ...] = ()
    if chosen.propose not in (Proposal.BREAKS, Proposal.ALL):
        largest = largest_piece(chosen.walls, chosen.lasers)
        troubles = (*made.in_flat, *layout.findings)
        helpful = suggest_breaks(outcome.facets, by_id, troubles, cut, largest=largest)
    progress.tell(1.0)
    later = [*fit.findings, *swings, *assembly.findings, *helpful, *layout.findings, *checked]
    return replace(
        outcome,
        layout=layout,
        assembly=assembly,
        fit=fit,
        lines=lines,
        sheet_seconds=estimate_seconds(layout, by_id, lines),
        findings=in_order([*outcome.findings, *say_places(gathered(later), outcome.facets)]),
    )


def _named_props(props: Sequence[Prop]) -> tuple[Prop, ...]:
    """Return the props under one name where they are cut alike."""
    named = name_alike([prop.part for prop in props])
    return tuple(replace(prop, part=part) for prop, part in zip(props, named, strict=True))


def _alone(props: Sequence[Prop], layout: Layout) -> bool:
    """Whether props fill a sheet of their own: they are cut only from what others leave."""
    loose = {prop.part.id for prop in props}
    others = {placement.sheet for placement in layout.placements if placement.part not in loose}
    return any(placement.sheet not in others for placement in layout.placements)


def _as_cut(sections: Sections, parts: Sequence[Part]) -> Sections:
    """Return the sections with their parts as they are cut: some lie with their other face up."""
    by_id = {part.id: part for part in parts}
    return replace(sections, parts=tuple(by_id.get(part.id, part) for part in sections.parts))


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
