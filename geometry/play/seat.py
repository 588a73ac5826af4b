"""Seats: places round the table, with the eye and the shoulder of whoever sits there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

__all__ = ["Seat", "Table"]


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """The table in the model's frame.

    centre: (3,) mm, middle of its top. turn: of its long side against x, radians. size: (length, depth)
    mm of its top. height: of the top above the floor of the room in which people sit, mm.
    """

    centre: np.ndarray
    turn: float = 0.0
    size: tuple[float, float] = (1828.8, 1219.2)
    height: float = 740.0


@dataclass(frozen=True, slots=True, eq=False)
class Seat:
    """One player's place.

    name: unique. edge: (3,) mm, the point of the table's edge before the player, at the height of the
    top. toward: (3,) unit, level, from the player into the table. chair: height of the seat above the
    room's floor, mm. stature: name of the stature class (see ``stature.py``). lean: of the trunk,
    radians; slump: what sitting relaxed takes off the sitting height, mm.
    """

    name: str
    edge: np.ndarray
    toward: np.ndarray
    chair: float = 450.0
    stature: str = "median"
    lean: float = 0.0
    slump: float = 40.0
