"""A delivery is killed for real at every step: the folder holds one set, or warns, and the next delivery mends it."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from types import ModuleType

import pytest
from stowfold.geometry import files as delivery
from stowfold.geometry import unfinished
from stowfold.geometry.errors import UnreadableError
from stowfold.geometry.files import replace_files, seal, undo_unfinished
from stowfold.geometry.unfinished import PREFIX, WARNING

#: The earlier set has a sheet more, and no overview; a drawing of the maker's lies beside it.
EARLIER = {f"sheet-0{n}.svg": seal(f"<svg>earlier {n}</svg>") for n in (1, 2, 3)} | {"guide.html": "earlier guide"}
MINE = {"sheet-07.svg": "<svg>mine</svg>", "mine.txt": "mine"}
LATER = {f"sheet-0{n}.svg": seal(f"<svg>later {n}</svg>") for n in (1, 2)} | {"overview.pdf": "p", "guide.html": "g"}
BEFORE, AFTER = EARLIER | MINE, LATER | MINE

#: What changes the disk, step by step.
STEPS: tuple[tuple[ModuleType, str], ...] = (
    (os, "replace"), (os, "unlink"), (os, "fsync"), (shutil, "copy2"), (shutil, "rmtree"),
)  # fmt: skip

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="only a forked child can be killed at a step")


def visible(folder: Path) -> dict[str, str]:
    return {path.name: path.read_text() for path in sorted(folder.iterdir()) if path.is_file()}


def fill(folder: Path) -> Path:
    folder.mkdir()
    for name, text in BEFORE.items():
        (folder / name).write_text(text)
    return folder


def kill_at(step: int, work: Callable[[], object], *, late: bool) -> bool:
    """Do work in a child that kills itself before its step number ``step``, or after it; tell whether it was killed."""
    child = os.fork()
    if child:
        return os.WIFSIGNALED(os.waitpid(child, 0)[1])
    calls = 0

    def killing(real: Callable[..., object]) -> Callable[..., object]:
        def call(*arguments: object, **named: object) -> object:
            nonlocal calls
            calls += 1
            mine = calls == step
            if mine and not late:
                os.kill(os.getpid(), signal.SIGKILL)
            result = real(*arguments, **named)
            if mine:
                os.kill(os.getpid(), signal.SIGKILL)
            return result

        return call

    try:
        for module, name in STEPS:
            setattr(module, name, killing(getattr(module, name)))
        work()
    finally:
        os._exit(0)


def later(folder: Path) -> tuple[Path, ...]:
    return replace_files(folder, LATER, obsolete=["sheet-*.svg"])


def until_done(tmp_path: Path, work: Callable[[Path], object], start: Callable[[Path], Path], *, late: bool):
    """Yield a folder for every step at which work on it was killed."""
    step = 0
    while True:
        step += 1
        folder = start(tmp_path / f"{'late' if late else 'early'}-{step}")
        if not kill_at(step, lambda: work(folder), late=late):  # noqa: B023  the child runs it at once
            assert visible(folder) == AFTER
            return
        yield folder


@pytest.mark.parametrize("late", [False, True])
def test_no_kill_leaves_two_sets_without_a_warning(tmp_path, late):
    mixed, killed = 0, 0
    for folder in until_done(tmp_path, later, fill, late=late):
        killed += 1
        found = visible(folder)
        if WARNING not in found:
            assert found in (BEFORE, AFTER)
            continue
        mixed += found not in (BEFORE | {WARNING: found[WARNING]}, AFTER | {WARNING: found[WARNING]})
        assert "Do not cut" in found[WARNING] and "Export into this folder again" in found[WARNING]
        assert undo_unfinished(folder)
        assert visible(folder) == BEFORE
        assert not list(folder.glob(f"{PREFIX}*"))
    assert killed > 15 and mixed >= 4


@pytest.mark.parametrize("late", [False, True])
@pytest.mark.slow
def test_the_next_delivery_mends_what_a_killed_one_left(tmp_path, late):
    for folder in until_done(tmp_path, later, fill, late=late):
        later(folder)
        assert visible(folder) == AFTER
        assert not list(folder.glob(f"{PREFIX}*"))


def half_done(folder: Path) -> Path:
    """A folder whose delivery was killed after two replacements, or nearly so."""
    fill(folder)
    real, calls = os.replace, []

    def dying(source: object, target: object) -> None:
        real(source, target)
        calls.append(target)
        if len(calls) == 2:
            os.kill(os.getpid(), signal.SIGKILL)

    child = os.fork()
    if not child:
        os.replace = dying
        later(folder)
        os._exit(0)
    assert os.WIFSIGNALED(os.waitpid(child, 0)[1])
    return folder


@pytest.mark.parametrize("late", [False, True])
@pytest.mark.slow
def test_putting_back_can_be_killed_too(tmp_path, late):
    def mend_and_deliver(folder: Path) -> None:
        undo_unfinished(folder)
        later(folder)

    for folder in until_done(tmp_path, mend_and_deliver, half_done, late=late):
        undo_unfinished(folder)
        assert visible(folder) in (BEFORE, AFTER)
        later(folder)
        assert visible(folder) == AFTER and not list(folder.glob(f"{PREFIX}*"))


def test_a_single_file_needs_no_warning(tmp_path, monkeypatch):
    seen = []
    real = os.replace
    monkeypatch.setattr(delivery.os, "replace", lambda *a: (seen.append(sorted(os.listdir(tmp_path))), real(*a))[1])
    replace_files(tmp_path, {"report.json": "{}"})
    assert len(seen) == 1 and WARNING not in seen[0]
    assert os.listdir(tmp_path) == ["report.json"]


WORKING = """
import os, sys, time
from pathlib import Path
from stowfold.geometry.files import replace_files
real = os.replace
def slow(*arguments):
    real(*arguments)
    print("at work", flush=True)
    time.sleep(60)
os.replace = slow
replace_files(Path(sys.argv[1]), {"a": "theirs", "b": "theirs"})
"""


def test_a_delivery_that_still_works_is_not_undone(tmp_path):
    """Another living program is replacing files here: its set is left alone, and one sentence says so."""
    with subprocess.Popen([sys.executable, "-c", WORKING, tmp_path], stdout=subprocess.PIPE, text=True) as other:
        try:
            assert other.stdout.readline() == "at work\n"
            with pytest.raises(UnreadableError, match="Another export is replacing the files in"):
                replace_files(tmp_path, {"a": "mine", "b": "mine"})
            assert (tmp_path / "a").read_text() == "theirs" and (tmp_path / WARNING).exists()
        finally:
            other.kill()
    replace_files(tmp_path, {"a": "mine", "b": "mine"})
    assert visible(tmp_path) == {"a": "mine", "b": "mine"}


def test_a_warning_whose_shelf_is_gone_ends_with_the_next_whole_set(tmp_path):
    """Someone deleted the hidden folder: nothing can be put back, so the warning stays until all is replaced."""
    folder = half_done(tmp_path / "cut")
    for path in folder.glob(f"{PREFIX}*"):
        shutil.rmtree(path)
    assert not undo_unfinished(folder)
    assert WARNING in visible(folder)
    later(folder)
    assert visible(folder) == AFTER


def test_a_disk_without_locks_still_delivers(tmp_path, monkeypatch):
    fcntl = pytest.importorskip("fcntl")

    def none(*_: object) -> None:
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(fcntl, "flock", none)
    replace_files(tmp_path, {"a": "1", "b": "2"})
    assert visible(tmp_path) == {"a": "1", "b": "2"}
    assert unfinished.WARNING not in os.listdir(tmp_path)
