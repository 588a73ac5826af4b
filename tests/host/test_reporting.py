"""What operators share: errors become one sentence, questions come before what cannot be undone."""

from __future__ import annotations

from types import SimpleNamespace

import bpy
import pytest
from stowfold.geometry.errors import BadSettingError
from stowfold.host.handlers import Handlers
from stowfold.jobs.reporting import needs, report_errors, warn
from stowfold.window.asking import AsksFirst, AsksForFolder
from stowfold.window.kept import Kept


class Told:
    """An operator without the host, which takes note of its reports."""

    def __init__(self):
        self.said = []

    def report(self, level, sentence):
        self.said.append((*level, sentence))


class Works(Told):
    """Its work is handed to it."""

    def __init__(self, work):
        super().__init__()
        self.work = work

    @report_errors()
    def execute(self, _context):
        return self.work()

    @report_errors("WARNING")
    def invoke(self, _context, event):
        return self.work(event)


def fails(error):
    def work(*_ignored):
        raise error

    return work


def test_what_goes_well_is_handed_on():
    operator = Works(lambda *given: {"FINISHED", *given})
    assert operator.execute(None) == {"FINISHED"}
    assert operator.invoke(None, "CLICK") == {"FINISHED", "CLICK"}
    assert operator.said == []


def test_an_error_is_one_report_of_the_level_that_was_asked_for():
    operator = Works(fails(BadSettingError("The sheet is too small")))
    assert operator.execute(None) == operator.invoke(None, None) == {"CANCELLED"}
    assert operator.said == [("ERROR", "The sheet is too small"), ("WARNING", "The sheet is too small")]


def test_a_missing_package_is_named():
    operator = Works(fails(ModuleNotFoundError("No module named 'shapely'", name="shapely")))
    assert operator.execute(None) == {"CANCELLED"}
    ((_, sentence),) = operator.said
    assert sentence.startswith("The Python package shapely is missing")


def test_a_fault_of_ours_stays_a_fault():
    with pytest.raises(ZeroDivisionError):
        Works(fails(ZeroDivisionError())).execute(None)


def test_the_host_takes_decorated_methods():
    """The host counts the arguments of a method before it registers the class."""

    class STOWFOLD_OT_try_decorated(bpy.types.Operator):
        bl_idname = "stowfold.try_decorated"
        bl_label = "Try Decorated"

        @report_errors()
        def invoke(self, context, _event):
            return self.execute(context)

        @report_errors()
        def execute(self, _context):
            raise BadSettingError("Nothing to try")

    bpy.utils.register_class(STOWFOLD_OT_try_decorated)
    try:
        with pytest.raises(RuntimeError, match="Nothing to try"):
            bpy.ops.stowfold.try_decorated()
    finally:
        bpy.utils.unregister_class(STOWFOLD_OT_try_decorated)


def test_a_warning_is_reported_and_nothing_done():
    operator = Told()
    assert warn(operator, "There is no sheet") == {"CANCELLED"}
    assert operator.said == [("WARNING", "There is no sheet")]


def test_a_need_that_is_not_met_gives_advice():
    advised = []
    operator = SimpleNamespace(poll_message_set=advised.append)
    assert needs(operator, ["a seat"], "Add a seat first") is True
    assert advised == []
    assert needs(operator, [], "Add a seat first") is False
    assert advised == ["Add a seat first"]


class Deletes(AsksFirst):
    asked_title, asked_button = "Delete It?", "Delete"

    def __init__(self, sentence):
        self.sentence = sentence

    def question(self, _context):
        return self.sentence

    def execute(self, _context):
        return {"FINISHED"}


def test_a_click_is_asked_about_and_what_needs_no_question_is_done_at_once():
    asked = []

    def confirm(operator, event, **words):
        asked.append((event, words))
        return {"RUNNING_MODAL"}

    context = SimpleNamespace(window_manager=SimpleNamespace(invoke_confirm=confirm))
    assert Deletes("It is gone then.").invoke(context, "CLICK") == {"RUNNING_MODAL"}
    ((event, words),) = asked
    assert event == "CLICK"
    assert words == {
        "title": "Delete It?",
        "message": "It is gone then.",
        "confirm_text": "Delete",
        "icon": "WARNING",
    }
    assert Deletes(None).invoke(context, "CLICK") == {"FINISHED"}
    assert len(asked) == 1


def test_a_folder_that_was_not_chosen_is_said():
    operator = AsksForFolder()
    operator.directory = ""
    with pytest.raises(BadSettingError, match="No folder was chosen"):
        operator.folder()
    operator.directory = "/somewhere"
    assert operator.folder().name == "somewhere"


def test_the_file_browser_opens_where_files_went_last():
    opened = []
    view = SimpleNamespace(cut_folder="/before")
    manager = SimpleNamespace(stowfold=view, fileselect_add=opened.append)
    operator = AsksForFolder()
    operator.directory = ""
    assert operator.browse(SimpleNamespace(window_manager=manager)) == {"RUNNING_MODAL"}
    assert operator.directory == "/before"
    assert opened == [operator]


def test_a_kept_value_is_made_once_for_a_source():
    made, kept = [], Kept()

    def make():
        made.append(1)
        return len(made)

    assert [kept.get("a", make), kept.get("a", make), kept.get("b", make), kept.get("a", make)] == [1, 1, 2, 3]
    kept.forget()
    assert kept.get("a", make) == 4


def test_handlers_leave_lists_and_timers_as_they_were():
    forgotten = []

    def listen(*_ignored):
        pass

    def later():
        return None

    handlers = Handlers((("undo_post", listen), ("load_post", listen)), (later,), forget=lambda: forgotten.append(1))
    before = [list(getattr(bpy.app.handlers, name)) for name in ("undo_post", "load_post")]
    handlers.attach()
    assert [getattr(bpy.app.handlers, name)[-1] for name in ("undo_post", "load_post")] == [listen, listen]
    bpy.app.timers.register(later, first_interval=60.0)
    handlers.detach()
    assert [list(getattr(bpy.app.handlers, name)) for name in ("undo_post", "load_post")] == before
    assert not bpy.app.timers.is_registered(later)
    assert forgotten == [1]
