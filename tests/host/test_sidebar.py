"""The sidebar in every state: what its panels ask of the host exists, and what they say is what is the case.

There is no region to draw into without a window, so a layout that only takes notes stands in for the host's.
It refuses what the host would refuse: a property, an operator or an icon that does not exist.
"""

from __future__ import annotations

from dataclasses import replace

import bpy
import pytest
from host_stand_ins import Button, Drawn
from host_window import do, keep_step, redo, undo
from stowfold import menus, sidebar, steps
from stowfold.dress import finish_menus
from stowfold.geometry.durations import about
from stowfold.geometry.finding_groups import Group
from stowfold.geometry.findings import Finding, Location, Severity
from stowfold.host import marks, workshop
from stowfold.jobs import results
from stowfold.proof import as_saved, lines
from stowfold.proof import panel as proof
from stowfold.proof.operators import run
from stowfold.table import play_results
from stowfold.window import words
from stowfold.window.next_step import Checked, Facts, next_advice
from stowfold.window.step import STEPS

PANELS = tuple(known for known in sidebar.CLASSES if issubclass(known, bpy.types.Panel))

ICONS = set(bpy.types.UILayout.bl_rna.functions["label"].parameters["icon"].enum_items.keys())


@pytest.fixture(autouse=True)
def a_width(monkeypatch):
    """Without a window the host's interface has the scale 0, and no width at all."""
    monkeypatch.setattr(words, "letters_per_line", lambda _context: 40)


class Notes:
    """A layout that takes notes; its columns, rows and boxes write on the same sheet."""

    def __init__(self, said=None):
        self.said = (
            said
            if said is not None
            else {name: [] for name in ("labels", "properties", "operators", "texts", "menus", "steps")}
        )

    def _inside(self, **_options):
        return Notes(self.said)

    column = row = box = grid_flow = _inside

    def separator(self):
        pass

    def label(self, *, text, icon="NONE"):
        assert icon in ICONS
        self.said["labels"].append(text)

    def prop(self, data, name, *, icon="NONE", **_options):
        assert icon in ICONS
        assert name in data.bl_rna.properties
        self.said["properties"].append(name)

    def prop_enum(self, data, name, value, *, icon="NONE", **_options):
        assert icon in ICONS
        assert value in data.bl_rna.properties[name].enum_items
        self.said["steps"].append((value, icon))

    def operator(self, identifier, *, icon="NONE", text=None, **_options):
        assert icon in ICONS
        self.said["texts"].append(text)
        module, name = identifier.split(".")
        # fails for an operator that the host does not know
        known = getattr(getattr(bpy.ops, module), name).get_rna_type().properties
        values = Button()
        self.said["operators"].append((name, values, known))
        return values

    def operator_menu_enum(self, identifier, name, *, icon="NONE"):
        assert icon in ICONS
        module, operator = identifier.split(".")
        assert getattr(getattr(bpy.ops, module), operator).get_rna_type().properties[name].enum_items
        self.said["menus"].append(identifier)

    def progress(self, *, factor, type, text):
        assert 0.0 <= factor <= 1.0
        assert type in bpy.types.UILayout.bl_rna.functions["progress"].parameters["type"].enum_items
        self.said["labels"].append(text)

    def template_list(self, kind, _identifier, data, listed, active, chosen, **_options):
        assert hasattr(bpy.types, kind)
        assert listed in data.bl_rna.properties and chosen in active.bl_rna.properties
        self.said["labels"] += [row.name for row in getattr(data, listed)]

    def menu(self, identifier, *, text=None, icon="NONE"):
        assert icon in ICONS
        assert hasattr(bpy.types, identifier)
        self.said["menus"].append(identifier)
        self.said["texts"].append(text)


def drawn(panel, *arguments):
    """What one panel or menu shows, by kind of entry."""
    notes = Notes()
    target = Drawn(notes)
    if issubclass(panel, bpy.types.Panel):
        target.settings_layout = lambda: panel.settings_layout(target)
    panel.draw(target, bpy.context)
    for _, values, known in notes.said["operators"]:
        for name, value in vars(values).items():
            if known[name].type == "ENUM":
                assert value in known[name].enum_items
    return notes.said


def shown():
    """Everything that the tab shows now in one step or another, panels that say no left out."""
    view, found = bpy.context.window_manager.stowfold, {}
    for name, _, _, _ in STEPS:
        view.step = name
        found |= {
            panel.bl_label: drawn(panel) for panel in PANELS if not hasattr(panel, "poll") or panel.poll(bpy.context)
        }
    view.step = STEPS[0][0]
    return found


def text_of(said):
    return " ".join(said["labels"])


def _is_whole(panel):
    """Whether a panel is the head of the tab or a step of its own, and none that opens below one."""
    return not hasattr(panel, "bl_parent_id")


def test_the_steps_stand_in_working_order():
    whole = [panel.bl_label for panel in PANELS if _is_whole(panel)]
    assert whole == ["Steps", "Plot", "Table", "Bends", "Dress", "Stock", "Proof", "Cut"]
    assert whole[1:] == [label for _, label, _, _ in STEPS]
    # a panel's parent has to be known to the host before it
    seen = set()
    for panel in PANELS:
        assert getattr(panel, "bl_parent_id", None) in {None, *seen}
        seen.add(panel.bl_idname)


def test_an_empty_scene_says_what_to_model_first():
    panels = shown()
    assert "model the walls as a mesh" in text_of(panels["Sizes"])
    assert "Not checked yet" in text_of(panels["Proof"])
    assert "How Far Off" not in panels


def test_every_setting_that_the_scene_keeps_can_be_reached(add_ring):
    add_ring()
    bpy.ops.stowfold.measure_stock(stock=bpy.context.scene.stowfold.stocks.walls)
    # what only counts beside another setting is shown with it
    bpy.context.scene.stowfold.along_grain = True
    bpy.context.scene.stowfold.closure = "MAGNETS"
    bpy.context.scene.stowfold.laser.holds = 2
    reached = {name for said in shown().values() for name in said["properties"]}
    # what a curve keeps is shown while one is active
    curve = bpy.data.objects.new("Sign", bpy.data.curves.new("Sign", "CURVE"))
    bpy.context.scene.collection.objects.link(curve)
    bpy.context.view_layer.objects.active = curve
    reached |= {name for said in shown().values() for name in said["properties"]}
    ours = bpy.context.scene.stowfold
    groups = (ours, ours.stocks, ours.joiner, ours.hinge, ours.laser, ours.measured[0], bpy.context.object.stowfold)
    kept = {setting.identifier for group in groups for setting in group.bl_rna.properties if not setting.is_readonly}
    # the laser's name is kept by the button that takes it, and the notes that its speeds rest on by another;
    # the scale is kept by the first thing that is added, the mark of a sample by the script that builds it, and
    # how the building is drawn and rendered by the map of its room and by its boards
    # the finishes of floor and room side are chosen in menus of ours, as those of walls and roof are
    in_menus = {"floor_finish", "inside_finish"}
    by_us = {"last_check", "last_findings", "last_model", "drawn_as", "out_of_renders", "put_away"}
    assert kept - reached == {"name", "profile", "notes", "noted_stock", "unit_mm", "is_sample", *in_menus, *by_us}


def test_every_setting_of_the_table_can_be_reached():
    place, reached = None, set()
    for name in ("table", "seat", "miniature", "furniture"):
        getattr(bpy.ops.stowfold, f"add_{name}")()
        place = bpy.context.object.stowfold.place
        reached |= {name for said in shown().values() for name in said["properties"]}
    view = bpy.context.window_manager.stowfold.play
    view.shows = "HAND"
    reached |= {name for said in shown().values() for name in said["properties"]}
    view.shows = "SIGHT"
    groups = (place, bpy.context.scene.stowfold.table, view)
    kept = {setting.identifier for group in groups for setting in group.bl_rna.properties if not setting.is_readonly}
    # what a view was before sitting down is put back by standing up, not by hand
    assert kept - reached == {"name", "sitting", "left_from", "left_turned", "left_distance", "left_as"}


@pytest.mark.slow
def test_the_table_lists_the_worst_with_a_way_to_each():
    assert bpy.ops.stowfold.add_building(length=9.0, width=6.0, roof="GABLE") == {"FINISHED"}
    bpy.context.view_layer.update()
    bpy.ops.stowfold.add_table()
    bpy.ops.stowfold.propose_seats(number=4)
    bpy.context.view_layer.update()
    play_results.drop_all()
    assert "who sees least" in text_of(shown()["Worst First"])
    maps = play_results.refresh(bpy.context.scene).maps
    said = shown()["Worst First"]
    ways = [vars(values) for name, values, _ in said["operators"] if name == "show_place"]
    seats = [way["seat"] for way in ways if "seat" in way]
    assert set(seats) == set(maps.seats)
    assert {"row", "column"} <= set(ways[-1])
    bpy.ops.stowfold.keep_map()
    assert shown()["Comparison"]["labels"][:4] == ["Seat", "A", "Now", "Change"]
    play_results.keep_for_comparison(None)


def test_roles_are_offered_in_any_mode(add_ring, in_edit_mode):
    target = add_ring()
    assert "In Edit Mode you say" in _joined(shown()["Bends"])
    assert "edit_building" in [name for name, _, _ in shown()["Bends"]["operators"]]
    in_edit_mode(target)
    said = shown()["Bends"]
    assert "In Edit Mode you say" not in _joined(said)
    offered = [values.role for name, values, _ in said["operators"] if name == "mark_edges"]
    assert offered == ["FLEX", "BREAK", "CLOSURE", "PLAIN"]


def test_finishes_of_floor_and_room_side_are_chosen_in_our_menus_that_name_them(add_ring):
    add_ring()
    said = shown()["Floor and Room Side"]
    assert [text for text in said["texts"] if text] == ["Floor: Bare Board", "Room Side: Bare Board"]
    assert not {"floor_finish", "inside_finish"} & set(said["properties"])
    bpy.ops.stowfold.choose_finish(pattern="CHEQUER", on="FLOOR")
    assert "Floor: Chequer" in shown()["Floor and Room Side"]["texts"]
    offered = drawn(finish_menus.STOWFOLD_MT_room_finishes)
    assert {"reuse_finish", "choose_finish", "add_own_finish"} == {name for name, _, _ in offered["operators"]}
    assert "As Chequer" in offered["texts"] and offered["texts"][-1] == "Bare Board"


def test_a_board_shows_whose_values_count(add_ring):
    add_ring()
    stock = bpy.context.scene.stowfold.stocks.walls
    assert "Catalogue values" in _joined(shown()["Stock"])
    bpy.ops.stowfold.measure_stock(stock=stock)
    said = shown()["Stock"]
    assert "Catalogue values" not in _joined(said)
    assert {"thickness", "kerf"} <= set(said["properties"])


def test_a_sound_building_shows_its_proof_and_its_sheets(checked_ring):
    target = checked_ring
    panels = shown()
    assert "The flat parts fold back into the model." in _joined(panels["Proof"])
    severities = {finding.severity.value for finding in results.for_object(target).outcome.findings}
    assert severities <= {"note"}
    assert not any(group.value in text_of(panels["Proof"]) for group in Group)
    assert ("Good to know" if severities else "Nothing else to say") in text_of(panels["Proof"])
    assert "Corners" in text_of(panels["How Far Off"])
    report = results.for_object(target)
    sheets = [label for label in panels["Sheets"]["labels"] if "%" in label]
    assert len(sheets) == len(report.outcome.layout.sheets)


def _joined(said):
    return " ".join(" ".join(said["labels"]).split())


def test_findings_are_lines_that_open_with_a_way_to_their_place(add_ring):
    target = add_ring(breaks=False)
    bpy.ops.stowfold.check()
    report = results.for_object(target)
    said = shown()["Proof"]
    assert "Will not cut" in text_of(said)
    ways = [values.index for name, values, _ in said["operators"] if name == "show_finding"]
    assert sorted(ways) == list(range(len(report.outcome.findings)))
    assert not any(finding.message in _joined(said) for finding in report.outcome.findings)
    first = lines.lines_of(report)[0]
    assert (first.title, first.group) == ("Corners bend all round, nowhere parted", Group.CUT)
    bpy.ops.stowfold.show_finding(index=0)
    said = shown()["Proof"]
    assert " ".join(first.words.split()) in _joined(said)
    assert "wall" in first.words and "face" not in first.words
    cures = [(name, values) for name, values, _ in said["operators"] if name == "mark_proposal"]
    assert [values.what for _, values in cures] == ["BREAKS"]
    bpy.ops.object.mode_set(mode="OBJECT")
    bpy.ops.stowfold.mark_proposal(what="BREAKS")
    bpy.ops.stowfold.check()
    assert first.key not in {line.key for line in lines.lines_of(results.for_object(target))}


def _line(index, title, place, severity=Severity.WARNING):
    words_of_it = f"{title} at {place}"
    return lines.Line(index, severity, Group.PLAY, title, place, words_of_it, f"{title}: {place}", False, None)


def test_what_is_said_of_several_places_is_said_once_above_them():
    told = [_line(0, "Squares hardly seen", ""), _line(1, "Bend in a square", "left corner")]
    told += [_line(2, "Wall in a square", "front wall"), _line(3, "Bend in a square", "right corner")]
    notes = Notes()
    for same in proof._by_title(told):
        proof._draw_same(notes, bpy.context, same)
    assert [label for label in notes.said["labels"] if label] == ["Bend in a square:"]
    assert [values.index for _, values, _ in notes.said["operators"]] == [0, 1, 3, 2]
    assert notes.said["texts"] == [
        "1. Squares hardly seen",
        "2. left corner",
        "4. right corner",
        "3. Wall in a square: front wall",
    ]


def _line_of(code):
    report = results.latest()
    return next(line for line in lines.lines_of(report) if line.key.startswith(f"{code}:"))


def test_an_accepted_finding_stays_out_of_the_list_until_it_is_asked_for(add_ring):
    add_ring()
    bpy.context.scene.stowfold.inside_radius = 1.0
    bpy.ops.stowfold.check()
    line = _line_of("corner-radius-wide")
    keep_step()
    do(bpy.ops.stowfold.accept_finding, index=line.index)
    assert bpy.context.scene.stowfold.accepted.keys() == [line.key]
    bpy.ops.stowfold.check()
    said = shown()["Proof"]
    assert line.index not in [values.index for name, values, _ in said["operators"] if name == "show_finding"]
    do(bpy.ops.stowfold.list_accepted)
    assert not bpy.context.scene.stowfold.accepted
    undo()
    assert bpy.context.scene.stowfold.accepted.keys() == [line.key]
    undo()
    assert not bpy.context.scene.stowfold.accepted
    redo()
    assert bpy.context.scene.stowfold.accepted.keys() == [line.key]


def test_an_error_cannot_be_accepted(add_ring):
    add_ring(breaks=False)
    bpy.ops.stowfold.check()
    assert bpy.ops.stowfold.accept_finding(index=0) == {"CANCELLED"}
    assert not bpy.context.scene.stowfold.accepted


@pytest.mark.slow
def test_errors_weigh_more_than_a_proof_that_holds(add_ring):
    target = add_ring()
    target.scale = (1.0, 1.0, 6.0)
    bpy.context.view_layer.update()
    bpy.ops.stowfold.check()
    report = results.for_object(target)
    assert report.outcome.proof.holds
    assert len(results.errors_in(report)) == 2
    assert proof._headline(report)[1] == "CANCEL"
    said = _joined(shown()["Proof"])
    assert "fold back, but 2 errors must be mended" in said
    assert "The flat parts fold back into the model." not in said
    assert run.sum_up(report)[1].startswith("2 errors, ")


def test_a_building_without_parts_is_not_said_to_fold_back(checked_ring):
    target = checked_ring
    report = results.for_object(target)
    nothing = replace(report, outcome=replace(report.outcome, parts=()))
    assert proof._headline(nothing) == ("No part could be made from the model.", "CANCEL")
    assert "no part could be made" in run.sum_up(nothing)[1]
    assert proof._headline(report)[1] == "CHECKMARK"


def test_a_failure_is_shown_as_its_sentence(add_mesh):
    add_mesh("Wire", [(0, 0, 0), (1, 0, 0)], [])
    with pytest.raises(RuntimeError):
        bpy.ops.stowfold.check()
    panels = shown()
    assert "The mesh of 'Wire' has no faces" in _joined(panels["Proof"])
    assert "How Far Off" not in panels


def test_a_change_since_the_check_is_told(checked_ring):
    bpy.context.scene.stowfold.square = 30.0
    results.refresh_staleness(bpy.context.scene)
    assert "check again" in _joined(shown()["Proof"])


def test_the_caution_about_the_laser_is_always_there(checked_ring):
    assert "Never leave a running laser alone" in _joined(shown()["Cut"])
    assert "Never leave a running laser alone" in _joined(shown()["Cut"])


def test_the_workshop_is_empty_before_the_first_cut_and_says_what_to_do():
    panels = shown()
    assert "No piece is kept yet" in _joined(panels["Offcuts"])
    assert "Check the building" in _joined(panels["Times"])
    assert "use_offcuts" in panels["Offcuts"]["properties"]


@pytest.mark.slow
def test_pieces_and_notes_are_listed_with_a_way_to_each(checked_ring):
    target = checked_ring
    bpy.ops.stowfold.add_offcut(stock="cast-acrylic-3", length=240.0, width=180.5, count=2, note="behind the door")
    bpy.ops.stowfold.note_time(sheet=1, minutes=25)
    panels = shown()
    said = panels["Offcuts"]
    assert "2 of 240 x 180.5 mm, behind the door" in said["labels"]
    assert any(label.endswith("not in use here") for label in said["labels"])
    assert [values.key for name, values, _ in said["operators"] if name == "remove_offcut"] == [
        workshop.OFFCUTS.value.pieces[0].key
    ]
    said = panels["Times"]
    seconds = results.for_object(target).outcome.sheet_seconds[0]["total"]
    assert f"1: {about(seconds)}" in said["labels"]
    assert any(label.startswith("25:00 min, Boat shed") for label in said["labels"])
    assert [values.stock for name, values, _ in said["operators"] if name == "use_times"] == ["birch-plywood-3"]
    bpy.ops.stowfold.use_times(stock="birch-plywood-3")
    bpy.ops.stowfold.check()
    assert "In all about 25 min (from 1 note)" in shown()["Times"]["labels"]
    bpy.context.scene.stowfold.laser.passes = 3
    said = shown()["Times"]
    assert "1 with other passes do not count" in said["labels"]
    assert not [name for name, _, _ in said["operators"] if name == "use_times"]
    bpy.ops.stowfold.take_laser(laser="diode")
    assert "1 more of other lasers" in shown()["Times"]["labels"]


def test_lists_that_cannot_be_read_are_told(own_folder):
    own_folder.mkdir(parents=True, exist_ok=True)
    for name in ("offcuts.toml", "times.toml"):
        (own_folder / name).write_text("[[piece]")
    panels = shown()
    for label, name in (("Offcuts", "offcuts.toml"), ("Times", "times.toml")):
        # a long path may be broken anywhere
        said = "".join(panels[label]["labels"]).replace(" ", "")
        assert f"{name}isnotvalidTOML" in said
        assert "leftasitis" in said
    assert "No piece is kept yet" not in _joined(panels["Offcuts"])


def test_the_edge_menu_marks_and_selects_every_role():
    said = drawn(menus.STOWFOLD_MT_edge_roles)
    names = [(name, values.role) for name, values, _ in said["operators"]]
    assert [role for name, role in names if name == "mark_edges"] == ["FLEX", "BREAK", "CLOSURE", "PLAIN"]
    assert [role for name, role in names if name == "select_role"] == ["FLEX", "BREAK", "CLOSURE"]


def test_the_menu_of_nets_holds_all_that_is_done_with_them():
    said = drawn(menus.STOWFOLD_MT_nets)
    names = [name for name, _, _ in said["operators"]]
    assert names == ["try_nets", "step_net", "step_net", "use_net", "overrule_edges", "overrule_edges"]
    assert [values.role for name, values, _ in said["operators"] if name == "overrule_edges"] == ["FLEX", "CLOSURE"]


@pytest.mark.slow
def test_sheets_say_what_to_do_in_every_state(add_ring):
    target = add_ring()
    said = shown()["Sheets"]
    assert "Check the building first" in _joined(said)
    bpy.ops.stowfold.check()
    outcome = results.for_object(target).outcome
    said = shown()["Sheets"]
    assert f"{about(outcome.seconds['total'])} of laser time" in _joined(said)
    # one sheet of a board needs no reason, and it is the only one
    assert len(outcome.layout.sheets) == 1
    assert "cannot be fewer" not in _joined(said)
    assert "Click a part on its sheet" in _joined(said)
    bpy.context.window_manager.stowfold.sheet_part = "W1"
    part = next(part for part in outcome.parts if part.id == "W1")
    said = shown()["Sheets"]
    size = f"{part.size[0]:.1f} × {part.size[1]:.1f} mm"
    for words_of_it in (f"W1: {part.label}", size, "birch plywood 3 mm", "Sheet 1"):
        assert words_of_it in _joined(said)
    names = [name for name, _, _ in said["operators"]]
    assert "pin_part" in names and "unpin_part" not in names
    bpy.ops.stowfold.pin_part(part="W1")
    said = shown()["Sheets"]
    names = [name for name, _, _ in said["operators"]]
    assert {"check", "unpin_part", "unpin_all"} <= set(names)
    assert "Out of date: what is dimmed will be placed again." in _joined(said)
    assert "1 part pinned" in said["labels"]
    bpy.ops.stowfold.check()
    assert "Out of date" not in _joined(shown()["Sheets"])


def test_a_part_offers_the_lasers_of_the_file_where_there_are_several(checked_ring):
    bpy.context.window_manager.stowfold.sheet_part = "W1"
    assert "cut_part_on" not in {name for name, _, _ in shown()["Sheets"]["operators"]}
    bpy.ops.stowfold.add_laser(laser="diode")
    bpy.ops.stowfold.cut_part_on(part="W1", laser="diode")
    offered = [values for name, values, _ in shown()["Sheets"]["operators"] if name == "cut_part_on"]
    assert [(offer.part, offer.laser) for offer in offered] == [("W1", ""), ("W1", "hobby"), ("W1", "diode")]


@pytest.mark.slow
def test_several_sheets_of_a_board_say_in_one_line_how_few_would_do(add_ring):
    target = add_ring(length=560.0, width=280.0, height=100.0)
    bpy.context.scene.stowfold.propose = "BREAKS"
    bpy.ops.stowfold.check()
    layout = results.for_object(target).outcome.layout
    assert len(layout.sheets) > 1
    said = shown()["Sheets"]
    fewest, why = layout.bound
    told = f"At least {fewest} sheets are needed" if fewest < len(layout.sheets) else "No fewer sheets will do"
    assert f"{told}; the guide says why." in _joined(said)
    # the whole reason takes half a screen of the sidebar
    assert " ".join(why.split()) not in _joined(said)
    assert len([label for label in said["labels"] if label.endswith("%")]) == len(layout.sheets)


def _chosen_alone(view, step):
    view.step = step
    return [
        panel.bl_label
        for panel in PANELS
        if _is_whole(panel) and (not hasattr(panel, "poll") or panel.poll(bpy.context))
    ]


def test_only_the_chosen_step_is_shown_below_the_head():
    view = bpy.context.window_manager.stowfold
    for name, label, _, _ in STEPS:
        assert _chosen_alone(view, name) == ["Steps", label]


def test_all_below_a_step_is_closed_until_it_is_asked_for():
    below = [panel for panel in PANELS if not _is_whole(panel)]
    opened = [panel for panel in below if "DEFAULT_CLOSED" not in getattr(panel, "bl_options", ())]
    # what is selected is shown at once: as the last one of its step it moves no other
    assert [panel.bl_label for panel in opened] == ["Sizes", "Selected", "Pattern"]
    for panel in opened:
        assert [other for other in below if other.bl_parent_id == panel.bl_parent_id][-1] is panel


def _buttons(panels):
    return [name for said in panels.values() for name, values, _ in said["operators"] if not vars(values)]


@pytest.mark.parametrize("state", ["nothing", "added", "laid out", "written"])
def test_no_button_stands_twice_in_a_step(state, tmp_path):
    if state != "nothing":
        bpy.ops.stowfold.add_building(length=5.0, width=4.0, roof="NONE")
    if state in {"laid out", "written"}:
        bpy.ops.stowfold.model_to_sheets()
    if state == "written":
        bpy.ops.stowfold.export(directory=str(tmp_path))
    view = bpy.context.window_manager.stowfold
    for name, _, _, _ in STEPS:
        view.step = name
        alone = [panel for panel in PANELS if _is_whole(panel)]
        here = {panel.bl_label: drawn(panel) for panel in alone if getattr(panel, "step", name) == name}
        buttons = _buttons(here)
        repeated = {button for button in buttons if buttons.count(button) > 1}
        # another building is a second one
        assert repeated <= ({"add_building"} if state != "nothing" else set()), name
    view.step = "CUT"
    assert {"export", "open_folder"} <= set(_buttons(shown()))
    view.step = STEPS[0][0]


def test_errors_of_half_a_change_do_not_take_the_button_away(add_ring):
    target = add_ring(breaks=False)
    target.stowfold.is_block_out = True
    bpy.ops.stowfold.check()
    assert _head()[2] == "show_finding"
    # as while bends are proposed for sizes that were just changed
    target.stowfold.building.unproposed = True
    assert _head()[2] == "model_to_sheets"
    target.stowfold.building.unproposed = False
    assert _head()[2] == "show_finding"


def _head():
    said = drawn(steps.STOWFOLD_PT_steps)
    (button,) = [name for name, _, _ in said["operators"] if name != "open_help"]
    return dict(said["steps"]), " ".join(said["labels"]).strip(), button


def test_the_head_leads_from_an_empty_file_to_the_guide(tmp_path):
    states, said, button = _head()
    assert (states["PLOT"], button) == ("PLAY", "add_building")
    bpy.ops.stowfold.add_building(length=5.0, width=4.0, roof="NONE")
    states, said, button = _head()
    assert (states["PLOT"], states["BENDS"], states["PROOF"], button) == (
        "CHECKMARK",
        "CHECKMARK",
        "PLAY",
        "model_to_sheets",
    )
    bpy.ops.stowfold.model_to_sheets()
    assert bpy.context.window_manager.stowfold.step == "CUT"
    states, said, button = _head()
    assert (states["PROOF"], states["CUT"], button) == ("CHECKMARK", "PLAY", "export")
    bpy.ops.stowfold.export(directory=str(tmp_path))
    states, said, button = _head()
    assert (states["CUT"], button) == ("CHECKMARK", "open_guide")
    bpy.context.scene.stowfold.rim = 9.0
    results.refresh_staleness(bpy.context.scene)
    states, said, button = _head()
    assert (states["CUT"], button) == ("DOT", "model_to_sheets") and "Changed" in said


def test_errors_lead_to_the_list_of_them(add_ring):
    add_ring(length=40.0, width=12.0)
    bpy.ops.stowfold.model_to_sheets()
    assert bpy.context.window_manager.stowfold.step == "PROOF"
    states, said, button = _head()
    assert states["PROOF"] == "ERROR" and "keep the sheets back" in said and button == "show_finding"


def test_the_button_shows_one_error_after_the_other():
    assert [steps._error_to_show((2, 5), opened) for opened in (-1, 2, 5)] == [2, 5, 2]
    assert steps._error_to_show((), -1) == 0


@pytest.mark.parametrize(("trouble", "step"), [({"boards": False}, "STOCK"), ({"checked": Checked.FAILED}, "PROOF")])
def test_no_button_leads_to_the_step_that_is_shown(trouble, step):
    assert next_advice(Facts(building=True, **trouble)).values == (("step", step),)
    there = next_advice(Facts(building=True, step=step, **trouble))
    assert (there.operator, "below" in there.sentence) == ("stowfold.model_to_sheets", True)


def test_what_is_unmarked_is_marked_on_the_way_to_the_sheets(add_ring):
    mesh = add_ring().data
    mesh.attributes.remove(mesh.attributes[marks.ATTRIBUTE])
    assert not marks.any_marked(mesh)
    edges = len(mesh.edges)
    keep_step()
    do(bpy.ops.stowfold.model_to_sheets)
    report = results.for_object(bpy.context.object)
    assert not results.errors_in(report) and report.outcome.joiners and not report.stale
    assert marks.any_marked(bpy.context.object.data)
    undo()
    mesh = bpy.context.object.data
    assert (marks.any_marked(mesh), len(mesh.edges)) == (False, edges)
    redo()
    assert marks.any_marked(bpy.context.object.data)


@pytest.mark.parametrize(
    "facts", [Facts(building=True, checked=checked, errors=errors) for checked in Checked for errors in (0, 2)]
)
def test_every_state_of_the_building_has_one_thing_to_do(facts):
    advice = next_advice(facts)
    known = getattr(bpy.ops.stowfold, advice.operator.removeprefix("stowfold.")).get_rna_type().properties
    assert all(known[name].type != "ENUM" or value in known[name].enum_items for name, value in advice.values)
    assert len(advice.sentence) <= 60


def test_what_the_last_check_came_to_is_kept_with_the_file(checked_ring, tmp_path):
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "ring.blend"))
    bpy.ops.wm.open_mainfile(filepath=str(tmp_path / "ring.blend"))
    assert results.latest() is None
    said = _joined(shown()["Proof"])
    assert "1 sheet, no errors" in said and "As saved on 20" in said


def test_saved_findings_come_back_and_say_where_the_model_was_changed_since(checked_ring, tmp_path):
    file = str(tmp_path / "ring.blend")
    report = results.latest()
    loose = Finding(Severity.WARNING, "nothing-marked", "Nothing is marked.", Location())
    results.keep(replace(report, outcome=replace(report.outcome, findings=(loose,))))
    said = [line.short for line in lines.lines_of(results.latest())]
    assert said
    bpy.ops.wm.save_as_mainfile(filepath=file)
    bpy.ops.wm.open_mainfile(filepath=file)
    as_saved.compare()
    shown_now = _joined(shown()["Proof"])
    assert all(line in shown_now for line in said) and "changed since" not in shown_now
    bpy.context.scene.stowfold.rim += 1.0
    as_saved.compare()
    assert "The model was changed since" in _joined(shown()["Proof"])
    # saved again without a check, the old words do not pass for those of the changed model
    bpy.ops.wm.save_as_mainfile(filepath=file)
    bpy.ops.wm.open_mainfile(filepath=file)
    assert "The model was changed since" in _joined(shown()["Proof"])
    bpy.context.scene.stowfold.last_findings = "[1, 2"
    assert "As saved on 20" in _joined(shown()["Proof"])
