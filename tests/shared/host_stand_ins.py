"""What the host hands to panels and operators, as plain values: for tests that draw and click without a window."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Event:
    """What an operator is told of keys and pointer; the place in px."""

    type: str
    value: str = "NOTHING"
    ctrl: bool = False
    mouse_x: float = 0.0
    mouse_y: float = 0.0


@dataclass(frozen=True)
class Region:
    """A part of an area, px."""

    width: int
    height: int = 0
    type: str = "WINDOW"


@dataclass(frozen=True)
class System:
    ui_scale: float = 1.0


@dataclass(frozen=True)
class Preferences:
    system: System = System()


@dataclass(frozen=True)
class Area:
    """A 3D view of the window: its regions and what it shows."""

    regions: Sequence[Region]
    space: Any
    type: str = "VIEW_3D"

    @property
    def spaces(self) -> Spaces:
        return Spaces(self.space)


@dataclass(frozen=True)
class Spaces:
    active: Any


@dataclass(frozen=True)
class Context:
    """As much of the host's context as a test gives; what it does not give is None, as in a host without a window."""

    region: Region | None = None
    preferences: Any = Preferences()
    area: Area | None = None
    window: Any = None
    window_manager: Any = None
    workspace: Any = None
    scene: Any = None
    object: Any = None
    view_layer: Any = None
    region_data: Any = None
    space_data: Any = None


@dataclass
class Drawn:
    """A panel, menu or dialog that is being drawn into a layout. anyway: the box of the export's dialog."""

    layout: Any
    anyway: bool = False
    settings_layout: Callable[[], Any] | None = None


class Button:
    """What the host returns for a button: takes the values that the panel sets for the operator behind it."""
