"""Drawn faces: the flat faces of boards as they stand in the model, with their light, colours and lines.

A board is a prism: its panel, from the lower face through its thickness to the one that lies up on the laser. A lattice
is a row of narrow blocks round the arc of its bend.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely

from ..paint.paint import Paint
from ..part import Panel, Part, PartKind, PlacedLattice, Tab
from ..polygons import polygons_in
from ..sheet.fills import STROKE
from ..show.coats import COATED, coat_of_strip, coated_marks, coats_of
from ..tolerance import ANGLE

__all__ = ["THIN", "DrawnFace", "Look", "bend_faces", "part_faces", "tab_faces"]

#: Share of full light on faces that look up, toward the right, and elsewhere.
_LIGHT_UP, _LIGHT_RIGHT, _LIGHT_LEFT = 1.0, 0.93, 0.8

#: Blocks that the arc of a bend is drawn with; how light they and their edges are beside the colour of the board.
_BLOCKS, _SHADED, _SEAM = 6, 0.94, 0.6

#: Colour of finishes' lines where no paint says another: of char on paper, which is not to look black.
_CHAR = "#857763"

#: A side of an outline shorter than this is one of a curve, mm.
_SHORT = 3.0

#: What is shorter or lies nearer than this makes no difference in a drawing, mm: thinner than any drawn line.
THIN = 0.05


@dataclass(frozen=True, slots=True, eq=False)
class DrawnFace:
    """One flat face: outline and holes in the model, (k, 3) mm each, the way it looks, and what is drawn on it.

    lines: of a floor's grid; patches: its slots; finish: lines with their colour; coats: rings with their fill.
    """

    rings: tuple[np.ndarray, ...]
    normal: np.ndarray
    fill: str
    lines: tuple[np.ndarray, ...] = ()
    patches: tuple[np.ndarray, ...] = ()
    finish: tuple[tuple[str, np.ndarray], ...] = ()
    coats: tuple[tuple[str, tuple[np.ndarray, ...]], ...] = ()
    stroke: str = STROKE


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """How a part is drawn.

    colour: of its bare board, red, green and blue to 255. shift: by which it is moved out of its place, (3,) mm.
    slots: corners of those in it, (4, 3) mm each, drawn where it is a floor. finishes: whether their lines are drawn
    too; paint: and in which colours, None for none.
    """

    colour: Sequence[int]
    shift: np.ndarray = field(default_factory=lambda: np.zeros(3))
    slots: tuple[np.ndarray, ...] = ()
    finishes: bool = False
    paint: Paint | None = None


def part_faces(part: Part, look: Look) -> list[DrawnFace]:
    """Return the faces of a part as it stands: of every panel and of every bend."""
    faces: list[DrawnFace] = []
    for panel in part.panels:
        upper, lower = (_large_face(part, panel, look, up=up) for up in (True, False))
        faces += [upper, lower, *_side_faces(upper.rings, lower.rings, panel.stands.z, look.colour)]
    return faces + bend_faces(part, look)


def bend_faces(part: Part, look: Look) -> list[DrawnFace]:
    """Return the faces of all bends of a part, four for each of their narrow blocks, the two large ones first."""
    return [face for placed in part.lattices for face in _blocks_of_bend(part, placed, look)]


def tab_faces(tab: Tab, depth: float, look: Look) -> list[DrawnFace]:
    """Return the faces of a tab that reaches ``depth`` mm down from the foot of its wall."""
    top = np.asarray(tab.tab) + look.shift
    return _block(top, top + np.array([0.0, 0.0, -depth]), look.colour)


def _height(part: Part, *, up: bool) -> float:
    """Return where a face of a part lies in its frame, mm. up: the one that lies up on the laser."""
    return (max if up else min)(0.0, part.board_side * part.thickness)


def _large_face(part: Part, panel: Panel, look: Look, *, up: bool) -> DrawnFace:
    """Return one of the two large faces of a panel with all that is drawn on it."""
    height = _height(part, up=up)
    normal = panel.stands.z if up else -panel.stands.z
    rings = tuple(panel.stands.apply(ring, height) + look.shift for ring in (panel.ring, *panel.holes))
    face = DrawnFace(rings, normal, _lit(look.colour, normal), coats=_coats(part, panel, normal, look, up=up))
    if part.kind is PartKind.FLOOR and normal[2] > 0:
        grid = tuple(panel.stands.apply(line, height) + look.shift for line in part.engrave)
        face = replace(face, lines=grid, patches=tuple(np.asarray(slot) + look.shift for slot in look.slots))
    if up and look.finishes and part.dressings:
        face = replace(face, finish=_finish_lines(part, panel, look))
    return face


def _side_faces(
    tops: Iterable[np.ndarray], bottoms: Iterable[np.ndarray], normal: np.ndarray, colour: Sequence[int]
) -> Iterator[DrawnFace]:
    """Yield the narrow faces between the rings of a board's two large faces, (k, 3) mm each, that belong together."""
    for top, bottom in zip(tops, bottoms, strict=True):
        sides = np.stack([bottom, np.roll(bottom, -1, axis=0), np.roll(top, -1, axis=0), top], axis=1)
        outward = np.cross(sides[:, 2] - sides[:, 3], normal)
        sizes = np.linalg.norm(outward, axis=1)
        for side, looks, size in zip(sides, outward, sizes.tolist(), strict=True):
            if size > THIN:
                fill = _lit(colour, looks / size)
                # sides of a rounded outline run into one another; their seams would blacken it
                yield DrawnFace((side,), looks / size, fill, stroke=fill if size < _SHORT else STROKE)


def _finish_lines(part: Part, panel: Panel, look: Look) -> tuple[tuple[str, np.ndarray], ...]:
    """Return the lines of finishes on a panel as it stands, (k, 3) mm each, with the colours that they show."""
    board = shapely.make_valid(shapely.Polygon(panel.ring, panel.holes))
    shapely.prepare(board)
    drawn = [line for dressing in part.dressings for line in dressing.lines]
    middles = np.array([line.mean(axis=0) for line in drawn])
    kept = np.flatnonzero(shapely.contains_xy(board, middles)).tolist()
    inks = [_CHAR] * len(drawn)
    if look.paint is not None and part.colour_fields:
        by_kind = {COATED + 2 * k + 1: look.paint.line_on(*coat) for k, coat in enumerate(coats_of(part))}
        inks = [by_kind.get(kind, _CHAR) for kind in coated_marks(part, middles).tolist()]
    height = _height(part, up=True)
    return tuple((inks[k], panel.stands.apply(drawn[k], height) + look.shift) for k in kept)


def _coats(
    part: Part, panel: Panel, normal: np.ndarray, look: Look, *, up: bool
) -> tuple[tuple[str, tuple[np.ndarray, ...]], ...]:
    """Return the colours on one face of a panel as it stands: fill as it is lit, and rings of (k, 3) mm."""
    if look.paint is None:
        return ()
    board = shapely.make_valid(shapely.Polygon(panel.ring, panel.holes))
    height = _height(part, up=up)
    found = []
    for coat in part.colour_fields:
        colour = look.paint.colour_of(coat.finish, coat.role)
        if coat.up is not up or coat.thin or not colour:
            continue
        area = shapely.intersection(shapely.get_parts(coat.area), board)
        rings = shapely.get_rings(polygons_in(area))
        if len(rings):
            placed = [panel.stands.apply(shapely.get_coordinates(ring)[:-1], height) + look.shift for ring in rings]
            found.append((_lit(bytes.fromhex(colour[1:]), normal), tuple(placed)))
    return tuple(found)


def _blocks_of_bend(part: Part, placed: PlacedLattice, look: Look) -> list[DrawnFace]:
    """Return the faces of narrow blocks round the arc from the parent panel's edge to the child panel's edge."""
    first, last = placed.zone[:2], placed.zone[:1:-1]
    parent, child = part.panels[placed.parent].stands, part.panels[placed.child].stands
    leaves, arrives = (pose.turn[:, :2] @ placed.across for pose in (parent, child))
    lower, upper = (
        _arc(parent.apply(first, height), child.apply(last, height), leaves, arrives) + look.shift
        for height in (_height(part, up=False), _height(part, up=True))
    )
    colours = [_colour_of_bend(part, placed, look, up=up) for up in (True, False)]
    above, below = (tuple(int(_SHADED * channel) for channel in colour) for colour in colours)
    seams = ["#" + "".join(f"{int(_SEAM * channel):02x}" for channel in colour) for colour in colours]
    faces: list[DrawnFace] = []
    for k in range(_BLOCKS):
        top, bottom = (np.array([arc[k, 0], arc[k, 1], arc[k + 1, 1], arc[k + 1, 0]]) for arc in (upper, lower))
        block = _block(top, bottom, above, sides=(1, 3), stroke=seams[0])
        block[1] = replace(block[1], fill=_lit(below, block[1].normal), stroke=seams[1])
        faces += block
    return faces


def _colour_of_bend(part: Part, placed: PlacedLattice, look: Look, *, up: bool) -> Sequence[int]:
    """Return the colour of one face of a lattice, its board's own where it has no paint."""
    coat = coat_of_strip(part, placed, up=up)
    painted = look.paint.colour_of(*coat) if look.paint is not None and coat is not None else ""
    return bytes.fromhex(painted[1:]) or look.colour


def _arc(start: np.ndarray, end: np.ndarray, leaves: np.ndarray, arrives: np.ndarray) -> np.ndarray:
    """Return (blocks + 1, 2, 3) points on the arc that leaves ``start`` and arrives at ``end``, (2, 3) each."""
    angle = float(np.arccos(np.clip(leaves @ arrives, -1.0, 1.0)))
    steps = np.linspace(0.0, 1.0, _BLOCKS + 1)[:, None, None]
    inward = arrives - (arrives @ leaves) * leaves
    size = float(np.linalg.norm(inward))
    if size < ANGLE:
        return start + steps * (end - start)
    radius = np.linalg.norm(end - start, axis=1) / (2 * np.sin(angle / 2))
    along = np.sin(angle * steps) * leaves + (1 - np.cos(angle * steps)) * (inward / size)
    return start + radius[None, :, None] * along


def _block(
    top: np.ndarray,
    bottom: np.ndarray,
    colour: Sequence[int],
    *,
    sides: Iterable[int] = (0, 1, 2, 3),
    stroke: str = STROKE,
) -> list[DrawnFace]:
    """Return the faces of a block: its two four-cornered ones, (4, 3) each in the same order, and the sides named."""
    kept = [0, 1, *(side + 2 for side in sides)]
    ahead = np.roll(np.arange(4), -1)
    rings = np.array([top, bottom, *np.stack([top, top[ahead], bottom[ahead], bottom], axis=1)])[kept]
    normals = np.cross(rings[:, 2] - rings[:, 0], rings[:, 3] - rings[:, 1])
    sizes = np.linalg.norm(normals, axis=1)
    outside = np.einsum("ij,ij->i", normals, rings.mean(axis=1) - (top.mean(axis=0) + bottom.mean(axis=0)) / 2) > 0
    normals = normals / np.where(outside, sizes, -sizes)[:, None]
    return [
        DrawnFace((ring,), looks, _lit(colour, looks), stroke=stroke)
        for ring, looks in zip(rings, normals, strict=True)
    ]


def _lit(colour: Sequence[int], normal: np.ndarray) -> str:
    """Return the fill of a face that looks along its unit normal, (3,)."""
    up = max(0.0, float(normal[2]))
    side = _LIGHT_RIGHT if normal[0] - 0.3 * normal[1] > 0.5 else _LIGHT_LEFT + 0.12 * max(0.0, -float(normal[1]))
    light = up * _LIGHT_UP + (1 - up) * side
    return "#" + "".join(f"{min(255, round(channel * light)):02x}" for channel in colour)
