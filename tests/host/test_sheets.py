"""Sheets in the window: what is drawn, what lies under a point, and parts pinned by hand, saved and undone."""

from __future__ import annotations

import math
from types import SimpleNamespace

import bpy
import numpy as np
import pytest
import shapely
from host_stand_ins import Context, Event, Region
from host_window import do, in_view, keep_step, redo, undo, view_area
from stowfold import registration
from stowfold.cut import overlay, sheets, words_overlay
from stowfold.cut.operators import move_part as by_hand
from stowfold.geometry.sheet.preview import part_at
from stowfold.host import reading
from stowfold.jobs import results


def shown():
    results.refresh_staleness(bpy.context.scene)
    return sheets.showing(bpy.context)


def pins():
    return [(pin.part, pin.sheet, pin.turn) for pin in bpy.context.scene.stowfold.pins]


def free_place(part, turn=0):
    """A place on the part's sheet where it fits in this turn, found by trying from far to near: (sheet, x, y)."""
    now = shown()
    hand = by_hand._take_up(now, part)
    hand.quarter = turn
    sheet = now.placement(part).sheet
    for x in np.arange(590.0, 5.0, -10.0):
        for y in np.arange(290.0, 5.0, -10.0):
            if hand.bear(sheet, (x, y)).fit.value == "free":
                return sheet, float(x), float(y)
    raise AssertionError("no free place")


# Drawing


@pytest.mark.parametrize("unit", [0.001, 0.1])
@pytest.mark.slow
def test_areas_are_drawn_at_true_size_beside_the_model(add_ring, unit):
    target = add_ring(scale=0.001 / unit)
    bpy.context.scene.unit_settings.scale_length = unit
    bpy.context.view_layer.update()
    bpy.ops.stowfold.check()
    now = shown()
    pieces = overlay.pieces_of(now, bpy.context.scene)
    mm = unit * 1000
    right = max((target.matrix_world @ vertex.co).x for vertex in target.data.vertices)
    for piece in pieces:
        assert (piece.points[..., 2] == 0.0).all()
        assert piece.points[..., 0].min() > right
    areas = [piece for piece in pieces if piece.points.shape[1] == 3]
    board, *fills = (shapely.area(shapely.polygons(piece.points[..., :2] * mm)).sum() for piece in areas)
    assert board == pytest.approx(sum(w * h for w, h in (s.size for s in now.outcome.layout.sheets)), rel=1e-6)
    assert sum(fills) == pytest.approx(sum(part.area for part in now.outcome.parts), rel=1e-6)


@pytest.mark.slow
def test_what_is_drawn_is_made_once_and_again_for_the_next_layout(checked_ring):
    now = shown()
    assert shown() is now
    assert now.figures is now.figures
    bpy.ops.stowfold.check()
    assert shown() is not now
    # it comes to lie where the last one lay
    np.testing.assert_array_equal(shown().spread.corners, now.spread.corners)


def test_only_what_is_placed_again_dims_while_out_of_date(checked_ring):
    before = shown()
    assert before.current
    assert not before.pinned
    sheet, x, y = free_place("J1-core")
    assert bpy.ops.stowfold.move_part(part="J1-core", sheet=sheet + 1, x=x, y=y) == {"FINISHED"}
    # known at once, before the model is compared
    now = sheets.showing(bpy.context)
    assert not now.current
    np.testing.assert_allclose(now.placement("J1-core").shift, (x, y))
    bright = [piece for piece in overlay.pieces_of(now, bpy.context.scene) if not piece.dims]
    areas = [
        shapely.area(shapely.polygons(batch.points[..., :2])).sum() for batch in bright if batch.points.shape[1] == 3
    ]
    _, core = areas
    assert core == pytest.approx(next(part.area for part in now.outcome.parts if part.id == "J1-core"), rel=1e-6)


def test_ids_are_written_on_free_board_of_their_own_part(checked_ring):
    now = shown()
    spots = words_overlay.spots_of(now, bpy.context.scene)
    assert set(spots.parts) == {part.id for part in now.outcome.parts}
    for name, (middle, right, above) in zip(spots.parts, spots.points, strict=True):
        assert part_at(now.placements, now.parts, now.spread, middle[:2]) == name
        np.testing.assert_allclose((right - middle, above - middle), ((1, 0, 0), (0, 1, 0)), atol=1e-9)


def test_a_held_part_is_drawn_once_only(checked_ring):
    now = shown()
    without = overlay.pieces_of(now, bpy.context.scene, "W1")
    whole = overlay.pieces_of(now, bpy.context.scene)

    def area(pieces):
        cut = [piece for piece in pieces if piece.points.shape[1] == 3]
        return sum(shapely.area(shapely.polygons(batch.points[..., :2])).sum() for batch in cut)

    assert area(whole) - area(without) == pytest.approx(now.parts["W1"].area, rel=1e-6)


@pytest.mark.slow
def test_a_sheet_says_what_it_costs_only_where_that_is_known(checked_ring):
    what, facts = sheets.sheet_facts(shown().outcome, 0)
    assert "birch" in what
    assert len(facts) == 3
    assert bpy.ops.stowfold.price_stock(stock=bpy.context.scene.stowfold.stocks.walls) == {"FINISHED"}
    bpy.context.scene.stowfold.prices[0].price = 4.5
    bpy.ops.stowfold.check()
    sheet = shown().outcome.layout.sheets[0]
    share = min(1.0, sheet.size[0] * sheet.size[1] / (sheet.stock.sheet[0] * sheet.stock.sheet[1]))
    assert sheets.sheet_facts(shown().outcome, 0)[1][3] == f"{4.5 * share:.2f}"


# Pointing


def ray_to(point, *, eye=(0.0, 0.0, 500.0)):
    """Stand-ins for a view and its pointer: what the host's view says of the line of sight to a point of the ground."""
    ray = np.array([*point, 0.0]) - eye
    return np.array(eye), ray / np.linalg.norm(ray)


@pytest.mark.parametrize("eye", [(0.0, 0.0, 500.0), (-300.0, 800.0, 120.0)])
def test_the_ground_under_the_pointer(monkeypatch, eye):
    view = Context(region_data=SimpleNamespace(is_perspective=True))
    monkeypatch.setattr(by_hand, "ray_of", lambda _context, event: event)
    np.testing.assert_allclose(by_hand.on_ground(view, ray_to((350.0, -20.0), eye=eye)), (350.0, -20.0), atol=1e-9)
    up = np.array(eye), np.array([0.0, 0.6, 0.8])
    assert by_hand.on_ground(view, up) is None
    level = np.array(eye), np.array([1.0, 0.0, 0.0])
    assert by_hand.on_ground(view, level) is None


# Pins


def test_a_moved_part_is_pinned_and_stays_when_all_is_laid_out_again(checked_ring):
    sheet, x, y = free_place("W1", 2)
    assert bpy.ops.stowfold.move_part(part="W1", sheet=sheet + 1, turn=2, x=x - 0.877, y=y) == {"FINISHED"}
    assert pins() == [("W1", sheet, 2)]
    (pin,) = reading.read_settings(bpy.context.scene).layout.pins
    assert pin.shift == pytest.approx((x - 0.877, y), abs=1e-9)
    assert pin.turn == math.pi
    assert results.refresh_staleness(bpy.context.scene)
    bpy.ops.stowfold.check()
    now = shown()
    assert now.current
    assert now.pinned == {"W1"}
    kept = now.placement("W1")
    assert (kept.sheet, kept.turn) == (sheet, math.pi)
    np.testing.assert_allclose(kept.shift, (x - 0.877, y), atol=1e-9)
    assert not [finding for finding in now.outcome.findings if finding.severity.value == "error"]


def test_the_maker_reads_no_number_that_counts_from_0():
    """What is written in fields beside the view counts sheets as everything else does: from 1."""
    for operator in (kind for kind in registration._CLASSES if issubclass(kind, bpy.types.Operator)):
        for name, field in (
            getattr(bpy.ops.stowfold, operator.bl_idname.split(".")[1]).get_rna_type().properties.items()
        ):
            if field.name in {"Sheet", "Line", "Row", "Column", "Finding"}:
                assert field.is_hidden or (field.hard_min, field.default) == (1, 1), (operator.bl_idname, name)


def test_pinning_is_undone_and_redone(checked_ring):
    keep_step()
    sheet, x, y = free_place("J1-core")
    do(bpy.ops.stowfold.move_part, part="J1-core", sheet=sheet + 1, x=x, y=y)
    do(bpy.ops.stowfold.pin_part, part="W2")
    assert [pin[0] for pin in pins()] == ["J1-core", "W2"]
    undo()
    assert [pin[0] for pin in pins()] == ["J1-core"]
    undo()
    assert pins() == []
    # what was laid out without pins holds again
    assert shown().current
    redo()
    assert pins() == [("J1-core", sheet, 0)]
    assert not shown().current


def test_unpinning_is_undone_and_redone(checked_ring):
    keep_step()
    for part in ("W1", "W2", "F1"):
        do(bpy.ops.stowfold.pin_part, part=part)
    do(bpy.ops.stowfold.unpin_part, part="W2")
    assert [pin[0] for pin in pins()] == ["W1", "F1"]
    do(bpy.ops.stowfold.unpin_all)
    assert pins() == []
    undo()
    assert [pin[0] for pin in pins()] == ["W1", "F1"]
    undo()
    assert [pin[0] for pin in pins()] == ["W1", "W2", "F1"]
    redo()
    assert [pin[0] for pin in pins()] == ["W1", "F1"]


@pytest.mark.slow
def test_pins_are_saved_with_the_file(checked_ring, save):
    sheet, x, y = free_place("W2")
    bpy.ops.stowfold.move_part(part="W2", sheet=sheet + 1, turn=0, x=x, y=y)
    before = reading.read_settings(bpy.context.scene).layout.pins
    path = save()
    assert bpy.context.scene.stowfold.pins.keys() == []
    bpy.ops.wm.open_mainfile(filepath=str(path))
    assert reading.read_settings(bpy.context.scene).layout.pins == before
    assert shown() is None
    bpy.ops.stowfold.check()
    np.testing.assert_allclose(shown().placement("W2").shift, (x, y))


def test_a_part_is_pinned_once_wherever_it_was_before(checked_ring):
    sheet, x, y = free_place("J2-core")
    bpy.ops.stowfold.pin_part(part="J2-core")
    bpy.ops.stowfold.move_part(part="J2-core", sheet=sheet + 1, turn=1, x=x, y=y)
    assert pins() == [("J2-core", sheet, 1)]


def test_the_clicked_part_is_the_one_that_is_pinned(checked_ring):
    bpy.context.window_manager.stowfold.sheet_part = "F1"
    assert bpy.ops.stowfold.pin_part() == {"FINISHED"}
    assert pins()[0][0] == "F1"
    assert bpy.ops.stowfold.unpin_part() == {"FINISHED"}
    assert bpy.ops.stowfold.unpin_part() == {"CANCELLED"}


def test_a_place_that_cannot_be_is_refused_in_a_sentence(checked_ring):
    for values, words in (
        ({"part": "X9"}, "no part 'X9'"),
        ({"part": "W1", "sheet": 8}, "no sheet 8; there are 1"),
        ({"part": "W1", "x": 590.0, "y": 50.0}, "reaches into the sheet's margin of 3 mm"),
    ):
        with pytest.raises(RuntimeError, match=words):
            bpy.ops.stowfold.move_part(**values)
    assert pins() == []
    bpy.ops.stowfold.pin_part(part="W1")
    lying = shown().placement("W1")
    with pytest.raises(RuntimeError, match="too near W1, pinned there"):
        bpy.ops.stowfold.move_part(part="J1-core", sheet=lying.sheet + 1, x=lying.shift[0] + 20, y=lying.shift[1] + 5)


def test_a_pin_without_its_part_is_a_finding_and_can_be_taken_out(checked_ring):
    bpy.ops.stowfold.pin_part(part="F1")
    bpy.context.scene.stowfold.play_mat = True
    bpy.ops.stowfold.check()
    assert "pin-without-part" in {finding.code for finding in shown().outcome.findings}
    assert shown().pinned == frozenset()
    assert bpy.ops.stowfold.unpin_part(part="F1") == {"FINISHED"}


def test_before_a_check_there_is_nothing_to_show(add_ring):
    add_ring()
    assert shown() is None
    for name in ("frame_sheets", "move_part", "pin_part"):
        with pytest.raises(RuntimeError, match="choose Check Building first"):
            getattr(bpy.ops.stowfold, name)()


def test_looking_at_the_sheets_shows_them(checked_ring):
    view = bpy.context.window_manager.stowfold
    view.step, view.show_sheets = "PLOT", False
    assert bpy.ops.stowfold.frame_sheets() == {"FINISHED"}
    assert (view.step, view.show_sheets) == ("CUT", True)


def test_the_view_comes_back_from_the_sheets_to_the_building_as_it_was(checked_ring):
    view = view_area().spaces.active.region_3d
    checked_ring.stowfold.is_block_out = True
    with in_view():
        kind, rotation = view.view_perspective, tuple(view.view_rotation)
        assert bpy.ops.stowfold.frame_sheets() == {"FINISHED"}
        assert (view.view_perspective, tuple(view.view_rotation)) == ("ORTHO", (1.0, 0.0, 0.0, 0.0))
        bpy.ops.stowfold.frame_sheets()
        assert bpy.ops.stowfold.frame_building() == {"FINISHED"}
    assert (view.view_perspective, tuple(view.view_rotation)) == (kind, rotation)


# Moving by hand: the host makes no operator without a window, so a stand-in runs the same methods


class Stood:
    """What the host gives to an operator, taking notes."""

    def __init__(self, monkeypatch):
        self.said, self.point_at = [], None
        methods = {
            name: function for name, function in vars(by_hand.STOWFOLD_OT_move_part).items() if callable(function)
        }
        names = {"modal", "leave", "_take", "_follow", "_let_go", "_pin"}
        twin = type("Twin", (by_hand.Pointing,), {name: methods[name] for name in names - {"leave"}})
        twin._hand = twin._bearing = None
        twin._moved = False
        twin.leave = lambda _self, _context: (sheets.hold(None), setattr(_self, "_hand", None))
        twin.report = lambda _self, _level, words: self.said.append(words)
        self.operator = twin()
        monkeypatch.setattr(by_hand, "on_ground", lambda _context, _event: self.point_at)
        space = SimpleNamespace(lens=50.0)
        view = SimpleNamespace(view_distance=1000.0)
        self.context = Context(
            scene=bpy.context.scene,
            object=bpy.context.object,
            view_layer=bpy.context.view_layer,
            window_manager=bpy.context.window_manager,
            workspace=SimpleNamespace(status_text_set=lambda _text: None),
            region=Region(1440, 700),
            region_data=view,
            space_data=space,
        )

    def event(self, kind, value="PRESS", *, at=None, ctrl=False):
        """Send an event with the pointer at a point of the ground; a mm of the ground is a px."""
        self.point_at = None if at is None else np.asarray(at, dtype=float)
        x, y = (0, 0) if at is None else at
        return self.operator.modal(self.context, Event(kind, value, ctrl, x, y))


@pytest.fixture
def hand(checked_ring, monkeypatch):
    return Stood(monkeypatch)


def spot_of(part):
    now = shown()
    lying = now.placement(part)
    return lying.place(now.figures[part].spot[None])[0] + now.spread.corners[lying.sheet]


def test_a_part_is_dragged_and_pinned_where_it_is_let_go(hand):
    grip = spot_of("J1-core")
    sheet, x, y = free_place("J1-core")
    start = shown().placement("J1-core")
    c, s = np.cos(-start.turn), np.sin(-start.turn)
    own = np.array([[c, -s], [s, c]]) @ (grip - shown().spread.corners[start.sheet] - start.shift)
    assert hand.event("LEFTMOUSE", at=grip) == {"RUNNING_MODAL"}
    assert bpy.context.window_manager.stowfold.sheet_part == "J1-core"
    while hand.operator._hand.quarter:
        hand.event("R", at=grip)
    there = own + (x, y) + shown().spread.corners[sheet]
    hand.event("MOUSEMOVE", "NOTHING", at=there, ctrl=True)
    assert sheets.held()[1].fit.value == "free"
    assert hand.event("LEFTMOUSE", "RELEASE", at=there) == {"FINISHED"}
    assert sheets.held() is None
    ((part, on, turn),) = pins()
    assert (part, on, turn) == ("J1-core", sheet, 0)
    pin = bpy.context.scene.stowfold.pins[0]
    assert (pin.x, pin.y) == pytest.approx((x, y), abs=2e-3)


def test_escape_puts_a_part_back(hand):
    grip = spot_of("W1")
    hand.event("LEFTMOUSE", at=grip)
    hand.event("MOUSEMOVE", "NOTHING", at=grip + 40.0)
    assert sheets.held()[0] == "W1"
    assert hand.event("ESC", at=grip) == {"CANCELLED"}
    assert sheets.held() is None
    assert pins() == []


def test_a_click_only_chooses(hand):
    grip = spot_of("W2")
    hand.event("LEFTMOUSE", at=grip)
    hand.event("MOUSEMOVE", "NOTHING", at=grip + 1.0)
    assert hand.event("LEFTMOUSE", "RELEASE", at=grip + 1.0) == {"CANCELLED"}
    assert bpy.context.window_manager.stowfold.sheet_part == "W2"
    assert pins() == []
    # a click on bare board chooses nothing any more
    now = shown()
    bare = now.spread.corners[-1] + now.spread.sizes[-1] - 4.0
    assert hand.event("LEFTMOUSE", at=bare) == {"RUNNING_MODAL"}
    assert bpy.context.window_manager.stowfold.sheet_part == ""


def test_a_part_that_fits_nowhere_there_goes_back_and_says_why(hand):
    grip = spot_of("W2")
    hand.event("LEFTMOUSE", at=grip)
    beside = shown().spread.corners[0] - 200.0
    hand.event("MOUSEMOVE", "NOTHING", at=beside)
    assert sheets.held()[1].fit.value == "not"
    assert hand.event("LEFTMOUSE", "RELEASE", at=beside) == {"CANCELLED"}
    assert "Part W2 is beside the sheets; it went back to its place" in hand.said[-1]
    assert pins() == []


@pytest.mark.slow
def test_a_part_put_onto_others_says_what_will_move(hand):
    grip, other = spot_of("J1-core"), spot_of("F1")
    hand.event("LEFTMOUSE", at=grip)
    hand.event("MOUSEMOVE", "NOTHING", at=other)
    assert sheets.held()[1].fit.value == "others move"
    assert hand.event("RET", at=other) == {"FINISHED"}
    assert "instead of F1" in hand.said[-1]
    assert pins()[0][0] == "J1-core"
    bpy.ops.stowfold.check()
    assert not [finding for finding in shown().outcome.findings if finding.severity.value == "error"]


def test_only_what_moves_the_view_passes_meanwhile(hand):
    assert hand.event("MIDDLEMOUSE", at=(0.0, 0.0)) == {"PASS_THROUGH"}
    assert hand.event("G", at=(0.0, 0.0)) == {"RUNNING_MODAL"}


def test_a_click_is_said_to_take_parts_only_where_sheets_are_shown(checked_ring):
    """The host writes into its status bar what a click does, for the first operator that polls."""
    view = bpy.context.window_manager.stowfold
    area = view_area()
    with in_view():
        view.step, view.show_sheets = "CUT", False
        assert not bpy.ops.stowfold.take_part.poll()
        assert bpy.ops.stowfold.move_part.poll()
        view.show_sheets = True
        assert bpy.ops.stowfold.take_part.poll()
        area.spaces.active.overlay.show_overlays = False
        assert not bpy.ops.stowfold.take_part.poll()
        area.spaces.active.overlay.show_overlays = True
        view.step = "PLOT"
        assert not bpy.ops.stowfold.take_part.poll()


def test_a_click_takes_parts_only_while_the_addon_is_on():
    def ours():
        keys = bpy.context.window_manager.keyconfigs.addon.keymaps
        return [item for keymap in keys for item in keymap.keymap_items if item.idname == "stowfold.take_part"]

    assert len(ours()) == 1
    by_hand.detach()
    assert ours() == []
    by_hand.attach()
    assert len(ours()) == 1
