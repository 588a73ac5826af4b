"""Who may import whom: the arithmetic knows nothing of Blender, and no room knows a room below it."""

from __future__ import annotations

import ast
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from graphlib import TopologicalSorter
from pathlib import Path

import pytest
from packaging.requirements import Requirement

ROOT = Path(__file__).resolve().parents[2]

#: The rooms of both packages in the order of the flow; each imports only rooms before it.
ROOMS = {
    "geometry": (
        *("units", "tolerance", "arrays", "polygons", "durations", "pose", "sentence", "errors", "progress"),
        *("findings", "leaders", "finding_groups", "unfinished", "files", "catalogue"),
        *("board", "solid", "plan", "part", "settings", "unfold", "fold", "propose", "joints"),
        *("finish", "trim", "paint"),
        *("proof", "assembly", "fit", "stow", "play", "nest", "beam", "sheet", "outcome", "show", "paper", "flow"),
    ),
    "addon": (
        *("host", "jobs", "window"),
        *("plot", "table", "bends", "dress", "stock", "proof", "cut", "stand"),
        *("preferences", "properties", "overlay", "menus", "steps", "sidebar", "registration"),
        *("streams", "command_line"),
    ),
}

#: Import names of libraries whose package is called otherwise.
IMPORT_NAMES = {"Hershey-Fonts": "HersheyFonts"}
BLENDER = {"bpy", "bmesh", "mathutils", "gpu", "gpu_extras", "blf", "bpy_extras", "bpy_types", "addon_utils"}


@dataclass(frozen=True)
class Import:
    """One import: where it stands, how many dots, and the dotted name imported (names of the package kept apart)."""

    path: Path
    line: int
    level: int
    name: str

    def __str__(self) -> str:
        return f"{self.path.relative_to(ROOT)}:{self.line} imports {'.' * self.level}{self.name}"


def imports_of(path: Path) -> Iterator[Import]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"), str(path))):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield Import(path, node.lineno, 0, alias.name)
        elif isinstance(node, ast.ImportFrom):
            for alias in node.names:
                yield Import(
                    path, node.lineno, node.level, f"{node.module}.{alias.name}" if node.module else alias.name
                )


def sources(folder: str) -> list[Path]:
    # presets are scripts that the host runs, no modules
    return sorted(path for path in (ROOT / folder).rglob("*.py") if "presets" not in path.parent.parts)


def room_of(path: Path, folder: str) -> str:
    """The folder or module right below ``folder`` that a file lies in."""
    return path.relative_to(ROOT / folder).parts[0].removesuffix(".py")


def target(imported: Import, folder: str) -> tuple[str, ...] | None:
    """The dotted place below ``folder`` that a relative import names, None where it leads out of the folder."""
    package = imported.path.relative_to(ROOT / folder).parent.parts
    if imported.level - 1 > len(package):
        return None
    return (*package[: len(package) - (imported.level - 1)], *imported.name.split("."))


def module_of(place: tuple[str, ...], folder: str) -> Path | None:
    """The file that holds what ``place`` names: a module, a package, or a name in one."""
    for length in (len(place), len(place) - 1):
        stem = ROOT.joinpath(folder, *place[:length])
        for path in (stem.with_suffix(".py"), stem / "__init__.py"):
            if length and path.exists():
                return path
    return None


GEOMETRY = [imported for path in sources("geometry") for imported in imports_of(path)]
ADDON = [imported for path in sources("addon") for imported in imports_of(path)]


def test_there_is_something_to_look_at():
    assert any(imported.level for imported in GEOMETRY)
    assert any(imported.level for imported in ADDON)


def test_nothing_names_its_own_package():
    # Inside Blender the package is called bl_ext.user_default.stowfold, so only relative imports work there.
    wrong = [
        imported
        for imported in GEOMETRY + ADDON
        if not imported.level and imported.name.split(".")[0] in ("stowfold", "addon", "geometry")
    ]
    assert not wrong, "\n".join(map(str, wrong))


def test_geometry_never_names_blender():
    wrong = [imported for imported in GEOMETRY if not imported.level and imported.name.split(".")[0] in BLENDER]
    assert not wrong, "\n".join(map(str, wrong))


#: Betters the last sheets where it is installed; nothing depends on it.
OPTIONAL = {"spyrrow"}


def test_geometry_imports_only_what_the_project_depends_on():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    names = [Requirement(line).name for line in project["dependencies"]]
    allowed = {IMPORT_NAMES.get(name, name) for name in names} | set(sys.stdlib_module_names) | OPTIONAL
    wrong = [imported for imported in GEOMETRY if not imported.level and imported.name.split(".")[0] not in allowed]
    assert not wrong, "\n".join(map(str, wrong))


def test_geometry_never_reaches_into_the_addon():
    wrong = [imported for imported in GEOMETRY if imported.level and target(imported, "geometry") is None]
    assert not wrong, "\n".join(map(str, wrong))


@pytest.mark.parametrize("folder", ["geometry", "addon"])
def test_every_folder_and_module_is_a_known_room(folder: str) -> None:
    assert {room_of(path, folder) for path in sources(folder)} - {"__init__"} == set(ROOMS[folder])


@pytest.mark.parametrize(("folder", "imports"), [("geometry", GEOMETRY), ("addon", ADDON)])
def test_a_room_imports_only_rooms_above_it(folder: str, imports: list[Import]) -> None:
    order = {room: k for k, room in enumerate(ROOMS[folder])}
    wrong = []
    for imported in imports:
        place = target(imported, folder) if imported.level else None
        own = room_of(imported.path, folder)
        # the add-on may import all of the arithmetic
        if place and own != "__init__" and place[0] in order and order[place[0]] > order[own]:
            wrong.append(imported)
    assert not wrong, "\n".join(map(str, wrong))


@pytest.mark.parametrize("folder", ["geometry", "addon"])
def test_modules_import_each_other_in_no_circle(folder):
    graph: dict[Path, set[Path]] = {}
    for path in sources(folder):
        needs = graph.setdefault(path, set())
        for imported in imports_of(path):
            place = target(imported, folder) if imported.level else None
            needed = module_of(place, folder) if place else None
            if needed is not None and needed != path:
                needs.add(needed)
    assert list(TopologicalSorter(graph).static_order())  # raises CycleError with the circle


def test_the_whole_arithmetic_imports_without_blender():
    modules = [
        ".".join(("stowfold.geometry", *path.relative_to(ROOT / "geometry").with_suffix("").parts))
        for path in sources("geometry")
        if path.name != "__init__.py"
    ]
    lines = ["import importlib, sys", *(f"sys.modules[{name!r}] = None" for name in sorted(BLENDER))]
    lines += [f"importlib.import_module({name!r})" for name in modules]
    result = subprocess.run([sys.executable, "-c", "\n".join(lines)], capture_output=True, text=True, check=False)
    assert result.returncode == 0, result.stderr
