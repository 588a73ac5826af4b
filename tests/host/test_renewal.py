"""The check renewed after every edit: when it begins, what it keeps, and what it leaves alone.

The host calls no timers without a window, so the tests call ``_go_on`` as its timer does.
"""

from __future__ import annotations

import time
from types import SimpleNamespace

import bpy
import pytest
from host_window import do, keep_step, redo, undo
from stowfold.geometry.solid.solid import Role
from stowfold.host import marks
from stowfold.jobs import results
from stowfold.proof import renewal

PATIENCE = 60.0


@pytest.fixture
def in_a_window(monkeypatch):
    monkeypatch.setattr(renewal, "_has_window", lambda: True)
    yield
    renewal.forget()


@pytest.fixture
def house(in_a_window):
    assert do(bpy.ops.stowfold.add_building, length=4.0, width=3.0, roof="NONE") == {"FINISHED"}
    bpy.context.view_layer.update()
    return bpy.context.object


def settle(until=lambda: False):
    """Let the timer run until nothing is left to do, or something holds; return the states that windows showed."""
    shown = []
    end = time.monotonic() + PATIENCE
    while renewal._go_on() is not None and not until():
        shown.append(results.state(bpy.context))
        assert time.monotonic() < end
        time.sleep(0.002)
    return [*shown, results.state(bpy.context)]


def renew():
    assert renewal.begin()
    return settle()


def test_an_edit_brings_a_proof_and_then_sheets_without_a_click(house):
    assert renewal.begin()
    states = settle(until=lambda: results.latest() is not None)
    assert states[0] is results.State.CHECKING
    report = results.latest()
    assert (report.outcome.proof.holds, report.laid, report.outcome.layout.sheets) == (True, False, ())
    # the proof is known as soon as it holds; no sheets are offered before there are any
    assert results.state(bpy.context) is results.State.CURRENT
    assert results.laid_out(bpy.context) is None
    settle()
    outcome, changed = results.laid_out(bpy.context)
    assert outcome.layout.sheets and not changed


def test_what_is_renewed_is_what_a_click_makes(house):
    renew()
    renewed = results.latest().outcome
    results.drop_all()
    assert bpy.ops.stowfold.check() == {"FINISHED"}
    clicked = results.latest().outcome
    assert [part.id for part in renewed.parts] == [part.id for part in clicked.parts]
    assert renewed.findings == clicked.findings
    assert list(map(repr, renewed.layout.placements)) == list(map(repr, clicked.layout.placements))


def test_a_model_that_is_the_same_is_not_made_again(house):
    renew()
    before = results.latest()
    assert set(renew()) == {results.State.CURRENT}
    assert results.latest() is before


def test_while_sheets_are_laid_out_again_those_before_stay_and_count_as_out_of_date(house):
    renew()
    before = results.latest().outcome
    bpy.context.scene.stowfold.rim += 1.0
    assert renewal.begin()
    settle(until=lambda: not results.latest().laid)
    assert results.laid_out(bpy.context) == (before, True)
    # the list of findings does not jump: what is said of sheets and play stays until it is known again
    assert set(results.latest().outcome.findings) == set(before.findings)
    settle()
    after, changed = results.laid_out(bpy.context)
    assert after is not before and not changed


def test_another_edit_gives_up_what_is_under_way(house):
    assert renewal.begin()
    settle(until=lambda: renewal._state.job is not None)
    job = renewal._state.job
    bpy.context.scene.stowfold.rim += 1.0
    assert renewal.begin()
    assert job.cancelled()
    settle()
    assert results.latest().settings.ground.rim == pytest.approx(bpy.context.scene.stowfold.rim)
    assert not results.refresh_staleness(bpy.context.scene)


def test_undo_and_redo_bring_the_proof_of_what_is_seen(house):
    renew()
    keep_step()
    corner = int(marks.read_roles(house.data).argmax())
    marks.set_roles(house.data, [corner], Role.CLOSURE)
    keep_step("closed")
    renew()
    closed = [part.id for part in results.latest().outcome.parts]
    undo()
    renew()
    assert [part.id for part in results.latest().outcome.parts] != closed
    redo()
    renew()
    assert [part.id for part in results.latest().outcome.parts] == closed


def test_nothing_is_read_while_something_is_moved_by_hand(house, monkeypatch):
    monkeypatch.setattr(renewal, "is_busy", lambda: True)
    assert renewal.begin()
    assert renewal._go_on() == renewal._WAIT
    assert results.latest() is None
    monkeypatch.setattr(renewal, "is_busy", lambda: False)
    settle()
    assert results.latest().outcome is not None


def test_the_maker_may_switch_it_off(house, monkeypatch):
    monkeypatch.setattr(renewal, "own_preferences", lambda: SimpleNamespace(renew=False))
    assert not renewal.begin()
    monkeypatch.setattr(renewal, "own_preferences", lambda: SimpleNamespace(renew=True))
    assert renewal.begin()


def test_a_mesh_that_nobody_called_a_building_is_left_alone(in_a_window):
    bpy.ops.mesh.primitive_cube_add()
    assert not renewal.begin()


def test_a_building_that_is_deleted_takes_its_report_along(house):
    renew()
    bpy.data.objects.remove(house)
    assert renewal.begin()
    settle()
    assert results.latest() is None


def test_a_new_seat_judges_the_same_parts_again(house):
    renew()
    parts = results.latest().outcome.parts
    assert bpy.ops.stowfold.add_table() == {"FINISHED"}
    assert bpy.ops.stowfold.propose_seats(number=1) == {"FINISHED"}
    renew()
    outcome = results.latest().outcome
    assert outcome.parts is parts
    assert len(outcome.play.sight.seats) == 1


def test_what_cannot_be_cut_is_said_and_mended_again(house):
    renew()
    corner = house.data.vertices[0].co.z
    house.data.vertices[0].co.z = float("nan")
    renew()
    report = results.latest()
    assert report.outcome is None and "points that are no numbers" in report.failure
    assert results.state(bpy.context) is results.State.CURRENT
    house.data.vertices[0].co.z = corner
    renew()
    assert results.latest().outcome.proof.holds
