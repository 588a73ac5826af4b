"""Build the extension: addon/ and geometry/ become one folder, and the folder becomes the zip that Blender installs.

    python .ci/build_extension.py                        stage, fetch the wheels, zip
    python .ci/build_extension.py --blender blender      ... with Blender's own packer
    python .ci/build_extension.py --validate             ... and have Blender's checks look at the zip
    python .ci/build_extension.py --no-wheels            only stage the sources (for the type checker)

The manifest in addon/ is complete and never rewritten: what pip fetches must be what it lists.
Zips of our own packer are the same to the byte for the same sources.
"""

from __future__ import annotations

import argparse
import importlib.util
import shutil
import subprocess
import sys
import tempfile
import tomllib
import zipfile
from collections.abc import Callable, Iterable
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
STAGE = ROOT / "build" / "stage" / "stowfold"
DIST = ROOT / "dist"
WHEEL_LIST = ROOT / ".ci" / "wheels.txt"

#: Pythons of the Blender releases that we promise to run in, and of distributions that build it with their own.
PYTHONS = ("3.11", "3.13", "3.14")

#: Blender's name of each platform, and what pip calls the machines it runs on.
PLATFORMS = {
    "linux-x64": ("manylinux_2_28_x86_64", "manylinux_2_17_x86_64", "manylinux2014_x86_64"),
    "windows-x64": ("win_amd64",),
    "macos-arm64": ("macosx_11_0_arm64",),
}

#: The earliest date that a zip can hold; a real one would make every build another file.
ZIP_DATE = (1980, 1, 1, 0, 0, 0)

_LEFT_OUT = shutil.ignore_patterns("__pycache__", "*.py[co]", ".*", "*.blend1", "*.orig", "*.rej")


class BuildError(Exception):
    """The extension cannot be built; the text says why."""


def read_manifest(folder: Path) -> dict:
    """Return the extension manifest that lies in ``folder``."""
    return tomllib.loads((folder / "blender_manifest.toml").read_text(encoding="utf-8"))


def stage_sources(stage: Path) -> None:
    """Fill ``stage`` afresh with the add-on, the arithmetic as its sub-package, and the licence."""
    if stage.exists():
        shutil.rmtree(stage)
    stage.parent.mkdir(parents=True, exist_ok=True)
    shutil.copytree(ROOT / "addon", stage, ignore=_LEFT_OUT)
    shutil.copytree(ROOT / "geometry", stage / "geometry", ignore=_LEFT_OUT)
    shutil.copy2(ROOT / "LICENSE", stage / "LICENSE")


def fetch_wheels(folder: Path) -> None:
    """Download the wheels of the list for every promised Python and platform into ``folder``."""
    for python in PYTHONS:
        for names in PLATFORMS.values():
            command = [sys.executable, "-m", "pip", "download", "--quiet", "--disable-pip-version-check"]
            command += ["--no-deps", "--only-binary", ":all:", "--require-hashes", "--requirement", str(WHEEL_LIST)]
            command += ["--implementation", "cp", "--python-version", python, "--dest", str(folder)]
            for name in names:
                command += ["--platform", name]
            if subprocess.run(command, check=False).returncode:
                raise BuildError(
                    f"pip found no fitting wheels for Python {python} on {names[0]}; see its message above."
                )


def compare_wheels(listed: Iterable[str], found: Iterable[str]) -> None:
    """Raise BuildError unless the manifest lists exactly the wheel files ``found``."""
    wanted = {name.removeprefix("./wheels/") for name in listed}
    present = set(found)
    remarks = [f"{name} is listed in the manifest but was not fetched" for name in sorted(wanted - present)]
    remarks += [f"{name} was fetched but is not listed in the manifest" for name in sorted(present - wanted)]
    if remarks:
        raise BuildError("The wheels differ from addon/blender_manifest.toml: " + "; ".join(remarks) + ".")


def add_wheels(stage: Path, *, fetch: Callable[[Path], None] = fetch_wheels) -> None:
    """Put the wheels into the staged folder once they proved to be those of its manifest."""
    manifest = read_manifest(stage)
    if set(manifest["platforms"]) != set(PLATFORMS):
        raise BuildError(f"The manifest promises {manifest['platforms']}, but wheels are built for {list(PLATFORMS)}.")
    with tempfile.TemporaryDirectory() as fresh:
        fetch(Path(fresh))
        compare_wheels(manifest["wheels"], (path.name for path in Path(fresh).iterdir()))
        shutil.copytree(fresh, stage / "wheels")


def write_zip(stage: Path, target: Path) -> None:
    """Pack ``stage`` into ``target``: sorted names, one date, one mode, so that equal sources give equal bytes."""
    partial = target.with_suffix(".partial")
    with zipfile.ZipFile(partial, "w") as archive:
        for path in sorted(each for each in stage.rglob("*") if each.is_file()):
            entry = zipfile.ZipInfo(path.relative_to(stage).as_posix(), date_time=ZIP_DATE)
            entry.external_attr = 0o100644 << 16
            entry.create_system = 3
            # Wheels are zips already.
            entry.compress_type = zipfile.ZIP_STORED if path.suffix == ".whl" else zipfile.ZIP_DEFLATED
            archive.writestr(entry, path.read_bytes())
    partial.replace(target)


def pack(stage: Path, folder: Path, *, blender: str | None = None) -> Path:
    """Write the zip of a staged folder into ``folder`` and return it; with ``blender`` given, Blender packs it."""
    manifest = read_manifest(stage)
    folder.mkdir(parents=True, exist_ok=True)
    target = folder / f"{manifest['id']}-{manifest['version']}.zip"
    if blender is None:
        write_zip(stage, target)
        return target
    target.unlink(missing_ok=True)
    arguments = ["extension", "build", "--source-dir", str(stage), "--output-dir", str(folder)]
    if subprocess.run([blender, "--command", *arguments], check=False).returncode or not target.exists():
        raise BuildError(f"{blender} could not build the extension; see its message above.")
    return target


def find_checks(blender: str | None = None) -> list[str]:
    """Return the command of Blender's extension checks: of ``blender``, otherwise of the installed bpy module."""
    if blender is not None:
        return [blender, "--command", "extension"]
    spec = importlib.util.find_spec("bpy")
    for place in (spec and spec.submodule_search_locations) or ():
        for script in sorted(Path(place).glob("*/scripts/addons_core/bl_pkg/cli/blender_ext.py")):
            return [sys.executable, str(script)]
    raise BuildError("Validating needs Blender's own checks: name a Blender with --blender, or pip install '.[host]'.")


def validate(archive: Path, *, blender: str | None = None) -> None:
    """Have Blender's own checks look at the zip; raise BuildError where they refuse it."""
    if subprocess.run([*find_checks(blender), "validate", str(archive)], check=False).returncode:
        raise BuildError(f"Blender does not accept {archive.name}; see its message above.")


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="Build the zip that Blender installs.")
    parser.add_argument("--no-wheels", action="store_true", help="only stage the sources, fetch and pack nothing")
    parser.add_argument("--blender", metavar="PATH", help="pack and validate with this Blender")
    parser.add_argument("--validate", action="store_true", help="have Blender's checks look at the zip")
    parser.add_argument("--output", metavar="DIR", type=Path, default=DIST, help="folder of the zip (default: dist)")
    options = parser.parse_args(arguments)
    try:
        stage_sources(STAGE)
        print(f"staged {STAGE.relative_to(ROOT)}")
        if options.no_wheels:
            return 0
        add_wheels(STAGE)
        archive = pack(STAGE, options.output, blender=options.blender)
        print(f"built {archive} ({archive.stat().st_size / 1e6:.1f} MB)")
        if options.validate:
            validate(archive, blender=options.blender)
            print("validated")
    except BuildError as error:
        print(error, file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
