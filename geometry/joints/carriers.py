"""Carriers: small laminated plates in the plane that bisects a closure, with a blind pocket for a magnet each."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry import Point, Polygon
from shapely.geometry.polygon import orient

from ..board.stock import Stock
from ..part import FaceUp, Part, PartKind, frozen, plain_panel
from ..pose import Pose
from ..settings import BuildSettings
from ..units import GRAVITY
from .closing_line import ClosingLine

__all__ = ["KNEE", "knee", "knee_reach", "make_carriers", "upright_board"]

#: Board that stays round a pocket, mm (common practice, no source).
_RIM = 4.0

#: What a pocket is wider than its magnet, mm (common practice, no source).
_EASE = 0.2

#: Half the size of the engraved sign, mm.
_MARK = 1.6

#: Legs of the knee that holds a plate square to its board, mm.
KNEE = 10.0


def make_carriers(
    line: ClosingLine, settings: BuildSettings, name: str, *, at: float, air: float = 0.0, force: float = 0.0
) -> tuple[Part, ...]:
    """Return the six boards of a pair of carriers whose middle is ``at`` mm along the line, or nothing without room.

    Each side has a pocket board toward the other carrier, a back board and a knee behind it. The card
    that covers the pocket fills the first ``cover`` mm from the bisecting plane, so that the covers of a
    pair meet in it. Every board's square-cut top is lowered to where its higher edge touches the board
    above: s * tan(angle / 2) at the distance s from the bisecting plane. ``air`` makes the boards larger
    at their ends and foot, to try a place; force: what the pair must hold, N, for the note.
    """
    closure, stock = settings.closure, settings.joiners
    slope = math.tan(line.angle / 2)
    layers = [
        ("pocket", closure.cover, closure.cover + stock.thickness),
        ("back", closure.cover + stock.thickness, closure.cover + 2 * stock.thickness),
    ]
    deepest = max(max(low * slope, high * slope) for _, low, high in layers)
    wide = closure.magnet_diameter + 2 * _RIM + 2 * air
    foot = deepest + wide + air  # depth of the common lower edge below the line
    behind = layers[-1][2]
    # on the board, from the line: the foot of the carrier and the leg of the knee
    reach = knee_reach(line.angle, behind) + air
    if not all(panel.contains(shapely.box(at - wide / 2, _RIM, at + wide / 2, reach)) for panel in line.panels):
        return ()
    parts = []
    for side, letter in ((0, "a"), (1, "b")):
        away = line.across * (-1.0 if side == 0 else 1.0)
        across = np.cross(-line.down, away)
        middle = line.start + line.along * at
        for role, low, high in layers:
            top = max(low * slope, high * slope)
            origin = middle - across * wide / 2 + line.down * foot + away * low
            stands = Pose.of(across, -line.down, away, origin)
            centre = Point(wide / 2, air + _RIM + closure.magnet_diameter / 2)
            hole = centre.buffer((closure.magnet_diameter + _EASE) / 2, quad_segs=16) if role == "pocket" else Polygon()
            outline = shapely.box(0.0, 0.0, wide, foot - top).difference(hole)
            words = f"Carrier {name[1:]}{letter} {role} board"
            note = _note(line, side, at, force)
            kind = PartKind.CARRIER
            # the back's outer face is the one that stays in sight
            mark = _polarity(np.array([wide - air - _RIM, air + _RIM]), plus=side == 0) if role == "back" else ()
            parts.append(
                upright_board(f"{name}{letter}-{role}", words, kind, stock, outline, stands, note, engrave=mark)
            )
        parts.append(knee(line, stock, f"{name}{letter}", "carrier", side, middle, behind, foot, kind=PartKind.CARRIER))
    return tuple(parts)


def knee_reach(angle: float, behind: float, leg: float = KNEE) -> float:
    """Return how far up a board, mm from the line, the knee of a plate reaches whose back is ``behind`` mm off."""
    return behind / math.cos(angle / 2) + leg


def knee(
    line: ClosingLine,
    stock: Stock,
    name: str,
    what: str,
    side: int,
    middle: np.ndarray,
    behind: float,
    foot: float,
    *,
    kind: PartKind,
    leg: float = KNEE,
) -> Part:
    """Return the triangle between the back of an upright plate and the board above.

    what: the plate's word in labels; name: its id; middle: (3,) mm, the point of the line before it; behind:
    how far from the bisecting plane its back lies; foot: depth of its lower edge; leg: of the triangle, mm.
    """
    away = line.across * (-1.0 if side == 0 else 1.0)
    z = np.cross(away, -line.down)
    origin = middle - z * stock.thickness / 2
    stands = Pose.of(away, -line.down, z, origin)
    half = line.angle / 2
    top = behind * math.tan(half)
    ring = np.array(
        [
            (behind, -top),
            (behind, -top - min(leg, foot - top)),
            (behind + leg * math.cos(half), -top - leg * math.sin(half)),
        ]
    )
    note = (
        f"It stands square between the back of {what} {name[1:]} and {line.parts[side]} and gives the {what} its "
        f"slant of {90 - math.degrees(half):.1f} degrees."
    )
    words = f"{what.capitalize()} {name[1:]} knee"
    return upright_board(f"{name}-knee", words, kind, stock, Polygon(ring), stands, note)


def _note(line: ClosingLine, side: int, at: float, force: float) -> str:
    grams = force / GRAVITY * 1000.0
    return (
        f"Under {line.parts[side]}, its middle {at:.1f} mm from the end of the closure that is left as seen from the "
        f"room; the pair must hold {force:.2f} N, the weight of {grams:.0f} g."
    )


def _polarity(centre: np.ndarray, *, plus: bool) -> tuple[np.ndarray, ...]:
    """Return the engraved sign of a carrier: a plus where the marked pole faces the pair, a minus where it turns away.

    centre: (2,) mm.
    """
    level, upright = (centre + np.array([[-x, -y], [x, y]]) for x, y in ((_MARK, 0.0), (0.0, _MARK)))
    return (level, upright) if plus else (level,)


def upright_board(
    name: str,
    label: str,
    kind: PartKind,
    stock: Stock,
    outline: Polygon,
    stands: Pose,
    note: str,
    *,
    engrave: tuple[np.ndarray, ...] = (),
) -> Part:
    """Return a part that stands as ``stands`` says and fills z = 0 .. thickness of that frame.

    outline, engrave: in that frame's plane, mm.
    """
    outline = orient(outline)
    corner = np.array(outline.bounds[:2])
    outline = shapely.transform(outline, lambda points: points - corner)
    return Part(
        id=name,
        label=label,
        kind=kind,
        stock=stock.name,
        thickness=stock.thickness,
        face_up=FaceUp.ROOM,
        board_side=1,
        outline=outline,
        panels=(plain_panel(outline, stands.moved_to(corner)),),
        engrave=tuple(frozen(line - corner) for line in engrave),
        stage=3,
        notes=(note,),
    )
