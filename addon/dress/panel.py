"""The step of dressing: finishes of walls, roof, floor and room side, and what the laser draws for the chosen one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import bpy
from bpy.types import Context, Panel, UILayout

from ..geometry.durations import minutes
from ..geometry.finish.check import CHAR
from ..geometry.finish.finish import burnt_share
from ..host import finish_library
from ..host.drawings import DRAWN
from ..host.finishes import finish_from, is_finish
from ..host.measuring import known_stocks
from ..jobs import results
from ..window.editing import draw_edit_button
from ..window.kept import Kept
from ..window.step import ChosenStep, Step
from ..window.words import beside, draw_setting, is_narrow, paragraph, still_paragraph
from .finish_menus import (
    STOWFOLD_MT_face_finishes,
    STOWFOLD_MT_floor_finishes,
    STOWFOLD_MT_roof_finishes,
    STOWFOLD_MT_room_finishes,
    STOWFOLD_MT_wall_finishes,
)
from .operators.drawings import STOWFOLD_OT_import_drawing, STOWFOLD_OT_lay_on_wall
from .operators.finishes import STOWFOLD_OT_pick_finish
from .operators.own_finishes import STOWFOLD_OT_forget_finish, STOWFOLD_OT_keep_finish
from .putting import dressed_object

if TYPE_CHECKING:
    from ..geometry.outcome import Outcome

#: Rows of the list of finishes, at least.
_ROWS = 3

_times: Kept[Outcome, dict[str, float]] = Kept()

#: Letters that a button beside a sentence takes, and how wide a colour is beside a name, as a share of a field.
_BESIDE, _SWATCH = 4, 0.3


#: Colours of a finish beside its main one, and of boards: the switch, and the colour.
_COLOURS = (("use_units", "units_colour"), ("use_around", "around_colour"), ("use_lines", "lines_colour"))
_BOARDS = (("use_bare", "bare"), ("use_trim", "trim"), ("use_leaf", "leaf"))
_TILES = (("use_tile", "tile"), ("use_dark_tile", "dark_tile"))


def draw_choice(layout: bpy.types.UILayout, fields: bpy.types.PropertyGroup, used: str, colour: str) -> None:
    """Draw a colour with the switch that says whether it is used."""
    row = layout.row(align=True, heading=fields.bl_rna.properties[colour].name)
    row.prop(fields, used, text="")
    value = row.row()
    value.active = getattr(fields, used)
    value.prop(fields, colour, text="")


class STOWFOLD_PT_dress(ChosenStep, Panel):
    """What walls, roof and floor bear: finishes, one a material, drawn by the laser."""

    bl_idname = "STOWFOLD_PT_dress"
    bl_label = "Dress"
    step = "DRESS"

    def draw(self, context: Context) -> None:
        layout, edited = self.layout, context.mode == "EDIT_MESH"
        row = layout.row(align=True)
        text = "Select faces, then choose their finish." if edited else "Choose finishes; for one wall, in Edit Mode."
        still_paragraph(row, context, text, lines=2, beside=_BESIDE)
        draw_edit_button(row, context)
        menus = (STOWFOLD_MT_face_finishes,) if edited else (STOWFOLD_MT_wall_finishes, STOWFOLD_MT_roof_finishes)
        row = layout.row(align=True)
        for menu in menus:
            row.menu(menu.bl_idname, icon=_ICONS[menu])
        trouble = finish_library.trouble()
        if trouble is not None:
            paragraph(layout, context, trouble, icon="ERROR")
        target = dressed_object(context)
        _draw_list(layout, context, target)
        row = layout.row(align=True)
        faces = row.row(align=True)
        faces.enabled = edited and target is not None and len(target.material_slots) > 0
        faces.operator("object.material_slot_assign", text="Put on Faces")
        faces.operator("object.material_slot_select", text="", icon="RESTRICT_SELECT_OFF")
        row.operator(STOWFOLD_OT_keep_finish.bl_idname, text="", icon="FILE_TICK")
        row.operator(STOWFOLD_OT_forget_finish.bl_idname, text="", icon="TRASH")
        still_paragraph(layout, context, _told(context, _chosen(context)), lines=2, icon="INFO")
        row = beside(layout, context)
        row.prop(context.window_manager.stowfold, "show_finishes", toggle=True)
        row.prop(context.scene.stowfold.paint, "show", toggle=True)


def _draw_list(layout: UILayout, context: Context, target: bpy.types.Object | None) -> None:
    """Draw the finishes of a building, one a row: colour, name, time at the laser; always at least as many rows.

    The host's own list would render a picture of every material, which takes a slow machine minutes.
    """
    rows, seconds = layout.box().column(align=True), _seconds(context)
    slots = () if target is None else target.material_slots
    for number, slot in enumerate(slots):
        row = rows.row(align=True)
        swatch = row.row()
        swatch.scale_x = _SWATCH
        if slot.material is None:
            swatch.label(text="", icon="BLANK1")
        else:
            swatch.prop(slot.material.stowfold, "colour", text="")
        name = "Bare Board" if slot.material is None else slot.material.name
        time = seconds.get(name)
        told = name if time is None or is_narrow(context) else f"{name}: {minutes(time)}"
        chosen = target is not None and target.active_material_index == number
        row.operator(STOWFOLD_OT_pick_finish.bl_idname, text=told, depress=chosen).slot = number
    for _ in range(_ROWS - len(slots)):
        rows.label(text="")


def _chosen(context: Context) -> bpy.types.Material | None:
    """Return the finish that is chosen in the list."""
    target = dressed_object(context)
    return None if target is None else target.active_material


class STOWFOLD_PT_finish(Step, Panel):
    """The pattern of the chosen finish: name, sizes, chance and colour."""

    bl_idname = "STOWFOLD_PT_finish"
    bl_label = "Pattern"
    bl_parent_id = "STOWFOLD_PT_dress"

    @classmethod
    def poll(cls, context: Context) -> bool:
        return _chosen(context) is not None

    def draw(self, context: Context) -> None:
        column = self.settings_layout()
        _draw_pattern(column, _chosen(context))


class STOWFOLD_PT_lines(Step, Panel):
    """How the laser makes the lines of the chosen finish, and where it leaves them out."""

    bl_idname = "STOWFOLD_PT_lines"
    bl_label = "Lines"
    bl_parent_id = "STOWFOLD_PT_dress"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: Context) -> None:
        column, material = self.settings_layout(), _chosen(context)
        if material is None:
            paragraph(self.layout, context, "Choose a finish first.", icon="INFO")
            return
        fields = material.stowfold
        column.enabled = material.is_editable and is_finish(material)
        draw_setting(column, fields, "way")
        hatch = column.row()
        hatch.active = fields.way == "FILL"
        hatch.prop(fields, "hatch")
        for name in ("edge", "over_bends", "fine"):
            draw_setting(column, fields, name)


def _draw_pattern(column: UILayout, material: bpy.types.Material) -> None:
    """Draw what is most often set of a finish."""
    fields = material.stowfold
    column.enabled = material.is_editable
    draw_setting(column, fields, "pattern")
    drawn = column.column()
    drawn.enabled = is_finish(material)
    drawn.prop(fields, "size", slider=True)
    for name in ("scale", "seed", "frames"):
        draw_setting(drawn, fields, name)
    column.prop(fields, "colour")


class STOWFOLD_PT_colours(Step, Panel):
    """Other colours of the chosen finish, of boards without one, and what is done between two colours."""

    bl_idname = "STOWFOLD_PT_colours"
    bl_label = "Colours"
    bl_parent_id = "STOWFOLD_PT_dress"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: Context) -> None:
        fields, column, chosen = context.scene.stowfold.paint, self.settings_layout(), _chosen(context)
        if chosen is not None and is_finish(chosen):
            own = column.column()
            own.enabled = chosen.is_editable
            for used, colour in _COLOURS:
                draw_choice(own, chosen.stowfold, used, colour)
        for used, colour in _BOARDS:
            draw_choice(column, fields, used, colour)
        if context.scene.stowfold.floor_tiles:
            for used, colour in _TILES:
                draw_choice(column, fields, used, colour)
        column.prop(fields, "score")


class STOWFOLD_PT_indoors(Step, Panel):
    """What the floor and the room side of walls bear; a floor is drawn on, or laid as tiles or inlay of two boards."""

    bl_idname = "STOWFOLD_PT_indoors"
    bl_label = "Floor and Room Side"
    bl_parent_id = "STOWFOLD_PT_dress"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: Context) -> None:
        ours, column = context.scene.stowfold, self.settings_layout()
        _draw_place(column, STOWFOLD_MT_floor_finishes, ours, "floor_finish")
        _draw_floor(column.column(), ours)
        if ours.floor_finish is not None:
            _draw_pattern(column.column(), ours.floor_finish)
        column.separator()
        _draw_place(column, STOWFOLD_MT_room_finishes, ours, "inside_finish")
        if ours.inside_finish is not None:
            _draw_pattern(column.column(), ours.inside_finish)


def _draw_place(column: UILayout, menu: type[bpy.types.Menu], ours: bpy.types.PropertyGroup, field: str) -> None:
    """Draw the menu of a place that bears a finish, with the name of the place and of what it bears."""
    material = getattr(ours, field)
    borne = "Bare Board" if material is None else material.name
    column.menu(menu.bl_idname, text=f"{ours.bl_rna.properties[field].name}: {borne}", icon=_ICONS[menu])


def _draw_floor(column: UILayout, ours: bpy.types.PropertyGroup) -> None:
    """Draw how a floor of two boards is laid; an inlay needs no material, since it has motifs of its own."""
    inlay = ours.floor_way == "INLAY"
    column.prop(ours, "floor_tiles")
    chosen = column.column()
    chosen.active = ours.floor_tiles and (inlay or ours.floor_finish is not None)
    chosen.row().prop(ours, "floor_way", expand=True)
    motifs = chosen.column()
    motifs.active = inlay
    motifs.prop(ours, "floor_border")
    motifs.prop(ours, "floor_star")
    motifs.prop(ours, "floor_play")
    draw_setting(chosen, ours.stocks, "light_tiles")
    draw_setting(chosen, ours.stocks, "dark_tiles")


class STOWFOLD_PT_drawings(Step, Panel):
    """The maker's own lines on walls: curves, texts and strokes."""

    bl_idname = "STOWFOLD_PT_drawings"
    bl_label = "Own Drawings"
    bl_parent_id = "STOWFOLD_PT_dress"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: Context) -> None:
        row = beside(self.layout, context)
        row.operator(STOWFOLD_OT_lay_on_wall.bl_idname, icon="SNAP_FACE")
        row.operator(STOWFOLD_OT_import_drawing.bl_idname, icon="CURVE_DATA")
        target = context.object
        if target is None or target.type not in DRAWN:
            still_paragraph(self.layout, context, "Or select a curve, a text or strokes.", lines=2, icon="INFO")
            return
        column = self.settings_layout()
        column.prop(target.stowfold, "engraved")
        draw_setting(column, target.stowfold, "engraved_way")
        spacing = column.row()
        spacing.active = target.stowfold.engraved_way == "FILL"
        spacing.prop(target.stowfold, "engraved_hatch")


def _told(context: Context, material: bpy.types.Material | None) -> str:
    """Return what a finish comes to: its units, how dark it is, and its time at the laser as of the last check."""
    if material is None or not is_finish(material):
        return "Bare board: nothing is drawn." if material is None else "Paint alone: choose a pattern to engrave."
    board = known_stocks(context.scene).get(context.scene.stowfold.stocks.walls)
    kerf = 0.0 if board is None else board.kerf
    finish = finish_from(material, kerf=kerf)
    dark = burnt_share(finish, kerf + CHAR)
    seconds = _seconds(context).get(material.name)
    time = "" if seconds is None else f", {minutes(seconds)} at the laser"
    return f"Units {finish.length:.1f} x {finish.height:.1f} mm, {dark:.0%} burnt{time}."


def _seconds(context: Context) -> dict[str, float]:
    """Return the laser time of the finishes of the last check, s, by name."""
    from ..geometry.sheet.times import finish_seconds

    known = results.laid_out(context)
    if known is None:
        return {}
    outcome = known[0]
    return _times.get(outcome, lambda: finish_seconds(outcome.layout, outcome.parts))


#: The host's icon on every menu of finishes.
_ICONS = {
    STOWFOLD_MT_wall_finishes: "MESH_PLANE",
    STOWFOLD_MT_roof_finishes: "HOME",
    STOWFOLD_MT_face_finishes: "FACESEL",
    STOWFOLD_MT_floor_finishes: "MESH_GRID",
    STOWFOLD_MT_room_finishes: "HOME",
}

#: The step first; panels below it in the order of the work, and last what shows the chosen finish.
CLASSES = (STOWFOLD_PT_dress,)
BELOW = (STOWFOLD_PT_lines, STOWFOLD_PT_colours, STOWFOLD_PT_indoors)
OWN = (STOWFOLD_PT_drawings, STOWFOLD_PT_finish)
