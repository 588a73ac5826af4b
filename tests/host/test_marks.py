"""Marks: roles live in an int attribute of the edges, no matter who wrote it, in either mode."""

from __future__ import annotations

import bmesh
import bpy
import pytest
from stowfold.geometry.errors import UnreadableError
from stowfold.geometry.solid.solid import Role
from stowfold.host import marks

POINTS = [(0, 0, 0), (10, 0, 0), (10, 10, 0), (0, 10, 0)]
FACES = [(0, 1, 2, 3)]


def test_the_name_and_the_numbers_are_those_that_scripts_write():
    assert marks.ATTRIBUTE == "stowfold_role"
    assert {role.name: int(role) for role in Role} == {"PLAIN": 0, "FLEX": 1, "BREAK": 2, "CLOSURE": 3}


def test_an_unmarked_mesh_is_plain_and_stays_without_attribute(add_mesh):
    mesh = add_mesh("Sheet", POINTS, FACES).data
    assert marks.read_roles(mesh).tolist() == [0, 0, 0, 0]
    assert mesh.attributes.get("stowfold_role") is None


def test_marks_set_in_object_mode_are_read_in_both(add_mesh, in_edit_mode):
    target = add_mesh("Sheet", POINTS, FACES)
    marks.set_roles(target.data, [1, 3], Role.CLOSURE)
    marks.set_roles(target.data, [3], Role.BREAK)
    assert marks.read_roles(target.data).tolist() == [0, 3, 0, 2]
    bm = in_edit_mode(target)
    assert marks.read_roles_in_edit_mode(target.data, bm).tolist() == [0, 3, 0, 2]


def test_marks_set_in_edit_mode_are_there_afterwards(add_mesh, in_edit_mode):
    target = add_mesh("Sheet", POINTS, FACES)
    bm = in_edit_mode(target)
    for index, edge in enumerate(bm.edges):
        edge.select = index in (0, 2)
    assert marks.set_selected_roles(target.data, bm, Role.FLEX) == 2
    bmesh.update_edit_mesh(target.data)
    bpy.ops.object.mode_set(mode="OBJECT")
    assert marks.read_roles(target.data).tolist() == [1, 0, 1, 0]
    attribute = target.data.attributes["stowfold_role"]
    assert (attribute.domain, attribute.data_type) == ("EDGE", "INT")


def test_marking_twice_makes_one_attribute(add_mesh, in_edit_mode):
    target = add_mesh("Sheet", POINTS, FACES)
    bm = in_edit_mode(target)
    bm.edges[0].select = True
    for role in (Role.FLEX, Role.BREAK):
        marks.set_selected_roles(target.data, bm, role)
    bpy.ops.object.mode_set(mode="OBJECT")
    marks.set_roles(target.data, [2], Role.FLEX)
    assert [attribute.name for attribute in target.data.attributes if attribute.name.startswith("stowfold")] == [
        "stowfold_role"
    ]


def test_both_halves_of_a_cut_edge_keep_the_mark(add_mesh, in_edit_mode):
    target = add_mesh("Sheet", POINTS, FACES)
    marks.set_roles(target.data, [0], Role.FLEX)
    bm = in_edit_mode(target)
    for edge in bm.edges:
        edge.select_set(edge.index == 0)
    bpy.ops.mesh.subdivide(number_cuts=1)
    found = marks.edges_with_role(target.data, bmesh.from_edit_mesh(target.data), lambda role: role is Role.FLEX)
    assert len(found) == 2


def test_marks_are_copied_and_saved(add_mesh, tmp_path):
    target = add_mesh("Sheet", POINTS, FACES)
    marks.set_roles(target.data, [2], Role.BREAK)
    assert marks.read_roles(target.data.copy()).tolist() == [0, 0, 2, 0]
    path = str(tmp_path / "marked.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path)
    bpy.ops.wm.read_factory_settings(use_empty=True)
    bpy.ops.wm.open_mainfile(filepath=path)
    assert marks.read_roles(bpy.data.meshes["Sheet"]).tolist() == [0, 0, 2, 0]


def test_marks_come_along_when_an_object_is_appended(add_mesh, tmp_path):
    marks.set_roles(add_mesh("Sheet", POINTS, FACES).data, [1, 2], Role.FLEX)
    path = tmp_path / "library.blend"
    bpy.ops.wm.save_as_mainfile(filepath=str(path))
    bpy.ops.wm.read_factory_settings(use_empty=True)
    bpy.ops.wm.append(filepath=str(path / "Object" / "Sheet"), directory=str(path / "Object"), filename="Sheet")
    assert marks.read_roles(bpy.data.objects["Sheet"].data).tolist() == [0, 1, 1, 0]


def test_a_duplicate_has_marks_of_its_own(add_mesh):
    target = add_mesh("Sheet", POINTS, FACES)
    marks.set_roles(target.data, [2], Role.BREAK)
    target.select_set(True)
    bpy.ops.object.duplicate()
    (copy,) = bpy.context.selected_objects
    assert copy.data != target.data
    marks.set_roles(copy.data, [0], Role.CLOSURE)
    assert marks.read_roles(copy.data).tolist() == [3, 0, 2, 0]
    assert marks.read_roles(target.data).tolist() == [0, 0, 2, 0]


def test_meshes_that_are_joined_keep_their_marks(add_mesh):
    first, second = add_mesh("Sheet", POINTS, FACES), add_mesh("Other", [(x + 20, y, z) for x, y, z in POINTS], FACES)
    marks.set_roles(first.data, [1], Role.FLEX)
    marks.set_roles(second.data, [3], Role.BREAK)
    for target in (first, second):
        target.select_set(True)
    bpy.context.view_layer.objects.active = first
    bpy.ops.object.join()
    assert sorted(marks.read_roles(first.data).tolist()) == [0, 0, 0, 0, 0, 0, 1, 2]


@pytest.mark.parametrize(
    ("data_type", "domain", "words"),
    [("FLOAT", "EDGE", "is float on edge"), ("INT", "POINT", "is int on point"), ("BOOLEAN", "EDGE", "is boolean on")],
)
def test_something_else_by_that_name_is_refused_in_both_modes(add_mesh, in_edit_mode, data_type, domain, words):
    target = add_mesh("Sheet", POINTS, FACES)
    target.data.attributes.new("stowfold_role", data_type, domain)
    with pytest.raises(UnreadableError, match=words):
        marks.read_roles(target.data)
    with pytest.raises(UnreadableError, match="rename or remove it"):
        marks.set_roles(target.data, [0], Role.FLEX)
    bm = in_edit_mode(target)
    with pytest.raises(UnreadableError, match=words):
        marks.read_roles_in_edit_mode(target.data, bm)
    with pytest.raises(UnreadableError, match=words):
        marks.set_selected_roles(target.data, bm, Role.FLEX)


@pytest.mark.parametrize("value", [-1, 4, 2**31 - 1])
def test_a_number_that_is_no_role_is_named_with_its_edge(add_mesh, in_edit_mode, value):
    target = add_mesh("Sheet", POINTS, FACES, {(1, 2): value})
    index = next(edge.index for edge in target.data.edges if set(edge.vertices) == {1, 2})
    with pytest.raises(UnreadableError, match=f"Edge {index} of mesh 'Sheet' bears the role {value}; known are 0"):
        marks.read_roles(target.data)
    with pytest.raises(UnreadableError, match=f"bears the role {value}"):
        marks.read_roles_in_edit_mode(target.data, in_edit_mode(target))
