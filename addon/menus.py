"""Menus: buildings where things are added, roles where edges are edited, cut files where files are exported."""

from __future__ import annotations

import bpy
from bpy.types import Menu

from .bends.operators.nets import (
    STOWFOLD_OT_overrule_edges,
    STOWFOLD_OT_step_net,
    STOWFOLD_OT_try_nets,
    STOWFOLD_OT_use_net,
)
from .bends.operators.propose import STOWFOLD_OT_mark_proposal
from .bends.operators.roles import ROLES, STOWFOLD_OT_mark_edges, STOWFOLD_OT_select_role
from .bends.panel import ROLE_ICONS
from .cut.operators.again import STOWFOLD_OT_choose_again
from .cut.operators.all_in_one import STOWFOLD_OT_model_to_sheets
from .cut.operators.export import STOWFOLD_OT_export, STOWFOLD_OT_open_folder, STOWFOLD_OT_open_guide
from .cut.operators.floor import STOWFOLD_OT_cut_floor_again
from .cut.operators.look_at import STOWFOLD_OT_frame_building, STOWFOLD_OT_frame_sheets
from .cut.operators.move_part import STOWFOLD_OT_move_part
from .cut.operators.offcuts import STOWFOLD_OT_add_offcut, STOWFOLD_OT_keep_offcuts
from .cut.operators.pins import STOWFOLD_OT_unpin_all
from .cut.operators.quick_coupon import STOWFOLD_OT_cut_quick_coupon
from .dress.fields import PATTERNS
from .dress.finish_menus import STOWFOLD_MT_floor_finishes, STOWFOLD_MT_room_finishes
from .dress.operators.drawings import STOWFOLD_OT_import_drawing, STOWFOLD_OT_lay_on_wall
from .dress.operators.finishes import STOWFOLD_OT_add_finish, STOWFOLD_OT_remove_finish
from .dress.operators.own_finishes import STOWFOLD_OT_forget_finish, STOWFOLD_OT_keep_finish, draw_own_finishes
from .dress.operators.signboards import STOWFOLD_OT_add_signboard
from .plot.opening_fields import KINDS
from .plot.operators.building import STOWFOLD_OT_add_building, STOWFOLD_OT_rebuild_building
from .plot.operators.openings import STOWFOLD_OT_add_opening, STOWFOLD_OT_move_opening, STOWFOLD_OT_snap_openings
from .plot.operators.porches import STOWFOLD_OT_add_porch
from .plot.operators.start_cube import STOWFOLD_OT_remove_start_cube
from .plot.operators.upstands import STOWFOLD_OT_add_upstand, STOWFOLD_OT_snap_upstands
from .plot.upstand_fields import KINDS as UPSTANDS
from .plot.upstand_fields import PORCH
from .proof.operators.help import STOWFOLD_OT_open_help
from .proof.operators.mend import STOWFOLD_OT_list_accepted
from .proof.operators.run import STOWFOLD_OT_check
from .proof.operators.step import STOWFOLD_OT_go_to_step
from .stand.operators.fold import STOWFOLD_OT_animate_folding, STOWFOLD_OT_fold_to
from .stock.operators.coupon import STOWFOLD_OT_apply_readings, STOWFOLD_OT_cut_coupon
from .stock.operators.lasers import STOWFOLD_OT_keep_laser
from .table.operators.seated import (
    STOWFOLD_OT_cost_of_gable,
    STOWFOLD_OT_forget_map,
    STOWFOLD_OT_keep_map,
    STOWFOLD_OT_sit_here,
    STOWFOLD_OT_stand_up,
)
from .table.operators.table import (
    STOWFOLD_OT_add_furniture,
    STOWFOLD_OT_add_miniature,
    STOWFOLD_OT_add_seat,
    STOWFOLD_OT_add_table,
    STOWFOLD_OT_propose_seats,
    STOWFOLD_OT_settle,
)
from .window.asset_library import STOWFOLD_OT_add_asset_library
from .window.editing import STOWFOLD_OT_edit_building
from .window.step import STEPS

#: The host's menus from which finishes are put on.
_FINISHED = ("VIEW3D_MT_object", "VIEW3D_MT_edit_mesh_faces")


class STOWFOLD_MT_edge_roles(Menu):
    """What the selected edges are to become"""

    bl_idname = "STOWFOLD_MT_edge_roles"
    bl_label = "Stowfold Role"

    def draw(self, _context: bpy.types.Context) -> None:
        layout = self.layout
        for name, label, _, _ in ROLES:
            layout.operator(STOWFOLD_OT_mark_edges.bl_idname, text=label).role = name
        layout.separator()
        for name, label, _, _ in ROLES[:3]:
            layout.operator(STOWFOLD_OT_select_role.bl_idname, text=f"Select All: {label}").role = name


class STOWFOLD_MT_nets(Menu):
    """How roofs and other bodies unfold"""

    bl_idname = "STOWFOLD_MT_nets"
    bl_label = "Stowfold Nets"

    def draw(self, _context: bpy.types.Context) -> None:
        layout = self.layout
        layout.operator_context = "INVOKE_REGION_WIN"
        layout.operator(STOWFOLD_OT_try_nets.bl_idname)
        layout.operator(STOWFOLD_OT_step_net.bl_idname, text="Previous Net").back = True
        layout.operator(STOWFOLD_OT_step_net.bl_idname, text="Next Net").back = False
        layout.operator(STOWFOLD_OT_use_net.bl_idname)
        layout.separator()
        layout.operator(STOWFOLD_OT_overrule_edges.bl_idname, text="Bend Edges Against the Net").role = "FLEX"
        layout.operator(STOWFOLD_OT_overrule_edges.bl_idname, text="Part Edges Against the Net").role = "CLOSURE"


class STOWFOLD_MT_finishes(Menu):
    """What is drawn on walls or roof, in Edit Mode on the selected faces"""

    bl_idname = "STOWFOLD_MT_finishes"
    bl_label = "Stowfold Finish"

    def draw(self, _context: bpy.types.Context) -> None:
        for name, label, _, _ in PATTERNS:
            self.layout.operator(STOWFOLD_OT_add_finish.bl_idname, text=label).pattern = name
        self.layout.separator()
        for place in (STOWFOLD_MT_floor_finishes, STOWFOLD_MT_room_finishes):
            self.layout.menu(place.bl_idname)
        self.layout.separator()
        self.layout.operator(STOWFOLD_OT_lay_on_wall.bl_idname)
        self.layout.operator(STOWFOLD_OT_import_drawing.bl_idname, text="Import SVG Drawing")
        draw_own_finishes(self.layout)
        self.layout.operator(STOWFOLD_OT_remove_finish.bl_idname)
        self.layout.operator(STOWFOLD_OT_keep_finish.bl_idname)
        self.layout.operator(STOWFOLD_OT_forget_finish.bl_idname)


def _finish_menu(menu: Menu, _context: bpy.types.Context) -> None:
    menu.layout.separator()
    menu.layout.menu(STOWFOLD_MT_finishes.bl_idname)


def _edge_menu(menu: Menu, _context: bpy.types.Context) -> None:
    menu.layout.separator()
    menu.layout.menu(STOWFOLD_MT_edge_roles.bl_idname)


def _nets_menu(menu: Menu, _context: bpy.types.Context) -> None:
    menu.layout.separator()
    menu.layout.menu(STOWFOLD_MT_nets.bl_idname)


def _export_menu(menu: Menu, _context: bpy.types.Context) -> None:
    menu.layout.operator(STOWFOLD_OT_export.bl_idname, text="Stowfold Cut Files (.svg)")


class STOWFOLD_MT_add(Menu):
    """Buildings, what stands in their walls and on their roofs, and what stands on the table"""

    bl_idname = "STOWFOLD_MT_add"
    bl_label = "Stowfold"

    def draw(self, _context: bpy.types.Context) -> None:
        layout = self.layout
        # as after a click in the view, so that it frames what was added
        layout.operator_context = "INVOKE_REGION_WIN"
        layout.operator(STOWFOLD_OT_add_building.bl_idname, text="Building", icon="HOME")
        layout.separator()
        for name, label, _, icon, _ in KINDS:
            layout.operator(STOWFOLD_OT_add_opening.bl_idname, text=label, icon=icon).kind = name
        for name, label, _, icon, _ in UPSTANDS:
            layout.operator(STOWFOLD_OT_add_upstand.bl_idname, text=label, icon=icon).kind = name
        layout.operator(STOWFOLD_OT_add_porch.bl_idname, text=PORCH[1], icon=PORCH[3])
        layout.operator(STOWFOLD_OT_add_signboard.bl_idname, text="Signboard", icon="SMALL_CAPS").hangs = False
        hung = layout.operator(STOWFOLD_OT_add_signboard.bl_idname, text="Hanging Signboard", icon="FONT_DATA")
        hung.hangs = True
        layout.separator()
        layout.operator(STOWFOLD_OT_add_table.bl_idname, text="Table", icon="MESH_PLANE")
        layout.operator(STOWFOLD_OT_propose_seats.bl_idname, text="Seats Round It", icon="COMMUNITY")
        layout.operator(STOWFOLD_OT_add_seat.bl_idname, text="Seat", icon="USER")
        layout.operator(STOWFOLD_OT_add_miniature.bl_idname, text="Miniature", icon="MESH_CYLINDER")
        layout.operator(STOWFOLD_OT_add_furniture.bl_idname, text="Furniture", icon="MESH_CUBE")


class STOWFOLD_MT_in_place(Menu):
    """What brings things back to their place: buildings to their sizes, openings to walls, figures to squares"""

    bl_idname = "STOWFOLD_MT_in_place"
    bl_label = "Put in Place"

    def draw(self, _context: bpy.types.Context) -> None:
        layout = self.layout
        layout.operator_context = "INVOKE_REGION_WIN"
        layout.operator(STOWFOLD_OT_rebuild_building.bl_idname)
        layout.operator(STOWFOLD_OT_move_opening.bl_idname, text="Move Opening Along Walls")
        layout.operator(STOWFOLD_OT_snap_openings.bl_idname)
        layout.operator(STOWFOLD_OT_snap_upstands.bl_idname, text="Snap Dormers, Chimneys and Porches Back")
        layout.operator(STOWFOLD_OT_settle.bl_idname, text="Snap Figures and Furniture to Squares")
        layout.operator(STOWFOLD_OT_remove_start_cube.bl_idname)


class STOWFOLD_MT_compare(Menu):
    """One state of the table beside another"""

    bl_idname = "STOWFOLD_MT_compare"
    bl_label = "Compare Sight"

    def draw(self, _context: bpy.types.Context) -> None:
        for operator in (STOWFOLD_OT_keep_map, STOWFOLD_OT_forget_map, STOWFOLD_OT_cost_of_gable):
            self.layout.operator(operator.bl_idname)


class STOWFOLD_MT_workshop(Menu):
    """What is done at the laser, before the cut and after it"""

    bl_idname = "STOWFOLD_MT_workshop"
    bl_label = "Workshop"

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        layout.operator_context = "INVOKE_REGION_WIN"
        layout.operator(STOWFOLD_OT_cut_quick_coupon.bl_idname)
        coupon = layout.operator(STOWFOLD_OT_cut_coupon.bl_idname, text="Coupon of the Walls' Board...")
        coupon.stock = context.scene.stowfold.stocks.walls
        layout.operator(STOWFOLD_OT_apply_readings.bl_idname)
        layout.operator(STOWFOLD_OT_keep_laser.bl_idname, text="Keep Laser as Own...")
        layout.separator()
        layout.operator(STOWFOLD_OT_move_part.bl_idname)
        layout.operator(STOWFOLD_OT_unpin_all.bl_idname, text="Unpin All Parts")
        layout.separator()
        layout.operator(STOWFOLD_OT_choose_again.bl_idname)
        layout.operator(STOWFOLD_OT_cut_floor_again.bl_idname)
        layout.operator(STOWFOLD_OT_keep_offcuts.bl_idname)
        layout.operator(STOWFOLD_OT_add_offcut.bl_idname)


class STOWFOLD_MT_steps(Menu):
    """The steps of the sidebar"""

    bl_idname = "STOWFOLD_MT_steps"
    bl_label = "Go to Step"

    def draw(self, _context: bpy.types.Context) -> None:
        for name, label, _, _ in STEPS:
            self.layout.operator(STOWFOLD_OT_go_to_step.bl_idname, text=label).step = name


class STOWFOLD_MT_more_words(Menu):
    """The same commands under other words, for the search"""

    bl_idname = "STOWFOLD_MT_more_words"
    bl_label = "More Words"

    def draw(self, _context: bpy.types.Context) -> None:
        layout = self.layout
        layout.operator_context = "INVOKE_REGION_WIN"
        for words, operator, values in _MORE_WORDS:
            button = layout.operator(operator, text=words)
            for name, value in values:
                setattr(button, name, value)


#: Words that a maker may search for, the operator that they mean, and what it is given.
_MORE_WORDS: tuple[tuple[str, str, tuple[tuple[str, str], ...]], ...] = (
    ("Add House", STOWFOLD_OT_add_building.bl_idname, ()),
    ("Add Walls", STOWFOLD_OT_add_building.bl_idname, ()),
    ("Unfold Model", STOWFOLD_OT_model_to_sheets.bl_idname, ()),
    ("Nest Parts on Sheets", STOWFOLD_OT_model_to_sheets.bl_idname, ()),
    ("Living Hinge: Mark Bends", STOWFOLD_OT_mark_proposal.bl_idname, (("what", "NET"),)),
    ("Split Walls: Mark Breaks", STOWFOLD_OT_mark_proposal.bl_idname, (("what", "BREAKS"),)),
    ("Prove That It Folds", STOWFOLD_OT_check.bl_idname, ()),
    ("Find Problems", STOWFOLD_OT_check.bl_idname, ()),
    ("Laser Cut: Save SVG", STOWFOLD_OT_export.bl_idname, ()),
    ("Print Instructions: Open Guide", STOWFOLD_OT_open_guide.bl_idname, ()),
    ("Line of Sight: Look from a Seat", STOWFOLD_OT_sit_here.bl_idname, ()),
    ("Players Round the Table", STOWFOLD_OT_propose_seats.bl_idname, ()),
    ("Preview the Building", STOWFOLD_OT_fold_to.bl_idname, (("place", "STANDING"),)),
    ("Film of Folding", STOWFOLD_OT_animate_folding.bl_idname, ()),
    ("Laser and Kerf", STOWFOLD_OT_go_to_step.bl_idname, (("step", "STOCK"),)),
    ("Brick, Slates, Boards: Dress Walls and Roof", STOWFOLD_OT_go_to_step.bl_idname, (("step", "DRESS"),)),
    ("Choose Plywood", STOWFOLD_OT_go_to_step.bl_idname, (("step", "STOCK"),)),
)


class STOWFOLD_MT_main(Menu):
    """Everything that Stowfold does, in the order of the steps"""

    bl_idname = "STOWFOLD_MT_main"
    bl_label = "Stowfold"

    def draw(self, _context: bpy.types.Context) -> None:
        layout = self.layout
        layout.operator_context = "INVOKE_REGION_WIN"
        layout.menu(STOWFOLD_MT_steps.bl_idname)
        layout.menu(STOWFOLD_MT_add.bl_idname, text="Add", icon="ADD")
        layout.operator(STOWFOLD_OT_model_to_sheets.bl_idname, icon="PLAY")
        layout.separator()
        layout.operator(STOWFOLD_OT_sit_here.bl_idname)
        layout.operator(STOWFOLD_OT_stand_up.bl_idname)
        layout.menu(STOWFOLD_MT_compare.bl_idname)
        layout.menu(STOWFOLD_MT_in_place.bl_idname)
        layout.separator()
        layout.operator(STOWFOLD_OT_edit_building.bl_idname)
        layout.menu(STOWFOLD_MT_edge_roles.bl_idname, text="Edges")
        for what, words in (("NET", "Propose Bends"), ("BREAKS", "Propose Breaks")):
            layout.operator(STOWFOLD_OT_mark_proposal.bl_idname, text=words).what = what
        layout.menu(STOWFOLD_MT_nets.bl_idname, text="Nets")
        layout.menu(STOWFOLD_MT_finishes.bl_idname, text="Finish")
        layout.separator()
        layout.operator(STOWFOLD_OT_check.bl_idname)
        layout.operator(STOWFOLD_OT_list_accepted.bl_idname, text="List Accepted Findings Again")
        for place, words in (("STANDING", "As It Will Stand"), ("FLAT", "Fold Flat"), ("STACKED", "Stack in the Box")):
            layout.operator(STOWFOLD_OT_fold_to.bl_idname, text=words).place = place
        layout.operator(STOWFOLD_OT_animate_folding.bl_idname)
        layout.operator(STOWFOLD_OT_frame_sheets.bl_idname, text="Look at Sheets")
        layout.operator(STOWFOLD_OT_frame_building.bl_idname, text="Look at Building")
        layout.operator(STOWFOLD_OT_export.bl_idname)
        layout.operator(STOWFOLD_OT_open_guide.bl_idname)
        layout.operator(STOWFOLD_OT_open_folder.bl_idname)
        layout.menu(STOWFOLD_MT_workshop.bl_idname)
        layout.separator()
        layout.operator(STOWFOLD_OT_add_asset_library.bl_idname, icon="ASSET_MANAGER")
        layout.operator(STOWFOLD_OT_open_help.bl_idname, icon="HELP")
        layout.menu(STOWFOLD_MT_more_words.bl_idname)


class STOWFOLD_MT_edge_pie(Menu):
    """What the selected edges are to become, round the pointer"""

    bl_idname = "STOWFOLD_MT_edge_pie"
    bl_label = "Stowfold Role"

    def draw(self, _context: bpy.types.Context) -> None:
        pie = self.layout.menu_pie()
        for name, label, _, _ in ROLES:
            pie.operator(STOWFOLD_OT_mark_edges.bl_idname, text=label, icon=ROLE_ICONS[name]).role = name


def _add_menu(menu: Menu, _context: bpy.types.Context) -> None:
    menu.layout.separator()
    menu.layout.menu(STOWFOLD_MT_add.bl_idname, icon="HOME")


def _main_menu(menu: Menu, _context: bpy.types.Context) -> None:
    menu.layout.menu(STOWFOLD_MT_main.bl_idname)


_keys: list[tuple[bpy.types.KeyMap, bpy.types.KeyMapItem]] = []


def _attach_keys() -> None:
    """Open the pie of roles by a key that the host leaves free in Edit Mode."""
    keys = bpy.context.window_manager.keyconfigs.addon
    if keys is not None:
        keymap = keys.keymaps.new(name="Mesh", space_type="EMPTY")
        item = keymap.keymap_items.new("wm.call_menu_pie", "D", "PRESS", shift=True, alt=True)
        item.properties.name = STOWFOLD_MT_edge_pie.bl_idname
        _keys.append((keymap, item))


CLASSES = (
    STOWFOLD_MT_edge_roles,
    STOWFOLD_MT_nets,
    STOWFOLD_MT_finishes,
    STOWFOLD_MT_add,
    STOWFOLD_MT_in_place,
    STOWFOLD_MT_compare,
    STOWFOLD_MT_workshop,
    STOWFOLD_MT_steps,
    STOWFOLD_MT_more_words,
    STOWFOLD_MT_main,
    STOWFOLD_MT_edge_pie,
)


def attach() -> None:
    """Hang our entries into the host's menus."""
    bpy.types.VIEW3D_MT_editor_menus.append(_main_menu)
    bpy.types.VIEW3D_MT_add.append(_add_menu)
    _attach_keys()
    bpy.types.VIEW3D_MT_edit_mesh_edges.append(_edge_menu)
    for menu in (bpy.types.VIEW3D_MT_object, bpy.types.VIEW3D_MT_edit_mesh):
        menu.append(_nets_menu)
    for menu in _FINISHED:
        getattr(bpy.types, menu).append(_finish_menu)
    bpy.types.TOPBAR_MT_file_export.append(_export_menu)


def detach() -> None:
    """Take them out again."""
    bpy.types.TOPBAR_MT_file_export.remove(_export_menu)
    for menu in _FINISHED:
        getattr(bpy.types, menu).remove(_finish_menu)
    for menu in (bpy.types.VIEW3D_MT_object, bpy.types.VIEW3D_MT_edit_mesh):
        menu.remove(_nets_menu)
    bpy.types.VIEW3D_MT_edit_mesh_edges.remove(_edge_menu)
    bpy.types.VIEW3D_MT_add.remove(_add_menu)
    bpy.types.VIEW3D_MT_editor_menus.remove(_main_menu)
    while _keys:
        keymap, item = _keys.pop()
        keymap.keymap_items.remove(item)
