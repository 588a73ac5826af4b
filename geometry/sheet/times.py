"""Laser time: what sheets and hinges ask of their laser, how long that takes, and notes of how long it took.

``compare_cuts`` sets the narrowest hinge of single lines beside the narrowest of slots: slots save room, since
they let links turn further before they touch, but the laser goes all round each of them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..beam.feeds import TimedJob, Work, expected_seconds
from ..beam.kerf import draw_part, draw_slits
from ..beam.laser import Laser, Operation
from ..beam.lines import Lines
from ..beam.time_log import TimeNote
from ..board.hinge import HingeSolution, solve_hinge
from ..board.slits import lay_out_slits
from ..board.stock import Stock
from ..board.wishes import Cut, HingeWishes
from ..errors import BadSettingError
from ..part import Part, PartKind, PlacedLattice
from .layout import Layout
from .order import CutLines, sheet_lines

__all__ = [
    "WayOfCutting",
    "compare_cuts",
    "dress_seconds",
    "estimate_seconds",
    "expected_sheets",
    "finish_seconds",
    "job_of",
    "note_sheet",
    "part_seconds",
    "sheet_seconds",
    "sheet_work",
    "total_seconds",
    "trim_seconds",
]


def sheet_seconds(
    layout: Layout, index: int, parts: Mapping[str, Part], lines: CutLines | None = None
) -> dict[str, float]:
    """Return the estimated laser time of one sheet in seconds: per operation, "travel" and "total".

    Each straight piece runs from rest to rest: L / v + v / a, or 2 sqrt(L / a) where the speed is not
    reached; each line is pierced once per pass. Loading sheets and setting up are not in it.
    lines: of the sheet, where they are known already.
    """
    laser = layout.sheets[index].laser
    lines = sheet_lines(layout, index, parts) if lines is None else lines
    seconds = dict.fromkeys([*(operation.value for operation in Operation), "travel"], 0.0)
    head = np.zeros((1, 2))
    for operation, paths in lines.items():
        if not paths:
            continue
        joined = Lines.joined(lines for _, lines in paths)
        seconds[operation.value] = _cutting(joined, laser, operation)
        hops = joined.begins - np.concatenate([head, joined.ends[:-1]])
        seconds["travel"] += _rest_to_rest(np.hypot(*hops.T), laser.travel, laser.acceleration)
        head = joined.ends[-1:]
    seconds["total"] = sum(seconds.values())
    return seconds


def estimate_seconds(
    layout: Layout, parts: Mapping[str, Part], lines: Sequence[CutLines] | None = None
) -> tuple[dict[str, float], ...]:
    """Return ``sheet_seconds`` of all sheets, in their order. lines: of every sheet, where they are known already."""
    return tuple(
        sheet_seconds(layout, index, parts, None if lines is None else lines[index])
        for index in range(len(layout.sheets))
    )


def total_seconds(sheets: tuple[Mapping[str, float], ...]) -> dict[str, float]:
    """Return the sums over all sheets, with the same keys as one sheet has."""
    keys = [*(operation.value for operation in Operation), "travel", "total"]
    return {key: sum(sheet[key] for sheet in sheets) for key in keys}


def part_seconds(part: Part, stock: Stock, laser: Laser) -> float:
    """Return the laser time of one part by itself, without its name, moves, and what neighbours share, s."""
    drawn = draw_part(part, stock.kerf)
    cuts = ((drawn.outer, Operation.OUTER), (drawn.inner, Operation.INNER))
    return sum(
        _cutting(lines, laser, operation)
        for lines, operation in (*cuts, *((slits, Operation.SLITS) for slits in drawn.slits))
    )


def sheet_work(
    layout: Layout, index: int, parts: Mapping[str, Part], lines: CutLines | None = None
) -> dict[Operation, Work]:
    """Return what a sheet asks of its laser, per operation with anything to do: what times are fitted to.

    lines: of the sheet, where they are known already.
    """
    work = {}
    laser = layout.sheets[index].laser
    lines = sheet_lines(layout, index, parts) if lines is None else lines
    for operation, paths in lines.items():
        if paths:
            joined = Lines.joined(lines for _, lines in paths)
            pieces = joined.segments()
            lengths, speed = np.hypot(*(pieces[:, 1] - pieces[:, 0]).T), laser.feeds[operation].speed
            long = lengths[lengths >= speed**2 / laser.acceleration]
            short = _rest_to_rest(lengths[lengths < speed**2 / laser.acceleration], speed, laser.acceleration)
            work[operation] = Work(float(long.sum()), len(long), len(joined), short)
    return work


def _cutting(lines: Lines, laser: Laser, operation: Operation) -> float:
    feed, pieces = laser.feeds[operation], lines.segments()
    cut = _rest_to_rest(np.hypot(*(pieces[:, 1] - pieces[:, 0]).T), feed.speed, laser.acceleration)
    return feed.passes * (cut + feed.pierce * len(lines))


def finish_seconds(layout: Layout, parts: Iterable[Part]) -> dict[str, float]:
    """Return the laser time of every finish by its name, with the hops from line to line, s.

    That is what the job takes longer for it, but for the hops from part to part.
    """
    lasers = {placement.part: layout.sheets[placement.sheet].laser for placement in layout.placements}
    seconds: dict[str, float] = {}
    for part in parts:
        for dressing in part.dressings:
            if part.id not in lasers:
                continue
            laser, lines = lasers[part.id], Lines.of(dressing.lines)
            hops = np.hypot(*(lines.begins[1:] - lines.ends[:-1]).T)
            own = _cutting(lines, laser, Operation(dressing.way.value))
            own += _rest_to_rest(hops, laser.travel, laser.acceleration)
            seconds[dressing.finish] = seconds.get(dressing.finish, 0.0) + own
    return dict(sorted(seconds.items()))


def job_of(layout: Layout, index: int, parts: Mapping[str, Part], seconds: float) -> TimedJob:
    """Return a sheet with the time that it took. Raises BadSettingError where its travel alone takes as long."""
    lines = sheet_lines(layout, index, parts)
    besides = sheet_seconds(layout, index, parts, lines)["travel"]
    if not (math.isfinite(seconds) and seconds > besides):
        raise BadSettingError(
            f"{layout.sheets[index].file} cannot have taken {max(seconds, 0.0):.0f} s: "
            f"the way between the lines alone takes {besides:.0f} s. Note the time from start to end."
        )
    return TimedJob(sheet_work(layout, index, parts, lines), float(seconds), besides)


def note_sheet(
    layout: Layout, index: int, parts: Mapping[str, Part], seconds: float, *, date: str, title: str = ""
) -> TimeNote:
    """Return the note of a sheet that took so long. Raises BadSettingError for a time that cannot be."""
    sheet, job = layout.sheets[index], job_of(layout, index, parts, seconds)
    feeds = {operation: sheet.laser.feeds[operation] for operation in job.work}
    return TimeNote(
        date, sheet.laser.name, sheet.stock.name, sheet.file, job.seconds, job.besides, job.work, feeds, title
    )


def expected_sheets(layout: Layout, parts: Mapping[str, Part], laser: Laser, stock: str) -> float:
    """Return how long the sheets of one stock on a laser of this name take with its feeds, s; 0 without any."""
    total = 0.0
    for index, sheet in enumerate(layout.sheets):
        if (sheet.laser.name, sheet.stock.name) == (laser.name, stock):
            lines = sheet_lines(layout, index, parts)
            travel = sheet_seconds(layout, index, parts, lines)["travel"]
            total += expected_seconds(TimedJob(sheet_work(layout, index, parts, lines), 0.0, travel), laser)
    return total


@dataclass(frozen=True, slots=True)
class WayOfCutting:
    """One way of cutting slits for a bend. seconds: of the laser for all its slits, without hops between them."""

    cut: Cut
    solution: HingeSolution
    seconds: float


def compare_cuts(
    placed: PlacedLattice, stock: Stock, laser: Laser, fixed: HingeWishes
) -> tuple[WayOfCutting, WayOfCutting]:
    """Return the narrowest hinge of single lines and the narrowest of slots for a bend, in that order.

    fixed: other wishes; its ``cut``, ``opening``, ``inside_radius`` and ``zone_width`` are not looked at, since
    they are what the two differ in. Raises as ``solve_hinge`` does.
    """
    bend, ways = placed.lattice, []
    for cut in (Cut.LINE, Cut.SLOT):
        wishes = replace(fixed, cut=cut, opening=None, inside_radius=None, zone_width=None)
        found = solve_hinge(stock, angle=bend.angle, axis_length=bend.axis_length, fixed=wishes)
        made = replace(placed, lattice=found.lattice, slits=lay_out_slits(found.lattice))
        slits, _ = draw_slits(made, stock.kerf)
        ways.append(WayOfCutting(cut, found, _cutting(slits, laser, Operation.SLITS)))
    return ways[0], ways[1]


def dress_seconds(layout: Layout, parts: Sequence[Part]) -> dict[str, float]:
    """Return the laser time of every finish and of the trim, s: what the job would be shorter without them."""
    trim = trim_seconds(layout, parts)
    return finish_seconds(layout, parts) | ({"trim": trim} if trim else {})


def trim_seconds(layout: Layout, parts: Iterable[Part]) -> float:
    """Return the laser time of all trim, cut and engraved, s, without the hops from part to part."""
    sheets = {placement.part: layout.sheets[placement.sheet] for placement in layout.placements}
    total = 0.0
    for part in parts:
        if part.kind is not PartKind.TRIM or part.id not in sheets:
            continue
        sheet = sheets[part.id]
        total += part_seconds(part, sheet.stock, sheet.laser)
        if part.engrave:
            total += _cutting(Lines.of(list(part.engrave)), sheet.laser, Operation.ENGRAVE)
    return total


def _rest_to_rest(lengths: np.ndarray, speed: float, acceleration: float) -> float:
    """Return the time for straight runs of these lengths, each from rest to rest, s."""
    reached = lengths >= speed**2 / acceleration
    return float(np.where(reached, lengths / speed + speed / acceleration, 2 * np.sqrt(lengths / acceleration)).sum())
