"""The order of work: what follows what from the first cut to the first game, how long it takes, what to check when."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..durations import minutes
from ..joints.stretch import plan_turn
from ..part import Part, PartKind, standing_corners
from ..sheet.alike import counted_names
from .markup import bold, bold_list, joined, length, table, text

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["checklist", "later_heading", "measuring_section", "order_of_work", "trying_section"]

#: Minutes of handwork. Common practice, no source; the laser's time alone is computed.
_SHEET, _TAPE, _CLEAN = 10.0, 10.0, 1.0
_JOINER, _STRIP, _RING, _FLOOR, _PLAY = 12.0, 4.0, 15.0, 5.0, 5.0
_UPSTAND, _MEMBER, _TILE = 15.0, 1.0, 0.5

#: Square centimetres that a brush covers in a minute, and coats. Common practice, no source.
_BRUSHED, _COATS = 40.0, 2

#: Square millimetres in a square centimetre, seconds in a minute, and the step to which times are rounded, minutes.
_CM2, _MINUTE, _STEP = 100.0, 60.0, 5.0

_GLUED_LATER = (PartKind.STOP, PartKind.LAP, PartKind.CARRIER)


@dataclass(frozen=True, slots=True)
class _Work:
    """One stage of the work: heading, what is done, minutes at hand, what is waited for. All words are markup."""

    heading: str
    what: str
    hand: float
    wait: str = ""


def order_of_work(outcome: Outcome) -> str:
    """Return the markup of the stages of work with their times, empty where there is nothing to cut."""
    stages = _stages(outcome)
    if not stages:
        return ""
    rows = [
        (f"{number}.", f"<b>{stage.heading}</b>", stage.what, minutes(stage.hand * _MINUTE), stage.wait)
        for number, stage in enumerate(stages, start=1)
    ]
    # it may break across pages, so that the first one is filled
    total = minutes(sum(stage.hand for stage in stages) * _MINUTE)
    rows.append(("", "<b>all together</b>", "", f"<b>{total}</b>", "two or three evenings"))
    stages_table = table(("", "Stage", "What is done", "At hand", "Then wait"), rows, numbers=(0, 3))
    return (
        stages_table.replace('<table class="short">', "<table>") + "\n"
        '<p class="small">Laser time is estimated from the feeds in your laser’s settings; all other times are common'
        " practice without a source. Drying times: the label of your glue and paint goes first.</p>"
    )


def _stages(outcome: Outcome) -> list[_Work]:
    pieces = outcome.pieces
    if not pieces:
        return []
    kinds = {part.kind for part in pieces}
    sheets, laser = len(outcome.layout.sheets), outcome.seconds.get("total", 0.0) / _MINUTE
    joiners, upstands = len(outcome.joiners), len({part.body for part in pieces if part.kind is PartKind.UPSTAND})
    later = sum(part.kind in _GLUED_LATER for part in outcome.parts)
    floor = "the floor waits until the walls are measured" if _floor_waits(outcome) else ""
    stages = [
        _Work("Cut", f"{text(minutes(laser * _MINUTE))} of laser, loading and taping{'; ' + floor if floor else ''}",
              _rounded(laser + _SHEET * sheets + _TAPE)),
        _Work("Try dry", "check the first sheet, take parts out, clean edges, bend each corner once",
              _rounded(_CLEAN * len(pieces) + _TAPE)),
    ]  # fmt: skip
    if joiners or upstands:
        named = joined([*(["joiners"] if joiners else []), *(["dormers, chimneys, porches"] if upstands else [])])
        stages.append(
            _Work(f"Glue {named}", "clamped between flat boards", _rounded(_JOINER * joiners + _UPSTAND * upstands),
                  "until the glue has cured, mostly overnight")
        )  # fmt: skip
    if trim := sum(part.kind is PartKind.TRIM for part in outcome.parts):
        stages.append(_Work("Glue trim", "onto the flat walls, painted before", _rounded(_MEMBER * trim), "an hour"))
    if kinds & {PartKind.WALL, PartKind.PANEL}:
        stages.append(_Work("Put up the walls and measure", "without floor and paint", _RING))
    if PartKind.FLOOR in kinds:
        stages.append(_Work("Floor", "cut it, or cut it again to what you measured; try it on", _FLOOR))
    painted = (PartKind.WALL, PartKind.ROOF, PartKind.PANEL)
    area = sum(part.area for part in outcome.parts if part.kind in painted) / _CM2
    stages.append(
        _Work("Paint", f"both faces, {_COATS} thin coats, if you want any", _rounded(2 * area * _COATS / _BRUSHED),
              "an hour or two between coats, overnight before anything is stacked")
    )  # fmt: skip
    if strips := len(outcome.strips.strips):
        what = f"{strips} strips onto the flat slopes, from the eaves up"
        stages.append(_Work("Glue shingles", what, _rounded(_MEMBER * strips), "an hour"))
    if tops := len(outcome.tiling.tops):
        inlaid = len(outcome.tiling.tiles) - tops
        what = f"glue the top layer on, let {inlaid} pieces into it by the laying plan"
        stages.append(_Work("Lay the inlay", what, _rounded(_TILE * inlaid + _FLOOR * tops), "overnight, weighted"))
    elif tiles := len(outcome.tiling.tiles):
        what = f"sort {tiles} tiles, try a row and a column dry, glue from the middle outward by the laying plan"
        stages.append(_Work("Lay tiles", what, _rounded(_TILE * tiles), "overnight, weighted"))
    if later:
        stages.append(
            _Work(later_heading(outcome.parts), "on the standing building, at the marked places",
                  _rounded(_STRIP * later), "until the glue has cured")
        )  # fmt: skip
    if PartKind.CASE in kinds:
        stages.append(_Work("Carrying case", "glued once", 30.0, "overnight"))
    stages.append(_Work("Play", "put it up, fold it away", _PLAY))
    return stages


def _rounded(hand: float) -> float:
    return max(_STEP, math.ceil(hand / _STEP) * _STEP)


def _floor_waits(outcome: Outcome) -> bool:
    return bool(outcome.joiners) and any(part.kind is PartKind.FLOOR for part in outcome.parts)


def checklist(outcome: Outcome) -> str:
    """Return the markup of what to check when the first sheet is cut, empty without sheets."""
    if not outcome.layout.sheets:
        return ""
    first = [placed.part for placed in outcome.layout.placements if placed.sheet == 0]
    parts = [part for part in outcome.pieces if part.id in first]
    items = [
        "Hold the sheet against the light: every slit and every hole is cut through.",
        "Every part comes out with a push of the finger. Small parts hang on two holds of half a millimetre: part them"
        " with the knife.",
        *_measured(parts),
        "No id is mirrored, and the arrow in the margin runs with the grain.",
    ]
    if any(part.lattices for part in parts):
        items.append(
            "Bend one corner slowly to its angle, close to the lattice: no crack, and the slits do not close before it"
            " is there."
        )
    if outcome.joiners:
        items.append(
            "Lay core and cheeks together dry with a wall end between them: it slides by hand, with a little play for"
            " paint."
        )
    boxes = "\n".join(f"<li>☐ {item}</li>" for item in items)
    return f"""<div class="box checklist"><p><b>After the first sheet, before the next</b></p>
<ul class="checks">
{boxes}
</ul>
<p>If one fails, stop: correct kerf or thickness of the stock to what you measured, and write the files
again.</p></div>"""


def _measured(parts: list[Part]) -> list[str]:
    """Return what the caliper should read on a part of the sheet: the kerf shows in it."""
    plain = [part for part in parts if len(part.outline.exterior.coords) <= 12 and not part.lattices]
    if not plain:
        return []
    part = min(plain, key=lambda part: (min(part.size), part.id))
    wide = min(part.size)
    return [
        f"Measure {bold(part.name)} across: {length(wide)} mm. Wider by more than 0.1, and the beam is finer"
        " than drawn; narrower, and it is wider."
    ]


def later_heading(parts: Iterable[Part]) -> str:
    """Return what the work is called that is glued on the standing building: stops, closures or both."""
    kinds = {part.kind for part in parts}
    closures = bool(kinds & {PartKind.LAP, PartKind.CARRIER})
    if PartKind.STOP not in kinds:
        return "Closures"
    return "Stops and closures" if closures else "Stops"


def trying_section(outcome: Outcome) -> str:
    """Return the markup about trying parts dry, before any glue, empty where there are no parts."""
    if not outcome.parts:
        return ""
    items = [
        "Take scorch off edges with two or three strokes of fine sandpaper, and break the upper edge of slots and the"
        " tips of tabs with it. Leave tabs and wall ends as wide as they are."
    ]
    if any(part.lattices for part in outcome.parts):
        items.append(
            "Bend every corner once to its angle and a little beyond, evenly along its whole length, then let it spring"
            " back. Ply that creaks is fine; a link that breaks is not: see the chapter on the board."
        )
    if outcome.joiners:
        items.append(
            "Lay each joiner together without glue, pegs through its holes, and try a wall end in both channels."
        )
    named = counted_names(outcome.parts)
    same = [f"{len(alike)} × {text(called)}" for called, alike in named.items() if len(alike) > 1]
    if same:
        items.append(f"Parts with one name are alike, and any of them goes where the name stands: {joined(same)}.")
    return "<ol>\n" + "\n".join(f"<li>{item}</li>" for item in items) + "\n</ol>"


def _over_all(outcome: Outcome, walls: Sequence[Part]) -> tuple[float, float]:
    """Return length and width of standing walls over their outer faces, mm, as the floor is cut again for them."""
    turn = plan_turn(outcome.facets)
    corners = np.concatenate([standing_corners(part, panel)[:, :2] for part in walls for panel in part.panels])
    along, across = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
    return float(np.ptp(corners @ along)), float(np.ptp(corners @ across))


def measuring_section(outcome: Outcome) -> str:
    """Return the markup about measuring the standing ring and about the floor, empty without walls."""
    walls = [part for part in outcome.parts if part.kind is PartKind.WALL]
    if not any(part.panels for part in walls):
        return ""
    wide, deep = _over_all(outcome, walls)
    floors = [part for part in outcome.parts if part.kind is PartKind.FLOOR]
    written = (
        "<p>Put the walls up as in the chapter <b>Put it up</b>, on a flat table, without floor and paint. Push every"
        " wall end home. Square them by their diagonals, and measure over the outer faces of the walls, beside the"
        f" joiners: it should be <b>{length(wide)} × {length(deep)} mm</b>.</p>"
    )
    if not floors:
        return written
    play = length(min((min(tab.play) for tab in outcome.tabs), default=0.0))
    return f"""{written}
<p>Off by {play} mm or less: the slots take it; cut {bold_list([part.id for part in floors])} as drawn.
Off by more: choose Cut, Cut Floor Again in the sidebar, or add <code>--standing LENGTHxWIDTH</code> on the command
line, and cut the floor that comes of it.</p>
<p>Try the floor: the walls go down level, all tabs at once, with a push of both hands. A tab that sticks is eased with
sandpaper at its tip, not at its flanks.</p>"""
