"""The overlay: what would be drawn, as plain line pieces; drawing itself needs a window."""

from __future__ import annotations

import bpy
import numpy as np
import pytest
from host_window import do
from stowfold.bends import overlay as roles
from stowfold.bends import parts_overlay
from stowfold.dress import overlay as finish_overlay
from stowfold.geometry.solid.solid import Role
from stowfold.jobs import results
from stowfold.window.strokes import dashes


def lengths(pieces):
    return np.linalg.norm(pieces[:, 1] - pieces[:, 0], axis=1)


@pytest.mark.parametrize("length", [0.5, 6.0, 7.4, 20.0, 62.0, 331.7])
@pytest.mark.parametrize("pattern", [(6.0, 3.0), (2.0, 2.0)])
def test_dashes_lie_on_the_line_and_begin_and_end_it(length, pattern):
    start = np.array([[3.0, -2.0, 5.0]])
    direction = np.array([2.0, 3.0, 6.0]) / 7.0
    pieces = dashes(start, start + length * direction, pattern)
    along = (pieces - start[0]) @ direction
    np.testing.assert_allclose(pieces, start[0] + along[..., None] * direction, atol=1e-12)
    assert along[0, 0] == pytest.approx(0.0, abs=1e-12)
    assert along[-1, 1] == pytest.approx(length)
    # in order, without overlap; gaps give way so that no dash is cut short
    assert (np.diff(along.ravel()) > 0).all()
    if len(pieces) > 1:
        np.testing.assert_allclose(lengths(pieces), pattern[0])


def test_a_pattern_of_one_length_is_an_unbroken_line():
    starts, ends = np.zeros((2, 3)), np.array([[10.0, 0, 0], [0, 20.0, 0]])
    pieces = dashes(starts, ends, (1.0,))
    assert pieces.shape == (2, 2, 3)
    np.testing.assert_allclose(lengths(pieces), (10.0, 20.0))


def test_no_lines_are_no_pieces():
    assert dashes(np.empty((0, 3)), np.empty((0, 3)), (6.0, 3.0)).shape == (0, 2, 3)


def test_colours_and_patterns_tell_all_marked_roles_apart():
    marked = set(Role) - {Role.PLAIN}
    assert set(roles.COLOURS) == set(roles.PATTERNS) == marked
    assert len(set(roles.PATTERNS.values())) == len(marked)
    hexes = {role: "#" + "".join(f"{round(255 * part):02x}" for part in roles.COLOURS[role]) for role in marked}
    assert hexes == {Role.FLEX: "#009e73", Role.BREAK: "#e69f00", Role.CLOSURE: "#cc79a7"}


def test_marked_edges_are_drawn_where_the_object_stands(add_ring):
    target = add_ring()
    target.location = (1000.0, 0.0, 0.0)
    bpy.context.view_layer.update()
    lines = roles._marked_lines(target, bpy.context.scene).segments
    assert len(lines[Role.FLEX]) == 4
    assert sorted(set(lines[Role.FLEX][..., 0].ravel())) == [1000.0, 1230.0]
    np.testing.assert_allclose(lengths(lines[Role.FLEX]), 60.0)
    assert set(lines[Role.BREAK][..., 0].ravel()) == {1115.0}
    assert len(lines[Role.BREAK]) > 2
    assert len(lines[Role.CLOSURE]) == 0


def test_dashes_keep_their_real_length_in_any_unit(add_ring):
    target = add_ring(scale=0.01)
    bpy.context.scene.unit_settings.scale_length = 0.1
    bpy.context.view_layer.update()
    lines = roles._marked_lines(target, bpy.context.scene).segments
    np.testing.assert_allclose(lengths(lines[Role.BREAK]), roles.PATTERNS[Role.BREAK][0] / 100, rtol=1e-4)


def test_the_edited_copy_is_drawn(add_ring, in_edit_mode):
    target = add_ring()
    bm = in_edit_mode(target)
    for vert in bm.verts:
        vert.co.z *= 2.0
    lines = roles._marked_lines(target, bpy.context.scene).segments
    np.testing.assert_allclose(lengths(lines[Role.FLEX]), 120.0)


@pytest.mark.slow
def test_parts_of_a_newer_check_replace_those_of_an_older_one(add_ring):
    target = add_ring()
    drawn = []
    for height in (1.0, 0.8):
        target.scale = (1.0, 1.0, height)
        bpy.context.view_layer.update()
        bpy.ops.stowfold.check()
        report = results.for_object(target)
        drawn.append(parts_overlay.lines_of(report, bpy.context.scene))
        assert parts_overlay.lines_of(report, bpy.context.scene) is drawn[-1]
        results.drop_all()
    heights = [lines["joiner"][..., 2].max() for lines in drawn]
    assert heights[0] == pytest.approx(60.0, abs=1e-3)
    assert heights[1] == pytest.approx(48.0, abs=1e-3)


def test_lines_of_finishes_are_told_apart_by_how_they_are_made(add_ring, monkeypatch):
    monkeypatch.setattr(finish_overlay, "overlay_is_on", lambda *_: True)
    add_ring()
    bpy.ops.stowfold.add_finish(pattern="FLEMISH_BOND")
    material = bpy.context.object.active_material
    told = {}
    for way in ("ENGRAVE", "SCORE", "FILL"):
        material.stowfold.way = way
        assert do(bpy.ops.stowfold.check) == {"FINISHED"}
        lines = finish_overlay.lines_of(results.latest(), bpy.context.scene)
        told[way] = [words for _, words in finish_overlay.legend_in(bpy.context)]
        drawn = [dressing for part in results.latest().outcome.parts for dressing in part.dressings]
        assert set(lines) == {dressing.way.value for dressing in drawn}
        for kind, pieces in lines.items():
            # all of a plain wall is flat, so that no line is left out
            whole = sum(np.hypot(*np.diff(d.segments, axis=1)[:, 0].T).sum() for d in drawn if d.way.value == kind)
            assert lengths(pieces).sum() == pytest.approx(whole, rel=1e-4)
    # what is only engraved needs no legend
    assert told == {"ENGRAVE": [], "SCORE": ["scored"], "FILL": ["engraved", "filled"]}
    assert len(set(finish_overlay.COLOURS.values())) == 3
