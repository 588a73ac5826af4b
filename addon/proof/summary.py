"""The summary that the command line prints: what was written, what was found, how exactly it folds back."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from ..geometry.durations import about
from ..geometry.findings import Finding, Severity
from ..geometry.play.percent import as_percent

if TYPE_CHECKING:
    from ..geometry.flow.recut import Recut
    from ..geometry.outcome import Outcome
    from ..geometry.play.checks import PlayOutcome

__all__ = ["again_lines", "check_lines", "delivery_lines", "floor_lines", "parts_word", "play_lines"]

_WIDTH = 100

#: Less than this share of the room is not worth a line.
_WORTH_SAYING = 0.005


def delivery_lines(outcome: Outcome, written: Sequence[Path]) -> Iterator[str]:
    """Yield what ``cut`` says: the files, the sheets, the time, and the findings."""
    sheets = [path for path in written if path.suffix == ".svg"]
    folder = written[0].parent if written else Path()
    if sheets:
        yield f"{outcome.title}: {parts_word(outcome)}{_left_out(outcome)}, written to {folder}"
    else:
        yield f"{outcome.title}: {parts_word(outcome)}; only report and guide written to {folder}"
    yield from _sheet_lines(outcome, sheets)
    for path in written:
        if path not in sheets:
            yield f"  {path.name}"
    if not outcome.layout.sheets:
        yield "  no sheets: there is no part that fits one; the errors below say why"
    elif not sheets:
        yield "  no sheets: there are findings of severity error; mend them, or say --anyway"
    yield f"  {_time(outcome.seconds)} of laser time; {_proof_word(outcome)}"
    yield from _finding_lines(outcome.findings)


def floor_lines(again: Recut, drawn: tuple[float, float], written: Sequence[Path]) -> Iterator[str]:
    """Yield what ``cut --standing`` says: measured and drawn size (length, width), mm, the sheets, and the findings."""
    yield f"{again.title}, drawn as {drawn[0]:.1f} x {drawn[1]:.1f} mm"
    yield from _sheet_lines(again, written)
    if not written:
        yield "  no sheets: there are findings of severity error; mend them first"
    yield from _finding_lines(again.findings)


def again_lines(again: Recut, written: Sequence[Path]) -> Iterator[str]:
    """Yield what ``cut --only`` says: the parts, the sheets, the time, and the findings about these parts."""
    yield again.title + (f", written to {written[0].parent}" if written else "")
    yield from _sheet_lines(again, written)
    if not written:
        yield "  no sheets: there are findings of severity error; mend them, or say --anyway"
    yield f"  {_time(again.seconds)} of laser time"
    yield from _finding_lines(again.findings)


def _sheet_lines(made: Outcome | Recut, written: Sequence[Path]) -> Iterator[str]:
    for sheet, path in zip(made.layout.sheets, written, strict=False):
        yield f"  {path.name}  {sheet.size[0]:g} x {sheet.size[1]:g} mm, {sheet.used_share:.0%} used"


def check_lines(outcome: Outcome) -> Iterator[str]:
    """Yield what ``check`` says: parts, proof line by line, tolerance, and the findings."""
    sheets = len(outcome.layout.sheets)
    if outcome.parts:
        on = f" on {_count(sheets, 'sheet')}" if sheets else ""
        yield f"{outcome.title}: {parts_word(outcome)}{on}{_left_out(outcome)}, {_time(outcome.seconds)} of laser time"
    else:
        yield f"{outcome.title}: no part could be made; the errors below say why"
    proof = outcome.proof
    yield f"Proof ({_proof_word(outcome)}; {proof.limit:g} mm is allowed)"
    lines = (
        ("corners against the model", proof.corner_distance),
        ("wall rings, end against start", proof.loop_gap),
        ("tabs against slots", proof.tab_slot_distance),
        ("wall ends in joiners", proof.joiner_distance),
        ("edges that stay parted", proof.closure_distance),
        ("boards entering each other", proof.board_overlap),
        ("model points off their planes", proof.reading_noise),
    )
    for label, value in lines:
        yield f"  {label:<32}{'-' if value is None else f'{value:.1e} mm'}"
    for loop in proof.tolerance:
        yield f"  ring {', '.join(loop.parts)}: may vary by {loop.spread:.2f} mm, has {loop.freedom:.2f} mm of freedom"
    stow = outcome.stow
    if outcome.parts:
        sides = " x ".join(f"{side:.0f}" for side in stow.box)
        yield f"Stowed: {stow.stack_height:.0f} mm high in one stack, or a box of {sides} mm"
    if outcome.play is not None:
        yield from play_lines(outcome.play)
    yield from _finding_lines(outcome.findings)


def play_lines(play: PlayOutcome) -> Iterator[str]:
    """Yield what every seat sees and reaches, the worst first, and what hides most."""
    from ..geometry.play.hand import Fit
    from ..geometry.play.reach import Reach

    heights = " ".join(f"{height:>4.0f} mm" for height in play.sight.heights)
    yield f"Seats             sees at {heights}   reaches   hand fits (short, long pinch)"
    seen = play.sight.in_room.mean(axis=2)
    reached = 1.0 - play.reach.share(Reach.STAND)
    fits = 1.0 - play.hands.share(Fit.BLOCKED)
    for k in sorted(range(len(play.sight.seats)), key=lambda seat: (float(seen[seat, 0]), seat)):
        shares = " ".join(f"{_short(share):>7}" for share in seen[k])
        hands = ", ".join(_short(share[k]) for share in fits)
        yield f"  {play.sight.seats[k][:22]:<22}  {shares}   {_short(reached[k]):>7}   {hands}"
    for name, hidden in play.occluders[:5]:
        if max(hidden) >= _WORTH_SAYING:
            yield f"  {name[0].upper()}{name[1:]} alone hides " + ", ".join(f"{share:.1%}" for share in hidden)


def _short(share: float) -> str:
    """Return a share for a narrow column."""
    return as_percent(share).replace("under ", "<")


def _finding_lines(findings: Sequence[Finding]) -> Iterator[str]:
    """Yield how many findings there are, and every one."""
    counts = [
        _count(number, level.value)
        for level in Severity
        if (number := sum(found.severity is level for found in findings))
    ]
    yield f"Findings: {', '.join(counts) if counts else 'none'}"
    for finding in findings:
        place = finding.where.part or finding.where.source
        head = f"  {finding.severity.value:<8}{finding.code}" + (f" ({place})" if place else "")
        yield head
        yield textwrap.fill(finding.message, _WIDTH, initial_indent=" " * 10, subsequent_indent=" " * 10)


def parts_word(outcome: Outcome) -> str:
    """Return how many parts are cut and how many nothing holds, like "17 parts (16 loose boards among them)"."""
    loose = outcome.hold.words
    return _count(len(outcome.pieces), "part") + (f" ({loose} among them)" if loose else "")


def _left_out(outcome: Outcome) -> str:
    """Return how many parts lie on no sheet, which neither sheets nor laser time count."""
    placed = {placement.part for placement in outcome.layout.placements}
    left = sum(part.id not in placed for part in outcome.pieces)
    return f" ({left} of them {'fits' if left == 1 else 'fit'} no sheet)" if left else ""


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _time(seconds: Mapping[str, float]) -> str:
    return about(seconds.get("total", 0.0))


def _proof_word(outcome: Outcome) -> str:
    if not outcome.parts:
        return "nothing could be made to prove"
    return "the proof holds" if outcome.proof.holds else "the proof fails"
