"""Pieces of a coupon: plain boards, slats of a comb, and a bend between two legs."""

from __future__ import annotations

import math

import numpy as np
from shapely.geometry import Polygon, box
from shapely.geometry.polygon import orient

from ..board.lattice import Lattice
from ..board.slits import lay_out_slits
from ..board.stock import Stock
from ..part import FaceUp, LabelSpot, Panel, Part, PartKind, PlacedLattice, frozen, plain_panel
from ..pose import Pose

__all__ = ["bend_piece", "flat_panel", "piece", "slat"]

#: Coupons are cut before everything else.
_STAGE = 0


def piece(name: str, label: str, stock: Stock, outline: Polygon, grain: float | None, **more: object) -> Part:
    """Return a piece that lies where it was cut. more: other fields of ``Part``."""
    return Part(
        id=name,
        label=label,
        kind=PartKind.COUPON,
        stock=stock.name,
        thickness=stock.thickness,
        face_up=FaceUp.OUTSIDE,
        board_side=-1,
        outline=outline,
        panels=more.pop("panels", (flat_panel(outline),)),  # type: ignore[arg-type]
        grain=grain,
        stage=_STAGE,
        **more,  # type: ignore[arg-type]
    )


def flat_panel(outline: Polygon) -> Panel:
    """Return a panel that lies where it was cut."""
    return plain_panel(orient(outline), Pose.identity())


def slat(
    name: str, label: str, stock: Stock, size: tuple[float, float], *, narrow_x: bool, grain: float | None
) -> Part:
    """Return one slat of a comb. size: its true width and length, mm; narrow_x: its width lies along x."""
    width, long = size
    spot = LabelSpot(
        (width / 2, long / 2) if narrow_x else (long / 2, width / 2),
        math.pi / 2 if narrow_x else 0.0,
        long - 6.0,
        width - 3.0,
    )
    outline = box(0.0, 0.0, width, long) if narrow_x else box(0.0, 0.0, long, width)
    return piece(name, label, stock, outline, grain, label_spot=spot)


def bend_piece(
    name: str,
    label: str,
    stock: Stock,
    made: Lattice,
    *,
    leg: float,
    spot: LabelSpot,
    grain: float | None,
    holes: tuple[Polygon, ...] = (),
) -> Part:
    """Return a bend between two legs, whose slits run along y. leg: from the first and last row to the ends, mm."""
    wide, high = made.flat_width + 2.0 * leg, made.axis_length
    outline = Polygon(box(0.0, 0.0, wide, high).exterior, [hole.exterior for hole in holes])
    legs = (box(0.0, 0.0, leg, high), box(leg + made.flat_width, 0.0, wide, high))
    placed = PlacedLattice(
        parent=0,
        child=1,
        host_edges=(),
        origin=frozen(np.array([leg, 0.0])),
        across=frozen(np.array([1.0, 0.0])),
        along=frozen(np.array([0.0, 1.0])),
        angle=made.angle,
        lattice=made,
        slits=lay_out_slits(made),
    )
    return piece(
        name,
        label,
        stock,
        outline,
        grain,
        panels=tuple(flat_panel(leg) for leg in legs),
        lattices=(placed,),
        label_spot=spot,
    )
