"""Hinges in the window: what is fixed reaches the chain, the picked bend is read, limits answer to a change."""

from __future__ import annotations

import bmesh
import bpy
import pytest
from stowfold.bends import hinges
from stowfold.geometry.board.hinge import solve_hinge
from stowfold.geometry.board.wishes import Cut, HingeWishes
from stowfold.host import reading
from stowfold.host.hinge_wishes import wishes_of
from stowfold.jobs import results


def checked():
    if not bpy.context.scene.objects:
        bpy.ops.stowfold.add_building(length=9.0, width=6.0)
    bpy.ops.stowfold.check()
    report = results.latest()
    assert report.outcome is not None
    return report


def test_what_is_fixed_reaches_the_chain_and_the_parts():
    bpy.ops.stowfold.add_building(length=9.0, width=6.0)
    fields = bpy.context.scene.stowfold.hinge
    assert wishes_of(fields) == HingeWishes()
    fields.use_link_width, fields.link_width, fields.cut = True, 1.2, "SLOT"
    settings = reading.read_settings(bpy.context.scene)
    assert settings.hinge.wishes == HingeWishes(link_width=1.2, cut=Cut.SLOT)
    made = [placed.lattice for part in checked().outcome.parts for placed in part.lattices]
    assert {lattice.link_width for lattice in made} == {1.2}
    assert all(lattice.opening > settings.walls.kerf for lattice in made)


def test_the_picked_edge_is_read_and_without_one_the_hinge_that_is_stressed_most():
    report = checked()
    house = bpy.context.object
    _, placed = hinges.picked(bpy.context, report)
    most = max(each.lattice.shear for one in report.outcome.parts for each in one.lattices)
    assert placed.lattice.shear == most
    edge = next(each for one in report.outcome.parts for each in one.lattices if each is not placed).host_edges[0]
    bpy.ops.object.mode_set(mode="EDIT")
    bpy.ops.mesh.select_all(action="DESELECT")
    edited = bmesh.from_edit_mesh(house.data)
    edited.edges.ensure_lookup_table()
    edited.edges[edge].select_set(True)
    assert edge in hinges.picked(bpy.context, report)[1].host_edges
    bpy.ops.mesh.select_all(action="SELECT")
    bpy.ops.object.mode_set(mode="OBJECT")


def test_limits_are_those_of_the_solver_and_answer_to_a_change():
    report = checked()
    part, placed = hinges.picked(bpy.context, report)
    stock = report.settings.stocks[part.stock]
    for wishes in (HingeWishes(), HingeWishes(cut=Cut.LINE), HingeWishes(zone_width=6.0)):
        assert hinges.solution(placed, stock, wishes, 10.0) is None
        hinges._solve()
        found = hinges.solution(placed, stock, wishes, 10.0)
        made = placed.lattice
        fixed = HingeWishes(inside_radius=10.0, zone_width=wishes.zone_width, cut=wishes.cut)
        expected = solve_hinge(stock, angle=made.angle, axis_length=made.axis_length, fixed=fixed)
        assert found == expected
    assert found.failure is not None
    assert "zone of at most 6.0 mm" in found.failure
    hinges.forget()
    assert hinges.solution(placed, stock, HingeWishes(), 10.0) is None
    hinges.forget()


def test_wishes_that_contradict_each_other_are_one_sentence():
    report = checked()
    part, placed = hinges.picked(bpy.context, report)
    stock = report.settings.stocks[part.stock]
    hinges.solution(placed, stock, HingeWishes(opening=0.05), 10.0)
    hinges._solve()
    assert isinstance(hinges.solution(placed, stock, HingeWishes(opening=0.05, cut=Cut.SLOT), 10.0), str | None)
    hinges._solve()
    said = hinges.solution(placed, stock, HingeWishes(opening=0.05, cut=Cut.SLOT), 10.0)
    assert isinstance(said, str)
    assert "cannot be cut as slots" in said
    hinges.forget()
    with pytest.raises(RuntimeError, match="cannot be cut as slots"):
        bpy.context.scene.stowfold.hinge.use_opening = True
        bpy.context.scene.stowfold.hinge.opening = 0.05
        bpy.context.scene.stowfold.hinge.cut = "SLOT"
        bpy.ops.stowfold.check()


def test_no_building_is_added_that_the_fixed_sizes_cannot_bend(capfd):
    fields = bpy.context.scene.stowfold.hinge
    fields.use_link_width, fields.link_width, fields.cut = True, 1.2, "SLOT"
    assert bpy.ops.stowfold.add_building(length=9.0, width=6.0) == {"CANCELLED"}
    assert "with the hinge sizes that are fixed; free them in Hinge" in capfd.readouterr().out
    assert not len(bpy.context.scene.objects)
