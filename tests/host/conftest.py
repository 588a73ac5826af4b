"""Tests against the host's own module: registered once, reset to an empty file before each test."""

from __future__ import annotations

import importlib.util
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from stowfold.jobs.results import Report

HAS_HOST = importlib.util.find_spec("bpy") is not None

# Without Blender's module there is nothing to test here; the geometry has tests of its own.
collect_ignore_glob = [] if HAS_HOST else ["test_*.py"]

if HAS_HOST:
    import bpy  # noqa: F401  only then can bmesh and its like be found, whichever test comes first

FLEX, BREAK, CLOSURE = 1, 2, 3


@pytest.fixture(scope="session", autouse=True)
def registered():
    """The add-on, switched on for the whole session, beside factory settings."""
    import bpy
    import stowfold

    bpy.ops.wm.read_factory_settings(use_empty=True)
    stowfold.register()
    yield
    stowfold.unregister()


@pytest.fixture(autouse=True)
def own_folder(tmp_path_factory, monkeypatch):
    """The folder of the maker's own stocks: an empty one, whatever lies on this machine."""
    folder = tmp_path_factory.mktemp("settings")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(folder))
    return folder / "stowfold"


@pytest.fixture(autouse=True)
def empty_file(registered):
    """An empty file in which one unit is one millimetre, as in older files and in many scripts."""
    import bpy
    from stowfold.bends import costs, nets
    from stowfold.jobs import results

    # a fifth of the time that reading all factory settings takes; preferences stay as they are
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    bpy.context.scene.unit_settings.scale_length = 0.001
    results.drop_all()
    nets.forget()
    costs.forget()
    # what the window opened outlives the file
    bpy.context.window_manager.stowfold.finding = -1
    return bpy.context.scene


@pytest.fixture
def factory_scene(empty_file):
    """The scene that the host opens with: a cube, a camera and a light, in factory units."""
    import bpy

    bpy.ops.wm.read_factory_settings(use_empty=False)
    return bpy.context.scene


@pytest.fixture
def add_mesh():
    """A function that adds a mesh object, marked the way any script would do it, and makes it active."""
    import bpy

    def add(
        name: str,
        points: Sequence[tuple[float, float, float]],
        faces: Sequence[Sequence[int]],
        marks: Mapping[tuple[int, int], int] | None = None,
    ):
        mesh = bpy.data.meshes.new(name)
        mesh.from_pydata(points, [], faces)
        if marks:
            wanted = {frozenset(pair): role for pair, role in marks.items()}
            attribute = mesh.attributes.new("stowfold_role", "INT", "EDGE")
            for edge in mesh.edges:
                attribute.data[edge.index].value = wanted.get(frozenset(edge.vertices), 0)
        target = bpy.data.objects.new(name, mesh)
        bpy.context.scene.collection.objects.link(target)
        bpy.context.view_layer.objects.active = target
        bpy.context.view_layer.update()
        return target

    return add


@pytest.fixture
def add_carpet(add_mesh):
    """A function that adds a flat mesh of 149 x 149 faces, more than the table takes."""

    def add(name: str):
        side = 150
        points = [(x, y, 0.0) for y in range(side) for x in range(side)]
        corners = [y * side + x for y in range(side - 1) for x in range(side - 1)]
        return add_mesh(name, points, [(k, k + 1, k + side + 1, k + side) for k in corners])

    return add


@pytest.fixture
def add_ring(add_mesh):
    """A function that adds a rectangle of walls: four flex corners, a break in the middle of each long wall."""

    def add(
        name: str = "Boat shed",
        *,
        length: float = 230.0,
        width: float = 150.0,
        height: float = 60.0,
        breaks: bool = True,
        scale: float = 1.0,
    ):
        plan = [(0, 0), (length / 2, 0), (length, 0), (length, width), (length / 2, width), (0, width)]
        points = [(x * scale, y * scale, z * scale) for z in (0.0, height) for x, y in plan]
        faces = [(k, (k + 1) % 6, 6 + (k + 1) % 6, 6 + k) for k in range(6)]
        marks = {(k, 6 + k): (BREAK if breaks else 0) if k in (1, 4) else FLEX for k in range(6)}
        return add_mesh(name, points, faces, marks)

    return add


@pytest.fixture(scope="session")
def ring_reports() -> list[Report]:
    """The report on the ring of walls, once it was checked."""
    return []


@pytest.fixture
def checked_ring(add_ring, ring_reports):
    """The ring of walls, checked: its parts lie on a sheet.

    It is checked for the first test that asks. For others the same report, a frozen value, is kept for their ring, and
    compared with it as after any change of the model.
    """
    import bpy
    from stowfold.jobs import results

    target = add_ring()
    if ring_reports:
        results.keep(replace(ring_reports[0], objects=(target.session_uid,)))
        results.refresh_staleness(bpy.context.scene)
    else:
        assert bpy.ops.stowfold.check() == {"FINISHED"}
        ring_reports.append(results.for_object(target))
    report = results.for_object(target)
    assert not report.stale and report.outcome.layout.sheets
    return target


@pytest.fixture
def in_edit_mode():
    """A function that puts an object into edit mode and returns the edited copy of its mesh."""
    import bmesh
    import bpy

    def enter(target):
        bpy.context.view_layer.objects.active = target
        target.select_set(True)
        bpy.ops.object.mode_set(mode="EDIT")
        bm = bmesh.from_edit_mesh(target.data)
        for layer in (bm.verts, bm.edges, bm.faces):
            layer.ensure_lookup_table()
        return bm

    return enter


@pytest.fixture
def save(tmp_path):
    """A function that saves the open file, then forgets it."""
    import bpy

    def save(name="building.blend", **options):
        path = tmp_path / name
        bpy.ops.wm.save_as_mainfile(filepath=str(path), **options)
        bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
        return path

    return save


@pytest.fixture
def run(capfd):
    """A function that runs a command and returns exit code, lines of output, lines on standard error."""
    from stowfold import command_line

    def run(*words):
        capfd.readouterr()
        code = command_line.main([str(word) for word in words])
        out, err = capfd.readouterr()
        return code, out.splitlines(), err.splitlines()

    return run


@pytest.fixture
def sentence():
    """A function that returns the one sentence in the lines of standard error, and fails where there are more."""

    def only(err):
        assert len(err) == 1, err
        assert err[0].startswith("stowfold: ")
        return err[0]

    return only
