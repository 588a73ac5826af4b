"""The fewest sheets that any layout needs, with a reason that the maker can follow.

Area alone promises too much: long walls cannot lie across the sheet, and two of them cannot lie
end to end, so they stack up across its middle like books on a shelf. So three things are counted:
area; what lies across a few lines that part the sheet into equal fields, which long parts cannot help crossing
(one line in the middle for parts longer than half of it); and what lies across all lines together.
The latter two are counted on several scales, see ``scales``, and along both sides of the sheet.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..tolerance import LENGTH
from .crossing import Crossing, cross, without_idle_holes
from .scales import Scale, scales

__all__ = ["fewest_sheets"]

#: So many different outlines are looked at, the largest; the others count by their area only.
_MOST = 60

#: So many lines across a sheet are tried, each number for itself ...
_COUNTS = (1, 2, 3)

#: ... and all lines together, those left out that are nearer to an end of the sheet than this share of it.
_INSETS = (0.0, 0.0125, 0.025, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4)

#: So many places of a part are tried before it is worth while to look at all.
_FEW = 5

#: What goes together on a line is counted among so many kinds of parts, the largest.
_PREFIXES = (1, 2, 3, 4, 5, 6, 8, 12, 20, 60)

#: Gaps up to these shares of the sheet's shorter side may count as filled, see ``cross``.
_GAPS = (0.0, 0.1, 0.2)

#: A reason names so many parts at most.
_NAMED = 8


def fewest_sheets(
    outlines: Mapping[str, Polygon], turns: Mapping[str, Sequence[int]], room: tuple[float, float], spacing: float
) -> tuple[int, str]:
    """Return a number of sheets below which no layout by quarter turns exists, and why.

    outlines: drawn outline per part id, part frame. turns: quarter turns each part may take.
    room: width and height inside the margins, mm. spacing: least distance of two outlines, mm.
    """
    if not outlines:
        return 0, "there is nothing to cut"
    # parts grown by half the spacing may touch, on a sheet that is as much larger
    grown = _grown(outlines, spacing)
    room = (room[0] + spacing, room[1] + spacing)
    best = _by_area(grown, room)
    kinds = _kinds(grown, turns, room)
    if len(grown) > 1 and kinds:
        gaps = [gap * min(room) for gap in _GAPS]
        by_axis = [[cross(kind.area, axis, gaps) for kind in kinds] for axis in (0, 1)]
        for number in range(len(gaps)):
            for along in (0, 1):
                ways = [
                    [by_axis[1 - along if turned else along][k][number] for turned in kind.turned]
                    for k, kind in enumerate(kinds)
                ]
                best = _by_crossing(kinds, ways, room, along, best[0]) or best
    return best


def _grown(outlines: Mapping[str, Polygon], spacing: float) -> dict[str, Polygon]:
    """Return the outlines grown by half the spacing, without holes in which nothing fits."""
    seen: dict[bytes, Polygon] = {}
    for outline in outlines.values():
        if (name := outline.wkb) not in seen:
            # round corners with few points stay within the true ones: no more is claimed than is needed
            seen[name] = shapely.buffer(outline, spacing / 2, quad_segs=2) if spacing > 0 else outline
    sides = shapely.bounds(list(seen.values()))
    boxes = np.sort(sides[:, 2:] - sides[:, :2], axis=1)
    whole = {
        name: shapely.union_all([without_idle_holes(part, boxes) for part in shapely.get_parts(area)])
        for name, area in seen.items()
    }
    return {name: whole[outline.wkb] for name, outline in outlines.items()}


def _by_area(grown: Mapping[str, Polygon], room: tuple[float, float]) -> tuple[int, str]:
    """Bound by area: each part with half the spacing around it, on a sheet with half the spacing added."""
    share = sum(area.area for area in grown.values()) / (room[0] * room[1])
    why = f"the parts with their spacing cover {share:.2f} times the usable area of a sheet"
    return max(1, math.ceil(share - LENGTH)), why


@dataclass(frozen=True, slots=True, eq=False)
class _Kind:
    """Parts of one outline: their names, its area, whether it may lie as drawn, turned by a quarter, or both."""

    names: tuple[str, ...]
    area: Polygon
    turned: tuple[bool, ...]


def _kinds(
    grown: Mapping[str, Polygon], turns: Mapping[str, Sequence[int]], room: tuple[float, float]
) -> tuple[_Kind, ...]:
    """Return the largest outlines, each with the parts that have it; none that fits no sheet."""
    names: dict[tuple[bytes, tuple[bool, ...]], list[str]] = {}
    for name, area in grown.items():
        x0, y0, x1, y1 = area.bounds
        fitting = tuple(
            turned
            for turned in sorted({quarter % 2 == 1 for quarter in turns[name]})
            for side in [((x1 - x0, y1 - y0), (y1 - y0, x1 - x0))[turned]]
            if side[0] <= room[0] + LENGTH and side[1] <= room[1] + LENGTH
        )
        if fitting:
            names.setdefault((area.wkb, fitting), []).append(name)
    kinds = [_Kind(tuple(several), grown[several[0]], turned) for (_, turned), several in names.items()]
    kinds.sort(key=lambda kind: (-kind.area.area, kind.names))
    return tuple(kinds[:_MOST])


@dataclass(frozen=True, slots=True)
class _Lines:
    """Lines across a sheet of some length: all between ``inset`` from either end, or so many, evenly spread.

    count: how many; 0 for all.
    """

    count: int
    inset: float

    def met(self, way: Crossing, length: float, shifts: np.ndarray) -> np.ndarray:
        """Return (shifts, steps): which share of the lines meets each step of a part that begins at each shift."""
        begin, end = (way.stations[:-1] + shifts[:, None], way.stations[1:] + shifts[:, None])
        if self.count:
            gap = length / (self.count + 1)
            before_end, before_begin = (np.clip(np.ceil(at / gap) - 1, 0, self.count) for at in (end, begin))
            return (before_end - before_begin) / self.count
        low, high = self.inset, length - self.inset
        return np.maximum(np.minimum(end, high) - np.maximum(begin, low), 0.0) / (high - low)

    def shifts(self, way: Crossing, length: float) -> np.ndarray:
        """Return shifts of a part among which is one that meets as little as any other."""
        most = max(length - way.length, 0.0)
        ends = np.array([self.inset, length - self.inset])
        if self.count:
            ends = length / (self.count + 1) * np.arange(1, self.count + 1)
        turns = (ends[:, None] - way.stations).ravel()
        turns = np.unique(np.concatenate([[0.0, most], turns[(turns > 0) & (turns < most)]]))
        if not self.count:
            return turns
        # between two turns nothing changes; the turns themselves need not be looked at, since all lines can be
        # shifted by a hair that avoids the ends of steps: but then a part may lie that hair beyond either end
        turns = np.concatenate([[-2 * LENGTH], turns, [most + 2 * LENGTH]])
        return (turns[:-1] + turns[1:]) / 2


def _by_crossing(
    kinds: Sequence[_Kind], ways: Sequence[Sequence[Crossing]], room: tuple[float, float], along: int, fewest: int
) -> tuple[int, str] | None:
    """Return a bound above ``fewest`` by what lies across lines at right angles to one side (0: width, 1: height)."""
    length, height = room[along], room[1 - along]
    several = np.array([len(kind.names) for kind in kinds])
    tried = list(_scales(ways, several, height))
    counted = _counted(tried, ways, height)
    found: tuple[float, str] | None = None
    for lines in [_Lines(0, inset * length) for inset in _INSETS] + [_Lines(count, 0.0) for count in _COUNTS]:
        few = _least(ways, counted, lines, length, exactly=False)
        best = int(np.argmax(few @ several))
        if few[best] @ several <= max(fewest, found[0] if found else 0.0) + LENGTH:
            continue
        one = [[way[best : best + 1] for way in lying] for lying in counted]
        each = _least(ways, one, lines, length, exactly=True)[0]
        total = float(each @ several)
        if total > max(fewest, found[0] if found else 0.0) + LENGTH:
            counting = {n: ways[k] for k, kind in enumerate(kinds) if each[k] > LENGTH for n in kind.names}
            found = total, _reason(counting, total, tried[best][0], lines, height, along)
    return None if found is None else (math.ceil(found[0] - LENGTH), found[1])


def _scales(ways: Sequence[Sequence[Crossing]], several: np.ndarray, height: float) -> Iterator[tuple[Scale, int]]:
    """Yield scales, each with the number of kinds, the largest, that count on it."""
    sizes = [np.concatenate([_in_bulk(way, height) for way in lying]) for lying in ways]
    lengths = [np.concatenate([np.diff(way.stations) for way in lying]) for lying in ways]
    for most in sorted({min(most, len(ways)) for most in _PREFIXES}):
        which = [kind for kind in range(most) for _ in range(several[kind])]
        for scale in scales([sizes[kind] for kind in which], [lengths[kind] for kind in which], height):
            if scale.counted is not None or most == len(ways):
                yield scale, most


def _in_bulk(way: Crossing, height: float) -> np.ndarray:
    """Return what lies across a part, with nothing where a part that is wide for the most part is narrow.

    Its rounded corners would else be counted among the narrow parts; to count less is always allowed.
    """
    return np.where(way.across > height / 2, way.across, 0.0) if _is_wide(way, height) else way.across


def _is_wide(way: Crossing, height: float) -> bool:
    """Tell whether a part takes more than half of a line for most of its length."""
    return bool(np.diff(way.stations)[way.across > height / 2].sum() > way.length / 2)


def _counted(
    tried: Sequence[tuple[Scale, int]], ways: Sequence[Sequence[Crossing]], height: float
) -> list[list[np.ndarray]]:
    """Return (scales, steps) for all ways: what each step of a part counts on each scale."""
    every = np.concatenate([way.across for lying in ways for way in lying])
    bulk = np.concatenate([_in_bulk(way, height) for lying in ways for way in lying])
    kind = np.concatenate([np.full(len(way.across), k) for k, lying in enumerate(ways) for way in lying])
    counted = np.array(
        [np.where(kind < most, scale(every if scale.counted is None else bulk), 0.0) for scale, most in tried]
    )
    ends = iter(np.cumsum([len(way.across) for lying in ways for way in lying]).tolist())
    return [[counted[:, end - len(way.across) : end] for way, end in zip(lying, ends, strict=False)] for lying in ways]


def _least(
    ways: Sequence[Sequence[Crossing]],
    counted: Sequence[Sequence[np.ndarray]],
    lines: _Lines,
    length: float,
    *,
    exactly: bool,
) -> np.ndarray:
    """Return (scales, kinds): what a part of each kind takes of the lines at least, as shares of a sheet's.

    Unless ``exactly`` a few places of each part are tried, so it may be less.
    """
    least = []
    for lying, here in zip(ways, counted, strict=True):
        taken = []
        for way, shape in zip(lying, here, strict=True):
            shifts = lines.shifts(way, length) if exactly else np.linspace(0.0, max(length - way.length, 0.0), _FEW)
            taken.append((shape @ lines.met(way, length, shifts).T).min(axis=1))
        least.append(np.minimum.reduce(taken))
    return np.stack(least, axis=1)


def _reason(
    ways: Mapping[str, Sequence[Crossing]], total: float, scale: Scale, lines: _Lines, across: float, along: int
) -> str:
    """Say in words what was counted. ways: of the parts that count; total: what they take; across: length of a line.

    along: the side of the sheet at right angles to the lines.
    """
    who = _listed(ways)
    line, side = (("upright", "width"), ("level", "height"))[along]
    if lines.count == 1:
        begin = f"{who} are longer than half of a sheet's {side} and cannot help crossing its middle"
    elif lines.count:
        begin = f"{who} are so long that they cross some of the {lines.count} {line} lines that part a sheet evenly"
    else:
        begin = f"{who} lie across {line} lines through a sheet, each over its own length"
        if lines.inset > 0:
            begin += f" (lines less than {lines.inset:.0f} mm from its ends left out)"
    if scale.counted is None:
        rule = "with their spacing they take"
        if scale.least > 0:
            rule = f"where one leaves less than {scale.least:.1f} mm of a line, no other goes beside it, so they take"
        return f"{begin}; {rule} {total:.3f} times what the lines of a sheet have"
    if scale.places == 1 and lines.count == 1:
        return f"{begin}; no two of them fit side by side there, so each needs a sheet of its own"
    if scale.places == 1:
        return f"{begin}; no two of them fit side by side, and they take {total:.3f} times the lines of a sheet"
    narrow = {name: lying for name, lying in ways.items() if not all(_is_wide(way, across) for way in lying)}
    wide = _listed([name for name in ways if name not in narrow])
    beside = f", and for fewer of them beside {wide}" if wide else ""
    return (
        f"{begin}; with spacing a line has room for no more than {scale.places} of {_listed(narrow)}{beside}, "
        f"and together they take {total:.3f} times the room of a sheet"
    )


def _listed(names: Collection[str]) -> str:
    several = sorted(names)
    return ", ".join(several[:_NAMED]) + (f" and {len(several) - _NAMED} more" if len(several) > _NAMED else "")
