"""Riders: what is glued to a board and goes with it wherever that is bent or laid: stops, boards of joiners, tiles."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import shapely
from shapely.geometry import Point

from ..joints.glue_places import find_bearers
from ..part import TILES, Joiner, PartKind
from ..pose import Pose
from .bending import undone
from .boards import Boards

__all__ = ["Rider", "riders_of"]


@dataclass(frozen=True, slots=True, eq=False)
class Rider:
    """A part that is glued to a panel of its host: its pose in the part frame of that panel.

    at_once: whether it is shown laid together with all others like it, as the strips of a slope are.
    """

    part: str
    host: str
    panel: int
    pose: Pose
    at_once: bool = False


def riders_of(
    boards: Mapping[str, Boards],
    joiners: Iterable[Joiner],
    strips: Mapping[str, tuple[str, int]] = MappingProxyType({}),
) -> dict[str, Rider]:
    """Return every part that is glued to another for good, and to which panel; an outer cheek bears its joiner.

    strips: the ids of shingle strips, with the roof and the panel that bears each.
    """
    alone = (board.part for name, board in boards.items() if board.part.kind not in TILES and name not in strips)
    bearers = find_bearers(list(alone))
    bearers |= {name: place for name, place in strips.items() if name in boards}
    bearers |= _on_floors(boards)
    for joiner in joiners:
        outer, *others = joiner.cheeks
        bearers |= {name: (outer, 0) for name in (joiner.core, *others) if name in boards and outer in boards}
    return {
        name: Rider(
            name,
            host,
            panel,
            undone(boards[host].part.panels[panel].stands) @ boards[name].stands,
            at_once=name in strips,
        )
        for name, (host, panel) in bearers.items()
    }


def _on_floors(boards: Mapping[str, Boards]) -> dict[str, tuple[str, int]]:
    """Return for every tile the floor that it lies on, and its panel."""
    floors = [(name, board) for name, board in boards.items() if board.part.kind is PartKind.FLOOR]
    found = {}
    for name, board in boards.items():
        if board.part.kind not in TILES:
            continue
        middle = board.stands.apply(shapely.get_coordinates(shapely.point_on_surface(board.part.outline)))
        for floor, made in floors:
            if made.part.outline.intersects(Point(made.stands.back(middle)[0, :2])):
                found[name] = (floor, 0)
                break
    return found
