"""Small outcomes made by hand: a toll house's corner with a joiner, on a floor; and nothing but a finding."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
from parts_by_hand import make_part, make_stock
from shapely.geometry import Polygon, box
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.board.lattice import Lattice
from stowfold.geometry.board.slits import SlitLayout
from stowfold.geometry.board.stock import Stock
from stowfold.geometry.findings import Finding, Location, Severity
from stowfold.geometry.outcome import Outcome, Settings
from stowfold.geometry.part import FaceUp, Joiner, Panel, Part, PartKind, PlacedLattice, Tab
from stowfold.geometry.pose import Pose
from stowfold.geometry.proof.proof import LoopTolerance, Proof
from stowfold.geometry.sheet.layout import Layout, Placement, Sheet
from stowfold.geometry.solid.facets import Facets
from stowfold.geometry.stow.stow import Stow, stow_away

HEIGHT, LONG, DEEP, T = 70.0, 150.0, 100.0, 3.0
LINKS, PITCH = 8, 2.0
WIDTH = LINKS * PITCH
RADIUS = WIDTH / (math.pi / 2)
PULL = RADIUS - T / 2  # setback at 90 degrees: R tan 45
BREAK = 7.25


def stock(name: str = "ply-3", **changes: Any) -> Stock:
    """A board softer in shear and stronger than that of the parts by hand, so that numbers tell them apart."""
    board = make_stock(name, shear_modulus=600.0, shear_limit=7.0, cross_tension=12.0, link_width=1.0, bridge=2.0)
    return replace(board, **changes)


def panel(ring: np.ndarray, stands: Pose, holes: tuple[np.ndarray, ...] = (), faces: tuple[int, ...] = (0,)) -> Panel:
    return Panel(0, faces, np.asarray(ring, float), holes, np.zeros((0, 2)), np.zeros((0, 3)), stands)


def rectangle(x0: float, y0: float, x1: float, y1: float) -> np.ndarray:
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])


def stands(u: tuple, v: tuple, origin: tuple) -> Pose:
    return Pose.of(u, v, np.cross(u, v), origin)


FRONT = stands((1, 0, 0), (0, 0, 1), (0, 0, 0))


def make_piece(part_id: str, kind: PartKind, outline: Polygon, panels: tuple[Panel, ...], **changes: Any) -> Part:
    """A part of board "ply-3", cut with its outside up."""
    label = f"{kind.value} {part_id}"
    return replace(make_part(part_id, outline, kind=kind, panels=panels, label=label, stock="ply-3"), **changes)


def lattice() -> Lattice:
    return Lattice(
        angle=math.pi / 2, axis_length=HEIGHT, thickness=T, rows=LINKS + 1, links=LINKS, slits=2, slit=30.0, bridge=3.0,
        edge_bridge=3.0, pitch=PITCH, link_width=1.2, opening=0.8, flat_width=WIDTH, neutral_radius=RADIUS,
        inside_radius=PULL, twist=math.pi / 2 / LINKS, contact_twist=None, shear=5.0, shear_limit=7.0,
        bridge_stress=2.0, bridge_limit=12.0, moment=9.5,
    )  # fmt: skip


def corner_section() -> Part:
    """The section W1: front panel with a window, lattice, side panel; turns the corner at x = LONG."""
    edge = LONG - PULL
    start = edge + WIDTH
    end = start + DEEP - PULL
    side = stands((0, 1, 0), (0, 0, 1), (LONG, PULL - start, 0))
    window = rectangle(60, 25, 90, 50)[::-1]
    across = np.repeat(np.arange(LINKS + 1) * PITCH, 2)
    slits = SlitLayout(
        across=across,
        start=np.tile([3.0, 36.0], LINKS + 1),
        end=np.tile([33.0, 67.0], LINKS + 1),
        open_start=np.zeros(len(across), bool),
        open_end=np.zeros(len(across), bool),
    )
    bend = PlacedLattice(
        parent=0,
        child=1,
        host_edges=(11, 12),
        origin=np.array([edge, 0.0]),
        across=np.array([1.0, 0.0]),
        along=np.array([0.0, 1.0]),
        angle=math.pi / 2,
        lattice=lattice(),
        slits=slits,
    )
    tabs = [box(40, -2.8, 55, 0), box(110, -2.8, 125, 0)]
    outline = Polygon(rectangle(BREAK, 0, end, HEIGHT), [window])
    for tab in tabs:
        outline = outline.union(tab)
    return make_piece(
        "W1",
        PartKind.WALL,
        outline,
        (
            panel(rectangle(BREAK, 0, edge, HEIGHT), FRONT, (window,), (3, 1)),
            panel(rectangle(start, 0, end, HEIGHT), side, (), (5,)),
        ),
        lattices=(bend,),
        engrave=(np.array([[20.0, 10.0], [50.0, 10.0]]),),
        grain=math.pi / 2,
    )


def joiner_parts() -> tuple[Part, ...]:
    core = panel(rectangle(-7, 0, 7, HEIGHT), FRONT)
    outer = panel(rectangle(-15, 0, 15, HEIGHT), stands((1, 0, 0), (0, 0, 1), (0, -T - 0.28, 0)))
    inner = panel(rectangle(-15, 0, 15, HEIGHT), stands((-1, 0, 0), (0, 0, 1), (0, 0, 0)))
    return (
        make_piece("J1-core", PartKind.CORE, Polygon(core.ring).union(box(-6.5, -2.8, 6.5, 0)), (core,)),
        make_piece("J1-inner", PartKind.CHEEK, Polygon(inner.ring), (inner,), face_up=FaceUp.ROOM),
        make_piece("J1-outer", PartKind.CHEEK, Polygon(outer.ring), (outer,)),
    )


def floor() -> tuple[Part, tuple[Tab, ...]]:
    low = (-90.0, -12.0)
    ring = rectangle(0, 0, 252, 124)
    slots, tabs = [], []
    for at in (40.0, 110.0):
        tab = np.array([[at, -T, 0], [at + 15, -T, 0], [at + 15, 0, 0], [at, 0, 0]])
        slot = tab + np.array([[-0.4, -0.1, 0], [0.4, -0.1, 0], [0.4, 0.1, 0], [-0.4, 0.1, 0]])
        tabs.append(Tab("W1", "F1", tab, slot, (0.2, 0.8)))
        slots.append((slot[:, :2] - low)[::-1])
    stand = Pose.identity().moved_to(low)
    grid = tuple(np.array([[90 + k * 25.4, 13.0], [90 + k * 25.4, 112.0]]) for k in range(6))
    part = make_piece(
        "F1", PartKind.FLOOR, Polygon(ring, slots), (panel(ring, stand, tuple(slots), ()),), board_side=-1,
        face_up=FaceUp.ROOM, engrave=grid, stage=2,
    )  # fmt: skip
    return part, tuple(tabs)


def make_seconds(**seconds: float) -> dict[str, float]:
    named = dict.fromkeys(("fill", "engrave", "score", "slits", "inner", "outer", "travel"), 0.0) | seconds
    return {**named, "total": sum(named.values())}


def make_outcome(title: str = "Toll house", **changes: Any) -> Outcome:
    """A corner of a toll house: a bent section, a flat one, the joiner between them, and a floor."""
    flat = make_piece(
        "W2", PartKind.WALL, box(-80, 0, -BREAK, HEIGHT), (panel(rectangle(-80, 0, -BREAK, HEIGHT), FRONT),)
    )
    ground, tabs = floor()
    parts = (corner_section(), flat, *joiner_parts(), ground)
    joiner = Joiner(
        id="J1", core="J1-core", cheeks=("J1-outer", "J1-inner"), ends=("W2", "W1"), end_facets=(0, 0),
        line=np.array([[0.0, 0.0, 0.0], [0.0, 0.0, HEIGHT]]), core_width=14.0, cheek_width=30.0, gap=0.25, engaged=7.75,
        height=HEIGHT, channel=3.28, shim=0.28, host_edges=(7,),
    )  # fmt: skip
    ply = stock()
    spots = [("W1", 0, 0.0, (10, 10)), ("W2", 0, math.pi / 2, (400, 110)), ("J1-core", 0, 0.0, (300, 20)),
             ("J1-inner", 0, 0.0, (340, 20)), ("J1-outer", 0, 0.0, (380, 20)), ("F1", 1, 0.0, (10, 10))]  # fmt: skip
    placements = tuple(Placement(name, sheet, turn, np.array(shift, float)) for name, sheet, turn, shift in spots)
    sheets = tuple(Sheet(ply, Laser(), (600.0, 300.0), share, f"sheet-{k}.svg") for k, share in ((1, 0.2), (2, 0.17)))
    loop = LoopTolerance(("W1", "W2"), (("board", 0.2), ("kerf", 0.1)), 0.3, 0.8)
    warp = Finding(Severity.WARNING, "warp", "The floor may warp.", Location(faces=(4,), source="toll", part="F1"))
    stay = Finding(Severity.NOTE, "unattended-laser", "Stay with the laser.", Location(point=(1.0, 2.0, 3.0)))
    return replace(
        Outcome(
            title=title,
            settings=Settings(walls=ply, roof=stock("ply-2", thickness=2.0), floor=ply, joiners=ply),
            facets=Facets(np.zeros((0, 3)), (), (), (), (), 0.0, ()),
            parts=parts,
            joiners=(joiner,),
            tabs=tabs,
            proof=Proof(0.0, 3e-13, None, 1e-12, 0.0, None, 0.0, 1e-3, (loop,), ()),
            stow=stow_away(parts, (joiner,), (242.0, 100.0, HEIGHT)),
            layout=Layout(sheets, placements, (1, "area"), ()),
            lines=({}, {}),
            sheet_seconds=(make_seconds(engrave=12.0, slits=130.0, outer=200.0), make_seconds(outer=45.0)),
            findings=(warp, stay),
        ),
        **changes,
    )


def make_empty(**changes: Any) -> Outcome:
    """Nothing but a finding: what comes out when no part can be made."""
    told = Finding(Severity.ERROR, "flex-loop", "Four corners bend and nothing parts; mark a break.")
    nothing = make_outcome(
        parts=(),
        joiners=(),
        tabs=(),
        proof=Proof(2e-5, None, None, None, None, None, None, 1e-3, (), ()),
        stow=Stow(0.0, (0.0, 0.0, 0.0), math.inf),
        layout=Layout((), (), (0, "nothing to cut"), ()),
        lines=(),
        sheet_seconds=(),
        findings=(told,),
    )
    return replace(nothing, **changes)
