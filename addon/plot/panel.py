"""The first step: squares, walls, roof and openings."""

from __future__ import annotations

import bpy
from bpy.types import Panel, UILayout

from ..geometry.beam.lasers import stock_on
from ..geometry.solid.filling import STILE, fill_rectangle
from ..geometry.unfold.leaves import clear_width, cut_width
from ..host.laser_library import laser_in
from ..host.measuring import known_stocks
from ..host.openings import filling_of, leaf_of, size_of
from ..host.reading import stands_beside
from ..host.scale import scale_advice, scale_words
from ..host.upstands import is_porch, is_upstand
from ..window.step import ChosenStep, Step
from ..window.words import draw_setting, is_narrow, letters_per_line, paragraph
from .blocking import is_as_made
from .opening_fields import KINDS
from .operators.building import STOWFOLD_OT_add_building, STOWFOLD_OT_rebuild_building, draw_fields
from .operators.openings import STOWFOLD_OT_add_opening, STOWFOLD_OT_move_opening, STOWFOLD_OT_snap_openings
from .operators.porches import STOWFOLD_OT_add_porch
from .operators.start_cube import STOWFOLD_OT_remove_start_cube
from .operators.upstands import STOWFOLD_OT_add_upstand, STOWFOLD_OT_snap_upstands
from .reshaping import BY_HAND
from .start_cube import start_cube_inside
from .upstand_fields import KINDS as UPSTANDS
from .upstand_fields import PORCH


class STOWFOLD_PT_plot(ChosenStep, Panel):
    """The building on the squares, and what is added to its walls and its roof."""

    bl_idname = "STOWFOLD_PT_plot"
    bl_label = "Plot"
    step = "PLOT"

    def draw(self, context: bpy.types.Context) -> None:
        _draw_openings(self.layout)
        _draw_upstands(self.layout)
        # the first one is added by the button of what comes next
        if any(target.stowfold.is_block_out for target in context.scene.objects):
            self.layout.operator(STOWFOLD_OT_add_building.bl_idname, text="Add Another Building", icon="HOME")


class STOWFOLD_PT_squares(Step, Panel):
    """The scale grid, which face of the walls is modelled, and the floor."""

    bl_idname = "STOWFOLD_PT_squares"
    bl_label = "Squares and Floor"
    bl_parent_id = "STOWFOLD_PT_plot"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        ours = context.scene.stowfold
        column = self.settings_layout()
        column.prop(ours, "square")
        _draw_scale(column, context)
        column.row().prop(ours, "face", expand=True)
        column.prop(ours, "play_mat")
        floor = column.column()
        floor.active = not ours.play_mat
        floor.prop(ours, "rim")
        floor.prop(ours, "engrave_grid")


class STOWFOLD_PT_sizes(Step, Panel):
    """The fields of what is selected; the last panel, so that nothing below it moves."""

    bl_idname = "STOWFOLD_PT_sizes"
    bl_label = "Sizes"
    bl_parent_id = "STOWFOLD_PT_plot"

    def draw(self, context: bpy.types.Context) -> None:
        _draw_selected(self.layout.column(), context)
        _draw_start_cube(self.layout, context)


def _draw_selected(column: UILayout, context: bpy.types.Context) -> None:
    """Draw the fields of the active opening, dormer or chimney, else of the building."""
    target = context.object
    if target is not None and target.stowfold.opening.is_opening:
        _draw_opening(column, target, context)
    elif target is not None and is_upstand(target):
        _draw_upstand(column, target, context)
    else:
        _draw_building(column, context)


def _draw_building(layout: UILayout, context: bpy.types.Context) -> None:
    """Draw the active building, else the first one."""
    target = context.object
    if target is None or target.type != "MESH" or stands_beside(target):
        marked = (
            candidate
            for candidate in context.scene.objects
            if candidate.type == "MESH" and candidate.stowfold.is_block_out
        )
        target = next(marked, None)
    if target is None:
        text = "Add a building, or model the walls as a mesh, one face per wall, and select it here."
        paragraph(layout, context, text, icon="INFO")
        return
    said = f"Cut {target.name} as a Building"
    if len(said) > letters_per_line(context):
        said = "Cut as a Building"
    layout.prop(target.stowfold, "is_block_out", text=said)
    if target.stowfold.building.was_added:
        _draw_sizes(layout, context, target)
    elif target.stowfold.is_block_out:
        paragraph(layout, context, "It was modelled by hand: change its mesh in Edit Mode.", icon="INFO")


def _draw_start_cube(layout: UILayout, context: bpy.types.Context) -> None:
    """Draw that the cube of a new file stands in the building, with the button that removes it."""
    found = start_cube_inside(context.scene)
    if found is not None:
        paragraph(layout, context, f"The start cube stands inside {found[1].name}.", icon="ERROR")
        layout.operator(STOWFOLD_OT_remove_start_cube.bl_idname, icon="TRASH")


def _draw_sizes(layout: UILayout, context: bpy.types.Context, target: bpy.types.Object) -> None:
    """Draw the sizes of a building, which it follows, and below them why it does not follow them now."""
    fields = target.stowfold.building
    column = layout.column()
    column.enabled = target.mode == "OBJECT"
    draw_fields(column, fields, lambda column, text: paragraph(column, context, text))
    said = fields.trouble or ("" if is_as_made(target) else BY_HAND)
    if said:
        paragraph(layout, context, said, icon="ERROR")
    if not is_as_made(target):
        layout.operator(STOWFOLD_OT_rebuild_building.bl_idname, icon="FILE_REFRESH")


def _draw_scale(layout: UILayout, context: bpy.types.Context) -> None:
    row = layout.row()
    row.active = False
    row.label(text=scale_words(context.scene))
    advice = scale_advice(context.scene)
    if advice:
        paragraph(layout, context, advice, icon="INFO")


def _draw_openings(layout: UILayout) -> None:
    column = layout.column(align=True)
    column.label(text="Add to a Wall")
    grid = column.grid_flow(row_major=True, columns=2, even_columns=True, align=True)
    for name, label, _, icon, _ in KINDS:
        grid.operator(STOWFOLD_OT_add_opening.bl_idname, text=label, icon=icon).kind = name
    column.operator(STOWFOLD_OT_add_porch.bl_idname, text=PORCH[1], icon=PORCH[3])


def _draw_upstands(layout: UILayout) -> None:
    column = layout.column(align=True)
    column.label(text="Add to the Roof")
    row = column.row(align=True)
    for name, label, _, icon, _ in UPSTANDS:
        row.operator(STOWFOLD_OT_add_upstand.bl_idname, text=label, icon=icon).kind = name


def _draw_upstand(column: UILayout, target: bpy.types.Object, context: bpy.types.Context) -> None:
    """Draw the fields of a dormer, chimney or porch; what does not count is grey, so that those on roofs are alike."""
    fields = target.stowfold.upstand
    column.label(text=target.name)
    place = "Snap to the Wall" if is_porch(target) else "Snap to the Roof"
    column.operator(STOWFOLD_OT_snap_upstands.bl_idname, text=place, icon="SNAP_ON")
    column.use_property_split = not is_narrow(context)
    column.use_property_decorate = False
    counts = {"depth": fields.kind != "DORMER", "pitch": fields.kind != "CHIMNEY"}
    for name in (*_UPSTAND, *(_PORCH if is_porch(target) else ())):
        field = column.row()
        field.enabled = counts.get(name, True)
        draw_setting(field, fields, name)
    if fields.trouble:
        paragraph(column, context, fields.trouble, icon="ERROR")


def _draw_opening(column: UILayout, target: bpy.types.Object, context: bpy.types.Context) -> None:
    """Draw the fields of an opening; what does not count is grey, so that all are equally high."""
    fields = target.stowfold.opening
    column.label(text=target.name)
    row = column.row(align=True)
    row.operator(STOWFOLD_OT_move_opening.bl_idname, text="Move", icon="EMPTY_ARROWS")
    row.operator(STOWFOLD_OT_snap_openings.bl_idname, text="Snap", icon="SNAP_ON")
    column.use_property_split = not is_narrow(context)
    column.use_property_decorate = False
    leaf = fields.kind != "ARCH"
    counts = {"sill": fields.kind not in {"DOOR", "ARCH"}, "leaf": leaf}
    counts |= dict.fromkeys(("swing", "inward"), leaf and fields.leaf != "NONE")
    for name in _OPENING:
        field = column.row()
        field.enabled = counts.get(name, True)
        draw_setting(field, fields, name)
    for said in _leaf_words(fields, context.scene):
        column.label(text=said)
    column.separator()
    draw_setting(column, fields, "filling")
    sizes = column.column()
    sizes.enabled = fields.filling != "NONE"
    for name in _FILLING:
        draw_setting(sizes, fields, name)
    draw_setting(column, fields, "trim")
    paragraph(column, context, _filling_words(fields), icon="INFO", beside=_BOXED)


def _leaf_words(fields: bpy.types.PropertyGroup, scene: bpy.types.Scene) -> tuple[str, ...]:
    """Return how wide a leaf is cut with its hinge, and what passes it; nothing where there is none."""
    leaf, size = leaf_of(fields), size_of(fields)
    stock = known_stocks(scene).get(scene.stowfold.stocks.walls)
    if leaf is None or stock is None:
        return ()
    stock, swing = stock_on(stock, laser_in(scene)), leaf.swing
    cut = cut_width(stock, width=size.width, height=size.height, swing=swing)
    free = clear_width(stock, width=size.width, height=size.height, swing=swing)
    if cut is None or free is None:
        return ("No leaf fits here",)
    return f"Cut {cut:.1f} mm wide with its hinge", f"Open, it lets {max(free, 0.0):.1f} mm pass"


def _filling_words(fields: bpy.types.PropertyGroup) -> str:
    """Return what a filling comes to, in one sentence."""
    filling, leaf, size = filling_of(fields), leaf_of(fields), size_of(fields)
    if filling is None:
        return "The leaf is plain." if leaf is not None else "Light and hands pass the whole opening."
    made = fill_rectangle(size.width, size.height, filling, stile=0.0 if leaf is None else STILE)
    if made.panes:
        x0, y0, x1, y1 = made.panes[len(made.panes) // 2].bounds
        return f"{len(made.panes)} panes of about {x1 - x0:.1f} x {y1 - y0:.1f} mm; the bars hide what is behind them."
    if leaf is None and made.lines:
        return "Without a leaf it is shut for good: the wall stays whole and is engraved."
    return f"{len(made.lines)} lines engraved on the leaf." if made.lines else "Too small for this; make it larger."


#: Fields of a dormer or chimney, and of an opening.
_UPSTAND = ("width", "height", "depth", "pitch")
_PORCH = ("porch_roof", "closed", "post")
_OPENING = ("kind", "width", "height", "sill", "leaf", "swing", "inward")
_FILLING = ("filling_scale", "panes_across", "panes_up")

#: Letters that an icon takes off a line.
_BOXED = 4


CLASSES = (STOWFOLD_PT_plot, STOWFOLD_PT_squares, STOWFOLD_PT_sizes)
