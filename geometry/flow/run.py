"""The whole flow: a solid and the maker's settings become parts, proof and sheets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ..assembly.find import find_assembly
from ..findings import Finding, gathered, in_order
from ..finish.check import check_finishes
from ..finish.dress import dress
from ..finish.fillings import draw_fillings
from ..finish.flashing import find_flashings
from ..finish.inlay import lay_inlay
from ..finish.inside import dress_inside
from ..finish.own import draw_own
from ..finish.pave import pave
from ..finish.tiles import Tiling, lay_tiles
from ..fit.assess import assess
from ..fit.gather import find_joints
from ..fold.crossed import check_outlines, uncrossed
from ..fold.folding import order_bends
from ..joints.caps import make_caps
from ..joints.closed_body import check_closed_bodies
from ..joints.engaged import check_stops
from ..joints.floor import Floors, lay_floor
from ..joints.held_roof import hold_roofs
from ..joints.hold import Hold, check_corners, check_loose, check_unmarked, find_hold
from ..joints.joiner import make_joiners
from ..joints.props import Prop, make_props
from ..joints.relief import relieve_boards
from ..joints.roof_slots import seat_upstands
from ..outcome import Outcome, Proposal, Settings
from ..paint.boundaries import score_boundaries
from ..paint.fields import Model, colour_parts, tile_fields
from ..part import Part, standing_size
from ..progress import SILENT, Progress
from ..proof.proof import proof_limit
from ..proof.prove import prove
from ..proof.swings import check_swings
from ..proof.swings_over_tiles import check_over_tiles
from ..propose.suggested import suggest_breaks
from ..settings import FloorWay
from ..sheet.alike import name_alike
from ..sheet.check import check_grain_way, check_sheets
from ..sheet.glue_marks import mark_glue_places
from ..sheet.layout import NO_LAYOUT, Layout, lay_out
from ..sheet.times import estimate_seconds
from ..solid.facets import Facets
from ..solid.ground import check_ground
from ..solid.places import say_places
from ..solid.solid import Solid
from ..stow.carrying_case import make_case
from ..stow.stow import stow_away
from ..trim.make import make_trim
from ..trim.shingles import Strips, make_strips, under_strips
from ..trim.signboard import hang_signs
from ..unfold.ears import raise_ears
from ..unfold.fillets import ease_corners
from ..unfold.gable_corners import check_gable_corners
from ..unfold.peak_holes import holes_at_peaks
from ..unfold.section import Sections
from .eared import run_on_where_it_folds
from .limits import check_settings, check_size, largest_piece
from .sheets import all_lines
from .unfolding import unfold_solid

__all__ = ["Made", "finish", "make_parts", "paved", "run", "tiled_floor"]


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
    chosen, settings = settings, settings.as_cut
    largest = largest_piece(chosen.floor, chosen.lasers)
    unfolded = unfold_solid(solid, chosen)
    facets = unfolded.facets
    seated = seat_upstands(facets, unfolded.sections, settings)
    sections = seated.sections
    plain = raise_ears(sections.parts)
    eared = run_on_where_it_folds(facets, sections.setbacks, plain, settings)
    sections = replace(sections, parts=eared)
    progress.tell(0.5)
    joiners = make_joiners(facets, sections, settings)
    limit = proof_limit(settings.proof_limit, facets.noise, settings)
    sections, joiners, notches = relieve_boards(sections, joiners, settings, deeper=limit)
    floors = lay_floor(facets, sections, joiners, settings, largest=largest)
    sections = replace(sections, parts=order_bends(sections.parts))
    stops, closures = hold_roofs(facets, sections, joiners.parts, settings)
    roofed = (*sections.parts, *joiners.parts, *stops, *closures.parts)
    caps = make_caps(facets, sections, roofed, settings) if settings.closure.caps else ()
    drawn = (*sections.parts, *joiners.parts, *paved(floors, chosen), *stops, *closures.parts, *caps)
    eased = ease_corners(uncrossed(drawn))
    dressed = dress(unfolded.solid, facets, sections, joiners.joiners, eased, settings.finishes)
    filled = draw_fillings(facets, sections, joiners.joiners, dressed)
    trimmed = make_trim(facets, sections, joiners.joiners, filled, settings, settings.finishes, settings.signs)
    hung = hang_signs(facets, sections, joiners.joiners, trimmed.parts, settings.signs, settings)
    flashed, _ = draw_own(facets, sections, joiners.joiners, hung.parts, find_flashings(facets, settings))
    strips = make_strips(facets, sections, joiners.joiners, flashed, settings, settings.finishes)
    bare = under_strips(flashed, strips)
    lined, undrawn = draw_own(facets, sections, joiners.joiners, bare, settings.drawings)
    if inside := settings.finishes.get(settings.inside_finish):
        lined, left_out = dress_inside(facets, sections, joiners.joiners, lined, settings.inside_finish, inside)
        undrawn += left_out
    parts = _painted(
        mark_glue_places(lined),
        Model(unfolded.solid, facets, sections, joiners.joiners, settings.finishes),
        floors,
        chosen,
        strips,
    )
    sections = _as_cut(sections, parts)
    hold = find_hold(facets, sections, joiners.joiners, closures.edges)
    understood = _understood(facets, sections, hold, floors)
    progress.tell(0.7)
    loose = (*strips.laid, *(sign.part for sign in hung.signs))
    proof = prove(
        facets, sections, (*parts, *loose), joiners.joiners, (*floors.tabs, *seated.tabs), settings, limit=limit
    )
    progress.tell(1.0)
    tiling = tiled_floor(floors, settings)
    props = _named_props(make_props(parts, settings))
    kept = (*parts, *(prop.part for prop in props), *loose)
    size, laid = standing_size((*parts, *loose)), strips.bearers
    stow = stow_away(kept, joiners.joiners, size, glued=closures.glued, on_floors=tiling.thickness, laid=laid)
    case = make_case(stow, settings.floor, largest=largest) if settings.case and parts else None
    found = [
        *understood,
        *unfolded.findings,
        *seated.findings,
        *holes_at_peaks(facets, sections, caps if settings.closure.caps else None),
        *(finding for step in (facets, sections, joiners, floors, closures, proof) for finding in step.findings),
        *notches,
        *check_gable_corners(drawn),
        *check_outlines(drawn),
        *check_stops(facets, parts),
        *undrawn,
        *trimmed.findings,
        *hung.findings,
        *strips.findings,
        *tiling.findings,
        *check_finishes(settings.finishes, parts, {name: stock.kerf for name, stock in settings.stocks.items()}),
        *(case.findings if case is not None else ()),
    ]
    outcome = Outcome(
        title=title,
        settings=chosen,
        facets=facets,
        parts=parts,
        joiners=joiners.joiners,
        tabs=floors.tabs,
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
        signs=hung.signs,
        strips=strips,
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


def _painted(
    parts: Sequence[Part], model: Model, floors: Floors, settings: Settings, strips: Strips
) -> tuple[Part, ...]:
    """Return the parts with their colours, and the lines between two of them scored where the maker wants it."""
    tiled = settings.tiles is not None and settings.floor_finish in settings.finishes
    model = replace(model, inside=settings.inside_finish, floor=settings.floor_finish, rooms=floors.rooms, tiled=tiled)
    painted = colour_parts(model, parts, settings.paint, strips.covered)
    return score_boundaries(painted, settings.paint) if settings.paint.score else painted


def paved(floors: Floors, settings: Settings) -> tuple[Part, ...]:
    """Return the floors with the finish that the maker wants engraved on them."""
    finish = settings.finishes.get(settings.floor_finish)
    return (
        floors.parts
        if finish is None or settings.tiles is not None
        else pave(floors.parts, floors.rooms, settings.floor_finish, finish)
    )


def tiled_floor(floors: Floors, settings: Settings) -> Tiling:
    """Return the tiles or the inlay of a floor that the maker wants of two boards."""
    finish, boards = settings.finishes.get(settings.floor_finish), settings.tiles
    if boards is None:
        return Tiling()
    if boards.way is FloorWay.INLAY:
        engraved = settings.ground.square is not None
        laid = lay_inlay(floors.parts, floors.rooms, finish, boards, square=settings.square, engraved=engraved)
    elif finish is None:
        return Tiling()
    else:
        laid = lay_tiles(floors.parts, floors.rooms, finish, boards)
    painted = settings.paint.tile or settings.paint.dark_tile
    return replace(laid, parts=tuple(tile_fields(part) for part in laid.parts)) if painted else laid


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
