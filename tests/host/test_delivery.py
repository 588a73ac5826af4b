"""Delivery: a folder of the building's own, replaced without asking again, and the way to its files afterwards."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import bpy
import pytest
from host_stand_ins import Button, Context, Drawn
from slow_cases import one_quick
from stowfold.cut import delivery
from stowfold.cut import panel as cut
from stowfold.cut.operators import export
from stowfold.jobs import results
from stowfold.window import words


@pytest.fixture(autouse=True)
def nothing_delivered():
    delivery.forget()


def texts(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def opened(operator):
    """What an operator would hand to the system, or the words with which it is grey."""
    with pytest.MonkeyPatch.context() as patch:
        said, shown = [], []
        patch.setattr(operator, "poll_message_set", said.append, raising=False)
        if not operator.poll(bpy.context):
            return said[0]

        def show(path):
            shown.append(path)
            return {"FINISHED"}

        button = Opening(operator.target, show)
        assert export._Delivered.execute(button, bpy.context) == {"FINISHED"}
        assert button.told == [f"The system was asked to open '{shown[0]}'"]
        return shown[0]


@dataclass(eq=False)
class Asking:
    """The export as the host opens its file browser for it."""

    directory: str = ""
    filename: str = ""


@dataclass
class Browser:
    """A window manager that notes for which operators it opened a file browser."""

    opened: list[Asking] = field(default_factory=list)

    def fileselect_add(self, operator):
        self.opened.append(operator)


@dataclass(frozen=True)
class Opening:
    """A button that has the system open a file; notes what it tells the maker."""

    target: Callable[[], Path]
    open: Callable[[Path], set[str]]
    told: list[str] = field(default_factory=list)

    def report(self, _kind, text):
        self.told.append(text)


def proposed(monkeypatch):
    """What the file browser is opened with."""
    dialog, browser = Asking(), Browser()
    context = Context(window_manager=browser, scene=bpy.context.scene)
    assert export.STOWFOLD_OT_export.invoke(dialog, context, None) == {"RUNNING_MODAL"}
    assert browser.opened == [dialog]
    return dialog.directory, dialog.filename


@pytest.mark.filterwarnings("ignore:.*does not support blend relative:RuntimeWarning")
@pytest.mark.slow
def test_the_folder_is_proposed_beside_the_file_and_made_only_by_the_export(add_ring, tmp_path, monkeypatch):
    add_ring("Toll house, north")
    bpy.ops.wm.save_as_mainfile(filepath=str(tmp_path / "toll.blend"))
    directory, name = proposed(monkeypatch)
    assert (Path(directory), name) == (tmp_path, "toll-house-north-cut-files")
    assert [path.name for path in tmp_path.iterdir()] == ["toll.blend"]
    assert bpy.ops.stowfold.export(directory=directory, filename=name) == {"FINISHED"}
    assert "guide.html" in texts(tmp_path / name)
    assert {path.name for path in tmp_path.iterdir()} == {"toll.blend", name}


@pytest.mark.parametrize("there", [True, False])
def test_a_file_that_is_not_saved_goes_among_the_documents_or_into_the_home_folder(
    add_ring, tmp_path, monkeypatch, there
):
    add_ring()
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    if there:
        (tmp_path / "Documents").mkdir()
    directory, name = proposed(monkeypatch)
    assert (Path(directory), name) == (tmp_path / "Documents" if there else tmp_path, "boat-shed-cut-files")


@pytest.mark.slow
def test_the_last_folder_is_proposed_again_and_another_building_gets_its_own(add_ring, tmp_path, monkeypatch):
    target = add_ring()
    bpy.ops.stowfold.export(directory=str(tmp_path), filename="mine")
    assert proposed(monkeypatch) == (f"{tmp_path}/", "mine")
    target.name = "Sluice"
    assert proposed(monkeypatch)[1] == "sluice-cut-files"


@pytest.mark.slow
def test_who_goes_into_the_folder_that_is_named_means_that_folder(add_ring, tmp_path):
    add_ring()
    inside = tmp_path / "boat-shed-cut-files"
    inside.mkdir()
    assert bpy.ops.stowfold.export(directory=str(inside), filename=inside.name) == {"FINISHED"}
    assert "guide.html" in texts(inside)
    assert not (inside / inside.name).exists()


@pytest.mark.slow
def test_the_same_building_replaces_its_own_files_without_a_question(add_ring, tmp_path):
    add_ring()
    bpy.ops.stowfold.export(directory=str(tmp_path))
    (tmp_path / "notes.txt").write_text("mine")
    before = texts(tmp_path)
    bpy.context.scene.stowfold.rim = 9.0
    assert bpy.ops.stowfold.export(directory=str(tmp_path)) == {"FINISHED"}
    after = texts(tmp_path)
    assert after["report.json"] != before["report.json"]
    assert after["notes.txt"] == b"mine"


@pytest.mark.slow
def test_files_of_another_building_are_not_replaced_without_a_question(add_ring, tmp_path):
    target = add_ring()
    bpy.ops.stowfold.export(directory=str(tmp_path))
    before = texts(tmp_path)
    target.name = "Sluice"
    with pytest.raises(RuntimeError, match=r"already holds report\.json, guide\.html"):
        bpy.ops.stowfold.export(directory=str(tmp_path))
    assert texts(tmp_path) == before
    assert bpy.ops.stowfold.export(directory=str(tmp_path), overwrite=True) == {"FINISHED"}
    assert texts(tmp_path) != before


@pytest.mark.slow
def test_a_sheet_that_somebody_edited_is_not_replaced_without_a_question(add_ring, tmp_path):
    add_ring()
    bpy.ops.stowfold.export(directory=str(tmp_path))
    sheet = next(tmp_path.glob("sheet-*.svg"))
    sheet.write_text(sheet.read_text().replace("<svg", "<!-- moved by hand --><svg", 1))
    before = texts(tmp_path)
    with pytest.raises(RuntimeError, match=f"already holds {sheet.name};"):
        bpy.ops.stowfold.export(directory=str(tmp_path))
    assert texts(tmp_path) == before


@pytest.mark.slow
def test_guide_and_folder_can_be_opened_after_an_export_and_say_why_not_before(add_ring, tmp_path):
    guide, folder = export.STOWFOLD_OT_open_guide, export.STOWFOLD_OT_open_folder
    add_ring()
    assert opened(guide) == opened(folder) == "Export the cut files first"
    bpy.ops.stowfold.export(directory=str(tmp_path), filename="cut")
    assert opened(guide) == tmp_path / "cut" / "guide.html"
    assert opened(folder) == tmp_path / "cut"
    (tmp_path / "cut" / "guide.html").unlink()
    assert "guide.html' is gone; export the cut files again" in opened(guide)
    assert opened(folder) == tmp_path / "cut"
    shutil.rmtree(tmp_path / "cut")
    assert "cut' is gone" in opened(folder)


def refuse(_path):
    raise RuntimeError("no program")


@pytest.mark.parametrize("show", one_quick([refuse, lambda _path: {"CANCELLED"}]))
def test_a_system_that_opens_nothing_is_told_with_the_place(add_ring, tmp_path, show):
    add_ring()
    bpy.ops.stowfold.export(directory=str(tmp_path))
    button = Opening(export.STOWFOLD_OT_open_guide.target, show)
    assert export._Delivered.execute(button, bpy.context) == {"CANCELLED"}
    assert button.told == [f"The system did not open it; open '{tmp_path / 'guide.html'}' by hand"]


@pytest.mark.slow
def test_another_file_forgets_where_the_last_one_was_delivered(add_ring, tmp_path, save):
    add_ring()
    path = save()
    bpy.ops.wm.open_mainfile(filepath=str(path))
    bpy.ops.stowfold.export(directory=str(tmp_path), filename="cut")
    assert delivery.last() == tmp_path / "cut"
    bpy.ops.wm.open_mainfile(filepath=str(path))
    assert delivery.last() is None


class Labels:
    """A layout that keeps what is written and which buttons lead where."""

    def __init__(self, kept=None):
        self.kept = kept if kept is not None else {"labels": [], "operators": {}}

    def _inside(self, **_options):
        return Labels(self.kept)

    column = row = box = _inside

    def label(self, *, text, icon="NONE"):
        self.kept["labels"].append(text)

    def prop(self, *_args, **_options):
        pass

    def operator(self, name, **_options):
        return self.kept["operators"].setdefault(name, Button())

    @property
    def text(self):
        return " ".join(" ".join(self.kept["labels"]).split())


@pytest.mark.slow
def test_errors_that_keep_sheets_back_are_told_in_the_step_and_beside_the_browser(add_ring, monkeypatch):
    monkeypatch.setattr(words, "letters_per_line", lambda _context: 34)
    target = add_ring()
    target.scale = (1.0, 1.0, 6.0)
    bpy.context.view_layer.update()
    bpy.ops.stowfold.check()
    panel, dialog = Labels(), Labels()
    cut.STOWFOLD_PT_cut.draw(Drawn(panel), bpy.context)
    export.STOWFOLD_OT_export.draw(Drawn(dialog), bpy.context)
    for said in (panel.text, dialog.text):
        assert "2 errors at the last check: no sheets" in said
    assert results.errors_in(results.for_object(target))
    # who wants sheets in spite of errors is not told that there will be none
    dialog = Labels()
    export.STOWFOLD_OT_export.draw(Drawn(dialog, anyway=True), bpy.context)
    assert "no sheets" not in dialog.text
    assert "not saved yet" in dialog.text
