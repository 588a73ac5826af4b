"""The whole flow in one short function: a solid and the maker's settings become parts, proof and sheets."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

import numpy as np

from ..beam.laser import Laser
from ..beam.lasers import check_laser, stock_on
from ..board.stock import Stock, check_stock
from ..errors import BadSettingError
from ..files import replace_files, seal
from ..findings import Finding, Severity, gathered, in_order, worst
from ..fold.crossed import check_outlines, uncrossed
from ..joints.closed_body import check_closed_bodies
from ..joints.floor import lay_floor
from ..joints.held_roof import hold_roofs
from ..joints.hold import check_corners, check_loose, check_unmarked, find_hold
from ..joints.joiner import make_joiners
from ..outcome import Outcome, Proposal, Settings
from ..paper.guide import render_guide
from ..paper.report import build_report, dump_report
from ..part import Part, PartKind
from ..progress import SILENT, Progress
from ..proof.proof import proof_limit
from ..proof.prove import prove
from ..proof.swings import check_swings
from ..propose.breaks import propose_breaks
from ..propose.net import propose_net
from ..propose.roof_halves import halve_roofs
from ..propose.suggested import suggest_breaks
from ..sheet.check import check_grain_way, check_sheets
from ..sheet.layout import Layout, lay_out
from ..sheet.order import CutLines, sheet_lines
from ..sheet.overview import print_overview
from ..sheet.svg import draw_sheet
from ..sheet.times import estimate_seconds
from ..solid.facets import Facets
from ..solid.find import find_facets
from ..solid.ground import check_ground
from ..solid.solid import Solid
from ..stow.carrying_case import make_case
from ..stow.stow import Stow, stow_away
from ..unfold.section import unfold

__all__ = ["Outcome", "Proposal", "Settings", "Stow", "check_settings", "deliver", "largest_piece", "run"]

#: No table takes a building of 3 m, but a model in millimetres makes one in a scene whose unit is a square, mm.
_LARGEST = 3_000.0


def run(
    solid: Solid,
    settings: Settings,
    *,
    title: str,
    progress: Progress = SILENT,
) -> Outcome:
    """Turn a solid into parts, proof and layout.

    progress is told shares as time goes for a few hundred parts. Raises GeometryError where nothing can be made,
    CancelledError where the work was given up.
    """
    check_settings(settings)
    check_size(solid)
    chosen, settings = settings, settings.as_cut
    facets, proposed = propose(find_facets(solid, wall_face=settings.face.value), chosen)
    progress.tell(0.2)
    sections = unfold(facets, settings)
    halved, notes = halve_roofs(solid, facets, sections, largest=largest_piece(chosen.roof, settings.lasers))
    if notes:
        facets, proposed = propose(find_facets(halved, wall_face=settings.face.value), chosen)
        proposed = (*proposed, *notes)
        sections = unfold(facets, settings)
    progress.tell(0.25)
    joiners = make_joiners(facets, sections, settings)
    floors = lay_floor(facets, sections, joiners, settings, largest=largest_piece(chosen.floor, settings.lasers))
    stops, closures = hold_roofs(facets, sections, joiners.parts, settings)
    drawn = (*sections.parts, *joiners.parts, *floors.parts, *stops, *closures.parts)
    crossed, parts = check_outlines(drawn), uncrossed(drawn)
    hold = find_hold(facets, sections, joiners.joiners, closures.edges)
    understood = (
        *check_unmarked(facets, sections, hold),
        *check_loose(facets, sections, hold),
        *check_corners(facets, sections, hold),
        *check_closed_bodies(facets, sections, floors.tabs),
        *check_ground(facets),
    )
    progress.tell(0.35)
    limit = proof_limit(settings.proof_limit, facets.noise, settings)
    proof = prove(facets, sections, parts, joiners.joiners, floors.tabs, settings, limit=limit)
    swings = check_swings(parts, floors.tabs, settings)
    progress.tell(0.5)
    stow = stow_away(parts, joiners.joiners, standing_size(parts))
    largest = largest_piece(chosen.floor, settings.lasers)
    case = make_case(stow, settings.floor, largest=largest) if settings.case and parts else None
    pieces = (*parts, *(case.parts if case is not None else ()))
    by_id = {part.id: part for part in pieces}
    layout = lay_out(
        pieces,
        chosen.stocks,
        chosen.laser,
        chosen.other_lasers,
        chosen=chosen.layout.lasers_among([laser.name for laser in chosen.lasers]),
        pinned=[pin.placement for pin in chosen.layout.pins],
        leftovers=chosen.layout.leftovers,
        improve=chosen.layout.improve,
        progress=progress.part(0.5, 0.75),
    )
    checked = (*check_sheets(layout, by_id), *check_grain_way(layout, by_id))
    progress.tell(0.8)
    lines = tuple(_drawn(layout, by_id, progress.part(0.8, 1.0)))
    seconds = estimate_seconds(layout, by_id, lines)
    progress.tell(1.0)
    steps = (facets, sections, joiners, floors, closures, proof, layout)
    found = [
        *understood,
        *proposed,
        *_helpful_breaks((*sections.findings, *layout.findings), by_id, facets, chosen),
        *(finding for step in steps for finding in step.findings),
        *crossed,
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
    )


def _drawn(layout: Layout, parts: Mapping[str, Part], progress: Progress) -> Iterator[CutLines]:
    """Yield the lines of every sheet in the order of cutting, and tell how far that is."""
    for index in range(len(layout.sheets)):
        yield sheet_lines(layout, index, parts)
        progress.tell((index + 1) / len(layout.sheets))


def _helpful_breaks(
    found: Sequence[Finding], parts: Mapping[str, Part], facets: Facets, settings: Settings
) -> tuple[Finding, ...]:
    """Say where breaks would help walls that close to a ring or fit no sheet, unless they are proposed anyway."""
    if settings.propose in (Proposal.BREAKS, Proposal.ALL):
        return ()
    too_long = {each.where.part or "" for each in found if each.code == "part-longer-than-sheet"}
    closed = any(each.code == "flex-loop-without-break" for each in found)
    if not closed and not any(parts[name].kind is PartKind.WALL for name in too_long if name in parts):
        return ()
    return suggest_breaks(facets, settings.as_cut, largest=largest_piece(settings.walls, settings.lasers))


def propose(facets: Facets, settings: Settings) -> tuple[Facets, tuple[Finding, ...]]:
    """Fill in what the maker left unmarked, as far as the settings ask for it."""
    largest = largest_piece(settings.walls, settings.lasers)
    settings = settings.as_cut
    if settings.propose in (Proposal.NET, Proposal.ALL):
        facets = propose_net(facets, settings, largest=largest)
    if settings.propose in (Proposal.BREAKS, Proposal.ALL):
        return propose_breaks(facets, settings, largest=largest)
    return facets, ()


def check_settings(settings: Settings) -> None:
    """Raise BadSettingError for the first setting that nothing can be cut with."""
    for stock in (settings.walls, settings.roof, settings.floor, settings.joiners):
        check_stock(stock)
    for laser in settings.lasers:
        check_laser(laser)
    joiner = settings.joiner
    if not 0.0 < joiner.core_width < joiner.cheek_width - 2 * joiner.gap:
        raise BadSettingError(
            f"A joiner with a core of {joiner.core_width:g} mm, gaps of {joiner.gap:g} mm and cheeks of "
            f"{joiner.cheek_width:g} mm holds no wall; make the cheeks wider than core and gaps together."
        )
    if not settings.square > 0.0:
        raise BadSettingError(f"The square's side is {settings.square:g} mm; it must be more than 0.")
    if not settings.ground.rim >= 0.0:
        raise BadSettingError(f"The rim is {settings.ground.rim:g} mm; it cannot be less than 0.")


def check_size(solid: Solid) -> None:
    """Raise BadSettingError for a model that is no building on a table: it would take boards without end."""
    sides = np.ptp(solid.points, axis=0) if len(solid.points) else np.zeros(3)
    if sides.max() > _LARGEST:
        size = " x ".join(f"{side:.0f}" for side in sides)
        raise BadSettingError(
            f"The model measures {size} mm, and at most {_LARGEST:.0f} mm a side can be worked out; "
            "one unit is one square, so for a model in millimetres set the scene's unit scale to 0.001."
        )


def largest_piece(stock: Stock, lasers: Sequence[Laser]) -> tuple[float, float]:
    """Return the largest (length, width) that sheet and bed take inside the margin on any of the lasers, mm.

    Beside the part the line is drawn half a kerf out, and the beam burns another half beyond it.
    """
    pieces = []
    for laser in lasers:
        edge = laser.margin + stock_on(stock, laser).kerf
        length, width = min(max(stock.sheet), max(laser.bed)), min(min(stock.sheet), min(laser.bed))
        pieces.append((length - 2 * edge, width - 2 * edge))
    # what is long enough for the walls comes first; a wider bed that is shorter helps only where both fit
    return max(pieces)


def standing_size(parts: Sequence[Part]) -> tuple[float, float, float]:
    """Return the size of the box round all standing parts, mm; zeros where there is none."""
    corners = [
        panel.stands.apply(panel.ring, z)
        for part in parts
        for panel in part.panels
        for z in (0.0, part.board_side * part.thickness)
    ]
    if not corners:
        return (0.0, 0.0, 0.0)
    size = np.ptp(np.concatenate(corners), axis=0)
    return (float(size[0]), float(size[1]), float(size[2]))


def deliver(
    outcome: Outcome,
    folder: Path,
    *,
    anyway: bool = False,
    date: str = "",
    progress: Progress = SILENT,
) -> tuple[Path, ...]:
    """Write sheets, an overview of them, report.json and guide.html into ``folder``; return the files written.

    With a finding of severity error the sheets are left out unless ``anyway``.
    progress is settled when only the writing is left. Raises UnreadableError where the folder cannot be written,
    CancelledError where the work was given up; nothing is half-written.
    """
    parts = {part.id: part for part in outcome.pieces}
    files: dict[str, str | bytes] = {}
    cut = anyway or worst(outcome.findings) is not Severity.ERROR
    if cut:
        for index, sheet in enumerate(outcome.layout.sheets):
            files[sheet.file] = seal(
                draw_sheet(outcome.layout, index, parts, outcome.lines[index], title=outcome.title, date=date)
            )
            progress.tell(0.5 * (index + 1) / len(outcome.layout.sheets))
        if outcome.layout.sheets:
            files["overview.pdf"] = print_overview(outcome.layout, parts, title=outcome.title)
    files["report.json"] = dump_report(build_report(outcome))
    progress.tell(0.6)
    files["guide.html"] = render_guide(outcome, date=date)
    progress.tell(1.0)
    progress.settle()
    # sheets of an earlier run would mislead beside new ones; where no new ones are written they stay as they are
    return replace_files(folder, files, obsolete=["sheet-*.svg"] if cut and outcome.layout.sheets else [])
