"""Riders: what is glued to a board and goes with it wherever that is bent or laid, stops and the boards of joiners."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ..joints.glue_places import find_bearers
from ..part import Joiner
from ..pose import Pose
from .bending import undone
from .boards import Boards

__all__ = ["Rider", "riders_of"]


@dataclass(frozen=True, slots=True, eq=False)
class Rider:
    """A part that is glued to a panel of its host: its pose in the part frame of that panel."""

    part: str
    host: str
    panel: int
    pose: Pose


def riders_of(boards: Mapping[str, Boards], joiners: Iterable[Joiner]) -> dict[str, Rider]:
    """Return every part that is glued to another for good, and to which panel; an outer cheek bears its joiner."""
    bearers = find_bearers([each.part for each in boards.values()])
    for joiner in joiners:
        outer, *others = joiner.cheeks
        bearers |= {name: (outer, 0) for name in (joiner.core, *others) if name in boards and outer in boards}
    return {
        name: Rider(name, host, panel, undone(boards[host].part.panels[panel].stands) @ boards[name].stands)
        for name, (host, panel) in bearers.items()
    }
