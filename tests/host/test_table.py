"""The table: what is added is a plain object that copies, saves and undoes, and reads as the values of play."""

from __future__ import annotations

import math

import bpy
import numpy as np
import pytest
from host_window import do, keep_step, redo, undo
from stowfold.geometry.errors import BadSettingError, UnreadableError
from stowfold.geometry.play.table import table_outline
from stowfold.host import table
from stowfold.host.lengths import mm_per_unit
from stowfold.table import settling

SCALES = [0.001, 0.01, 0.0254, 1.0]


def scene():
    return bpy.context.scene


def add(name, **fields):
    assert getattr(bpy.ops.stowfold, f"add_{name}")(**fields) == {"FINISHED"}
    bpy.context.view_layer.update()
    return bpy.context.object


@pytest.mark.parametrize("scale", SCALES)
def test_a_table_has_its_size_and_lies_under_the_building_in_scenes_of_any_unit_scale(scale):
    scene().unit_settings.scale_length = scale
    assert bpy.ops.stowfold.add_building(length=9.0, width=6.0, roof="NONE") == {"FINISHED"}
    bpy.context.view_layer.update()
    add("table")
    read = table.read_table(scene())
    assert read.size == pytest.approx((1800.0, 1200.0), rel=1e-6)
    assert read.centre == pytest.approx((9 * 25.4 / 2, 6 * 25.4 / 2, 0.0), abs=1e-3)
    assert (read.turn, read.height) == (0.0, 740.0)


def test_a_turned_and_scaled_table_reads_as_it_stands():
    target = add("table", length=1000.0, depth=600.0)
    target.rotation_euler.z = math.radians(30.0)
    target.scale.x = 1.5
    target.location = (100.0, 50.0, 7.0)
    bpy.context.view_layer.update()
    read = table.read_table(scene())
    assert read.size == pytest.approx((1500.0, 600.0), rel=1e-6)
    assert read.turn == pytest.approx(math.radians(30.0), abs=1e-6)
    assert read.centre == pytest.approx((100.0, 50.0, 7.0), abs=1e-3)


def test_sizes_in_the_sidebar_are_those_of_the_object():
    target = add("table", length=1000.0, depth=600.0)
    place = target.stowfold.place
    assert (place.length, place.depth) == pytest.approx((1000.0, 600.0))
    place.length = 1200.0
    place.length = 1300.0
    bpy.context.view_layer.update()
    assert table.read_table(scene()).size == pytest.approx((1300.0, 600.0))
    target.scale.x *= 2.0
    assert place.length == pytest.approx(2600.0)


def test_two_tables_are_told():
    add("table").copy()
    other = bpy.data.objects["Table"].copy()
    scene().collection.objects.link(other)
    with pytest.raises(BadSettingError, match="2 objects count as the table"):
        table.read_table(scene())
    other.hide_set(True)
    assert table.read_table(scene()) is not None


@pytest.mark.parametrize("number", [1, 4, 6])
def test_seats_are_spread_on_the_edge_and_face_the_table(number):
    add("table")
    assert bpy.ops.stowfold.propose_seats(number=number) == {"FINISHED"}
    bpy.context.view_layer.update()
    top = table.read_table(scene())
    outline = table_outline(top)
    found = table.objects_at_table(scene(), "SEAT")
    assert len(found) == number
    import shapely

    for target in found:
        seat = table.read_seat(target, scene(), top=float(top.centre[2]))
        assert outline.exterior.distance(shapely.Point(seat.edge[:2])) < 1e-3
        assert outline.contains(shapely.Point((seat.edge + 10.0 * seat.toward)[:2]))
        assert seat.chair == 450.0
    # proposed again they are replaced, not doubled
    assert bpy.ops.stowfold.propose_seats(number=2) == {"FINISHED"}
    assert len(table.objects_at_table(scene(), "SEAT")) == 2


def test_more_seats_than_there_is_room_for_change_nothing():
    add("table")
    assert bpy.ops.stowfold.propose_seats(number=3) == {"FINISHED"}
    assert bpy.ops.stowfold.propose_seats(number=40) == {"CANCELLED"}
    assert len(table.objects_at_table(scene(), "SEAT")) == 3


def test_seats_without_a_table_say_what_to_do_first():
    assert bpy.ops.stowfold.propose_seats() == {"CANCELLED"}
    assert not len(scene().objects)


def test_a_seat_at_the_cursor_sits_at_the_nearest_edge():
    add("table", length=1000.0, depth=600.0)
    scene().cursor.location = (100.0, -500.0, 0.0)
    target = add("seat")
    seat = table.read_seat(target, scene())
    assert seat.edge == pytest.approx((100.0, -300.0, 0.0), abs=1e-4)
    assert seat.toward == pytest.approx((0.0, 1.0, 0.0), abs=1e-6)


def test_a_seat_of_anyone_is_whoever_the_table_says():
    add("table")
    target = add("seat")
    assert table.read_seat(target, scene(), anyone="small").stature == "small"
    target.stowfold.place.stature = "median-man"
    assert table.read_seat(target, scene(), anyone="small").stature == "median-man"


def test_a_seat_that_faces_up_is_refused():
    target = add("seat")
    target.rotation_euler.x = math.pi / 2
    bpy.context.view_layer.update()
    with pytest.raises(BadSettingError, match="faces up or down"):
        table.read_seat(target, scene())


@pytest.mark.parametrize("scale", SCALES)
@pytest.mark.parametrize(("squares", "size"), [(1, (25, 35)), (2, (50, 60)), (3, (75, 90)), (4, (100, 120))])
def test_a_miniature_has_the_size_of_its_squares(scale, squares, size):
    scene().unit_settings.scale_length = scale
    scene().cursor.location = np.array([30.0, 60.0, 0.0]) / mm_per_unit(scene())
    target = add("miniature", squares=squares)
    read = table.read_miniature(target, scene())
    assert (read.base, read.height) == pytest.approx(size, rel=1e-5)
    assert read.squares == squares
    # odd sizes in the middle of a square, even ones on a corner
    expected = (38.1, 63.5) if squares % 2 else (25.4, 50.8)
    assert read.foot == pytest.approx((*expected, 0.0), abs=1e-3)


def test_more_squares_bring_their_base_and_height():
    target = add("miniature")
    target.stowfold.place.squares = 2
    bpy.context.view_layer.update()
    read = table.read_miniature(target, scene())
    assert (read.base, read.height, read.squares) == (pytest.approx(50.0), pytest.approx(60.0), 2)


@pytest.mark.parametrize(
    ("spot", "expected"),
    [("FITTING", (12.7, 38.1)), ("SQUARE", (12.7, 38.1)), ("EDGE", (12.7, 25.4)), ("CORNER", (25.4, 25.4))],
)
def test_a_moved_miniature_settles_on_square_edge_or_corner(spot, expected):
    target = add("miniature")
    target.location = (15.0, 27.0, 4.0)
    bpy.context.view_layer.update()
    target.stowfold.place.spot = spot
    assert settling.off_square(target, scene())
    assert bpy.ops.stowfold.settle() == {"FINISHED"}
    bpy.context.view_layer.update()
    assert table.read_miniature(target, scene()).foot == pytest.approx((*expected, 0.0), abs=1e-4)
    assert not settling.off_square(target, scene())


def test_a_moved_seat_settles_at_the_edge_and_faces_in():
    add("table", length=1000.0, depth=600.0)
    target = add("seat")
    target.location, target.rotation_euler = (700.0, 120.0, 30.0), (0.3, 0.1, 1.0)
    bpy.context.view_layer.update()
    assert bpy.ops.stowfold.settle() == {"FINISHED"}
    bpy.context.view_layer.update()
    seat = table.read_seat(target, scene())
    assert seat.edge == pytest.approx((500.0, 120.0, 0.0), abs=1e-4)
    assert seat.toward == pytest.approx((-1.0, 0.0, 0.0), abs=1e-6)


def test_furniture_is_a_box_on_the_squares_and_any_mesh_can_be(add_mesh):
    scene().cursor.location = (60.0, 60.0, 0.0)
    target = add("furniture", length=50.8, depth=25.4, height=20.0)
    points = table.read_furniture(target, scene()).points
    assert points.min(axis=0) == pytest.approx((25.4, 50.8, 0.0), abs=1e-3)
    assert np.ptp(points, axis=0) == pytest.approx((50.8, 25.4, 20.0), abs=1e-3)
    crate = add_mesh(
        "Crate", [(0, 0, 0), (9, 0, 0), (0, 9, 0), (0, 0, 9)], [(0, 2, 1), (0, 1, 3), (1, 2, 3), (2, 0, 3)]
    )
    crate.stowfold.place.kind = "FURNITURE"
    assert [target.name for target in table.objects_at_table(scene(), "FURNITURE")] == ["Crate", "Furniture"]
    assert len(table.read_furniture(crate, scene()).faces) == 4


def test_furniture_of_too_many_faces_is_refused_at_once(add_carpet):
    carpet = add_carpet("Carpet")
    with pytest.raises(UnreadableError, match="has 22201 faces, more than the 20000"):
        table.read_furniture(carpet, scene())


def test_what_stands_on_the_table_is_no_part_of_the_building(add_ring):
    from stowfold.host import reading

    ring = add_ring()
    add("table")
    add("miniature")
    add("furniture")
    assert reading.find_block_out(scene()) == (ring,)


@pytest.mark.parametrize(
    ("add", "kind"),
    [
        (bpy.ops.stowfold.add_table, "TABLE"),
        (bpy.ops.stowfold.add_seat, "SEAT"),
        (bpy.ops.stowfold.add_miniature, "MINIATURE"),
        (bpy.ops.stowfold.add_furniture, "FURNITURE"),
    ],
)
def test_adding_is_undone_and_redone(add, kind):
    keep_step()
    do(add)
    assert [target.stowfold.place.kind for target in scene().objects] == [kind]
    undo()
    assert not len(scene().objects)
    redo()
    assert [candidate.stowfold.place.kind for candidate in scene().objects] == [kind]


def test_seats_and_snapping_are_undone():
    add("table")
    keep_step("table")
    do(bpy.ops.stowfold.propose_seats, number=4)
    assert len(table.objects_at_table(scene(), "SEAT")) == 4
    undo()
    assert not table.objects_at_table(scene(), "SEAT")
    target = add("miniature")
    target.location.x += 5.0
    keep_step("moved")
    before = tuple(target.location)
    bpy.context.view_layer.update()
    do(bpy.ops.stowfold.settle)
    assert tuple(bpy.data.objects["Miniature"].location) != before
    undo()
    assert tuple(bpy.data.objects["Miniature"].location) == pytest.approx(before)


def test_everything_is_saved_copied_and_appended(save):
    add("table", length=1500.0, height=700.0)
    assert bpy.ops.stowfold.propose_seats(number=2) == {"FINISHED"}
    bpy.context.object.stowfold.place.stature = "child"
    bpy.context.object.stowfold.place.lean = 0.2
    add("miniature", squares=3)
    scene().stowfold.table.sees = "median-woman"
    scene().stowfold.table.roof_on = True
    copy = bpy.context.object.copy()
    assert copy.stowfold.place.squares == 3
    path = save()
    bpy.ops.wm.open_mainfile(filepath=str(path))
    assert (scene().stowfold.table.sees, scene().stowfold.table.roof_on) == ("median-woman", True)
    read = table.read_table(scene())
    assert (read.size[0], read.height) == (pytest.approx(1500.0), 700.0)
    statures = {table.read_seat(target, scene()).stature for target in table.objects_at_table(scene(), "SEAT")}
    assert statures == {"median", "child"}
    bpy.ops.wm.read_factory_settings(use_empty=True)
    with bpy.data.libraries.load(str(path)) as (source, wanted):
        wanted.objects = [name for name in source.objects if name == "Miniature"]
    assert wanted.objects[0].stowfold.place.squares == 3


def test_stored_numbers_of_statures_do_not_depend_on_their_order():
    # Written down once: a file saved with one of these must find the same person for ever.
    items = bpy.types.Scene.bl_rna.properties["stowfold"].fixed_type.properties["table"].fixed_type.properties["sees"]
    numbers = {item.identifier: item.value for item in items.enum_items}
    assert len(set(numbers.values())) == len(numbers)
    assert numbers["small"] == 983758089


def test_names_of_players_find_room_in_a_field_and_stay_apart():
    people = scene().stowfold.table.bl_rna.properties["sees"].enum_items
    names = [person.name for person in people]
    assert len(set(names)) == len(names) and not any("(" in name for name in names)
    assert max(map(len, names)) <= 24
    assert people["small"].description == "Women, 5th percentile"
