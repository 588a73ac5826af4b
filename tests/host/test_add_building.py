"""A building from an empty scene: added, undone, changed, saved, cut; in scenes of any unit scale."""

from __future__ import annotations

from types import SimpleNamespace

import bpy
import numpy as np
import pytest
from stowfold import bridge, marks
from stowfold.geometry.solid.solid import Role
from stowfold.operators.building import draw_fields

HOUSE = {"length": 8.0, "width": 6.0, "roof": "HIP"}


def add(**fields):
    assert bpy.ops.stowfold.add_building(**{**HOUSE, **fields}) == {"FINISHED"}
    return bpy.context.object


def roles_of(target):
    return sorted(marks.read_roles(target.data).tolist())


def windowed():
    return bpy.context.temp_override(window=bpy.context.window_manager.windows[0])


@pytest.mark.parametrize("scale", [0.001, 0.01, 0.0254, 1.0, 1000.0])
def test_a_building_has_its_size_in_scenes_of_any_unit_scale(scale):
    bpy.context.scene.unit_settings.scale_length = scale
    target = add()
    bpy.context.view_layer.update()
    points = bridge.read_solid([target], bpy.context.scene).points
    assert np.ptp(points, axis=0) == pytest.approx([8 * 25.4 + 12, 6 * 25.4 + 12, 60 + 3 * 25.4 * 8 / 12], abs=1e-3)
    assert target.stowfold.is_block_out
    assert bpy.context.object == target
    # four corners, ridge and two hips; the other two hips
    assert roles_of(target).count(Role.FLEX) == 7
    assert roles_of(target).count(Role.CLOSURE) == 2


def test_a_building_stands_on_the_square_of_the_cursor():
    bpy.context.scene.cursor.location = (60.0, -10.0, 0.0)
    assert tuple(add().location) == pytest.approx((50.8, -25.4, 0.0), abs=1e-4)


def test_adding_is_undone_and_redone():
    with windowed():
        bpy.ops.ed.undo_push(message="before")
        bpy.ops.stowfold.add_building("EXEC_DEFAULT", True, **HOUSE)
        assert len(bpy.context.scene.objects) == 1
        bpy.ops.ed.undo()
        assert not len(bpy.context.scene.objects)
        bpy.ops.ed.redo()
        assert bpy.context.scene.objects["House"].stowfold.building.roof == "HIP"


def test_rebuilding_keeps_marks_and_is_undone():
    target = add(roof="NONE")
    corner = next(
        edge.index
        for edge in target.data.edges
        if all(abs(target.data.vertices[v].co.x) + abs(target.data.vertices[v].co.y) < 1e-4 for v in edge.vertices)
    )
    marks.set_roles(target.data, [corner], Role.CLOSURE)
    with windowed():
        bpy.ops.ed.undo_push(message="before")
        target.stowfold.building.height = 80.0
        target.stowfold.building.roof = "GABLE"
        bpy.ops.ed.undo_push(message="sizes")
        assert bpy.ops.stowfold.rebuild_building("EXEC_DEFAULT", True) == {"FINISHED"}
        target = bpy.context.scene.objects["House"]
        assert roles_of(target).count(Role.CLOSURE) == 1
        assert roles_of(target).count(Role.FLEX) == 4
        assert len(target.data.polygons) == 6
        bpy.ops.ed.undo()
        bpy.ops.ed.undo()
        target = bpy.context.scene.objects["House"]
        assert target.stowfold.building.height == 60.0
        assert len(target.data.polygons) == 4
        assert roles_of(target).count(Role.CLOSURE) == 1


def test_sizes_and_marks_are_saved_and_duplicated(save):
    target = add(plan="U", bar=2.0, wing=2.0, roof="NONE", length=9.0)
    copy = target.copy()
    copy.data = target.data.copy()
    assert copy.stowfold.building.plan == "U"
    assert roles_of(copy) == roles_of(target)
    before = roles_of(target)
    bpy.ops.wm.open_mainfile(filepath=str(save()))
    target = bpy.context.scene.objects["House"]
    assert roles_of(target) == before
    target.stowfold.building.wing = 3.0
    bpy.context.view_layer.objects.active = target
    assert bpy.ops.stowfold.rebuild_building() == {"FINISHED"}
    assert roles_of(target).count(Role.FLEX) == 8


def test_any_right_angled_outline_is_added_by_its_corners():
    target = add(plan="CORNERS", corners="0,0 6,0 6,4 3,4 3,6 0,6", roof="NONE")
    assert len(target.data.polygons) == 6


@pytest.mark.parametrize(
    "fields",
    [
        {"length": 0.0},
        {"height": 0.0},
        {"rise": 0.0},
        {"overhang": 200.0},
        {"plan": "L"},
        {"plan": "CORNERS", "corners": "0,0 a,b"},
    ],
)
def test_bad_sizes_add_nothing(fields):
    assert bpy.ops.stowfold.add_building(**{**HOUSE, **fields}) == {"CANCELLED"}
    assert not len(bpy.context.scene.objects)
    assert not len(bpy.data.meshes)


def test_bad_sizes_leave_the_building_as_it_was():
    target = add()
    target.stowfold.building.overhang = 500.0
    with pytest.raises(RuntimeError, match="overhang is 500 mm"):
        bpy.ops.stowfold.rebuild_building()
    assert len(target.data.polygons) == 8


@pytest.mark.parametrize("roof", ["NONE", "GABLE", "HIP"])
def test_an_added_building_proves_with_proposed_breaks(save, run, roof):
    add(roof=roof)
    code, _, err = run("check", save(), "--propose", "breaks")
    assert err == []
    assert code == 0


def test_a_new_building_is_not_warned_about():
    assert bpy.ops.stowfold.add_building() == {"FINISHED"}
    fields = bpy.context.object.stowfold.building
    said = []
    layout = SimpleNamespace(prop=lambda *_args, **_options: None)
    layout.column = lambda **_options: layout
    draw_fields(layout, fields, lambda _column, text: said.append(text))
    assert said == ["A large hand passes over walls up to 60 mm."]
    fields.height = 60.5
    draw_fields(layout, fields, lambda _column, text: said.append(text))
    assert "meets the wall" in said[1]
