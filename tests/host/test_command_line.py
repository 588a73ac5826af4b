"""The command line: what it writes, prints and returns, and that it never touches the maker's file."""

from __future__ import annotations

import gzip
import json
import math
import os
import shutil
import subprocess
import sys
from pathlib import Path

import bpy
import pytest
from slow_cases import one_quick
from stowfold import command_line

SAMPLES = Path(__file__).resolve().parents[2] / "blend_samples"


def report_of(folder):
    return json.loads((folder / "report.json").read_text(encoding="utf-8"))


# Cutting


def test_a_ring_marked_by_a_plain_script_is_cut(add_ring, save, run, tmp_path):
    add_ring()
    path = save()
    before = path.read_bytes()
    code, out, err = run("cut", path, "-o", tmp_path / "cut")
    assert (code, err) == (0, [])
    names = sorted(file.name for file in (tmp_path / "cut").iterdir())
    assert {"guide.html", "report.json"} < set(names)
    assert any(name.endswith(".svg") for name in names)
    for name in names:
        assert any(name in line for line in out)
    assert any("laser time" in line for line in out)
    # the file is only read: no byte of it changes, and no second version appears beside it
    assert path.read_bytes() == before
    assert sorted(file.name for file in tmp_path.iterdir()) == ["building.blend", "cut"]


@pytest.mark.parametrize(
    ("length", "width", "count"), one_quick([(230.0, 150.0, 2), (256.0, 128.0, 2), (300.0, 100.0, 2)])
)
def test_the_flat_length_of_a_ring_is_the_closed_form(add_ring, save, run, tmp_path, length, width, count):
    # P - n (c + 2 g) + sum (B - 2 d): bend allowance less twice the setback at each corner, as for sheet metal.
    add_ring(length=length, width=width)
    assert run("cut", save(), "-o", tmp_path / "cut", "--play-mat")[0] == 0
    report = report_of(tmp_path / "cut")
    walls = [part for part in report["parts"] if part["kind"] == "wall"]
    assert len(walls) == count
    expected = 2 * (length + width)
    for joiner in report["joiners"]:
        expected -= joiner["core_width"] + 2 * joiner["gap"]
    assert len(report["lattices"]) == 4
    for lattice in report["lattices"]:
        angle = math.radians(abs(lattice["angle_deg"]))
        inside_radius = lattice["flat_width"] / angle - lattice["thickness"] / 2
        expected += lattice["flat_width"] - 2 * inside_radius * math.tan(angle / 2)
    assert sum(max(part["size"]) for part in walls) == pytest.approx(expected, abs=1e-6)


@pytest.mark.slow
def test_the_proof_holds_on_what_blender_stores(add_ring, save, run, tmp_path):
    # sizes that single precision cannot hold, far from the origin, in squares
    target = add_ring(length=228.6, width=152.4, height=62.0, scale=1 / 25.4)
    bpy.context.scene.unit_settings.scale_length = 1.0
    target.location = (130.3, -106.7, 0.0)
    target.rotation_euler = (0.0, 0.0, 0.7)
    path = save()
    assert run("check", path, "--json", tmp_path / "report.json")[0] == 0
    proof = json.loads((tmp_path / "report.json").read_text(encoding="utf-8"))["proof"]
    lines = [value for key, value in proof.items() if isinstance(value, float) and key != "limit"]
    assert len(lines) >= 4
    assert max(lines) <= 1e-3


@pytest.mark.slow
def test_a_proposal_stays_out_of_the_file(add_ring, save, run, tmp_path):
    target = add_ring("Cargo")
    target.data.attributes.remove(target.data.attributes["stowfold_role"])
    path = save()
    before = path.read_bytes()
    run("check", path, "--propose", "all")
    assert path.read_bytes() == before
    bpy.ops.wm.open_mainfile(filepath=str(path))
    assert bpy.data.meshes["Cargo"].attributes.get("stowfold_role") is None


@pytest.mark.slow
def test_errors_keep_the_sheets_back(add_ring, save, run, tmp_path):
    target = add_ring()
    target.scale = (1.0, 1.0, 6.0)
    path = save()
    code, out, err = run("cut", path, "-o", tmp_path / "cut")
    assert (code, err) == (1, [])
    assert sorted(file.name for file in (tmp_path / "cut").iterdir()) == ["guide.html", "report.json"]
    assert any("--anyway" in line for line in out)
    assert run("cut", path, "-o", tmp_path / "anyway", "--anyway")[0] == 1
    assert list((tmp_path / "anyway").glob("*.svg"))


def test_flex_corners_all_round_without_a_break_are_an_error_that_says_so(add_ring, save, run):
    add_ring(breaks=False)
    code, out, _ = run("check", save())
    assert code == 1
    assert "break" in " ".join(out)


@pytest.mark.slow
def test_options_reach_the_flow(add_ring, save, run, tmp_path):
    add_ring("Boat shed")
    add_ring("Smithy", length=180.0)
    path = save()
    words = ("--object", "Smithy", "--stock", "mdf-3", "--play-mat")
    assert run("cut", path, "-o", tmp_path / "cut", *words)[0] == 0
    report = report_of(tmp_path / "cut")
    assert {part["stock"] for part in report["parts"]} == {"mdf-3"}
    assert "floor" not in {part["kind"] for part in report["parts"]}
    assert report["tabs"] == []


@pytest.mark.slow
def test_settings_and_marks_of_the_file_count(add_ring, save, run, tmp_path):
    add_ring("Boat shed").stowfold.is_block_out = True
    add_ring("Smithy")
    bpy.context.scene.stowfold.square = 30.0
    bpy.context.scene.stowfold.joiner.core_width = 12.7
    path = save()
    code, out, _ = run("cut", path, "-o", tmp_path / "cut")
    assert code == 0
    assert out[0].startswith("Boat shed")
    report = report_of(tmp_path / "cut")
    assert report["square"] == 30.0
    assert {joiner["core_width"] for joiner in report["joiners"]} == {12.7}


@pytest.mark.slow
def test_the_same_file_gives_the_same_sheets(add_ring, save, run, tmp_path):
    add_ring()
    path = save()
    for folder in ("one", "two"):
        run("cut", path, "-o", tmp_path / folder)
    sheets = sorted(file.name for file in (tmp_path / "one").glob("*.svg"))
    assert sheets
    for name in [*sheets, "report.json"]:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()


# Checking


def test_a_check_prints_the_proof_and_writes_nothing(add_ring, save, run, tmp_path):
    add_ring()
    path = save()
    code, out, err = run("check", path)
    assert (code, err) == (0, [])
    assert any("proof holds" in line for line in out)
    assert any(line.startswith("Findings") for line in out)
    assert [file.name for file in tmp_path.iterdir()] == ["building.blend"]


@pytest.mark.slow
def test_the_host_does_not_talk_into_our_output(add_ring, save, run):
    add_ring()
    _, out, err = run("check", save())
    assert not [line for line in out + err if "Read blend" in line or "Warning" in line]


# What cannot go on


def test_a_missing_file_is_named(run, tmp_path, sentence):
    code, out, err = run("check", tmp_path / "gone.blend")
    assert (code, out) == (2, [])
    assert "There is no file" in sentence(err)
    assert "gone.blend" in sentence(err)


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 a zip", b"solid stl", b"BLEND"])
def test_a_file_of_another_kind_is_refused(run, tmp_path, content, sentence):
    path = tmp_path / "other.blend"
    path.write_bytes(content)
    code, _, err = run("check", path)
    assert code == 2
    assert "is not a Blender file" in sentence(err)


@pytest.mark.parametrize("compress", [False, True])
@pytest.mark.parametrize("share", [0.02, 0.5, 0.97])
def test_a_torn_file_is_refused(add_ring, save, run, tmp_path, compress, share, sentence):
    add_ring()
    whole = save(compress=compress).read_bytes()
    torn = tmp_path / "torn.blend"
    torn.write_bytes(whole[: int(len(whole) * share)])
    code, _, err = run("cut", torn, "-o", tmp_path / "cut")
    assert code == 2
    assert "cannot read" in sentence(err)
    assert not (tmp_path / "cut").exists()


def test_noise_behind_a_right_beginning_is_refused(run, tmp_path, sentence):
    path = tmp_path / "noise.blend"
    path.write_bytes(gzip.compress(b"no building at all"))
    code, _, err = run("check", path)
    assert code == 2
    assert "cannot read" in sentence(err)


def test_a_folder_is_no_file(run, tmp_path, sentence):
    code, _, err = run("check", tmp_path)
    assert code == 2
    assert "is a folder" in sentence(err)


def test_an_empty_scene_is_one_sentence(save, run, sentence):
    code, _, err = run("check", save())
    assert code == 2
    assert "The scene is empty" in sentence(err)


def test_two_candidates_are_one_sentence(add_ring, save, run, sentence):
    add_ring("Boat shed")
    add_ring("Smithy")
    code, _, err = run("check", save())
    assert code == 2
    assert "'Boat shed', 'Smithy'" in sentence(err)
    assert "--object" in sentence(err)


def test_an_unknown_stock_lists_the_known_ones(add_ring, save, run, sentence):
    add_ring()
    code, _, err = run("check", save(), "--stock", "wet cardboard")
    assert code == 2
    assert "birch-plywood-3" in sentence(err)


def test_an_output_folder_that_is_a_file_is_refused_before_any_work(add_ring, save, run, tmp_path, sentence):
    add_ring()
    path = save()
    (tmp_path / "taken").write_text("mine")
    code, out, err = run("cut", path, "-o", tmp_path / "taken")
    assert (code, out) == (2, [])
    assert "taken" in sentence(err)
    assert (tmp_path / "taken").read_text() == "mine"


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_an_output_folder_that_cannot_be_written_is_refused(add_ring, save, run, tmp_path, sentence):
    add_ring()
    path = save()
    (tmp_path / "locked").mkdir(mode=0o500)
    code, _, err = run("cut", path, "-o", tmp_path / "locked" / "cut")
    assert code == 2
    assert "cannot be written" in sentence(err)


@pytest.mark.slow
def test_a_report_that_cannot_be_written_is_one_sentence(add_ring, save, run, tmp_path, sentence):
    add_ring()
    path = save()
    code, _, err = run("check", path, "--json", tmp_path / "no" / "such" / "folder" / "report.json")
    assert code == 2
    sentence(err)


@pytest.mark.parametrize("words", [(), ("fold",), ("cut", "a.blend"), ("cut", "a.blend", "-o", "x", "--propose", "me")])
def test_wrong_words_are_exit_2_with_the_usage(run, words):
    code, _, err = run(*words)
    assert code == 2
    assert err[0].startswith("usage: stowfold")


def test_help_is_exit_0_and_names_the_verbs(run):
    code, out, _ = run("--help")
    assert code == 0
    assert {"cut", "check"} <= set(" ".join(out).split())


@pytest.mark.slow
def test_a_script_in_the_file_is_not_run(add_ring, save, run, tmp_path):
    target = add_ring()
    target["sign"] = 0.0
    witness = tmp_path / "ran"
    text = bpy.data.texts.new("start.py")
    text.use_module = True
    text.write(f"open({str(witness)!r}, 'w').close()")
    path = save()
    assert run("check", path)[0] == 0
    assert not witness.exists()
    # the same file does run its script where that is asked for: the witness can speak
    bpy.ops.wm.open_mainfile(filepath=str(path), use_scripts=True)
    assert witness.exists()


# A host that is missing, and the real console script


def test_a_missing_host_says_what_to_install(run, monkeypatch, tmp_path, sentence):
    path = shutil.copy(SAMPLES / "grain_store.blend", tmp_path)
    monkeypatch.setitem(sys.modules, "bpy", None)
    code, _, err = run("check", path)
    assert code == 2
    assert "pip install 'stowfold[host]'" in sentence(err)


START = "import sys; from stowfold.command_line import main; sys.exit(main(sys.argv[1:]))"


@pytest.mark.slow
def test_a_host_without_its_system_libraries_says_what_to_install(tmp_path, sentence):
    (tmp_path / "bpy.py").write_text("raise ImportError('libSM.so.6: cannot open shared object file')")
    result = subprocess.run(
        [sys.executable, "-c", START, "check", str(SAMPLES / "grain_store.blend")],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(tmp_path)},
    )
    assert result.returncode == 2
    assert "libSM.so.6" in sentence(result.stderr.splitlines())
    assert "apt-get install libx11-6 libsm6" in result.stderr


@pytest.mark.slow
def test_the_console_script_works_from_any_folder(tmp_path):
    script = Path(sys.executable).with_name("stowfold")
    result = subprocess.run(
        [script, "cut", SAMPLES / "toll_house.blend", "-o", "cut"],
        capture_output=True,
        text=True,
        check=False,
        cwd=tmp_path,
    )
    assert (result.returncode, result.stderr) == (0, "")
    assert result.stdout.startswith("Toll house: ")
    assert (tmp_path / "cut" / "guide.html").exists()


def test_the_same_words_work_behind_blenders_own_command(add_ring, save, capfd):
    # the host hands the words behind the command's name to this function, and exits with what it returns
    add_ring()
    path = save()
    capfd.readouterr()
    assert command_line.run_in_blender(["check", str(path)]) == 0
    assert "proof holds" in capfd.readouterr().out
    assert command_line.run_in_blender(["fold"]) == 2
    assert "usage: blender --command stowfold" in capfd.readouterr().err


@pytest.mark.slow
def test_a_reader_that_has_seen_enough_ends_the_check_without_a_traceback():
    script = "import sys; from stowfold.command_line import main; sys.exit(main())"
    check = subprocess.Popen(
        [sys.executable, "-c", script, "check", str(SAMPLES / "toll_house.blend")],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    check.stdout.close()
    _, said = check.communicate(timeout=120)
    assert said == ""
    assert check.returncode == 141  # 128 + SIGPIPE: neither done nor findings


@pytest.mark.slow
def test_replaced_files_are_named(tmp_path, capsys):
    sample = str(SAMPLES / "toll_house.blend")
    assert command_line.main(["cut", sample, "-o", str(tmp_path)]) == 0
    assert "replaced what" not in capsys.readouterr().out
    assert command_line.main(["cut", sample, "-o", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert "replaced what lay there before: guide.html, mock-up.pdf, overview.pdf, report.json, sheet-01" in said


@pytest.mark.slow
def test_loose_boards_do_not_read_as_success(add_ring, save, run, tmp_path):
    target = add_ring("Boat shed", breaks=False)
    target.data.attributes.remove(target.data.attributes["stowfold_role"])
    path = save()
    code, out, _ = run("check", path)
    assert code == 0
    assert out[0].startswith("Boat shed: 5 parts (4 loose boards among them) on 1 sheet")
    assert any("nothing-marked (Boat shed)" in line for line in out)
    _, out, _ = run("cut", path, "-o", tmp_path / "cut")
    assert "4 loose boards" in out[0]
