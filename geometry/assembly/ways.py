"""Ways: the directions in which a hand may bring a body to its place, those that it would try first in front."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

import numpy as np

from ..joints.tie import is_ring
from ..part import Joiner, Part, PartKind, Tab
from ..tolerance import UPRIGHT
from .bodies import Body

__all__ = ["Ways", "leads", "own_ways", "ways_of_sign", "ways_of_upstand", "ways_onto", "ways_together"]

#: Groups of (3,) unit directions, toward the place, worked out when they are needed.
Ways = Sequence[Callable[[], Sequence[np.ndarray]]]

#: Decimals to which directions are compared.
_ALIKE = 4

DOWN = np.array([0.0, 0.0, -1.0])

_LEVEL = [np.array([x, y, 0.0]) for x, y in ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0))]


def ways_together(
    body: Body,
    others: Sequence[Body],
    joiners: Iterable[Joiner],
    parts: Mapping[str, Part],
) -> Ways:
    """Return the ways of a section or joiner to those that it is joined with: along the walls, else down into them.

    A loose ring goes over its fins; what no joiner holds comes down, or in the direction of its own boards.
    """
    if body.name in parts and is_ring(parts[body.name]):
        return [lambda: _both([parts[body.name].panels[0].stands.z])]
    there = {name for other in others for name in other.parts}
    along = [
        parts[joiner.core].panels[0].stands.x
        for joiner in joiners
        if (joiner.core in body.parts and there & set(joiner.ends))
        or (joiner.core in there and set(body.parts) & set(joiner.ends))
    ]
    return [*([lambda: _both(along)] if along else []), *ways_onto(body, parts)]


def leads(body: Body, parts: Mapping[str, Part]) -> list[np.ndarray]:
    """Return the ways that may lead a body to where its last leg begins.

    Walls are open upward; a roof lies with its inside up. A ring comes to its closure from the room, and into that from
    wherever it is open.
    """
    if body.name in parts and is_ring(parts[body.name]):
        toward = parts[body.name].panels[0].stands.y
        return [toward, -DOWN, DOWN, *_LEVEL]
    return [-DOWN, DOWN] if body.kind is PartKind.ROOF else [DOWN]


def ways_onto(body: Body, parts: Mapping[str, Part]) -> Ways:
    """Return the ways of a ring to the floor or of a roof to the walls: down, else in the direction of its boards."""
    return [lambda: [DOWN], lambda: own_ways(body, parts)]


def ways_of_upstand(body: Body, parts: Mapping[str, Part], tabs: Iterable[Tab]) -> Ways:
    """Return the ways of a dormer, chimney or porch to its place: as its tabs point, else down or level."""
    reaches = [tab.reach for tab in tabs if tab.part in body.parts and tab.reach is not None]
    return [lambda: _unlike([reach / np.linalg.norm(reach) for reach in reaches]), *ways_onto(body, parts)]


def ways_of_sign(body: Body, parts: Mapping[str, Part]) -> Ways:
    """Return the way of a signboard into its slot: square to the wall, along which its own x points away."""
    return [lambda: [-parts[body.name].panels[0].stands.x]]


def own_ways(body: Body, parts: Mapping[str, Part]) -> list[np.ndarray]:
    """Return the directions along and square to the boards of a body, none of them upward from below."""
    poses = [panel.stands for name in body.parts for panel in parts[name].panels]
    level = [np.cross(pose.z, DOWN) for pose in poses if abs(pose.z[2]) < 1.0 - UPRIGHT]
    ways = _both([axis for pose in poses for axis in (pose.z, *(np.cross(pose.z, line) for line in level))] + level)
    return [way for way in ways if way[2] <= UPRIGHT]


def _both(axes: Iterable[np.ndarray]) -> list[np.ndarray]:
    return _unlike([sign * axis / np.linalg.norm(axis) for axis in axes for sign in (1.0, -1.0) if axis.any()])


def _unlike(ways: Iterable[np.ndarray]) -> list[np.ndarray]:
    """Return directions without those that another one before them repeats."""
    return list({tuple(np.round(way, _ALIKE).tolist()): way for way in reversed(list(ways))}.values())[::-1]
