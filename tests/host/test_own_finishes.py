"""Finishes of the maker's own: kept in a file, found in the next project, forgotten; a torn file is left alone."""

from __future__ import annotations

import tomllib

import bpy
import pytest
from host_window import do, keep_step, redo, undo
from stowfold.geometry.finish.finish import Pattern
from stowfold.geometry.finish.saved import SavedFinish, read_finishes, write_finishes
from stowfold.geometry.part import Way
from stowfold.host import finish_library, stock_library


@pytest.fixture(autouse=True)
def own_folder(tmp_path):
    stock_library.use_folder(tmp_path / "own")
    yield tmp_path / "own"
    stock_library.use_folder(None)


def _house():
    bpy.ops.stowfold.add_building(length=9.0, width=6.0, roof="NONE")
    bpy.ops.stowfold.add_finish(pattern="RUBBLE")
    material = bpy.context.object.active_material
    material.name = "Quay Wall"
    fields = material.stowfold
    fields.size, fields.seed, fields.way, fields.frames = 1.25, 7, "SCORE", False
    material.diffuse_color = (0.5, 0.25, 0.125, 1.0)
    return material


def test_a_kept_finish_is_found_in_the_next_project_with_all_its_fields(own_folder):
    _house()
    assert bpy.ops.stowfold.keep_finish() == {"FINISHED"}
    # an independent reader finds it
    (table,) = tomllib.loads((own_folder / "finishes.toml").read_text(encoding="utf-8"))["finish"]
    assert (table["name"], table["pattern"], table["size"], table["frames"]) == ("Quay Wall", "rubble", 1.25, False)
    bpy.ops.wm.read_factory_settings(use_empty=True)
    bpy.ops.stowfold.add_building(length=9.0, width=6.0, roof="NONE")
    keep_step()
    assert do(bpy.ops.stowfold.add_own_finish, finish="Quay Wall") == {"FINISHED"}
    material = bpy.context.object.active_material
    fields = material.stowfold
    assert (fields.pattern, fields.way, fields.seed, fields.frames) == ("RUBBLE", "SCORE", 7, False)
    assert fields.size == pytest.approx(1.25)
    assert tuple(material.diffuse_color) == pytest.approx((0.5, 0.25, 0.125, 1.0), abs=1e-4)
    undo()
    assert not [material for material in bpy.data.materials if material.name == "Quay Wall"]
    redo()
    assert bpy.data.materials["Quay Wall"].stowfold.pattern == "RUBBLE"


def test_a_finish_is_kept_once_by_its_name_and_forgotten():
    material = _house()
    bpy.ops.stowfold.keep_finish()
    material.stowfold.seed = 8
    bpy.ops.stowfold.keep_finish()
    assert [finish.seed for finish in finish_library.own_finishes().values()] == [8]
    assert bpy.ops.stowfold.forget_finish() == {"FINISHED"}
    assert not finish_library.own_finishes()
    with pytest.raises(RuntimeError, match="none of your kept"):
        bpy.ops.stowfold.forget_finish()
    with pytest.raises(RuntimeError, match="No finish is kept"):
        bpy.ops.stowfold.add_own_finish()


def test_a_kept_finish_that_the_building_has_already_is_put_on_as_it_is(own_folder):
    _house()
    bpy.ops.stowfold.keep_finish()
    bpy.ops.wm.read_factory_settings(use_empty=True)
    bpy.ops.stowfold.add_building(length=9.0, width=6.0, roof="GABLE")
    for on in ("WALLS", "ROOF", "FLOOR", "FLOOR"):
        bpy.ops.stowfold.add_own_finish(finish="Quay Wall", on=on)
    # one for all faces, and one of its own for the floor
    assert [material.name for material in bpy.data.materials] == ["Quay Wall", "Quay Wall.001"]
    bpy.data.materials["Quay Wall"].stowfold.seed = 9
    bpy.ops.stowfold.add_own_finish(finish="Quay Wall", on="ROOF")
    assert [each.stowfold.seed for each in bpy.context.object.data.materials if each is not None] == [9, 7]


@pytest.mark.parametrize(("on", "field"), [("FLOOR", "floor_finish"), ("ROOM", "inside_finish")])
def test_a_kept_finish_is_put_on_floor_and_room_side(own_folder, on, field):
    _house()
    bpy.ops.stowfold.keep_finish()
    worn = [slot.material for slot in bpy.context.object.material_slots]
    keep_step()
    assert do(bpy.ops.stowfold.add_own_finish, finish="Quay Wall", on=on) == {"FINISHED"}
    chosen = getattr(bpy.context.scene.stowfold, field)
    assert (chosen.stowfold.pattern, chosen.stowfold.seed, chosen in worn) == ("RUBBLE", 7, False)
    assert [slot.material for slot in bpy.context.object.material_slots] == worn
    undo()
    assert getattr(bpy.context.scene.stowfold, field) is None
    redo()
    assert getattr(bpy.context.scene.stowfold, field) is not None


def test_a_torn_file_is_told_and_left_as_it_is(own_folder):
    own_folder.mkdir()
    path = own_folder / "finishes.toml"
    path.write_text("[[finish]]\nname = 'Wall'\npattern = 'wallpaper'\n", encoding="utf-8")
    assert "wallpaper" in finish_library.trouble()
    _house()
    with pytest.raises(RuntimeError, match="wallpaper"):
        bpy.ops.stowfold.keep_finish()
    assert "wallpaper" in path.read_text(encoding="utf-8")


def test_every_pattern_comes_back_from_its_file(tmp_path):
    kept = tuple(
        SavedFinish(f"Own {pattern.value}", pattern, way=way, over_bends=way is Way.SCORE)
        for pattern, way in zip(Pattern, (Way.ENGRAVE, Way.SCORE, Way.FILL) * len(Pattern), strict=False)
    )
    write_finishes(tmp_path / "own" / "finishes.toml", kept)
    assert read_finishes(tmp_path / "own" / "finishes.toml") == kept
