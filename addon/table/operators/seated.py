"""Seated: the view from a player's eye, and places of the result list brought into view."""

from __future__ import annotations

import bpy
import numpy as np
from bpy.props import IntProperty, StringProperty
from bpy.types import Context, Object, Operator, RegionView3D

from ...geometry.play.maps import changes
from ...geometry.play.percent import as_percent
from ...geometry.play.sight import FigureHeight
from ...host import table
from ...host.lengths import mm_per_unit
from ...host.views import redraw_views
from ...jobs.reporting import needs, report_errors, warn
from .. import play_results

#: From how far a square is looked at that was picked from the list, in squares.
_AWAY = 14.0


def _view(context: Context) -> RegionView3D | None:
    """Return the 3D view in which the click was made, else the first of the screen."""
    if context.area is not None and context.area.type == "VIEW_3D":
        return context.area.spaces.active.region_3d
    for area in context.screen.areas if context.screen else ():
        if area.type == "VIEW_3D":
            return area.spaces.active.region_3d
    return None


def look_from(view: RegionView3D, eye: np.ndarray, target: np.ndarray) -> None:
    """Have a 3D view look from an eye to a target, (3,) in units of the scene."""
    from mathutils import Vector

    way = Vector(target) - Vector(eye)
    view.view_perspective = "PERSP"
    view.view_rotation = way.to_track_quat("-Z", "Y")
    view.view_distance = way.length
    view.view_location = target


def _seat_named(context: Context, name: str) -> Object | None:
    """Return the seat of this name, else the active one, else the first."""
    seats = table.objects_at_table(context.scene, "SEAT")
    wanted = name or (context.object.name if context.object is not None else "")
    return next((seat for seat in seats if seat.name == wanted), seats[0] if seats and not name else None)


class STOWFOLD_OT_sit_here(Operator):
    """Look at the room from this seat's eye. Stand Up brings the view back"""

    bl_idname = "stowfold.sit_here"
    bl_label = "Sit Here"

    seat: StringProperty(name="Seat", description="Name of the seat; the active one if empty", options={"SKIP_SAVE"})

    @classmethod
    def poll(cls, context: Context) -> bool:
        return needs(cls, table.objects_at_table(context.scene, "SEAT"), "Add a seat first")

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        view, target = _view(context), _seat_named(context, self.seat)
        if view is None or target is None:
            return warn(self, "There is no 3D view or no such seat")
        eye, looks_at = table.look_of(target, context.scene)
        play = context.window_manager.stowfold.play
        if not play.sitting:
            play.left_from, play.left_turned = view.view_location, view.view_rotation
            play.left_distance, play.left_as = view.view_distance, view.view_perspective
        unit = mm_per_unit(context.scene)
        look_from(view, eye / unit, looks_at / unit)
        play.sitting = target.name
        self.report({"INFO"}, f"Sitting at {target.name}")
        return {"FINISHED"}


class STOWFOLD_OT_stand_up(Operator):
    """Return to the view as it was before sitting down"""

    bl_idname = "stowfold.stand_up"
    bl_label = "Stand Up"

    @classmethod
    def poll(cls, context: Context) -> bool:
        return needs(cls, context.window_manager.stowfold.play.sitting, "Nobody sits; use Sit Here first")

    def execute(self, context: Context) -> set[str]:
        view, play = _view(context), context.window_manager.stowfold.play
        if view is None:
            return {"CANCELLED"}
        view.view_rotation, view.view_location = play.left_turned, play.left_from
        view.view_distance, view.view_perspective = play.left_distance, play.left_as
        play.sitting = ""
        return {"FINISHED"}


class STOWFOLD_OT_show_place(Operator):
    """Select this seat, or put the cursor into this square and bring it into view"""

    bl_idname = "stowfold.show_place"
    bl_label = "Show Place"
    bl_options = {"REGISTER", "UNDO"}

    seat: StringProperty(name="Seat", options={"SKIP_SAVE", "HIDDEN"})
    row: IntProperty(name="Row", default=-1, options={"SKIP_SAVE", "HIDDEN"})
    column: IntProperty(name="Column", default=-1, options={"SKIP_SAVE", "HIDDEN"})

    def execute(self, context: Context) -> set[str]:
        if context.mode != "OBJECT":
            bpy.ops.object.mode_set(mode="OBJECT")
        if self.seat:
            target = context.scene.objects.get(self.seat)
            if target is None:
                return warn(self, f"The seat {self.seat} is gone")
            for candidate in context.view_layer.objects:
                candidate.select_set(candidate == target)
            context.view_layer.objects.active = target
        result = play_results.shown()
        if self.row >= 0 and self.column >= 0 and result is not None and result.maps is not None:
            squares = result.maps.squares
            if self.row >= squares.rows or self.column >= squares.columns:
                return warn(self, "This square is gone")
            unit = mm_per_unit(context.scene)
            spot = squares.centres[self.row, self.column] / unit
            context.scene.cursor.location = spot
            view = _view(context)
            if view is not None and not context.window_manager.stowfold.play.sitting:
                view.view_location = spot
                view.view_distance = _AWAY * squares.size / unit
        redraw_views()
        return {"FINISHED"}


class STOWFOLD_OT_keep_map(Operator):
    """Keep the present map as A; later maps are laid against it"""

    bl_idname = "stowfold.keep_map"
    bl_label = "Keep for Comparison"

    @classmethod
    def poll(cls, context: Context) -> bool:
        result = play_results.shown()
        drawn = result is not None and result.maps is not None and result.maps.seats
        return needs(cls, drawn, "There is no map yet; add a table and seats first")

    def execute(self, context: Context) -> set[str]:
        result = play_results.shown()
        play_results.keep_for_comparison(None if result is None else result.maps)
        self.report({"INFO"}, "Kept as A; change the building and look at Change from A")
        return {"FINISHED"}


class STOWFOLD_OT_forget_map(Operator):
    """Forget the map that was kept for comparison"""

    bl_idname = "stowfold.forget_map"
    bl_label = "Forget Map A"

    @classmethod
    def poll(cls, context: Context) -> bool:
        return play_results.kept() is not None

    def execute(self, context: Context) -> set[str]:
        play_results.keep_for_comparison(None)
        return {"FINISHED"}


class STOWFOLD_OT_cost_of_gable(Operator):
    """Lay raised end walls against level wall tops: what each seat loses by a gable when the roof is lifted off"""

    bl_idname = "stowfold.cost_of_gable"
    bl_label = "What Does a Gable Cost"

    @classmethod
    def poll(cls, context: Context) -> bool:
        return needs(cls, table.objects_at_table(context.scene, "SEAT"), "Add a table and seats first")

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        play = context.window_manager.stowfold.play
        both = play_results.weigh_gables(context.scene)
        if both is None:
            return warn(self, "There is no building yet; add one first")
        name, before, after = changes(*both, FigureHeight[play.height])[0]
        play.shows = "CHANGE"
        redraw_views()
        lost = (
            "No seat loses by a gable"
            if after >= before
            else f"{name} loses most: {as_percent(before)} to {as_percent(after)}"
        )
        self.report({"INFO"}, f"{lost}; A is level wall tops, now raised end walls")
        return {"FINISHED"}


CLASSES = (
    STOWFOLD_OT_cost_of_gable,
    STOWFOLD_OT_sit_here,
    STOWFOLD_OT_stand_up,
    STOWFOLD_OT_show_place,
    STOWFOLD_OT_keep_map,
    STOWFOLD_OT_forget_map,
)
