"""Buildings by real clicks: the zip is installed, and a new file becomes cut files, the first one in ten clicks.

Skipped where no window can be had: it wants ``blender`` and ``Xvfb`` on the path, or in the root of another system
that STOWFOLD_BLENDER_ROOT names, and the zip that ``.ci/build_extension.py`` builds.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import time
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
OTHER = os.environ.get("STOWFOLD_BLENDER_ROOT", "")

#: A screen that nobody else is likely to use.
SCREEN = ":83"

#: How long the whole way may take with software drawing, s.
PATIENCE = 420.0

#: Corners of folded panels lie this near to the model's, mm; a block-out in the host's single precision is less exact.
FARTHEST = 0.01

#: Clicks from the factory's new file to cut files, with a door and seats, the first cube removed; the key that opens
#: the sidebar beside.
MOST_CLICKS = 10


def zips() -> list[Path]:
    return sorted((ROOT / "dist").glob("stowfold-*.zip"))


def has(program: str) -> bool:
    return Path(OTHER, "usr/bin", program).exists() if OTHER else shutil.which(program) is not None


pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not (has("blender") and has("Xvfb")), reason="no Blender with a window here"),
    pytest.mark.skipif(not zips(), reason="the extension was not built"),
]


@pytest.fixture
def work(tmp_path):
    """A folder that the other system sees too, and its name there."""
    folder = Path(OTHER, "tmp", f"stowfold-clicks-{os.getpid()}") if OTHER else tmp_path
    folder.mkdir(parents=True, exist_ok=True)
    yield folder, "/" + str(folder.relative_to(OTHER)) if OTHER else str(folder)
    if OTHER:
        for kept in (*folder.glob("*.png"), *folder.glob("told.json")):
            shutil.copy(kept, tmp_path)
        shutil.rmtree(folder)


def inside(folder: str, *words: str) -> list[str]:
    settings = [
        f"HOME={folder}",
        f"BLENDER_USER_RESOURCES={folder}/user",
        f"DISPLAY={SCREEN}",
        "LIBGL_ALWAYS_SOFTWARE=1",
    ]
    return [*(["chroot", OTHER] if OTHER else []), "env", *settings, *words]


def walk(work, script, way=""):
    """Walk a way in the window of a new Blender with the zip installed; return what was told, and what was printed."""
    folder, seen = work
    shutil.copy(zips()[-1], folder / "stowfold.zip")
    for name in ("hands.py", script):
        shutil.copy(Path(__file__).with_name(name), folder)
    install = ("blender", "--command", "extension", "install-file", "-r", "user_default", "--enable")
    subprocess.run(inside(seen, *install, f"{seen}/stowfold.zip"), check=True, capture_output=True, timeout=PATIENCE)
    screen = subprocess.Popen(inside(seen, "Xvfb", SCREEN, "-screen", "0", "1600x900x24", "-nolisten", "tcp"))
    try:
        time.sleep(2.0)
        start = ("blender", "--enable-event-simulate", "--window-geometry", "0", "0", "1600", "900")
        ran = subprocess.run(
            inside(seen, *start, "--python", f"{seen}/{script}", "--", seen, way),
            capture_output=True,
            text=True,
            timeout=PATIENCE,
        )
    finally:
        screen.terminate()
        screen.wait()
    told = folder / "told.json"
    assert told.exists(), ran.stdout[-2000:] + ran.stderr[-2000:]
    made = json.loads(told.read_text(encoding="utf-8"))
    assert made["done"], made.get("failure")
    assert "Traceback" not in ran.stdout + ran.stderr
    assert {"guide.html", "report.json"} <= set(made["files"])
    assert any(name.startswith("sheet-") and name.endswith(".svg") for name in made["files"])
    return made


def test_a_new_file_becomes_cut_files_by_ten_clicks(work):
    made = walk(work, "first_building.py")
    assert made["meshes"] == ["House"]
    assert made["openings"] and len(made["seats"]) >= 2
    assert len(made["clicks"]) <= MOST_CLICKS, made["clicks"]


@pytest.mark.parametrize(
    "way",
    ["L-HIP", "T-HIP", "U-HIP", "L-CROSSING", "T-CROSSING", "U-CROSSING", "ROUND-PYRAMID", "DORMER-GABLE"],
)
def test_other_plans_and_roofs_become_cut_files(work, way):
    made = walk(work, "roofs.py", way)
    assert made["upstands"] == (["CHIMNEY", "DORMER"] if way.startswith("DORMER") else [])
    assert made["errors"] == []
    assert made["off"] < FARTHEST
