"""Modifiers: what the host shows is what is cut, marks come along, and what cannot come along is one sentence."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import bmesh
import bpy
import numpy as np
import pytest
from slow_cases import one_quick
from stowfold.geometry.errors import UnreadableError
from stowfold.geometry.findings import Finding, Location, Severity
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role
from stowfold.host import reading, shown
from stowfold.jobs import results

FLEX, BREAK = 1, 2

#: Three walls of a shed of 230 x 150 mm; its other half is their mirror image beyond x = 115.
HALF = [(x, y, z) for z in (0.0, 60.0) for x, y in ((115, 0), (230, 0), (230, 150), (115, 150))]
HALF_FACES = [(0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6)]
HALF_MARKS = {(0, 4): BREAK, (3, 7): BREAK, (1, 5): FLEX, (2, 6): FLEX}


def read(*targets):
    bpy.context.view_layer.update()
    return reading.read_solid(targets, bpy.context.scene)


def roles(solid):
    return Counter(role for role in solid.edge_roles if role)


@pytest.fixture
def half(add_mesh):
    """Half a shed, and a mirror modifier that makes a whole one of it."""
    centre = bpy.data.objects.new("Middle", None)
    bpy.context.scene.collection.objects.link(centre)
    centre.location = (115.0, 0.0, 0.0)
    target = add_mesh("Boat shed", HALF, HALF_FACES, HALF_MARKS)
    mirror = target.modifiers.new("Mirror", "MIRROR")
    mirror.mirror_object = centre
    return target


def test_a_mirrored_half_is_the_whole_shed(half, add_ring):
    mirrored, whole = read(half), read(add_ring("Whole"))
    np.testing.assert_allclose(
        sorted(map(tuple, mirrored.points.round(3))), sorted(map(tuple, whole.points.round(3))), atol=1e-3
    )
    assert roles(mirrored) == roles(whole) == {Role.FLEX: 4, Role.BREAK: 2}
    assert len(mirrored.faces) == len(whole.faces) == 6
    half.modifiers["Mirror"].show_viewport = False
    assert len(read(half).faces) == 3


def test_a_mirrored_half_is_cut_like_the_whole_shed(half, add_ring):
    bpy.ops.stowfold.check()
    mirrored = results.for_object(half).outcome
    bpy.data.objects.remove(half)
    whole = add_ring("Whole")
    bpy.ops.stowfold.check()
    modelled = results.for_object(whole).outcome
    assert mirrored.proof.holds
    assert sorted(part.label for part in mirrored.parts) == sorted(part.label for part in modelled.parts)
    assert sorted(part.area for part in mirrored.parts) == pytest.approx(sorted(part.area for part in modelled.parts))


@pytest.mark.parametrize(
    ("kind", "values", "faces"),
    [
        ("TRIANGULATE", {}, 12),
        ("WELD", {"merge_threshold": 0.01}, 6),
        ("ARRAY", {"count": 2, "relative_offset_displace": (2.0, 0.0, 0.0)}, 12),
        ("SUBSURF", {"subdivision_type": "SIMPLE", "levels": 1}, 24),
    ],
)
def test_marks_come_through(add_ring, kind, values, faces):
    """The length of each kind of marked line stays, times the copies that an array makes."""
    target = add_ring()
    before = lengths(read(target))
    modifier = target.modifiers.new("Change", kind)
    for name, value in values.items():
        setattr(modifier, name, value)
    solid = read(target)
    assert len(solid.faces) == faces
    copies = 2 if kind == "ARRAY" else 1
    assert lengths(solid) == pytest.approx({role: copies * length for role, length in before.items()})


def lengths(solid):
    found = Counter()
    for (a, b), role in zip(solid.edges, solid.edge_roles, strict=True):
        if role:
            found[role] += float(np.linalg.norm(solid.points[a] - solid.points[b]))
    return found


def test_a_bevel_is_read_as_it_shows(add_ring):
    target = add_ring()
    target.modifiers.new("Bevel", "BEVEL").width = 5.0
    solid = read(target)
    assert len(solid.faces) > 6
    assert set(roles(solid)) == {Role.FLEX, Role.BREAK}


def window_in(target, solver):
    mesh = bpy.data.meshes.new("Window")
    bm = bmesh.new()
    bmesh.ops.create_cube(bm, size=20.0)
    bm.to_mesh(mesh)
    bm.free()
    cutter = bpy.data.objects.new("Window", mesh)
    bpy.context.scene.collection.objects.link(cutter)
    cutter.location = (60.0, 0.0, 30.0)
    cut = target.modifiers.new("Window", "BOOLEAN")
    cut.object, cut.solver = cutter, solver


def test_a_window_by_boolean_is_an_opening(add_ring):
    target = add_ring()
    window_in(target, "FLOAT" if bpy.app.version >= (5, 0) else "FAST")
    solid = read(target)
    assert lengths(solid) == pytest.approx({Role.FLEX: 240.0, Role.BREAK: 120.0})
    assert any(len(facet.rings) == 2 for facet in find_facets(solid).facets)


def test_an_exact_boolean_would_garble_marks(add_ring):
    target = add_ring()
    window_in(target, "EXACT")
    with pytest.raises(UnreadableError, match=r"'Window' of 'Boat shed' garbles the marks .* Exact solver; choose"):
        read(target)
    target.data.attributes.remove(target.data.attributes["stowfold_role"])
    assert roles(read(target)) == {}
    assert len(read(target).faces) > 6


def nodes_of(target, kind):
    group = bpy.data.node_groups.new("Nodes", "GeometryNodeTree")
    for way in ("INPUT", "OUTPUT"):
        group.interface.new_socket("Geometry", in_out=way, socket_type="NodeSocketGeometry")
    start, end, node = (group.nodes.new(name) for name in ("NodeGroupInput", "NodeGroupOutput", kind))
    if node.inputs and node.inputs[0].type == "GEOMETRY":
        group.links.new(start.outputs[0], node.inputs[0])
    group.links.new(node.outputs[0], end.inputs[0])
    target.modifiers.new("Nodes", "NODES").node_group = group


def test_geometry_nodes_are_read_as_they_show(add_ring):
    target = add_ring()
    nodes_of(target, "GeometryNodeSubdivideMesh")
    solid = read(target)
    assert len(solid.faces) == 24
    assert lengths(solid) == pytest.approx({Role.FLEX: 240.0, Role.BREAK: 120.0})


@pytest.mark.parametrize(
    ("kind", "lost"), [("REMESH", "4 flex"), ("NODES", "4 flex"), ("DECIMATE", "2 break")], ids=lambda word: word
)
def test_lost_marks_are_one_sentence(add_ring, kind, lost):
    """Remeshing and new meshes lose all marks, dissolving flat edges loses those of breaks."""
    target = add_ring()
    if kind == "NODES":
        nodes_of(target, "GeometryNodeMeshCube")
    else:
        modifier = target.modifiers.new(kind, kind)
        if kind == "REMESH":
            modifier.mode, modifier.octree_depth = "BLOCKS", 3
        else:
            modifier.decimate_type = "DISSOLVE"
    name = target.modifiers[0].name
    with pytest.raises(UnreadableError, match=f"modifier '{name}' of 'Boat shed' loses all {lost} marks; apply it"):
        read(target)


@pytest.mark.parametrize("kind", ["SOLIDIFY", "WIREFRAME"])
def test_walls_of_two_faces_are_one_sentence(add_ring, kind):
    target = add_ring()
    target.modifiers.new("Thick", kind).thickness = 3.0
    with pytest.raises(UnreadableError, match="'Thick' of 'Boat shed' gives its walls a second face"):
        read(target)
    target.modifiers["Thick"].show_viewport = False
    assert len(read(target).faces) == 6


def test_furniture_may_be_thick(add_mesh):
    target = add_mesh("Bed", [(0, 0, 0), (40, 0, 0), (40, 20, 0), (0, 20, 0)], [(0, 1, 2, 3)])
    target.stowfold.place.kind = "FURNITURE"
    target.modifiers.new("Thick", "SOLIDIFY").thickness = 8.0
    assert np.ptp(read(target).points[:, 2]) == pytest.approx(8.0)


def test_a_hidden_object_is_not_worked_out_by_the_host(half):
    half.hide_set(True)
    assert len(read(half).faces) == 6
    half.hide_viewport = True
    with pytest.raises(UnreadableError, match="'Boat shed' is disabled in the viewport"):
        read(half)


def test_shape_keys_count_as_they_show(add_ring):
    target = add_ring()
    target.shape_key_add(name="Basis")
    taller = target.shape_key_add(name="Taller")
    for point in taller.data[6:]:
        point.co.z = 80.0
    taller.value = 1.0
    assert read(target).points[:, 2].max() == pytest.approx(80.0)


def test_what_is_being_edited_counts_with_its_modifiers(half, in_edit_mode):
    bm = in_edit_mode(half)
    for vert in list(bm.verts)[4:]:
        vert.co.z = 45.0
    layer = bm.edges.layers.int["stowfold_role"]
    marked = next(edge for edge in bm.edges if edge[layer] == FLEX)
    marked[layer] = 3
    bmesh.update_edit_mesh(half.data)
    edited = read(half)
    assert edited.points[:, 2].max() == pytest.approx(45.0)
    assert roles(edited) == {Role.FLEX: 2, Role.BREAK: 2, Role.CLOSURE: 2}
    half.modifiers["Mirror"].show_in_editmode = False
    with pytest.raises(UnreadableError, match="modifier 'Mirror' of 'Boat shed' is off in Edit Mode"):
        read(half)
    bpy.ops.object.mode_set(mode="OBJECT")
    stored = read(half)
    np.testing.assert_array_equal(edited.points, stored.points)
    assert (edited.faces, edited.edges, edited.edge_roles) == (stored.faces, stored.edges, stored.edge_roles)


def test_finishes_come_along(half):
    for name in ("Brick", "Plank"):
        half.data.materials.append(bpy.data.materials.new(name))
    half.data.polygons[1].material_index = 1
    assert Counter(read(half).finishes.values()) == {"Brick": 4, "Plank": 2}


@pytest.mark.parametrize(
    "change",
    one_quick(
        [
            lambda target: setattr(target.modifiers["Mirror"], "show_viewport", False),
            lambda target: setattr(target.modifiers["Mirror"], "use_axis", (True, True, False)),
            lambda target: target.modifiers.remove(target.modifiers["Mirror"]),
            lambda target: setattr(bpy.data.objects["Middle"], "location", (100.0, 0.0, 0.0)),
        ]
    ),
    ids=["off", "axis", "removed", "mirrored elsewhere"],
)
def test_a_changed_modifier_makes_the_outcome_stale(half, change):
    bpy.ops.stowfold.check()
    assert not results.for_object(half).stale
    results.refresh_staleness(bpy.context.scene)
    assert not results.for_object(half).stale
    change(half)
    bpy.context.view_layer.update()
    results.refresh_staleness(bpy.context.scene)
    assert results.for_object(half).stale


def test_only_faces_and_edges_of_the_own_mesh_are_named(half):
    """The host keeps the half that it mirrors to the bit; which faces those are is known from their middles."""
    with shown.shown_mesh(half) as mesh:
        middles = [tuple(polygon.center) for polygon in mesh.polygons]
    own = {tuple(polygon.center): polygon.index for polygon in half.data.polygons}
    for number, middle in enumerate(middles):
        faces, edges = shown.own_ids(half, [number], [])
        assert faces == ((own[middle],) if middle in own else ())
        assert edges == ()
    assert sum(middle in own for middle in middles) == 3
    _, edges = shown.own_ids(half, [], range(len(read(half).edges)))
    assert sorted(edges) == list(range(len(half.data.edges)))


def test_a_finding_selects_only_what_it_speaks_of(half):
    """The image not joined on, both breaks end their surface twice: on the own half, and on the image's."""
    half.modifiers["Mirror"].use_mirror_merge = False
    half.modifiers["Mirror"].mirror_object.location.x = 114.0
    bpy.ops.stowfold.check()
    findings = results.for_object(half).outcome.findings
    broken = [k for k, finding in enumerate(findings) if finding.code == "bad-break-line"]
    assert len(broken) == 4
    counts = []
    for index in broken:
        with shown.shown_mesh(half) as mesh:
            told = {places_of(mesh, mesh.edges[k].vertices) for k in findings[index].where.edges}
        bpy.ops.stowfold.show_finding(index=index)
        if half.mode == "EDIT":
            bpy.ops.object.mode_set(mode="OBJECT")
            picked = {places_of(half.data, edge.vertices) for edge in half.data.edges if edge.select}
            assert picked == told
            counts.append(len(picked))
    assert counts == [1, 1]


def places_of(mesh, vertices):
    return frozenset(tuple(mesh.vertices[k].co) for k in vertices)


@pytest.mark.slow
def test_a_place_in_the_mirror_image_is_shown_without_selecting(half):
    bpy.ops.stowfold.check()
    report = results.for_object(half)
    with shown.shown_mesh(half) as mesh:
        far = next(polygon.index for polygon in mesh.polygons if polygon.center.x < 1.0)
    there = Finding(Severity.NOTE, "boards-cross", "x", Location(faces=(far,), source="Boat shed", point=(0, 75, 30)))
    results.keep(replace(report, outcome=replace(report.outcome, findings=(there,))))
    bpy.ops.stowfold.show_finding(index=0)
    assert half.mode == "OBJECT"
    assert half.select_get()
    assert tuple(bpy.context.scene.cursor.location) == pytest.approx((0, 75, 30))
    assert not any(polygon.select for polygon in half.data.polygons)


@pytest.mark.parametrize("what", ["NET", "BREAKS"])
def test_a_proposal_asks_for_the_mirror_to_be_applied(half, what):
    before = [role.value for role in half.data.attributes["stowfold_role"].data]
    with pytest.raises(RuntimeError, match="Apply the modifier 'Mirror' of 'Boat shed' first"):
        bpy.ops.stowfold.mark_proposal(what=what)
    assert [role.value for role in half.data.attributes["stowfold_role"].data] == before
    assert len(half.data.polygons) == 3
    bpy.ops.object.modifier_apply(modifier="Mirror")
    bpy.ops.stowfold.mark_proposal(what=what)


def test_bends_are_marked_through_a_modifier_that_only_moves(add_ring):
    target = add_ring(breaks=False)
    target.data.attributes.remove(target.data.attributes["stowfold_role"])
    bend = target.modifiers.new("Taper", "SIMPLE_DEFORM")
    bend.deform_method, bend.factor = "TAPER", 0.0
    bpy.ops.stowfold.mark_proposal(what="NET")
    assert any(role.value for role in target.data.attributes["stowfold_role"].data)
    bend.factor = 0.1
    with pytest.raises(RuntimeError, match="Apply the modifier 'Taper' of 'Boat shed' first"):
        bpy.ops.stowfold.mark_proposal(what="BREAKS")
