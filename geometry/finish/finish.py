"""A finish: a pattern with its sizes, and how much of a face its lines burn."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

from ..errors import BadSettingError
from ..part import Way

__all__ = [
    "DARKEST",
    "KINDS",
    "LEAST_HATCH",
    "TRUE_SCALE",
    "Finish",
    "Kind",
    "Pattern",
    "burnt_share",
    "coarsened",
    "finish_of",
    "length_per_area",
]

#: A figure 28 mm high to the eye of a mean man stands for this many times its size (1618 mm / 28 mm, rounded to the
#: 1:60 at which a square of 25.4 mm is five feet).
TRUE_SCALE = 60.0

#: Above this share of burnt surface a face reads as brown and no more as a pattern (common practice, no source).
DARKEST = 0.2

#: What a line at the scale of a figure cannot be finer than: sizes below this are no pattern, mm.
_LEAST_SIZE = 0.5

#: ... and what is larger than any sheet is none either, mm.
_LARGEST_SIZE = 500.0

#: Strokes closer than the finest beam is wide burn the same place twice, mm.
LEAST_HATCH = 0.05


class Pattern(StrEnum):
    """What a finish looks like."""

    UPRIGHT_BOARDS = "upright boards"
    LEVEL_BOARDS = "level boards"
    LAPPED_BOARDS = "lapped boards"
    STRETCHER_BOND = "stretcher bond"
    ENGLISH_BOND = "English bond"
    FLEMISH_BOND = "Flemish bond"
    COURSED_STONE = "coursed stone"
    RUBBLE = "rubble"
    TIMBER_FRAME = "timber frame"
    SLATES = "slates"
    SHINGLES = "shingles"
    PANTILES = "pantiles"
    THATCH = "thatch"
    FLAGSTONES = "flagstones"
    CHEQUER = "chequer"
    BASKET = "basket parquet"
    HERRINGBONE = "herringbone parquet"


@dataclass(frozen=True, slots=True)
class Kind:
    """What is known of a pattern: (length, height) of one unit with its joint, mm.

    real: full size; playable: as a beam can draw it at the scale of the table; frames: whether openings get a frame.
    """

    real: tuple[float, float]
    playable: tuple[float, float]
    frames: bool = True


# Bricks: 215 x 65 of EN 771-1 with joints of 10. Boards: 150 wide, feather edge with a lap of 25. Ashlar: courses of
# 300 and more, at least twice as long. Posts: 200, about every metre. Slates: 500 x 250 at a headlap of 100, so a gauge
# of (500 - 100) / 2, with joints of 5. Shingles: gauge 125. Pantiles: cover 301, gauge 345. Parquet: blocks of
# 230 x 70. Flags: over 150 wide, up to 900 long (EN 1341). Thatch and what is playable: common practice, no source.
KINDS: Mapping[Pattern, Kind] = {
    Pattern.UPRIGHT_BOARDS: Kind((3600.0, 150.0), (60.0, 4.0)),
    Pattern.LEVEL_BOARDS: Kind((3000.0, 150.0), (60.0, 3.5)),
    Pattern.LAPPED_BOARDS: Kind((3000.0, 125.0), (60.0, 3.5)),
    Pattern.STRETCHER_BOND: Kind((225.0, 75.0), (6.0, 2.5)),
    Pattern.ENGLISH_BOND: Kind((225.0, 75.0), (6.0, 2.5)),
    Pattern.FLEMISH_BOND: Kind((225.0, 75.0), (6.0, 2.5)),
    Pattern.COURSED_STONE: Kind((600.0, 300.0), (10.0, 5.0)),
    Pattern.RUBBLE: Kind((450.0, 225.0), (7.5, 3.75)),
    Pattern.TIMBER_FRAME: Kind((1000.0, 200.0), (18.0, 3.4)),
    Pattern.SLATES: Kind((255.0, 200.0), (4.5, 3.3), frames=False),
    Pattern.SHINGLES: Kind((200.0, 125.0), (4.0, 2.8), frames=False),
    Pattern.PANTILES: Kind((301.0, 345.0), (5.0, 5.8), frames=False),
    Pattern.THATCH: Kind((150.0, 420.0), (2.6, 8.0), frames=False),
    Pattern.FLAGSTONES: Kind((750.0, 500.0), (12.7, 8.5), frames=False),
    Pattern.CHEQUER: Kind((300.0, 300.0), (12.7, 12.7), frames=False),
    Pattern.BASKET: Kind((230.0, 70.0), (8.4, 2.8), frames=False),
    Pattern.HERRINGBONE: Kind((230.0, 70.0), (9.0, 3.0), frames=False),
}


@dataclass(frozen=True, slots=True)
class Finish:
    """A pattern as one maker wants it.

    length, height: of one unit with its joint, mm: along and up (boards: between butts, and width; timber: between
    posts, and width of a post). seed: another one gives other stones. way: what the laser does along the lines; with
    FILL they are engraved, and dark units are hatched besides. hatch: between strokes of the hatching, mm.
    edge: what lines keep from edges, openings and slits, mm. frames: whether openings get a frame or soldiers.
    over_bends: whether level lines cross lattices instead of stopping there.
    """

    pattern: Pattern
    length: float
    height: float
    seed: int = 0
    way: Way = Way.ENGRAVE
    edge: float = 1.0
    frames: bool = True
    over_bends: bool = False
    hatch: float = 0.3

    def __post_init__(self) -> None:
        for name, size in (("long", self.length), ("high", self.height)):
            if not (math.isfinite(size) and _LEAST_SIZE <= size <= _LARGEST_SIZE):
                raise BadSettingError(
                    f"Units of {self.pattern} cannot be {size:g} mm {name}; from {_LEAST_SIZE:g} to "
                    f"{_LARGEST_SIZE:g} mm can be drawn."
                )
        if not (math.isfinite(self.edge) and self.edge >= 0.0):
            raise BadSettingError(f"Lines of {self.pattern} cannot keep {self.edge:g} mm from edges; take 0 or more.")
        if not (math.isfinite(self.hatch) and self.hatch >= LEAST_HATCH):
            raise BadSettingError(
                f"Hatching of {self.pattern} cannot be {self.hatch:g} mm apart; take {LEAST_HATCH:g} mm or more."
            )


def finish_of(pattern: Pattern, *, true_to_scale: bool = False, size: float = 1.0, seed: int = 0) -> Finish:
    """Return a pattern with the sizes of the catalogue, times ``size``.

    true_to_scale: as large as the figures; else as it can be drawn.

    >>> finish_of(Pattern.STRETCHER_BOND).length, finish_of(Pattern.STRETCHER_BOND, true_to_scale=True).length
    (6.0, 3.75)
    """
    kind = KINDS[pattern]
    length, height = (side / TRUE_SCALE for side in kind.real) if true_to_scale else kind.playable
    return Finish(pattern, length * size, height * size, seed=seed, frames=kind.frames)


def length_per_area(finish: Finish) -> float:
    """Return how long the lines of a finish are on one mm^2 of a large face, 1/mm.

    Every joint is drawn once. Of a timber frame it is an estimate: two lines for a post, a stud and a rail a bay.
    """
    along, up = finish.length, finish.height
    match finish.pattern:
        case Pattern.UPRIGHT_BOARDS:
            return 1.0 / up
        case Pattern.LAPPED_BOARDS:
            return 2.0 / up + 1.0 / along
        case Pattern.ENGLISH_BOND:
            return 1.0 / up + 1.5 / along
        case Pattern.FLEMISH_BOND:
            return 1.0 / up + 4.0 / (3.0 * along)
        case Pattern.PANTILES:
            return 1.0 / along + _SCALLOP / up
        case Pattern.THATCH:
            return 1.0 / along
        case Pattern.BASKET | Pattern.HERRINGBONE:
            blocks = max(round(along / up), 2)
            return (blocks + 1.0) / (blocks * up)
        case Pattern.TIMBER_FRAME:
            return 5.0 / along
        case _:
            return 1.0 / up + 1.0 / along


#: Length of an arc over its chord, for a sagitta of a sixth of the chord: r = 5/6, half angle asin(3/5).
_SCALLOP = 2.0 * (5.0 / 6.0) * math.asin(0.6)


def burnt_share(finish: Finish, line: float) -> float:
    """Return which share of a face a finish burns with lines so wide, mm."""
    return line * length_per_area(finish)


def coarsened(finish: Finish, line: float) -> Finish:
    """Return the finish with both sizes so much larger that lines so wide, mm, leave most of the face light.

    >>> brick = finish_of(Pattern.STRETCHER_BOND, true_to_scale=True)
    >>> round(coarsened(brick, 0.3).height, 2)
    2.0
    """
    factor = max(burnt_share(finish, line) / DARKEST, 1.0)
    return replace(finish, length=finish.length * factor, height=finish.height * factor)
