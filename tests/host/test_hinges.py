"""Hinges in the window: what is fixed reaches the flow, the picked bend is read, limits answer to a change."""

from __future__ import annotations

import bmesh
import bpy
import pytest
from stowfold.bends import hinges
from stowfold.bends.hinge_panel import folds_told
from stowfold.geometry.beam.laser import Feed, Laser, Operation
from stowfold.geometry.board.endurance import MOST_FOLDS, folds_borne
from stowfold.geometry.board.hinge import solve_hinge
from stowfold.geometry.board.wishes import Cut, HingeWishes
from stowfold.host import reading
from stowfold.host.hinge_wishes import wishes_of
from stowfold.jobs import results

LASER = Laser()


def checked():
    if not bpy.context.scene.objects:
        bpy.ops.stowfold.add_building(length=9.0, width=6.0)
    bpy.ops.stowfold.check()
    report = results.latest()
    assert report.outcome is not None
    return report


def test_what_is_fixed_reaches_the_flow_and_the_parts():
    bpy.ops.stowfold.add_building(length=9.0, width=6.0)
    fields = bpy.context.scene.stowfold.hinge
    assert wishes_of(fields) == HingeWishes()
    fields.use_link_width, fields.link_width, fields.cut = True, 1.2, "SLOT"
    settings = reading.read_settings(bpy.context.scene)
    assert settings.hinge.wishes == HingeWishes(link_width=1.2, cut=Cut.SLOT)
    made = [placed.lattice for part in checked().outcome.parts for placed in part.lattices]
    assert {lattice.link_width for lattice in made} == {1.2}
    assert all(lattice.opening > settings.walls.kerf for lattice in made)


@pytest.mark.slow
def test_the_picked_edge_is_read_and_without_one_the_hinge_that_is_stressed_most():
    report = checked()
    house = bpy.context.object
    _, placed = hinges.picked(bpy.context, report)
    most = max(lattice.lattice.shear for one in report.outcome.parts for lattice in one.lattices)
    assert placed.lattice.shear == most
    edge = next(
        lattice for one in report.outcome.parts for lattice in one.lattices if lattice is not placed
    ).host_edges[0]
    bpy.ops.object.mode_set(mode="EDIT")
    bpy.ops.mesh.select_all(action="DESELECT")
    edited = bmesh.from_edit_mesh(house.data)
    edited.edges.ensure_lookup_table()
    edited.edges[edge].select_set(True)
    assert edge in hinges.picked(bpy.context, report)[1].host_edges
    bpy.ops.mesh.select_all(action="SELECT")
    bpy.ops.object.mode_set(mode="OBJECT")


@pytest.mark.slow
def test_limits_are_those_of_the_solver_and_answer_to_a_change():
    report = checked()
    part, placed = hinges.picked(bpy.context, report)
    stock = report.settings.stocks[part.stock]
    for wishes in (HingeWishes(), HingeWishes(cut=Cut.LINE), HingeWishes(zone_width=6.0)):
        assert hinges.reading(placed, stock, LASER, wishes, 10.0) is None
        hinges._solve()
        found = hinges.reading(placed, stock, LASER, wishes, 10.0)
        made = placed.lattice
        fixed = HingeWishes(inside_radius=10.0, zone_width=wishes.zone_width, cut=wishes.cut)
        expected = solve_hinge(stock, angle=made.angle, axis_length=made.axis_length, fixed=fixed)
        assert found.solution == expected
        assert found.folds == folds_borne(stock, expected.lattice)
    assert found.solution.failure is not None
    assert "zone of at most 6.0 mm" in found.solution.failure
    hinges.forget()
    assert hinges.reading(placed, stock, LASER, HingeWishes(), 10.0) is None
    hinges.forget()


def test_both_ways_of_cutting_are_read_with_the_feeds_of_the_laser():
    report = checked()
    part, placed = hinges.picked(bpy.context, report)
    stock = report.settings.stocks[part.stock]
    slower = Laser(feeds={**LASER.feeds, Operation.SLITS: Feed(3.0)})
    times = []
    for laser in (LASER, slower):
        hinges.reading(placed, stock, laser, HingeWishes(), 10.0)
        hinges._solve()
        line, slot = hinges.reading(placed, stock, laser, HingeWishes(), 10.0).ways
        assert (line.cut, slot.cut) == (Cut.LINE, Cut.SLOT)
        assert slot.solution.zone_width < line.solution.zone_width
        times.append((line.seconds, slot.seconds))
    assert times[1][0] > 1.8 * times[0][0] and times[1][1] > 1.8 * times[0][1]
    hinges.forget()


@pytest.mark.parametrize(
    ("folds", "told"),
    [(0, "breaks when folded once"), (7, "about 7"), (5054, "about 5,100"), (MOST_FOLDS, "25,000 or more")],
)
def test_folds_are_told_in_two_digits(folds, told):
    assert folds_told(folds) == told


@pytest.mark.slow
def test_wishes_that_contradict_each_other_are_one_sentence():
    report = checked()
    part, placed = hinges.picked(bpy.context, report)
    stock = report.settings.stocks[part.stock]
    wishes = HingeWishes(opening=0.05, cut=Cut.SLOT)
    assert hinges.reading(placed, stock, LASER, wishes, 10.0) is None
    hinges._solve()
    said = hinges.reading(placed, stock, LASER, wishes, 10.0)
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
