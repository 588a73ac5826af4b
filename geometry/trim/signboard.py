"""Signboards: the maker's boards with letters, glued flat on a wall or hung square to it by a tab in a slot.

Letters come as strokes, since the host knows their font. One that hangs is pushed into its slot at the table and pulled
out again before the walls are folded, so that nothing of the flat stack stands out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry import Polygon, box
from shapely.geometry.polygon import orient

from ..board.stock import Stock
from ..findings import Finding, Location, Severity
from ..finish.dress import Board, boards_of, covered_stretches
from ..finish.fillings import without_lines
from ..finish.runs import Run, find_runs
from ..joints.taken import Taken
from ..part import FaceUp, Joiner, Part, PartKind, frozen, plain_panel
from ..pose import Pose
from ..settings import BuildSettings
from ..solid.facets import Facets
from ..unfold.section import Sections, outward
from .room import into_part

__all__ = ["Hung", "HungSign", "Signboard", "flat_signs", "hang_signs", "letters_on", "off_walls", "wall_behind"]

#: A sign belongs to the wall whose plane is no farther than this from its middle, mm: half a common square.
_NEAR = 12.7

#: The line round the letters lies so far inside the edge, mm (common practice, no source).
_BORDER = 1.5

#: The tab of a sign that hangs is as long as this where there is room, and no shorter than that, mm; the sign reaches
#: beyond it by a shoulder at both ends, mm (common practice, no source).
_TAB, _SHORTEST, _SHOULDER = 15.0, 6.0, 3.0

#: Board that stays between a slot and whatever ends its wall, mm (common practice, no source).
_WEB = 3.0

#: Lines of finishes stop so far beside a slot, mm: what edges of walls keep.
_CLEAR = 1.0

Line = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Signboard:
    """One signboard as the maker wants it. name: of the host's object; centre: (x, y, z) mm, in the model.

    width, height: mm. strokes: letters as lines of (x, y) mm about its middle, x to the right of one who reads it.
    border: whether a line runs round them. hangs: square to the wall, in a slot, instead of flat on it.
    """

    name: str
    centre: tuple[float, float, float]
    width: float
    height: float
    strokes: tuple[Line, ...] = ()
    border: bool = True
    hangs: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class HungSign:
    """A sign that hangs: its part, the wall section with its slot, and what the slot is wider and longer, mm."""

    part: Part
    wall: str
    play: tuple[float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Hung:
    """The parts, walls with slots, and the signs that hang in them; what found no room."""

    parts: tuple[Part, ...]
    signs: tuple[HungSign, ...] = ()
    findings: tuple[Finding, ...] = ()


def letters_on(sign: Signboard) -> tuple[np.ndarray, ...]:
    """Return the lines of a sign about its middle, (k, 2) mm each: letters, and the line round them."""
    lines = [np.array(stroke, dtype=float) for stroke in sign.strokes]
    if sign.border:
        x, y = sign.width / 2 - _BORDER, sign.height / 2 - _BORDER
        lines.append(np.array([(-x, -y), (x, -y), (x, y), (-x, y), (-x, -y)]))
    return tuple(lines)


def wall_behind(sign: Signboard, runs: Sequence[Run], boards: Sequence[Board]) -> int | None:
    """Return the run that a sign is nearest to among those whose boards lie behind its middle; None off all walls."""
    centre = np.array([sign.centre])
    found = []
    for k, run in enumerate(runs):
        away = abs(float((centre[0] - run.frame.origin) @ run.frame.n))
        if not run.upright or away > _NEAR:
            continue
        spot = shapely.points(run.flatten(centre)[0])
        if any(Polygon(board.shape.exterior).contains(spot) for board in boards if board.run == k):
            found.append((away, k))
    return min(found)[1] if found else None


def off_walls(sign: Signboard) -> Finding:
    """Say that a sign is at no wall."""
    message = f"Signboard '{sign.name}' is left out: no wall lies within {_NEAR:g} mm of it; move it onto one."
    return Finding(Severity.NOTE, "trim-without-room", message, Location(source=sign.name, point=sign.centre))


def hang_signs(
    facets: Facets,
    sections: Sections,
    joiners: Sequence[Joiner],
    parts: Sequence[Part],
    signs: Sequence[Signboard],
    settings: BuildSettings,
) -> Hung:
    """Return the walls with slots for the signs that hang square to them, and these signs as parts of their own."""
    stock = settings.trim.stock
    wanted = [sign for sign in signs if sign.hangs]
    if stock is None or not wanted:
        return Hung(tuple(parts))
    runs = find_runs(facets, sections.setbacks)
    boards = [board for board in boards_of(parts, joiners, runs) if parts[board.part].kind is PartKind.WALL]
    covered = covered_stretches(joiners, runs)
    taken = Taken(parts, settings)
    cut, made, findings = list(parts), [], []
    for number, sign in enumerate(wanted, start=1):
        k = wall_behind(sign, runs, boards)
        if k is None:
            findings.append(off_walls(sign))
            continue
        play = (settings.slot_play(stock), settings.ground.play_along)
        slot = _slot(sign, runs[k], stock, play)
        board = next((b for b in boards if b.run == k and _holds(b, cut[b.part], runs[k], slot)), None)
        beside = any(slot.bounds[0] < high + _WEB and slot.bounds[2] > low - _WEB for low, high in covered.get(k, ()))
        if sign.height < _SHORTEST + 2 * _SHOULDER or board is None or beside:
            findings.append(_no_slot(sign))
            continue
        wall = cut[board.part]
        side = outward(facets, facets.facets[board.panel.facet], settings)
        part = _part(f"SH{number}", sign, runs[k], side, wall, stock)
        free = replace(part, outline=_plate(sign), panels=(plain_panel(_plate(sign), part.panels[0].stands),))
        if not taken.is_free((free,)):
            findings.append(_no_slot(sign))
            continue
        taken.take((free,))
        cut[board.part] = _slotted(wall, board, runs[k], slot)
        made.append(HungSign(part, wall.id, play))
    return Hung(tuple(cut), tuple(made), tuple(findings))


def _tab(sign: Signboard) -> float:
    return min(_TAB, sign.height - 2 * _SHOULDER)


def _slot(sign: Signboard, run: Run, stock: Stock, play: tuple[float, float]) -> Polygon:
    """Return the slot of a sign in the coordinates of its run."""
    x, y = run.flatten(np.array([sign.centre]))[0].tolist()
    half, high = (stock.thickness + play[0]) / 2, (_tab(sign) + play[1]) / 2
    return box(x - half, y - high, x + half, y + high)


def _holds(board: Board, part: Part, run: Run, slot: Polygon) -> bool:
    """Whether a wall's board has room for a slot, off its edges, openings, slots and lattices."""
    if not board.shape.contains(slot.buffer(_WEB, join_style="mitre")):
        return False
    flat = into_part(slot, board, run)
    holes = [Polygon(hole) for hole in part.outline.interiors]
    zones = [Polygon(placed.zone) for placed in part.lattices]
    return all(flat.distance(other) >= _WEB for other in (*holes, *zones))


def _slotted(wall: Part, board: Board, run: Run, slot: Polygon) -> Part:
    """Return a wall with a slot through it, in its outline and in its panel."""
    flat = orient(into_part(slot, board, run))
    ring = frozen(np.asarray(flat.exterior.coords)[:-1])
    # boards are read before any slot is cut, so that their panels are found again by their facet
    panels = tuple(
        replace(panel, holes=(*panel.holes, ring)) if panel.facet == board.panel.facet else panel
        for panel in wall.panels
    )
    bare = without_lines(wall, flat.buffer(_CLEAR, join_style="mitre"))
    return replace(bare, outline=orient(wall.outline.difference(flat)), panels=panels)


def _plate(sign: Signboard) -> Polygon:
    """Return a sign that hangs, without its tab: x away from the wall, y up about its middle."""
    return box(0.0, -sign.height / 2, sign.width, sign.height / 2)


def _part(name: str, sign: Signboard, run: Run, side: int, wall: Part, stock: Stock) -> Part:
    """Return a sign that hangs as it is cut and as it stands, its tab through the wall."""
    deep, high = wall.thickness, _tab(sign) / 2
    outline = orient(shapely.union_all([_plate(sign), box(-deep, -high, 0.0, high)]))
    out, up = side * run.frame.n, run.frame.v
    across = np.cross(out, up)
    face = run.raise_(run.flatten(np.array([sign.centre])))[0]
    face = face + (run.frame.n * wall.thickness if side > 0 else 0.0)
    stands = Pose.of(out, up, across, face - across * stock.thickness / 2)
    middle = np.array([sign.width / 2, 0.0])
    return Part(
        id=name,
        label=f"Signboard, {sign.name}",
        kind=PartKind.SIGN,
        stock=stock.name,
        thickness=stock.thickness,
        face_up=FaceUp.OUTSIDE,
        board_side=1,
        outline=outline,
        panels=(plain_panel(outline, stands),),
        engrave=tuple(frozen(line + middle) for line in letters_on(sign)),
        stage=3,
    )


def _no_slot(sign: Signboard) -> Finding:
    message = (
        f"Signboard '{sign.name}' finds no room to hang: its slot wants {_WEB:g} mm of wall all round, and the sign "
        f"{_SHORTEST + 2 * _SHOULDER:g} mm of height; move it, or lay it flat."
    )
    return Finding(Severity.NOTE, "trim-without-room", message, Location(source=sign.name, point=sign.centre))


def flat_signs(
    signs: Sequence[Signboard], run: Run, side: int
) -> Iterator[tuple[Signboard, Polygon, tuple[np.ndarray, ...]]]:
    """Yield the signs that lie flat with their outline and their lines in the coordinates of a run."""
    for sign in signs:
        x, y = run.flatten(np.array([sign.centre]))[0].tolist()
        shape = box(x - sign.width / 2, y - sign.height / 2, x + sign.width / 2, y + sign.height / 2)
        yield sign, shape, tuple(line * [side, 1.0] + [x, y] for line in letters_on(sign))
