"""Timber frame: posts, rails, studs and braces by rule, round openings and under the eaves."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import IntEnum
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon, box

from ..tolerance import SNAP
from .finish import Finish
from .lines import united
from .surface import Surface

__all__ = ["Member", "Rank", "frame", "timber"]

#: A brace stands at this angle where there is room, and is left out where its bay makes it steeper than the second.
_BRACE, _STEEPEST = math.radians(55.0), math.radians(68.0)

#: Rails and studs over posts: 10 x 13 cm beside 13 x 15 cm. Rakes of a gable are wider than a post.
_THIN, _RAKE = 0.75, 1.3

#: Bays narrower than this many posts get no stud, and lower than that no rail.
_LEAST_BAY = 2.5

#: Wider bays get studs so that no panel is wider than this many spacings.
_WIDEST_PANEL = 1.25


class Rank(IntEnum):
    """Which member is in front where two cross: the lower number is drawn whole."""

    POST = 0
    SILL = 1
    HEAD = 2
    BRACE = 3
    RAIL = 4
    STUD = 5


@dataclass(frozen=True, slots=True, eq=False)
class Member:
    """A timber as it shows on the wall."""

    rank: Rank
    shape: Polygon


def timber(finish: Finish, surface: Surface) -> list[np.ndarray]:
    """Return the outlines of all timbers as (n, 2, 2) mm, what two share once."""
    members = frame(finish, surface)
    seen: list[shapely.Geometry] = []
    front: shapely.Geometry = Polygon()
    for rank in Rank:
        own = [member.shape for member in members if member.rank is rank]
        if own:
            layer = shapely.union_all(own)
            seen.append(shapely.difference(layer, front))
            front = shapely.union(front, layer)
    segments = [_segments(ring) for area in seen for ring in _rings(area)]
    return [united(np.concatenate(segments))] if segments else []


def frame(finish: Finish, surface: Surface) -> list[Member]:
    """Return the timbers of a wall: sill and plate, posts, those round openings, and what fills the bays."""
    x0, y0, x1, y1 = surface.box
    post = finish.height
    eaves = min(surface.rise or y1, y1)
    if eaves <= y0 + _LEAST_BAY * post:
        return [Member(Rank.SILL, box(x0, y0, x1, y1))]
    members = [
        Member(Rank.SILL, box(x0, y0, x1, y0 + post)),
        Member(Rank.SILL, box(x0, eaves - post, x1, eaves)),
    ]
    uprights = _uprights(surface, post)
    members += [Member(Rank.POST, box(x, y0, x + post, eaves)) for x in uprights]
    openings = [opening.bounds for opening in surface.openings]
    for ox0, oy0, ox1, oy1 in openings:
        members.append(Member(Rank.HEAD, box(ox0 - post, oy1, ox1 + post, min(oy1 + post, eaves))))
        if oy0 > y0 + post:
            members.append(Member(Rank.HEAD, box(ox0 - post, oy0 - post, ox1 + post, oy0)))
    bays = list(pairwise(uprights))
    for number, (left, right) in enumerate(bays):
        members += _bay(finish, (left + post, right), (y0 + post, eaves - post), openings, _end(number, len(bays)))
    if y1 > eaves + post:
        members += _gable(finish, surface, eaves)
    return members


def _uprights(surface: Surface, post: float) -> list[float]:
    """Return where posts begin along x: at both ends, beside openings and at the edges of cheeks, mm."""
    x0, _, x1, _ = surface.box
    wanted = [x0, x1 - post]
    for low, high in surface.joiners:
        wanted += [low, high - post]
    for opening in surface.openings:
        ox0, _, ox1, _ = opening.bounds
        wanted += [ox0 - post, ox1]
    kept: list[float] = []
    for x in sorted(wanted):
        # posts that would lie on each other are one
        if x >= x0 - SNAP and x <= x1 - post + SNAP and (not kept or x - kept[-1] >= post):
            kept.append(x)
    return kept


def _end(number: int, count: int) -> int:
    """Return -1 for the first bay, +1 for the last one, 0 for those between."""
    return -1 if number == 0 else 1 if number == count - 1 else 0


def _bay(
    finish: Finish,
    across: tuple[float, float],
    up: tuple[float, float],
    openings: list[tuple[float, float, float, float]],
    end: int,
) -> list[Member]:
    """Return studs, rails and, in the outer bays, a brace between two posts; above and below an opening studs alone."""
    post, thin = finish.height, finish.height * _THIN
    left, right = across
    wide, high = right - left, up[1] - up[0]
    if wide < _LEAST_BAY * post:
        return []
    inside = [o for o in openings if o[0] < right - SNAP and o[2] > left + SNAP]
    spans = _free_heights(up, inside, post)
    middle = (up[0] + up[1]) / 2
    members = []
    rises = math.atan2(high, wide)
    if end and not inside and rises <= _STEEPEST:
        members.append(_brace(thin, across, up, leans=-end))
    panels = max(round(wide / finish.length), math.ceil(wide / (_WIDEST_PANEL * finish.length)))
    for k in range(1, panels):
        x = left + wide * k / panels - thin / 2
        members += [Member(Rank.STUD, box(x, low, x + thin, top)) for low, top in spans]
    if not inside and high > 2 * _LEAST_BAY * post:
        members.append(Member(Rank.RAIL, box(left, middle - thin / 2, right, middle + thin / 2)))
    return members


def _free_heights(
    up: tuple[float, float], inside: list[tuple[float, float, float, float]], post: float
) -> list[tuple[float, float]]:
    """Return the stretches of a bay's height that no opening takes with its sill and head."""
    if not inside:
        return [up]
    low, high = min(o[1] for o in inside) - post, max(o[3] for o in inside) + post
    return [(a, b) for a, b in ((up[0], low), (high, up[1])) if b - a > post]


def _brace(wide: float, across: tuple[float, float], up: tuple[float, float], *, leans: int) -> Member:
    """Return a brace from a post's foot inward and up; its run is what its height takes at the angle of braces."""
    left, right = across
    run = min((up[1] - up[0]) / math.tan(_BRACE), right - left)
    outer, inner = (left, left + run) if leans > 0 else (right, right - run)
    line = LineString([(inner, up[0]), (outer, up[1])])
    shape = line.buffer(wide / 2, cap_style="square").intersection(box(left, up[0], right, up[1]))
    return Member(Rank.BRACE, shape)


def _gable(finish: Finish, surface: Surface, eaves: float) -> list[Member]:
    """Return the timbers of a gable: rakes, a collar at half its height, a king post, and studs from the middle."""
    post, thin = finish.height, finish.height * _THIN
    top = surface.outline.intersection(box(surface.box[0], eaves, surface.box[2], surface.box[3] + 1.0))
    members = []
    for gable in shapely.get_parts(top):
        gx0, _, gx1, gy1 = gable.bounds
        if gy1 - eaves < 2 * post or gable.geom_type != "Polygon":
            continue
        base = LineString([(gx0, eaves), (gx1, eaves)]).buffer(SNAP)
        rakes = gable.boundary.difference(base).buffer(_RAKE * post, cap_style="flat", join_style="mitre")
        members.append(Member(Rank.SILL, rakes.intersection(gable)))
        middle, half = (gx0 + gx1) / 2, (eaves + gy1) / 2
        members.append(Member(Rank.POST, box(middle - post / 2, eaves, middle + post / 2, gy1).intersection(gable)))
        members.append(Member(Rank.HEAD, box(gx0, half - post / 2, gx1, half + post / 2).intersection(gable)))
        count = math.floor((gx1 - gx0) / 2 / finish.length)
        for k in range(1, count + 1):
            for x in (middle - k * finish.length, middle + k * finish.length):
                stud = box(x - thin / 2, eaves, x + thin / 2, half - post / 2)
                members.append(Member(Rank.STUD, stud.intersection(gable)))
    return [member for member in members if not member.shape.is_empty]


def _rings(area: shapely.Geometry) -> list[np.ndarray]:
    return [
        shapely.get_coordinates(ring)
        for polygon in shapely.get_parts(area)
        if isinstance(polygon, Polygon)
        for ring in (polygon.exterior, *polygon.interiors)
    ]


def _segments(ring: np.ndarray) -> np.ndarray:
    return np.stack([ring[:-1], ring[1:]], axis=1)
