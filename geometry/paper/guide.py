"""The guide: one page that a maker prints and takes to the laser, the workbench and the table.

It stands on its own: styles and pictures are inside, nothing is fetched. All that runs is the view in three
dimensions, which the page does without where scripts are off. The page is also well-formed XML, so that any reader of
either kind takes it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..findings import Severity
from ..part import PartKind
from ..solid.places import name_places
from .assembly import putting_up, taking_down
from .board_words import board_section
from .case_words import case_section, packing
from .cautions import CAUTIONS, PRECEDENCE
from .cut_list import bound_section, cut_section, parts_section
from .fit_words import real_boards_section
from .gluing import gluing_section, standing_gluing_section
from .markup import joined, length, name, plural, text
from .needs import needs_section
from .page import page
from .painting import painting_section
from .proof_words import fit_section
from .seats import seats_section
from .standing import draw_standing, extent
from .tiles import tiles_section
from .turning import turning_view
from .work_order import later_heading, measuring_section, order_of_work, trying_section

if TYPE_CHECKING:
    from ..outcome import Outcome

__all__ = ["guide_title", "render_guide"]


def render_guide(outcome: Outcome, *, date: str = "") -> str:
    """Return the guide as the text of one HTML page. date: printed under the title when given."""
    dated = f'<p class="date">{text(date)}</p>\n' if date else ""
    header = f"<h1>{name(outcome.title)}</h1>\n{dated}{_lead(outcome)}\n{_alarm(outcome)}\n{_cover(outcome)}"
    steps = [
        ("Before you switch the laser on", _cautions()),
        ("The order of work", order_of_work(outcome)),
        ("What you need", needs_section(outcome)),
        ("What to cut", cut_section(outcome)),
        ("Try it dry", trying_section(outcome)),
        ("Glue beforehand", gluing_section(outcome)),
        ("The floor of two boards", tiles_section(outcome)),
        ("Put up the walls and measure", measuring_section(outcome)),
        ("Paint and stain", painting_section(outcome)),
        (f"{later_heading(outcome.parts)} on the standing building", standing_gluing_section(outcome)),
        *([("The carrying case", case_section(outcome))] if outcome.case is not None else []),
        ("Put it up", _steps(outcome)),
        ("Fold it away", _away(outcome)),
    ]
    appendices = [
        ("Every part", parts_section(outcome)),
        ("How well it fits", f"{fit_section(outcome.proof)}\n{real_boards_section(outcome.fit)}"),
        ("What the board does", board_section(outcome)),
        ("Sheets and laser time", bound_section(outcome)),
        ("What every seat gets", seats_section(outcome.play)),
        ("What the check found", _findings(outcome)),
    ]
    chapters = [step for step in steps if step[1]]
    shown = [appendix for appendix in appendices if appendix[1]]
    return page(guide_title(outcome.title), header, chapters, shown)


def guide_title(title: str) -> str:
    """Return the title of the page for a building of this name."""
    return f"{title}: cutting and building guide"


def _lead(outcome: Outcome) -> str:
    if not outcome.parts:
        return (
            f'<p class="lead">{name(outcome.title)} is to become a building for a gridded table, cut from board and'
            " folded by hand. No part could be made from the model yet; the last chapter says why and what to do.</p>"
        )
    kinds = {part.kind for part in outcome.parts}
    walls = extent(part for part in outcome.parts if part.kind is PartKind.WALL)
    room = ""
    if walls is not None:
        wide, deep = ((walls[1] - walls[0])[:2] / outcome.settings.square).tolist()
        room = f" of about {length(wide)} × {length(deep)} squares ({length(outcome.settings.square, 2)} mm each)"
    how = ["the corners bend at lattices cut into the board"] if any(part.lattices for part in outcome.parts) else []
    how += ["joiners hold the wall ends"] if outcome.joiners else []
    how += ["tabs drop into slots in the floor"] if outcome.tabs and PartKind.FLOOR in kinds else []
    how += ["the roof rests on top"] if PartKind.ROOF in kinds else []
    together = f": {joined(how)}" if how else ""
    laminated = bool(outcome.joiners) or kinds & {PartKind.STOP, PartKind.LAP, PartKind.CARRIER, PartKind.UPSTAND}
    glue = " Only the few laminated pieces are glued, once, beforehand." if laminated else ""
    return (
        f'<p class="lead">{name(outcome.title)} is a building{room} for a gridded table. It leaves the cupboard as flat'
        f" boards in a box of {_box(outcome.stow.box)} mm and goes up by hand, without tool or glue at the"
        f" table{together}.{glue}{_whole(outcome)}{_loose(outcome)}</p>"
    )


def _whole(outcome: Outcome) -> str:
    groups = outcome.stow.glued
    if not groups:
        return ""
    names = "; ".join(joined([text(name) for name in names]) for names in groups)
    return f" Strips glued inside keep these together for good, so that they are stowed as they stand: {names}."


def _loose(outcome: Outcome) -> str:
    words = outcome.hold.words
    return f" <b>There are {words} among them that nothing holds to each other.</b>" if words else ""


def _alarm(outcome: Outcome) -> str:
    errors = sum(finding.severity is Severity.ERROR for finding in outcome.findings)
    warnings = sum(finding.severity is Severity.WARNING for finding in outcome.findings)
    if errors:
        also = f" and {plural(warnings, 'warning')}" if warnings else ""
        return (
            f'<div class="box"><p><b>Do not cut yet: the check found {plural(errors, "error")}</b>{also}. Read the last'
            " chapter first. Sheets are written only on request while there are errors; sheet files beside this page"
            " may come from an earlier model.</p></div>"
        )
    if warnings:
        return (
            f'<div class="box"><p>The check found <b>{plural(warnings, "warning")}</b>; read the last chapter before'
            " you cut.</p></div>"
        )
    return ""


def _cover(outcome: Outcome) -> str:
    if extent(outcome.parts) is None:
        return ""
    parts = outcome.standing
    paint = outcome.settings.paint if any(part.colour_fields for part in parts) else None
    drawing = draw_standing(parts, tabs=outcome.tabs, title="The building as it stands", finishes=True, paint=paint)
    return f'<figure class="still">{drawing}</figure>\n{turning_view(outcome)}'


def _cautions() -> str:
    rows = "\n".join(f"<dt>{text(caution.about)}</dt><dd>{text(caution.words)}</dd>" for caution in CAUTIONS)
    return f'<p>{text(PRECEDENCE)}</p>\n<dl class="cautions">\n{rows}\n</dl>'


def _steps(outcome: Outcome) -> str:
    steps = putting_up(outcome)
    if not steps:
        return "<p>There is nothing to put up.</p>"
    numbered = "\n".join(
        f'<div class="step{" wide" if _is_wide(step.drawing) else ""}">\n<h3>{number}. {step.heading}</h3>\n'
        f"<p>{step.words}</p>\n{step.drawing}\n</div>"
        for number, step in enumerate(steps, start=1)
    )
    return f'<div class="steps">\n{numbered}\n</div>'


def _is_wide(drawing: str) -> bool:
    """Whether a step has several drawings, which stand side by side."""
    return drawing.startswith("<div")


def _away(outcome: Outcome) -> str:
    if not outcome.parts:
        return "<p>There is nothing to fold away.</p>"
    lines = "\n".join(f"<li>{line}</li>" for line in taking_down(outcome))
    stow = outcome.stow
    share = f", {stow.share:.0%} of the room that it takes standing" if 0 < stow.share < 10 else ""
    stacked = packing(outcome) if outcome.case is None else "<p>What lies where in the case is in the next chapter.</p>"
    return (
        f"<ol>\n{lines}\n</ol>\n{stacked}\n<p>Stowed, it fits a box of <b>{_box(stow.box)} mm</b> (inside){share}. With"
        f" every piece on top of the next one the stack would be {length(stow.stack_height)} mm high. These are bare"
        " boards: add a few millimetres each way for paint and fingers.</p>"
    )


def _findings(outcome: Outcome) -> str:
    if not outcome.findings:
        return "<p>Nothing to remark.</p>"
    names, items = name_places(outcome.facets), []
    for finding in outcome.findings:
        place = f"part {finding.where.part}" if finding.where.part else names.words(finding.where)
        told = (finding.where.part or place).lower() in finding.message.lower()
        where = "" if told else f' <span class="small">({text(place)})</span>'
        items.append(
            f'<li><span class="weight">{finding.severity.value}</span>: {name(_sentence(finding.message))}{where}</li>'
        )
    return '<ul class="findings">\n' + "\n".join(items) + "\n</ul>"


def _sentence(words: str) -> str:
    return words if words.endswith((".", "!", "?", ":")) else f"{words}."


def _box(box: tuple[float, float, float]) -> str:
    return " × ".join(length(side) for side in box)
