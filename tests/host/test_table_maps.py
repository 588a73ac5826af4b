"""Maps of the table: what is shown is what geometry says, however it came about, and without a window."""

from __future__ import annotations

import re
from dataclasses import replace

import bmesh
import bpy
import numpy as np
import pytest
import shapely
from host_window import do, in_view, keep_step, redo, undo, view_area
from slow_cases import one_quick
from stowfold.bends import overlay as roles
from stowfold.geometry.errors import GeometryError, UnreadableError
from stowfold.geometry.flow.judge import set_for
from stowfold.geometry.play import maps as play_maps
from stowfold.geometry.play.checks import check_play
from stowfold.geometry.play.compare import with_gables
from stowfold.geometry.play.room import room_blockers, room_squares
from stowfold.geometry.play.sight import HEIGHTS, Eye, see
from stowfold.geometry.play.table import eye_of
from stowfold.geometry.solid.find import find_facets
from stowfold.host import people, reading
from stowfold.host.table import read_seated
from stowfold.jobs import results
from stowfold.table import overlay, play_input, play_results
from stowfold.table.operators.seated import look_from


def scene():
    return bpy.context.scene


def view():
    return bpy.context.window_manager.stowfold.play


@pytest.fixture(autouse=True)
def fresh():
    play_results.drop_all()
    play_results.keep_for_comparison(None)
    defaults = {"shows": "SIGHT", "whose": "MEAN", "height": "BASE", "finger": "SHORT", "sitting": ""}
    for name, value in defaults.items():
        setattr(view(), name, value)


def set_table(roof="GABLE", seats=4, **fields):
    assert bpy.ops.stowfold.add_building(length=9.0, width=6.0, roof=roof, **fields) == {"FINISHED"}
    bpy.context.view_layer.update()
    assert bpy.ops.stowfold.add_table() == {"FINISHED"}
    bpy.context.view_layer.update()
    assert bpy.ops.stowfold.propose_seats(number=seats) == {"FINISHED"}
    bpy.context.view_layer.update()


def add(name, at, **fields):
    scene().cursor.location = at
    assert getattr(bpy.ops.stowfold, f"add_{name}")(**fields) == {"FINISHED"}
    bpy.context.view_layer.update()
    return bpy.context.object


def maps():
    result = play_results.refresh(scene())
    assert result.failure is None
    return result.maps


def straight(*extra):
    """What geometry says of the scene's building when it is asked itself."""
    building = reading.find_block_out(scene())
    settings = reading.read_settings(scene())
    facets = find_facets(reading.read_solid(building, scene()))
    now = play_input.read_now(scene())
    eyes = [Eye(seat.name, eye_of(seat, now.table, people.STATURES)) for seat in now.seats]
    walls = room_blockers(facets, settings, roof=scene().stowfold.table.roof_on)
    return see([*walls, *extra], room_squares(facets, settings), eyes, HEIGHTS)


@pytest.mark.parametrize("scale", one_quick([0.001, 0.01, 1.0], 1.0))
def test_the_map_is_what_geometry_says_in_scenes_of_any_unit_scale(scale):
    scene().unit_settings.scale_length = scale
    set_table()
    found = maps()
    assert found.squares.inside.shape == (6, 9)
    np.testing.assert_allclose(found.share, straight().share, atol=1e-12)
    assert 0.05 < found.share[:, 0].mean() < 0.9


@pytest.mark.slow
def test_the_roof_hides_what_it_covers_until_it_is_lifted():
    set_table()
    lifted = maps().share
    scene().stowfold.table.roof_on = True
    on = maps().share
    np.testing.assert_allclose(on, straight().share, atol=1e-12)
    assert on.mean() < 0.1 < lifted.mean()


@pytest.mark.slow
def test_a_dragged_miniature_costs_its_own_shadow_and_gives_the_same_map():
    set_table()
    scene().stowfold.table.miniatures_in = True
    target = add("miniature", (60, 60, 0))
    maps()
    before = play_results._state.staying.occlusion
    for x in (70.0, 90.0, 131.0):
        target.location.x = x
        bpy.context.view_layer.update()
        dragged = play_results.refresh(scene(), hands=False).maps
        # what stays was not cast again
        assert play_results._state.staying.occlusion is before
        play_results.drop_all()
        whole = maps()
        np.testing.assert_allclose(dragged.share, whole.share, atol=1e-9)
        np.testing.assert_allclose(dragged.share, straight(*play_input.read_now(scene()).pieces).share, atol=1e-9)
        before = play_results._state.staying.occlusion


def test_a_miniature_in_the_air_is_looked_at_where_it_will_settle():
    set_table()
    target = add("miniature", (60, 60, 0))
    target.location = (70.0, 61.0, -12.0)
    bpy.context.view_layer.update()
    assert play_input.read_now(scene()).miniatures[0].foot == pytest.approx((70.0, 61.0, -12.0))
    assert play_input.read_now(scene(), settled=True).miniatures[0].foot == pytest.approx((63.5, 63.5, 0.0), abs=1e-4)
    scene().stowfold.table.stay_on_squares = False
    assert play_input.read_now(scene(), settled=True).miniatures[0].foot == pytest.approx((70.0, 61.0, -12.0))


@pytest.mark.slow
def test_a_dragged_piece_gives_the_same_hands_as_a_whole_map():
    set_table(roof="NONE")
    target = add("furniture", (100, 80, 0), height=60.0)
    maps()
    target.location.x += 20.0
    bpy.context.view_layer.update()
    dragged = maps().hands.margin
    play_results.drop_all()
    bpy.context.view_layer.objects.active = None
    whole = maps().hands.margin
    np.testing.assert_allclose(dragged, whole, atol=1e-9)


@pytest.mark.parametrize("kind", ["furniture", "miniature"])
def test_what_is_left_out_or_hidden_hides_nothing(kind):
    set_table(roof="NONE")
    empty = maps().share
    target = add(kind, (100, 80, 0), height=60.0)
    field = "furniture_in" if kind == "furniture" else "miniatures_in"
    setattr(scene().stowfold.table, field, True)
    assert maps().share.sum() < empty.sum() - 0.1
    setattr(scene().stowfold.table, field, False)
    np.testing.assert_array_equal(maps().share, empty)
    setattr(scene().stowfold.table, field, True)
    target.hide_set(True)
    np.testing.assert_array_equal(maps().share, empty)


def test_who_sees_counts_for_seats_of_anyone_and_a_named_player_for_his_own():
    set_table(roof="NONE")
    small = maps().share
    scene().stowfold.table.sees = "large"
    large = maps().share
    assert (large.mean(axis=(1, 2, 3)) > small.mean(axis=(1, 2, 3))).all()
    seat = next(target for target in scene().objects if target.name == maps().seats[0])
    seat.stowfold.place.stature = "small"
    mixed = maps().share
    np.testing.assert_allclose(mixed[0], small[0], atol=1e-12)
    np.testing.assert_allclose(mixed[1:], large[1:], atol=1e-12)


def test_a_seat_amid_the_building_is_told_instead_of_a_wrong_map():
    set_table(roof="NONE", seats=1)
    crate = add("furniture", (0, 0, 0), length=4000.0, depth=4000.0, height=2000.0)
    crate.location = (0, 0, 0)
    bpy.context.view_layer.update()
    result = play_results.refresh(scene())
    assert result.maps is None
    assert "lies inside" in result.failure


def test_a_building_of_too_many_faces_is_told_at_once(add_carpet):
    add_carpet("Hill").stowfold.is_block_out = True
    with pytest.raises(UnreadableError, match="has 22201 faces, more than the 20000"):
        play_input.read_room(scene())
    assert "22201 faces" in play_results.refresh(scene()).failure


def test_without_a_building_there_is_no_map_and_no_failure():
    assert bpy.ops.stowfold.add_table() == {"FINISHED"}
    result = play_results.refresh(scene())
    assert (result.maps, result.failure) == (None, None)


def test_a_room_without_seats_is_painted_as_such():
    set_table(seats=1)
    for candidate in [target for target in scene().objects if target.stowfold.place.kind == "SEAT"]:
        bpy.data.objects.remove(candidate)
    bpy.context.view_layer.update()
    assert play_maps.paint(maps()).title == "No seats yet"


@pytest.mark.slow
def test_the_checks_of_the_report_say_the_same():
    set_table()
    add("furniture", (100, 80, 0))
    bpy.data.objects["House"].select_set(True)
    assert bpy.ops.stowfold.check() == {"FINISHED"}
    top, _ = set_for(results.latest().outcome, read_seated(scene()))
    outcome = check_play(top, people.STATURES)
    found = maps()
    np.testing.assert_allclose(outcome.sight.share, found.share, atol=1e-9)
    np.testing.assert_array_equal(outcome.reach.reach, found.reach.reach)
    np.testing.assert_allclose(outcome.hands.margin, found.hands.margin, atol=1e-9)


def test_the_checks_of_the_report_take_the_hand_and_the_shoulder_of_a_named_player():
    set_table(roof="NONE", height=70.0)
    scene().objects[maps().seats[0]].stowfold.place.stature = "child"
    bpy.data.objects["House"].select_set(True)
    assert bpy.ops.stowfold.check() == {"FINISHED"}
    play = results.latest().outcome.play
    np.testing.assert_allclose(play.hands.margin, maps().hands.margin, atol=1e-9)
    # a child's palm is narrower, so that walls above it leave it more room
    assert play.hands.margin[0, 0].min() > play.hands.margin[0, 1:].min() + 1.0


def test_a_face_taken_off_furniture_hides_nothing_any_more():
    set_table(roof="NONE")
    target = add("furniture", (100, 80, 0), height=60.0)
    whole = maps().share
    mesh = bmesh.new()
    mesh.from_mesh(target.data)
    # the corners stay, so that the points are the same as before
    bmesh.ops.delete(mesh, geom=[face for face in mesh.faces if abs(face.normal.z) < 0.5][:2], context="FACES_ONLY")
    mesh.to_mesh(target.data)
    bpy.context.view_layer.update()
    opened = maps().share
    play_results.drop_all()
    np.testing.assert_allclose(opened, maps().share, atol=1e-12)
    assert opened.sum() > whole.sum()


@pytest.mark.slow
def test_colours_grow_lighter_evenly_and_crosses_tell_what_fails():
    # relative luminance of sRGB, IEC 61966-2-1, and lightness, CIE 15: L* = 116 Y^(1/3) - 16
    linear = np.where(play_maps.RAMP <= 0.04045, play_maps.RAMP / 12.92, ((play_maps.RAMP + 0.055) / 1.055) ** 2.4)
    lightness = 116.0 * np.cbrt(linear @ np.array([0.2126, 0.7152, 0.0722])) - 16.0
    assert (np.diff(lightness) > 12.0).all()
    set_table()
    painted = play_maps.paint(maps())
    crosses = overlay.crosses_of(painted)
    assert len(crosses) == 2 * painted.fails.sum() > 0
    np.testing.assert_allclose(crosses[..., 2], 0.0, atol=1e-6)


def luminance(colour):
    """Relative luminance of sRGB as WCAG 2.1 defines it, with the threshold of IEC 61966-2-1."""
    colour = np.asarray(colour, dtype=float)
    linear = np.where(colour <= 0.04045, colour / 12.92, ((colour + 0.055) / 1.055) ** 2.4)
    return linear @ np.array([0.2126, 0.7152, 0.0722])


def contrast(one, other):
    """Contrast ratio of WCAG 2.1, 1 .. 21."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


@pytest.mark.parametrize("colour", [overlay.CLEAR, overlay.BLOCKED, overlay.CROSS])
def test_crosses_and_lines_stand_out_on_every_colour_and_are_no_roles(colour):
    # WCAG 2.1, success criterion 1.4.11: graphics have a contrast of 3:1 at least, here by the line or by its edge
    scale = play_maps.ramp(np.linspace(0.0, 1.0, 101))
    change = [play_maps._LESS, play_maps._SAME, play_maps._MORE]
    # backgrounds of the 3D view of the host's dark and its light theme
    for ground in [*scale, *change, (0.24, 0.24, 0.24), (0.7, 0.7, 0.7)]:
        assert max(contrast(colour, ground), contrast(overlay.EDGE, ground)) >= 3.0
    assert contrast(colour, overlay.EDGE) >= 3.0
    for role in roles.COLOURS.values():
        assert np.abs(np.subtract(colour, role)).max() > 0.2


def test_the_legend_tells_crosses_and_lines_of_sight_where_there_are_any():
    set_table(roof="NONE", seats=2, height=62.0)
    target = add("miniature", (4.5 * 25.4, 5.5 * 25.4, 0))
    painted = play_maps.paint(maps())
    entries = overlay.legend_of(painted, lines=True)
    assert [entry.kind for entry in entries] == [*["SQUARE"] * 5, "CROSS", "CLEAR", "BLOCKED"]
    assert entries[5].words == "crossed: under 5%"
    assert "blocked" in entries[7].words
    assert [entry.kind for entry in overlay.legend_of(painted, lines=False)] == [*["SQUARE"] * 5, "CROSS"]
    bpy.data.objects.remove(target)
    bpy.context.view_layer.update()
    assert "CLEAR" not in [entry.kind for entry in overlay.legend_of(play_maps.paint(maps()), lines=True)]
    for shows, words in {"SEATS": "no seat", "REACH": "only standing", "HAND": "blocked"}.items():
        assert play_maps.paint(maps(), shows=shows).crossed == words


@pytest.mark.slow
def test_walls_seen_from_a_seat_are_those_that_hide_squares():
    """Triangles cover the faces of the walls with their openings; shapely says how large these are."""
    set_table(roof="GABLE")
    assert bpy.ops.stowfold.add_opening(kind="WINDOW") == {"FINISHED"}
    bpy.context.view_layer.update()
    found = maps()
    assert found.lifted
    assert play_input.objects_read() == (bpy.data.objects["House"].session_uid,)
    triangles, shades = overlay.shaded(found.walls)
    drawn = np.linalg.norm(np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]), axis=1) / 2
    whole = 0.0
    for outline, *holes in found.walls:
        u = outline[1] - outline[0]
        n = np.linalg.svd(outline - outline.mean(axis=0))[2][2]
        axes = np.array([u / np.linalg.norm(u), np.cross(n, u / np.linalg.norm(u))]).T
        whole += shapely.Polygon(outline @ axes, [hole @ axes for hole in holes]).area
    assert drawn.sum() == pytest.approx(whole, rel=1e-6)
    assert ((shades > 0.0) & (shades < 1.0)).all()
    # only walls, and all of them: as high as the ridge, and nowhere beyond it
    scene().stowfold.table.roof_on = True
    on = maps()
    assert (on.lifted, on.walls) == (False, ())


def test_squares_are_drawn_where_they_lie():
    set_table()
    painted = play_maps.paint(maps())
    corners = overlay.corners_of(painted)
    assert corners.shape == (54, 4, 3)
    np.testing.assert_allclose(corners.mean(axis=1), painted.squares.centres[painted.squares.inside], atol=1e-9)
    np.testing.assert_allclose(np.ptp(corners, axis=1)[:, :2], 25.4 * 0.92)


@pytest.mark.slow
def test_every_choice_of_the_view_paints_what_it_says():
    set_table()
    found = maps()
    share = found.share[:, 0]
    seat = found.seats[2]
    words = play_maps.paint(found, shows="SIGHT", whose="WORST").words
    assert words[2, 3] == f"{100 * share[:, 2, 3].min():.0f}"
    one = play_maps.paint(found, shows="SIGHT", whose="SEAT", active=seat)
    assert one.words[2, 3] == f"{100 * share[2, 2, 3]:.0f}"
    assert seat in one.title
    count = play_maps.paint(found, shows="SEATS").words
    assert count[2, 3] == str((share[:, 2, 3] >= 0.5).sum())
    reach = play_maps.paint(found, shows="REACH")
    assert reach.words[0, 0] == ("0°", "15°", "30°", "up")[found.reach.best()[0, 0]]
    for finger, length in enumerate((40, 60)):
        hand = play_maps.paint(found, shows="HAND", pinch=finger)
        assert f"pinch {length} mm" in hand.title
        best = found.hands.margin[finger].max(axis=0)
        np.testing.assert_array_equal(hand.fails, best < 0.0)


@pytest.mark.slow
def test_the_view_paints_once_per_map_and_choice():
    set_table()
    maps()
    first = play_results.paint(bpy.context)
    assert play_results.paint(bpy.context) is first
    view().height = "HEAD"
    assert play_results.paint(bpy.context) is not first
    assert "head" in play_results.paint(bpy.context).title


def test_lines_of_sight_are_clear_or_broken_beyond_the_hit():
    set_table(roof="NONE", seats=2, height=62.0)
    target = add("miniature", (4.5 * 25.4, 5.5 * 25.4, 0))
    found = maps()
    assert [line.eye.tolist() for line in found.lines] == [player.eye.tolist() for player in found.players]
    for y, clear_from_front in ((5.5 * 25.4, True), (0.5 * 25.4, False)):
        # on the far side of the room it is seen, close behind the near wall it is not
        target.location = (4.5 * 25.4, y, 0)
        bpy.context.view_layer.update()
        lines = {line.eye[1] < 0: line for line in maps().lines}
        assert (lines[True].hit is None) is clear_from_front
        assert (lines[False].hit is None) is not clear_from_front
    assert lines[True].blocker == "the front wall"
    clear, blocked = overlay.sight_strokes([lines[False]])
    assert (len(clear[1]), len(blocked[1])) == (1, 0)
    # the line leaves the eye toward the figure and is cut by the wall's outer face or its top
    hit, eye, aim = lines[True].hit, lines[True].eye, lines[True].target
    assert np.linalg.norm(np.cross(hit - eye, aim - eye)) < 1e-6 * np.linalg.norm(aim - eye) ** 2
    assert -10.0 < hit[1] < 1e-6
    assert hit[2] <= 62.0 + 1e-3
    _, (colour, pieces) = overlay.sight_strokes([lines[True]])
    assert colour == overlay.BLOCKED
    np.testing.assert_allclose(pieces[0], [eye, hit])
    assert len(pieces) > 1 + 12
    # an active seat looks at all miniatures
    bpy.context.view_layer.objects.active = scene().objects[maps().seats[0]]
    assert len(maps().lines) == 1


def test_worst_seats_and_failing_squares_come_first():
    set_table()
    found = maps()
    seats = play_maps.worst_seats(found, 0)
    assert (np.diff([share for _, share in seats]) > -1e-6).all()
    assert dict(seats)[found.seats[1]] == pytest.approx(found.share[1, 0].mean())
    listed = dict(play_maps.failing_squares(found, 0))
    hardly = [(row, column) for row, column, _ in listed["Hardly seen, under 5%"]]
    assert set(hardly) == {tuple(square) for square in np.argwhere(found.share[:, 0].max(axis=0) < 0.05).tolist()}
    best = found.share[:, 0].max(axis=0)
    assert best[hardly[0]] == pytest.approx(min(best[square] for square in hardly), abs=1e-6)
    assert len(listed["Out of reach"]) == (found.reach.best() == 3).sum()


@pytest.mark.slow
def test_a_square_below_the_threshold_is_not_said_to_reach_it():
    set_table()
    found = maps()
    share = np.full_like(found.share, 0.6)
    share[:, 0, 2, 3] = 0.0499
    nearly = replace(found, sight=replace(found.sight, share=share))
    assert dict(play_maps.failing_squares(nearly, 0))["Hardly seen, under 5%"] == [(2, 3, "4%")]
    painted = play_maps.paint(nearly)
    assert (painted.words[2, 3], painted.words[0, 0], painted.fails[2, 3]) == ("4", "60", True)


@pytest.mark.slow
def test_the_list_of_the_worst_counts_what_the_findings_count():
    """Walls between the two pinches stop a short one: that finding must not stand beside a list that says 0."""
    set_table(roof="NONE", height=70.0)
    bpy.data.objects["House"].select_set(True)
    assert bpy.ops.stowfold.check() == {"FINISHED"}
    findings = results.latest().outcome.findings
    found = maps()
    listed = {title: len(places) for title, places in play_maps.failing_squares(found, 0)}
    said = {"No hand fits": 0, "Only a long pinch fits": 0}
    for finding in (finding for finding in findings if finding.code == "hand-does-not-fit"):
        title = "No hand fits" if "With 60 mm" in finding.message else "Only a long pinch fits"
        said[title] = int(re.search(r"cannot enter (\d+)(?: more)? square", finding.message)[1])
    assert said["Only a long pinch fits"] > 0
    assert {title: listed[title] for title in said} == said
    hardly = [finding for finding in findings if finding.code == "square-never-seen"]
    assert hardly[0].message.startswith(f"{listed['Hardly seen, under 5%']} squares are hardly seen at 0 mm")


@pytest.mark.slow
def test_a_click_selects_the_seat_or_puts_the_cursor_into_the_square():
    set_table()
    found = maps()
    assert bpy.ops.stowfold.show_place(seat=found.seats[1]) == {"FINISHED"}
    assert bpy.context.object.name == found.seats[1]
    assert [target.name for target in bpy.context.view_layer.objects if target.select_get()] == [found.seats[1]]
    assert bpy.ops.stowfold.show_place(row=2, column=7) == {"FINISHED"}
    assert tuple(scene().cursor.location) == pytest.approx((7.5 * 25.4, 2.5 * 25.4, 0.0), abs=1e-3)
    assert bpy.ops.stowfold.show_place(row=99, column=0) == {"CANCELLED"}
    assert bpy.ops.stowfold.show_place(seat="Nobody") == {"CANCELLED"}


def test_a_click_on_a_place_is_undone_and_redone():
    set_table()
    seat = maps().seats[1]
    before = bpy.context.object.name
    assert before != seat
    keep_step()
    assert do(bpy.ops.stowfold.show_place, seat=seat) == {"FINISHED"}
    undo()
    assert bpy.context.object.name == before
    redo()
    assert bpy.context.object.name == seat


def test_sitting_down_looks_from_the_eye_and_standing_up_brings_the_view_back():
    set_table()
    found = maps()
    region = view_area().spaces.active.region_3d
    region.view_location, region.view_distance, region.view_perspective = (1.0, 2.0, 3.0), 44.0, "ORTHO"
    turned = tuple(region.view_rotation)
    with in_view():
        for name in found.seats[:2]:
            assert bpy.ops.stowfold.sit_here(seat=name) == {"FINISHED"}
            assert view().sitting == name
            distance = region.view_rotation.to_matrix().col[2] * region.view_distance
            eye = next(player.eye for player in found.players if player.seat == name)
            np.testing.assert_allclose(region.view_location + distance, eye, atol=0.01)
            assert region.view_perspective == "PERSP"
        assert bpy.ops.stowfold.stand_up() == {"FINISHED"}
        assert view().sitting == ""
        assert tuple(region.view_location) == pytest.approx((1.0, 2.0, 3.0))
        assert tuple(region.view_rotation) == pytest.approx(turned, abs=1e-6)
        assert (region.view_distance, region.view_perspective) == (44.0, "ORTHO")
        assert not bpy.ops.stowfold.stand_up.poll()
    look_from(region, np.array([0.0, -5.0, 0.0]), np.zeros(3))
    assert tuple(region.view_rotation.to_matrix().col[2]) == pytest.approx((0.0, -1.0, 0.0), abs=1e-6)


@pytest.mark.slow
def test_a_kept_map_is_laid_against_the_present_one():
    set_table(roof="NONE")
    before = maps()
    assert bpy.ops.stowfold.keep_map() == {"FINISHED"}
    bpy.data.objects["House"].stowfold.building.height = 80.0
    bpy.context.view_layer.objects.active = bpy.data.objects["House"]
    assert bpy.ops.stowfold.rebuild_building() == {"FINISHED"}
    bpy.context.view_layer.update()
    after = maps()
    view().shows = "CHANGE"
    painted = play_results.paint(bpy.context)
    change = after.share[:, 0].mean(axis=0) - before.share[:, 0].mean(axis=0)
    assert painted.words[3, 4] == f"{100 * change[3, 4]:+.0f}"
    assert change.min() < -0.1
    listed = play_maps.changes(before, after, 0)
    least = min(now - old for _, old, now in listed)
    assert listed[0][2] - listed[0][1] == pytest.approx(least, abs=1e-6)
    assert least < 0.0
    assert bpy.ops.stowfold.forget_map() == {"FINISHED"}
    assert play_results.kept() is None
    assert not bpy.ops.stowfold.forget_map.poll()


@pytest.mark.slow
def test_maps_of_different_rooms_are_not_compared():
    set_table(roof="NONE")
    maps()
    assert bpy.ops.stowfold.keep_map() == {"FINISHED"}
    bpy.data.objects["House"].stowfold.building.length = 11.0
    bpy.context.view_layer.objects.active = bpy.data.objects["House"]
    assert bpy.ops.stowfold.rebuild_building() == {"FINISHED"}
    bpy.context.view_layer.update()
    maps()
    view().shows = "CHANGE"
    assert play_results.paint(bpy.context).title == "The kept map is of another room"


@pytest.mark.slow
def test_a_gable_costs_the_seats_at_the_ends_most():
    set_table(roof="GABLE", seats=6)
    present = maps()
    assert bpy.ops.stowfold.cost_of_gable() == {"FINISHED"}
    level, raised = play_results.kept(), play_results.laid_against()
    np.testing.assert_allclose(raised.share, present.share, atol=1e-12)
    assert (level.share >= raised.share - 1e-9).all()
    lost = [name for name, _, _ in play_maps.changes(level, raised, 0)[:2]]
    assert {name.split()[1] for name in lost} == {"left", "right"}
    assert view().shows == "CHANGE"


@pytest.mark.slow
def test_a_hip_roof_is_weighed_against_the_gable_that_it_could_have():
    set_table(roof="HIP", seats=6)
    hip = maps()
    assert bpy.ops.stowfold.cost_of_gable() == {"FINISHED"}
    level, raised = play_results.kept(), play_results.laid_against()
    np.testing.assert_allclose(level.share, hip.share, atol=1e-12)
    assert raised.share.mean() < level.share.mean() - 0.01
    # seen until the room changes, and no longer
    maps()
    assert play_results.laid_against() is raised
    bpy.data.objects["House"].location.x += 25.4
    bpy.context.view_layer.update()
    assert play_results.laid_against() is raised
    present = maps()
    assert play_results.laid_against() is present


def test_walls_without_a_roof_have_no_gable_to_weigh():
    set_table(roof="NONE")
    with pytest.raises(RuntimeError, match="neither a gable nor a roof"):
        bpy.ops.stowfold.cost_of_gable()


def test_undo_makes_the_map_again():
    set_table(roof="NONE")
    target = add("furniture", (100, 80, 0), height=60.0)
    keep_step("furniture")
    before = maps().share
    target.location.x += 40.0
    bpy.context.view_layer.update()
    keep_step("moved")
    assert not np.allclose(maps().share, before)
    undo()
    assert play_results.shown() is None
    np.testing.assert_allclose(maps().share, before, atol=1e-12)
    redo()
    assert not np.allclose(maps().share, before)


@pytest.mark.slow
def test_a_reopened_file_gives_the_same_map(save):
    set_table()
    add("furniture", (100, 80, 0))
    before = maps()
    path = save()
    bpy.ops.wm.open_mainfile(filepath=str(path))
    assert play_results.shown() is None
    after = maps()
    assert after.seats == before.seats
    np.testing.assert_array_equal(after.share, before.share)


def test_a_room_of_nothing_has_no_gable_to_weigh():
    set_table()
    now = play_input.read_now(scene())
    with pytest.raises(GeometryError, match="neither a gable nor a roof"):
        with_gables(replace(now, building=(), ridge=None))
