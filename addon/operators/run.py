"""Checking: the whole chain on the block-out, its outcome kept for the sidebar and the export."""

from __future__ import annotations

import bpy
from bpy.types import Operator

from .. import bridge, results
from ..geometry.errors import GeometryError
from ..geometry.findings import Severity
from ..play_checks import with_play


def make(context: bpy.types.Context) -> results.Report:
    """Run the chain on the scene's block-out and keep what comes of it.

    The failure's sentence is in the report where the building could not be made or even be read.
    """
    scene = context.scene
    manager = context.window_manager
    objects: tuple[bpy.types.Object, ...] = ()
    solid = settings = outcome = failure = None
    manager.progress_begin(0, 100)
    try:
        # the packages of the chain are imported only here, so that the add-on can say what is missing
        from ..geometry import chain

        objects = bridge.find_block_out(scene)
        solid = bridge.read_solid(objects, scene)
        settings = bridge.read_settings(scene)
        outcome = chain.run(
            solid,
            settings,
            title=bridge.title_of(objects),
            progress=lambda share: manager.progress_update(int(share * 80)),
        )
        outcome = with_play(outcome, scene)
    except GeometryError as error:
        failure = str(error)
    except ModuleNotFoundError as error:
        failure = f"The Python package {error.name} is missing; install Stowfold from its zip, which brings it"
    finally:
        manager.progress_end()
    if not objects and context.object is not None:
        objects = (context.object,)
    # 0 is no object's id: what failed before any object was found is still the latest report
    report = results.Report(tuple(each.session_uid for each in objects) or (0,), solid, settings, outcome, failure)
    results.keep(report)
    return report


def sum_up(report: results.Report) -> tuple[str, str]:
    """Return the report type of the host and one sentence about a finished run."""
    if report.outcome is None:
        return "ERROR", report.failure or "Nothing could be made"
    outcome = report.outcome
    counts = {level: sum(each.severity is level for each in outcome.findings) for level in Severity}
    said = [f"{count} {level.value}{'s' if count != 1 else ''}" for level, count in counts.items() if count]
    sheets = len(outcome.layout.sheets)
    head = f"{len(outcome.parts)} parts on {sheets} sheet{'s' if sheets != 1 else ''}"
    proof = "the proof holds" if outcome.proof.holds else "the proof fails"
    level = "WARNING" if counts[Severity.ERROR] or not outcome.proof.holds else "INFO"
    return level, f"{head}; {proof}; {', '.join(said) if said else 'no findings'}"


def something_to_cut(operator: type[Operator], context: bpy.types.Context) -> bool:
    """Return whether the scene holds a mesh; let the operator say what to do where it does not."""
    if any(each.type == "MESH" for each in context.scene.objects):
        return True
    operator.poll_message_set("Model the building's walls as a mesh first")
    return False


class STOWFOLD_OT_check(Operator):
    """Turn the block-out into parts, fold them back by arithmetic, and list what is worth knowing"""

    bl_idname = "stowfold.check"
    bl_label = "Check Building"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return something_to_cut(cls, context)

    def execute(self, context: bpy.types.Context) -> set[str]:
        report = make(context)
        level, sentence = sum_up(report)
        self.report({level}, sentence)
        for area in context.screen.areas if context.screen else ():
            area.tag_redraw()
        return {"CANCELLED"} if level == "ERROR" else {"FINISHED"}


CLASSES = (STOWFOLD_OT_check,)
