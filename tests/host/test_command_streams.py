"""The command line among other programs: devices, pipes, closed streams, full disks and signals, all for real."""

from __future__ import annotations

import json
import os
import signal
import stat
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from slow_cases import one_quick
from stowfold import command_line
from stowfold.streams import Stopped, stoppable, stopped_later

SAMPLE = str(Path(__file__).resolve().parents[2] / "blend_samples" / "toll_house.blend")
STOWFOLD = [sys.executable, "-c", "import sys; from stowfold.command_line import main; sys.exit(main(sys.argv[1:]))"]

pytestmark = pytest.mark.skipif(os.name != "posix", reason="devices, pipes and signals as POSIX has them")


@pytest.fixture
def building(add_ring, save):
    add_ring()
    return save()


# Where a report goes


@pytest.mark.slow
def test_a_report_into_a_device_leaves_the_device(building, run, tmp_path):
    node = tmp_path / "null"
    try:
        os.mknod(node, stat.S_IFCHR | 0o666, os.makedev(1, 3))
    except PermissionError:
        pytest.skip("only the superuser makes devices")
    code, _, err = run("check", building, "--json", node)
    assert (code, err) == (0, [])
    assert stat.S_ISCHR(node.stat().st_mode)
    assert sorted(os.listdir(tmp_path)) == ["building.blend", "null"]


def test_a_report_into_a_pipe_reaches_its_reader(building, run, tmp_path):
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    heard: list[str] = []
    reader = threading.Thread(target=lambda: heard.append(pipe.read_text()))
    reader.start()
    code, _, err = run("check", building, "--json", pipe)
    reader.join(timeout=10)
    assert (code, err) == (0, [])
    assert json.loads(heard[0])["schema"] == "stowfold-report/1"
    assert stat.S_ISFIFO(pipe.stat().st_mode)


@pytest.mark.slow
def test_a_report_into_standard_output_follows_the_summary(building, capfd):
    capfd.readouterr()
    assert command_line.main(["check", str(building), "--json", "/dev/stdout"]) == 0
    said = capfd.readouterr().out
    assert said.startswith("Boat shed: ")
    assert json.loads(said[said.index("\n{") :])["unit"] == "mm"
    assert Path("/dev/stdout").is_symlink()


@pytest.mark.slow
def test_a_report_into_a_socket_is_refused(building, run, tmp_path, sentence):
    socket = pytest.importorskip("socket")
    place = tmp_path / "socket"
    with socket.socket(socket.AF_UNIX) as listening:
        listening.bind(str(place))
        code, _, err = run("check", building, "--json", place)
    assert code == 2 and "neither a file nor a pipe" in sentence(err)
    assert stat.S_ISSOCK(place.stat().st_mode)


def test_a_report_is_whole_where_nobody_reads_the_summary_to_its_end(building, tmp_path, monkeypatch):
    place = tmp_path / "report.json"

    def stops_reading(*_words):
        raise BrokenPipeError

    monkeypatch.setattr("builtins.print", stops_reading)
    command_line.main(["check", str(building), "--json", str(place)])
    assert json.loads(place.read_text())["schema"] == "stowfold-report/1"


@pytest.mark.slow
def test_an_earlier_report_is_replaced_and_named(building, run, tmp_path):
    place = tmp_path / "report.json"
    assert not any("replaced" in line for line in run("check", building, "--json", place)[1])
    assert "  replaced what lay there before: report.json" in run("check", building, "--json", place)[1]


# Streams that are closed or full


@pytest.mark.slow
def test_closed_streams_change_neither_the_work_nor_the_exit_code(tmp_path):
    """Closed as a shell closes them; the number of a closed stream must not go to a file of ours."""
    command = 'exec "$@" <&- >&- 2>&-'
    done = subprocess.run(
        ["sh", "-c", command, "sh", *STOWFOLD, "cut", SAMPLE, "-o", str(tmp_path / "cut")], check=False
    )
    assert done.returncode == 0
    assert (tmp_path / "cut" / "guide.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
@pytest.mark.slow
def test_an_output_that_is_full_is_one_sentence(tmp_path, sentence):
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [*STOWFOLD, *COUPON, str(tmp_path)], stdout=full, stderr=subprocess.PIPE, text=True, check=False
        )
    assert done.returncode == 2
    assert "No space left on device" in sentence(done.stderr.splitlines())


# Signals


STOPPED = """
import os, signal, sys
from stowfold import command_line
number = int(sys.argv[1])
# what runs the tests may have it ignored, which a child inherits
if number != signal.SIGKILL:
    signal.signal(number, signal.default_int_handler if number == signal.SIGINT else signal.SIG_DFL)
replace = os.replace
def signalling(*paths):
    replace(*paths)
    os.kill(os.getpid(), number)
    os.kill(os.getpid(), number)
os.replace = signalling
sys.exit(command_line.main(sys.argv[2:]))
"""

#: A verb that needs no host, so that these tests stay fast.
COUPON = ("coupon", "birch-plywood-3", "-o")


@pytest.mark.parametrize(
    ("number", "code"), one_quick([(signal.SIGINT, 130), (signal.SIGTERM, 143), (signal.SIGHUP, 129)])
)
def test_a_signal_between_the_files_leaves_the_earlier_set(tmp_path, number, code, sentence):
    folder = tmp_path / "cut"
    folder.mkdir()
    (folder / "coupon-birch-plywood-3.html").write_text("earlier")
    words = [str(int(number)), *COUPON, str(folder)]
    done = subprocess.run([sys.executable, "-c", STOPPED, *words], capture_output=True, text=True, check=False)
    assert done.returncode == code
    assert "Stopped before the end" in sentence(done.stderr.splitlines())
    assert done.stdout == ""
    assert {path.name: path.read_text() for path in folder.iterdir()} == {"coupon-birch-plywood-3.html": "earlier"}


@pytest.fixture
def own_handlers():
    """The usual handlers, whatever runs the tests, and those of this process as they were after each test."""
    kept = {number: signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)}
    for number in kept:
        signal.signal(number, signal.default_int_handler if number == signal.SIGINT else signal.SIG_DFL)
    yield
    for number, known in kept.items():
        signal.signal(number, known)


def test_a_signal_waits_while_the_host_is_at_work(own_handlers):
    reached = []
    with pytest.raises(Stopped) as stopped, stoppable(), stopped_later():
        os.kill(os.getpid(), signal.SIGTERM)
        reached.append("the end of the host's work")
    assert reached and stopped.value.exit_code == 143


def test_handlers_are_put_back_after_work_that_was_not_stopped(own_handlers):
    before = signal.getsignal(signal.SIGINT)
    with stoppable():
        assert signal.getsignal(signal.SIGINT) is not before
    assert signal.getsignal(signal.SIGINT) is before
    with pytest.raises(ValueError, match="x"), stoppable():
        raise ValueError("x")
    assert signal.getsignal(signal.SIGINT) is before


def test_signals_in_another_thread_are_left_alone(own_handlers):
    seen = []

    def work() -> None:
        with stoppable():
            seen.append(signal.getsignal(signal.SIGINT))

    thread = threading.Thread(target=work)
    thread.start()
    thread.join()
    assert seen == [signal.getsignal(signal.SIGINT)]


# A killed export


@pytest.mark.slow
def test_a_delivery_that_was_killed_is_undone_by_the_next_one_and_told(run, tmp_path):
    words = (*COUPON, str(tmp_path))
    assert run(*words)[0] == 0
    whole = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    assert len(whole) > 1
    subprocess.run([sys.executable, "-c", STOPPED, str(int(signal.SIGKILL)), *words], capture_output=True, check=False)
    assert (tmp_path / "DO-NOT-CUT.txt").exists()
    code, out, _ = run(*words)
    assert code == 0
    assert any("were of two exports" in line for line in out)
    assert not any("took away" in line for line in out)
    assert {path.name for path in tmp_path.iterdir()} == set(whole)


def test_a_fault_of_ours_is_no_finding(building, run, monkeypatch):
    monkeypatch.setattr("stowfold.geometry.flow.run.run", lambda *_, **__: 1 / 0)
    code, _, err = run("check", building)
    assert code == 2
    assert "ZeroDivisionError" in " ".join(err) and "fault of Stowfold" in err[-1]
