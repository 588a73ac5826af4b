"""Geometry needs no Blender: every module is imported, and a sample goes from faces to files, with bpy out of reach.

Run where only the package and what it depends on are installed: PYTHONPATH=blend_samples:tests/shared python
.ci/without_blender.py
"""

from __future__ import annotations

import importlib
import importlib.util
import pkgutil
import sys
import tempfile
from pathlib import Path

import stowfold.geometry
from sample_solids import NAMES, solid_of
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.deliver import deliver
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Settings


def import_all() -> int:
    """Import every module below ``stowfold.geometry`` and return how many there are."""
    found = list(pkgutil.walk_packages(stowfold.geometry.__path__, f"{stowfold.geometry.__name__}."))
    for module in found:
        importlib.import_module(module.name)
    return len(found)


def cut(name: str, folder: Path) -> int:
    """Cut a sample with birch plywood into a folder and return how many files came out; exit where it is not sound."""
    birch = find_stock("birch-plywood-3", read_stocks())
    outcome = run(solid_of(name), Settings(birch, birch, birch, birch), title=name)
    errors = [finding.message for finding in outcome.findings if finding.severity is Severity.ERROR]
    if errors or not outcome.proof.holds:
        sys.exit("\n".join([f"{name} cannot be cut without Blender", *errors]))
    written = deliver(outcome, folder)
    if not {"guide.html", "report.json"} < {path.name for path in written}:
        sys.exit(f"{name}: no guide or no report among {sorted(path.name for path in written)}")
    return len(written)


def main() -> None:
    if importlib.util.find_spec("bpy") is not None:
        sys.exit("bpy is there; this environment must not have it")
    print(f"{import_all()} modules imported")
    with tempfile.TemporaryDirectory() as folder:
        print(f"{NAMES[0]}: {cut(NAMES[0], Path(folder))} files")
    host = sorted(name for name in sys.modules if name.split(".")[0] in {"bpy", "bmesh", "mathutils"})
    if host:
        sys.exit(f"geometry imported {', '.join(host)}")


if __name__ == "__main__":
    main()
