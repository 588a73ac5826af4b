"""Finishes in the host: materials with settings, put on faces, kept with the file, and drawn by the laser."""

from __future__ import annotations

import json
from xml.etree import ElementTree

import bpy
import numpy as np
import pytest
from host_window import do, in_window, keep_step, redo, undo
from stowfold.dress import overlay
from stowfold.dress.fields import PATTERNS
from stowfold.geometry.finish.finish import DARKEST, Pattern, burnt_share
from stowfold.geometry.part import Way
from stowfold.geometry.settings import INLAY_PLAY
from stowfold.host.finishes import finish_from, finishes_in
from stowfold.host.reading import read_settings, read_solid
from stowfold.jobs import results


def test_every_pattern_is_in_the_menu_and_keeps_its_number():
    assert [name for name, *_ in PATTERNS] == [pattern.name for pattern in Pattern]
    assert {name: number for name, _, _, number in PATTERNS}["STRETCHER_BOND"] == 4


def test_a_finish_is_put_on_the_whole_object_and_undone(add_ring):
    name = add_ring().name
    keep_step()
    with in_window():
        assert do(bpy.ops.stowfold.add_finish, pattern="FLEMISH_BOND") == {"FINISHED"}
    materials = [slot.material.name for slot in bpy.data.objects[name].material_slots]
    assert materials == ["Brick, Flemish"]
    assert set(read_solid([bpy.data.objects[name]], bpy.context.scene).finishes.values()) == {"Brick, Flemish"}
    undo()
    assert not bpy.data.objects[name].material_slots
    redo()
    assert bpy.data.objects[name].material_slots[0].material.stowfold.pattern == "FLEMISH_BOND"


def test_a_finish_is_put_on_selected_faces_alone_and_used_again(add_ring, in_edit_mode):
    target = add_ring()
    for chosen in ((0,), (1, 2)):
        bm = in_edit_mode(target)
        for face in bm.faces:
            face.select = face.index in chosen
        assert bpy.ops.stowfold.add_finish(pattern="SLATES") == {"FINISHED"}
        bpy.ops.object.mode_set(mode="OBJECT")
    solid = read_solid([target], bpy.context.scene)
    assert {face for _, face in solid.finishes} == {0, 1, 2}
    assert [slot.material and slot.material.name for slot in target.material_slots] == [None, "Slates"]
    bm = in_edit_mode(target)
    for face in bm.faces:
        face.select = False
    assert bpy.ops.stowfold.add_finish(pattern="SLATES") == {"CANCELLED"}


def test_settings_of_a_material_become_a_finish(add_ring):
    target = add_ring()
    bpy.ops.stowfold.add_finish(pattern="STRETCHER_BOND")
    material = target.active_material
    assert finish_from(material, kerf=0.2).length == pytest.approx(6.0)
    fields = material.stowfold
    fields.scale, fields.way, fields.seed, fields.frames, fields.over_bends = "TRUE", "SCORE", 3, False, True
    fields.edge = 0.5
    made = finish_from(material, kerf=0.2)
    # a brick of 3.75 x 1.25 mm would turn the wall brown
    assert burnt_share(made, 0.3) == pytest.approx(DARKEST)
    assert (made.way, made.seed, made.frames, made.over_bends, made.edge) == (Way.SCORE, 3, False, True, 0.5)
    fields.fine = True
    assert finish_from(material, kerf=0.2).height == pytest.approx(1.25)
    assert finishes_in(bpy.context.scene, kerf=0.2)[material.name].height == pytest.approx(1.25)
    fields.pattern = "NONE"
    assert read_settings(bpy.context.scene).finishes == {}


def test_a_finish_is_checked_drawn_and_timed(add_ring):
    target = add_ring(length=200.0, width=120.0)
    assert bpy.ops.stowfold.check() == {"FINISHED"}
    plain = results.for_object(target).outcome.seconds["engrave"]
    bpy.ops.stowfold.add_finish(pattern="UPRIGHT_BOARDS")
    results.refresh_staleness(bpy.context.scene)
    assert results.for_object(target).stale
    assert bpy.ops.stowfold.check() == {"FINISHED"}
    report = results.for_object(target)
    assert report.outcome.seconds["engrave"] > plain
    lines = overlay.lines_of(report, bpy.context.scene)["engrave"]
    # on the outer face of 3 mm board, or on cheeks 3 mm before it
    low, high = lines.reshape(-1, 3).min(axis=0), lines.reshape(-1, 3).max(axis=0)
    assert low == pytest.approx([-3.0, -6.0, 1.0], abs=0.01) and high[:2] == pytest.approx([203.0, 126.0], abs=0.01)
    assert np.abs(np.diff(lines, axis=1)[:, 0, :2]).max() < 1e-3


def test_the_command_line_draws_what_the_file_says(add_ring, save, run, tmp_path):
    add_ring(length=200.0, width=120.0)
    bpy.ops.stowfold.add_finish(pattern="STRETCHER_BOND")
    bpy.context.object.active_material.stowfold.way = "SCORE"
    path = save()
    code, _, err = run("cut", path, "-o", tmp_path / "out")
    assert (code, err) == (0, [])
    (told,) = json.loads((tmp_path / "out" / "report.json").read_text())["finishes"]
    assert (told["name"], told["pattern"], told["way"], told["unit"]) == (
        "Brick, Stretcher",
        "stretcher bond",
        "score",
        [6.0, 2.5],
    )
    paths = [
        path.get("d")
        for sheet in (tmp_path / "out").glob("*.svg")
        for group in ElementTree.parse(sheet).iter("{http://www.w3.org/2000/svg}g")
        if group.get("id") == "score"
        for path in group.iter("{http://www.w3.org/2000/svg}path")
    ]
    # one line of the report is one move to the start of a line in the files, where a few places for glue are scored too
    lines = sum(path.count("M") for path in paths if path.count("M") > 20)
    assert lines == told["lines"] > 500 and told["seconds"] > 60.0
    assert "Scored as stretcher bond" in (tmp_path / "out" / "guide.html").read_text()


def test_a_linked_building_says_what_to_do(add_ring, save):
    add_ring()
    path = save()
    with bpy.data.libraries.load(str(path), link=True) as (there, here):
        here.objects = there.objects
    linked = here.objects[0]
    bpy.context.scene.collection.objects.link(linked)
    bpy.context.view_layer.objects.active = linked
    with pytest.raises(RuntimeError, match="linked from another file"):
        bpy.ops.stowfold.add_finish(pattern="SLATES")


def test_the_floor_gets_the_pattern_of_its_material(add_ring):
    target = add_ring(length=200.0, width=120.0)
    floor = bpy.data.materials.new("Tiles")
    floor.stowfold.pattern = "CHEQUER"
    bpy.context.scene.stowfold.floor_finish = floor
    assert set(read_settings(bpy.context.scene).finishes) == {"Tiles"}
    assert bpy.ops.stowfold.check() == {"FINISHED"}
    drawn = {part.kind for part in results.for_object(target).outcome.parts if part.dressings}
    assert {kind.value for kind in drawn} == {"floor"}
    lines = overlay.lines_of(results.for_object(target), bpy.context.scene)["engrave"]
    # on the floor's upper face, within the room
    assert len(lines) > 20 and np.ptp(lines[..., 2]) < 1e-6
    assert lines[..., 0].min() > 0.0 and lines[..., 0].max() < 200.0


def test_filled_faces_and_curves_are_hatched_and_timed(add_ring, save, run, tmp_path):
    add_ring(length=200.0, width=120.0)
    bpy.ops.stowfold.add_finish(pattern="CHEQUER")
    fields = bpy.context.object.active_material.stowfold
    fields.way, fields.hatch = "FILL", 0.5
    bpy.context.scene.stowfold.laser.fill_speed = 50.0
    path = save()
    code, _, err = run("cut", path, "-o", tmp_path / "out")
    assert (code, err) == (0, [])
    report = json.loads((tmp_path / "out" / "report.json").read_text())
    assert report["finishes"][0]["way"] == "fill"
    assert report["time_s"]["fill"] > 60.0
    groups = [
        group
        for sheet in (tmp_path / "out").glob("*.svg")
        for group in ElementTree.parse(sheet).iter("{http://www.w3.org/2000/svg}g")
        if group.get("id") == "fill"
    ]
    assert any(len(group) for group in groups) and {group.get("stroke") for group in groups} == {"#457b9d"}
    assert "hatched" in (tmp_path / "out" / "guide.html").read_text()


def test_curves_and_texts_are_engraved_on_the_wall_that_they_lie_against(add_ring):
    target = add_ring(length=200.0, width=120.0)
    spline = bpy.data.curves.new("Arch", "CURVE")
    spline.dimensions = "3D"
    knots = spline.splines.new("BEZIER")
    knots.bezier_points.add(1)
    for point, (x, z), (left, right) in zip(
        knots.bezier_points, ((20.0, 20.0), (60.0, 20.0)), (((20, 10), (20, 42.1)), ((60, 42.1), (60, 10))), strict=True
    ):
        point.co = (x, -3.0, z)
        point.handle_left, point.handle_right = ((p, -3.0, q) for p, q in (left, right))
    words = bpy.data.curves.new("Sign", "FONT")
    words.body, words.size = "LOCK 7", 10.0
    for name, data in (("Arch", spline), ("Sign", words)):
        made = bpy.data.objects.new(name, data)
        bpy.context.scene.collection.objects.link(made)
        made.stowfold.engraved = True
    sign = bpy.data.objects["Sign"]
    sign.location, sign.rotation_euler = (120.0, -3.0, 30.0), (np.pi / 2, 0.0, 0.0)
    sign.stowfold.engraved_way = "SCORE"
    bpy.context.view_layer.update()
    assert bpy.ops.stowfold.check() == {"FINISHED"}
    outcome = results.for_object(target).outcome
    assert not [finding for finding in outcome.findings if finding.code == "drawing-off-walls"]
    drawn = {dressing.finish: dressing for part in outcome.parts for dressing in part.dressings}
    assert {name: dressing.way for name, dressing in drawn.items()} == {"Arch": Way.ENGRAVE, "Sign": Way.SCORE}
    # the arc with these handles is half a circle of radius 20 within a thousandth of it
    lines = overlay.lines_of(results.for_object(target), bpy.context.scene)
    arc = lines["engrave"].reshape(-1, 3)
    off = np.hypot(arc[:, 0] - 40.0, (arc[:, 2] - 20.0) * 20.0 / 16.575) - 20.0
    assert np.abs(off).max() < 1.0 and len(arc) > 40
    letters = lines["score"].reshape(-1, 3)
    assert letters[:, 0].min() > 100.0
    assert letters[:, 2].min() == pytest.approx(30.0, abs=0.2) and letters[:, 2].max() == pytest.approx(37.0, abs=0.2)


def test_a_floor_of_two_boards_comes_out_as_tiles_and_a_plan(add_ring, save, run, tmp_path):
    add_ring(length=200.0, width=120.0)
    floor = bpy.data.materials.new("Tiles")
    floor.stowfold.pattern, floor.stowfold.size = "CHEQUER", 2.0
    scene = bpy.context.scene.stowfold
    scene.floor_finish, scene.floor_tiles = floor, True
    assert read_settings(bpy.context.scene).tiles.dark.name == "mdf-3"
    code, _, err = run("cut", save(), "-o", tmp_path / "out")
    assert (code, err) == (0, [])
    sheets = sorted(path.name for path in (tmp_path / "out").glob("*.svg"))
    assert any("mdf" in name for name in sheets)
    guide = (tmp_path / "out" / "guide.html").read_text()
    assert "The floor of two boards" in guide and "Laying plan of the floor" in guide
    report = json.loads((tmp_path / "out" / "report.json").read_text())
    # 8 x 5 squares within 200 x 120 mm, of which two sides are cut
    kinds = [part["kind"] for part in report["parts"]]
    assert kinds.count("dark tile") >= 20 <= kinds.count("tile")


def test_pencil_strokes_are_read_with_their_layers(add_ring):
    target = add_ring(length=200.0, width=120.0)
    kept = getattr(bpy.data, "grease_pencils_v3", None) or bpy.data.grease_pencils
    pencil = kept.new("Marks")
    for name, hidden in (("shown", False), ("hidden", True)):
        layer = pencil.layers.new(name)
        layer.hide = hidden
        drawing = layer.frames.new(bpy.context.scene.frame_current).drawing
        drawing.add_strokes([4, 2])
        corners = ((20, 20), (40, 20), (40, 40), (20, 40), (60, 10), (90, 10))
        flat = [value for x, z in corners for value in (x, -2.0, z)]
        drawing.attributes["position"].data.foreach_set("vector", flat)
        drawing.strokes[0].cyclic = True
    made = bpy.data.objects.new("Marks", pencil)
    bpy.context.scene.collection.objects.link(made)
    made.stowfold.engraved, made.stowfold.engraved_way = True, "FILL"
    bpy.context.view_layer.update()
    (drawing,) = read_settings(bpy.context.scene).drawings
    assert [len(stroke) for stroke in drawing.strokes] == [5, 2]
    assert bpy.ops.stowfold.check() == {"FINISHED"}
    parts = results.for_object(target).outcome.parts
    filled = [dressing for part in parts for dressing in part.dressings if dressing.way is Way.FILL]
    length = sum(np.hypot(*(dressing.segments[:, 1] - dressing.segments[:, 0]).T).sum() for dressing in filled)
    assert length * 0.3 == pytest.approx(20.0 * 20.0, rel=0.05)


def test_an_svg_file_comes_in_at_its_size_and_lies_on_the_wall(add_ring, tmp_path):
    target = add_ring(length=200.0, width=120.0)
    path = tmp_path / "anchor.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="0 0 40 30">'
        '<rect x="0" y="0" width="40" height="30"/><circle cx="20" cy="15" r="10"/></svg>'
    )
    bpy.context.scene.cursor.location = (60.0, -20.0, 30.0)
    keep_step()
    with in_window():
        assert do(bpy.ops.stowfold.import_drawing, filepath=str(path)) == {"FINISHED"}
    (drawing,) = read_settings(bpy.context.scene).drawings
    points = np.concatenate(drawing.strokes)
    assert drawing.name == "anchor" and len(drawing.strokes) == 2
    assert points.min(axis=0) == pytest.approx([40.0, 0.0, 15.0], abs=0.01)
    assert points.max(axis=0) == pytest.approx([80.0, 0.0, 45.0], abs=0.01)
    name = target.name
    undo()
    assert "anchor" not in bpy.data.objects and name in bpy.data.objects
    redo()
    assert bpy.data.objects["anchor"].stowfold.engraved
    empty = tmp_path / "empty.svg"
    empty.write_text('<svg xmlns="http://www.w3.org/2000/svg"/>')
    assert bpy.ops.stowfold.import_drawing(filepath=str(empty)) == {"CANCELLED"}
    broken = tmp_path / "broken.svg"
    broken.write_text("<svg")
    with pytest.raises(RuntimeError, match="cannot be read as SVG"):
        bpy.ops.stowfold.import_drawing(filepath=str(broken))


def test_a_text_is_laid_on_the_nearest_wall(add_ring):
    add_ring(length=200.0, width=120.0)
    words = bpy.data.curves.new("Sign", "FONT")
    words.body, words.size = "TOLL", 10.0
    made = bpy.data.objects.new("Sign", words)
    bpy.context.scene.collection.objects.link(made)
    made.location = (215.0, 60.0, 25.0)
    for target in bpy.context.selected_objects:
        target.select_set(False)
    made.select_set(True)
    bpy.context.view_layer.objects.active = made
    bpy.context.view_layer.update()
    keep_step()
    with in_window():
        assert do(bpy.ops.stowfold.lay_on_wall) == {"FINISHED"}
    made = bpy.data.objects["Sign"]
    bpy.context.view_layer.update()
    assert made.stowfold.engraved
    # read from outside: right is toward larger y on the wall at x = 200, up is up
    axes = np.array(made.matrix_world)[:3, :3]
    assert axes == pytest.approx(np.array([[0, 0, 1], [1, 0, 0], [0, 1, 0]]), abs=1e-5)
    assert tuple(made.matrix_world.translation) == pytest.approx((200.0, 60.0, 25.0), abs=1e-4)
    undo()
    assert not bpy.data.objects["Sign"].stowfold.engraved
    redo()
    assert bpy.data.objects["Sign"].stowfold.engraved


def test_the_room_side_gets_the_pattern_of_its_material(add_ring):
    target = add_ring(length=200.0, width=120.0)
    plaster = bpy.data.materials.new("Panels")
    plaster.stowfold.pattern = "UPRIGHT_BOARDS"
    bpy.context.scene.stowfold.inside_finish = plaster
    assert bpy.ops.stowfold.check() == {"FINISHED"}
    drawn = {part.kind.value for part in results.for_object(target).outcome.parts if part.dressings}
    assert "wall" in drawn
    lines = overlay.lines_of(results.for_object(target), bpy.context.scene)["engrave"].reshape(-1, 3)
    assert lines[:, 0].min() > -1e-3 and lines[:, 0].max() < 200.001 and lines[:, 1].min() > -1e-3
    # once the outside is engraved, that comes first and the room side is told
    bpy.ops.stowfold.add_finish(pattern="SLATES")
    assert bpy.ops.stowfold.check() == {"FINISHED"}
    outcome = results.for_object(target).outcome
    assert [finding.code for finding in outcome.findings].count("inside-left-out") == 1


def test_shingles_of_two_boards_are_read_from_the_window(add_ring):
    add_ring()
    ours = bpy.context.scene.stowfold
    ours.trim.second = "DIAMONDS"
    assert read_settings(bpy.context.scene).trim.second is None  # no strips at all
    ours.trim.shingles, ours.trim.second_courses = True, 4
    trim = read_settings(bpy.context.scene).trim
    assert (trim.stock.name, trim.second.stock.name) == ("birch-plywood-1.5", "grey-board-2")
    assert (trim.second.pattern.name, trim.second.courses) == ("DIAMONDS", 4)


def _slots(target, *, upright):
    """The names of the materials on walls, or on slopes."""
    faces = [face for face in target.data.polygons if (abs(face.normal.z) < 0.01) is upright]
    found = {target.material_slots[face.material_index].material for face in faces}
    return {None if material is None else material.name for material in found}


def test_walls_and_roof_are_dressed_apart_and_stay_so_when_sizes_change():
    assert do(bpy.ops.stowfold.add_building, length=8.0, width=6.0, roof="NONE") == {"FINISHED"}
    target = bpy.context.object
    bpy.ops.stowfold.add_finish(pattern="FLEMISH_BOND", on="WALLS")
    # a first roof is bare, not of brick
    target.stowfold.building.roof = "GABLE"
    assert (_slots(target, upright=True), _slots(target, upright=False)) == ({"Brick, Flemish"}, {None})
    bpy.ops.stowfold.add_finish(pattern="SLATES", on="ROOF")
    for name, value in (("length", 11.0), ("roof", "HIP"), ("plan", "L"), ("height", 45.0)):
        setattr(target.stowfold.building, name, value)
        assert (_slots(target, upright=True), _slots(target, upright=False)) == ({"Brick, Flemish"}, {"Slates"}), name


def test_bare_board_is_put_on_walls_and_undone(add_ring):
    name = add_ring().name
    bpy.ops.stowfold.add_finish(pattern="RUBBLE", on="WALLS")
    keep_step()
    with in_window():
        assert do(bpy.ops.stowfold.remove_finish, on="WALLS") == {"FINISHED"}
    assert not read_solid([bpy.data.objects[name]], bpy.context.scene).finishes
    undo()
    assert _slots(bpy.data.objects[name], upright=True) == {"Rubble"}
    redo()
    assert _slots(bpy.data.objects[name], upright=True) == {None}


def test_the_finish_that_is_picked_shows_its_settings_and_is_undone(add_ring):
    name = add_ring().name
    for pattern in ("RUBBLE", "SLATES"):
        bpy.ops.stowfold.add_finish(pattern=pattern, on="ALL")
    keep_step()
    with in_window():
        assert do(bpy.ops.stowfold.pick_finish, slot=0) == {"FINISHED"}
    assert bpy.data.objects[name].active_material.name == "Rubble"
    undo()
    assert bpy.data.objects[name].active_material.name == "Slates"
    redo()
    assert bpy.data.objects[name].active_material.name == "Rubble"
    assert bpy.ops.stowfold.pick_finish(slot=9) == {"CANCELLED"}


def test_roof_coverings_go_on_the_roof_where_nothing_else_is_said():
    assert do(bpy.ops.stowfold.add_building, length=8.0, width=6.0, roof="GABLE") == {"FINISHED"}
    target = bpy.context.object
    for pattern in ("PANTILES", "COURSED_STONE"):
        bpy.ops.stowfold.add_finish(pattern=pattern)
    assert (_slots(target, upright=True), _slots(target, upright=False)) == ({"Coursed Stone"}, {"Pantiles"})


def test_a_selected_door_dresses_its_building_and_not_itself():
    assert do(bpy.ops.stowfold.add_building, length=8.0, width=6.0, roof="NONE") == {"FINISHED"}
    house = bpy.context.object
    assert bpy.ops.stowfold.add_opening(kind="DOOR") == {"FINISHED"}
    door = bpy.context.object
    kept = [slot.material for slot in door.material_slots]
    assert bpy.ops.stowfold.add_finish(pattern="RUBBLE") == {"FINISHED"}
    assert _slots(house, upright=True) == {"Rubble"}
    assert [slot.material for slot in door.material_slots] == kept


def test_floor_and_room_side_are_chosen_undone_and_chosen_again(add_ring):
    add_ring()
    keep_step()
    with in_window():
        assert do(bpy.ops.stowfold.choose_finish, pattern="CHEQUER", on="FLOOR") == {"FINISHED"}
    undo()
    assert bpy.context.scene.stowfold.floor_finish is None
    redo()
    chosen = bpy.context.scene.stowfold.floor_finish
    assert chosen.stowfold.pattern == "CHEQUER"
    bpy.ops.stowfold.choose_finish(pattern="CHEQUER", on="FLOOR")
    assert bpy.context.scene.stowfold.floor_finish == chosen
    bpy.ops.stowfold.choose_finish(pattern="LEVEL_BOARDS", on="ROOM")
    assert bpy.context.scene.stowfold.inside_finish.stowfold.pattern == "LEVEL_BOARDS"


def test_a_finish_of_the_file_is_reused_for_a_place_and_taken_away_again(add_ring):
    add_ring()
    bpy.ops.stowfold.add_finish(pattern="STRETCHER_BOND", on="WALLS")
    brick = bpy.context.object.active_material.name
    keep_step()
    with in_window():
        assert do(bpy.ops.stowfold.reuse_finish, material=brick, on="ROOM") == {"FINISHED"}
    assert bpy.context.scene.stowfold.inside_finish.name == brick
    undo()
    assert bpy.context.scene.stowfold.inside_finish is None
    redo()
    assert bpy.context.scene.stowfold.inside_finish.name == brick
    bpy.ops.stowfold.reuse_finish(material="", on="ROOM")
    assert bpy.context.scene.stowfold.inside_finish is None
    assert brick in bpy.data.materials
    assert bpy.ops.stowfold.reuse_finish(material="gone", on="ROOM") == {"CANCELLED"}


def test_an_inlaid_floor_is_cut_without_a_material_from_the_window(add_ring, save, run, tmp_path):
    add_ring(length=200.0, width=120.0)
    scene = bpy.context.scene.stowfold
    scene.floor_tiles = True
    assert read_settings(bpy.context.scene).tiles is None  # tiles are units of a pattern
    scene.floor_way, scene.floor_star = "INLAY", False
    boards = read_settings(bpy.context.scene).tiles
    assert (boards.way.name, boards.border, boards.star, boards.gap) == ("INLAY", True, False, INLAY_PLAY)
    code, _, err = run("cut", save(), "-o", tmp_path / "out")
    assert (code, err) == (0, [])
    report = json.loads((tmp_path / "out" / "report.json").read_text())
    parts = [part for part in report["parts"] if part["kind"] in ("tile", "dark tile")]
    (top,) = (part for part in parts if part["kind"] == "tile")
    laid = [part for part in parts if part["kind"] == "dark tile" and "spare" not in part["id"]]
    # an opening for every piece: one a square along walls of 200 x 120 mm
    assert len(top["outline"]) - 1 == len(laid) == 2 * 8 + 2 * 5 - 4
    assert "Where your kerf is 0.05 mm wider than set" in (tmp_path / "out" / "guide.html").read_text()
