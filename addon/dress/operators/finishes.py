"""Finishes put on faces: one of the catalogue as a material of its own, or one that the object has already."""

from __future__ import annotations

from collections.abc import Mapping

import bmesh
import bpy
from bpy.props import EnumProperty
from bpy.types import Operator

from ...geometry.finish.finish import Pattern
from ...jobs import results
from ...jobs.reporting import needs, report_errors, warn
from ..fields import PATTERNS

#: How finishes look in the viewport before they are engraved: red, green, blue.
COLOURS: Mapping[Pattern, tuple[float, float, float]] = {
    **dict.fromkeys((Pattern.UPRIGHT_BOARDS, Pattern.LEVEL_BOARDS, Pattern.LAPPED_BOARDS), (0.45, 0.31, 0.19)),
    **dict.fromkeys((Pattern.STRETCHER_BOND, Pattern.ENGLISH_BOND, Pattern.FLEMISH_BOND), (0.42, 0.16, 0.11)),
    **dict.fromkeys((Pattern.COURSED_STONE, Pattern.RUBBLE, Pattern.FLAGSTONES), (0.47, 0.44, 0.38)),
    Pattern.TIMBER_FRAME: (0.80, 0.76, 0.66),
    Pattern.SLATES: (0.20, 0.24, 0.29),
    Pattern.SHINGLES: (0.36, 0.30, 0.24),
    Pattern.PANTILES: (0.52, 0.20, 0.11),
    Pattern.THATCH: (0.58, 0.47, 0.25),
    **dict.fromkeys((Pattern.CHEQUER, Pattern.BASKET, Pattern.HERRINGBONE), (0.40, 0.25, 0.14)),
}


class STOWFOLD_OT_add_finish(Operator):
    """Put a finish on the selected faces, or on the whole object in Object Mode"""

    bl_idname = "stowfold.add_finish"
    bl_label = "Add Finish"
    bl_options = {"REGISTER", "UNDO"}

    pattern: EnumProperty(name="Pattern", items=PATTERNS, default="STRETCHER_BOND")

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        target = context.object
        mesh = target is not None and target.type == "MESH"
        if not needs(cls, mesh, "Select the building first"):
            return False
        editable = target.is_editable and target.data.is_editable
        return needs(cls, editable, "The building is linked from another file; make it local first")

    @report_errors()
    def execute(self, context: bpy.types.Context) -> set[str]:
        target = context.object
        edited = target.mode == "EDIT"
        bm = bmesh.from_edit_mesh(target.data) if edited else None
        if bm is not None and not any(face.select for face in bm.faces):
            return warn(self, "No face is selected; select the faces that get the finish first")
        slot = _slot_of(target, Pattern[self.pattern], everywhere=bm is None)
        target.active_material_index = slot
        if bm is not None:
            for face in bm.faces:
                if face.select:
                    face.material_index = slot
            bmesh.update_edit_mesh(target.data, loop_triangles=False, destructive=False)
        else:
            target.data.polygons.foreach_set("material_index", [slot] * len(target.data.polygons))
            target.data.update()
        results.suspect_all()
        self.report({"INFO"}, f"{target.material_slots[slot].material.name} put on")
        return {"FINISHED"}


def _slot_of(target: bpy.types.Object, pattern: Pattern, *, everywhere: bool) -> int:
    """Return the slot of an object whose material has a pattern; a new one at its end where there is none.

    everywhere: whether all faces get it. Otherwise what had no material keeps none.
    """
    for number, slot in enumerate(target.material_slots):
        if slot.material is not None and slot.material.stowfold.pattern == pattern.name:
            return number
    label = next(label for name, label, _, _ in PATTERNS if name == pattern.name)
    material = bpy.data.materials.new(label)
    material.stowfold.pattern = pattern.name
    material.diffuse_color = (*COLOURS[pattern], 1.0)
    # timbers are dark beside their panels on every building that has them
    material.stowfold.use_units = pattern is Pattern.TIMBER_FRAME
    if not everywhere and not len(target.data.materials):
        # faces that name no slot show the first one, which stays free for them
        target.data.materials.append(None)
    target.data.materials.append(material)
    return len(target.data.materials) - 1


CLASSES = (STOWFOLD_OT_add_finish,)
