"""Colours in the host: chosen on materials and in the scene, kept with the file, shown by boards that will stand."""

from __future__ import annotations

import bpy
import numpy as np
import pytest
from host_window import do
from stowfold.geometry.paint.contrast import LEAST_CONTRAST, contrast, hex_of
from stowfold.geometry.part import PaintRole
from stowfold.geometry.show.coats import COATED, coats_of
from stowfold.geometry.show.mesh import FaceKind
from stowfold.host import finish_library
from stowfold.host.paint import paint_in
from stowfold.host.reading import read_settings
from stowfold.jobs import results
from stowfold.stand import bodies, preview

DARK = (0.05, 0.04, 0.03)


@pytest.fixture(autouse=True)
def nothing_left():
    yield
    preview.forget()


@pytest.fixture
def painted(add_ring):
    """A ring with lapped boards of a dark colour, checked and shown as it will stand."""
    target = add_ring()
    bpy.ops.stowfold.add_finish(pattern="LAPPED_BOARDS")
    target.active_material.stowfold.colour = DARK
    assert do(bpy.ops.stowfold.check) == {"FINISHED"}
    preview.put()
    return target


def board(name: str):
    return next(target for target in bpy.data.objects if target.get("stowfold_part") == name)


def test_the_colour_of_a_finish_is_that_of_its_material(add_ring):
    target = add_ring()
    bpy.ops.stowfold.add_finish(pattern="TIMBER_FRAME")
    material = target.active_material
    fields = material.stowfold
    fields.colour = (0.5, 0.25, 0.125)
    assert tuple(material.diffuse_color)[:3] == pytest.approx((0.5, 0.25, 0.125))
    # timbers have a colour of their own from the start, what else does not
    paint = paint_in(bpy.context.scene)
    assert paint.colour_of(material.name, PaintRole.MAIN) == hex_of((0.5, 0.25, 0.125)) == "#bc8963"
    assert paint.colour_of(material.name, PaintRole.UNITS) == hex_of(fields.units_colour)
    assert paint.trim == paint.bare == paint.leaf == "" and not paint.score
    fields.use_units = False
    bpy.context.scene.stowfold.paint.use_trim = True
    paint = read_settings(bpy.context.scene).paint
    assert paint.colour_of(material.name, PaintRole.UNITS) == "#bc8963" and paint.trim.startswith("#")


def test_another_colour_makes_the_check_out_of_date(painted):
    report = results.for_object(painted)
    assert report.settings == read_settings(bpy.context.scene)
    painted.active_material.stowfold.colour = (0.2, 0.2, 0.6)
    assert report.settings != read_settings(bpy.context.scene)


def test_boards_show_colours_with_lines_that_are_read_on_them(painted):
    outcome = results.for_object(painted).outcome
    for part in outcome.parts:
        if not part.colour_fields:
            continue
        mesh = board(part.id).data
        shown = np.empty(len(mesh.polygons), dtype=np.int32)
        mesh.polygons.foreach_get("material_index", shown)
        held = preview.film().boards[part.id]
        assert (shown == held.piece.kinds).all() and len(mesh.materials) == COATED + 2 * len(coats_of(part))
        assert (shown >= COATED).any() and (shown == FaceKind.EDGE).any()
        face, mark = (hex_of(mesh.materials[COATED + k].diffuse_color[:3]) for k in (0, 1))
        assert face == hex_of(DARK) and contrast(face, mark) > 0.98 * LEAST_CONTRAST
    assert any(part.colour_fields for part in outcome.parts)


def test_colours_are_switched_off_and_on_without_another_check(painted):
    wall = board("W1").data
    number = bodies.made_from()
    dark = tuple(wall.materials[COATED].diffuse_color)
    bpy.context.scene.stowfold.paint.show = False
    preview.put()
    bare = tuple(wall.materials[COATED].diffuse_color)
    assert bare == tuple(wall.materials[FaceKind.UP].diffuse_color) != dark
    bpy.context.scene.stowfold.paint.show = True
    preview.put()
    assert tuple(wall.materials[COATED].diffuse_color) == dark and bodies.made_from() == number
    assert not results.for_object(painted).stale


def test_a_kept_finish_brings_all_its_colours(add_ring):
    target = add_ring()
    bpy.ops.stowfold.add_finish(pattern="FLEMISH_BOND")
    fields = target.active_material.stowfold
    fields.use_around, fields.around_colour = True, (0.5, 0.25, 0.125)
    saved = finish_library.saved_from(target.active_material)
    assert saved.around_colour == pytest.approx((0.5, 0.25, 0.125)) and saved.units_colour == ()
    other = bpy.data.materials.new("other")
    other.stowfold.use_lines = True
    finish_library.put_into(other, saved)
    assert other.stowfold.use_around and not other.stowfold.use_lines
    assert tuple(other.stowfold.around_colour) == pytest.approx((0.5, 0.25, 0.125))
