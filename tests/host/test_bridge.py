"""The bridge: what the host holds arrives in millimetres, where it stands, with ids and marks."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import bpy
import numpy as np
import pytest
import trimesh
from stowfold.geometry.beam.laser import Laser
from stowfold.geometry.beam.lasers import find_laser, read_lasers
from stowfold.geometry.board.stock import read_stocks
from stowfold.geometry.errors import BadSettingError, UnreadableError
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.settings import BoardFace, ClosureKind, ClosureSettings, FloorSettings
from stowfold.geometry.solid.solid import Role
from stowfold.host import reading, stock_library

BOX_POINTS = [(x, y, z) for z in (0, 30) for x, y in ((0, 0), (40, 0), (40, 20), (0, 20))]
BOX_FACES = [(0, 3, 2, 1), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7)]


def read(*targets):
    bpy.context.view_layer.update()
    return reading.read_solid(targets, bpy.context.scene)


def volume(solid):
    """The volume by trimesh, negative where the faces look inward."""
    triangles = [(ring[0], a, b) for ring in solid.faces for a, b in pairwise(ring[1:])]
    return trimesh.Trimesh(solid.points, triangles, process=False).volume


@pytest.mark.parametrize("scale_length", [0.1, 0.01, 0.001, 0.0254, 0.3048])
def test_a_unit_is_as_long_as_the_host_says(scale_length):
    # The host's own unit parser is the judge: 25.4 mm, as a stored value, is 25.4 mm here.
    scene = bpy.context.scene
    scene.unit_settings.scale_length = scale_length
    metres = bpy.utils.units.to_value("METRIC", "LENGTH", "25.4mm")
    stored = metres / scene.unit_settings.scale_length
    assert stored * reading.mm_per_unit(scene) == pytest.approx(25.4, rel=1e-6)
    assert reading.to_units(25.4, scene) == pytest.approx(stored, rel=1e-6)


def test_an_inch_scene_counts_exact_inches():
    bpy.context.scene.unit_settings.scale_length = 0.0254
    assert reading.mm_per_unit(bpy.context.scene) == pytest.approx(25.4, abs=1e-13)


def test_typed_decimals_survive_single_precision():
    scene = bpy.context.scene
    scene.stowfold.square = 25.4
    assert scene.stowfold.square != 25.4
    assert reading.as_typed(scene.stowfold.square) == 25.4


def test_the_same_box_in_any_unit_is_the_same_solid(add_mesh):
    expected = read(add_mesh("Box", BOX_POINTS, BOX_FACES)).points
    bpy.context.scene.unit_settings.scale_length = 0.1
    in_decimetres = read(add_mesh("Decimetres", np.array(BOX_POINTS) / 100, BOX_FACES)).points
    np.testing.assert_allclose(in_decimetres, expected, atol=1e-5)


def test_ids_rings_and_names_are_those_of_the_host(add_mesh):
    target = add_mesh("Box", BOX_POINTS, BOX_FACES, {(0, 4): 1, (1, 5): 3})
    solid = read(target)
    assert solid.sources == ("Box",)
    assert solid.face_ids == tuple(range(6))
    assert solid.faces == tuple(tuple(polygon.vertices) for polygon in target.data.polygons)
    assert solid.edge_ids == tuple(range(12))
    assert [set(pair) for pair in solid.edges] == [set(edge.vertices) for edge in target.data.edges]
    marked = {frozenset(pair): role for pair, role in zip(solid.edges, solid.edge_roles, strict=True) if role}
    assert marked == {frozenset((0, 4)): Role.FLEX, frozenset((1, 5)): Role.CLOSURE}
    assert not solid.points.flags.writeable


@pytest.mark.parametrize("scale", [(2.0, 1.0, 0.5), (-1.0, 1.0, 1.0), (-1.0, -2.0, 1.0), (-1.0, -1.0, -1.0)])
def test_what_is_not_applied_reads_as_if_it_were_and_fronts_stay_fronts(add_mesh, scale):
    target = add_mesh("Box", BOX_POINTS, BOX_FACES)
    target.scale, target.location, target.rotation_euler = scale, (5.0, -7.0, 11.0), (0.3, -0.2, 1.1)
    unapplied = read(target)
    # fronts stay fronts: by trimesh the volume is positive, mirrored or not
    assert volume(unapplied) == pytest.approx(40 * 20 * 30 * abs(math.prod(scale)), rel=1e-5)
    # where the points lie, the host's own applying is the judge
    target.select_set(True)
    bpy.ops.object.transform_apply()
    np.testing.assert_allclose(unapplied.points, read(target).points, atol=1e-4)


def test_parents_count(add_mesh):
    target = add_mesh("Box", BOX_POINTS, BOX_FACES)
    parent = bpy.data.objects.new("Yard", None)
    bpy.context.scene.collection.objects.link(parent)
    parent.location, parent.scale = (100.0, 0.0, 0.0), (2.0, 2.0, 2.0)
    target.parent = parent
    solid = read(target)
    np.testing.assert_allclose(solid.points.min(axis=0), (100, 0, 0), atol=1e-4)
    np.testing.assert_allclose(solid.points.max(axis=0), (180, 40, 60), atol=1e-4)


def test_what_is_being_edited_counts_before_it_is_applied(add_mesh, in_edit_mode):
    target = add_mesh("Box", BOX_POINTS, BOX_FACES)
    bm = in_edit_mode(target)
    bm.verts[6].co.z = 45.0
    layer = bm.edges.layers.int.new("stowfold_role")
    bm.edges.ensure_lookup_table()
    bm.edges[3][layer] = 2
    edited = read(target)
    assert edited.points[6, 2] == 45.0
    assert edited.edge_roles[3] is Role.BREAK
    bpy.ops.object.mode_set(mode="OBJECT")
    stored = read(target)
    np.testing.assert_array_equal(edited.points, stored.points)
    assert (edited.faces, edited.edges, edited.edge_roles) == (stored.faces, stored.edges, stored.edge_roles)


def test_ids_of_the_edited_copy_are_those_after_it_is_applied(add_mesh, in_edit_mode):
    target = add_mesh("Box", BOX_POINTS, BOX_FACES)
    bm = in_edit_mode(target)
    bm.faces.remove(bm.faces[1])
    edited = read(target)
    bpy.ops.object.mode_set(mode="OBJECT")
    stored = read(target)
    assert len(edited.faces) == 5
    assert (edited.faces, edited.face_ids, edited.edges, edited.edge_ids) == (
        stored.faces,
        stored.face_ids,
        stored.edges,
        stored.edge_ids,
    )


def test_stray_points_and_edges_are_left_out_but_ids_stay(add_mesh):
    points = [(999, 999, 999), (998, 998, 998), *BOX_POINTS]
    mesh = bpy.data.meshes.new("Stray")
    mesh.from_pydata(points, [(0, 1)], [[corner + 2 for corner in face] for face in BOX_FACES])
    target = bpy.data.objects.new("Stray", mesh)
    bpy.context.scene.collection.objects.link(target)
    solid = read(target)
    assert len(solid.points) == 8
    assert solid.points.max() == 40.0
    stray = next(edge.index for edge in mesh.edges if set(edge.vertices) == {0, 1})
    assert set(solid.edge_ids) == set(range(13)) - {stray}
    for pair, index in zip(solid.edges, solid.edge_ids, strict=True):
        assert {corner + 2 for corner in pair} == set(mesh.edges[index].vertices)


def test_objects_of_one_building_keep_their_own_ids(add_mesh):
    walls = add_mesh("Walls", BOX_POINTS, BOX_FACES[2:])
    roof = add_mesh("Roof", [(0, 0, 30), (40, 0, 30), (40, 20, 35), (0, 20, 35)], [(0, 1, 2, 3)])
    solid = read(walls, roof)
    assert solid.sources == ("Walls", "Roof")
    assert solid.face_sources == (0, 0, 0, 0, 1)
    assert solid.face_ids == (0, 1, 2, 3, 0)
    assert reading.title_of([walls, roof]) == "Walls + Roof"


def test_a_mesh_without_faces_is_refused(add_mesh):
    target = add_mesh("Wire", [(0, 0, 0), (1, 0, 0)], [])
    with pytest.raises(UnreadableError, match="The mesh of 'Wire' has no faces"):
        read(target)


def test_points_that_are_no_numbers_are_refused(add_mesh):
    target = add_mesh("Torn", [(0, 0, 0), (1, 0, 0), (0, math.nan, 1)], [(0, 1, 2)])
    with pytest.raises(UnreadableError, match="points that are no numbers"):
        read(target)


# Which object is the building


def find(*names):
    return reading.find_block_out(bpy.context.scene, names)


def test_the_only_mesh_is_the_building(add_mesh):
    target = add_mesh("Box", BOX_POINTS, BOX_FACES)
    bpy.context.scene.collection.objects.link(bpy.data.objects.new("Lamp", None))
    assert find() == (target,)


def test_an_empty_scene_says_so():
    with pytest.raises(UnreadableError, match=r"^The scene is empty"):
        find()


def test_a_scene_without_a_mesh_says_so():
    bpy.context.scene.collection.objects.link(bpy.data.objects.new("Lamp", None))
    with pytest.raises(UnreadableError, match=r"^The scene holds no mesh"):
        find()


def test_two_candidates_are_named_and_a_way_out_is_shown(add_mesh):
    add_mesh("Shed", BOX_POINTS, BOX_FACES)
    add_mesh("Crane", BOX_POINTS, BOX_FACES)
    with pytest.raises(UnreadableError, match=r"2 meshes .*\('Crane', 'Shed'\).*block-out.*--object"):
        find()


def test_marked_objects_are_the_building(add_mesh):
    add_mesh("Shed", BOX_POINTS, BOX_FACES)
    roof, walls = add_mesh("Roof", BOX_POINTS, BOX_FACES), add_mesh("Walls", BOX_POINTS, BOX_FACES)
    walls.stowfold.is_block_out = roof.stowfold.is_block_out = True
    assert find() == (roof, walls)


def test_names_overrule_marks_and_repeats_count_once(add_mesh):
    shed, crane = add_mesh("Shed", BOX_POINTS, BOX_FACES), add_mesh("Crane", BOX_POINTS, BOX_FACES)
    shed.stowfold.is_block_out = True
    assert find("Crane") == (crane,)
    assert find("Shed", "Crane", "Shed") == (shed, crane)


def test_an_unknown_name_lists_the_known_ones(add_mesh):
    add_mesh("Shed", BOX_POINTS, BOX_FACES)
    with pytest.raises(UnreadableError, match="no object 'Sched' in the scene; its meshes are: 'Shed'"):
        find("Sched")


def test_a_name_of_no_mesh_is_refused():
    bpy.context.scene.collection.objects.link(bpy.data.objects.new("Lamp", None))
    with pytest.raises(UnreadableError, match="The object 'Lamp' is no mesh"):
        find("Lamp")


# Settings


def test_settings_nobody_touched_are_those_of_the_flow():
    settings = reading.read_settings(bpy.context.scene)
    stock = read_stocks()[0]
    # the laser comes from the packaged file, where it has a label
    laser = find_laser("hobby", read_lasers())
    assert settings == Settings(stock, stock, stock, stock, laser=laser)
    assert replace(laser, label=Laser().label) == Laser()


def test_settings_of_the_scene_reach_the_flow():
    ours = bpy.context.scene.stowfold
    stocks = read_stocks()
    ours.square = 30.1
    ours.face = "OUTSIDE"
    ours.play_mat = True
    ours.engrave_grid = False
    ours.rim = 7.3
    ours.propose = "BREAKS"
    ours.inside_radius = 8.7
    ours.closure = "MAGNETS"
    ours.magnet_pull = 0.7
    ours.joiner.core_width = 12.7
    ours.laser.bed_width = 914.4
    ours.stocks.roof = stocks[1].name
    settings = reading.read_settings(bpy.context.scene)
    assert settings.square == 30.1
    assert settings.face is BoardFace.OUTSIDE
    assert settings.ground == FloorSettings(wanted=False, rim=7.3, square=None)
    assert settings.propose is Proposal.BREAKS
    assert settings.hinge.inside_radius == 8.7
    assert settings.closure == ClosureSettings(kind=ClosureKind.MAGNETS, pull=0.7)
    assert settings.joiner.core_width == 12.7
    assert settings.laser.bed == (914.4, 300.0)
    assert settings.walls == stocks[0]
    assert settings.roof == stocks[1]


def test_measured_values_replace_those_of_the_catalogue():
    scene = bpy.context.scene
    bpy.ops.stowfold.measure_stock(stock=scene.stowfold.stocks.walls)
    scene.stowfold.measured[0].thickness = 2.87
    scene.stowfold.measured[0].kerf = 0.21
    walls = reading.read_settings(scene).walls
    assert (walls.thickness, walls.kerf) == (2.87, 0.21)
    assert walls.calibration
    assert walls.shear_modulus == read_stocks()[0].shear_modulus


def test_millimetres_of_the_workshop_do_not_follow_the_scene():
    scene = bpy.context.scene
    before = reading.read_settings(scene)
    scene.unit_settings.scale_length = 0.3048
    scene.unit_settings.system = "IMPERIAL"
    assert reading.read_settings(scene) == before


def test_a_stock_that_is_gone_is_named_by_its_use(monkeypatch):
    first = read_stocks()[0].name
    others = {name: entry for name, entry in stock_library.entries().items() if name != first}
    monkeypatch.setattr(stock_library, "entries", lambda: others)
    with pytest.raises(BadSettingError, match="stock chosen for the walls is not known"):
        reading.read_settings(bpy.context.scene)


def test_the_wish_to_look_longer_reaches_the_layout():
    assert reading.read_settings(bpy.context.scene).layout.improve is False
    bpy.context.scene.stowfold.look_longer = True
    assert reading.read_settings(bpy.context.scene).layout.improve is True


def test_materials_are_read_as_finishes_in_every_mode(add_ring):
    target = add_ring()
    assert reading.read_solid([target], bpy.context.scene).finishes == {}
    for name in ("brick", "tar"):
        target.data.materials.append(bpy.data.materials.new(name))
    target.data.materials.append(None)
    for polygon, index in zip(target.data.polygons, (0, 1, 2), strict=False):
        polygon.material_index = index
    wanted = {(target.name, 0): "brick", (target.name, 1): "tar"} | {
        (target.name, face): "brick" for face in range(3, len(target.data.polygons))
    }
    assert reading.read_solid([target], bpy.context.scene).finishes == wanted
    bpy.context.view_layer.objects.active = target
    bpy.ops.object.mode_set(mode="EDIT")
    assert reading.read_solid([target], bpy.context.scene).finishes == wanted
    bpy.ops.object.mode_set(mode="OBJECT")
    # a material that hangs on the object, not on its mesh
    target.material_slots[1].link = "OBJECT"
    target.material_slots[1].material = bpy.data.materials.new("lead")
    assert reading.read_solid([target], bpy.context.scene).finishes[target.name, 1] == "lead"
