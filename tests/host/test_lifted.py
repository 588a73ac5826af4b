"""The roof does not lie over the map of the room without it, and nothing of that stays in the maker's file."""

from __future__ import annotations

from contextlib import contextmanager

import bpy
import pytest
from host_window import keep_step, redo, undo
from stowfold.table import lifted, play_results


def scene():
    return bpy.context.scene


def house():
    return bpy.data.objects["House"]


def drawn():
    return house().display_type, house().stowfold.drawn_as


def put():
    """Have the window's next redraw done: maps are made, and the building is put as it should be drawn."""
    play_results.refresh(scene())
    lifted.put()


@pytest.fixture(autouse=True)
def room():
    """A house with a gable roof, and people round it."""
    play_results.drop_all()
    bpy.context.window_manager.stowfold.step = "TABLE"
    bpy.context.window_manager.stowfold.play.show_squares = True
    assert bpy.ops.stowfold.add_building(length=9.0, width=6.0, roof="GABLE") == {"FINISHED"}
    bpy.context.view_layer.update()
    assert bpy.ops.stowfold.add_table() == {"FINISHED"}
    bpy.context.view_layer.update()
    assert bpy.ops.stowfold.propose_seats(number=2) == {"FINISHED"}
    bpy.context.view_layer.update()
    yield
    bpy.context.window_manager.stowfold.play.show_squares = True
    bpy.context.window_manager.stowfold.step = "PLOT"


@contextmanager
def overlays(shown):
    spaces = [
        area.spaces.active
        for window in bpy.context.window_manager.windows
        for area in window.screen.areas
        if area.type == "VIEW_3D"
    ]
    for space in spaces:
        space.overlay.show_overlays = shown
    yield
    for space in spaces:
        space.overlay.show_overlays = True


def test_the_building_is_lines_while_the_map_shows_its_room_without_the_roof():
    assert drawn() == ("TEXTURED", "")
    put()
    assert drawn() == ("WIRE", "TEXTURED")
    scene().stowfold.table.roof_on = True
    put()
    assert drawn() == ("TEXTURED", "")
    scene().stowfold.table.roof_on = False
    put()
    assert drawn() == ("WIRE", "TEXTURED")


def test_it_comes_back_where_the_map_or_all_overlays_are_switched_off():
    put()
    bpy.context.window_manager.stowfold.play.show_squares = False
    put()
    assert drawn() == ("TEXTURED", "")
    bpy.context.window_manager.stowfold.play.show_squares = True
    put()
    assert drawn() == ("WIRE", "TEXTURED")
    with overlays(False):
        put()
        assert drawn() == ("TEXTURED", "")
    put()
    assert drawn() == ("WIRE", "TEXTURED")


@pytest.mark.slow
def test_without_a_roof_or_people_nothing_changes():
    for candidate in [target for target in scene().objects if target.stowfold.place.kind == "SEAT"]:
        bpy.data.objects.remove(candidate)
    bpy.context.view_layer.update()
    put()
    assert drawn() == ("TEXTURED", "")
    assert bpy.ops.stowfold.propose_seats(number=2) == {"FINISHED"}
    house().stowfold.building.roof = "NONE"
    bpy.context.view_layer.objects.active = house()
    assert bpy.ops.stowfold.rebuild_building() == {"FINISHED"}
    bpy.context.view_layer.update()
    put()
    assert play_results.shown().maps.seats
    assert drawn() == ("TEXTURED", "")


def test_a_copy_that_is_no_building_is_drawn_as_before():
    put()
    copy = house().copy()
    bpy.context.collection.objects.link(copy)
    copy.location.x += 1000.0
    copy.stowfold.is_block_out = False
    bpy.context.view_layer.update()
    put()
    assert (copy.display_type, copy.stowfold.drawn_as) == ("TEXTURED", "")
    assert drawn() == ("WIRE", "TEXTURED")


@pytest.mark.parametrize("kind", ["WIRE", "BOUNDS"])
def test_a_building_that_shows_no_faces_anyway_is_left_alone(kind):
    house().display_type = kind
    put()
    assert drawn() == (kind, "")


@pytest.mark.slow
def test_what_the_maker_chose_meanwhile_or_before_stays():
    house().display_type = "SOLID"
    put()
    assert drawn() == ("WIRE", "SOLID")
    house().display_type = "BOUNDS"
    put()
    assert drawn()[0] == "BOUNDS"
    scene().stowfold.table.roof_on = True
    put()
    assert drawn() == ("BOUNDS", "")


@pytest.mark.slow
def test_a_file_holds_the_building_as_it_was_and_the_window_keeps_its_lines(tmp_path):
    put()
    path = str(tmp_path / "house.blend")
    bpy.ops.wm.save_as_mainfile(filepath=path, copy=True)
    assert drawn() == ("WIRE", "TEXTURED")
    with bpy.data.libraries.load(path) as (there, here):
        here.objects = [name for name in there.objects if name == "House"]
    assert (here.objects[0].display_type, here.objects[0].stowfold.drawn_as) == ("TEXTURED", "")


@pytest.mark.slow
def test_a_backup_that_the_host_wrote_by_itself_opens_as_it_was(tmp_path):
    put()
    path = str(tmp_path / "house.blend")
    bpy.app.handlers.save_pre.remove(lifted._before_saving)
    try:
        bpy.ops.wm.save_as_mainfile(filepath=path)
    finally:
        bpy.app.handlers.save_pre.append(lifted._before_saving)
    house().display_type = "SOLID"
    bpy.ops.wm.open_mainfile(filepath=path)
    assert drawn() == ("TEXTURED", "")


@pytest.mark.slow
def test_undo_and_redo_leave_no_building_of_lines_behind():
    keep_step()
    put()
    house().location.x += 25.4
    bpy.context.view_layer.update()
    keep_step("moved while it was lines")
    scene().stowfold.table.roof_on = True
    put()
    keep_step("roof on")
    assert drawn() == ("TEXTURED", "")
    expected = {True: ("TEXTURED", ""), False: ("WIRE", "TEXTURED")}
    for step in (undo, undo, redo, redo):
        step()
        bpy.context.view_layer.update()
        put()
        assert drawn() == expected[scene().stowfold.table.roof_on]


def test_switching_the_addon_off_brings_it_back():
    put()
    lifted.HANDLERS.detach()
    try:
        assert drawn() == ("TEXTURED", "")
    finally:
        lifted.HANDLERS.attach()


@pytest.mark.slow
def test_a_redraw_asks_for_it_once_and_only_where_something_is_to_be_done():
    def asked():
        return bpy.app.timers.is_registered(lifted.put)

    lifted.look()
    assert not asked()
    play_results.refresh(scene())
    lifted.look()
    assert asked()
    bpy.app.timers.unregister(lifted.put)
    put()
    lifted.look()
    assert not asked()
