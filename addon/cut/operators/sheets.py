"""Sheets in the window: looked at from above, and parts moved on them by hand and pinned there."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import bpy
import numpy as np
from bpy.props import BoolProperty, FloatProperty, IntProperty, StringProperty
from bpy.types import Context, Event, Operator

from ...geometry.errors import BadSettingError
from ...geometry.sheet.layout_wishes import Pin
from ...host.pins import pin, pins_of, unpin
from ...host.reading import as_typed, mm_per_unit
from ...host.views import redraw_views
from ...jobs import results
from ...jobs.operator import NeedsSheets
from ...jobs.reporting import needs, report_errors, warn
from ...window.framing import SENSOR, frame
from ...window.pointing import Pointing, ray_of, view_region
from ...window.step import overlay_is_on
from .. import sheets
from ..sheets import Showing, hold

if TYPE_CHECKING:
    from ...geometry.sheet.by_hand import Bearing, InHand
    from ...geometry.sheet.piece import Placement

_HINT = "Drag a part to its place and let go to pin it · R: turn · Ctrl: do not snap · Esc or right click: put it back"
_PICK = "Click a part on its sheet and drag it · Esc or right click: leave it"

#: How far a part jumps to a fitting place, px at interface scale 1; what a hand moves without meaning to.
_SNAP, _STILL = 14.0, 3.0

#: Width of the signs for turning the view, and height of what is written over its upper corner, px at interface
#: scale 1.
_SIGNS, _HEAD = 50.0, 210.0

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


class STOWFOLD_OT_frame_sheets(NeedsSheets, Operator):
    """Show the sheets of the last check and look at all of them from above"""

    bl_idname = "stowfold.frame_sheets"
    bl_label = "Frame Sheets"

    def execute(self, context: Context) -> set[str]:
        context.window_manager.stowfold.show_sheets = True
        context.window_manager.stowfold.step = "CUT"
        shown = sheets.showing(context)
        region = view_region(context)
        if shown is None or region is None:
            return {"FINISHED"}
        _leave_building(context.area.spaces.active.region_3d)
        x0, y0, x1, y1 = (each / mm_per_unit(context.scene) for each in shown.spread.box)
        space = context.area.spaces.active
        view, ui = space.region_3d, context.preferences.system.ui_scale
        # tools, sidebar and the host's signs for turning beside it lie over the view
        left, right = (
            next((region.width for region in context.area.regions if region.type == kind), 0)
            for kind in ("TOOLS", "UI")
        )
        right += _SIGNS * ui
        top, bottom = _HEAD * ui, 40.0 * ui
        free = (max(region.width - left - right - 60.0 * ui, 100.0), max(region.height - top - bottom, 100.0))
        scale = min(free[0] / (x1 - x0), free[1] / (y1 - y0))
        view.view_perspective = "ORTHO"
        view.view_rotation = (1.0, 0.0, 0.0, 0.0)
        view.view_distance = max(region.width, region.height) / scale * space.lens / SENSOR
        view.view_location = (
            (x0 + x1) / 2 + (right - left) / 2 / scale,
            (y0 + y1) / 2 + (top - bottom) / 2 / scale,
            0.0,
        )
        return {"FINISHED"}


class STOWFOLD_OT_frame_building(Operator):
    """Look at the building again, as before the sheets were looked at"""

    bl_idname = "stowfold.frame_building"
    bl_label = "Frame Building"

    @classmethod
    def poll(cls, context: Context) -> bool:
        return needs(cls, any(_buildings(context)), "Add a building first")

    def execute(self, context: Context) -> set[str]:
        if view_region(context) is None:
            return {"FINISHED"}
        view, before = context.area.spaces.active.region_3d, _left.pop("view", None)
        if before is not None:
            view.view_perspective, view.view_distance = before.kind, before.distance
            view.view_rotation, view.view_location = before.rotation, before.location
        frame(context, _buildings(context))
        return {"FINISHED"}


@dataclass(frozen=True, slots=True)
class _View:
    """How a view looked at the building, in the host's words."""

    kind: str
    distance: float
    rotation: tuple[float, ...]
    location: tuple[float, ...]


#: The view of the building that was left for the sheets, none while the building is looked at.
_left: dict[str, _View] = {}


def _leave_building(view: bpy.types.RegionView3D) -> None:
    if "view" not in _left:
        _left["view"] = _View(
            view.view_perspective, view.view_distance, tuple(view.view_rotation), tuple(view.view_location)
        )


def _buildings(context: Context) -> list[bpy.types.Object]:
    return [target for target in context.visible_objects if target.stowfold.is_block_out]


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
                context.workspace.status_text_set(_HINT)
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
        context.workspace.status_text_set(f"{hand.part.id} {self._bearing.why} · {_HINT}")
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
        new = _pin_of(shown, bearing.placement)
        self.part, self.sheet, (self.x, self.y) = new.part, new.sheet + 1, new.shift
        self.turn = round(new.turn / (math.pi / 2)) % 4
        pin(context.scene, new)
        _pins_changed()
        then = "" if not bearing.touched else f", instead of {', '.join(bearing.touched)}"
        self.report({"INFO"}, f"{new.part} is pinned on sheet {self.sheet}{then}; Lay Out Again places the others")
        return {"FINISHED"}


def _take_up(shown: Showing, part: str) -> InHand:
    from ...geometry.sheet.by_hand import InHand

    fixed = shown.pinned - {part}
    return InHand(shown.outcome.layout, shown.parts, part, placements=shown.placements, fixed=fixed)


def _pin_of(shown: Showing | None, placement: Placement) -> Pin:
    """Return the pin that holds a part where it lies, on the laser that cuts that sheet."""
    return Pin.of(placement, shown.outcome.layout.sheets[placement.sheet].laser.name if shown is not None else "")


def _mm_per_px(context: Context) -> float:
    """Return about how much of the ground one px shows, mm."""
    view, region = context.region_data, context.region
    width = view.view_distance * SENSOR / context.space_data.lens
    return width / max(region.width, region.height) * mm_per_unit(context.scene)


def _pins_changed() -> None:
    """Have the layout compared with the pins, and drawn with them."""
    results.suspect_all()
    redraw_views()


def _pinned_or_chosen(operator: Operator, context: Context) -> str:
    return operator.part or context.window_manager.stowfold.sheet_part


class STOWFOLD_OT_pin_part(NeedsSheets, Operator):
    """Pin the part where it lies, so that the next layout leaves it there"""

    bl_idname = "stowfold.pin_part"
    bl_label = "Pin Part"
    bl_options = {"REGISTER", "UNDO"}

    part: StringProperty(name="Part", description="Id of the part; the one that was clicked where it is left empty")

    def execute(self, context: Context) -> set[str]:
        shown = sheets.showing(context)
        name = _pinned_or_chosen(self, context)
        placement = shown.placement(name) if shown is not None else None
        if placement is None:
            return warn(self, "Click a part on its sheet first")
        pin(context.scene, _pin_of(shown, placement))
        _pins_changed()
        return {"FINISHED"}


class STOWFOLD_OT_unpin_part(Operator):
    """Take the part's pin out, so that the next layout may place it again"""

    bl_idname = "stowfold.unpin_part"
    bl_label = "Unpin Part"
    bl_options = {"REGISTER", "UNDO"}

    part: StringProperty(name="Part", description="Id of the part; the one that was clicked where it is left empty")

    def execute(self, context: Context) -> set[str]:
        if not unpin(context.scene, {_pinned_or_chosen(self, context)}):
            return warn(self, "This part is not pinned")
        _pins_changed()
        return {"FINISHED"}


class STOWFOLD_OT_unpin_all(Operator):
    """Take all pins out, so that the next layout may place every part again"""

    bl_idname = "stowfold.unpin_all"
    bl_label = "Unpin All"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: Context) -> bool:
        return needs(cls, len(context.scene.stowfold.pins), "No part is pinned")

    def execute(self, context: Context) -> set[str]:
        count = len(pins_of(context.scene))
        unpin(context.scene)
        _pins_changed()
        self.report(
            {"INFO"}, f"{count} pin{'s' if count != 1 else ''} taken out; Lay Out Again places every part again"
        )
        return {"FINISHED"}


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


CLASSES = (
    STOWFOLD_OT_frame_sheets,
    STOWFOLD_OT_frame_building,
    STOWFOLD_OT_move_part,
    STOWFOLD_OT_take_part,
    STOWFOLD_OT_pin_part,
    STOWFOLD_OT_unpin_part,
    STOWFOLD_OT_unpin_all,
)
