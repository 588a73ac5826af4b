"""The samples: saved by the oldest Blender we support, still what the script builds, and cut without an error."""

from __future__ import annotations

from pathlib import Path

import bpy
import build_samples
import buildings
import numpy as np
import pytest
from mathutils import Vector
from slow_cases import one_quick
from stowfold.cut import sheets_panel
from stowfold.geometry.beam.laser import Operation
from stowfold.geometry.durations import about, minutes
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.judge import judge
from stowfold.geometry.flow.run import run
from stowfold.geometry.paint.contrast import hex_of
from stowfold.geometry.part import PartKind
from stowfold.geometry.sheet.times import dress_seconds
from stowfold.host import marks, reading
from stowfold.host.paint import paint_in
from stowfold.host.people import STATURES
from stowfold.host.table import read_seated
from stowfold.jobs import results
from stowfold.window import samples

FOLDER = Path(__file__).resolve().parents[2] / "blend_samples"
NAMES = [sample.file for sample in buildings.SAMPLES]
EVERY = pytest.mark.parametrize("sample", buildings.SAMPLES, ids=NAMES)
ONE_QUICK = pytest.mark.parametrize("sample", one_quick(buildings.SAMPLES), ids=NAMES)


def open_sample(file):
    # as a maker opens it: the host keeps what an earlier command line chose, which leaves windows out
    bpy.ops.wm.open_mainfile(filepath=str(FOLDER / f"{file}.blend"), load_ui=True)
    return reading.find_block_out(bpy.context.scene)


def test_every_file_has_its_builder():
    assert {path.stem for path in FOLDER.glob("*.blend")} == {sample.file for sample in buildings.SAMPLES}


@EVERY
def test_it_was_saved_by_the_oldest_blender_that_is_supported(sample):
    open_sample(sample.file)
    assert tuple(bpy.data.version[:2]) == (4, 2)


@EVERY
def test_it_is_still_what_the_script_builds(sample):
    (target,) = open_sample(sample.file)
    shape = sample.shape()
    points = np.array([vertex.co[:] for vertex in target.data.vertices])
    np.testing.assert_allclose(points * buildings.SQUARE, shape.points, atol=1e-4)
    assert [tuple(polygon.vertices) for polygon in target.data.polygons] == shape.faces
    roles = marks.read_roles(target.data).tolist()
    found = {tuple(sorted(edge.vertices)): role for edge, role in zip(target.data.edges, roles, strict=True) if role}
    assert found == shape.marks
    assert target.name == sample.name
    scene = bpy.context.scene
    assert reading.mm_per_unit(scene) == reading.as_typed(scene.stowfold.unit_mm) == buildings.SQUARE
    assert (scene.unit_settings.system, scene.unit_settings.scale_length) == ("METRIC", 1.0)


@EVERY
def test_it_opens_framed_with_the_table_in_clip_range_and_the_sidebar_on_our_tab(sample, monkeypatch):
    asked = []
    monkeypatch.setattr(samples, "_show_tab_soon", lambda: asked.append(1))
    (target,) = open_sample(sample.file)
    assert asked == [1]
    bpy.context.view_layer.update()
    views = [area for screen in bpy.data.screens for area in screen.areas if area.type == "VIEW_3D"]
    assert len(views) >= 5
    for area in views:
        space = area.spaces.active
        assert space.show_region_ui
        assert (space.clip_start, space.clip_end, space.overlay.grid_scale) == pytest.approx((0.01, 1000.0, 1.0))
        for candidate in bpy.context.scene.objects:
            depth = seen_in(space, candidate)[:, 2]
            # what lies nearer than the eye is behind it, as the seats in front may be
            assert depth.max() < space.clip_end
            assert candidate.stowfold.place.kind == "SEAT" or depth.max() > space.clip_start
        x, y, depth = seen_in(space, target).T
        assert depth.min() > space.clip_start
        region = next(region for region in area.regions if region.type == "WINDOW")
        high = min(region.height / region.width, 1.0)
        reach = depth * 36.0 / space.lens
        assert (np.abs(x) < reach).all() and (np.abs(y) < reach * high).all()
        assert max(np.ptp(x / reach), np.ptp(y / reach)) > 0.4


def seen_in(space, target):
    """Return the corners of an object's box as a view has them: right, up and away from the eye, (8, 3) units."""
    view = space.region_3d
    eye = view.view_location + view.view_rotation @ Vector((0.0, 0.0, view.view_distance))
    turn = view.view_rotation.inverted()
    return np.array([turn @ (target.matrix_world @ Vector(corner) - eye) for corner in target.bound_box]) * (1, 1, -1)


@ONE_QUICK
def test_it_is_cut_without_an_error_and_folds_back(sample):
    objects = open_sample(sample.file)
    scene = bpy.context.scene
    outcome = run(reading.read_solid(objects, scene), reading.read_settings(scene), title=sample.name)
    assert [finding for finding in outcome.findings if finding.severity is Severity.ERROR] == []
    assert outcome.proof.holds
    assert outcome.proof.corner_distance <= 1e-3
    assert len(outcome.joiners) >= 2


def finishes_of(sample):
    """Return the names of all finishes of a sample, of its floor as well where that has one."""
    return {*sample.shape().finishes, sample.floor} - {""}


@EVERY
def test_its_colours_are_those_of_the_script(sample):
    open_sample(sample.file)
    paint = paint_in(bpy.context.scene)
    for name in finishes_of(sample):
        scheme = paint.schemes[name]
        assert scheme.main == hex_of(build_samples.COLOURS[name])
        for shown, chosen in ((scheme.units, build_samples.UNITS), (scheme.lines, build_samples.LINES)):
            assert shown == (hex_of(chosen[name]) if name in chosen else "")
    for shown, chosen in ((paint.trim, build_samples.TRIM), (paint.leaf, build_samples.LEAF)):
        assert shown == (hex_of(chosen[sample.file]) if sample.file in chosen else "")
    assert paint.bare


@EVERY
def test_its_finishes_have_the_patterns_that_the_script_gives_them(sample):
    (target,) = open_sample(sample.file)
    scene = bpy.context.scene
    floor = scene.stowfold.floor_finish
    shown = {slot.material.name for slot in target.material_slots} | ({floor.name} if floor else set())
    assert shown == finishes_of(sample)
    for name in shown:
        fields, dress = bpy.data.materials[name].stowfold, buildings.DRESSES[name]
        assert (fields.pattern, fields.size) == (dress.pattern, pytest.approx(dress.size))


@EVERY
def test_it_refers_to_no_other_file(sample):
    open_sample(sample.file)
    assert [library.filepath for library in bpy.data.libraries] == []
    assert len(bpy.data.texts) == 0
    assert [image.filepath for image in bpy.data.images if image.filepath] == []


@EVERY
@pytest.mark.slow
def test_what_stands_in_it_and_round_it_is_there_and_there_is_something_to_find(sample):
    objects = open_sample(sample.file)
    scene = bpy.context.scene
    kinds = [target.stowfold.place.kind for target in scene.objects]
    assert kinds.count("TABLE") == 1
    assert kinds.count("SEAT") == sample.seats
    assert kinds.count("FURNITURE") == len(sample.furniture)
    assert kinds.count("MINIATURE") == len(sample.miniatures)
    outcome = run(reading.read_solid(objects, scene), reading.read_settings(scene), title=sample.name)
    assert {opening.name for opening in outcome.facets.openings} == {fitting.name for fitting in sample.fittings}
    leaves = [placed for part in outcome.parts for placed in part.lattices if placed.swing]
    assert len(leaves) == sum(fitting.leaf != "NONE" for fitting in sample.fittings)
    assert len(outcome.signs) == len(sample.signs)
    assert bool(outcome.tiling.tiles) == bool(sample.laid)
    assert bool(outcome.tiling.tops) == (sample.laid == "INLAY")
    judged = judge(outcome, read_seated(scene), STATURES)
    assert judged.play is not None
    assert judged.findings
    # a good building is greeted as good: what there is to find is good to know
    assert {finding.severity for finding in judged.findings} == {Severity.NOTE}


@pytest.mark.slow
def test_the_sheets_say_what_finishes_and_trim_take_of_the_laser():
    open_sample("toll_house")
    bpy.ops.stowfold.check()
    outcome = results.latest().outcome
    said = sheets_panel.dressed_words(outcome)
    seconds = dress_seconds(outcome.layout, outcome.parts)
    assert {"trim", "timber frame"} <= set(seconds)
    for name, spent in seconds.items():
        assert f"{name} {minutes(spent)}" in said
    rest = outcome.seconds["total"] - sum(seconds.values())
    assert said.endswith(f"{about(rest)} without")
    # what is cut of trim is its outlines and holes at the speed of the laser, at least
    feeds = outcome.settings.laser.feeds
    cut = sum(part.outline.length for part in outcome.parts if part.kind is PartKind.TRIM)
    assert seconds["trim"] > cut / feeds[Operation.OUTER].speed
