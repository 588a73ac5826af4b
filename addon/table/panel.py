"""The step of the table."""

from __future__ import annotations

import bpy
from bpy.types import Panel, UILayout

from ..geometry.play.maps import changes, failing_squares, worst_seats
from ..geometry.play.percent import as_percent
from ..geometry.play.sight import FigureHeight
from ..window.step import ChosenStep, Step
from ..window.words import beside, draw_setting, is_narrow, paragraph
from . import play_results
from .operators.seated import (
    STOWFOLD_OT_cost_of_gable,
    STOWFOLD_OT_forget_map,
    STOWFOLD_OT_keep_map,
    STOWFOLD_OT_show_place,
    STOWFOLD_OT_sit_here,
    STOWFOLD_OT_stand_up,
)
from .operators.table import (
    STOWFOLD_OT_add_furniture,
    STOWFOLD_OT_add_miniature,
    STOWFOLD_OT_add_seat,
    STOWFOLD_OT_add_table,
    STOWFOLD_OT_propose_seats,
    STOWFOLD_OT_settle,
)

#: What of an object's place is shown, by what it counts as.
FIELDS = {
    "TABLE": ("length", "depth", "table_height"),
    "SEAT": ("stature", "chair", "slump", "lean"),
    "MINIATURE": ("squares", "base", "height", "spot"),
    "FURNITURE": ("length", "depth", "height"),
}


class STOWFOLD_PT_table(ChosenStep, Panel):
    """Table, seats, miniatures and furniture to add, and what the squares show."""

    bl_idname = "STOWFOLD_PT_table"
    bl_label = "Table"
    step = "TABLE"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        grid = layout.column(align=True)
        grid.label(text="Add to the Scene")
        row = beside(grid, context)
        row.operator(STOWFOLD_OT_add_table.bl_idname, text="Table", icon="MESH_PLANE")
        row.operator(STOWFOLD_OT_propose_seats.bl_idname, text="Seats Round It", icon="COMMUNITY")
        row = beside(grid, context)
        row.operator(STOWFOLD_OT_add_seat.bl_idname, text="Seat", icon="USER")
        row.operator(STOWFOLD_OT_add_miniature.bl_idname, text="Miniature", icon="MESH_CYLINDER")
        row.operator(STOWFOLD_OT_add_furniture.bl_idname, text="Furniture", icon="MESH_CUBE")
        row = layout.row(align=True)
        row.operator(STOWFOLD_OT_sit_here.bl_idname, icon="HIDE_OFF")
        row.operator(STOWFOLD_OT_stand_up.bl_idname, icon="LOOP_BACK")
        _draw_map(layout, context)


def _draw_map(layout: UILayout, context: bpy.types.Context) -> None:
    """Draw what the squares show, always of the same height."""
    play, settings = context.window_manager.stowfold.play, context.scene.stowfold.table
    column = layout.column()
    narrow = is_narrow(context)
    column.use_property_split = not narrow
    column.use_property_decorate = False
    if narrow:
        column.label(text="Squares Show")
    row = column.row(align=True)
    row.prop(play, "shows", text="" if narrow else None)
    row.prop(play, "show_squares", text="", icon="HIDE_OFF" if play.show_squares else "HIDE_ON")
    row = column.row()
    if play.shows == "HAND":
        row.prop(play, "finger", expand=True)
    else:
        row.enabled = play.shows != "REACH"
        row.prop(play, "height", expand=True)
    column.prop(settings, "roof_on")
    result = play_results.shown()
    if result is not None and result.failure:
        box = layout.box()
        box.alert = True
        paragraph(box, context, result.failure, icon="CANCEL")


class STOWFOLD_PT_place(Step, Panel):
    """What the selected object is at the table; the last panel, so that nothing below it moves."""

    bl_idname = "STOWFOLD_PT_place"
    bl_label = "Selected"
    bl_parent_id = "STOWFOLD_PT_table"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Return whether the active object may be something at the table."""
        target = context.object
        return target is not None and not target.stowfold.is_block_out and not target.stowfold.opening.is_opening

    def draw(self, context: bpy.types.Context) -> None:
        target = context.object
        place = target.stowfold.place
        column = self.settings_layout()
        draw_setting(column, place, "kind", text=target.name)
        for name in FIELDS.get(place.kind, ()):
            draw_setting(column, place, name)
        if place.kind == "MINIATURE":
            column.prop(context.scene.stowfold.table, "stay_on_squares")
        if place.kind in {"SEAT", "MINIATURE", "FURNITURE"}:
            column.operator(STOWFOLD_OT_settle.bl_idname, icon="SNAP_ON")


class STOWFOLD_PT_players(Step, Panel):
    """Which people see, reach and fit."""

    bl_idname = "STOWFOLD_PT_players"
    bl_label = "Players"
    bl_parent_id = "STOWFOLD_PT_table"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        column = self.settings_layout()
        for name in ("sees", "reaches", "fits"):
            draw_setting(column, context.scene.stowfold.table, name)


#: Places of each list that are shown, the worst first.
_LISTED = 6


class STOWFOLD_PT_sight(Step, Panel):
    """What else the squares show, and what counts on the table."""

    bl_idname = "STOWFOLD_PT_sight"
    bl_label = "Sight and Reach"
    bl_parent_id = "STOWFOLD_PT_table"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        play, settings = context.window_manager.stowfold.play, context.scene.stowfold.table
        column = self.settings_layout()
        for name in ("whose", "numbers", "show_lines"):
            draw_setting(column, play, name)
        column.separator()
        for name in ("leaves_open", "furniture_in", "miniatures_in"):
            draw_setting(column, settings, name)


class STOWFOLD_PT_worst(Step, Panel):
    """Seats and squares, the worst first."""

    bl_idname = "STOWFOLD_PT_worst"
    bl_label = "Worst First"
    bl_parent_id = "STOWFOLD_PT_table"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout, result = self.layout, play_results.shown()
        if result is None or result.maps is None or not result.maps.seats:
            paragraph(layout, context, "Add a building, a table and seats; then see here who sees least.", icon="INFO")
            return
        maps = result.maps
        height = FigureHeight[context.window_manager.stowfold.play.height]
        # findings are of the last check, these numbers are not
        layout.label(text=f"As it stands now, at {height.name.lower()} height", icon="TIME")
        column = layout.column(align=True)
        for name, share in worst_seats(maps, height)[:_LISTED]:
            words = f"{name}: sees {as_percent(share)}"
            column.operator(STOWFOLD_OT_show_place.bl_idname, text=words, icon="USER").seat = name
        for title, places in failing_squares(maps, height):
            layout.label(text=f"{title}: {len(places)}", icon="NONE" if places else "CHECKMARK")
            column = layout.column(align=True)
            for row, place, words in places[:_LISTED]:
                operator = column.operator(
                    STOWFOLD_OT_show_place.bl_idname,
                    text=f"Column {place + 1}, row {row + 1}: {words}",
                    icon="MESH_GRID",
                )
                operator.row, operator.column = row, place


class STOWFOLD_PT_comparison(Step, Panel):
    """One state of the table beside another."""

    bl_idname = "STOWFOLD_PT_comparison"
    bl_label = "Comparison"
    bl_parent_id = "STOWFOLD_PT_table"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        row = layout.row(align=True)
        row.operator(STOWFOLD_OT_keep_map.bl_idname, icon="COPYDOWN")
        row.operator(STOWFOLD_OT_forget_map.bl_idname, text="", icon="X")
        layout.operator(STOWFOLD_OT_cost_of_gable.bl_idname, icon="HOME")
        kept, present = play_results.kept(), play_results.laid_against()
        if kept is None or present is None:
            paragraph(
                layout, context, "Keep a map as A, change the building, and see here what each seat gained or lost."
            )
            return
        height = FigureHeight[context.window_manager.stowfold.play.height]
        grid = layout.grid_flow(row_major=True, columns=4, even_columns=False, align=True)
        for words in ("Seat", "A", "Now", "Change"):
            grid.label(text=words)
        for name, before, now in changes(kept, present, height):
            grid.label(text=name)
            grid.label(text=as_percent(before))
            grid.label(text=as_percent(now))
            grid.label(text=f"{100 * (now - before):+.0f}")


CLASSES = (
    STOWFOLD_PT_table,
    STOWFOLD_PT_players,
    STOWFOLD_PT_sight,
    STOWFOLD_PT_worst,
    STOWFOLD_PT_comparison,
    STOWFOLD_PT_place,
)
