"""Lasers: the values of a known one are copied into the file, where they can be changed; others stay as they are."""

from __future__ import annotations

from dataclasses import replace

from bpy.props import BoolProperty, StringProperty
from bpy.types import Context, Event, Operator

from ...geometry.beam.laser import Operation
from ...geometry.board.library import slug
from ...geometry.errors import BadSettingError
from ...geometry.sheet.fills import rgb
from ...host.laser_library import keep, known_lasers, laser_in, own_lasers, remove
from ...host.lengths import millimetres
from ...host.pins import choose_laser
from ...host.stock_library import laser_folder
from ...host.views import redraw_views
from ...jobs import results
from ...jobs.reporting import report_errors
from ...window.asking import AsksFirst


class STOWFOLD_OT_take_laser(Operator):
    """Take bed, margins, speeds and colours of this laser into the file"""

    bl_idname = "stowfold.take_laser"
    bl_label = "Take Laser"
    bl_options = {"REGISTER", "UNDO"}

    laser: StringProperty(name="Laser", options={"HIDDEN"})

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        laser = known_lasers().get(self.laser)
        if laser is None:
            raise BadSettingError(f"There is no laser '{self.laser}' any more; choose another one")
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
        ours.fill_speed = laser.feeds[Operation.FILL].speed
        ours.engrave_speed = laser.feeds[Operation.ENGRAVE].speed
        for operation, colour in laser.colours.items():
            setattr(ours, f"{operation.value}_colour", rgb(colour))
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

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        ours = context.scene.stowfold
        if self.laser not in known_lasers() or self.laser == ours.laser.profile or self.laser in ours.other_lasers:
            raise BadSettingError(f"The laser '{self.laser}' is not known or in use already; choose another one")
        ours.other_lasers.add().name = self.laser
        results.suspect_all()
        return {"FINISHED"}


class STOWFOLD_OT_remove_laser(Operator):
    """Leave this laser out"""

    bl_idname = "stowfold.remove_laser"
    bl_label = "Remove Other Laser"
    bl_options = {"REGISTER", "UNDO"}

    laser: StringProperty(name="Laser", options={"HIDDEN"})

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        others = context.scene.stowfold.other_lasers
        index = others.find(self.laser)
        if index < 0:
            raise BadSettingError(f"The laser '{self.laser}' is not among the others")
        others.remove(index)
        results.suspect_all()
        return {"FINISHED"}


class STOWFOLD_OT_set_bed(Operator):
    """Set the size of the laser's bed"""

    bl_idname = "stowfold.set_bed"
    bl_label = "Set Bed"
    bl_options = {"REGISTER", "UNDO"}

    width: millimetres("Width", "Width that the laser reaches", 600.0, 10.0)
    depth: millimetres("Depth", "Depth that the laser reaches", 300.0, 10.0)

    def execute(self, context: Context) -> set[str]:
        laser = context.scene.stowfold.laser
        laser.bed_width, laser.bed_depth = self.width, self.depth
        return {"FINISHED"}


class STOWFOLD_OT_keep_laser(Operator):
    """Keep the laser as it is set here in your own list, for every other file too. The list is not undone"""

    bl_idname = "stowfold.keep_laser"
    bl_label = "Keep Laser"
    bl_options = {"UNDO"}

    label: StringProperty(name="Name", description="What your laser is called", options={"SKIP_SAVE"})
    instead: BoolProperty(
        name="Replace Namesake",
        description="Write over the laser of your own that has this name",
        options={"SKIP_SAVE"},
    )

    def invoke(self, context: Context, _event: Event) -> set[str]:
        profile = context.scene.stowfold.laser.profile
        own = own_lasers().get(profile)
        known = known_lasers().get(profile)
        self.label = own.label if own is not None else f"my {known.label}" if known is not None else "my laser"
        self.instead = own is not None
        return context.window_manager.invoke_props_dialog(self, width=320)

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        label = self.label.strip()
        if not label:
            raise BadSettingError("Give the laser a name")
        namesake = next((laser for laser in known_lasers().values() if laser.label == label), None)
        if namesake is not None and not (self.instead and namesake.name in own_lasers()):
            raise BadSettingError(f"There is a laser called {label} already; give yours another name")
        name = namesake.name if namesake is not None else slug(label, known_lasers())
        keep(replace(laser_in(context.scene), name=name, label=label))
        context.scene.stowfold.laser.profile = name
        self.report({"INFO"}, f"{label} is kept in {laser_folder()}")
        return {"FINISHED"}


class STOWFOLD_OT_delete_laser(AsksFirst, Operator):
    """Delete a laser from your own list; this cannot be undone"""

    bl_idname = "stowfold.delete_laser"
    bl_label = "Delete Own Laser"

    asked_title, asked_button = "Delete Own Laser?", "Delete"

    laser: StringProperty(name="Laser", options={"HIDDEN", "SKIP_SAVE"})

    def question(self, _context: Context) -> str | None:
        own = own_lasers().get(self.laser)
        return f"{own.label if own else self.laser} is deleted from your list. This cannot be undone."

    @report_errors()
    def execute(self, _context: Context) -> set[str]:
        remove(self.laser)
        results.suspect_all()
        return {"FINISHED"}


class STOWFOLD_OT_cut_part_on(Operator):
    """Have this part cut on this laser, or again on the first that takes it"""

    bl_idname = "stowfold.cut_part_on"
    bl_label = "Cut Part on Laser"
    bl_options = {"REGISTER", "UNDO"}

    part: StringProperty(name="Part", options={"HIDDEN", "SKIP_SAVE"})
    laser: StringProperty(name="Laser", description="Empty for the first that takes it", options={"SKIP_SAVE"})

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        ours = context.scene.stowfold
        if self.laser and self.laser != ours.laser.profile and self.laser not in ours.other_lasers:
            raise BadSettingError(f"The laser '{self.laser}' is not among those of this file; add it first")
        if not self.part:
            raise BadSettingError("Click a part on its sheet first")
        choose_laser(context.scene, self.part, self.laser)
        results.suspect_all()
        redraw_views()
        return {"FINISHED"}


CLASSES = (
    STOWFOLD_OT_take_laser,
    STOWFOLD_OT_set_bed,
    STOWFOLD_OT_cut_part_on,
    STOWFOLD_OT_keep_laser,
    STOWFOLD_OT_delete_laser,
    STOWFOLD_OT_add_laser,
    STOWFOLD_OT_remove_laser,
)
