"""The step of stock: boards, what was measured on them, the coupon's readings, and the laser."""

from __future__ import annotations

from collections.abc import Mapping

import bpy
from bpy.types import Panel, PropertyGroup, UILayout

from ..geometry.beam.laser import Laser, Operation
from ..geometry.board.calibration import MEASURED
from ..geometry.board.library import Entry
from ..host import laser_library, stock_library
from ..window.step import ChosenStep, Step
from ..window.words import beside, draw_setting, is_narrow, paragraph
from .operators.coupon import (
    STOWFOLD_OT_add_reading,
    STOWFOLD_OT_apply_readings,
    STOWFOLD_OT_cut_coupon,
    STOWFOLD_OT_enter_readings,
    STOWFOLD_OT_remove_reading,
)
from .operators.lasers import (
    STOWFOLD_OT_add_laser,
    STOWFOLD_OT_delete_laser,
    STOWFOLD_OT_keep_laser,
    STOWFOLD_OT_remove_laser,
    STOWFOLD_OT_set_bed,
    STOWFOLD_OT_take_laser,
)
from .operators.stocks import (
    STOWFOLD_OT_copy_stock,
    STOWFOLD_OT_delete_stock,
    STOWFOLD_OT_edit_stock,
    STOWFOLD_OT_forget_measured,
    STOWFOLD_OT_forget_price,
    STOWFOLD_OT_measure_stock,
    STOWFOLD_OT_price_stock,
    STOWFOLD_OT_save_calibration,
)
from .presets import STOWFOLD_PT_laser_presets

_KINDS = (("walls", "Walls"), ("roof", "Roof"), ("floor", "Floor"), ("joiners", "Joiners"))

#: Sections of the form: heading, kinds of readings with the label of their button, fields of each reading by line.
_FORM = (
    ("Thickness, in several places", (("THICKNESS", "Place"),), (("size",),)),
    ("Kerf: slats, length of their stack", (("STACK_X", "Stack X"), ("STACK_Y", "Stack Y")), (("slats", "size"),)),
    ("Fits: number beside the slot", (("SLIDE", "Slide"), ("PRESS", "Press"), ("GLUE", "Glue")), (("size",),)),
    ("Stiffness: mass, arm, angle below level", (("HUNG", "Weight"),), (("hinge",), ("mass", "arm", "angle"))),
    ("Strength: bend at which it broke, and what", (("BROKEN", "Break"),), (("hinge",), ("angle", "failed"))),
)

#: Beds that many hobby lasers have, mm. Common practice, no source.
_BEDS = ((400.0, 400.0), (600.0, 300.0))


class STOWFOLD_PT_stock(ChosenStep, Panel):
    """Boards for walls, roof, floor and joiners."""

    bl_idname = "STOWFOLD_PT_stock"
    bl_label = "Stock"
    step = "STOCK"

    def draw(self, context: bpy.types.Context) -> None:
        ours = context.scene.stowfold
        trouble = stock_library.trouble()
        if trouble is not None:
            paragraph(self.layout, context, trouble, icon="ERROR")
        column = self.settings_layout()
        narrow = is_narrow(context)
        for kind, label in _KINDS:
            if narrow:
                column.label(text=label)
            column.prop(ours.stocks, kind, text="" if narrow else label)
        # a step further on knows the building, and so has the operator
        coupon = "Quick Coupon..." if narrow else "Quick Coupon of This Building..."
        self.layout.operator("stowfold.cut_quick_coupon", text=coupon, icon="MOD_INSTANCE")
        for name in dict.fromkeys(getattr(ours.stocks, kind) for kind, _ in _KINDS):
            _draw_stock(self.layout, context, name)


def _draw_stock(layout: UILayout, context: bpy.types.Context, name: str) -> None:
    box = layout.box()
    entry = stock_library.entries().get(name)
    if entry is None:
        paragraph(box, context, "This board is no longer known; choose another one.", icon="CANCEL")
        return
    row = box.row(align=True)
    row.label(text=f"{entry.base.label}, own" if entry.own else entry.base.label)
    row.operator(STOWFOLD_OT_copy_stock.bl_idname, text="", icon="DUPLICATE").stock = name
    if entry.own:
        row.operator(STOWFOLD_OT_edit_stock.bl_idname, text="", icon="PREFERENCES").stock = name
        row.operator(STOWFOLD_OT_delete_stock.bl_idname, text="", icon="TRASH").stock = name
    measured = context.scene.stowfold.measured
    index = measured.find(name)
    if index < 0:
        _draw_library_values(box, context, entry)
    else:
        _draw_measured(box, context, measured[index])
    prices = context.scene.stowfold.prices
    row = box.row(align=True)
    if name in prices:
        row.prop(prices[name], "price")
        row.operator(STOWFOLD_OT_forget_price.bl_idname, text="", icon="X").stock = name
    else:
        row.operator(STOWFOLD_OT_price_stock.bl_idname, text="Price of a Sheet...", icon="TAG").stock = name
    row = beside(box, context)
    row.operator(STOWFOLD_OT_cut_coupon.bl_idname, text="Cut Coupon...", icon="FILE_NEW").stock = name
    row.operator(STOWFOLD_OT_enter_readings.bl_idname, text="Enter Readings", icon="IMPORT").stock = name


def _draw_library_values(box: UILayout, context: bpy.types.Context, entry: Entry) -> None:
    stock = entry.stock
    row = box.row()
    row.label(text=f"{stock.thickness:g} mm, kerf {stock.kerf:g} mm")
    row.operator(STOWFOLD_OT_measure_stock.bl_idname, text="", icon="GREASEPENCIL").stock = stock.name
    said = stock.calibration or "catalogue values: cut a coupon before you trust a hinge"
    paragraph(box, context, f"{said[0].upper()}{said[1:]}", icon="CHECKMARK" if stock.calibration else "INFO")


def _draw_measured(box: UILayout, context: bpy.types.Context, own: PropertyGroup) -> None:
    row = box.row(align=True)
    row.label(text=f"Calibrated {own.date}" if own.date else "Measured by hand", icon="CHECKMARK")
    row.operator(STOWFOLD_OT_save_calibration.bl_idname, text="", icon="FILE_TICK").stock = own.name
    row.operator(STOWFOLD_OT_forget_measured.bl_idname, text="", icon="LOOP_BACK").stock = own.name
    column = box.column()
    column.use_property_split = not is_narrow(context)
    column.use_property_decorate = False
    for quantity in MEASURED:
        row = column.row(align=True, heading=quantity.label.capitalize())
        row.prop(own, f"use_{quantity.name}", text="")
        value = row.row()
        value.active = getattr(own, f"use_{quantity.name}")
        value.prop(own, quantity.name, text="" if quantity.unit == "mm" else quantity.unit)
    for name in ("batch", "machine", "date"):
        draw_setting(column, own, name)


class STOWFOLD_PT_readings(Step, Panel):
    """Readings of a cut coupon, and what follows from them."""

    bl_idname = "STOWFOLD_PT_readings"
    bl_label = "Readings of a Coupon"
    bl_parent_id = "STOWFOLD_PT_stock"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        coupon = context.scene.stowfold.coupon
        entry = stock_library.entries().get(coupon.stock)
        if entry is None:
            paragraph(
                layout,
                context,
                "Cut the coupon of a board above, fill in its page, then choose Enter Readings beside the board.",
                icon="INFO",
            )
            return
        layout.label(text=f"Coupon of {entry.base.label}")
        column = self.settings_layout()
        if coupon.quick or any(corner.board == coupon.stock for corner in coupon.corners):
            column.prop(coupon, "quick")
        for name in ("batch", "machine", "drawn_thickness", "drawn_kerf"):
            draw_setting(column, coupon, name)
        if not coupon.quick:
            column.prop(coupon, "repeats")
        layout.use_property_split = False
        for heading, kinds, fields in _FORM:
            _draw_section(layout, coupon, heading, kinds, fields)
        layout.prop(coupon, "start_anew")
        row = layout.row()
        row.scale_y = 1.4
        row.operator(STOWFOLD_OT_apply_readings.bl_idname, text="Apply Readings...", icon="CHECKMARK")


def _draw_section(
    layout: UILayout,
    coupon: PropertyGroup,
    heading: str,
    kinds: tuple[tuple[str, str], ...],
    fields: tuple[tuple[str, ...], ...],
) -> None:
    column = layout.column(align=True)
    column.label(text=heading)
    # above its lines: each click adds one
    row = column.row(align=True)
    for kind, label in kinds:
        row.operator(STOWFOLD_OT_add_reading.bl_idname, text=label, icon="ADD").kind = kind
    labels = dict(kinds)
    for index, line in enumerate(coupon.readings):
        if line.kind not in labels:
            continue
        for number, names in enumerate(fields):
            row = column.row(align=True)
            if len(kinds) > 1:
                row.label(text=labels[line.kind])
            for name in names:
                row.prop(line, name, text="g" if name == "mass" else "")
            if number == 0:
                row.operator(STOWFOLD_OT_remove_reading.bl_idname, text="", icon="X").index = index


class STOWFOLD_PT_laser(Step, Panel):
    """The laser, its speeds, and others for what it does not take."""

    bl_idname = "STOWFOLD_PT_laser"
    bl_label = "Laser"
    bl_parent_id = "STOWFOLD_PT_stock"
    bl_options = {"DEFAULT_CLOSED"}

    def draw_header_preset(self, _context: bpy.types.Context) -> None:
        STOWFOLD_PT_laser_presets.draw_panel_header(self.layout)

    def draw(self, context: bpy.types.Context) -> None:
        column = self.settings_layout()
        said = laser_library.trouble()
        if said is not None:
            paragraph(column, context, said, icon="ERROR")
        ours = context.scene.stowfold.laser
        known = laser_library.known_lasers()
        own = laser_library.own_lasers()
        for name, laser in known.items():
            row = column.row(align=True)
            button = row.operator(STOWFOLD_OT_take_laser.bl_idname, text=laser.label, depress=ours.profile == name)
            button.laser = name
            if name in own:
                row.operator(STOWFOLD_OT_delete_laser.bl_idname, text="", icon="TRASH").laser = name
        row = column.row(align=True)
        for width, depth in _BEDS:
            button = row.operator(STOWFOLD_OT_set_bed.bl_idname, text=f"{width:g} x {depth:g}")
            button.width, button.depth = width, depth
        for name in ("bed_width", "bed_depth", "margin", "spacing", "own_kerf"):
            draw_setting(column, ours, name)
        speeds = column.column(align=True)
        for name in ("cut_speed", "slit_speed", "score_speed", "engrave_speed", "fill_speed"):
            draw_setting(speeds, ours, name)
        for name in ("pierce", "passes", "holds"):
            draw_setting(column, ours, name)
        holds = column.column()
        holds.enabled = ours.holds > 0
        holds.prop(ours, "hold_length")
        self.layout.operator(STOWFOLD_OT_keep_laser.bl_idname, text="Keep as Own...", icon="FILE_TICK")
        _draw_others(self.layout, context, known)


def _draw_others(layout: UILayout, context: bpy.types.Context, known: Mapping[str, Laser]) -> None:
    """Draw the lasers that take what is too large for the first one, and those that could."""
    ours = context.scene.stowfold
    column = layout.column(align=True)
    column.label(text="For parts too large for it")
    for other in ours.other_lasers:
        row = column.row(align=True)
        laser = known.get(other.name)
        row.label(
            text=laser.label if laser is not None else f"{other.name}, gone",
            icon="DOT" if laser is not None else "CANCEL",
        )
        row.operator(STOWFOLD_OT_remove_laser.bl_idname, text="", icon="X").laser = other.name
    for name, laser in known.items():
        if name != ours.laser.profile and name not in ours.other_lasers:
            column.operator(STOWFOLD_OT_add_laser.bl_idname, text=laser.label, icon="ADD").laser = name


class STOWFOLD_PT_line_colours(Step, Panel):
    """The colours of lines by operation."""

    bl_idname = "STOWFOLD_PT_line_colours"
    bl_label = "Colours of Lines"
    bl_parent_id = "STOWFOLD_PT_laser"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        column = self.settings_layout()
        for operation in Operation:
            column.prop(context.scene.stowfold.laser, f"{operation.value}_colour")


CLASSES = (STOWFOLD_PT_stock, STOWFOLD_PT_readings, STOWFOLD_PT_laser, STOWFOLD_PT_line_colours)
