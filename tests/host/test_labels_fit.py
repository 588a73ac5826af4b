"""Labels fit: in a sidebar of 300 px at the host's usual scale no name of a field and no choice is cut off.

Widths are the host's own: its font measures them. The room was read off pictures of the window in 4.3 and 5.2, as
the widest name that was shown whole; a name of more ended with dots.
"""

from __future__ import annotations

import blf
import bpy
from stowfold import registration
from stowfold.dress.fields import StowfoldFinish
from stowfold.host import stock_library
from stowfold.window import words

#: Size of the interface's letters in px, at the scale of a display of 96 dots an inch.
LETTERS = 11 * 1.04

#: Room beside a field for its name, in a field for what is chosen, and beside a tick for its name, px.
BESIDE, CHOSEN, TICKED = 90.0, 104.0, 112.0

#: What is asked in dialogs, which are wider, or is never shown; ticks without a name of their own stand before it.
ELSEWHERE = {"quick", "left_turned", "left_distance", "left_as", "use_units", "use_around", "use_lines"}
ELSEWHERE |= {"use_bare", "use_trim", "use_leaf", "use_tile", "use_dark_tile"}

#: Colours stand beside a tick and a heading, patterns in a field of full width.
FIRST = StowfoldFinish


def wide(text):
    blf.size(0, LETTERS)
    return blf.dimensions(0, text)[0]


def groups():
    found = [known for known in registration._CLASSES if issubclass(known, bpy.types.PropertyGroup)]
    assert FIRST in found
    return found


def shown(group):
    return [
        setting for setting in group.bl_rna.properties if setting.identifier not in {"rna_type", "name", *ELSEWHERE}
    ]


def test_names_of_fields_and_ticks_are_not_cut_off():
    cut = []
    for group in groups():
        for setting in shown(group):
            room = TICKED if setting.type == "BOOLEAN" else BESIDE
            if wide(setting.name) > room:
                cut.append((group.__name__, setting.identifier, setting.name, round(wide(setting.name))))
    assert not cut


def test_what_is_chosen_is_not_cut_off():
    cut = []
    for group in groups():
        for setting in shown(group):
            if setting.type == "ENUM":
                cut += [
                    (setting.identifier, item.name) for item in setting.enum_items_static if wide(item.name) > CHOSEN
                ]
    cut += [label for _, label, _, _ in stock_library.stock_items() if wide(label) > CHOSEN]
    assert not cut


class Buttons:
    """A layout that notes what is drawn into it, with the arguments that the host's own has."""

    def __init__(self):
        self.said = []

    def prop(self, _data, name, *, text):
        self.said.append(("field", name, text))

    def prop_menu_enum(self, _data, name, *, text):
        assert {"data", "property", "text"} <= set(
            bpy.types.UILayout.bl_rna.functions["prop_menu_enum"].parameters.keys()
        )
        self.said.append(("menu", name, text))


def test_a_choice_in_a_narrow_sidebar_is_one_button_with_its_name_and_what_is_chosen(monkeypatch):
    ours, layout = bpy.context.scene.stowfold, Buttons()
    for narrow in (False, True):
        monkeypatch.setattr(words, "is_narrow", lambda _context, narrow=narrow: narrow)
        words.draw_setting(layout, ours, "closure")
        words.draw_setting(layout, ours.stocks, "floor", text="Board")
        words.draw_setting(layout, ours, "inside_radius")
    label = next(label for name, label, *_ in stock_library.stock_items() if name == ours.stocks.floor)
    assert layout.said == [
        ("field", "closure", "Closures"),
        ("field", "floor", "Board"),
        ("field", "inside_radius", "Inside Radius"),
        ("menu", "closure", "Closures: Lap"),
        ("menu", "floor", f"Board: {label}"),
        ("field", "inside_radius", "Inside Radius"),
    ]
