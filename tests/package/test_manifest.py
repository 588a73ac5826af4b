"""The extension manifest: agrees with pyproject.toml, brings every wheel it promises, and Blender accepts it."""

from __future__ import annotations

import importlib.util
import re
import subprocess
import sys
import tomllib
from itertools import product
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name, parse_wheel_filename
from packaging.version import Version

ROOT = Path(__file__).resolve().parents[2]
MANIFEST = tomllib.loads((ROOT / "addon" / "blender_manifest.toml").read_text(encoding="utf-8"))
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
WHEELS = [parse_wheel_filename(path.removeprefix("./wheels/")) for path in MANIFEST["wheels"]]

# What the README promises: Python per Blender release (official builds), and a machine's wheel tags
# by the platform compatibility tags of the Python Packaging User Guide.
PYTHONS = {"cp311": "Blender 4.2 to 5.0", "cp313": "Blender 5.1 and later", "cp314": "builds of distributions"}
MACHINES = {"linux-x64": r"manylinux_2_\d+_x86_64", "windows-x64": "win_amd64", "macos-arm64": r"macosx_\d+_\d+_arm64"}


def required_beside_numpy() -> set[str]:
    names = {canonicalize_name(Requirement(line).name) for line in PROJECT["dependencies"]}
    return names - {"numpy"}


def test_version_is_the_same_in_manifest_and_project():
    assert MANIFEST["version"] == PROJECT["version"]


def test_id_is_the_name_of_the_import_package():
    assert MANIFEST["id"] == PROJECT["name"] == "stowfold"


def test_licence_is_the_same_in_manifest_and_project():
    assert MANIFEST["license"] == [f"SPDX:{PROJECT['license']}"] == ["SPDX:GPL-3.0-or-later"]
    text = (ROOT / "LICENSE").read_text(encoding="utf-8")
    assert "GNU GENERAL PUBLIC LICENSE" in text
    assert "Version 3, 29 June 2007" in text
    assert text.rstrip().endswith("<https://www.gnu.org/licenses/why-not-lgpl.html>.")


def test_oldest_blender_is_4_2():
    assert MANIFEST["blender_version_min"] == "4.2.0"
    assert "blender_version_max" not in MANIFEST


def test_files_is_the_only_permission():
    assert set(MANIFEST["permissions"]) == {"files"}


@pytest.mark.parametrize("sentence", [MANIFEST["tagline"], *MANIFEST["permissions"].values()])
def test_short_sentences_fit_and_end_without_full_stop(sentence):
    assert len(sentence) <= 64
    assert sentence[-1].isalnum() or sentence[-1] in ")]}"


@pytest.mark.parametrize(("python", "platform"), list(product(PYTHONS, MACHINES)))
def test_each_promised_machine_finds_exactly_one_wheel_of_each_library(python, platform):
    fitting = [
        canonicalize_name(name)
        for name, _, _, tags in WHEELS
        if any(
            tag.interpreter in (python, "py3")
            and tag.abi in (python, "none")
            and (tag.platform == "any" or re.fullmatch(MACHINES[platform], tag.platform))
            for tag in tags
        )
    ]
    wished = [canonicalize_name(Requirement(line).name) for line in PROJECT["optional-dependencies"]["denser"]]
    assert sorted(fitting) == sorted([*required_beside_numpy(), *wished])


def test_platforms_are_those_promised():
    assert sorted(MANIFEST["platforms"]) == sorted(MACHINES)


def test_numpy_is_never_bundled():
    assert "numpy" not in {canonicalize_name(name) for name, *_ in WHEELS}


def test_one_version_of_each_library_that_the_project_allows():
    for line in (*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["denser"]):
        wanted = Requirement(line)
        versions = {
            version for name, version, *_ in WHEELS if canonicalize_name(name) == canonicalize_name(wanted.name)
        }
        if wanted.name != "numpy":
            assert len(versions) == 1, wanted.name
            assert versions.pop() in wanted.specifier, wanted.name


def test_wheel_list_pins_the_versions_of_the_manifest_with_one_hash_for_each_file():
    text = (ROOT / ".ci" / "wheels.txt").read_text(encoding="utf-8")
    pinned = {
        canonicalize_name(name): Version(version) for name, version in re.findall(r"^([\w-]+)==(\S+)", text, re.M)
    }
    assert pinned == {canonicalize_name(name): version for name, version, *_ in WHEELS}
    assert len(set(re.findall(r"--hash=sha256:([0-9a-f]{64})", text))) == len(WHEELS)


def blender_checks() -> list[str]:
    """Blender's own extension checks, as they come with the bpy module."""
    spec = importlib.util.find_spec("bpy")
    if spec is None:
        pytest.skip("bpy is not installed")
    folder = Path(spec.submodule_search_locations[0])
    (script,) = folder.glob("*/scripts/addons_core/bl_pkg/cli/blender_ext.py")
    return [sys.executable, str(script), "validate"]


def test_blender_accepts_the_manifest_and_its_tags(tmp_path):
    # The list of tags that an add-on may carry is Blender's, from its manual on extension tags.
    tags = tmp_path / "tags.json"
    tags.write_text('{"add-on": ["3D View", "Import-Export", "Mesh", "Modeling", "Object"], "theme": ["Dark"]}')
    command = [*blender_checks(), f"--valid-tags={tags}", str(ROOT / "addon")]
    result = subprocess.run(command, capture_output=True, text=True, check=False)
    assert result.returncode == 0, result.stdout + result.stderr


def test_blender_would_refuse_a_manifest_with_a_full_stop(tmp_path):
    text = (ROOT / "addon" / "blender_manifest.toml").read_text(encoding="utf-8")
    text = text.replace(MANIFEST["tagline"], MANIFEST["tagline"] + ".")
    (tmp_path / "blender_manifest.toml").write_text(text, encoding="utf-8")
    result = subprocess.run([*blender_checks(), str(tmp_path)], capture_output=True, text=True, check=False)
    assert result.returncode != 0
    assert "tagline" in result.stdout + result.stderr
