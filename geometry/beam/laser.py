"""The laser as far as files must know it: bed, margins, speeds and the colours of operations."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

__all__ = ["Feed", "Laser", "Operation"]


class Operation(StrEnum):
    """What the laser does along a line, in the order of cutting."""

    FILL = "fill"
    ENGRAVE = "engrave"
    SCORE = "score"
    SLITS = "slits"
    INNER = "inner"
    OUTER = "outer"


@dataclass(frozen=True, slots=True)
class Feed:
    """Speed of one operation: mm/s along the line, s to pierce, number of passes."""

    speed: float
    pierce: float = 0.1
    passes: int = 1


_COLOURS = {
    Operation.FILL: "#457b9d",
    Operation.ENGRAVE: "#8a6d3b",
    Operation.SCORE: "#2a9d8f",
    Operation.SLITS: "#b5179e",
    Operation.INNER: "#e09f3e",
    Operation.OUTER: "#3d405b",
}

# Common practice, no source: a hobby laser in 3 mm board. The cutting feed is chosen so that a wall of
# 24 in with two flex corners takes the 13 minutes makers tell of; to be replaced by measured values.
_FEEDS = {
    Operation.FILL: Feed(100.0, 0.0),
    Operation.ENGRAVE: Feed(60.0, 0.0),
    Operation.SCORE: Feed(30.0, 0.0),
    Operation.SLITS: Feed(6.0),
    Operation.INNER: Feed(6.0),
    Operation.OUTER: Feed(6.0),
}


@dataclass(frozen=True, slots=True)
class Laser:
    """One laser. bed: (width, depth) mm; margin: kept free along the sheet's edge; spacing: between parts;
    0 lets them share a cut.

    travel: mm/s between lines; acceleration: mm/s^2. colours: stroke per operation.
    kerf: what this laser burns, whatever the stock says, mm; None where the stock's own is right.
    holds: uncut spots per outline that keep a part from dropping, each hold_length mm long.
    """

    name: str = "hobby"
    label: str = "hobby laser"
    bed: tuple[float, float] = (600.0, 300.0)
    margin: float = 3.0
    spacing: float = 2.0
    travel: float = 200.0
    acceleration: float = 1000.0
    kerf: float | None = None
    holds: int = 0
    hold_length: float = 0.5
    colours: Mapping[Operation, str] = field(default_factory=lambda: dict(_COLOURS))
    feeds: Mapping[Operation, Feed] = field(default_factory=lambda: dict(_FEEDS))
