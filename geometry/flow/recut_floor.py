"""The floor cut again: the walls are cut, glued and put up, and now they are measured.

``floor_again`` lays slots and outline for the size at which the walls do stand; the rest of the
building stays as it was cut. Only the floor's sheets are written.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from ..errors import BadSettingError
from ..files import replace_files, seal
from ..findings import Finding, Severity, in_order, worst
from ..joints.floor import lay_floor, walls_outline
from ..joints.joiner import make_joiners
from ..joints.stretch import outer_size, plan_turn
from ..outcome import Outcome
from ..part import Part
from ..sheet.check import check_sheets
from ..sheet.layout import Layout, lay_out
from ..sheet.svg import draw_sheet
from ..solid.facets import ShellKind
from ..unfold.section import unfold
from .run import largest_piece

__all__ = ["FloorAgain", "deliver_floor", "drawn_size", "floor_again"]


@dataclass(frozen=True, slots=True, eq=False)
class FloorAgain:
    """The floor's parts for walls as measured, laid out. drawn, standing: outer (length, width), mm."""

    outcome: Outcome
    drawn: tuple[float, float]
    standing: tuple[float, float]
    parts: tuple[Part, ...]
    layout: Layout
    findings: tuple[Finding, ...]


def drawn_size(outcome: Outcome) -> tuple[float, float]:
    """Return the outer (length, width) of the walls as drawn, joiners left out, mm.

    Raises BadSettingError where there is not exactly one ring of walls: each would be measured by itself.
    """
    return _drawn(outcome)[0]


def _drawn(outcome: Outcome) -> tuple[tuple[float, float], float]:
    facets, settings = outcome.facets, outcome.settings
    walls = [shell for shell in facets.shells if shell.kind is not ShellKind.ROOF]
    if len(walls) != 1 or not any(facets.facets[facet].upright for facet in walls[0].facets):
        raise BadSettingError(
            f"The building has {len(walls)} bodies of walls; cut the floor of each again by itself, with --object"
        )
    outline = walls_outline(facets, unfold(facets, settings), walls[0].facets, settings)
    turn = plan_turn(facets)
    return outer_size(outline, turn), turn


def floor_again(outcome: Outcome, standing: tuple[float, float]) -> FloorAgain:
    """Lay the floor for walls that stand ``standing`` (length, width) mm over all, measured beside the joiners.

    Raises BadSettingError where there is no floor, no single ring of walls, or a size is a slip.
    """
    settings = outcome.settings.as_cut
    if not settings.ground.wanted:
        raise BadSettingError("The building stands on a play mat and has no floor to cut again")
    drawn = drawn_size(outcome)
    facets = outcome.facets
    sections = unfold(facets, settings)
    joiners = make_joiners(facets, sections, settings)
    largest = largest_piece(settings.floor, settings.lasers)
    floors = lay_floor(facets, sections, joiners, settings, largest=largest, standing=standing)
    layout = lay_out(floors.parts, outcome.settings.stocks, settings.laser, settings.other_lasers)
    by_id = {part.id: part for part in floors.parts}
    checked = check_sheets(layout, by_id)
    findings = in_order([*floors.findings, *layout.findings, *checked])
    return FloorAgain(outcome, drawn, standing, floors.parts, layout, findings)


def deliver_floor(again: FloorAgain, folder: Path, *, date: str = "") -> tuple[Path, ...]:
    """Write the floor's sheets as ``floor-again-….svg`` and return them; the building's own sheets stay.

    With a finding of severity error nothing is written. Raises UnreadableError where the folder cannot be.
    """
    if worst(again.findings) is Severity.ERROR:
        return ()
    parts = {part.id: part for part in again.parts}
    title = f"{again.outcome.title}: floor for walls of {again.standing[0]:g} x {again.standing[1]:g} mm"
    files = {}
    for index, sheet in enumerate(again.layout.sheets):
        drawn = draw_sheet(again.layout, index, parts, title=title, date=date)
        files[sheet.file.replace("sheet-", "floor-again-", 1)] = seal(drawn)
    return replace_files(folder, files, obsolete=["floor-again-*.svg"])
