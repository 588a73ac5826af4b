"""Seated: the eyes that look from all seats, and the hands that come from them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from .clearance import Clearance
from .hand import HandMap, Probe, map_hands, probes_of
from .sight import Eye
from .stature import Stature, find_stature
from .table import eye_of, shoulder_of
from .table_top import Seat, Table, TableTop

__all__ = ["eyes_at", "hands_at", "map_seated_hands"]


def eyes_at(top: TableTop, statures: Sequence[Stature]) -> tuple[Eye, ...]:
    """Return the eye of who sees from every seat; raise BadSettingError for an unknown stature."""
    return tuple(Eye(seat.name, eye_of(seat, top.table, statures)) for seat in top.seats)


def hands_at(seats: Sequence[Seat], statures: Sequence[Stature]) -> tuple[tuple[Probe, ...], ...]:
    """Return the hand of who sits at every seat, with a short and a long pinch."""
    return tuple(probes_of(find_stature(seat.stature, statures)) for seat in seats)


def map_seated_hands(clearance: Clearance, seats: Sequence[Seat], table: Table, statures: Sequence[Stature]) -> HandMap:
    """Find for every seat the best way of its own hand to every square.

    clearance: measured for the hands of all seats. The probes of the map are those of the first seat. Raises
    BadSettingError for an unknown stature; there must be a seat.
    """
    maps = [
        map_hands(clearance, probes, shoulder_of(seat, table, statures))
        for seat, probes in zip(seats, hands_at(seats, statures), strict=True)
    ]
    margin, azimuth, elevation, blocked_by = (
        np.concatenate([getattr(one, name) for one in maps], axis=1)
        for name in ("margin", "azimuth", "elevation", "blocked_by")
    )
    for array in (margin, azimuth, elevation, blocked_by):
        array.setflags(write=False)
    return replace(maps[0], margin=margin, azimuth=azimuth, elevation=elevation, blocked_by=blocked_by)
