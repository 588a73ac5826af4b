"""Block-outs: plans on the squares, roofs against the figures of a framing square, and what cannot be built."""

from __future__ import annotations

import math

import numpy as np
import pytest
from marked_roofs import marked_block_out
from shapely import Polygon
from slow_cases import one_quick
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.plan.walls import PlanKind, Roof, RoofKind, block_out, outline_of, pitch_of_rise
from stowfold.geometry.solid.facets import ShellKind
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, make_solid

SQUARE = 25.4
SIZES = {"length": 9, "width": 7, "bar": 3, "wing": 2, "square": SQUARE}
OBLONG = outline_of(PlanKind.RECTANGLE, length=11, width=7, square=SQUARE)
QUADRATE = outline_of(PlanKind.RECTANGLE, length=6, width=6, square=SQUARE)


def solid_of(block):
    return make_solid(block.points, block.faces, roles=dict(block.roles))


def roof_edges(block):
    """Return the marked edges of the roof with their lengths, mm, and dihedral angles, degrees."""
    facets = find_facets(solid_of(block))
    roof = next(shell for shell in facets.shells if shell.kind is ShellKind.ROOF)
    return [
        (
            edge.role,
            float(np.linalg.norm(facets.points[edge.end] - facets.points[edge.start])),
            180 - math.degrees(edge.angle),
        )
        for edge in facets.edges
        if edge.left in roof.facets and edge.right is not None
    ]


@pytest.mark.parametrize(
    ("kind", "squares", "corners"),
    # areas counted on squared paper: bar 9 x 3, each wing 2 x 4
    [
        *((PlanKind.RECTANGLE, 63, 4), (PlanKind.L, 35, 6), (PlanKind.T, 35, 8), (PlanKind.U, 43, 8)),
        # bars 5.5 x 3 and 5.5 x 4; bar 9 x 3 and 2 x 2 before and behind it
        *((PlanKind.Z, 38.5, 8), (PlanKind.PLUS, 35, 12)),
    ],
)
def test_a_sized_plan_covers_its_squares_and_every_corner_flexes(kind, squares, corners):
    plan = outline_of(kind, **SIZES)
    assert Polygon(plan).is_valid
    assert Polygon(plan).area / SQUARE**2 == pytest.approx(squares)
    block = block_out(plan[::-1])
    facets = find_facets(solid_of(block))
    assert len(facets.facets) == corners
    assert [shell.kind for shell in facets.shells] == [ShellKind.WALLS]
    assert not facets.findings
    bends = [edge.angle for edge in facets.edges if edge.role is Role.FLEX]
    assert len(bends) == corners
    assert sum(bends) == pytest.approx(2 * math.pi)


# Framing-square tables, inches per foot of run: common rafter 13.42, 14.42, 16.97 and hip 18.00, 18.76, 20.78;
# the angles are those of trigonometry: ridge 180 - 2 pitch, hip by cos(fold) = cos^2(pitch) (Griffith, Carpentry,
# takes the hip as the diagonal of a square prism), backing sin(b) = sin(pitch) / sqrt(2).
FRAMING = [(6, 13.42, 18.00), (8, 14.42, 18.76), (12, 16.97, 20.78)]


@pytest.mark.parametrize(("rise", "common", "hip"), FRAMING)
def test_a_hip_roof_has_the_rafters_of_the_framing_square(rise, common, hip):
    pitch = pitch_of_rise(rise)
    block = marked_block_out(OBLONG, roof=Roof(RoofKind.HIP, pitch, 6.0))
    run = (3.5 * SQUARE + 6.0) / 12
    edges = roof_edges(block)
    ridge = min(edges, key=lambda edge: edge[2])
    assert ridge[0] is Role.FLEX
    assert ridge[1] == pytest.approx(4 * SQUARE)
    assert ridge[2] == pytest.approx(180 - 2 * math.degrees(pitch))
    hips = [edge for edge in edges if edge is not ridge]
    assert sorted(role for role, _, _ in hips) == [Role.FLEX, Role.FLEX, Role.CLOSURE, Role.CLOSURE]
    backing = math.degrees(math.asin(math.sin(pitch) / math.sqrt(2)))
    for _, length, dihedral in hips:
        assert length / run == pytest.approx(hip, abs=0.005)
        assert dihedral == pytest.approx(180 - math.degrees(math.acos(math.cos(pitch) ** 2)))
        assert dihedral == pytest.approx(180 - 2 * backing)
    gable = block_out(OBLONG, roof=Roof(RoofKind.GABLE, pitch, 6.0))
    slope = gable.faces[-2]
    assert math.dist(gable.points[slope[1]], gable.points[slope[2]]) / run == pytest.approx(common, abs=0.005)


def test_the_underside_of_a_roof_passes_through_the_tops_of_the_eave_walls():
    block = block_out(OBLONG, height=62.0, roof=Roof(RoofKind.HIP, pitch_of_rise(8), 6.0))
    a, b, c = (block.points[k] for k in block.faces[4][:3])
    normal = np.cross(b - a, c - a)
    for corner in ((0.0, 0.0, 62.0), (11 * SQUARE, 0.0, 62.0)):
        assert abs(normal @ (np.array(corner) - a)) / np.linalg.norm(normal) < 1e-12
    walls, roof = block.faces[:4], block.faces[4:]
    assert not {p for face in walls for p in face} & {p for face in roof for p in face}


def test_break_spots_part_a_wall_also_under_a_gable():
    roof = Roof(RoofKind.GABLE, pitch_of_rise(8), 6.0)
    block = block_out(OBLONG, roof=roof, breaks=((100.0, 0.0), (0.0, 50.0), (10.0, 10.0)))
    breaks = [pair for pair, role in block.roles if role is Role.BREAK]
    tops = sorted(max(block.points[k][2] for k in pair) for pair in breaks)
    assert tops == pytest.approx([62.0, 62.0 + 50.0 * 8 / 12])


@pytest.mark.parametrize("plan", [OBLONG, QUADRATE], ids=["oblong", "square"])
@pytest.mark.parametrize("kind", one_quick([RoofKind.GABLE, RoofKind.HIP]))
def test_a_blocked_out_building_proves_with_proposed_marks(plan, kind):
    stock = find_stock("birch-plywood-3", read_stocks())
    settings = Settings(stock, stock, stock, stock, propose=Proposal.ALL)
    outcome = run(solid_of(block_out(plan, roof=Roof(kind, pitch_of_rise(8), 6.0))), settings, title="house")
    assert [finding.message for finding in outcome.findings if finding.severity.value == "error"] == []
    assert outcome.proof.holds
    assert outcome.proof.closure_distance is None or outcome.proof.closure_distance < 1e-9
    assert outcome.layout.sheets


BAD = [
    ([(0, 0), (100, 0), (100, 0), (100, 100), (0, 100)], {}, "has no length"),
    ([(0, 0), (100, 0)], {}, "2 corners"),
    ([(0, 0), (100, 0), (0, 100), (100, 100)], {}, "cross or touch"),
    ([(0, 0), (100, 0), (100, 80), (50, 0), (0, 80)], {}, "cross or touch"),
    ([(0, 0), (100, 0), (100, 80), (50, 80), (50, -20), (0, -20)], {}, "cross or touch"),
    ([(0, 0), (100, 0), (60, 0), (60, 50), (0, 50)], {}, "runs back on itself"),
    ([(0, 0), (math.nan, 0), (100, 100), (0, 100)], {}, "no number"),
    (QUADRATE, {"height": 0.0}, "higher than 0"),
    (QUADRATE, {"height": math.nan}, "higher than 0"),
    (QUADRATE, {"roof": Roof(RoofKind.HIP, 0.0)}, "pitch is 0 degrees"),
    (QUADRATE, {"roof": Roof(RoofKind.GABLE, math.pi / 2)}, "pitch is 90 degrees"),
    (QUADRATE, {"roof": Roof(RoofKind.GABLE, overhang=100.0)}, "overhang is 100 mm"),
    (QUADRATE, {"roof": Roof(RoofKind.GABLE, overhang=0.0)}, "overhang is 0 mm"),
    (QUADRATE, {"roof": Roof(RoofKind.GABLE, overhang=-1.0)}, "overhang is -1 mm"),
    (QUADRATE, {"height": 20.0, "roof": Roof(RoofKind.GABLE, overhang=40.0)}, "eaves would hang"),
    (QUADRATE, {"roof": Roof(RoofKind.GAMBREL, lower_pitch=math.pi / 2)}, "lower pitch is 90 degrees"),
    (QUADRATE, {"roof": Roof(RoofKind.MANSARD, pitch_of_rise(14), lower_pitch=math.radians(40))}, "steep ones"),
    (QUADRATE, {"roof": Roof(RoofKind.HALF_HIP, lower_share=1.0)}, "lower share is 1"),
    (outline_of(PlanKind.L, **SIZES), {"roof": Roof(RoofKind.PYRAMID)}, "without inner corners"),
    (outline_of(PlanKind.U, **{**SIZES, "wing": 4}), {"roof": Roof(RoofKind.HIP, overhang=20.0)}, "closes the court"),
    ([(0, 0), (90, 0), (90, 90), (50, 40), (0, 90)], {"roof": Roof(RoofKind.CROSSING)}, "square corners"),
    (outline_of(PlanKind.Z, **SIZES), {"roof": Roof(RoofKind.CROSSING)}, "no free ends"),
    ([(0, 0), (90, 0), (90, 40), (160, 43), (90, 46), (90, 90), (0, 90)], {}, r"\(160, 43\) mm meet at 4\.9 degrees"),
    ([(0, 0), (90, 0), (90, 40), (20, 43), (90, 46), (90, 90), (0, 90)], {}, r"\(20, 43\) mm meet at 4\.9 degrees"),
]


@pytest.mark.parametrize(("plan", "options", "words"), BAD)
def test_what_cannot_be_built_is_said_in_one_sentence(plan, options, words):
    with pytest.raises(BadSettingError, match=words) as caught:
        block_out(plan, **options)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("sizes", "words"),
    [({"length": 0}, "length"), ({"bar": 7}, "bar"), ({"wing": 4.5}, "wing")],
)
def test_sizes_that_leave_nothing_of_the_shape_are_refused(sizes, words):
    with pytest.raises(BadSettingError, match=words):
        outline_of(PlanKind.U, **{**SIZES, **sizes})
