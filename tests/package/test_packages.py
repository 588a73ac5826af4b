"""The installable package: every folder listed, every table of data carried along."""

from __future__ import annotations

import shutil
import subprocess
import sys
import tomllib
import zipfile
from importlib.metadata import version
from pathlib import Path

import pytest
from packaging.version import Version

ROOT = Path(__file__).resolve().parents[2]
PYPROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
SOURCES = {"stowfold": "addon", "stowfold.geometry": "geometry"}
CACHES = shutil.ignore_patterns("__pycache__", "*.egg-info")


def source_files() -> dict[str, Path]:
    """Every file of the two folders, by its place in the installed package."""
    files = {}
    for package, folder in SOURCES.items():
        for path in sorted((ROOT / folder).rglob("*")):
            if path.is_file() and "__pycache__" not in path.parts:
                files[f"{package.replace('.', '/')}/{path.relative_to(ROOT / folder).as_posix()}"] = path
    return files


def test_packages_listed_are_the_folders():
    # presets are scripts that the host runs, no modules
    modules = [Path(name) for name in source_files() if name.endswith(".py") and "/presets/" not in name]
    folders = {module.parent.as_posix().replace("/", ".") for module in modules}
    assert set(PYPROJECT["tool"]["setuptools"]["packages"]) == folders


def test_package_dir_maps_the_two_folders():
    assert PYPROJECT["tool"]["setuptools"]["package-dir"] == SOURCES


def test_every_package_has_an_init_file():
    files = source_files()
    for package in PYPROJECT["tool"]["setuptools"]["packages"]:
        assert f"{package.replace('.', '/')}/__init__.py" in files


def test_tests_are_no_package():
    assert not list((ROOT / "tests").rglob("__init__.py"))


@pytest.fixture(scope="module")
def wheel_names(tmp_path_factory) -> set[str]:
    """Names of the files in a wheel built from a copy of the sources, so that nothing is left in the tree."""
    if Version(version("setuptools")) < Version("77"):
        pytest.skip("building the wheel needs setuptools 77 or later, as the extra 'test' brings it")
    copy = tmp_path_factory.mktemp("copy")
    for name in ("addon", "geometry"):
        shutil.copytree(ROOT / name, copy / name, ignore=CACHES)
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy2(ROOT / name, copy / name)
    command = [
        sys.executable,
        "-m",
        "pip",
        "wheel",
        "--quiet",
        "--no-deps",
        "--no-build-isolation",
        "--wheel-dir",
        "out",
        ".",
    ]
    result = subprocess.run(command, cwd=copy, capture_output=True, text=True, check=False)
    assert result.returncode == 0, result.stderr
    (wheel,) = (copy / "out").glob("*.whl")
    return set(zipfile.ZipFile(wheel).namelist())


@pytest.mark.slow
def test_built_wheel_carries_every_source_and_every_table(wheel_names):
    assert set(source_files()) <= wheel_names
    assert "stowfold/geometry/py.typed" in wheel_names


@pytest.mark.slow
def test_built_wheel_carries_the_licence_and_nothing_beside_the_package(wheel_names):
    tops = {name.split("/")[0] for name in wheel_names}
    assert tops == {"stowfold", f"stowfold-{PYPROJECT['project']['version']}.dist-info"}
    assert any(name.endswith(".dist-info/licenses/LICENSE") for name in wheel_names)


def test_console_script_names_a_function_that_is_there():
    module, _, function = PYPROJECT["project"]["scripts"]["stowfold"].partition(":")
    place = module.replace(".", "/")
    path = source_files().get(f"{place}.py") or source_files().get(f"{place}/__init__.py")
    assert path is not None, f"{module} does not exist"
    assert f"def {function}(" in path.read_text(encoding="utf-8")
