"""Laser time: what every sheet asks of its laser, and how long that takes with the laser's feeds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from ..beam.feeds import Work
from ..beam.laser import Laser, Operation
from ..beam.lines import Lines
from ..part import Part
from .layout import Layout
from .order import CutLines, sheet_lines

__all__ = ["cutting_seconds", "estimate_seconds", "sheet_seconds", "sheet_work", "total_seconds"]


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
        joined = Lines.joined(each for _, each in paths)
        seconds[operation.value] = cutting_seconds(joined, laser, operation)
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
    return {key: sum(each[key] for each in sheets) for key in keys}


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
            joined = Lines.joined(each for _, each in paths)
            pieces = joined.segments()
            lengths, speed = np.hypot(*(pieces[:, 1] - pieces[:, 0]).T), laser.feeds[operation].speed
            long = lengths[lengths >= speed**2 / laser.acceleration]
            short = _rest_to_rest(lengths[lengths < speed**2 / laser.acceleration], speed, laser.acceleration)
            work[operation] = Work(float(long.sum()), len(long), len(joined), short)
    return work


def cutting_seconds(lines: Lines, laser: Laser, operation: Operation) -> float:
    """Return how long the laser follows these lines with the feed of an operation, s, without hops between them."""
    feed, pieces = laser.feeds[operation], lines.segments()
    cut = _rest_to_rest(np.hypot(*(pieces[:, 1] - pieces[:, 0]).T), feed.speed, laser.acceleration)
    return feed.passes * (cut + feed.pierce * len(lines))


def _rest_to_rest(lengths: np.ndarray, speed: float, acceleration: float) -> float:
    """Return the time for straight runs of these lengths, each from rest to rest, s."""
    reached = lengths >= speed**2 / acceleration
    return float(np.where(reached, lengths / speed + speed / acceleration, 2 * np.sqrt(lengths / acceleration)).sum())
