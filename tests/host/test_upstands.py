"""Dormers and chimneys as objects: added, undone, moved, set back, copied, saved, read with their building, and cut."""

from __future__ import annotations

import math
from pathlib import Path

import bpy
import numpy as np
import pytest
from host_window import do, keep_step, redo, undo
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.run import run
from stowfold.geometry.part import PartKind
from stowfold.geometry.solid.find import find_facets
from stowfold.host import reading
from stowfold.jobs import results


def building(**fields):
    assert bpy.ops.stowfold.add_building(**{"length": 9.0, "width": 6.0, "roof": "GABLE", **fields}) == {"FINISHED"}
    return bpy.context.object


def upstand(kind, x, y, **fields):
    bpy.context.scene.cursor.location = (x, y, 0.0)
    assert bpy.ops.stowfold.add_upstand(kind=kind, **fields) == {"FINISHED"}
    return bpy.context.object


def read(house):
    bpy.context.view_layer.update()
    return reading.read_solid((house,), bpy.context.scene)


def standing(house):
    facets = find_facets(read(house))
    return [facets.source_of(facets.facets[shell.facets[0]]) for shell in facets.shells if shell.stands_on]


@pytest.mark.parametrize("scale", [0.001, 0.0254, 1.0])
def test_a_dormer_stands_on_the_slope_and_leaves_the_roof_alone(scale):
    bpy.context.scene.unit_settings.scale_length = scale
    house = building()
    before = [tuple(vertex.co) for vertex in house.data.vertices]
    unit = reading.mm_per_unit(bpy.context.scene)
    dormer = upstand("DORMER", 120.0 / unit, 35.0 / unit)
    assert dormer.parent == house and dormer.stowfold.upstand.rise > 0.1
    assert standing(house) == ["Dormer"]
    assert [tuple(vertex.co) for vertex in house.data.vertices] == before
    size = np.ptp([vertex.co[:] for vertex in dormer.data.vertices], axis=0) * unit
    assert size[0] == pytest.approx(40.0, abs=1e-3)


def test_adding_a_chimney_is_undone_and_redone():
    building()
    keep_step()
    do(bpy.ops.stowfold.add_upstand, kind="CHIMNEY")
    assert len(bpy.context.scene.objects) == 2
    undo()
    assert len(bpy.context.scene.objects) == 1
    redo()
    assert bpy.context.scene.objects["Chimney"].stowfold.upstand.kind == "CHIMNEY"


def test_a_dormer_above_the_ridge_is_refused_and_the_usual_one_made_lower():
    """Half the roof is 3 squares deep and rises by 18 degrees: the usual dormer would end above its ridge."""
    house = building(angle=math.radians(18.0))
    scene = bpy.context.scene
    scene.cursor.location = (114.0, 38.0, 0.0)
    assert bpy.ops.stowfold.add_upstand(kind="DORMER", height=30.0) == {"CANCELLED"}
    assert list(scene.objects) == [house]
    dormer = upstand("DORMER", 114.0, 38.0)
    assert dormer.stowfold.upstand.height < 20.0
    assert standing(house) == ["Dormer"]


def test_a_dormer_stays_where_it_was_clicked_when_its_sizes_change():
    building()
    dormer = upstand("DORMER", 0.0, 0.0, place=(165.0, 36.0, 25.0))
    corners = [dormer.matrix_world @ vertex.co for vertex in dormer.data.vertices]
    low, high = np.min(corners, axis=0), np.max(corners, axis=0)
    assert (low + high)[0] / 2.0 == pytest.approx(165.0, abs=1e-3)
    assert low[1] < 36.0 < high[1]


def test_sizes_of_a_dormer_may_be_changed_later_and_bad_ones_leave_it():
    house = building()
    dormer = upstand("DORMER", 120.0, 35.0)
    dormer.stowfold.upstand.width = 52.0
    assert np.ptp([vertex.co[0] for vertex in dormer.data.vertices]) * reading.mm_per_unit(
        bpy.context.scene
    ) == pytest.approx(52.0, abs=1e-3)
    before = len(dormer.data.polygons)
    dormer.stowfold.upstand.pitch = 0.0
    assert len(dormer.data.polygons) == before - 1
    dormer.stowfold.upstand.height = 1.0
    assert len(dormer.data.polygons) == before - 1
    assert standing(house) == ["Dormer"]


def test_a_moved_chimney_is_set_back_onto_the_slope_on_the_other_side():
    house = building()
    chimney = upstand("CHIMNEY", 120.0, 35.0)
    unit = reading.mm_per_unit(bpy.context.scene)
    front = chimney.matrix_world.col[0].to_3d()
    chimney.matrix_world.translation = (150.0 / unit, 120.0 / unit, 300.0 / unit)
    bpy.context.view_layer.update()
    assert standing(house) == []
    keep_step()
    assert do(bpy.ops.stowfold.snap_upstands) == {"FINISHED"}
    bpy.context.view_layer.update()
    chimney = bpy.context.scene.objects["Chimney"]
    assert (chimney.matrix_world.col[0].to_3d() - -front).length < 1e-5
    assert standing(bpy.context.scene.objects["House"]) == ["Chimney"]
    undo()
    assert bpy.context.scene.objects["Chimney"].matrix_world.translation[2] == pytest.approx(300.0 / unit)
    redo()
    assert standing(bpy.context.scene.objects["House"]) == ["Chimney"]


def test_copies_and_saved_files_keep_their_dormers(tmp_path: Path):
    house = building()
    dormer = upstand("DORMER", 60.0, 35.0)
    copy = dormer.copy()
    copy.data = dormer.data.copy()
    bpy.context.collection.objects.link(copy)
    copy.matrix_world.translation[0] += 90.0 / reading.mm_per_unit(bpy.context.scene)
    assert standing(house) == ["Dormer", "Dormer.001"]
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "house.blend"))
    bpy.ops.wm.open_mainfile(filepath=str(tmp_path / "house.blend"))
    assert standing(bpy.context.scene.objects["House"]) == ["Dormer", "Dormer.001"]
    assert bpy.context.scene.objects["Dormer.001"].stowfold.upstand.kind == "DORMER"


def test_a_building_without_a_mark_is_still_the_only_mesh_beside_its_chimney():
    house = building()
    upstand("CHIMNEY", 120.0, 35.0)
    house.stowfold.is_block_out = False
    assert reading.find_block_out(bpy.context.scene) == (house,)


def test_without_a_roof_one_sentence_says_so_and_nothing_stays(capfd):
    building(roof="NONE")
    objects, meshes = len(bpy.data.objects), len(bpy.data.meshes)
    assert bpy.ops.stowfold.add_upstand("EXEC_DEFAULT", kind="DORMER") == {"CANCELLED"}
    assert "The building has no roof to stand on; give it one first" in capfd.readouterr().out
    assert (len(bpy.data.objects), len(bpy.data.meshes)) == (objects, meshes)


def test_a_changed_dormer_makes_the_last_check_suspect():
    building()
    dormer = upstand("DORMER", 120.0, 35.0)
    assert bpy.ops.stowfold.check("EXEC_DEFAULT") == {"FINISHED"}
    assert not results.refresh_staleness(bpy.context.scene)
    dormer.stowfold.upstand.width = 50.0
    bpy.context.view_layer.update()
    assert results.refresh_staleness(bpy.context.scene)


@pytest.mark.slow
def test_a_building_from_the_menu_with_both_is_cut_and_proved():
    house = building()
    upstand("DORMER", 150.0, 35.0)
    upstand("CHIMNEY", 60.0, 130.0, height=70.0)
    scene = bpy.context.scene
    outcome = run(read(house), reading.read_settings(scene), title="House")
    assert not [finding for finding in outcome.findings if finding.severity is Severity.ERROR]
    assert outcome.proof.holds
    assert {part.body for part in outcome.parts if part.kind is PartKind.UPSTAND} == {"D1", "C1"}
    assert math.isfinite(outcome.stow.box[2])
