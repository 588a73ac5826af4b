"""Laps: a strip under a parted edge, glued under one board, on which the other comes to rest."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry import Polygon

from ..board.lattice import design_lattice, lay_out_slits
from ..board.stock import Stock
from ..tolerance import COPLANAR_ANGLE
from .closing_line import ClosingLine
from .corner import SHARPEST_BEND, bend
from .part import FaceUp, Panel, Part, PartKind, PlacedLattice, frozen
from .settings import BuildSettings

__all__ = ["make_lap"]

#: A lap bends as tightly as its board lets it; nothing stands in its corner, mm.
_RADIUS = 4.0

#: The resting leg is this much shorter at each end, so that it finds its way under the board, mm.
_TAPER = 1.5


def make_lap(line: ClosingLine, settings: BuildSettings, name: str, *, at: float, air: float = 0.0) -> tuple[Part, ...]:
    """Return the lap whose middle is ``at`` mm along the line, or nothing where the boards are too small for it.

    It fills the room-side of both faces: the leg on side a is glued, the one on side b carries. On a
    line without a bend it is a plain strip. ``air`` makes it larger all round, to try a place.
    """
    closure, stock = settings.closure, settings.roof
    size = abs(line.angle)
    if size > SHARPEST_BEND:
        return ()
    half = closure.lap_length / 2 + air
    low, high, reach = at - half, at + half, closure.lap_width + air
    gap = 0.0
    if size > COPLANAR_ANGLE:
        # under the boards the strip bends the other way round than they would
        made = design_lattice(stock, angle=size, axis_length=closure.lap_length, inside_radius=_RADIUS)
        corner = bend(-line.angle, flat_width=made.flat_width, thickness=stock.thickness)
        gap = corner.pull_back
    leg = shapely.box(low, gap + air, high, gap + reach)
    if not all(panel.contains(leg) for panel in line.panels):
        return ()
    one, two = (_stands(line, side, low) for side in (0, 1))
    long = high - low
    if size <= COPLANAR_ANGLE:
        ring = np.array([(0.0, -reach), (long, -reach), (long, reach), (0.0, reach)])
        return (_part(line, stock, name, settings, (_panel(ring, one),), (), low),)
    near = np.array([(0.0, -gap - reach), (long, -gap - reach), (long, -gap), (0.0, -gap)])
    start = corner.flat_width - corner.pull_back
    taper = 0.0 if air else _TAPER
    far = np.array([(0.0, start), (long, start), (long - taper, start + reach), (taper, start + reach)])
    two[:, 3] -= two[:, 1] * corner.gain
    placed = PlacedLattice(
        parent=0,
        child=1,
        host_edges=line.edge.host_edges,
        origin=frozen(np.array([air, -gap])),
        across=frozen(np.array([0.0, 1.0])),
        along=frozen(np.array([1.0, 0.0])),
        angle=-line.angle,
        lattice=made,
        slits=lay_out_slits(made),
    )
    return (_part(line, stock, name, settings, (_panel(near, one), _panel(far, two)), (placed,), low),)


def _stands(line: ClosingLine, side: int, low: float) -> np.ndarray:
    """Return the frame of a leg, (3, 4): x along the line, y from side a to side b, z into the room."""
    away = -line.into[0] if side == 0 else line.into[1]
    return np.column_stack([line.along, away, -line.out[side], line.start + line.along * low])


def _panel(ring: np.ndarray, stands: np.ndarray) -> Panel:
    return Panel(
        facet=-1,
        faces=(),
        ring=frozen(ring),
        holes=(),
        corners=frozen(ring),
        corner_points=frozen(ring @ stands[:, :2].T + stands[:, 3]),
        stands=frozen(stands),
    )


def _part(
    line: ClosingLine,
    stock: Stock,
    name: str,
    settings: BuildSettings,
    panels: tuple[Panel, ...],
    lattices: tuple[PlacedLattice, ...],
    low: float,
) -> Part:
    outline = Polygon(np.vstack([panels[0].ring[:3], *(panel.ring[1:] for panel in panels[1:]), panels[0].ring[3:]]))
    if len(panels) > 1:
        near, far = panels[0].ring, panels[1].ring
        outline = Polygon(np.vstack([near[:3], far[1:], far[:1], near[3:]]))
    what = "flat under" if not lattices else "with one leg flat under"
    note = (
        f"Glue it {what} {line.parts[0]}, across the closure with {line.parts[1]}"
        if line.parts[0] != line.parts[1]
        else f"Glue it {what} {line.parts[0]}, across one of its own closures"
    )
    return Part(
        id=name,
        label=f"Lap {name[1:]}",
        kind=PartKind.LAP,
        stock=stock.name,
        thickness=stock.thickness,
        face_up=FaceUp.ROOM,
        board_side=1,
        outline=outline,
        panels=panels,
        lattices=lattices,
        stage=3,
        notes=(f"{note}, {low:.1f} mm from the end of the edge that is left as seen from the room.",),
    )
