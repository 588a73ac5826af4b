"""Porches as objects: added, undone, refused, changed, set back, read with their building, and cut."""

from __future__ import annotations

import math

import bpy
import numpy as np
import pytest
from host_window import do, keep_step, redo, undo
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.part import PartKind
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role
from stowfold.host import marks, reading
from stowfold.plot import proposing


def building(**fields):
    assert bpy.ops.stowfold.add_building(**{"length": 9.0, "width": 6.0, "roof": "GABLE", **fields}) == {"FINISHED"}
    return bpy.context.object


def porch(x=4.0, y=0.0, **fields):
    unit = 25.4 / reading.mm_per_unit(bpy.context.scene)
    bpy.context.scene.cursor.location = (x * unit, y * unit, 0.0)
    assert bpy.ops.stowfold.add_porch(**fields) == {"FINISHED"}
    return bpy.context.object


def read(house):
    bpy.context.view_layer.update()
    return reading.read_solid((house,), bpy.context.scene)


def porches_of(house):
    facets = find_facets(read(house))
    return [facets.source_of(facets.facets[s.facets[0]]) for s in facets.shells if s.stands_on and facets.is_porch(s)]


@pytest.mark.parametrize("scale", [0.001, 1.0])
def test_a_porch_stands_against_its_wall_with_its_usual_size(scale):
    bpy.context.scene.unit_settings.scale_length = scale
    house = building()
    target = porch()
    unit = reading.mm_per_unit(bpy.context.scene)
    assert target.parent == house
    assert np.array(target.matrix_world.translation) * unit == pytest.approx([4.0 * 25.4, 0.0, 0.0], abs=1e-3)
    size = np.ptp([vertex.co[:] for vertex in target.data.vertices], axis=0) * unit
    assert size[:2] == pytest.approx([50.8, 30.4], abs=1e-3)
    assert porches_of(house) == ["Porch"]


def test_adding_a_porch_is_undone_and_redone():
    building()
    keep_step()
    do(bpy.ops.stowfold.add_porch, width=60.0, porch_roof="GABLE", closed=True)
    assert len(bpy.context.scene.objects) == 2
    undo()
    assert len(bpy.context.scene.objects) == 1
    redo()
    fields = bpy.context.scene.objects["Porch"].stowfold.upstand
    assert (fields.kind, fields.porch_roof, fields.closed) == ("PORCH", "GABLE", True)
    assert len(bpy.context.scene.objects["Porch"].data.polygons) == 5


def test_a_porch_wider_than_its_wall_is_refused_and_leaves_nothing():
    house = building(length=3.0)
    assert bpy.ops.stowfold.add_porch(width=120.0) == {"CANCELLED"}
    assert list(bpy.context.scene.objects) == [house]


def test_bad_sizes_of_a_porch_leave_it_and_say_why():
    building()
    target = porch()
    target.stowfold.upstand.closed = True
    assert len(target.data.polygons) == 4
    target.stowfold.upstand.width = 18.0
    assert len(target.data.polygons) == 4 and "with its posts it needs 21 mm" in target.stowfold.upstand.trouble
    target.stowfold.upstand.width = 40.0
    assert target.stowfold.upstand.trouble == ""


def test_a_moved_porch_is_set_back_against_the_wall_that_is_next():
    house = building()
    target = porch()
    unit = reading.mm_per_unit(bpy.context.scene)
    target.matrix_world.translation = (100.0 / unit, -20.0 / unit, 8.0 / unit)
    bpy.context.view_layer.update()
    keep_step()
    assert do(bpy.ops.stowfold.snap_upstands) == {"FINISHED"}
    target = bpy.context.scene.objects["Porch"]
    assert np.array(target.matrix_world.translation) * unit == pytest.approx([100.0, 0.0, 0.0], abs=1e-3)
    assert porches_of(bpy.context.scene.objects[house.name]) == ["Porch"]


def test_no_break_is_proposed_behind_a_porch():
    house = building()
    breaks = [house.data.edges[k] for k in np.flatnonzero(marks.read_roles(house.data) == Role.BREAK)]
    front = [house.data.vertices[edge.vertices[0]].co.x for edge in breaks]
    unit = 25.4 / reading.mm_per_unit(bpy.context.scene)
    target = porch(front[0] / unit)
    proposing.finish()
    breaks = [house.data.edges[k] for k in np.flatnonzero(marks.read_roles(house.data) == Role.BREAK)]
    near = [edge for edge in breaks if house.data.vertices[edge.vertices[0]].co.y < 1e-3]
    places = [house.data.vertices[edge.vertices[0]].co.x / unit for edge in near]
    middle = target.matrix_world.translation.x / unit
    assert len(breaks) == 2 and all(abs(place - middle) > 1.0 for place in places)


@pytest.mark.slow
@pytest.mark.parametrize("fields", [{}, {"porch_roof": "GABLE", "closed": True}])
def test_a_porch_of_the_menu_is_cut_and_proved(fields):
    house = building()
    porch(6.0, **fields)
    proposing.finish()
    outcome = make_parts(read(house), reading.read_settings(bpy.context.scene), title="Toll house").outcome
    assert not [finding for finding in outcome.findings if finding.severity is Severity.ERROR]
    assert outcome.proof.holds
    boards = [part for part in outcome.parts if part.kind is PartKind.UPSTAND]
    assert len(boards) == (5 if fields else 2)
    (floor,) = (part for part in outcome.parts if part.kind is PartKind.FLOOR)
    # under the open porch there is floor as well
    assert floor.size[1] > 6 * 25.4 + 25.4


def test_a_porch_whose_roof_is_as_steep_as_a_wall_is_refused():
    building()
    target = porch()
    before = [tuple(vertex.co) for vertex in target.data.vertices]
    target.stowfold.upstand.height = 5.0
    assert "5 mm high" in target.stowfold.upstand.trouble
    assert [tuple(vertex.co) for vertex in target.data.vertices] == before
    target.stowfold.upstand.height = 34.0
    target.stowfold.upstand.pitch = math.radians(30.0)
    assert target.stowfold.upstand.trouble == ""
