"""Sizes that act at once: the building follows every value, marks and openings come along, proposals follow at rest.

The host calls no timers without a window, so the tests call ``_go_on`` as its timer does.
"""

from __future__ import annotations

import time

import bpy
import numpy as np
import pytest
from host_window import do, keep_step, redo, undo
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.solid.solid import Role
from stowfold.host import marks
from stowfold.plot import blocking, proposing
from stowfold.plot.operators import building

SQUARE = 25.4
PATIENCE = 60.0


def add(**fields):
    assert do(bpy.ops.stowfold.add_building, **{"length": 5.0, "width": 4.0, "roof": "NONE", **fields}) == {"FINISHED"}
    bpy.context.view_layer.update()
    return bpy.context.object


def size_of(target):
    points = np.array([vertex.co[:] for vertex in target.data.vertices])
    return np.ptp(points[points[:, 2] < 1e-4], axis=0)[:2] / SQUARE


def counted(target):
    roles = marks.read_roles(target.data).tolist()
    return {role: roles.count(role) for role in Role if role is not Role.PLAIN and roles.count(role)}


def propose():
    """Let the timer run until nothing waits any more."""
    end = time.monotonic() + PATIENCE
    while proposing._go_on() is not None:
        assert time.monotonic() < end
        time.sleep(0.005)


def test_every_value_of_a_drag_changes_the_building_and_keeps_its_marks():
    target = add(roof="GABLE")
    fields, before = target.stowfold.building, counted(target)
    for length in np.linspace(5.0, 8.0, 7):
        fields.length = length
        assert size_of(target) == pytest.approx([length, 4.0], abs=1e-4)
        assert counted(target) == before
    fields.height = 45.0
    assert counted(target) == before and not fields.trouble


def test_a_drag_over_other_shapes_and_back_loses_no_mark_of_the_maker():
    target = add()
    corner = int(np.flatnonzero(marks.read_roles(target.data) == Role.FLEX)[0])
    marks.set_roles(target.data, [corner], Role.CLOSURE)
    before = counted(target)
    for plan in ("L", "ROUND", "RECTANGLE"):
        target.stowfold.building.plan = plan
    assert counted(target) == before


def test_what_rests_gets_the_marks_of_a_building_that_was_added_so():
    target = add(length=8.0)
    target.stowfold.building.length = 6.0
    target.stowfold.building.roof = "GABLE"
    assert target.stowfold.building.unproposed
    propose()
    assert not target.stowfold.building.unproposed
    got = blocking.read_before(target, bpy.context.scene)
    bpy.ops.object.select_all(action="DESELECT")
    fresh = blocking.read_before(add(roof="GABLE", length=6.0), bpy.context.scene)
    assert blocking.is_same_mesh(got, fresh)


def test_one_undo_takes_a_size_back_with_its_building_and_redo_brings_both():
    target = add()
    keep_step()
    target.stowfold.building.length = 12.0
    keep_step("length")
    propose()
    breaks = counted(target)[Role.BREAK]
    undo()
    target = bpy.context.scene.objects["House"]
    assert (target.stowfold.building.length, *size_of(target)) == pytest.approx((5.0, 5.0, 4.0))
    redo()
    target = bpy.context.scene.objects["House"]
    assert (target.stowfold.building.length, *size_of(target)) == pytest.approx((12.0, 12.0, 4.0))
    # the step was kept before bends and breaks were proposed for it
    assert target.stowfold.building.unproposed
    propose()
    assert counted(target)[Role.BREAK] == breaks


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [("length", 0.0, "length"), ("overhang", 500.0, "overhang is 500 mm"), ("rise", 0.0, "pitch")],
)
def test_a_value_that_cannot_be_built_leaves_the_last_building_and_is_said(field, value, said):
    target = add(pitch_as="RISE", roof="GABLE")
    before = blocking.read_before(target, bpy.context.scene)
    fields = target.stowfold.building
    good = getattr(fields, field)
    setattr(fields, field, value)
    assert blocking.is_same_mesh(blocking.read_before(target, bpy.context.scene), before)
    assert said in fields.trouble and fields.trouble.count(". ") == 0
    setattr(fields, field, good)
    assert not fields.trouble


def test_what_can_be_built_but_not_cut_is_shown_and_said(monkeypatch):
    target = add(length=4.0, width=3.0, roof="NONE")

    def refuse(*_ignored):
        raise BadSettingError("A piece of the roof is too large; choose a lower pitch")

    monkeypatch.setattr(proposing, "read_task", refuse)
    target.stowfold.building.height = 70.0
    propose()
    assert target.stowfold.building.trouble == "A piece of the roof is too large; choose a lower pitch"
    assert max(vertex.co.z for vertex in target.data.vertices) == pytest.approx(70.0)
    # no other try before sizes change again
    assert proposing._go_on() is None


def test_a_mesh_that_was_changed_by_hand_is_left_alone_until_it_is_blocked_out_again():
    target = add()
    target.data.vertices[0].co.z -= 3.0
    before = blocking.read_before(target, bpy.context.scene)
    target.stowfold.building.length = 6.0
    assert blocking.is_same_mesh(blocking.read_before(target, bpy.context.scene), before)
    assert "changed by hand" in target.stowfold.building.trouble
    assert bpy.ops.stowfold.rebuild_building() == {"FINISHED"}
    assert not target.stowfold.building.trouble
    assert size_of(target) == pytest.approx([6.0, 4.0], abs=1e-4)


def test_in_edit_mode_nothing_of_the_mesh_is_lost():
    target = add()
    bpy.ops.object.mode_set(mode="EDIT")
    target.stowfold.building.length = 7.0
    bpy.ops.object.mode_set(mode="OBJECT")
    assert size_of(target) == pytest.approx([5.0, 4.0], abs=1e-4)
    assert "Edit Mode" in target.stowfold.building.trouble
    target.stowfold.building.length = 6.0
    assert size_of(target) == pytest.approx([6.0, 4.0], abs=1e-4)


def test_objects_that_share_a_mesh_keep_their_own_sizes():
    target = add()
    other = target.copy()
    bpy.context.collection.objects.link(other)
    other.stowfold.building.length = 9.0
    assert size_of(other) == pytest.approx([9.0, 4.0], abs=1e-4)
    assert size_of(target) == pytest.approx([5.0, 4.0], abs=1e-4)


@pytest.mark.parametrize(
    ("place", "moved"),
    [((2.0, 6.0), (2.0, 9.0)), ((7.0, 0.0), (11.0, 0.0)), ((8.0, 3.0), (12.0, 4.5))],
)
def test_an_opening_keeps_its_place_in_its_wall(place, moved):
    """It keeps its distance from the nearer corner, or the middle: 8 x 6 squares become 12 x 9."""
    target = add(length=8.0, width=6.0, roof="NONE")
    assert Role.BREAK in counted(target)
    bpy.context.scene.cursor.location = (place[0] * SQUARE, place[1] * SQUARE, 0.0)
    assert bpy.ops.stowfold.add_opening(kind="WINDOW") == {"FINISHED"}
    window = bpy.context.object
    bpy.context.view_layer.update()
    assert window.matrix_world.translation.xy[:] == pytest.approx(np.array(place) * SQUARE, abs=1e-3)
    for share in (0.25, 0.5, 1.0):
        target.stowfold.building.length = 8.0 + 4.0 * share
        target.stowfold.building.width = 6.0 + 3.0 * share
        bpy.context.view_layer.update()
    assert window.matrix_world.translation.xy[:] == pytest.approx(np.array(moved) * SQUARE, abs=1e-3)


def test_a_mark_that_is_made_while_something_is_proposed_stays():
    target = add()
    target.stowfold.building.length = 6.0
    while proposing._state.job is None:
        proposing._go_on()
    corner = int(np.flatnonzero(marks.read_roles(target.data) == Role.FLEX)[0])
    marks.set_roles(target.data, [corner], Role.CLOSURE)
    propose()
    assert counted(target)[Role.CLOSURE] == 1 and not target.stowfold.building.unproposed


def test_a_mesh_that_is_modelled_on_waits_for_no_proposal():
    target = add()
    target.stowfold.building.length = 6.0
    target.data.vertices[0].co.z -= 3.0
    propose()
    assert not target.stowfold.building.unproposed
    assert target.data.vertices[0].co.z == pytest.approx(-3.0)


def test_a_check_by_a_click_begins_with_what_waits_to_be_proposed():
    target = add()
    target.stowfold.building.length = 12.0
    assert counted(target)[Role.BREAK] == 1
    assert bpy.ops.stowfold.check() == {"FINISHED"}
    assert counted(target)[Role.BREAK] == 2 and not target.stowfold.building.unproposed


def test_in_a_window_a_new_building_is_there_at_once_and_gets_the_marks_of_a_script(monkeypatch):
    by_script = blocking.read_before(add(length=8.0), bpy.context.scene)
    monkeypatch.setattr(building, "_at_once", lambda: False)
    target = add(length=8.0)
    assert target.stowfold.building.unproposed and Role.BREAK not in counted(target)
    propose()
    assert blocking.is_same_mesh(blocking.read_before(target, bpy.context.scene), by_script)
