"""Framing: after a click the view shows what was added, after a script it stays; samples open on their building."""

from __future__ import annotations

from types import SimpleNamespace

import bpy
import numpy as np
import pytest
from host_stand_ins import Area, Context, Drawn, Region
from host_window import in_view, view_area
from mathutils import Matrix, Vector
from stowfold.plot.operators import building
from stowfold.table.operators import table as at_table
from stowfold.window import framing, samples


def on_screen(name):
    """Return where the corners of an object are in the view, (8, 2) px, and the view's size in px.

    The host's own matrix is made when it draws, which it never does here. Its angle over the larger side is
    2 atan(36 / lens), as tried in a window.
    """
    area = view_area()
    region = next(region for region in area.regions if region.type == "WINDOW")
    view, target = area.spaces.active.region_3d, bpy.context.scene.objects[name]
    bpy.context.view_layer.update()
    turn = view.view_rotation
    eye_at = view.view_location + turn @ Vector((0.0, 0.0, view.view_distance))
    corners = [turn.inverted() @ (target.matrix_world @ Vector(corner) - eye_at) for corner in target.bound_box]
    x, y, depth = np.array(corners).T * [[1.0], [1.0], [-1.0]]
    assert (depth > 0.0).all()
    size = np.array((region.width, region.height))
    px = np.column_stack([x, y]) / depth[:, None] * area.spaces.active.lens / 36.0 * size.max() / 2.0
    return px + size / 2.0, size


def eye():
    view = view_area().spaces.active.region_3d
    return tuple(view.view_location), view.view_distance, view.view_perspective


def click(operator, **fields):
    """Run an operator's invoke as a click in the 3D view does; without a window the host skips it."""
    verb = getattr(bpy.ops.stowfold, operator.bl_idname.split(".")[1])
    with in_view():
        return operator.invoke(SimpleNamespace(execute=lambda _context: verb(**fields)), bpy.context, None)


def test_a_building_that_was_added_by_a_click_fills_the_view_and_stays_selected(factory_scene):
    factory_scene.cursor.location = (40.0, -25.0, 0.0)
    assert click(building.STOWFOLD_OT_add_building) == {"FINISHED"}
    px, size = on_screen("House")
    assert (px > 0.0).all() and (px < size).all()
    assert np.ptp(px, axis=0).max() > 0.4 * size.min()
    assert [target.name for target in bpy.context.selected_objects] == ["House"]


def test_a_building_of_a_script_moves_no_view(factory_scene):
    factory_scene.cursor.location = (40.0, -25.0, 0.0)
    before = eye()
    with in_view():
        assert bpy.ops.stowfold.add_building() == {"FINISHED"}
    assert eye() == before


def test_what_cannot_be_added_moves_no_view(factory_scene):
    before = eye()
    assert click(building.STOWFOLD_OT_add_building, length=0.0) == {"CANCELLED"}
    assert eye() == before


def test_the_table_and_all_seats_round_it_come_into_view(factory_scene):
    assert click(at_table.STOWFOLD_OT_add_table) == {"FINISHED"}
    px, size = on_screen("Table")
    assert (px > 0.0).all() and (px < size).all()
    assert click(at_table.STOWFOLD_OT_propose_seats, number=4) == {"FINISHED"}
    seats = [target.name for target in factory_scene.objects if target.stowfold.place.kind == "SEAT"]
    assert len(seats) == 4
    assert sorted(candidate.name for candidate in bpy.context.selected_objects) == sorted(seats)
    for name in seats:
        px, size = on_screen(name)
        assert (px > 0.0).all() and (px < size).all()


def test_a_small_thing_moves_the_view_only_where_it_is_out_of_it(factory_scene, monkeypatch):
    click(building.STOWFOLD_OT_add_building)
    before = eye()
    monkeypatch.setattr(framing, "is_seen", lambda *_words: True)
    assert click(at_table.STOWFOLD_OT_add_miniature) == {"FINISHED"}
    assert eye() == before
    monkeypatch.setattr(framing, "is_seen", lambda *_words: False)
    factory_scene.cursor.location = (60.0, 2.0, 0.0)
    assert click(at_table.STOWFOLD_OT_add_miniature) == {"FINISHED"}
    for name in ("Miniature.001", "House"):
        px, size = on_screen(name)
        assert (px > 0.0).all() and (px < size).all()
    assert [target.name for target in bpy.context.selected_objects] == ["Miniature.001"]


@pytest.mark.parametrize(
    ("place", "seen"), [((0.0, 0.0), True), ((0.9, 0.0), False), ((-0.98, 0.0), False), ((0.0, 1.1), False)]
)
def test_what_lies_under_the_sidebar_or_beyond_the_view_is_not_seen(factory_scene, place, seen):
    """A view straight down on two by two units, 1000 px wide, 300 of them under the sidebar and 50 under the tools."""
    regions = [Region(50, type="TOOLS"), Region(300, type="UI"), Region(1000, 600)]
    space = SimpleNamespace(region_3d=SimpleNamespace(perspective_matrix=Matrix.Identity(4)))
    context = Context(area=Area(regions, space), preferences=bpy.context.preferences, view_layer=bpy.context.view_layer)
    cube = factory_scene.objects["Cube"]
    cube.location = (*place, 0.0)
    assert framing.is_seen(context, [cube]) is seen


def test_the_free_part_beside_an_open_sidebar_is_what_counts(factory_scene, monkeypatch):
    monkeypatch.setattr(framing, "_covered", lambda _context: (0, 600))
    click(building.STOWFOLD_OT_add_building)
    px, size = on_screen("House")
    assert (px[:, 0] > 0.0).all() and (px[:, 0] < size[0] - 600).all()
    assert px[:, 0].mean() == pytest.approx((size[0] - 600) / 2, abs=0.1 * size[0])


@pytest.mark.slow
def test_a_seated_view_and_a_locked_camera_stay(factory_scene):
    play = bpy.context.window_manager.stowfold.play
    play.sitting = "Seat 1"
    before = eye()
    click(building.STOWFOLD_OT_add_building)
    assert eye() == before
    play.sitting = ""
    space = view_area().spaces.active
    space.lock_camera, space.region_3d.view_perspective = True, "CAMERA"
    camera = factory_scene.camera.matrix_world.copy()
    click(building.STOWFOLD_OT_add_building)
    assert factory_scene.camera.matrix_world == camera
    assert space.region_3d.view_perspective == "CAMERA"


def test_everything_in_the_add_menu_is_run_as_a_click():
    from stowfold import menus

    contexts = []

    class Layout:
        operator_context = "EXEC_REGION_WIN"

        def separator(self):
            pass

        def operator(self, *_words, **_options):
            contexts.append(self.operator_context)
            return SimpleNamespace()

        menu = operator

    menus.STOWFOLD_MT_add.draw(Drawn(Layout()), bpy.context)
    assert len(contexts) >= 5
    assert set(contexts) == {"INVOKE_REGION_WIN"}


class Sidebar:
    """A sidebar whose tabs are known only after it was drawn."""

    def __init__(self):
        self.drawn, self.tab, self.redraws = False, "Item", 0

    def tag_redraw(self):
        self.redraws += 1

    @property
    def active_panel_category(self):
        return self.tab

    @active_panel_category.setter
    def active_panel_category(self, name):
        if not self.drawn:
            raise AttributeError("read-only")
        self.tab = name


@pytest.fixture
def asked(monkeypatch):
    """How often our tab was asked for."""
    times = []
    monkeypatch.setattr(samples, "_show_tab_soon", lambda: times.append(1))
    return times


def test_the_tab_is_shown_as_soon_as_the_sidebar_is_drawn(monkeypatch):
    sidebar = Sidebar()
    monkeypatch.setattr(samples, "_sidebars", lambda: iter([sidebar]))
    samples._waiting.tries = 5
    assert samples._show_tab() is not None
    sidebar.drawn = True
    assert samples._show_tab() is None
    assert (sidebar.tab, sidebar.redraws) == ("Stowfold", 1)


def test_a_sidebar_that_is_never_drawn_is_not_asked_for_ever(monkeypatch):
    monkeypatch.setattr(samples, "_sidebars", lambda: iter([Sidebar()]))
    samples._waiting.tries = 3
    assert [samples._show_tab() is None for _ in range(3)] == [False, False, True]


@pytest.mark.slow
def test_only_a_sample_opens_the_tab_and_not_what_is_saved_from_it(asked, save):
    bpy.ops.stowfold.add_building()
    plain = save("plain.blend")
    bpy.ops.wm.open_mainfile(filepath=str(plain))
    assert not asked
    bpy.context.scene.stowfold.is_sample = True
    sample = save("sample.blend")
    bpy.ops.wm.open_mainfile(filepath=str(sample))
    assert len(asked) == 1
    own = save("own.blend")
    bpy.ops.wm.open_mainfile(filepath=str(own))
    assert len(asked) == 1
