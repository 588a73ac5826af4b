"""Parts made by hand, with lattices laid out by the published arithmetic and not by our own designer."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import shapely
from shapely.geometry import Polygon, box
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.board.lattice import Lattice
from stowfold.geometry.board.slits import SlitLayout
from stowfold.geometry.board.stock import Grain, Stock
from stowfold.geometry.errors import CancelledError
from stowfold.geometry.part import FaceUp, LabelSpot, Part, PartKind, PlacedLattice
from stowfold.geometry.progress import Progress
from stowfold.geometry.sheet.layout import Layout, Placement, Sheet


class Waiting(Progress):
    """Notes every share that it is told, and gives the work up once it has been told ``most`` of them."""

    def __init__(self, most: float = math.inf) -> None:
        self.told: list[float] = []
        self.most = most

    def tell(self, share: float) -> None:
        self.told.append(share)
        if len(self.told) > self.most:
            raise CancelledError("nobody waits any more")


def make_stock(name: str = "birch-plywood-3", **changes: Any) -> Stock:
    """Birch plywood of 3 mm on sheets of 600 x 300 mm; ``changes`` are fields of a stock."""
    return replace(
        Stock(
            name=name,
            label="Birch plywood 3 mm",
            thickness=3.0,
            thickness_tolerance=0.2,
            kerf=0.2,
            shear_modulus=650.0,
            elastic_modulus=9000.0,
            shear_limit=3.0,
            cross_tension=5.0,
            link_width=0.8,
            bridge=2.1,
            sheet=(600.0, 300.0),
            grain=Grain.CROSSED,
        ),
        **changes,
    )


def make_part(name: str, outline: Polygon, **changes: Any) -> Part:
    """A flat wall of an outline in mm, outside up; ``changes`` are fields of a part."""
    return replace(
        Part(
            id=name,
            label=f"Wall section {name}",
            kind=PartKind.WALL,
            stock="birch-plywood-3",
            thickness=3.0,
            face_up=FaceUp.OUTSIDE,
            board_side=1,
            outline=outline,
            panels=(),
        ),
        **changes,
    )


def make_lattice(
    x: float,
    height: float,
    *,
    rows: int = 13,
    opening: float = 0.4,
    link_width: float = 0.8,
    slits: int = 2,
    bridge: float = 3.0,
    through: bool = False,
) -> PlacedLattice:
    """A lattice with an upright axis from y = 0 to ``height``: closed rows alternate with rows open at both ends."""
    slit = (height - 2 * bridge - (slits - 1) * bridge) / slits
    period, pitch = slit + bridge, link_width + opening
    across, start, end, open_start, open_end = [], [], [], [], []
    for row in range(rows):
        if row % 2 == 0:
            spans = [(bridge + i * period, bridge + i * period + slit) for i in range(slits)]
        else:
            middles = [bridge + slit / 2 + i * period for i in range(slits)]
            edges = [0.0, *(v for m in middles for v in (m - bridge / 2, m + bridge / 2)), height]
            spans = [(0.0, height)] if through else list(zip(edges[::2], edges[1::2], strict=True))
        for low, high in spans:
            across.append(row * pitch)
            start.append(low)
            end.append(high)
            open_start.append(low == 0.0)
            open_end.append(high == height)
    layout = SlitLayout(*(np.array(v) for v in (across, start, end, open_start, open_end)))
    width = (rows - 1) * pitch
    unused = dict.fromkeys(
        ("twist", "shear", "shear_limit", "bridge_stress", "bridge_limit", "moment", "inside_radius"), 1.0
    )
    lattice = Lattice(
        angle=math.pi / 2, axis_length=height, thickness=3.0, rows=rows, links=rows - 1, slits=slits, slit=slit,
        bridge=bridge, edge_bridge=bridge, pitch=pitch, link_width=link_width, opening=opening, flat_width=width,
        neutral_radius=width / (math.pi / 2), contact_twist=None, **unused,
    )  # fmt: skip
    return PlacedLattice(
        0, 1, (7,), np.array([x, 0.0]), np.array([1.0, 0.0]), np.array([0.0, 1.0]), math.pi / 2, lattice, layout
    )


def make_wall(name: str = "W1", length: float = 500.0, height: float = 62.0, **changes: Any) -> Part:
    """A wall with two flex corners, a window, tabs below and a label spot at its left end; not symmetric."""
    outline = shapely.union_all(
        [box(0, 0, length, height), *(box(x, -2.8, x + 15, 0) for x in (30, 0.5 * length, length - 60))]
    ).difference(box(40, 25, 65, 50))
    lattices = (make_lattice(0.25 * length, height), make_lattice(0.7 * length, height))
    values: dict[str, object] = {
        "lattices": lattices,
        "engrave": (np.array([[80.0, 10.0], [100.0, 10.0]]), np.array([[80.0, 20.0], [100.0, 20.0], [100.0, 30.0]])),
        "label_spot": LabelSpot((7.0, 30.0), math.pi / 2, 50.0, 8.0),
    }
    return make_part(name, outline, **(values | changes))


def make_building() -> list[Part]:
    """Parts of the canal's grain store: walls, joiners, a floor with slots, a roof, stops."""
    floor = box(0, 0, 250, 170)
    for x in (30.0, 120.0, 200.0):
        floor = floor.difference(box(x, 8, x + 15.8, 11.2))
    grid = tuple(np.array([[25.4 * i, 5.0], [25.4 * i, 165.0]]) for i in range(1, 9))
    roof = Polygon([(0, 0), (260, 0), (230, 90), (30, 90)])
    parts = [
        make_wall("W1", 420.0),
        make_wall("W2", 420.0),
        make_part("F1", floor, kind=PartKind.FLOOR, face_up=FaceUp.ROOM, stage=2, engrave=grid),
        make_part("R1", roof, kind=PartKind.ROOF, stage=3),
        make_part("R2", roof, kind=PartKind.ROOF, stage=3),
    ]
    for i in range(1, 3):
        parts.append(
            make_part(f"J{i}", box(0, 0, 14, 62), kind=PartKind.CORE, label_spot=LabelSpot((7, 31), 1.5708, 40, 10))
        )
        parts += [make_part(f"J{i}{side}", box(0, 0, 30, 62), kind=PartKind.CHEEK) for side in "ab"]
    parts += [make_part(f"S{i}", box(0, 0, 60, 10), kind=PartKind.STOP, stage=3) for i in (1, 2)]
    return parts


def make_one_sheet(*places: tuple[Any, ...], laser: Laser | None = None) -> Layout:
    """A sheet with parts at places chosen by hand: (id, (x, y)) or (id, (x, y), turn)."""
    placements = tuple(
        Placement(name, 0, turn[0] if turn else 0.0, np.array(shift, dtype=float)) for name, shift, *turn in places
    )
    sheet = Sheet(make_stock(), laser or Laser(), (600.0, 300.0), 0.0, "sheet-01.svg")
    return Layout((sheet,), placements, (1, ""), ())
