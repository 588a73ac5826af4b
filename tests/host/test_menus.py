"""Menus, presets and help: what the maker looks for stands where the host's users look, and leads somewhere."""

from __future__ import annotations

import re
from pathlib import Path

import bpy
import pytest
import stowfold
from host_stand_ins import Button
from stowfold import menus
from stowfold.host import reading
from stowfold.plot import lost_walls
from stowfold.proof.operators import help
from stowfold.stock import presets as laser_presets
from stowfold.window.step import STEPS

ADDON = Path(stowfold.__file__).parent


class Notes:
    """A menu's layout that takes notes of operators and sub-menus, and refuses what the host would refuse."""

    operator_context = ""

    def __init__(self):
        self.operators, self.menus = [], []

    def separator(self):
        pass

    def operator(self, identifier, *, text=None, icon="NONE"):
        kind = getattr(bpy.ops.stowfold, identifier.removeprefix("stowfold.")).get_rna_type()
        values = Button()
        self.operators.append((text or kind.name, identifier, values, kind.properties))
        return values

    def menu(self, identifier, *, text=None, icon="NONE"):
        self.menus.append((identifier, text))

    def menu_pie(self):
        return self


def drawn(menu):
    notes = Notes()
    menu.draw(type("Drawn", (), {"layout": notes})(), bpy.context)
    for _, _, values, known in notes.operators:
        for name, value in vars(values).items():
            assert known[name].type != "ENUM" or value in known[name].enum_items
    return notes


def below(menu):
    """Entries of a menu and all its sub-menus, as (words, operator)."""
    notes = drawn(menu)
    found = [(words, identifier) for words, identifier, _, _ in notes.operators]
    for identifier, _ in notes.menus:
        found += below(getattr(menus, identifier))
    return found


def test_the_host_s_add_menu_gets_one_entry():
    entry = Notes()
    menus._add_menu(type("Drawn", (), {"layout": entry})(), bpy.context)
    assert (entry.operators, [identifier for identifier, _ in entry.menus]) == ([], ["STOWFOLD_MT_add"])
    words = [text for text, _, _, _ in drawn(menus.STOWFOLD_MT_add).operators]
    assert words[:5] == ["Building", "Door", "Window", "Hatch", "Arch"]
    assert {"Table", "Seat", "Miniature", "Furniture"} <= set(words)


@pytest.mark.parametrize(
    "said",
    [
        *("check", "house", "laser", "sheets", "svg", "hinge", "guide", "window", "breaks", "help"),
        *("coupon", "offcut", "asset", "snap", "compar", "unpin", "floor"),
    ],
)
def test_the_search_finds_commands_by_plain_words(said):
    """The host's search goes through menus and finds words of their entries."""
    assert any(said in words.lower() for words, _ in below(menus.STOWFOLD_MT_main))


#: Commands for one line of a list, whose button gives them what they are for; and those of the pointer's own.
ONE_OF_A_LIST = {
    *("measure_stock", "forget_measured", "price_stock", "forget_price", "save_calibration", "copy_stock"),
    *("edit_stock", "delete_stock", "take_laser", "set_bed", "cut_part_on", "delete_laser", "add_laser"),
    *("remove_laser", "laser_preset_add", "enter_readings", "add_reading", "remove_reading", "give_up"),
    *("show_finding", "move_break", "take_radius", "widen_bend", "lower_walls", "widen_strip", "accept_finding"),
    "cut_caps",
    *("cut_again", "take_part", "pin_part", "unpin_part", "remove_offcut", "note_time", "delete_time", "use_times"),
    *("show_place", "remove_asset_library", "pick_finish"),
}


def test_every_other_command_is_in_the_menu_and_so_in_the_search():
    known = {name for name in dir(bpy.ops.stowfold) if not name.startswith("_")}
    found = {identifier.removeprefix("stowfold.") for _, identifier in below(menus.STOWFOLD_MT_main)}
    assert known - found == ONE_OF_A_LIST & known
    assert not found & ONE_OF_A_LIST


def test_the_pie_holds_every_role():
    offered = [values.role for _, _, values, _ in drawn(menus.STOWFOLD_MT_edge_pie).operators]
    assert offered == ["FLEX", "BREAK", "CLOSURE", "PLAIN"]
    ours = [item for keys in bpy.context.window_manager.keyconfigs.addon.keymaps for item in keys.keymap_items]
    (key,) = [item for item in ours if item.idname == "wm.call_menu_pie" and "stowfold" in item.properties.name.lower()]
    assert (key.type, key.shift, key.alt, key.ctrl) == ("D", True, True, False)


def presets(folder):
    return sorted((ADDON / "presets" / folder).glob("*.py"))


def test_every_building_preset_is_a_building_that_can_be_cut():
    fields = bpy.ops.stowfold.add_building.get_rna_type().properties
    assert presets("operator/stowfold.add_building")
    for path in presets("operator/stowfold.add_building"):
        values = dict(re.findall(r"^op\.(\w+) = (.+)$", path.read_text(encoding="utf-8"), re.MULTILINE))
        given = {name: value.strip('"') if value.startswith('"') else float(value) for name, value in values.items()}
        assert set(given) <= set(fields.keys())
        assert bpy.ops.stowfold.add_building(**given) == {"FINISHED"}, path.name
        assert len(reading.find_block_out(bpy.context.scene)) >= 1


def test_a_laser_preset_changes_the_laser_of_the_file():
    for path in presets("stowfold/laser"):
        exec(compile(path.read_text(encoding="utf-8"), path, "exec"), {})
        bed = bpy.context.scene.stowfold.laser
        assert path.stem == f"bed_{bed.bed_width:.0f}_by_{bed.bed_depth:.0f}"
    assert ADDON / "presets" / "stowfold" in [Path(path) for path in bpy.utils.preset_paths("stowfold")]


def test_the_help_has_a_section_for_every_step():
    page = help.PAGE.read_text(encoding="utf-8")
    assert all(f'id="{name.lower()}"' in page for name, _, _, _ in STEPS)
    assert "http" not in page
    address, entries = help.manual()
    assert address.startswith("file://") and all(target == "help.html" for _, target in entries)


def test_the_windows_of_a_deleted_house_go_with_it():
    bpy.ops.stowfold.add_building(roof="NONE")
    house = bpy.context.object
    bpy.context.view_layer.update()
    bpy.ops.stowfold.add_opening(kind="WINDOW")
    window = bpy.context.object.name
    lost_walls.take_away()
    assert window in bpy.data.objects
    bpy.data.objects.remove(house)
    lost_walls.take_away()
    assert window not in bpy.data.objects


def test_an_opening_that_was_only_set_free_stays():
    bpy.ops.stowfold.add_building(roof="NONE")
    bpy.context.view_layer.update()
    bpy.ops.stowfold.add_opening(kind="DOOR")
    door = bpy.context.object
    lost_walls.take_away()
    door.parent = None
    lost_walls.take_away()
    assert door.name in bpy.data.objects


def test_the_oldest_host_which_has_no_folders_of_presets_is_no_hindrance(monkeypatch):
    """Blender 4.2 lacks both functions: ``register_preset_path`` came with 4.3."""
    for name in ("register_preset_path", "unregister_preset_path"):
        monkeypatch.delattr(bpy.utils, name, raising=False)
    laser_presets.attach()
    laser_presets.detach()
