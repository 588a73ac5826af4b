"""Buildings from values that hypothesis chooses: plan, roof, pitch, overhang, height, board, opening, noise, order."""

from __future__ import annotations

import math

import numpy as np
from drawn_meshes import Drawing, Variant, draw_solid
from hooded_roofs import Roof, eave_plane, grown, hip_hoods, plane_hood
from house_walls import Hole, wall_faces
from hypothesis import strategies as st
from made_buildings import Building
from sound_solids import convex_body
from sound_towers import regular_plan
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.outcome import Proposal, Settings

__all__ = ["houses", "plain_gables", "prisms", "rings"]

SQUARE = 25.4

_boards = st.sampled_from(["birch-plywood-3", "basswood-3.2", "mdf-3", "grey-board-2", "cast-acrylic-3"])
_squares = st.integers(4, 20).map(lambda halves: halves * SQUARE / 2.0)
_heights = st.floats(40.0, 110.0)
_variants = st.builds(
    Variant,
    triangles=st.booleans(),
    shuffled=st.booleans(),
    noise=st.sampled_from([0.0, 1e-5, 1e-3]),
    turn=st.sampled_from([0.0, 0.3, 2.0]),
    offset=st.sampled_from([(0.0, 0.0), (120.0, -75.5)]),
)


def _stored(drawing: Drawing, variant: Variant, board: str, seed: int = 0) -> Building:
    """Return a drawing as a building in a board with everything proposed."""
    solid = draw_solid(drawing, variant, np.random.default_rng(seed), source=drawing.kind)
    stock = find_stock(board, read_stocks())
    kind = {"mesh": "triangles" if variant.triangles else "plain", "building": drawing.kind}
    return Building(0, kind, variant.noise, solid, Settings(stock, stock, stock, stock, propose=Proposal.ALL))


def _rectangle(long: float, wide: float) -> np.ndarray:
    return np.array([(0.0, 0.0), (long, 0.0), (long, wide), (0.0, wide)])


def _with_roof(
    kind: str, plan: np.ndarray, height: float, slope: float, overhang: float, holes: dict[int, Hole]
) -> Drawing:
    """Return walls and a roof of its own over them; ``overhang`` 0 joins the two to one surface."""
    sides = list(zip(plan.tolist(), np.roll(plan, -1, axis=0).tolist(), strict=True))
    ground = grown(plan, overhang)
    if kind == "hip" and len(plan) > 4:
        roof = Roof(hip_hoods(ground, height - slope * overhang, slope))
    elif kind == "flat":
        roof = Roof((plane_hood([np.array([0.0, 0.0, height])]),))
    else:
        chosen = {"hip": range(4), "gable": (0, 2), "lean-to": (0,)}[kind]
        roof = Roof((plane_hood([eave_plane(*sides[k], height, slope) for k in chosen]),))
    walls = wall_faces(roof.tops(plan), holes)
    faces = roof.faces(ground)
    return Drawing(kind, [list(walls), list(faces)] if overhang else [[*walls, *faces]])


@st.composite
def houses(draw: st.DrawFn) -> Building:
    """Houses over a rectangle, an L or a U, with any of four roofs and perhaps a door in the first wall."""
    kind = draw(st.sampled_from(["gable", "hip", "lean-to", "flat"]))
    height, slope = draw(_heights), math.tan(math.radians(draw(st.floats(20.0, 60.0))))
    long, wide, overhang = draw(_squares), draw(_squares), draw(st.sampled_from([0.0, 2.0, 6.0, 12.0]))
    plan = _rectangle(long, wide)
    if kind in ("hip", "flat") and draw(st.booleans()):
        wing, reach = draw(_squares), draw(_squares)
        plan = np.array(
            [(0, 0), (wing + long, 0), (wing + long, wide), (wing, wide), (wing, wide + reach), (0, wide + reach)]
        )
    hole = {0: Hole(20.0, 45.0, 0.0, 30.0)} if draw(st.booleans()) and plan[1][0] >= 70.0 else {}
    return _stored(_with_roof(kind, plan, height, slope, overhang, hole), draw(_variants), draw(_boards))


@st.composite
def plain_gables(draw: st.DrawFn) -> Building:
    """Gable houses in the middle of every range, which nothing should keep from being cut."""
    plan = _rectangle(draw(st.integers(6, 10)) * SQUARE, draw(st.integers(4, 6)) * SQUARE)
    slope = math.tan(math.radians(draw(st.floats(25.0, 45.0))))
    drawing = _with_roof("gable", plan, draw(st.floats(50.0, 80.0)), slope, draw(st.floats(4.0, 8.0)), {})
    variant = Variant(
        False, draw(st.booleans()), draw(st.sampled_from([0.0, 1e-5])), draw(st.floats(0.0, 3.0)), (0.0, 0.0)
    )
    return _stored(drawing, variant, "birch-plywood-3")


@st.composite
def rings(draw: st.DrawFn) -> Building:
    """Walls round a regular plan of 3 to 12 sides, open above."""
    plan = regular_plan(draw(st.integers(3, 12)), draw(st.floats(40.0, 120.0)))
    height = draw(_heights)
    tops = [
        [(*a, height), (*b, height)] for a, b in zip(plan.tolist(), np.roll(plan, -1, axis=0).tolist(), strict=True)
    ]
    return _stored(Drawing("ring", [list(wall_faces(tops, {}))]), draw(_variants), draw(_boards))


@st.composite
def prisms(draw: st.DrawFn) -> Building:
    """Closed prisms, antiprisms and frustums: the hull of a regular plan and another one above it."""
    sides, side, height = draw(st.integers(3, 7)), draw(st.floats(40.0, 80.0)), draw(_heights)
    size, turned = draw(st.sampled_from([0.7, 1.0, 1.2])), draw(st.booleans())
    low, high = regular_plan(sides, side), regular_plan(sides, side * size, math.pi / sides if turned else 0.0)
    points = np.concatenate([np.column_stack([ring, np.full(sides, z)]) for ring, z in ((low, 0.0), (high, height))])
    return _stored(Drawing("prism", [list(convex_body(points))]), draw(_variants), draw(_boards))
