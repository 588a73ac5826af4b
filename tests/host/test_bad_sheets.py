"""The command line where sheets cannot be made or kept: one sentence, a code, and nothing lost or replaced silently."""

from __future__ import annotations

import errno
import os
import shutil
import subprocess

import bpy
import pytest
from slow_cases import one_quick
from stowfold.geometry import files as delivery

STOCK = "birch-plywood-3"


def texts(folder):
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


@pytest.mark.parametrize(
    "bed", [("0", "300"), ("-600", "300"), ("nan", "300"), ("600", "inf"), ("1e-9", "300"), ("4", "4")]
)
def test_a_bed_that_cannot_be_is_one_sentence(run, tmp_path, sentence, bed):
    code, out, err = run("coupon", STOCK, "-o", tmp_path / "cut", "--bed", *bed)
    assert (code, out) == (2, [])
    assert "bed" in sentence(err) or "margin" in sentence(err)
    assert not (tmp_path / "cut").exists()


@pytest.mark.slow
def test_a_coupon_that_no_bed_takes_is_findings_and_exit_1(run, tmp_path):
    code, out, _ = run("coupon", STOCK, "-o", tmp_path / "cut", "--bed", "60", "40")
    assert code == 1
    assert any("more than a sheet" in line for line in out)


@pytest.mark.parametrize("repeats", ["0", "-3"])
def test_no_hinge_at_all_is_one_sentence(run, tmp_path, sentence, repeats):
    code, _, err = run("coupon", STOCK, "-o", tmp_path / "cut", "--repeats", repeats)
    assert code == 2
    sentence(err)
    assert not (tmp_path / "cut").exists()


def test_a_folder_name_that_no_disk_takes_is_one_sentence(run, tmp_path, sentence):
    code, out, err = run("coupon", STOCK, "-o", tmp_path / ("n" * 300))
    assert (code, out) == (2, [])
    sentence(err)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.slow
def test_a_coupon_over_an_earlier_one_says_so(run, tmp_path):
    first = run("coupon", STOCK, "-o", tmp_path)
    assert not any("replaced" in line for line in first[1])
    (line,) = [line for line in run("coupon", STOCK, "-o", tmp_path)[1] if "replaced" in line]
    assert all(name in line for name in texts(tmp_path))


@pytest.mark.slow
def test_a_report_over_an_earlier_file_says_so(add_ring, save, run, tmp_path):
    add_ring()
    path = save()
    (tmp_path / "report.json").write_text("mine")
    _, out, _ = run("check", path, "--json", tmp_path / "report.json")
    assert any("replaced" in line and "report.json" in line for line in out)


def test_millimetres_in_a_scene_of_squares_are_one_sentence(add_ring, save, run, tmp_path, sentence):
    """230 units of a square each are a building of 6 m."""
    bpy.context.scene.unit_settings.scale_length = 1.0
    add_ring()
    code, out, err = run("cut", save(), "-o", tmp_path / "cut")
    assert (code, out) == (2, [])
    said = sentence(err)
    assert "5842 x 3810 x 1524 mm" in said and "unit scale to 0.001" in said
    assert not (tmp_path / "cut").exists()


@pytest.mark.slow
def test_sheets_that_are_taken_away_are_named(add_ring, save, run, tmp_path):
    """A large building leaves more sheets than a small one: the left ones would mislead, and go, and that is said."""
    add_ring(length=500.0, width=350.0)
    large = save("large.blend")
    bpy.context.scene.unit_settings.scale_length = 0.001  # saving has begun a new file
    add_ring()
    small = save("small.blend")
    folder = tmp_path / "cut"
    assert run("cut", large, "-o", folder, "--propose", "breaks", "--anyway")[0] in (0, 1)
    before = set(texts(folder))
    _, out, _ = run("cut", small, "-o", folder)
    gone = before - set(texts(folder))
    assert len(gone) >= 1
    (line,) = [line for line in out if "took away" in line]
    assert all(name in line for name in gone)


@pytest.mark.parametrize(
    "title",
    one_quick(["a/b\\c:d", '"Lock" & <co>', "\u05e9\u05dc\u05d5\u05dd\u202e", "\U0001f3e0", "\x07bell", "n" * 60]),
)
def test_odd_names_of_the_model_stay_out_of_file_names(add_ring, save, run, tmp_path, title):
    add_ring(title)
    code, _, err = run("cut", save(), "-o", tmp_path / "cut")
    assert (code, err) == (0, [])
    names = set(texts(tmp_path / "cut"))
    assert {"report.json", "guide.html", "overview.pdf"} < names
    assert all(name.isascii() and name == name.lower() and not set(name) & set('<>:"/\\|?* ') for name in names)


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EROFS])
@pytest.mark.slow
def test_a_disk_that_fails_leaves_the_earlier_set(add_ring, save, run, tmp_path, sentence, monkeypatch, code):
    add_ring()
    path, folder = save(), tmp_path / "cut"
    assert run("cut", path, "-o", folder)[0] == 0
    before = texts(folder)

    def fail(_: int) -> None:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(delivery.os, "fsync", fail)
    exit_code, out, err = run("cut", path, "-o", folder)
    assert (exit_code, out) == (2, [])
    sentence(err)
    assert texts(folder) == before


@pytest.mark.slow
def test_a_disk_that_is_really_full(add_ring, save, run, tmp_path, sentence):
    add_ring()
    path, disk = save(), tmp_path / "disk"
    disk.mkdir()
    if (
        shutil.which("mount") is None
        or subprocess.run(
            ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(disk)], check=False, capture_output=True
        ).returncode
    ):
        pytest.skip("only the superuser mounts disks")
    try:
        code, out, err = run("cut", path, "-o", disk)
        assert (code, out) == (2, [])
        assert "disk is full" in sentence(err)
        assert list(disk.iterdir()) == []
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def test_a_file_name_that_no_disk_takes_is_one_sentence(run, tmp_path, sentence):
    code, out, err = run("check", tmp_path / ("n" * 300 + ".blend"))
    assert (code, out) == (2, [])
    sentence(err)


@pytest.mark.parametrize(("operator", "chosen"), [("export", {}), ("cut_coupon", {"stock": STOCK})])
@pytest.mark.slow
def test_a_folder_that_no_disk_takes_is_a_report_in_the_window(add_ring, tmp_path, operator, chosen):
    add_ring()
    with pytest.raises(RuntimeError, match="too long for this disk"):
        getattr(bpy.ops.stowfold, operator)(directory=str(tmp_path / ("n" * 300)), **chosen)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EROFS])
@pytest.mark.slow
def test_a_disk_that_fails_is_a_report_in_the_window(add_ring, tmp_path, monkeypatch, code):
    add_ring()
    assert bpy.ops.stowfold.export(directory=str(tmp_path)) == {"FINISHED"}
    before = texts(tmp_path)

    def fail(_: int) -> None:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(delivery.os, "fsync", fail)
    with pytest.raises(RuntimeError, match=r"make room|may not be written to"):
        bpy.ops.stowfold.export(directory=str(tmp_path), overwrite=True)
    assert texts(tmp_path) == before
