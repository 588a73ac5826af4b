"""The scene: one click makes it fit for work in squares and millimetres."""

from __future__ import annotations

from bpy.types import Context, Operator

from ..bridge import as_typed, mm_per_unit

#: From the thickness of a card to a table's length, mm.
_NEAR, _FAR = 1.0, 10000.0

#: From where a building of ordinary size fills the view, mm.
_DISTANCE = 600.0


class STOWFOLD_OT_set_up_scene(Operator):
    """Show millimetres and squares: units, grid, clipping and snapping. Existing things keep their size"""

    bl_idname = "stowfold.set_up_scene"
    bl_label = "Set Up Scene"
    bl_options = {"REGISTER", "UNDO"}

    def execute(self, context: Context) -> set[str]:
        scene = context.scene
        units = scene.unit_settings
        empty = not any(each.type not in {"CAMERA", "LIGHT"} for each in scene.objects)
        units.system = "METRIC"
        units.length_unit = "MILLIMETERS"
        if empty:
            units.scale_length = 0.001
        unit = mm_per_unit(scene)
        square = as_typed(scene.stowfold.square) / unit
        tools = scene.tool_settings
        tools.use_snap = True
        # the name of snapping to the grid's increments changed once
        names = tools.bl_rna.properties["snap_elements_base"].enum_items.keys()
        tools.snap_elements_base = {"GRID" if "GRID" in names else "INCREMENT"}
        for area in (each for window in context.window_manager.windows for each in window.screen.areas):
            for space in (each for each in area.spaces if each.type == "VIEW_3D"):
                # the grid is drawn in the scene's metres, not in its units
                space.overlay.grid_scale = square * units.scale_length
                space.clip_start = _NEAR / unit
                space.clip_end = _FAR / unit
                if empty:
                    space.region_3d.view_distance = _DISTANCE / unit
            area.tag_redraw()
        kept = "" if empty else "; the scale stays, so that existing things keep their size"
        self.report({"INFO"}, f"One square is {as_typed(scene.stowfold.square):g} mm on the grid{kept}")
        return {"FINISHED"}


CLASSES = (STOWFOLD_OT_set_up_scene,)
