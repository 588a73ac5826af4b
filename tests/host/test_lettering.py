"""Letters in the 3D view are read in both themes of the host, over its ground and over boards of any colour.

Contrast is the formula of the Web Content Accessibility Guidelines 2.1, held against its outside values in
``tests/geometry/paint``; criterion 1.4.3 asks for 4.5 of letters, criterion 1.4.11 for 3 of lines.
"""

from __future__ import annotations

import ast
import itertools
import os
from pathlib import Path

import bpy
import pytest
import stowfold
from stowfold.bends import overlay as roles
from stowfold.cut.words_overlay import ground_of
from stowfold.dress import overlay as finishes
from stowfold.geometry.paint.contrast import LEAST_CONTRAST, LEAST_TEXT, contrast
from stowfold.geometry.part import PartKind
from stowfold.geometry.sheet.fills import FILLS, SHEET, rgb
from stowfold.proof import overlay as findings
from stowfold.table.names_overlay import names_of
from stowfold.window import lettering

WHITE, BLACK = (1.0, 1.0, 1.0), (0.0, 0.0, 0.0)


@pytest.fixture(params=["Blender_Dark.xml", "Blender_Light.xml"])
def theme(request):
    """Both themes that the host brings, and its own one again afterwards."""
    folders = [Path(path, "interface_theme", request.param) for path in bpy.utils.preset_paths("")]
    path = next(path for path in folders if path.exists() or request.param == "Blender_Dark.xml")
    if path.exists():
        bpy.ops.script.execute_preset(filepath=os.fspath(path), menu_idname="USERPREF_MT_interface_theme_presets")
    yield bpy.context.preferences.themes[0]
    bpy.ops.preferences.reset_default_theme()


def _against(one, two):
    spelt = ["#" + "".join(f"{round(255 * part):02x}" for part in colour) for colour in (one, two)]
    return contrast(*spelt)


def test_letters_on_a_plate_are_read_over_the_view_and_over_any_board(theme):
    ground = theme.view_3d.space.gradients
    behind = [tuple(ground.high_gradient), tuple(ground.gradient), WHITE, BLACK, *map(rgb, FILLS.values())]
    for colour in behind:
        assert _against(lettering.LIGHT, lettering.plate_beneath(colour)) >= LEAST_TEXT


def test_letters_on_any_colour_are_read():
    for colour in itertools.product((0.0, 0.1, 0.2, 0.3, 0.4, 0.46, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0), repeat=3):
        assert _against(lettering.ink_on(colour), colour) >= LEAST_TEXT


@pytest.mark.parametrize("dim", [False, True])
@pytest.mark.parametrize("kind", PartKind)
def test_names_on_sheets_are_read_whatever_the_part(kind, dim):
    part = type("Of", (), {"kind": kind})
    ground = ground_of(part, dim=dim)
    assert ground == rgb(FILLS[kind]) or dim
    assert _against(ground, rgb(SHEET)) <= _against(rgb(FILLS[kind]), rgb(SHEET))
    assert _against(lettering.ink_on(ground), ground) >= LEAST_TEXT


def test_numbers_of_findings_are_read_on_their_discs():
    for colour in findings.COLOURS.values():
        assert _against(lettering.ink_on(colour), colour) >= LEAST_TEXT


def test_lines_of_the_legend_show_on_its_plate():
    for colour in (*roles.COLOURS.values(), *finishes.COLOURS.values()):
        shown = lettering.ink_on(colour) if lettering.is_dark(colour) else colour
        assert _against(shown, lettering.PLATE) >= LEAST_CONTRAST
    assert lettering.is_dark(finishes.COLOURS["engrave"])


def test_names_of_seats_are_written_where_the_host_writes_them_in_black():
    bpy.ops.stowfold.add_building(length=9.0, width=6.0, roof="NONE")
    bpy.ops.stowfold.add_table()
    bpy.ops.stowfold.propose_seats()
    bpy.context.view_layer.update()
    seats = [target for target in bpy.context.scene.objects if target.stowfold.place.kind == "SEAT"]
    assert dict(names_of(bpy.context)) == {seat.name: tuple(seat.matrix_world.translation) for seat in seats}
    seats[0].hide_set(True)
    seats[1].show_name = False
    assert {name for name, _ in names_of(bpy.context)} == {seat.name for seat in seats[2:]}


def test_no_other_module_chooses_the_colour_of_letters():
    """A module that draws letters by itself, or takes their colour from the theme, could not be read somewhere."""
    found = set()
    for path in Path(stowfold.__path__[0]).rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            if "blf" in names or (isinstance(node, ast.Attribute) and node.attr in {"text_hi", "header_text"}):
                found.add(path.name)
    assert found == {"lettering.py"}
