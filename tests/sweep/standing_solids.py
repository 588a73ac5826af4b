"""Standing boards as closed solids, made and intersected by the library manifold3d: none may be in another one.

Every panel is extruded by its board where its facet puts it, every lattice is a piece of a round shell, every tab a
block. The round shell is made here from the flat width and the angle alone, not by the product's folding.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from manifold3d import CrossSection, FillRule, Manifold
from shapely.geometry import Polygon
from stowfold.geometry.outcome import Outcome
from stowfold.geometry.part import Panel, Part, PartKind, PlacedLattice
from stowfold.geometry.pose import Pose

__all__ = ["Shared", "is_filled", "round_shell", "shared_places", "standing_solids"]

#: A bend is made of flat steps of about this, radians: at the radius of a corner they miss the round by 0.01 mm.
_STEP = math.radians(5.0)

#: Boards share a place where their common body is deeper than this on average, mm, beside what the proof allows for
#: the noise of the model: above the steps of a bend, below the thinnest card. Smaller bodies are rounding, mm^3.
_DEPTH, _LEAST = 0.02, 0.05

#: Beyond a panel, what is nearer to it than this or smaller is rounding, mm and mm^2.
_SEAM = 1e-4

#: A slot is filled to this share at least: a tab of the thinnest board with its play along and across.
_FILLED = 0.6


@dataclass(frozen=True, eq=False)
class StandingSolid:
    """A closed body of board. part, region: whose it is; low, high: its box, mm."""

    part: str
    region: str
    body: Manifold
    low: np.ndarray
    high: np.ndarray


@dataclass(frozen=True)
class Shared:
    """Two bodies that share a place: volume, mm^3; depth: twice the volume over the surface, mm."""

    one: str
    two: str
    volume: float
    depth: float


def shared_places(outcome: Outcome) -> list[Shared]:
    """Return the pairs of boards that share more than they may; panels beside one lattice are not compared with it."""
    deepest = _DEPTH + outcome.proof.limit
    joined = _joined(outcome)
    found = []
    for one, two in combinations(standing_solids(outcome), 2):
        apart = np.any(one.low > two.high - _DEPTH) or np.any(two.low > one.high - _DEPTH)
        if apart or (one.region, two.region) in joined or (two.region, one.region) in joined:
            continue
        common = one.body ^ two.body
        volume = float(common.volume())
        if volume > _LEAST:
            depth = 2.0 * volume / float(common.surface_area())
            if depth > deepest:
                found.append(Shared(one.region, two.region, volume, depth))
    return found


def is_filled(outcome: Outcome, part: Part, panel: Panel, hole: np.ndarray) -> bool:
    """Whether a hole of a panel is a slot: other boards that stand in it fill most of it."""
    room = _slab(part, panel, [hole])
    others = [solid.body for solid in standing_solids(outcome) if solid.part != part.id]
    return sum(float((room ^ other).volume()) for other in others) > _FILLED * float(room.volume())


def standing_solids(outcome: Outcome) -> Iterator[StandingSolid]:
    """Yield every region of board as a closed body: panels, lattices, tabs."""
    for part in outcome.parts:
        for k, panel in enumerate(part.panels):
            body = _slab(part, panel, [panel.ring, *panel.holes])
            yield _named(part.id, f"{part.id} panel {k}", body)
            if part.kind is PartKind.UPSTAND:
                for tab in _beyond_panel(part, panel):
                    yield _named(part.id, f"{part.id} panel {k}", _slab(part, panel, [tab]))
        for k, lattice in enumerate(part.lattices):
            if lattice.angle:
                stands = part.panels[lattice.parent].stands
                yield _named(part.id, f"{part.id} lattice {k}", round_shell(part, lattice, stands))
    depth = outcome.settings.floor.thickness - outcome.settings.ground.tab_short
    for k, tab in enumerate(outcome.tabs):
        points = np.concatenate([tab.tab, tab.tab - [0.0, 0.0, depth]])
        yield _named(tab.part, f"{tab.part} tab {k}", Manifold.hull_points(points))


def _slab(part: Part, panel: Panel, rings: Sequence[np.ndarray]) -> Manifold:
    """Return rings of the part's frame, (k, 2) mm each, as a slab of its board where the panel stands."""
    flat = CrossSection([np.asarray(ring, dtype=float) for ring in rings], FillRule.EvenOdd)
    low = 0.0 if part.board_side > 0 else -part.thickness
    return Manifold.extrude(flat, part.thickness).translate((0.0, 0.0, low)).transform(panel.stands.matrix)


def _beyond_panel(part: Part, panel: Panel) -> Iterator[np.ndarray]:
    """Yield what a part of one panel has beyond it: the outlines of its tabs, (k, 2) mm."""
    beyond = part.outline.difference(Polygon(panel.ring).buffer(_SEAM))
    for piece in shapely.get_parts(beyond):
        if piece.area > _SEAM:
            yield np.array(piece.exterior.coords)[:-1]


def _named(part: str, region: str, body: Manifold) -> StandingSolid:
    box = np.array(body.bounding_box())
    return StandingSolid(part, region, body, box[:3], box[3:])


def round_shell(part: Part, lattice: PlacedLattice, stands: Pose) -> Manifold:
    """Return a bent lattice as steps of a round shell: its neutral line keeps the flat width."""
    width, angle = lattice.lattice.flat_width, lattice.angle
    radius, side = width / abs(angle), math.copysign(1.0, angle) * part.board_side
    middle = part.board_side * part.thickness / 2.0
    faces = (0.0, part.board_side * part.thickness)
    steps = max(1, math.ceil(abs(angle) / _STEP))
    pieces = []
    for step in range(steps):
        corners = []
        for turn in (abs(angle) * step / steps, abs(angle) * (step + 1) / steps):
            for face in faces:
                reach = radius + side * (face - middle)
                across, up = reach * math.sin(turn), middle - side * radius + side * reach * math.cos(turn)
                for along in (0.0, lattice.lattice.axis_length):
                    flat = lattice.origin + lattice.across * across + lattice.along * along
                    corners.append((*flat, up))
        pieces.append(Manifold.hull_points(stands.apply(np.array(corners))))
    whole = pieces[0]
    for piece in pieces[1:]:
        whole = whole + piece
    return whole


def _joined(outcome: Outcome) -> set[tuple[str, str]]:
    """Return pairs of regions that are one piece of board: a lattice with its panels, a tab with its panel."""
    joined = set()
    for part in outcome.parts:
        for k, lattice in enumerate(part.lattices):
            for panel in (lattice.parent, lattice.child):
                joined.add((f"{part.id} lattice {k}", f"{part.id} panel {panel}"))
            joined.add((f"{part.id} panel {lattice.parent}", f"{part.id} panel {lattice.child}"))
    for k, tab in enumerate(outcome.tabs):
        panels = next(part.panels for part in outcome.parts if part.id == tab.part)
        joined.update((f"{tab.part} panel {panel}", f"{tab.part} tab {k}") for panel in range(len(panels)))
    return joined
