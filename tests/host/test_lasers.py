"""Lasers in the window: taken, undone, changed, read back as what the flow cuts with."""

from __future__ import annotations

import tomllib

import bpy
import pytest
from host_window import do, keep_step, redo, undo
from stowfold.geometry.beam.laser import Operation
from stowfold.geometry.beam.lasers import check_laser
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.sheet.layout_wishes import Pin
from stowfold.host import laser_library, reading, stock_library
from stowfold.host.pins import pin


def test_a_laser_is_taken_with_bed_speeds_and_kerf_and_undone():
    keep_step()
    assert do(bpy.ops.stowfold.take_laser, laser="diode") == {"FINISHED"}
    settings = reading.read_settings(bpy.context.scene)
    known = laser_library.known_lasers()["diode"]
    assert settings.laser == known
    # the laser's own kerf takes the place of the board's
    assert settings.as_cut.walls.kerf == known.kerf != settings.walls.kerf
    undo()
    assert reading.read_settings(bpy.context.scene).laser.name == "hobby"


def test_speeds_and_holds_of_the_file_reach_the_flow():
    ours = bpy.context.scene.stowfold.laser
    ours.cut_speed, ours.slit_speed, ours.passes, ours.holds, ours.hold_length = 9.5, 4.25, 2, 3, 0.7
    laser = reading.read_settings(bpy.context.scene).laser
    assert laser.feeds[Operation.OUTER].speed == 9.5
    assert laser.feeds[Operation.SLITS].speed == 4.25
    assert laser.feeds[Operation.INNER].passes == 2
    assert (laser.holds, laser.hold_length) == (3, 0.7)


def test_a_laser_of_ones_own_comes_beside_the_packaged_ones_and_a_torn_file_is_one_sentence():
    folder = stock_library.laser_folder()
    folder.mkdir(parents=True, exist_ok=True)
    own = folder / "lasers.toml"
    own.write_text('[[laser]]\nname = "shed"\nlabel = "in the shed"\nbed = [300.0, 200.0]\n')
    try:
        assert laser_library.known_lasers()["shed"].bed == (300.0, 200.0)
        assert laser_library.trouble() is None
        own.write_text("[[laser]\nname =")
        assert "shed" not in laser_library.known_lasers()
        assert "hobby" in laser_library.known_lasers()
        assert "lasers.toml" in (laser_library.trouble() or "")
    finally:
        own.unlink()


def test_a_laser_that_is_gone_is_one_sentence():
    with pytest.raises(RuntimeError, match="no laser 'gone'"):
        bpy.ops.stowfold.take_laser(laser="gone")


def test_other_lasers_stand_by_with_their_own_kerf_and_are_undone():
    ours = bpy.context.scene.stowfold
    keep_step()
    assert do(bpy.ops.stowfold.add_laser, laser="diode") == {"FINISHED"}
    settings = reading.read_settings(bpy.context.scene)
    assert [laser.name for laser in settings.lasers] == ["hobby", "diode"]
    assert settings.as_cut.walls.kerf == settings.walls.kerf
    undo()
    assert reading.read_settings(bpy.context.scene).other_lasers == ()
    redo()
    assert len(reading.read_settings(bpy.context.scene).other_lasers) == 1
    ours = bpy.context.scene.stowfold
    # the one that is preferred from now on is no longer among the others
    bpy.ops.stowfold.take_laser(laser="diode")
    assert len(ours.other_lasers) == 0
    for wrong in ("diode", "gone"):
        with pytest.raises(RuntimeError, match=f"'{wrong}' is not known or in use already"):
            bpy.ops.stowfold.add_laser(laser=wrong)
    bpy.ops.stowfold.add_laser(laser="hobby")
    keep_step()
    do(bpy.ops.stowfold.remove_laser, laser="hobby")
    assert len(ours.other_lasers) == 0
    with pytest.raises(RuntimeError, match="not among the others"):
        bpy.ops.stowfold.remove_laser(laser="hobby")
    undo()
    assert [other.name for other in bpy.context.scene.stowfold.other_lasers] == ["hobby"]


def test_an_other_laser_that_is_gone_is_one_sentence_for_the_flow():
    bpy.context.scene.stowfold.other_lasers.add().name = "sold"
    with pytest.raises(BadSettingError, match="The laser 'sold' is not known any more; take it out"):
        reading.read_settings(bpy.context.scene)


@pytest.fixture
def own_list():
    """The maker's list of lasers, as it was before once the test is over."""
    path = stock_library.laser_folder() / "lasers.toml"
    path.parent.mkdir(parents=True, exist_ok=True)
    before = path.read_bytes() if path.exists() else None
    yield path
    path.write_bytes(before) if before is not None else path.unlink(missing_ok=True)


def test_a_laser_is_kept_with_all_that_was_set_and_read_back_as_toml(own_list):
    """Read back by Python's own reader of TOML, and by us; undo takes back the choice, not the list."""
    ours = bpy.context.scene.stowfold.laser
    ours.bed_width, ours.own_kerf, ours.cut_speed, ours.passes, ours.holds = 812.5, 0.17, 8.25, 2, 3
    ours.slits_colour = (1.0, 0.0, 0.2)
    assert bpy.ops.stowfold.keep_laser(label='in the "shed" \u00fc/\\') == {"FINISHED"}
    (table,) = tomllib.loads(own_list.read_text(encoding="utf-8"))["laser"]
    assert (table["label"], table["bed"][0], table["kerf"]) == ('in the "shed" \u00fc/\\', 812.5, 0.17)
    assert table["colours"]["slits"] == "#ff0033" and table["feeds"]["outer"] == {
        "speed": 8.25,
        "pierce": 0.1,
        "passes": 2,
    }
    kept = laser_library.own_lasers()[ours.profile]
    assert reading.read_settings(bpy.context.scene).laser == kept

    with pytest.raises(RuntimeError, match="is a laser called in the"):
        bpy.ops.stowfold.keep_laser(label=kept.label)
    ours.cut_speed = 9.0
    assert bpy.ops.stowfold.keep_laser(label=kept.label, instead=True) == {"FINISHED"}
    assert laser_library.own_lasers()[kept.name].feeds[Operation.OUTER].speed == 9.0
    with pytest.raises(RuntimeError, match="There is a laser called hobby laser"):
        bpy.ops.stowfold.keep_laser(label=laser_library.known_lasers()["hobby"].label, instead=True)

    assert bpy.ops.stowfold.delete_laser(laser=kept.name) == {"FINISHED"}
    assert kept.name not in laser_library.known_lasers() and not own_list.exists()
    with pytest.raises(RuntimeError, match="no laser of your own"):
        bpy.ops.stowfold.delete_laser(laser="hobby")


def test_keeping_a_laser_is_undone_in_the_scene(own_list):
    keep_step()
    assert do(bpy.ops.stowfold.keep_laser, label="attic") == {"FINISHED"}
    assert bpy.context.scene.stowfold.laser.profile == "attic"
    undo()
    assert bpy.context.scene.stowfold.laser.profile == "hobby"
    assert "attic" in laser_library.own_lasers()


def test_a_torn_list_is_left_as_it_is_when_a_laser_is_kept(own_list):
    own_list.write_text("[[laser]\nname =")
    with pytest.raises(RuntimeError, match="not valid TOML"):
        bpy.ops.stowfold.keep_laser(label="attic")
    assert own_list.read_text() == "[[laser]\nname ="


def test_two_operations_of_one_colour_are_one_sentence_for_the_flow():
    ours = bpy.context.scene.stowfold.laser
    ours.slits_colour = ours.outer_colour
    with pytest.raises(BadSettingError, match="have the same colour"):
        check_laser(reading.read_settings(bpy.context.scene).laser)


def test_a_part_is_cut_where_the_maker_wants_it_and_a_pin_elsewhere_gives_way():
    scene = bpy.context.scene
    bpy.ops.stowfold.add_laser(laser="diode")
    pin(scene, Pin("W1", 0, 0.0, (10.0, 10.0), "hobby"))
    keep_step()
    assert do(bpy.ops.stowfold.cut_part_on, part="W1", laser="diode") == {"FINISHED"}
    wishes = reading.read_settings(bpy.context.scene).layout
    assert wishes.lasers_among(["hobby", "diode"]) == {"W1": "diode"} and wishes.pins == ()
    undo()
    wishes = reading.read_settings(bpy.context.scene).layout
    assert wishes.lasers_among(["hobby", "diode"]) == {"W1": "hobby"} and len(wishes.pins) == 1
    # a pin on a laser that is gone holds its part on another
    assert wishes.lasers_among(["diode"]) == {}
    redo()
    bpy.ops.stowfold.cut_part_on(part="W1", laser="")
    assert reading.read_settings(bpy.context.scene).layout.lasers == {}
    with pytest.raises(RuntimeError, match="'workshop' is not among those of this file"):
        bpy.ops.stowfold.cut_part_on(part="W1", laser="workshop")
