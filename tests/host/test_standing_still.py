"""What the maker clicks stays under the pointer: buttons keep their place while words and fields come and go.

A layout that adds up heights stands in for the host's: a column is as high as all that it holds, a row as its
highest entry, and every entry counts 1, times the scale of what it is in.
"""

from __future__ import annotations

from dataclasses import dataclass

import bpy
import pytest
from host_stand_ins import Button, Drawn
from stowfold.bends import nets_panel
from stowfold.bends import panel as bends
from stowfold.cut import panel as cut
from stowfold.cut import sheets_panel, workshop_panel
from stowfold.jobs import background, results
from stowfold.plot import panel as plot
from stowfold.proof import panel as proof
from stowfold.stock import panel as stock
from stowfold.table import panel as table
from stowfold.window import words


@pytest.fixture(autouse=True)
def a_width(monkeypatch):
    """Without a window the host's interface has no width; this is about that of the sidebar as it opens."""
    monkeypatch.setattr(words, "letters_per_line", lambda _context: 34)


class Stack:
    """A column, row or grid that knows how high it is and where its entries begin."""

    def __init__(self, columns=1):
        self.columns, self.scale_y, self.held = columns, 1.0, []

    def _hold(self, entry):
        self.held.append(entry)
        return entry

    def column(self, **_options):
        return self._hold(Stack())

    box = column

    def row(self, **_options):
        return self._hold(Stack(columns=0))

    def grid_flow(self, *, columns, **_options):
        return self._hold(Stack(columns))

    def separator(self):
        self._hold("")

    def label(self, *, text, icon="NONE"):
        self._hold("")

    def prop(self, _data, name, **_options):
        self._hold(name)

    def prop_enum(self, _data, _name, value, **_options):
        self._hold(value)

    def operator(self, identifier, **_options):
        self._hold(identifier.split(".")[1])
        return Button()

    def progress(self, **_options):
        self._hold("progress")

    def template_list(self, _kind, _identifier, _data, listed, *_active, **sizes):
        # as high with few rows as with many
        assert sizes["rows"] == sizes["maxrows"]
        for _ in range(sizes["rows"]):
            self._hold(listed)

    def places(self, top=0.0, scale=1.0):
        """Return (name, how far from the top) of all entries, and the height."""
        scale, found = scale * self.scale_y, []
        lines = [self.held] if self.columns == 0 else _in_lines(self.held, self.columns)
        start = top
        for line in lines:
            high = 0.0
            for entry in line:
                inner, height = entry.places(top, scale) if isinstance(entry, Stack) else ([(entry, top)], scale)
                found += inner
                high = max(high, height)
            top += high
        return found, top - start


def _in_lines(entries, columns):
    return [entries[k : k + columns] for k in range(0, len(entries), columns)]


def drawn(panel):
    """Where every button and field of a panel begins (the first of a name), and how high the panel is."""
    layout = Stack()
    panel.draw(Drawn(layout, settings_layout=layout.column), bpy.context)
    found, height = layout.places()
    return dict(reversed(found)), height


@dataclass(frozen=True)
class Work:
    """As much of a running job as panels show."""

    title: str
    share: float


@pytest.fixture
def busy(monkeypatch):
    """A function that lets panels believe that work goes on."""
    return lambda: monkeypatch.setattr(background, "running", lambda: Work("Checking", 0.3))


def test_sheets_stay_where_they_are_while_parts_are_pinned_and_laid_out_again(checked_ring, busy):
    bpy.context.window_manager.stowfold.sheet_part = "W1"
    before, height = drawn(sheets_panel.STOWFOLD_PT_sheets)
    bpy.ops.stowfold.pin_part(part="W1")
    after, still = drawn(sheets_panel.STOWFOLD_PT_sheets)
    assert after["unpin_part"] == before.pop("pin_part")
    assert {name: after[name] for name in before} == before
    assert still == height
    busy()
    meanwhile, still = drawn(sheets_panel.STOWFOLD_PT_sheets)
    assert meanwhile["progress"] == before.pop("check")
    assert {name: meanwhile[name] for name in before} == before
    assert still == height


def test_parts_are_moved_by_the_same_button_whatever_was_clicked(checked_ring):
    view = bpy.context.window_manager.stowfold
    view.sheet_part = ""
    before, _ = drawn(sheets_panel.STOWFOLD_PT_sheets)
    view.sheet_part = "W1"
    after, _ = drawn(sheets_panel.STOWFOLD_PT_sheets)
    assert {name: after[name] for name in before} == before


def cut_states(add_ring, busy):
    """Bring the check into one state after the other."""
    target = add_ring()
    yield "not checked"
    bpy.ops.stowfold.check()
    yield "checked"
    bpy.context.scene.stowfold.rim = 9.0
    results.refresh_staleness(bpy.context.scene)
    yield "stale"
    target.scale = (1.0, 1.0, 6.0)
    bpy.context.view_layer.update()
    bpy.ops.stowfold.check()
    assert results.errors_in(results.for_object(target))
    yield "errors"
    bpy.context.scene.stowfold.joiner.core_width = 29.75
    with pytest.raises(RuntimeError):
        bpy.ops.stowfold.check()
    yield "failure"
    busy()
    yield "busy"


@pytest.mark.slow
def test_the_step_of_the_cut_is_as_high_in_every_state(add_ring, busy):
    found = {state: drawn(cut.STOWFOLD_PT_cut) for state in cut_states(add_ring, busy)}
    assert len(found) == 6
    assert len({height for _, height in found.values()}) == 1
    for name in ("frame_sheets", "open_guide", "open_folder"):
        assert len({places[name] for places, _ in found.values()}) == 1
    # the head has it where the sheets hold
    assert {state for state, (places, _) in found.items() if "export" not in places} == {"checked"}


def test_the_proof_keeps_its_buttons_when_the_model_changes(checked_ring, busy):
    before, height = drawn(proof.STOWFOLD_PT_proof)
    bpy.context.scene.stowfold.rim = 9.0
    results.refresh_staleness(bpy.context.scene)
    assert results.latest().stale
    assert drawn(proof.STOWFOLD_PT_proof) == (before, height)
    busy()
    assert drawn(proof.STOWFOLD_PT_proof) == (before, height)


def test_times_are_noted_in_the_same_place_after_a_change(checked_ring):
    before = drawn(workshop_panel.STOWFOLD_PT_times)
    bpy.context.scene.stowfold.rim = 9.0
    results.refresh_staleness(bpy.context.scene)
    assert drawn(workshop_panel.STOWFOLD_PT_times) == before


def test_offcuts_are_added_in_the_same_place_however_many_there_are(add_ring):
    add_ring()
    before, _ = drawn(workshop_panel.STOWFOLD_PT_offcuts)
    bpy.ops.stowfold.add_offcut(stock="cast-acrylic-3", length=240.0, width=180.5)
    after, _ = drawn(workshop_panel.STOWFOLD_PT_offcuts)
    assert {name: after[name] for name in before} == before


def test_the_table_is_as_high_whatever_is_active():
    found = {"nothing": drawn(table.STOWFOLD_PT_table)}
    for name in ("building", "table", "seat", "miniature", "furniture"):
        getattr(bpy.ops.stowfold, f"add_{name}")()
        found[name] = drawn(table.STOWFOLD_PT_table)
    bpy.context.object.stowfold.place.kind = "NONE"
    found["none"] = drawn(table.STOWFOLD_PT_table)
    assert len({height for _, height in found.values()}) == 1


def test_the_map_is_as_high_whatever_the_squares_show():
    play = bpy.context.window_manager.stowfold.play
    found = []
    for shows in ("SIGHT", "SEATS", "REACH", "HAND", "CHANGE"):
        play.shows = shows
        found.append(drawn(table.STOWFOLD_PT_table)[0])
    play.shows = "SIGHT"
    assert all("finger" in places or "height" in places for places in found)
    assert len({places["roof_on"] for places in found}) == 1


def test_openings_are_added_by_the_same_button_one_after_the_other():
    found = [drawn(plot.STOWFOLD_PT_plot)[0]]
    bpy.ops.stowfold.add_building(roof="GABLE")
    found.append(drawn(plot.STOWFOLD_PT_plot)[0])
    sizes = [drawn(plot.STOWFOLD_PT_sizes)[0]]
    bpy.context.object.stowfold.building.roof = "NONE"
    found.append(drawn(plot.STOWFOLD_PT_plot)[0])
    sizes.append(drawn(plot.STOWFOLD_PT_sizes)[0])
    assert sizes[0]["height"] == sizes[1]["height"]
    bpy.ops.stowfold.add_opening(kind="DOOR")
    assert bpy.context.object.stowfold.opening.is_opening
    found.append(drawn(plot.STOWFOLD_PT_plot)[0])
    for name in ("add_opening", "add_upstand"):
        assert len({places[name] for places in found}) == 1


@pytest.mark.slow
def test_the_first_step_is_as_high_whatever_is_selected():
    bpy.ops.stowfold.add_building(roof="GABLE")
    bpy.ops.stowfold.add_opening(kind="DOOR")
    found, sizes = [drawn(plot.STOWFOLD_PT_plot)], []
    opening = bpy.context.object.stowfold.opening
    for kind in ("WINDOW", "HATCH", "ARCH"):
        opening.kind = kind
        sizes.append(drawn(plot.STOWFOLD_PT_sizes)[0]["move_opening"])
    for name in ("table", "seat", "miniature", "furniture"):
        getattr(bpy.ops.stowfold, f"add_{name}")()
        found.append(drawn(plot.STOWFOLD_PT_plot))
    bpy.context.view_layer.objects.active = None
    found.append(drawn(plot.STOWFOLD_PT_plot))
    assert all(state == found[0] for state in found)
    assert len(set(sizes)) == 1


def test_roles_are_given_by_the_same_button_in_either_mode(add_ring, in_edit_mode):
    target = add_ring()
    before = drawn(bends.STOWFOLD_PT_bends)
    in_edit_mode(target)
    assert drawn(bends.STOWFOLD_PT_bends) == before
    bpy.context.scene.stowfold.along_grain = True
    assert drawn(bends.STOWFOLD_PT_bends) == before


def test_nets_are_stepped_through_by_the_same_button_in_every_state(add_ring, in_edit_mode, busy):
    before, height = drawn(nets_panel.STOWFOLD_PT_nets)
    states = []
    add_ring()  # walls alone have no nets
    bpy.ops.stowfold.try_nets()
    states.append(drawn(nets_panel.STOWFOLD_PT_nets))
    bpy.ops.object.select_all(action="SELECT")
    bpy.ops.object.delete()
    bpy.ops.stowfold.add_building(length=9.0, width=6.0, roof="HIP")
    bpy.ops.stowfold.try_nets()
    states.append(drawn(nets_panel.STOWFOLD_PT_nets))
    bm = in_edit_mode(bpy.context.object)
    bm.edges[0].select_set(True)
    states.append(drawn(nets_panel.STOWFOLD_PT_nets))
    bpy.ops.object.mode_set(mode="OBJECT")
    assert all(state == (before, height) for state in states)
    busy()
    meanwhile, still = drawn(nets_panel.STOWFOLD_PT_nets)
    assert meanwhile["progress"] == before.pop("try_nets")
    assert {name: meanwhile[name] for name in before} == before
    assert still == height


def test_readings_are_added_by_the_same_button_one_after_the_other(add_ring):
    add_ring()
    name = bpy.context.scene.stowfold.stocks.walls
    bpy.ops.stowfold.enter_readings(stock=name)
    before, height = drawn(stock.STOWFOLD_PT_readings)
    bpy.ops.stowfold.add_reading(kind="THICKNESS")
    after, taller = drawn(stock.STOWFOLD_PT_readings)
    assert after["add_reading"] == before["add_reading"]
    assert taller == height + 1.0


def test_the_laser_is_as_high_with_holds_as_without(add_ring):
    add_ring()
    laser = bpy.context.scene.stowfold.laser
    laser.holds = 0
    before = drawn(stock.STOWFOLD_PT_laser)
    laser.holds = 2
    assert drawn(stock.STOWFOLD_PT_laser) == before
