"""Tabs of dormers and chimneys, and the slots in the roof that take them, clear of lattices and edges.

Only a wall that stands square to a slope has tabs: at any other angle its slot would have to be cut aslant. So these
are the walls that run down the slope. What finds no room for a tab is glued to the roof or rests on it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.affinity import translate
from shapely.geometry import Polygon

from ..findings import Finding, Location, Severity, place
from ..part import Panel, Part, Tab, frozen
from ..settings import BuildSettings
from ..solid.facets import Edge, Facet, Facets, Shell
from ..tolerance import SNAP
from ..unfold.saddles import saddle_of
from ..unfold.section import Sections
from ..unfold.tabs import tab_outline

__all__ = ["Seated", "seat_upstands"]

#: A wall is square to a slope where its normal lies in it within this, sine: over a board's thickness a tab that
#: leans so much shifts by less than its play.
_SQUARE = 0.01

#: Board that stays between a slot and whatever bounds it, mm (common practice, no source).
_WEB = 3.0

#: Lengths of tabs to try, as shares of the length that is set; shorter ones than _SHORTEST hold nothing.
_SHARES = (1.0, 0.7, 0.5)

#: A shorter tab holds nothing, mm (common practice, no source).
_SHORTEST = 6.0

#: Nobody moves a dormer farther than this for the sake of its tabs, mm.
_FARTHEST = 60

#: Places along a wall's foot are tried at this spacing, mm.
_STEP = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Seated:
    """Sections with the tabs and slots of what stands on roofs, these tabs as they stand, and what has none."""

    sections: Sections
    tabs: tuple[Tab, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Foot:
    """The foot of a wall on a slope: its facet, and where it starts and ends in the facet's plane, (2, 2) mm."""

    facet: Facet
    slope: Facet
    ends: np.ndarray

    @property
    def length(self) -> float:
        return float(np.hypot(*(self.ends[1] - self.ends[0])))

    def place(self, points: np.ndarray) -> np.ndarray:
        """Return points in the facet's plane, (k, 2) mm, given along the foot and up from it."""
        along = (self.ends[1] - self.ends[0]) / self.length
        placed: np.ndarray = self.ends[0] + points @ np.array([along, [-along[1], along[0]]])
        return placed


def seat_upstands(facets: Facets, sections: Sections, settings: BuildSettings) -> Seated:
    """Give dormers and chimneys tabs, and the roof a slot for each, where there is room for both."""
    parts = {part.id: part for part in sections.parts}
    tabs: list[Tab] = []
    for foot in _feet(facets, sections):
        wall, roof = (parts[sections.part_of[facet.id]] for facet in (foot.facet, foot.slope))
        for span in _spans(foot, wall, roof, settings):
            tab = _tab(foot, wall, roof, span, settings)
            grown = _with_tab(wall, foot, span, roof.thickness - settings.ground.tab_short)
            if grown is None:
                continue
            wall, roof = grown, _with_slot(roof, foot.slope, tab.slot)
            parts |= {wall.id: wall, roof.id: roof}
            tabs.append(tab)
    changed = replace(sections, parts=tuple(parts[part.id] for part in sections.parts)) if tabs else sections
    held = {tab.part for tab in tabs}
    on_roofs = [shell for shell in facets.shells if shell.stands_on and not facets.is_porch(shell)]
    without = [s for s in on_roofs if held.isdisjoint(sections.part_of.get(facet, "") for facet in s.facets)]
    found = [_without_tabs(facets, changed, shell, settings) for shell in without]
    return Seated(changed, tuple(tabs), tuple(finding for finding in found if finding is not None))


def _without_tabs(facets: Facets, sections: Sections, shell: Shell, settings: BuildSettings) -> Finding | None:
    """Say that something on a roof has no tabs, and how far to move it for one if that is known."""
    own = [facets.facets[facet] for facet in shell.facets]
    names = [sections.part_of[facet] for facet in shell.facets if facet in sections.part_of]
    if not names:
        return None
    moves = [
        move
        for foot in _feet(facets, sections)
        if foot.facet.id in shell.facets and len(shell.stands_on) == 1
        for move in [_least_move(foot, sections, settings)]
        if move is not None
    ]
    cure = f"move it {moves[0][0]:.0f} mm {moves[0][1]}, or glue it on" if moves else "glue it on"
    word = next(part.label for part in sections.parts if part.id == names[0]).split(",")[0]
    return Finding(
        Severity.NOTE,
        "upstand-without-tabs",
        f"{word} has no tabs, since the roof has no room for a slot under its sides; {cure}",
        Location(
            faces=tuple(face for facet in own for face in facet.faces),
            source=facets.source_of(own[0]),
            point=place(facets.outline_points(shell).mean(axis=0)),
        ),
    )


def _least_move(foot: _Foot, sections: Sections, settings: BuildSettings) -> tuple[float, str] | None:
    """Return the least way, mm and in words, to move a wall on its slope so that its foot finds room for a tab."""
    wall, roof = (
        next(part for part in sections.parts if part.id == sections.part_of[facet.id])
        for facet in (foot.facet, foot.slope)
    )
    panel = _panel(roof, foot.slope)
    length = min(settings.ground.tab_length * _SHARES[-1], foot.length - 2 * _WEB)
    if length < _SHORTEST:
        return None
    free = Polygon(panel.ring, panel.holes).buffer(-_WEB)
    middle = foot.length / 2
    slot = _flat_slot(foot, wall, panel, (middle - length / 2, middle + length / 2), settings)
    x, y = (panel.stands.turn.T @ axis for axis in (foot.slope.frame.u, foot.slope.frame.v))
    ways = {"down the slope": -y, "up the slope": y, "to the right": x, "to the left": -x}
    for far in range(1, _FARTHEST):
        for words, way in ways.items():
            if free.contains(translate(slot, far * float(way[0]), far * float(way[1]))):
                return float(far), words
    return None


def _feet(facets: Facets, sections: Sections) -> Iterator[_Foot]:
    """Yield the feet of walls that stand square to the slope under them."""
    for shell in (shell for shell in facets.shells if not facets.is_porch(shell)):
        for facet in (facets.facets[k] for k in shell.facets if shell.stands_on and k in sections.part_of):
            moved = sections.setbacks.facets[facet.id].rings[0]
            for side, edge in enumerate(facets.edges_of(facet)):
                slope = _square_slope(facets, facet, edge)
                if slope is not None and slope.id in sections.part_of:
                    yield _Foot(facet, slope, moved.sides[side])


def _square_slope(facets: Facets, facet: Facet, edge: Edge) -> Facet | None:
    slope = saddle_of(facets, facet, edge)
    square = slope is not None and abs(float(slope.frame.n @ facet.frame.n)) < _SQUARE
    return slope if square else None


def _spans(foot: _Foot, wall: Part, roof: Part, settings: BuildSettings) -> list[tuple[float, float]]:
    """Return where tabs leave a foot, (from, to) mm along it: one, or two on a long one, each near its wanted place."""
    ground = settings.ground
    panel = _panel(roof, foot.slope)
    free = Polygon(panel.ring, panel.holes).buffer(-_WEB)
    wanted = 2 if foot.length >= 4 * ground.tab_length else 1
    spans: list[tuple[float, float]] = []
    for k in range(wanted):
        aim = foot.length * (2 * k + 1) / (2 * wanted)
        span = next(
            (
                (at - length / 2, at + length / 2)
                for share in _SHARES
                for length in [share * ground.tab_length]
                if length >= _SHORTEST
                for at in _places(length / 2 + _WEB, foot.length - length / 2 - _WEB, aim)
                if all(abs(at - (a + b) / 2) > length / 2 + (b - a) / 2 + _WEB for a, b in spans)
                and free.contains(_flat_slot(foot, wall, panel, (at - length / 2, at + length / 2), settings))
            ),
            None,
        )
        spans += [] if span is None else [span]
    return spans


def _places(low: float, high: float, aim: float) -> Sequence[float]:
    """Return places from ``low`` to ``high``, the one nearest to ``aim`` first."""
    if high < low:
        return ()
    places = np.append(np.arange(low, high, _STEP), high)
    return tuple(sorted((min(max(aim, low), high), *places.tolist()), key=lambda at: abs(at - aim)))


def _play(wall: Part, settings: BuildSettings) -> tuple[float, float]:
    """Return what a slot is larger than its tab, across and along, mm."""
    return settings.slot_play(settings.stocks[wall.stock]), settings.ground.play_along


def _slot(foot: _Foot, wall: Part, span: tuple[float, float], settings: BuildSettings) -> np.ndarray:
    """Return the corners of a slot in the roof's upper face, (4, 3) mm, in the order of those of the tab."""
    across, along = (play / 2 for play in _play(wall, settings))
    near = foot.place(np.array([[span[0] - along, 0.0], [span[1] + along, 0.0]]))
    frame = foot.facet.frame
    return np.vstack([frame.raise_(near, -across), frame.raise_(near[::-1], wall.thickness + across)])


def _flat_slot(foot: _Foot, wall: Part, panel: Panel, span: tuple[float, float], settings: BuildSettings) -> Polygon:
    """Return a slot in the roof's own part frame."""
    return Polygon(panel.stands.back(_slot(foot, wall, span, settings))[:, :2])


def _tab(foot: _Foot, wall: Part, roof: Part, span: tuple[float, float], settings: BuildSettings) -> Tab:
    """Return a tab as its own part stands it up, beside the slot that is laid out on the roof."""
    panel = _panel(wall, foot.facet)
    root = foot.place(np.array([[span[0], 0.0], [span[1], 0.0]]))
    flat = panel.stands.back(foot.facet.frame.raise_(root))
    high = wall.board_side * wall.thickness
    corners = np.array([[*flat[0, :2], 0.0], [*flat[1, :2], 0.0], [*flat[1, :2], high], [*flat[0, :2], high]])
    depth = roof.thickness - settings.ground.tab_short
    return Tab(
        part=wall.id,
        floor=roof.id,
        tab=frozen(panel.stands.apply(corners)),
        slot=frozen(_slot(foot, wall, span, settings)),
        play=_play(wall, settings),
        reach=frozen(-depth * foot.slope.frame.n),
    )


def _with_tab(part: Part, foot: _Foot, span: tuple[float, float], depth: float) -> Part | None:
    """Return a part with a tab on the side of its outline that runs along a foot; None where it has no such side."""
    panel = _panel(part, foot.facet)

    def flat(points: np.ndarray) -> np.ndarray:
        return panel.stands.back(foot.facet.frame.raise_(foot.place(points)))[:, :2]

    ring = np.array(part.outline.exterior.coords)[:-1]
    tab = flat(tab_outline(span, 0.0, depth))
    for k in range(len(ring)):
        start, end = ring[k], ring[(k + 1) % len(ring)]
        way = end - start
        length = float(np.hypot(*way))
        if length < SNAP:
            continue
        along = (tab[[0, -1]] - start) @ way / length
        off = np.abs((tab[[0, -1], 0] - start[0]) * way[1] - (tab[[0, -1], 1] - start[1]) * way[0]) / length
        if off.max() < SNAP and along.min() > SNAP and along.max() < length - SNAP:
            points = tab if along[0] < along[1] else tab[::-1]
            outline = np.vstack([ring[: k + 1], points, ring[k + 1 :]])
            return replace(part, outline=Polygon(outline, part.outline.interiors))
    return None


def _with_slot(part: Part, slope: Facet, slot: np.ndarray) -> Part:
    """Return a roof's part with a slot, (4, 3) mm in the model, in its outline and in the panel of its slope."""
    index = next(k for k, panel in enumerate(part.panels) if panel.facet == slope.id)
    panel = part.panels[index]
    hole = panel.stands.back(slot)[:, :2]
    x, y = hole.T
    clockwise = hole if x @ np.roll(y, -1) - y @ np.roll(x, -1) < 0.0 else hole[::-1]
    cut = replace(panel, holes=(*panel.holes, frozen(clockwise)))
    return replace(
        part,
        outline=Polygon(part.outline.exterior, [*part.outline.interiors, clockwise]),
        panels=(*part.panels[:index], cut, *part.panels[index + 1 :]),
    )


def _panel(part: Part, facet: Facet) -> Panel:
    return next(panel for panel in part.panels if panel.facet == facet.id)
