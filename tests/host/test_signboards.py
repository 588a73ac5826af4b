"""Signboards in Blender: added to a wall from the menu, read as they stand, cut from the board of trim."""

from __future__ import annotations

import bpy
import numpy as np
import pytest
from host_window import do, undo
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.part import PartKind
from stowfold.host.reading import find_block_out, read_settings, read_solid
from stowfold.host.signboards import signs_in


def _sign(x, **chosen):
    scene = bpy.context.scene
    scene.unit_settings.scale_length = 0.0254
    assert bpy.ops.stowfold.add_building(length=9.0, width=6.0) == {"FINISHED"}
    scene.cursor.location = (x, -1.0, 0.0)
    assert bpy.ops.stowfold.add_signboard(**chosen) == {"FINISHED"}
    return bpy.context.object


def _made():
    scene = bpy.context.scene
    bpy.context.view_layer.update()
    solid = read_solid(find_block_out(scene), scene)
    return make_parts(solid, read_settings(scene), title="House").outcome


@pytest.mark.parametrize("hangs", [False, True])
def test_a_signboard_is_added_to_the_wall_at_the_cursor_and_cut(hangs) -> None:
    target = _sign(2.4, text="SALT & ROPE", hangs=hangs)
    assert target not in find_block_out(bpy.context.scene)
    (sign,) = signs_in(bpy.context.scene)
    letters = np.concatenate([np.array(stroke) for stroke in sign.strokes])
    assert sign.hangs is hangs and len(sign.strokes) > 9
    # letters lie within the board, about its middle
    assert np.all(np.abs(letters).max(axis=0) <= np.array([sign.width * 0.42, sign.height * 0.4]))
    # the mesh shows the board out of the wall, or flat before it
    corners = np.array([vertex.co[:] for vertex in target.data.vertices])[:4]
    assert np.ptp(corners, axis=0)[1] * 25.4 == pytest.approx(sign.width if hangs else 0.0, abs=1e-4)
    outcome = _made()
    flat = [part for part in outcome.parts if part.kind is PartKind.TRIM]
    cut = [sign.part for sign in outcome.signs] if hangs else flat
    assert [part.label for part in cut if "Signboard" in part.label] and len(cut) == 1
    assert cut[0].stock == bpy.context.scene.stowfold.stocks.trim
    assert not [finding for finding in outcome.findings if finding.code == "trim-without-room"]


def test_a_signboards_letters_and_sizes_change_and_adding_it_is_undone() -> None:
    target = _sign(2.4)
    before = len(target.data.vertices)
    target.stowfold.sign.text = "GRANARY"
    target.stowfold.sign.width = 60.0
    assert len(target.data.vertices) != before
    assert signs_in(bpy.context.scene)[0].width == pytest.approx(60.0)
    target.stowfold.sign.text = " "
    assert signs_in(bpy.context.scene)[0].strokes == ()
    assert len(target.data.vertices) == 4
    bpy.ops.ed.undo_push()
    do(bpy.ops.stowfold.add_signboard, text="TOLL")
    assert len(signs_in(bpy.context.scene)) == 2
    undo()
    assert len(signs_in(bpy.context.scene)) == 1
