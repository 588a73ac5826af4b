"""The head of the tab: a row of all steps with how they stand, and below it what comes next with its button."""

from __future__ import annotations

from collections.abc import Sequence

from bpy.types import Context, Panel

from .cut import delivery
from .host import marks, stock_library
from .host.finishes import is_finish, materials_in
from .jobs import results
from .plot import proposing
from .proof.operators.help import STOWFOLD_OT_open_help
from .window import words
from .window.next_step import Checked, Facts, State, next_advice, states_of
from .window.running import draw_running
from .window.step import STEPS, Step, chosen_step

__all__ = ["CLASSES", "read_facts"]

_ICONS = {
    State.DONE: "CHECKMARK",
    State.NEXT: "PLAY",
    State.NEEDS_YOU: "ERROR",
    State.LATER: "DOT",
}

#: So many letters in a line, and all steps stand beside one another; else in two rows, in a narrow sidebar in four.
_WIDE = 56

#: How high the button of what comes next is, in heights of a button.
_HIGH = 1.5


def read_facts(context: Context) -> Facts:
    """Return what is known of the scene's building; cheap enough to be asked whenever the sidebar is drawn."""
    scene = context.scene
    meshes = [target for target in scene.objects if target.type == "MESH"]
    buildings = [target for target in meshes if target.stowfold.is_block_out]
    report = results.shown(context)
    marked = any(marks.any_marked(target.data) for target in buildings or meshes)
    laid = results.laid_out(context)
    errors = results.errors_in(report) if report is not None else ()
    stocks, known = scene.stowfold.stocks, stock_library.entries()
    return Facts(
        # a lone mesh counts where it was marked or checked; the host's own first cube is none
        building=bool(buildings) or marked or bool(meshes and report is not None),
        marked=marked,
        dressed=any(is_finish(material) for material in materials_in(scene)),
        seats=sum(target.stowfold.place.kind == "SEAT" for target in scene.objects),
        boards=all(getattr(stocks, kind) in known for kind in ("walls", "roof", "floor", "joiners")),
        # errors of half a change are none: the button must not turn into another one under a click
        checked=Checked.GOES_ON if proposing.are_waiting(buildings) else _checked(context, report),
        errors=len(errors),
        sheets=len(laid[0].layout.sheets) if laid is not None else 0,
        failure=(report.failure or "") if report is not None else "",
        step=chosen_step(context),
        error=_error_to_show(errors, context.window_manager.stowfold.finding),
        delivered=delivery.last() is not None,
    )


def _error_to_show(errors: Sequence[int], opened: int) -> int:
    """Return the finding that follows the opened one among the errors; the first one after the last."""
    later = [index for index in errors if index > opened]
    return next(iter(later or errors), 0)


def _checked(context: Context, report: results.Report | None) -> Checked:
    """Return what the last check is worth."""
    if results.state(context) is results.State.CHECKING:
        return Checked.GOES_ON
    if report is None:
        return Checked.NOT_YET
    if report.outcome is None:
        return Checked.FAILED
    if report.stale:
        return Checked.STALE
    # errors keep the sheets back, whatever the layout will be
    return Checked.CURRENT if report.laid or results.errors_in(report) else Checked.GOES_ON


class STOWFOLD_PT_steps(Step, Panel):
    """All steps, each with how it stands, and what comes next."""

    bl_idname = "STOWFOLD_PT_steps"
    bl_label = "Steps"
    bl_options = {"HIDE_HEADER"}

    def draw(self, context: Context) -> None:
        layout, view = self.layout, context.window_manager.stowfold
        facts = read_facts(context)
        states = states_of(facts)
        letters = words.letters_per_line(context)
        rows = 1 if letters >= _WIDE else 4 if words.is_narrow(context) else 2
        columns = -(-len(STEPS) // rows)
        grid = layout.grid_flow(row_major=True, columns=columns, even_columns=True, align=True)
        for name, _, _, _ in STEPS:
            grid.prop_enum(view, "step", name, icon=_ICONS[states[name]])
        advice = next_advice(facts)
        column = layout.column(align=True)
        said = column.row()
        words.still_paragraph(said, context, advice.sentence, lines=2)
        said.operator(STOWFOLD_OT_open_help.bl_idname, text="", icon="QUESTION", emboss=False)
        row = column.row(align=True)
        row.scale_y = _HIGH
        if draw_running(row):
            return
        button = row.operator(advice.operator, text=advice.label, icon=advice.icon)
        for name, value in advice.values:
            setattr(button, name, value)


CLASSES = (STOWFOLD_PT_steps,)
