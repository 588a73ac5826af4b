"""Moving: a part is taken on its sheet by hand, dragged to its place and pinned there."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import bpy
import numpy as np
from bpy.props import BoolProperty, FloatProperty, IntProperty, StringProperty
from bpy.types import Context, Event, Operator

from ...geometry.errors import BadSettingError
from ...host.pins import pin
from ...host.reading import as_typed, mm_per_unit
from ...host.views import redraw_views
from ...jobs.operator import NeedsSheets
from ...jobs.reporting import needs, report_errors, warn
from ...window.framing import SENSOR
from ...window.hints import LEAVE, show_hint
from ...window.pointing import Pointing, ray_of, view_region
from ...window.step import overlay_is_on
from .. import sheets
from ..sheets import Showing, hold
from .pins import pin_of, pins_changed

if TYPE_CHECKING:
    from ...geometry.sheet.by_hand import Bearing, InHand

_HINT = (
    ("MOUSE_LMB_DRAG", "Let Go to Pin"),
    ("EVENT_R", "Turn"),
    ("EVENT_CTRL", "Do Not Snap"),
    ("EVENT_ESC", ""),
    ("MOUSE_RMB", "Put It Back"),
)
_PICK = (("MOUSE_LMB_DRAG", "Move a Part on Its Sheet"), *LEAVE)

#: How far a part jumps to a fitting place, px at interface scale 1; what a hand moves without meaning to.
_SNAP, _STILL = 14.0, 3.0

#: A pointer farther from a sheet is beside it, mm.
_REACH = 15.0


def on_ground(context: Context, event: Event) -> np.ndarray | None:
    """Return the point of the ground under the pointer, (2,) mm; None where the view runs along the ground."""
    origin, ray = ray_of(context, event)
    if abs(ray[2]) < np.finfo(np.float32).eps:
        return None
    along = -origin[2] / ray[2]
    if along < 0.0 and context.region_data.is_perspective:
        return None
    return (origin + along * ray)[:2]


class STOWFOLD_OT_move_part(NeedsSheets, Pointing, Operator):
    """Move a part on its sheet by hand and pin it there: click it, drag it, let go"""

    bl_idname = "stowfold.move_part"
    bl_label = "Move Part on Sheet"
    bl_options = {"REGISTER", "UNDO"}

    part: StringProperty(name="Part", options={"HIDDEN", "SKIP_SAVE"})
    sheet: IntProperty(name="Sheet", description="Number of the sheet", default=1, min=1, options={"SKIP_SAVE"})
    turn: IntProperty(name="Turn", description="Quarter turns", min=0, max=3, options={"SKIP_SAVE"})
    x: FloatProperty(name="X (mm)", precision=3, options={"SKIP_SAVE"})
    y: FloatProperty(name="Y (mm)", precision=3, options={"SKIP_SAVE"})
    clicked: BoolProperty(options={"HIDDEN", "SKIP_SAVE"})

    # what the host cannot look up has no place in annotations of its classes
    _hand: Any = None
    _bearing: Any = None
    _moved = False

    def invoke(self, context: Context, event: Event) -> set[str]:
        if self.clicked:
            return self.point(context, _HINT) if self._take(context, event) else {"PASS_THROUGH"}
        context.window_manager.stowfold.show_sheets = True
        context.window_manager.stowfold.step = "CUT"
        if context.region is None or context.region.type != "WINDOW":
            region = view_region(context)
            if region is None:
                return warn(self, "Parts are moved in a 3D view")
            with context.temp_override(region=region):
                return bpy.ops.stowfold.move_part("INVOKE_DEFAULT")
        return self.point(context, _PICK)

    def modal(self, context: Context, event: Event) -> set[str]:
        shown = sheets.showing(context)
        if (
            self.puts_back(event)
            or shown is None
            or (self._hand is not None and shown.outcome is not self._shown.outcome)
        ):
            self.leave(context)
            return {"CANCELLED"}
        if self._hand is None:
            if event.type == "LEFTMOUSE" and event.value == "PRESS" and self._take(context, event):
                show_hint(context.workspace, _HINT)
            return self.let_look(event)
        if event.type == "R" and event.value == "PRESS":
            self._hand.turn()
            self._moved = True
            self._follow(context, event)
        elif event.type in {"MOUSEMOVE", "LEFT_CTRL", "RIGHT_CTRL"}:
            self._follow(context, event)
        elif event.type in {"RET", "NUMPAD_ENTER"} or (event.type == "LEFTMOUSE" and event.value == "RELEASE"):
            return self._let_go(context)
        return self.let_look(event)

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        from ...geometry.sheet.by_hand import Fit

        shown = sheets.showing(context)
        if shown is None or self.part not in shown.parts:
            raise BadSettingError(f"There is no part '{self.part}' on the sheets; check the building again")
        if self.sheet > len(shown.outcome.layout.sheets):
            raise BadSettingError(f"There is no sheet {self.sheet}; there are {len(shown.spread.sizes)}")
        hand = _take_up(shown, self.part)
        hand.quarter = self.turn
        bearing = hand.bear(self.sheet - 1, (as_typed(self.x), as_typed(self.y)))
        if bearing.fit is Fit.NOT:
            raise BadSettingError(f"Part {self.part} {bearing.why}; choose another place")
        return self._pin(context, bearing)

    def leave(self, context: Context) -> None:
        super().leave(context)
        hold(None)
        self._hand = None
        redraw_views()

    def cancel(self, context: Context) -> None:
        self.leave(context)

    def _take(self, context: Context, event: Event) -> bool:
        """Take the part under the pointer into the hand, where there is one; it is the one told of from now on."""
        from ...geometry.sheet.preview import part_at

        shown, point = sheets.showing(context), on_ground(context, event)
        if shown is None or point is None:
            return False
        part = part_at(shown.placements, shown.parts, shown.spread, point)
        if part is None:
            if context.window_manager.stowfold.sheet_part and shown.spread.sheet_at(point) is not None:
                context.window_manager.stowfold.sheet_part = ""
            return False
        context.window_manager.stowfold.sheet_part = part
        self._shown, self._hand, self._moved = shown, _take_up(shown, part), False
        start = self._hand.start
        c, s = math.cos(start.turn), math.sin(start.turn)
        on_sheet = point - shown.spread.corners[start.sheet] - start.shift
        self._grip, self._from = np.array([[c, s], [-s, c]]) @ on_sheet, (event.mouse_x, event.mouse_y)
        redraw_views()
        return True

    def _follow(self, context: Context, event: Event) -> None:
        """Bring the part to the pointer, or to a fitting place near it."""
        ui = context.preferences.system.ui_scale
        way = math.hypot(event.mouse_x - self._from[0], event.mouse_y - self._from[1])
        self._moved = self._moved or way > _STILL * ui
        point = on_ground(context, event)
        if not self._moved or point is None:
            return
        shown, hand = self._shown, self._hand
        # a part is held anywhere; beside a sheet it still belongs to the nearest one
        sheet = shown.spread.sheet_at(point, math.inf)
        beside = shown.spread.sheet_at(point, _REACH) is None
        shift = hand.shift_for(self._grip, point - shown.spread.corners[sheet])
        snap = 0.0 if event.ctrl else _SNAP * ui * _mm_per_px(context)
        self._bearing = hand.bear(sheet, shift, snap=snap, beside=beside)
        hold(hand.part.id, self._bearing)
        show_hint(context.workspace, _HINT, said=f"{hand.part.id} {self._bearing.why}")
        redraw_views()

    def _let_go(self, context: Context) -> set[str]:
        """Pin the part where it lies; one that was only clicked, or fits nowhere there, goes back."""
        from ...geometry.sheet.by_hand import Fit

        bearing = self._bearing if self._moved else None
        name = self._hand.part.id
        self.leave(context)
        if bearing is None:
            return {"CANCELLED"}
        if bearing.fit is Fit.NOT:
            return warn(self, f"Part {name} {bearing.why}; it went back to its place")
        return self._pin(context, bearing)

    def _pin(self, context: Context, bearing: Bearing) -> set[str]:
        shown = sheets.showing(context)
        new = pin_of(shown, bearing.placement)
        self.part, self.sheet, (self.x, self.y) = new.part, new.sheet + 1, new.shift
        self.turn = round(new.turn / (math.pi / 2)) % 4
        pin(context.scene, new)
        pins_changed()
        then = "" if not bearing.touched else f", instead of {', '.join(bearing.touched)}"
        self.report({"INFO"}, f"{new.part} is pinned on sheet {self.sheet}{then}; Lay Out Again places the others")
        return {"FINISHED"}


def _take_up(shown: Showing, part: str) -> InHand:
    from ...geometry.sheet.by_hand import InHand

    fixed = shown.pinned - {part}
    return InHand(shown.outcome.layout, shown.parts, part, placements=shown.placements, fixed=fixed)


def _mm_per_px(context: Context) -> float:
    """Return about how much of the ground one px shows, mm."""
    view, region = context.region_data, context.region
    width = view.view_distance * SENSOR / context.space_data.lens
    return width / max(region.width, region.height) * mm_per_unit(context.scene)


class STOWFOLD_OT_take_part(NeedsSheets, Operator):
    """Take the part under the pointer, where sheets are shown and there is one"""

    bl_idname = "stowfold.take_part"
    bl_label = "Take Part"
    bl_options = {"INTERNAL"}

    @classmethod
    def poll(cls, context: Context) -> bool:
        # the host writes what a click does into its status bar: only where sheets are shown it takes parts
        space = context.space_data
        view = space is not None and space.type == "VIEW_3D"
        shows = view and context.window_manager.stowfold.show_sheets and overlay_is_on(context, "sheets")
        return needs(cls, shows, "Show the sheets first") and super().poll(context)

    def invoke(self, _context: Context, _event: Event) -> set[str]:
        taken = bpy.ops.stowfold.move_part("INVOKE_DEFAULT", clicked=True)
        return {"FINISHED"} if "RUNNING_MODAL" in taken else {"PASS_THROUGH"}


_keys: list[tuple[bpy.types.KeyMap, bpy.types.KeyMapItem]] = []


def attach() -> None:
    """Have a click on a shown sheet take the part under it; any other click goes its usual way."""
    keys = bpy.context.window_manager.keyconfigs.addon
    if keys is not None:
        keymap = keys.keymaps.new(name="Object Mode", space_type="EMPTY")
        item = keymap.keymap_items.new(STOWFOLD_OT_take_part.bl_idname, "LEFTMOUSE", "PRESS")
        _keys.append((keymap, item))


def detach() -> None:
    """Let clicks alone again."""
    while _keys:
        keymap, item = _keys.pop()
        keymap.keymap_items.remove(item)


CLASSES = (STOWFOLD_OT_move_part, STOWFOLD_OT_take_part)
