"""Standard streams, devices and signals, as a program in a pipeline meets them."""

from __future__ import annotations

import os
import signal
import stat
import sys
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import FrameType
from typing import TextIO

from .geometry.errors import UnreadableError

__all__ = ["Stopped", "fill_streams", "forget_output", "is_node", "stoppable", "stopped_later", "write_to_node"]

_Handler = Callable[[int, FrameType | None], object] | int | None

#: What asks a program to end: Ctrl C, a request, and a terminal that is closed (not everywhere).
_SIGNALS = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))

#: A shell counts exit codes of programs that a signal ended from here.
_BY_SIGNAL = 128


class Stopped(BaseException):
    """A signal asked the program to end. It derives as KeyboardInterrupt does, so that nothing swallows it."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.exit_code = _BY_SIGNAL + number


@dataclass
class _Watch:
    """Whether signals wait for the end of a block, and the first one that does."""

    holding: bool = False
    waiting: int | None = None


_watch = _Watch()


def _stop(number: int, _frame: FrameType | None = None) -> None:
    if _watch.holding:
        _watch.waiting = _watch.waiting or number
        return
    for other in _SIGNALS:
        signal.signal(other, signal.SIG_IGN)
    raise Stopped(number)


@contextmanager
def stoppable() -> Iterator[None]:
    """Raise Stopped in this block on the first signal that asks the program to end; later ones change nothing.

    So what clears up on the way out is not interrupted itself. Outside the main thread signals go their usual way.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = {number: signal.getsignal(number) for number in _SIGNALS}
    for number, known in before.items():
        if known != signal.SIG_IGN:  # nohup and its like mean it
            signal.signal(number, _stop)
    try:
        yield
    except Stopped:
        raise  # the program ends now, and a second signal must not break that
    except BaseException:
        _restore(before)
        raise
    _restore(before)


def _restore(before: Mapping[int, _Handler]) -> None:
    for number, known in before.items():
        # None where the host set a handler below Python, which cannot be set from here
        signal.signal(number, signal.SIG_DFL if known is None else known)


@contextmanager
def stopped_later() -> Iterator[None]:
    """Let signals wait for the end of this block: the host calls Python from code that no exception may pass."""
    _watch.holding = True
    try:
        yield
    finally:
        _watch.holding = False
        if _watch.waiting is not None:
            number, _watch.waiting = _watch.waiting, None
            _stop(number)


def fill_streams() -> None:
    """Put the null device where the caller closed a standard stream: else the next file opened would be that stream."""
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # takes the lowest free number, which is this one
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115  it lasts as the program does


def forget_output() -> None:
    """Let what is still buffered for standard output go nowhere, so that it does not fail again at exit."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, sys.stdout.fileno())
    os.close(nowhere)


def is_node(path: Path) -> bool:
    """Return whether a path is a device, a pipe, a socket or the file behind a standard stream."""
    try:
        there = os.stat(path)
    except OSError:
        return False  # nothing there yet; what cannot be reached is refused by those who write files
    return _stream_at(there) is not None or not (stat.S_ISREG(there.st_mode) or stat.S_ISDIR(there.st_mode))


def write_to_node(path: Path, text: str) -> None:
    """Write text to a node (see ``is_node``), which is never replaced by a file.

    Raises UnreadableError for one that takes no text, such as a disk.
    """
    there = os.stat(path)
    stream = _stream_at(there)
    if stream is not None:
        stream.write(text)
        return
    if not (stat.S_ISCHR(there.st_mode) or stat.S_ISFIFO(there.st_mode)):
        raise UnreadableError(f"'{path}' is neither a file nor a pipe; choose another place for the report")
    try:
        with open(path, "w", encoding="utf-8", errors="backslashreplace") as node:
            node.write(text)
    except OSError as error:
        raise UnreadableError(f"The report could not be written to '{path}' ({error.strerror})") from error


def _stream_at(there: os.stat_result) -> TextIO | None:
    """Return the standard stream that a place is, None where it is neither."""
    for number, stream in ((1, sys.stdout), (2, sys.stderr)):
        if os.path.samestat(there, os.fstat(number)):
            return stream
    return None
