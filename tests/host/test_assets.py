"""The asset library: what it holds, that the host learns of it only by a click, and that a drop fits the scene."""

from __future__ import annotations

from pathlib import Path

import bpy
import buildings
import numpy as np
import pytest
from stowfold.geometry.finish.finish import Pattern
from stowfold.host import reading
from stowfold.host.lengths import mm_per_unit
from stowfold.jobs import results
from stowfold.plot import dropped
from stowfold.window import asset_library

LIBRARY = asset_library.FOLDER / "stowfold_assets.blend"
CATALOGUES = asset_library.FOLDER / "blender_assets.cats.txt"


def append_all():
    """Append every asset of the library to the scene."""
    with bpy.data.libraries.load(str(LIBRARY), assets_only=True) as (there, here):
        here.objects = list(there.objects)
    for target in here.objects:
        bpy.context.scene.collection.objects.link(target)
    bpy.context.view_layer.update()
    return here.objects


def append(name):
    with bpy.data.libraries.load(str(LIBRARY), assets_only=True) as (_, here):
        here.objects = [name]
    (target,) = here.objects
    bpy.context.scene.collection.objects.link(target)
    bpy.context.view_layer.update()
    return target


def test_every_asset_has_a_catalogue_words_and_a_picture():
    entries = [line.split(":") for line in CATALOGUES.read_text(encoding="utf-8").splitlines() if line.count(":") == 2]
    known = {identity: path for identity, path, _ in entries}
    targets = append_all()
    shelves = {known[target.asset_data.catalog_id] for target in targets}
    assert shelves == {"Stowfold/Buildings", "Stowfold/Openings", "Stowfold/Figures and Furniture"}
    assert {sample.name for sample in buildings.SAMPLES} <= {target.name for target in targets}
    for target in targets:
        assert target.asset_data.description and target.asset_data.license == "GPL-3.0-or-later"
        shown = np.array(target.preview.image_pixels_float).reshape(-1, 4)
        assert 0.05 < (shown[:, 3] > 0.5).mean() < 0.95
        # more than one tone: something is seen of its shape
        assert len(np.unique(shown[shown[:, 3] > 0.99, :3].round(2), axis=0)) > 2


def test_every_finish_is_an_asset_whose_picture_shows_its_lines_and_which_is_drawn_where_it_is_dropped():
    with bpy.data.libraries.load(str(LIBRARY), assets_only=True) as (there, here):
        here.materials = list(there.materials)
    materials = {material.stowfold.pattern: material for material in here.materials}
    assert set(materials) == {pattern.name for pattern in Pattern}
    shares = {}
    for name, material in materials.items():
        shown = np.array(material.preview.image_pixels_float).reshape(-1, 4)
        board = shown[shown[:, 3] > 0.99, :3].mean(axis=1)
        shares[name] = float((board < 0.9 * board.max()).mean())
        assert 0.02 < shares[name] < 0.6, name
    # bricks have more joints than flags
    assert shares["FLEMISH_BOND"] > shares["FLAGSTONES"]
    bpy.ops.stowfold.add_building(length=9.0, width=6.0, roof="NONE")
    house = bpy.context.object
    house.data.materials.append(materials["RUBBLE"])
    bpy.ops.stowfold.check()
    outcome = results.latest().outcome
    assert any(part.dressings for part in outcome.parts)


def test_the_library_is_added_and_removed_by_a_click_alone():
    libraries = bpy.context.preferences.filepaths.asset_libraries
    assert asset_library.known_library(bpy.context.preferences) is None
    with pytest.raises(RuntimeError, match="was not added"):
        bpy.ops.stowfold.remove_asset_library()
    before = [library.name for library in libraries]
    bpy.ops.stowfold.add_asset_library()
    known = asset_library.known_library(bpy.context.preferences)
    assert (Path(known.path), known.import_method) == (asset_library.FOLDER, "APPEND")
    with pytest.raises(RuntimeError, match="there already"):
        bpy.ops.stowfold.add_asset_library()
    bpy.ops.stowfold.remove_asset_library()
    assert [library.name for library in libraries] == before


@pytest.mark.parametrize("scale", [1.0, 0.001])
def test_a_dropped_building_has_its_size_and_stands_on_the_squares(scale):
    scene = bpy.context.scene
    scene.unit_settings.scale_length = scale
    target = append("Toll house")
    unit = dropped.ASSET_UNIT / mm_per_unit(scene)
    target.location = (3.3 * unit, -1.6 * unit, 0.0)
    dropped.take_in(bpy.context, [target])
    bpy.context.view_layer.update()
    assert np.allclose(np.array(target.location[:2]) / unit, (3.0, -2.0))
    solid = reading.read_solid([target], scene)
    size = np.ptp(solid.points, axis=0)
    sample = next(sample for sample in buildings.SAMPLES if sample.name == "Toll house")
    assert size == pytest.approx(np.ptp(np.array(sample.shape().points), axis=0), rel=1e-5)


def test_a_dropped_door_belongs_to_the_building_and_stays_where_it_was_dropped():
    bpy.ops.stowfold.add_building(length=9.0, width=6.0, roof="NONE")
    house = bpy.context.object
    unit = dropped.ASSET_UNIT / mm_per_unit(bpy.context.scene)
    house.location.x = 2.0 * unit
    bpy.context.view_layer.update()
    door = append("Doorway")
    door.location = (4.0 * unit, 0.0, 0.0)
    bpy.context.view_layer.update()
    dropped.take_in(bpy.context, [door])
    bpy.context.view_layer.update()
    assert door.parent == house
    assert np.allclose(door.matrix_world.translation, (4.0 * unit, 0.0, 0.0))
    bpy.ops.stowfold.check()
    outcome = results.latest().outcome
    assert not [finding.message for finding in outcome.findings if finding.code.startswith("opening")]


def test_what_is_none_of_ours_is_left_alone():
    bpy.ops.mesh.primitive_cube_add(location=(0.3, 0.0, 0.0))
    cube = bpy.context.object
    dropped.take_in(bpy.context, [cube])
    assert cube.location.x == pytest.approx(0.3)


@pytest.mark.skipif(not hasattr(bpy.app.handlers, "blend_import_post"), reason="this host does not tell of imports")
@pytest.mark.parametrize("dropped_from_the_browser", [False, True])
def test_what_the_host_appends_is_taken_in_a_moment_later(dropped_from_the_browser):
    # the browser has the host take the mark of an asset away
    values = {"clear_asset_data": dropped_from_the_browser}
    bpy.ops.wm.append(directory=f"{LIBRARY}/Object/", filename="Toll house", **values)
    target = bpy.context.scene.objects["Toll house"]
    target.location.x = 0.4 * dropped.ASSET_UNIT / mm_per_unit(bpy.context.scene)
    # without a window no time passes for timers
    assert bpy.app.timers.is_registered(dropped._look)
    bpy.app.timers.unregister(dropped._look)
    dropped._look()
    assert target.location.x == 0.0
    assert not dropped._waiting


@pytest.mark.skipif(not hasattr(bpy.app.handlers, "blend_import_post"), reason="this host does not tell of imports")
def test_a_door_out_of_the_browser_stays_in_the_wall_that_it_was_dropped_on():
    bpy.ops.stowfold.add_building(length=9.0, width=6.0, roof="NONE")
    house = bpy.context.object
    unit = dropped.ASSET_UNIT / mm_per_unit(bpy.context.scene)
    house.location.x = -7.0 * unit
    bpy.context.view_layer.update()
    bpy.ops.wm.append(directory=f"{LIBRARY}/Object/", filename="Doorway", clear_asset_data=True)
    door = bpy.context.scene.objects["Doorway"]
    # as the drop does: the place is set, nothing is worked out yet
    door.location = (-3.0 * unit, 0.0, 0.0)
    bpy.app.timers.unregister(dropped._look)
    dropped._look()
    bpy.context.view_layer.update()
    assert door.parent == house
    assert np.allclose(door.matrix_world.translation, (-3.0 * unit, 0.0, 0.0), atol=1e-5)
