"""Work beside the window: jobs in a thread, and the operators that look after them, without a window of the host.

The host offers no modal operators without a window, so a small loop stands in for it: it calls ``modal``
with timer events, keys and moves, as the host does, and takes note of what is asked of it.
"""

from __future__ import annotations

import sys
import threading
import time
from types import SimpleNamespace

import bpy
import pytest
from host_stand_ins import Context, Event
from host_window import keep_step, redo, undo
from stowfold.cut.operators import export
from stowfold.geometry.errors import CancelledError, GeometryError
from stowfold.jobs import background, results
from stowfold.jobs import operator as jobs_operator
from stowfold.jobs.background import Job
from stowfold.proof.operators import run

#: Longer than any job here takes, s; only a job that hangs waits for it.
PATIENCE = 60.0


@pytest.fixture(autouse=True)
def nothing_left():
    yield
    background.drop()


def step_by_step():
    """Return a job that waits to be let through each of its steps, and the gate that lets it."""
    gate = threading.Semaphore(0)

    def work(job):
        for share in (0.25, 0.5, 0.75):
            gate.acquire(timeout=PATIENCE)
            job.tell(share)
        return "made"

    return Job("Counting", work), gate


def until(condition):
    """Wait until something holds that a thread brings about."""
    end = time.monotonic() + PATIENCE
    while not condition():
        assert time.monotonic() < end
        time.sleep(0.001)


# Jobs


def test_a_job_works_in_a_thread_of_its_own_and_returns_what_it_made():
    job = Job("Asking", lambda _: threading.current_thread())
    job.start()
    assert job.wait(PATIENCE)
    assert job.value() is not threading.current_thread()


def test_a_job_tells_how_far_it_is():
    job, gate = step_by_step()
    job.start()
    assert job.share == 0.0
    gate.release()
    until(lambda: job.share == 0.25)
    assert not job.done
    gate.release(2)
    assert job.wait(PATIENCE)
    assert (job.share, job.value()) == (0.75, "made")


def test_a_job_that_is_given_up_ends_at_its_next_share():
    job, gate = step_by_step()
    job.start()
    gate.release()
    until(lambda: job.share == 0.25)
    assert job.cancel()
    gate.release()
    assert job.wait(PATIENCE)
    assert job.share == 0.25
    with pytest.raises(CancelledError):
        job.value()


def test_what_must_not_be_broken_off_is_not():
    begun, gate = threading.Event(), threading.Event()

    def work(job):
        job.settle()
        begun.set()
        gate.wait(PATIENCE)
        job.tell(1.0)
        return "written"

    job = Job("Writing", work)
    job.start()
    assert begun.wait(PATIENCE)
    assert job.settled
    assert not job.cancel()
    gate.set()
    assert job.wait(PATIENCE)
    assert job.value() == "written"


def test_what_was_given_up_before_does_not_begin_to_write():
    gate = threading.Event()

    def work(job):
        gate.wait(PATIENCE)
        job.settle()
        return "written"

    job = Job("Writing", work)
    job.start()
    assert job.cancel()
    gate.set()
    assert job.wait(PATIENCE)
    with pytest.raises(CancelledError):
        job.value()


@pytest.mark.parametrize("error", [GeometryError("a sentence"), ZeroDivisionError("a bug"), SystemExit(3)])
def test_whatever_is_raised_in_the_thread_is_raised_again(error):
    def work(_):
        raise error

    job = Job("Failing", work)
    job.start()
    assert job.wait(PATIENCE)
    with pytest.raises(type(error)) as caught:
        job.value()
    assert caught.value is error
    # the traceback leads into the work
    assert [step.name for step in caught.traceback][-1] == "work"


def test_here_and_now_the_caller_hears_every_share():
    heard = []

    def work(job):
        job.tell(0.5)
        job.tell(0.4)
        return threading.current_thread()

    job = Job("Counting", work)
    job.run_here(heard.append)
    assert job.value() is threading.current_thread()
    assert heard == [0.5, 0.5]


def test_threads_take_short_turns_only_while_somebody_waits():
    before = sys.getswitchinterval()
    job, gate = step_by_step()
    background.begin(job)
    assert background.running() is job
    assert sys.getswitchinterval() < before
    other = Job("Asking", lambda _: None)
    background.begin(other)
    assert background.running() is other
    assert job.cancelled()
    assert background.forget() is other
    assert background.running() is None
    assert sys.getswitchinterval() == pytest.approx(before)
    gate.release(3)


@pytest.mark.parametrize("reset", ["undo", "redo", "load"])
def test_another_model_makes_the_job_go(reset, tmp_path):
    if reset == "load":
        bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "empty.blend"))
    else:
        keep_step("one")
        keep_step("two")
    if reset == "redo":
        undo()
    job, gate = step_by_step()
    background.begin(job)
    if reset == "load":
        bpy.ops.wm.open_mainfile(filepath=str(tmp_path / "empty.blend"))
    else:
        {"undo": undo, "redo": redo}[reset]()
    assert background.running() is None
    gate.release(3)
    assert job.wait(PATIENCE)
    with pytest.raises(CancelledError):
        job.value()


# Operators that look after a job


class Manager:
    """Takes note of what the host is asked for; timers, handlers and the number at the cursor."""

    def __init__(self):
        self.timers, self.handlers, self.shares = [], [], []
        self.stowfold = SimpleNamespace(cut_folder="")

    def event_timer_add(self, seconds, *, window):
        assert window is not None
        self.timers.append(seconds)
        return seconds

    def event_timer_remove(self, timer):
        self.timers.remove(timer)

    def modal_handler_add(self, operator):
        self.handlers.append(operator)

    def progress_begin(self, low, high):
        pass

    def progress_update(self, value):
        self.shares.append(value)

    def progress_end(self):
        pass


TIMER, MOVE, ESCAPE = Event("TIMER"), Event("MOUSEMOVE"), Event("ESC", "PRESS")


class Counter(jobs_operator.BackgroundOperator):
    """An operator as the host knows it, without the host."""

    given_up = "The count was given up"

    def __init__(self):
        self.said, self.finished = [], []

    def report(self, level, sentence):
        self.said.append((*level, sentence))

    def finish(self, _context, made):
        self.finished.append(made)
        return {"FINISHED"}


@pytest.fixture
def window(monkeypatch):
    """A context in which operators believe in a window, and where nothing is waited for at the start."""
    # handlers of the live maps go on meanwhile and ask for timers, which nothing would run here
    timers = SimpleNamespace(is_registered=lambda _: False, register=lambda *_, **__: None, unregister=lambda _: None)
    app = SimpleNamespace(background=False, timers=timers, handlers=bpy.app.handlers)
    monkeypatch.setattr(jobs_operator.bpy, "app", app)
    monkeypatch.setattr(jobs_operator, "_AT_ONCE", 0.0)
    return Context(window=object(), window_manager=Manager(), scene=bpy.context.scene)


def test_what_ends_soon_never_flickers(window, monkeypatch):
    monkeypatch.setattr(jobs_operator, "_AT_ONCE", PATIENCE)
    operator = Counter()
    assert operator.go(window, Job("Counting", lambda _: "made"), modal=True) == {"FINISHED"}
    assert operator.finished == ["made"]
    assert not operator.waited
    assert window.window_manager.timers == window.window_manager.handlers == []
    assert background.running() is None


def test_the_window_goes_on_until_the_work_has_ended(window):
    operator = Counter()
    job, gate = step_by_step()
    assert operator.go(window, job, modal=True) == {"RUNNING_MODAL"}
    assert window.window_manager.handlers == [operator]
    for event in (TIMER, MOVE, TIMER):
        assert operator.modal(window, event) == {"PASS_THROUGH"}
    gate.release(3)
    assert job.wait(PATIENCE)
    assert operator.modal(window, TIMER) == {"FINISHED"}
    assert operator.finished == ["made"]
    assert window.window_manager.timers == []
    assert background.running() is None


def test_escape_gives_the_work_up_and_says_so(window):
    operator = Counter()
    job, gate = step_by_step()
    operator.go(window, job, modal=True)
    operator.modal(window, ESCAPE)
    assert operator.said == [("INFO", "The count was given up")]
    assert operator.finished == []
    assert window.window_manager.timers == []
    assert background.running() is None
    gate.release(3)
    assert job.wait(PATIENCE)
    assert job.share == 0.0


def test_the_button_gives_the_work_up_as_well(window):
    operator = Counter()
    job, _gate = step_by_step()
    operator.go(window, job, modal=True)
    assert bpy.ops.stowfold.give_up() == {"FINISHED"}
    operator.modal(window, TIMER)
    assert operator.said == [("INFO", "The count was given up")]
    with pytest.raises(RuntimeError, match="Nothing goes on"):
        bpy.ops.stowfold.give_up()


def test_escape_while_files_are_written_changes_nothing(window):
    operator = Counter()
    begun, gate = threading.Event(), threading.Event()

    def work(job):
        job.settle()
        begun.set()
        gate.wait(PATIENCE)
        return "written"

    job = Job("Writing", work)
    operator.go(window, job, modal=True)
    assert begun.wait(PATIENCE)
    assert operator.modal(window, ESCAPE) == {"RUNNING_MODAL"}
    gate.set()
    assert job.wait(PATIENCE)
    assert operator.modal(window, ESCAPE) == {"FINISHED"}
    assert (operator.finished, operator.said) == (["written"], [])


def test_after_undo_the_operator_lets_go_and_says_why(window):
    operator = Counter()
    job, _gate = step_by_step()
    operator.go(window, job, modal=True)
    background.drop()
    operator.modal(window, TIMER)
    ((level, sentence),) = operator.said
    assert level == "WARNING"
    assert "the model is another one now" in sentence
    assert operator.finished == []
    assert window.window_manager.timers == []


def test_a_closing_window_gives_the_work_up(window):
    operator = Counter()
    job, _gate = step_by_step()
    operator.go(window, job, modal=True)
    operator.cancel(window)
    assert job.cancelled()
    assert background.running() is None
    assert window.window_manager.timers == []


def test_a_bug_in_the_thread_comes_up_on_the_host_s_own_and_leaves_nothing_behind(window):
    operator = Counter()

    def work(_):
        raise ZeroDivisionError("a bug")

    gate = threading.Event()
    job = Job("Failing", lambda progress: (gate.wait(PATIENCE), work(progress)))
    operator.go(window, job, modal=True)
    gate.set()
    assert job.wait(PATIENCE)
    with pytest.raises(ZeroDivisionError, match="a bug"):
        operator.modal(window, TIMER)
    assert background.running() is None
    assert window.window_manager.timers == []
    assert operator.modal(window, TIMER) == {"CANCELLED"}


def test_without_a_window_the_work_is_done_here_and_now():
    manager = Manager()
    context = Context(window_manager=manager)
    operator = Counter()

    def work(job):
        job.tell(0.5)
        return threading.current_thread()

    assert operator.go(context, Job("Counting", work), modal=True) == {"FINISHED"}
    assert operator.finished == [threading.current_thread()]
    assert manager.shares == [50]


# Checking and exporting beside the window


def check(context):
    """Return a check as the host makes one, without the host, once it has been started beside the window."""

    class Check(Counter):
        finish = run.STOWFOLD_OT_check.finish

    operator = Check()
    task = run.read_task(bpy.context)
    assert operator.go(context, Job("Checking", lambda job: run.work_out(task, job)), modal=True) == {"RUNNING_MODAL"}
    return operator


@pytest.mark.slow
def test_a_check_in_a_thread_comes_to_the_same_as_one_here(checked_ring, window):
    target = checked_ring
    here = results.for_object(target).outcome
    results.drop_all()
    operator = check(window)
    shares, job = [], background.running()
    while (said := operator.modal(window, TIMER)) == {"PASS_THROUGH"}:
        shares.append(job.share)
    assert said == {"FINISHED"}
    there = results.for_object(target).outcome
    assert shares == sorted(shares)
    assert [finding.message for finding in there.findings] == [found.message for found in here.findings]
    assert [part.id for part in there.parts] == [one.id for one in here.parts]
    assert [tuple(placement.shift) for placement in there.layout.placements] == [
        tuple(placement.shift) for placement in here.layout.placements
    ]
    assert not results.for_object(target).stale


@pytest.mark.slow
def test_an_edit_meanwhile_makes_the_outcome_stale_and_the_sentence_says_so(add_ring, window):
    target = add_ring()
    operator = check(window)
    target.data.vertices[7].co.z = 61.0
    assert background.running().wait(PATIENCE)
    operator.modal(window, TIMER)
    assert results.for_object(target).stale
    ((_, sentence),) = operator.said
    assert "the model was changed meanwhile" in sentence


@pytest.mark.slow
def test_a_check_of_an_object_that_is_deleted_meanwhile_is_stale(add_ring, window):
    add_ring()
    operator = check(window)
    bpy.data.objects.remove(bpy.data.objects["Boat shed"])
    assert background.running().wait(PATIENCE)
    assert operator.modal(window, TIMER) == {"FINISHED"}
    assert results.latest().stale


def test_the_sidebar_shows_how_far_it_is_and_the_way_out():
    from stowfold.window.running import draw_starter

    drawn = []

    class Row:
        def row(self, *, align):
            return self

        def progress(self, *, factor, type, text):
            drawn.append((factor, text))

        def operator(self, name, *, text, icon):
            drawn.append(name)

    draw_starter(Row(), "stowfold.check", icon="VIEWZOOM")
    assert drawn == ["stowfold.check"]
    drawn.clear()
    job, gate = step_by_step()
    background.begin(job)
    gate.release()
    until(lambda: job.share == 0.25)
    draw_starter(Row(), "stowfold.check", icon="VIEWZOOM")
    assert drawn == [(0.25, "Counting 25%"), "stowfold.give_up"]


@pytest.mark.slow
def test_a_check_that_is_given_up_leaves_the_earlier_outcome(checked_ring, window, monkeypatch):
    target = checked_ring
    before = results.for_object(target)
    start = Job.start
    monkeypatch.setattr(Job, "start", lambda _: None)  # it must not have ended before the key is pressed
    operator = check(window)
    job = background.running()
    operator.modal(window, ESCAPE)
    start(job)
    assert job.wait(PATIENCE)
    assert results.for_object(target) is before
    assert "what was known before stays" in run.STOWFOLD_OT_check.given_up


@pytest.mark.parametrize("operator", ["check", "export", "cut_floor_again"])
def test_nothing_else_starts_meanwhile(add_ring, operator):
    add_ring()
    job, _gate = step_by_step()
    background.begin(job)
    with pytest.raises(RuntimeError, match="give it up with Esc"):
        getattr(bpy.ops.stowfold, operator)()


def test_an_export_that_is_given_up_writes_nothing(add_ring, tmp_path):
    add_ring()
    task = run.read_task(bpy.context)
    job = Job("Making cut files", lambda job: export._deliver(job, task, tmp_path / "cut", anyway=False, coupon=False))
    assert job.cancel()
    job.start()
    assert job.wait(PATIENCE)
    with pytest.raises(CancelledError):
        job.value()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.slow
def test_an_export_in_a_thread_writes_the_files_of_one_here(add_ring, tmp_path):
    add_ring()
    assert bpy.ops.stowfold.export(directory=str(tmp_path / "here")) == {"FINISHED"}
    task = run.read_task(bpy.context)
    job = Job(
        "Making cut files", lambda job: export._deliver(job, task, tmp_path / "there", anyway=False, coupon=False)
    )
    job.start()
    assert job.wait(PATIENCE)
    made = job.value()
    assert job.settled
    here, there = (
        {path.name: path.read_bytes() for path in (tmp_path / place).iterdir()} for place in ("here", "there")
    )
    assert {path.name for path in made.written} == set(there)
    assert there == here


@pytest.mark.slow
def test_a_folder_that_cannot_be_written_is_a_sentence(add_ring, tmp_path):
    add_ring()
    (tmp_path / "taken").write_text("")
    task = run.read_task(bpy.context)
    job = Job(
        "Making cut files", lambda job: export._deliver(job, task, tmp_path / "taken", anyway=False, coupon=False)
    )
    job.run_here()
    made = job.value()
    assert "taken" in made.failure
    assert made.report.outcome is not None


def test_switching_off_waits_for_threads_that_were_given_up_as_well():
    """Work that cannot be broken off goes on after it was given up; the interpreter must not end under it."""
    ended = []

    def stubborn(job):
        time.sleep(0.3)
        ended.append(job.title)

    for title in ("first", "second"):  # the second takes the place of the first
        background.begin(Job(title, stubborn))
    background.drop()
    try:
        background.HANDLERS.detach()
        assert sorted(ended) == ["first", "second"]
    finally:
        background.HANDLERS.attach()
