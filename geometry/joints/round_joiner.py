"""Round joiners: two cheeks bent like the wall, one on either side of the seam of a wall that bends all round.

Each of them is glued to the last face before the seam, and to that one alone, so that wall and cheeks still unfold flat
together. Beyond the seam they stand a board's thickness apart, and the other end of the wall slides between them by
hand. They are laid out here as the wall is: panels and the wall's own lattices, a board's thickness outside it and
inside. A lattice whose neutral line is as long as the wall's bends clear of it on both sides: its axis lies
t / cos(a / 2) beside that of the wall, so that between both at the corner t (1 / cos(a / 2) - 1) stay free.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import Polygon

from ..board.lattice import Lattice, lattice
from ..board.slits import lay_out_slits
from ..part import FaceUp, Panel, Part, PartKind, PlacedLattice, frozen, plain_panel
from ..pose import Pose
from ..settings import BuildSettings
from ..solid.facets import Edge, Facet, Facets
from ..solid.solid import Role
from ..unfold.corner import Bend, bend
from ..unfold.round_seams import bends_like, next_corner
from ..unfold.section import Sections, outward
from ..unfold.setbacks import strain
from .joiner import channel_width
from .taken import Taken

__all__ = ["card_between", "is_inner_cheek", "is_round_cheek", "place_round_joiner"]

#: Of the wall's free end so much lies between the cheeks at least, mm (common practice, no source).
_ENGAGED = 12.0

#: Heights of the cheeks to try, as shares of the wall's: under a roof that comes down outside they are lower.
_HEIGHTS = (1.0, 0.9, 0.75, 0.6, 0.45)


def is_round_cheek(part: Part) -> bool:
    """Return whether a part is one of the two bent cheeks of a round joiner."""
    return part.kind is PartKind.LAP and part.id.startswith("B")


def is_inner_cheek(part: Part) -> bool:
    """Return whether a part is the inner cheek of a round joiner."""
    return is_round_cheek(part) and part.id.endswith("-inner")


def card_between(settings: BuildSettings) -> float:
    """Return how thick the card under the outer cheek is, mm: what a painted board slides in with beside its own.

    Both ends are of one board, so that its thickness does not matter.
    """
    return channel_width(settings.walls.thickness, settings.joiner) - settings.walls.thickness


def place_round_joiner(
    facets: Facets, sections: Sections, edge: Edge, settings: BuildSettings, name: str, taken: Taken
) -> tuple[Part, ...]:
    """Return the two cheeks of a round seam, and take their room; nothing at another edge, or where they find none."""
    if bends_like(facets, edge) is None or outward(facets, facets.left(edge), settings) < 0:
        return ()
    chain = _chain(facets, sections, edge)
    if chain is None:
        return ()
    for share in _HEIGHTS:
        cheeks = [_cheek(chain, settings, name, outer, share) for outer in (True, False)]
        parts = tuple(cheek for cheek in cheeks if cheek is not None)
        if len(parts) == len(cheeks) and taken.is_free(parts):
            taken.take(parts)
            return parts
    return ()


@dataclass(frozen=True, slots=True, eq=False)
class _Chain:
    """Faces from left to right as seen from outside, the first of them before the seam, and the corners between them.

    lattices: those of the wall that the cheeks take over at these corners. places: from where to where along u every
    face runs, and where along v it begins, mm. ends: setbacks of the wall at the left end of the first face and at the
    right end of the last one, mm. height: of the wall under a roof, mm. part: id of the first face's.
    """

    faces: tuple[Facet, ...]
    corners: tuple[Edge, ...]
    lattices: tuple[Lattice, ...]
    places: tuple[tuple[float, float, float], ...]
    ends: tuple[float, float]
    height: float
    part: str


def _chain(facets: Facets, sections: Sections, seam: Edge) -> _Chain | None:
    """Return the faces that the cheeks of a seam cover, None where they are not plain walls that bend alike."""
    pair = facets.pair(seam)
    before, after = pair if _is_left(facets, seam, pair[0]) else pair[::-1]
    faces, corners = [before, after], [seam]
    bends = sections.setbacks.bends
    far = next_corner(facets, before, seam)
    last = next_corner(facets, after, seam)
    engaged = _width(facets, after)
    while engaged < _ENGAGED:
        if last is None or last.role is not Role.FLEX or last.id not in bends:
            return None
        further = next(facet for facet in facets.pair(last) if facet.id != faces[-1].id)
        corners.append(last)
        faces.append(further)
        engaged += _width(facets, further)
        last = next_corner(facets, further, last)
    if far is None or last is None or far.id not in bends or last.id not in bends or faces[-1].id == before.id:
        return None
    rings = [facets.ring(face) for face in faces]
    tops = [float(sections.setbacks.facets[face.id].rings[0].points[:, 1].max()) for face in faces]
    like = bends_like(facets, seam)
    assert like is not None
    return _Chain(
        tuple(faces),
        tuple(corners),
        tuple(sections.setbacks.lattices[like.id if corner is seam else corner.id] for corner in corners),
        tuple((float(ring[:, 0].min()), float(ring[:, 0].max()), float(ring[:, 1].min())) for ring in rings),
        (bends[far.id].setback, bends[last.id].setback),
        min(top - float(ring[:, 1].min()) for top, ring in zip(tops, rings, strict=True)),
        sections.part_of[before.id],
    )


def _is_left(facets: Facets, edge: Edge, facet: Facet) -> bool:
    """Whether an upright edge bounds a facet on its right as seen from outside."""
    return facets.u_of(edge, facet) > float(facets.ring(facet)[:, 0].mean())


def _width(facets: Facets, facet: Facet) -> float:
    return float(np.ptp(facets.ring(facet)[:, 0]))


def _cheek(chain: _Chain, settings: BuildSettings, name: str, outer: bool, share: float) -> Part | None:
    """Return one cheek, None where its board does not bend as the wall does."""
    stock, height = settings.joiners, chain.height * share
    off = settings.walls.thickness if outer else -stock.thickness
    alike = zip(chain.corners, chain.lattices, strict=True)
    made = [_lattice(corner, like, settings, height) for corner, like in alike]
    bends = [
        bend(corner.angle, flat_width=lattice.flat_width, thickness=lattice.thickness)
        for corner, lattice in zip(chain.corners, made, strict=True)
    ]
    corners = _offset_corners(chain, off)
    rims = _rims(corners, bends)
    if max(map(strain, made)) > 1.0 or min(high - low for low, high in rims) <= 0.0:
        return None
    panels: list[Panel] = []
    lattices: list[PlacedLattice] = []
    at = 0.0
    for k, (face, (low, high)) in enumerate(zip(chain.faces, rims, strict=True)):
        width = high - low
        ring = Polygon([(at, 0.0), (at + width, 0.0), (at + width, height), (at, height)])
        foot = chain.places[k][2]
        origin = face.frame.raise_(np.array([[low - at, foot]]), off)[0]
        panels.append(_panel(ring, Pose.of(face.frame.u, face.frame.v, face.frame.n, origin), corners[k], at - low))
        at += width
        if k < len(made):
            lattices.append(_placed(k, chain.corners[k], made[k], at))
            at += made[k].flat_width
    role, words = ("outer", "outside") if outer else ("inner", "inside")
    card = card_between(settings)
    note = (
        f"Glue its left panel, as seen from outside the building, {words} to the last face of {chain.part} left of the "
        "seam"
        + (f", with card {card:.2f} mm thick between" if outer and card > 0.0 else "")
        + "; the rest stays free of glue and bends with the wall."
    )
    return Part(
        id=f"{name}-{role}",
        label=f"Round joiner {name[1:]} {role} cheek",
        kind=PartKind.LAP,
        stock=stock.name,
        thickness=stock.thickness,
        face_up=FaceUp.OUTSIDE,
        board_side=1,
        outline=Polygon([(0.0, 0.0), (at, 0.0), (at, height), (0.0, height)]),
        panels=tuple(panels),
        lattices=tuple(lattices),
        notes=(note,),
    )


def _panel(ring: Polygon, stands: Pose, corners: tuple[float, float], shift: float) -> Panel:
    """Return a panel with its corners before setbacks, as the panels of sections have them.

    corners: along u of its face, mm; shift: what takes u to x of the part frame, mm.
    """
    height = ring.bounds[3]
    flat = np.array([(u + shift, y) for u in corners for y in (0.0, height)])
    return replace(plain_panel(ring, stands), corners=frozen(flat), corner_points=frozen(stands.apply(flat)))


def _offset_corners(chain: _Chain, off: float) -> list[tuple[float, float]]:
    """Return where along u of its face every panel of a cheek has its corners before setbacks, mm.

    ``off`` the wall faces meet off * tan(a / 2) beyond the wall's own corners. Both ends of a cheek are those of the
    wall's flat panels there.
    """
    found = []
    for k, (low, high, _) in enumerate(chain.places):
        left = chain.ends[0] if k == 0 else -off * math.tan(chain.corners[k - 1].angle / 2)
        right = chain.ends[1] if k == len(chain.corners) else -off * math.tan(chain.corners[k].angle / 2)
        found.append((low + left, high - right))
    return found


def _rims(corners: Sequence[tuple[float, float]], bends: Sequence[Bend]) -> list[tuple[float, float]]:
    """Return from where to where along u of its face every panel of a cheek reaches between its bends, mm."""
    before = [0.0, *(made.setback for made in bends)]
    after = [*(made.setback for made in bends), 0.0]
    return [(low + near, high - far) for (low, high), near, far in zip(corners, before, after, strict=True)]


def _lattice(corner: Edge, like: Lattice, settings: BuildSettings, height: float) -> Lattice:
    """Return a lattice with the rows of the wall's, over the height of a cheek."""
    return lattice(
        settings.joiners,
        angle=corner.angle,
        axis_length=height,
        link_width=like.link_width,
        opening=like.opening,
        links=like.links,
        slits=like.slits,
        bridge=like.bridge,
    )


def _placed(index: int, corner: Edge, made: Lattice, at: float) -> PlacedLattice:
    return PlacedLattice(
        parent=index,
        child=index + 1,
        host_edges=corner.host_edges,
        origin=frozen(np.array([at, 0.0])),
        across=frozen(np.array([1.0, 0.0])),
        along=frozen(np.array([0.0, 1.0])),
        angle=corner.angle,
        lattice=made,
        slits=lay_out_slits(made),
    )
