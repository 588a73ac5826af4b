"""Glue places: where the board of one part is glued to a face of another, found from how both stand.

A stop lies flat under a slope, a fin stands on edge under it, a core lies between its cheeks. What touches is read
off the standing boards, so that every kind of glued part gets its place in the same way. What bears a part follows
from its places: the assembly and the film move it with its bearer.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..part import Panel, Part, PartKind, SameBoards, standing_corners
from ..tolerance import SNAP
from ..unfold.outline import clean_ring
from .glue_strip import is_glue_strip
from .tie import is_ring, is_tie

__all__ = ["GluePlace", "find_bearers", "find_glue_places"]

#: Kinds that are glued, with the kinds of parts that they are glued to.
_BOARDS = (PartKind.ROOF, PartKind.WALL, PartKind.PANEL, PartKind.UPSTAND)
_HOSTS: Mapping[PartKind, tuple[PartKind, ...]] = {
    PartKind.STOP: (*_BOARDS, PartKind.STOP),
    PartKind.LAP: (*_BOARDS, PartKind.LAP),
    PartKind.CARRIER: (*_BOARDS, PartKind.CARRIER),
    PartKind.CAP: (PartKind.ROOF,),
    PartKind.TRIM: (PartKind.WALL,),
    PartKind.CORE: (PartKind.CHEEK,),
}

#: What is folded or stands as it is cut, and bears what is glued to it.
_SECTIONS = (PartKind.WALL, PartKind.ROOF, PartKind.PANEL)

#: Parts that are glued to each other before they meet any section.
_BY_THEMSELVES = (PartKind.UPSTAND, PartKind.CORE, PartKind.CHEEK)

#: Card, cover or a bead of glue may lie between a part and its place, mm: half of what a joiner's core lacks, or the
#: cover of a magnet, is thinner than this.
_NEAR = 0.7

#: A face turned further from its place than this only meets it in a line, where nothing is glued (cosine of 50
#: degrees: half of the sharpest corner between slopes that a fin stands in).
_FACING = 0.64

#: A place smaller than this holds nothing, mm^2: 1 mm of the edge of the thinnest board.
_LEAST = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class GluePlace:
    """Where one part is glued to a face of another. host, glued: part ids; panel: index of the host's panel.

    area: in the host's part frame, mm; up: whether that face lies up on the laser. flat: whether the glued part lies
    on it with its large face; own: what of that face is glued, in its own part frame, None of an edge; own_up:
    whether that face lies up.
    """

    host: str
    glued: str
    panel: int
    area: Polygon
    up: bool
    flat: bool
    own: Polygon | None = None
    own_up: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class _Faces:
    """All flat faces of a standing board, its two large ones first.

    corners: (n, 3) of all, in the model, mm; starts: where those of each face begin; normals: (m, 3) outward.
    """

    corners: np.ndarray
    starts: np.ndarray
    normals: np.ndarray

    def of(self, face: int) -> np.ndarray:
        """Return the corners of one face, (k, 3) mm."""
        ends = np.append(self.starts[1:], len(self.corners))
        return self.corners[self.starts[face] : ends[face]]


def find_glue_places(parts: Sequence[Part]) -> tuple[GluePlace, ...]:
    """Return every place on a face of a part where another part is glued, by the order of the glued parts.

    A ring stays loose, and a lap is glued to one of its two boards only: the one that it covers more of.
    """
    every = [SameBoards(part) for part in parts]
    boxes = {same.part.id: _box(same) for same in every if same.part.panels}
    found: list[GluePlace] = []
    for of in every:
        glued, hosts = of.part, _HOSTS.get(of.part.kind, ())
        if not hosts or not glued.panels or is_ring(glued):
            continue
        mine: list[GluePlace] = []
        for on in every:
            host = on.part
            near = host.kind in hosts and host.id != glued.id and _meet(boxes.get(host.id), boxes[glued.id])
            if near and _mates(glued, host):
                mine += _places_on(on, of)
        found += _of_lap(mine) if _is_plain_lap(glued) else mine
    return tuple(found)


def find_bearers(parts: Sequence[Part]) -> dict[str, tuple[str, int]]:
    """Return for everything that is glued to a section the section's id and the panel that bears it.

    Of several places the largest counts. What is glued to another glued part goes where that one goes. Upstands and
    joiners, which are glued up by themselves, are left out.
    """
    sections = {part.id for part in parts if part.kind in _SECTIONS}
    borne: dict[str, GluePlace] = {}
    on_glued: dict[str, str] = {}
    places = find_glue_places([part for part in parts if part.kind not in _BY_THEMSELVES])
    for place in places:
        if place.host not in sections:
            on_glued.setdefault(place.glued, place.host)
        elif place.glued not in borne or place.area.area > borne[place.glued].area.area + _LEAST:
            borne[place.glued] = place
    found = {}
    for name in (*borne, *on_glued):
        chain = [name]
        while chain[-1] not in borne and on_glued.get(chain[-1], name) not in chain:
            chain.append(on_glued[chain[-1]])
        if chain[-1] in borne:
            found[name] = (borne[chain[-1]].host, borne[chain[-1]].panel)
    for place in places:
        if place.host not in sections and place.glued in found:
            # a fin that meets its board in a line alone is held by its knee
            found.setdefault(place.host, found[place.glued])
    return {part.id: found[part.id] for part in parts if part.id in found}


def _is_plain_lap(part: Part) -> bool:
    return part.kind is PartKind.LAP and not is_tie(part) and not is_glue_strip(part)


def _of_lap(places: list[GluePlace]) -> list[GluePlace]:
    return [max(places, key=lambda place: round(place.area.area, 3))] if places else []


def _mates(glued: Part, host: Part) -> bool:
    """Whether small parts belong to one another: a knee and its fin, a core and its cheeks, two layers of a stop."""
    if host.kind in _BOARDS:
        return True
    own, other = (part.id.partition("-")[0] for part in (glued, host))
    # of two parts that touch, the one that comes later is glued to the other
    rank = {"back": 0, "fin": 0, "outer": 0, "inner": 0, "pocket": 1, "knee": 2, "core": 2}
    first, second = (part.id.partition("-")[2] for part in (host, glued))
    if glued.kind is PartKind.STOP:
        return own == other and second.isdecimal() and int(first or 1) + 1 == int(second)
    return own == other and rank.get(first, 0) < rank.get(second, 0)


@lru_cache(maxsize=1024)
def _box(same: SameBoards) -> np.ndarray:
    part = same.part
    corners = np.concatenate([standing_corners(part, panel) for panel in part.panels])
    return np.array([corners.min(axis=0), corners.max(axis=0)])


def _meet(one: np.ndarray | None, two: np.ndarray) -> bool:
    return one is not None and bool((one[0] <= two[1] + _NEAR).all() and (two[0] <= one[1] + _NEAR).all())


@lru_cache(maxsize=1024)
def _faces(same: SameBoards) -> _Faces:
    """Return both large faces of a board and the faces along its edges."""
    part, panel = same.part, same.part.panels[0]
    # of a board that bends its first panel is glued
    ring = clean_ring(panel.ring if part.lattices else np.asarray(part.outline.exterior.coords)[:-1])
    far, count = part.board_side * part.thickness, len(ring)
    low, high = (np.column_stack([ring, np.full(count, height)]) for height in (0.0, far))
    after = np.roll(np.arange(count), -1)
    edges = np.stack([low, low[after], high[after], high], axis=1).reshape(-1, 3)
    run = ring[after] - ring
    out = np.column_stack([run[:, 1], -run[:, 0], np.zeros(count)]) / np.hypot(*run.T)[:, None]
    up = np.array([[0.0, 0.0, 1.0]]) * part.board_side
    starts = np.concatenate([[0, count], 2 * count + 4 * np.arange(count)])
    normals = np.concatenate([-up, up, out]) @ panel.stands.turn.T
    return _Faces(panel.stands.apply(np.concatenate([low, high, edges])), starts, normals)


@lru_cache(maxsize=4096)
def _places_on(on: SameBoards, of: SameBoards) -> tuple[GluePlace, ...]:
    """Return the places of a part on a host; they are asked for again whenever something else is glued on."""
    return tuple(_found_on(on.part, of.part, _faces(of)))


def _found_on(host: Part, glued: Part, faces: _Faces) -> Iterator[GluePlace]:
    """Yield the place of a part on each face of a host that one of its own faces looks at from near by."""
    for index in _near_panels(host, faces.corners):
        panel = host.panels[index]
        there = panel.stands.back(faces.corners)
        square = faces.normals @ panel.stands.z
        far = host.board_side * host.thickness
        for height, sign in ((0.0, -host.board_side), (far, host.board_side)):
            nearest = np.minimum.reduceat((there[:, 2] - height) * sign, faces.starts)
            facing = np.where(np.abs(nearest) <= _NEAR, -square * sign, 0.0)
            face = int(np.argmax(facing))
            if facing[face] < _FACING:
                continue
            ring = panel.stands.back(faces.of(face))[:, :2]
            flat = face < 2
            shape = _outline_on(panel, glued, ring, face) if flat else shapely.MultiPoint(ring).convex_hull
            area = shapely.intersection(shape, Polygon(panel.ring, panel.holes))
            if isinstance(area, Polygon) and area.area >= _LEAST:
                own = _own_region(glued, panel, area, height) if flat else None
                own_up = flat and (face == 1) == (glued.board_side > 0)
                yield GluePlace(host.id, glued.id, index, area, sign > 0, flat, own, own_up)


def _near_panels(host: Part, corners: np.ndarray) -> list[int]:
    """Return the panels of a host over whose outline, and near one of whose faces, corners lie, (k, 3) mm around it.

    All that is told by boxes in the frames of the panels, a little larger than they need be.
    """
    frames, low, high = _panel_boxes(SameBoards(host))
    own = (corners[None] - frames[:, None, :, 3]) @ frames[:, :, :3]
    near = (own.min(axis=1) <= high) & (own.max(axis=1) >= low)
    return np.flatnonzero(near.all(axis=1)).tolist()


@lru_cache(maxsize=1024)
def _panel_boxes(same: SameBoards) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return how panels stand, (n, 3, 4), and what lies near them in their frames: from where to where, (n, 3) mm."""
    part = same.part
    faces = sorted((0.0, part.board_side * part.thickness))
    low = np.array([[*panel.ring.min(axis=0), faces[0] - _NEAR] for panel in part.panels])
    high = np.array([[*panel.ring.max(axis=0), faces[1] + _NEAR] for panel in part.panels])
    return np.array([panel.stands.matrix for panel in part.panels]), low - SNAP, high + SNAP


def _outline_on(panel: Panel, glued: Part, ring: np.ndarray, face: int) -> Polygon:
    """Return a flat face of a part in the frame of the panel beneath it. Bays between timbers are not glued."""
    if glued.kind is not PartKind.TRIM:
        return Polygon(ring)
    height = 0.0 if face == 0 else glued.board_side * glued.thickness
    stands = glued.panels[0].stands
    holes = (np.asarray(hole.coords)[:-1] for hole in glued.outline.interiors)
    return Polygon(ring, [panel.stands.back(stands.apply(hole, height))[:, :2] for hole in holes])


def _own_region(glued: Part, panel: Panel, area: Polygon, height: float) -> Polygon:
    """Return a place as the glued part's own frame has it, with its holes."""

    def over(ring: shapely.LinearRing) -> np.ndarray:
        points = panel.stands.apply(np.asarray(ring.coords)[:-1], height)
        own: np.ndarray = glued.panels[0].stands.back(points)[:, :2]
        return own

    return Polygon(over(area.exterior), [over(hole) for hole in area.interiors])
