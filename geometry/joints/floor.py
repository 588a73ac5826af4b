"""The floor: outline of the standing walls with a rim, a slot for every tab, and the engraved squares.

``floor_outline`` draws what the walls cover, ``floor_grid`` the squares, ``floor_pieces`` parts a floor that is too
large.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.polygon import orient
from shapely.ops import unary_union

from ..board.stock import Stock
from ..findings import Finding, Location, Severity, place
from ..part import FaceUp, Panel, Part, PartKind, Tab, frozen
from ..pose import Pose
from ..sentence import PointRef, Sentence
from ..settings import BuildSettings
from ..solid.facets import Facets, ShellKind
from ..tolerance import SNAP
from ..unfold.outline import clean_ring
from ..unfold.section import Foot, Sections, outward
from .floor_grid import grid_lines, grid_origin, lines_on
from .floor_outline import footprint, inside_walls, rim_round, walls_outline
from .floor_pieces import split_floor
from .floor_turn import check_turn
from .floorless import check_floorless
from .joiner import Joiners
from .stretch import Stretch, plan_turn

__all__ = ["Floors", "Room", "lay_floor"]


@dataclass(frozen=True, slots=True, eq=False)
class Room:
    """What lies inside the walls over a floor, in plan, mm. origin: (2,) mm, from where squares count."""

    area: Polygon | MultiPolygon
    origin: np.ndarray


@dataclass(frozen=True, slots=True, eq=False)
class Floors:
    """The floor pieces of a building and its tabs in their slots. rooms: by the id of the floor piece."""

    parts: tuple[Part, ...]
    tabs: tuple[Tab, ...]
    findings: tuple[Finding, ...]
    rooms: Mapping[str, Room] = field(default_factory=dict)


def lay_floor(
    facets: Facets,
    sections: Sections,
    joiners: Joiners,
    settings: BuildSettings,
    *,
    largest: tuple[float, float],
    standing: tuple[float, float] | None = None,
) -> Floors:
    """Lay a floor under all walls that have feet; split it along the squares where it exceeds ``largest``.

    largest: (width, height) in mm of the biggest piece that stock and laser take.
    standing: outer (length, width) in mm of the walls as they were measured once put up, joiners left
    out; slots and outline then lie where the walls do stand, and so do the tabs of the outcome.
    """
    feet = [*sections.feet, *joiners.feet]
    if not settings.ground.wanted:
        return Floors((), (), ())
    parts: list[Part] = []
    tabs: list[Tab] = []
    findings = [*check_floorless(facets, sections, feet, settings), *check_turn(facets, settings)]
    rooms: dict[str, Room] = {}
    boards = {part.id: part for part in (*sections.parts, *joiners.parts)}
    for ground in _grounds(facets, sections, feet, settings):
        walls = ground.walls
        made = [_tab(foot, boards, facets, settings) for foot in ground.feet]
        origin = grid_origin(facets, ground.facets) + settings.ground.strip
        if standing is not None:
            modelled = walls_outline(facets, sections, ground.facets, settings)
            stretch = Stretch.to(modelled, plan_turn(facets), standing)
            walls, made = stretch.shape(walls), [stretch.tab(tab) for tab in made]
            origin = stretch.points(origin[None])[0]
        outline = rim_round(walls, settings.ground.rim)
        slots = [Polygon(tab.slot[:, :2]) for tab in made]
        room = Room(inside_walls(outline, walls), origin)
        grid = _squares(room, settings)
        pieces = split_floor(outline, slots, origin, settings.ground.square, largest)
        for piece in pieces:
            name = f"F{len(parts) + 1}"
            parts.append(_floor_part(name, piece, slots, grid, ground.level, settings.floor))
            rooms[name] = room
            tabs += [replace(tab, floor=name) for tab, slot in zip(made, slots, strict=True) if piece.contains(slot)]
        for tab, slot in zip(made, slots, strict=True):
            if not any(piece.contains(slot) for piece in pieces):
                findings.append(_loose_tab(tab))
    return Floors(tuple(parts), tuple(tabs), tuple(findings), rooms)


def _squares(room: Room, settings: BuildSettings) -> tuple[np.ndarray, ...]:
    """Return the lines of the squares in a room, (2, 2) mm each; none without squares."""
    square, strip = settings.ground.square, settings.ground.strip
    if not square:
        return ()
    # lines along the edge of the squares are lines of the grid too
    area = room.area.buffer(SNAP - strip, join_style="mitre") if strip else room.area
    return grid_lines(area, room.origin, square)


@dataclass(frozen=True, slots=True, eq=False)
class _Ground:
    """What stands on one floor: facets of its shells, their feet, the plan that they cover, and its level, mm."""

    facets: tuple[int, ...]
    feet: tuple[Foot, ...]
    walls: Polygon | MultiPolygon
    level: float

    def meets(self, other: _Ground, rim: float) -> bool:
        """Whether the floors of both would lie on each other."""
        return abs(self.level - other.level) < SNAP and rim_round(self.walls, rim).intersects(
            rim_round(other.walls, rim)
        )

    def __add__(self, other: _Ground) -> _Ground:
        return _Ground(
            self.facets + other.facets, self.feet + other.feet, unary_union([self.walls, other.walls]), self.level
        )


def _grounds(facets: Facets, sections: Sections, feet: Sequence[Foot], settings: BuildSettings) -> list[_Ground]:
    """Return what stands on every floor: shells whose floors would lie on each other share one.

    So do the walls round a courtyard and those round the building, and houses side by side.
    """
    grounds: list[_Ground] = []
    for shell in facets.shells:
        own = tuple(foot for foot in feet if facets.facets[foot.facet].shell == shell.id)
        if shell.kind is ShellKind.ROOF or not own:
            continue
        walls = footprint(facets, sections, shell.facets, settings)
        new = _Ground(shell.facets, own, walls, facets.lowest(shell))
        at = len(grounds)
        while met := [ground for ground in grounds if ground.meets(new, settings.ground.rim)]:
            at = min(at, grounds.index(met[0]))
            for ground in met:
                new = ground + new
                grounds.remove(ground)
        grounds.insert(at, new)
    return grounds


def _tab(foot: Foot, boards: Mapping[str, Part], facets: Facets, settings: BuildSettings) -> Tab:
    """Return a foot as it stands, beside the slot that is cut for it, both in the floor's upper plane.

    The tab is where the part's board puts it; the slot is laid out on the plan, from the wall's
    reference line over the board's thickness, larger by the play.
    """
    ground = settings.ground
    facet = facets.facets[foot.facet]
    frame = facet.frame
    board = boards[foot.part]
    panel = next(panel for panel in board.panels if panel.facet == foot.facet)
    # from the facet into the part frame: the part's own pose, undone, so that a misplaced part shows
    ends = frame.raise_(np.array([[foot.span[0], foot.base], [foot.span[1], foot.base]]))
    flat = panel.stands.back(ends)
    low, high = (0.0, board.thickness) if board.board_side > 0 else (-board.thickness, 0.0)
    corners = np.array([[*flat[0, :2], low], [*flat[1, :2], low], [*flat[1, :2], high], [*flat[0, :2], high]])
    tab = panel.stands.apply(corners)
    play = (settings.slot_play(settings.stocks[board.stock]), ground.play_along)
    across, along = play[0] / 2, play[1] / 2
    # a core may be thicker or thinner than the wall; it lies flush with the wall's room-side face
    inward = outward(facets, facet, settings) < 0
    near, far = 0.0, board.thickness
    if inward:
        near, far = settings.walls.thickness - board.thickness, settings.walls.thickness
    start, end = foot.span
    slot = np.vstack(
        [
            frame.raise_(np.array([[start - along, foot.base], [end + along, foot.base]]), near - across),
            frame.raise_(np.array([[end + along, foot.base], [start - along, foot.base]]), far + across),
        ]
    )
    if inward:
        # parts are seen from outside: their frames start at the face that the slot ends with
        slot = slot[[3, 2, 1, 0]]
    return Tab(foot.part, "", frozen(tab), frozen(slot), play)


def _floor_part(
    name: str, piece: Polygon, slots: list[Polygon], grid: tuple[np.ndarray, ...], level: float, stock: Stock
) -> Part:
    low = np.array(piece.bounds[:2])
    ring = clean_ring(np.array(piece.exterior.coords)[:-1]) - low
    holes = [frozen((np.array(orient(s).exterior.coords)[:-1] - low)[::-1]) for s in slots if piece.contains(s)]
    return Part(
        id=name,
        label=f"Floor {name[1:]}",
        kind=PartKind.FLOOR,
        stock=stock.name,
        thickness=stock.thickness,
        face_up=FaceUp.ROOM,
        board_side=-1,
        outline=Polygon(ring, holes),
        panels=(
            Panel(
                facet=-1,
                faces=(),
                ring=frozen(ring),
                holes=tuple(holes),
                corners=np.zeros((0, 2)),
                corner_points=np.zeros((0, 3)),
                stands=Pose.identity().moved_to((*low, level)),
            ),
        ),
        engrave=tuple(frozen(line - low) for line in lines_on(piece, grid, slots)),
        stage=2,
    )


def _loose_tab(tab: Tab) -> Finding:
    middle = place(tab.tab.mean(axis=0))
    return Finding(
        Severity.ERROR,
        "tab-without-slot",
        Sentence.of(
            f"A tab of {tab.part} ",
            PointRef(middle),
            " meets no slot, since the floor is parted or ends there; move the wall or its break by half a square, or "
            "leave the floor out.",
        ),
        Location(part=tab.part, point=middle),
    )
