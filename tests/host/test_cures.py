"""Cures: one click changes one thing, the finding is gone after the next check, and undo takes it back."""

from __future__ import annotations

import math

import bpy
import pytest
from host_window import do, keep_step, redo, undo
from stowfold.geometry.part import PartKind
from stowfold.jobs import results
from stowfold.proof import lines


def _line(code):
    return next((line for line in lines.lines_of(results.latest()) if line.key.startswith(f"{code}:")), None)


def _run(cure):
    return do(getattr(bpy.ops.stowfold, cure.operator.removeprefix("stowfold.")), **dict(cure.values))


def test_the_radius_that_the_board_bends_to_is_taken(add_ring):
    add_ring()
    ours = bpy.context.scene.stowfold
    ours.inside_radius = 1.0
    bpy.ops.stowfold.check()
    line = _line("corner-radius-wide")
    keep_step()
    do(bpy.ops.stowfold.take_radius, **dict(line.cure.values))
    wider = bpy.context.scene.stowfold.inside_radius
    assert 1.0 < wider < 20.0 and f"{wider:g} mm" in line.cure.label
    bpy.ops.stowfold.check()
    assert _line("corner-radius-wide") is None
    undo()
    assert bpy.context.scene.stowfold.inside_radius == 1.0
    redo()
    assert bpy.context.scene.stowfold.inside_radius == wider


@pytest.fixture
def house_with_a_door_on_a_break():
    """A house whose front door stands across the line where its wall parts."""
    bpy.ops.stowfold.add_building(length=9.0, width=6.0, roof="NONE")
    house = bpy.context.object
    bpy.context.view_layer.update()
    bpy.ops.stowfold.add_opening(kind="DOOR")
    door = bpy.context.object
    edges = [
        edge
        for edge, role in zip(house.data.edges, house.data.attributes["stowfold_role"].data, strict=True)
        if role.value == 2
    ]
    front = min(edges, key=lambda edge: house.data.vertices[edge.vertices[0]].co.y)
    door.location = house.matrix_world @ house.data.vertices[front.vertices[0]].co
    door.location.z = 0.0
    bpy.context.view_layer.update()
    return house


@pytest.mark.slow
def test_a_break_is_moved_off_the_door(house_with_a_door_on_a_break):
    bpy.ops.stowfold.check()
    line = _line("opening-over-break")
    assert line.cure.label == "Move the Break"
    keep_step()
    do(bpy.ops.stowfold.move_break, **dict(line.cure.values))
    bpy.ops.stowfold.check()
    report = results.latest()
    assert not results.errors_in(report) and report.outcome.joiners
    marked = _roles()
    undo()
    assert _roles() != marked
    redo()
    assert _roles() == marked


def _roles():
    return [role.value for role in bpy.data.objects["House"].data.attributes["stowfold_role"].data]


@pytest.mark.slow
def test_caps_are_cut_over_a_hole_in_the_roof():
    bpy.ops.stowfold.add_building(plan="L", length=9.0, width=7.0, roof="HIP", angle=math.radians(40.0))
    bpy.ops.stowfold.check()
    line = _line("hole-at-peak")
    assert line.cure.label == "Cut Roof Caps"
    keep_step()
    assert not any(part.kind is PartKind.CAP for part in results.latest().outcome.parts)
    _run(line.cure)
    bpy.ops.stowfold.check()
    assert any(part.kind is PartKind.CAP for part in results.latest().outcome.parts)
    # what is left has no cap to offer any more
    left = _line("hole-at-peak")
    assert left is None or left.cure is None
    undo()
    assert not bpy.context.scene.stowfold.caps
    redo()
    assert bpy.context.scene.stowfold.caps


@pytest.mark.slow
def test_walls_too_high_for_a_hand_are_lowered():
    bpy.ops.stowfold.add_building(length=6.0, width=5.0, height=120.0, roof="NONE")
    bpy.context.view_layer.update()
    bpy.ops.stowfold.add_table()
    bpy.ops.stowfold.propose_seats(number=2)
    bpy.context.view_layer.update()
    bpy.ops.stowfold.check()
    line = _line("hand-does-not-fit")
    assert line.cure.label == "Lower Walls to 60 mm"
    keep_step()
    do(bpy.ops.stowfold.lower_walls, **dict(line.cure.values))
    bpy.context.view_layer.update()
    assert bpy.data.objects["House"].stowfold.building.height == pytest.approx(60.0)
    assert bpy.data.objects["House"].dimensions.z == pytest.approx(60.0)
    undo()
    assert bpy.data.objects["House"].stowfold.building.height == pytest.approx(120.0)
    redo()
    assert bpy.data.objects["House"].stowfold.building.height == pytest.approx(60.0)


@pytest.mark.slow
def test_walls_are_moved_off_the_squares_until_bases_clear_the_joiners():
    bpy.ops.stowfold.add_building(length=9.0, width=6.0, roof="NONE")
    bpy.context.view_layer.update()
    bpy.ops.stowfold.add_table()
    bpy.ops.stowfold.propose_seats(number=2)
    bpy.context.view_layer.update()
    bpy.ops.stowfold.check()
    line = _line("cheek-in-square")
    by = dict(line.cure.values)["by"]
    assert line.cure.label == f"Widen the Strip by {by:g} mm"
    size = bpy.data.objects["House"].dimensions.x
    keep_step()
    do(bpy.ops.stowfold.widen_strip, **dict(line.cure.values))
    bpy.context.view_layer.update()
    assert bpy.data.objects["House"].stowfold.building.strip == pytest.approx(by)
    assert bpy.data.objects["House"].dimensions.x > size
    bpy.ops.stowfold.check()
    assert _line("cheek-in-square") is None
    undo()
    assert bpy.data.objects["House"].stowfold.building.strip == 0.0
    redo()
    assert bpy.data.objects["House"].stowfold.building.strip == pytest.approx(by)


@pytest.mark.slow
def test_a_bend_that_breaks_its_board_is_made_wider(add_ring):
    add_ring()
    ours = bpy.context.scene.stowfold
    ours.hinge.use_bridge, ours.hinge.bridge = True, 6.0
    bpy.ops.stowfold.check()
    line = _line("link-over-stressed")
    assert line.cure.label == "Take a Wider Bend"
    keep_step()
    do(bpy.ops.stowfold.widen_bend, **dict(line.cure.values))
    wider = bpy.context.scene.stowfold.inside_radius
    assert wider > 10.0
    bpy.ops.stowfold.check()
    assert _line("link-over-stressed") is None
    undo()
    assert bpy.context.scene.stowfold.inside_radius == 10.0
    redo()
    assert bpy.context.scene.stowfold.inside_radius == wider


@pytest.mark.slow
def test_holes_where_bends_of_the_roof_meet_are_capped():
    bpy.ops.stowfold.add_building(plan="L", length=5.0, width=5.0, roof="HIP")
    bpy.context.view_layer.update()
    bpy.ops.stowfold.model_to_sheets()
    line = _line("hole-at-peak")
    assert line.cure.label == "Cut Roof Caps"
    before = sum(part.kind is PartKind.CAP for part in results.latest().outcome.parts)
    keep_step()
    do(bpy.ops.stowfold.cut_caps, **dict(line.cure.values))
    assert bpy.context.scene.stowfold.caps
    bpy.ops.stowfold.check()
    after = sum(part.kind is PartKind.CAP for part in results.latest().outcome.parts)
    assert before == 0 < after
    assert _line("hole-at-peak") is None or _line("hole-at-peak").cure is None
    undo()
    assert not bpy.context.scene.stowfold.caps
    redo()
    assert bpy.context.scene.stowfold.caps
