"""Folding by command: to the three places that count, and as keys for an animation."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import bpy
from bpy.props import BoolProperty, EnumProperty, FloatProperty
from bpy.types import Context, Operator

from ...geometry.show.track import FLAT, STACKED, STANDING
from ...jobs import results
from ...jobs.reporting import needs

#: Fold times that have a name of their own, as the host wants the entries of a menu.
PLACES = (
    ("FLAT", "Flat", "All parts flat on their sheets", 0),
    ("STANDING", "Standing", "The building as it will stand", 1),
    ("STACKED", "In the Box", "All parts stacked in the box that takes them", 2),
)
_TIMES = {"FLAT": FLAT, "STANDING": STANDING, "STACKED": STACKED}

_FOLD = "stowfold.stand.fold"


def _something_stands(operator: type[Operator], context: Context) -> bool:
    report = results.shown(context)
    made = report is not None and report.outcome is not None and report.outcome.parts
    return needs(operator, made, "Check the building first")


class STOWFOLD_OT_fold_to(Operator):
    """Show the building flat on its sheets, as it will stand, or stacked in its box"""

    bl_idname = "stowfold.fold_to"
    bl_label = "Fold To"
    bl_options = {"REGISTER", "UNDO"}

    place: EnumProperty(name="Place", items=PLACES, default="STANDING")

    @classmethod
    def poll(cls, context: Context) -> bool:
        return _something_stands(cls, context)

    def execute(self, context: Context) -> set[str]:
        stand = context.scene.stowfold.stand
        stand.show = True
        stand.fold = _TIMES[self.place]
        return {"FINISHED"}


class STOWFOLD_OT_animate_folding(Operator):
    """Key the fold slider from the sheets to the standing building, and on into the box, to play and to render"""

    bl_idname = "stowfold.animate_folding"
    bl_label = "Animate Folding"
    bl_options = {"REGISTER", "UNDO"}

    seconds: FloatProperty(
        name="Seconds", description="From flat to standing, and again into the box", default=8.0, min=1.0, max=120.0
    )
    rest: FloatProperty(
        name="Rest", description="Seconds for which the building stands, and lies at both ends", default=1.5, min=0.0
    )
    stow: BoolProperty(name="Into the Box", description="Take it down again and stack it", default=True)

    @classmethod
    def poll(cls, context: Context) -> bool:
        return _something_stands(cls, context)

    def execute(self, context: Context) -> set[str]:
        scene = context.scene
        rate = scene.render.fps / scene.render.fps_base
        stand = scene.stowfold.stand
        if scene.animation_data is not None and scene.animation_data.action is not None:
            _drop_keys(scene)
        frame = float(scene.frame_start)
        times = (FLAT, STANDING, STACKED) if self.stow else (FLAT, STANDING)
        with _straight_keys(context):
            for k, time in enumerate(times):
                if k:
                    frame += self.seconds * rate
                for at in (frame, frame + self.rest * rate):
                    stand.fold = time
                    scene.keyframe_insert(_FOLD, frame=round(at))
                frame += self.rest * rate
        scene.frame_end = round(frame)
        stand.show = True
        scene.frame_set(scene.frame_start)
        self.report({"INFO"}, f"Folding runs from frame {scene.frame_start} to {scene.frame_end}; play it or render it")
        return {"FINISHED"}


def _drop_keys(scene: bpy.types.Scene) -> None:
    """Take away the keys of an earlier run."""
    for frame in range(scene.frame_start, scene.frame_end + 1):
        try:
            scene.keyframe_delete(_FOLD, frame=frame)
        except RuntimeError:  # the scene has keys, but none of ours
            return


@contextmanager
def _straight_keys(context: Context) -> Iterator[None]:
    """Have new keys run straight to the next one; the film itself eases every movement."""
    edit = context.preferences.edit
    before = edit.keyframe_new_interpolation_type
    edit.keyframe_new_interpolation_type = "LINEAR"
    try:
        yield
    finally:
        edit.keyframe_new_interpolation_type = before


CLASSES = (STOWFOLD_OT_fold_to, STOWFOLD_OT_animate_folding)
