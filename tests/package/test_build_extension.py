"""The build command: a clean stage, wheels that must be those of the manifest, and a zip that never varies."""

from __future__ import annotations

import importlib.util
import tomllib
import zipfile
from pathlib import Path

import build_extension as build
import pytest

ROOT = Path(__file__).resolve().parents[2]


LISTED = tomllib.loads((ROOT / "addon" / "blender_manifest.toml").read_text(encoding="utf-8"))["wheels"]


def lay_empty_wheels(names):
    """A fetch that lays empty files of the given names instead of asking a registry."""

    def fetch(folder):
        for name in names:
            (folder / name.removeprefix("./wheels/")).write_bytes(b"wheel")

    return fetch


@pytest.fixture
def stage(tmp_path):
    folder = tmp_path / "stage" / "stowfold"
    build.stage_sources(folder)
    return folder


def test_stage_holds_both_folders_and_nothing_that_is_not_source(stage):
    files = {path.relative_to(stage).as_posix() for path in stage.rglob("*") if path.is_file()}
    assert {"__init__.py", "blender_manifest.toml", "LICENSE", "geometry/__init__.py", "geometry/flow/run.py"} <= files
    written = {name for name in files if not name.startswith("assets/")}
    assert {Path(name).suffix for name in written} <= {".py", ".toml", ".json", ".js", ".html", ".typed", ""}
    assert files - written == {"assets/stowfold_assets.blend", "assets/blender_assets.cats.txt"}
    assert not [name for name in files if "__pycache__" in name or Path(name).name.startswith(".")]


def test_stage_is_emptied_before_it_is_filled(stage):
    (stage / "left_over.py").write_text("")
    build.stage_sources(stage)
    assert not (stage / "left_over.py").exists()


def test_wheels_of_the_manifest_are_laid_in(stage):
    build.add_wheels(stage, fetch=lay_empty_wheels(LISTED))
    assert sorted(path.name for path in (stage / "wheels").iterdir()) == sorted(Path(name).name for name in LISTED)


def test_a_wheel_that_is_missing_stops_the_build(stage):
    with pytest.raises(build.BuildError, match=f"{Path(LISTED[1]).name} is listed in the manifest but was not fetched"):
        build.add_wheels(stage, fetch=lay_empty_wheels([*LISTED[:1], *LISTED[2:]]))
    assert not (stage / "wheels").exists()


def test_a_wheel_that_is_not_listed_stops_the_build(stage):
    with pytest.raises(
        build.BuildError, match=r"numpy-2\.0\.0-cp311-cp311-win_amd64\.whl was fetched but is not listed"
    ):
        build.add_wheels(stage, fetch=lay_empty_wheels([*LISTED, "numpy-2.0.0-cp311-cp311-win_amd64.whl"]))


def test_a_platform_without_wheels_stops_the_build(stage):
    manifest = stage / "blender_manifest.toml"
    manifest.write_text(manifest.read_text(encoding="utf-8").replace('"linux-x64", ', ""), encoding="utf-8")
    with pytest.raises(build.BuildError, match="The manifest promises"):
        build.add_wheels(stage, fetch=lay_empty_wheels(LISTED))


def test_the_same_sources_give_the_same_bytes(tmp_path):
    archives = []
    for name in ("first", "second"):
        stage = tmp_path / name / "stowfold"
        build.stage_sources(stage)
        build.add_wheels(stage, fetch=lay_empty_wheels(LISTED))
        archives.append(build.pack(stage, tmp_path / name))
    assert archives[0].name == archives[1].name
    assert archives[0].read_bytes() == archives[1].read_bytes()


def test_the_zip_opens_at_the_manifest_with_forward_slashes(stage, tmp_path):
    build.add_wheels(stage, fetch=lay_empty_wheels(LISTED))
    with zipfile.ZipFile(build.pack(stage, tmp_path / "out")) as archive:
        names = archive.namelist()
        assert archive.testzip() is None
    assert names == sorted(names)
    assert "blender_manifest.toml" in names
    assert "geometry/board/stock.py" in names
    assert {name.removeprefix("./") for name in LISTED} <= set(names)
    version = build.read_manifest(stage)["version"]
    assert [path.name for path in (tmp_path / "out").iterdir()] == [f"stowfold-{version}.zip"]


@pytest.mark.slow
def test_blenders_checks_look_at_the_zip(stage, tmp_path):
    if importlib.util.find_spec("bpy") is None:
        pytest.skip("bpy is not installed")
    build.add_wheels(stage, fetch=lay_empty_wheels(LISTED))
    archive = build.pack(stage, tmp_path / "out")
    build.validate(archive)
    broken = tmp_path / "broken.zip"
    with zipfile.ZipFile(archive) as good, zipfile.ZipFile(broken, "w") as bad:
        for name in good.namelist():
            if name != "blender_manifest.toml":
                bad.writestr(name, good.read(name))
    with pytest.raises(build.BuildError, match=r"does not accept broken\.zip"):
        build.validate(broken)
