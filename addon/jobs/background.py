"""Background: one long piece of work in a thread of its own, while the window goes on.

The thread holds plain values only: what it needs of the scene is read before it begins, and what comes
of it is kept after it has ended, both on the host's own thread. One job runs at a time that an operator waits
for; what only keeps the window up to date runs beside it. A job that is given up counts as gone at once; its
thread ends at the next share that it tells.
"""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from bpy.app.handlers import persistent

from ..geometry.errors import CancelledError
from ..geometry.progress import Progress
from ..host.handlers import Handlers

__all__ = ["HANDLERS", "Job", "begin", "begin_beside", "drop", "forget", "leave_beside", "running"]

#: How long a thread may compute before it lets the window draw, s; Python's own 5 ms are felt where a
#: redraw asks for a dozen panels, each of which would wait for its turn.
_TURN = 0.001

#: How long switching off waits for threads, s: the interpreter must not end under them. The strip packer, which
#: cannot be broken off, takes some of it.
_FAREWELL = 12.0

_GIVEN_UP = "The work was given up before its end"


class Job(Progress):
    """Work that tells how far it is and can be given up.

    title: what is done, to be shown. work: is called with the job itself as its progress, in the thread.
    share: 0 .. 1 of what is done.
    """

    def __init__(self, title: str, work: Callable[[Progress], object]) -> None:
        self.title = title
        self.share = 0.0
        self._work = work
        self._told: Callable[[float], None] | None = None
        self._value: object = None
        self._error: BaseException | None = None
        self._cancelled = False
        self._settled = False
        self._lock = threading.Lock()
        self._done = threading.Event()
        self._thread = threading.Thread(target=self._run, name=title, daemon=True)

    # on the host's thread

    def start(self) -> None:
        """Begin in a thread of its own."""
        self._thread.start()

    def run_here(self, told: Callable[[float], None] | None = None) -> None:
        """Do the work at once on the thread of the caller, who is told every share."""
        self._told = told
        self._run()

    def wait(self, seconds: float) -> bool:
        """Wait for the end, but no longer than so many seconds; return whether it has ended."""
        return self._done.wait(seconds)

    @property
    def done(self) -> bool:
        """Whether the thread has nothing left to do."""
        return self._done.is_set()

    @property
    def settled(self) -> bool:
        """Whether it is too late to give it up."""
        return self._settled

    def cancel(self) -> bool:
        """Give the work up; return False where it is too late for that."""
        with self._lock:
            if self._settled or self.done:
                return False
            self._cancelled = True
        return True

    def value(self) -> Any:
        """Return what the work returned, or raise what it raised, whatever that was."""
        assert self.done
        if self._error is not None:
            raise self._error
        return self._value

    # in the thread

    def cancelled(self) -> bool:
        """Return whether nobody waits for the result any more."""
        return self._cancelled

    def tell(self, share: float) -> None:
        """Note the share that is done; raise CancelledError where the maker gave the work up."""
        if self._cancelled:
            raise CancelledError(_GIVEN_UP)
        self.share = max(self.share, share)
        if self._told is not None:
            self._told(self.share)

    def settle(self) -> None:
        """Note that only writing is left, which is not given up any more."""
        with self._lock:
            if self._cancelled:
                raise CancelledError(_GIVEN_UP)
            self._settled = True

    def _run(self) -> None:
        try:
            self._value = self._work(self)
        except BaseException as error:  # nothing may vanish with the thread: ``value`` raises it again
            self._error = error
        finally:
            self._done.set()


@dataclass(slots=True)
class _Running:
    """job: the one that an operator waits for. beside: those that no operator waits for.

    usual_turn: how long a thread computed at a time before any of them, s; 0 while there are none.
    threads: jobs whose threads may still compute, those given up among them.
    """

    job: Job | None = None
    beside: list[Job] = field(default_factory=list)
    usual_turn: float = 0.0
    threads: list[Job] = field(default_factory=list)


_running = _Running()


def begin(job: Job) -> None:
    """Start a job; the one that ran before is given up."""
    drop()
    _running.job = job
    _start(job)


def begin_beside(job: Job) -> None:
    """Start a job that no operator waits for; ``leave_beside`` ends it. The running job goes on."""
    _running.beside.append(job)
    _start(job)


def leave_beside(job: Job) -> None:
    """Give up a job that was started beside, where it has not ended, and forget it."""
    if job in _running.beside:
        _running.beside.remove(job)
        job.cancel()
    _take_turns()


def _start(job: Job) -> None:
    _running.threads[:] = [*(other for other in _running.threads if not other.done), job]
    _take_turns()
    job.start()


def _take_turns() -> None:
    """Let threads take short turns while there are jobs, and as long ones as before when there are none."""
    wanted = _running.job is not None or bool(_running.beside)
    if wanted and not _running.usual_turn:
        _running.usual_turn = sys.getswitchinterval()
        sys.setswitchinterval(min(_running.usual_turn, _TURN))
    elif not wanted and _running.usual_turn:
        sys.setswitchinterval(_running.usual_turn)
        _running.usual_turn = 0.0


def running() -> Job | None:
    """Return the job that an operator waits for, None where there is none."""
    return _running.job


def forget() -> Job | None:
    """Stop waiting and return the running job; its thread goes on."""
    job, _running.job = _running.job, None
    _take_turns()
    return job


def drop() -> Job | None:
    """Give the running job up, stop waiting for it and return it."""
    job = forget()
    if job is not None:
        job.cancel()
    return job


@persistent
def _on_reset(*_ignored: object) -> None:
    drop()


def _end() -> None:
    """Give up the running job, and wait until all threads have ended."""
    drop()
    for job in tuple(_running.beside):
        leave_beside(job)
    until = time.monotonic() + _FAREWELL
    for job in _running.threads:
        job.wait(max(until - time.monotonic(), 0.0))
    _running.threads.clear()


# what was read of the model is no longer what the maker sees
HANDLERS = Handlers((("undo_post", _on_reset), ("redo_post", _on_reset), ("load_pre", _on_reset)), forget=_end)
