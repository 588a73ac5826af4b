"""Lasers: the values of a known one are taken into the file, to be changed there."""

from __future__ import annotations

from bpy.props import StringProperty
from bpy.types import Context, Operator

from ..geometry.sheet.laser import Operation
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
        return {"FINISHED"}


CLASSES = (STOWFOLD_OT_take_laser,)
