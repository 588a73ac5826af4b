"""Ties: two fins under a closure, in the plane that bisects it, held face to face by a ring pushed over both.

At a bent closure the lattices nearby push the boards apart, up and away from each other, so that nothing
which merely reaches from one board under the other would hold them; and a lap bent over a lattice of its
own would push as well. A fin stands square-cut under each board, its face in the bisecting plane, so
that no board needs a bevel; a knee behind it keeps its slant. Both fins end in a tongue that points up
the closure, and a ring of the same board slides over both tongues by hand until it meets their
shoulders, where its weight keeps it.

Under a valley a fin leans over the edge of its board once that lies flat again, and would meet the other fin while
the roof is folded. There both stand back from the bisecting plane, so far that they stay over their own boards, and
the ring is as much wider.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..part import Part, PartKind
from ..pose import Pose
from ..settings import BuildSettings
from .carriers import KNEE, knee, knee_reach, upright_board
from .closing_line import ClosingLine

__all__ = ["is_ring", "is_tie", "make_tie"]

#: Board round the hole of a ring, and least height of a tongue, mm (common practice, no source).
_RIM = 4.0
_TONGUE = 6.0

#: Length of a fin that is glued to its board, mm (common practice, no source).
_GLUED = 14.0

#: What a tongue is longer than its ring is thick, and what a ring stays clear of the boards, mm.
_BEYOND = 2.0
_AIR = 1.0

#: What the fins of a valley stay behind the edges of their flat boards, mm: more than a cut or a slant is off.
_BEHIND = 0.5

#: Legs of a fin's knee where the board is narrow, as between the bends of a round tower, mm: less is too small to
#: hold (common practice, no source).
_LEGS = (KNEE, 7.0, 5.0, 4.0)

#: Least board between a fin's foot and what bounds its panel, mm.
_MARGIN = 4.0


def is_tie(part: Part) -> bool:
    """Return whether a part is a fin, a knee or the ring of a tie."""
    return part.kind is PartKind.LAP and part.id.endswith(("-fin", "-knee", "-ring"))


def is_ring(part: Part) -> bool:
    """Return whether a part is the ring of a tie, which is put on by hand when its closure is shut."""
    return part.kind is PartKind.LAP and part.id.endswith("-ring")


def make_tie(line: ClosingLine, settings: BuildSettings, name: str, *, at: float, air: float = 0.0) -> tuple[Part, ...]:
    """Return two fins, their knees and the ring, with their middle ``at`` mm along the line, or nothing without room.

    Tongues point to the line's upper end. A fin touches the board above with the higher edge of its
    square-cut top, which lies t * tan(angle / 2) below the line at the distance t from the bisecting
    plane; so does the ring, with the air above it, at its own half width. ``air`` makes the boards larger at
    ends and foot, and the ring as long as its way onto the tongues, to try a place.
    """
    stock, play = settings.joiners, settings.ring_play
    thickness = stock.thickness
    slope = math.tan(line.angle / 2)
    up = 1.0 if line.along[2] >= 0.0 else -1.0
    # under a valley, where the fins stand back and the ring is wider, the boards rise from the line
    ring_half = thickness + play / 2 + _RIM
    ring_top = max(0.0, ring_half * slope) + _AIR
    tongue_top = ring_top + _RIM + play / 2
    foot = tongue_top + _TONGUE
    back = _stand_back(line, foot)
    tongue = thickness + _BEYOND
    # the ring comes on from beyond the tongues' ends
    whole = _GLUED + tongue + thickness + _BEYOND
    low = -whole / 2
    shoulder = low + _GLUED
    middle = line.start + line.along * at
    # boards hide all of a tie; only the way of the ring may lie beyond them
    ends = sorted((at + up * (low - air), at + up * (shoulder + tongue)))
    leg = _leg(line, ends, back + thickness, air)
    if leg is None:
        return ()
    parts = []
    fin_top = max(back * slope, (back + thickness) * slope)
    for side, letter in ((0, "a"), (1, "b")):
        away = line.across * (-1.0 if side == 0 else 1.0)
        x = np.cross(-line.down, away)
        ahead = float(np.sign(x @ line.along)) * up
        shape = [
            (low - air, fin_top),
            (shoulder, fin_top),
            (shoulder, tongue_top),
            (shoulder + tongue, tongue_top),
            (shoulder + tongue, foot),
            (low - air, foot + air),
        ]
        outline = Polygon([(ahead * s, -depth) for s, depth in shape])
        stands = Pose.of(x, -line.down, away, middle + away * back)
        off = back / math.cos(line.angle / 2)
        note = (
            f"Glue it on edge under {line.parts[side]}, its face "
            + (f"{off:.1f} mm from" if back else "in line with")
            + " the edge of the board, its tongue toward "
            f"the upper end of the closure and its middle {at:.1f} mm from the end that is left as seen from the room."
        )
        words = f"Tie {name[1:]} fin {letter}"
        parts.append(upright_board(f"{name}{letter}-fin", words, PartKind.LAP, stock, outline, stands, note))
        glued = middle + line.along * up * (low + _GLUED / 2)
        parts.append(
            knee(line, stock, f"{name}{letter}", "fin", side, glued, back + thickness, foot, kind=PartKind.LAP, leg=leg)
        )
    parts.append(_ring(line, settings, name, middle, (up * shoulder, up), (ring_top, foot), back, air))
    if air:
        parts[-1] = replace(parts[-1], thickness=tongue + thickness + _BEYOND + air)
    return tuple(parts)


def _stand_back(line: ClosingLine, foot: float) -> float:
    """Return how far from the bisecting plane fins stand that reach ``foot`` mm below the line, mm.

    From a board that turns up by half the angle a, a fin at the distance s leans back over it: it starts s / cos(a)
    from the edge and is foot + s tan(a) high, of which sin(a) leans. Its tip is over the edge where s = foot tan(a).
    """
    return max(0.0, foot * math.tan(-line.angle / 2) + _BEHIND / math.cos(line.angle / 2)) if line.angle < 0.0 else 0.0


def _leg(line: ClosingLine, ends: Sequence[float], behind: float, air: float) -> float | None:
    """Return the leg of the knees that both boards have room for between two places along the line, mm."""
    for leg in _LEGS:
        reach = knee_reach(line.angle, behind, leg) + air
        if all(panel.contains(shapely.box(ends[0], _MARGIN, ends[1], reach)) for panel in line.panels):
            return leg
    return None


def _ring(
    line: ClosingLine,
    settings: BuildSettings,
    name: str,
    middle: np.ndarray,
    shoulder: tuple[float, float],
    depths: tuple[float, float],
    back: float,
    air: float,
) -> Part:
    """Return the ring against the shoulders of both tongues.

    shoulder: where along the line, and +1 where the tongues point along it; depths: top of the ring, foot of
    the tongues; back: how far from the bisecting plane they stand.
    """
    stock, play = settings.joiners, settings.ring_play
    where, ahead = shoulder
    half, top, bottom = back + stock.thickness + play / 2, depths[0], depths[1] + play / 2
    # a ring tried wider keeps what it is clear of the boards above
    roof = top + max(0.0, air * math.tan(line.angle / 2))
    outer = shapely.box(-half - _RIM - air, -bottom - _RIM - air, half + _RIM + air, -roof)
    hole = shapely.box(-half, -bottom, half, -top - _RIM)
    x, y = line.across, -line.down
    z = np.cross(x, y)
    forward = float(z @ line.along) * ahead > 0.0
    start = where if forward else where + ahead * stock.thickness
    stands = Pose.of(x, y, z, middle + line.along * start)
    outline = outer if air else outer.difference(hole)
    note = (
        f"It stays loose: slid over the tongues of {name}a-fin and {name}b-fin it holds the closure; leave it and both "
        "tongues unpainted."
    )
    return upright_board(f"{name}-ring", f"Tie {name[1:]} ring", PartKind.LAP, stock, outline, stands, note)
