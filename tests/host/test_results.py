"""Results: outcomes are dropped or called stale whenever they may be wrong."""

from __future__ import annotations

import bpy
import pytest
from host_window import keep_step, undo
from stowfold.geometry.solid.solid import Role
from stowfold.host import marks
from stowfold.jobs import results


def is_stale(target):
    bpy.context.view_layer.update()
    results.refresh_staleness(bpy.context.scene)
    return results.for_object(target).stale


def test_an_outcome_stays_fresh_while_nothing_changes(checked_ring):
    checked_ring.select_set(True)
    checked_ring.name = "Boat house"
    bpy.context.scene.render.fps = 12
    assert not is_stale(checked_ring)


@pytest.mark.parametrize(
    "change",
    [
        lambda target: setattr(target.data.vertices[7].co, "z", 61.0),
        lambda target: setattr(target, "scale", (1.01, 1.0, 1.0)),
        lambda target: marks.set_roles(target.data, [0], Role.CLOSURE),
        lambda target: setattr(bpy.context.scene.stowfold, "square", 30.0),
        lambda target: setattr(bpy.context.scene.stowfold.joiner, "gap", 0.3),
        lambda target: setattr(bpy.context.scene.unit_settings, "scale_length", 0.01),
        lambda target: target.data.clear_geometry(),
    ],
    ids=["vertex", "scale", "mark", "square", "joiner", "unit", "no mesh left"],
)
def test_any_change_that_counts_makes_it_stale(checked_ring, change):
    change(checked_ring)
    assert is_stale(checked_ring)


def test_taking_the_change_back_makes_it_fresh_again(checked_ring):
    bpy.context.scene.stowfold.square = 30.0
    assert is_stale(checked_ring)
    bpy.context.scene.stowfold.square = 25.4
    assert not is_stale(checked_ring)


def test_undo_calls_everything_out_of_date_until_it_is_compared(checked_ring):
    keep_step("one")
    keep_step("two")
    undo()
    assert results.latest().stale
    assert results.refresh_staleness(bpy.context.scene)
    assert not results.latest().stale
    bpy.context.scene.stowfold.square = 30.0
    results.refresh_staleness(bpy.context.scene)
    assert results.latest().stale


def test_loading_drops_everything(checked_ring, tmp_path):
    path = str(tmp_path / "other.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path)
    assert results.latest() is not None
    bpy.ops.wm.open_mainfile(filepath=path)
    assert results.latest() is None


def test_the_report_on_an_object_is_its_own(checked_ring, add_ring):
    other = add_ring("Smithy")
    assert results.for_object(other) is None
    assert results.for_object(None) is None


def test_a_building_that_is_deleted_makes_its_report_suspect(checked_ring, monkeypatch):
    told = []
    monkeypatch.setattr(results, "_listeners", [lambda: told.append(True)])
    bpy.context.view_layer.update()
    told.clear()
    bpy.data.objects.remove(checked_ring)
    bpy.context.view_layer.update()
    assert told
    results.refresh_staleness(bpy.context.scene)
    assert results.latest().stale
    # it is told once, not with every later update
    told.clear()
    bpy.context.scene.cursor.location.x += 1.0
    bpy.context.view_layer.update()
    assert not told
