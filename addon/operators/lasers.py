"""Lasers: the values of a known one are taken into the file, to be changed there; others stand by as they are."""

from __future__ import annotations

from bpy.props import StringProperty
from bpy.types import Context, Operator

from .. import results
from ..geometry.beam.laser import Operation
from ..laser_library import known_lasers


class STOWFOLD_OT_take_laser(Operator):
    """Take bed, margins, speeds and colours of this laser into the file"""

    bl_idname = "stowfold.take_laser"
    bl_label = "Take Laser"
    bl_options = {"REGISTER", "UNDO"}

    laser: StringProperty(name="Laser", options={"HIDDEN"})

    def execute(self, context: Context) -> set[str]:
        laser = known_lasers().get(self.laser)
        if laser is None:
            self.report({"ERROR"}, f"There is no laser '{self.laser}' any more; choose another one")
            return {"CANCELLED"}
        ours = context.scene.stowfold.laser
        ours.profile = laser.name
        ours.bed_width, ours.bed_depth = laser.bed
        ours.margin, ours.spacing = laser.margin, laser.spacing
        ours.own_kerf = laser.kerf or 0.0
        ours.holds, ours.hold_length = laser.holds, laser.hold_length
        cut = laser.feeds[Operation.OUTER]
        ours.cut_speed, ours.pierce, ours.passes = cut.speed, cut.pierce, cut.passes
        ours.slit_speed = laser.feeds[Operation.SLITS].speed
        ours.score_speed = laser.feeds[Operation.SCORE].speed
        ours.engrave_speed = laser.feeds[Operation.ENGRAVE].speed
        index = context.scene.stowfold.other_lasers.find(laser.name)
        if index >= 0:  # it cannot be its own helper
            context.scene.stowfold.other_lasers.remove(index)
        return {"FINISHED"}


class STOWFOLD_OT_add_laser(Operator):
    """Let this laser cut what is too large for the first one"""

    bl_idname = "stowfold.add_laser"
    bl_label = "Add Other Laser"
    bl_options = {"REGISTER", "UNDO"}

    laser: StringProperty(name="Laser", options={"HIDDEN"})

    def execute(self, context: Context) -> set[str]:
        ours = context.scene.stowfold
        if self.laser not in known_lasers() or self.laser == ours.laser.profile or self.laser in ours.other_lasers:
            self.report({"ERROR"}, f"The laser '{self.laser}' is not known or in use already; choose another one")
            return {"CANCELLED"}
        ours.other_lasers.add().name = self.laser
        results.suspect_all()
        return {"FINISHED"}


class STOWFOLD_OT_remove_laser(Operator):
    """Leave this laser out"""

    bl_idname = "stowfold.remove_laser"
    bl_label = "Remove Other Laser"
    bl_options = {"REGISTER", "UNDO"}

    laser: StringProperty(name="Laser", options={"HIDDEN"})

    def execute(self, context: Context) -> set[str]:
        others = context.scene.stowfold.other_lasers
        index = others.find(self.laser)
        if index < 0:
            self.report({"ERROR"}, f"The laser '{self.laser}' is not among the others")
            return {"CANCELLED"}
        others.remove(index)
        results.suspect_all()
        return {"FINISHED"}


CLASSES = (STOWFOLD_OT_take_laser, STOWFOLD_OT_add_laser, STOWFOLD_OT_remove_laser)
