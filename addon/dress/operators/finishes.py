"""Finishes put on faces: one of the catalogue as a material of its own, or one that the object has already."""

from __future__ import annotations

from collections.abc import Mapping

import bpy
from bpy.props import EnumProperty, IntProperty, StringProperty
from bpy.types import Context, Operator, OperatorProperties

from ...geometry.finish.finish import Pattern
from ...jobs import results
from ...jobs.reporting import needs, report_errors, warn
from ..fields import PATTERNS
from ..putting import FACES, KEPT, PLACES, dressed_object, material_among, put_on

__all__ = [
    "CLASSES",
    "STOWFOLD_OT_add_finish",
    "STOWFOLD_OT_choose_finish",
    "STOWFOLD_OT_pick_finish",
    "STOWFOLD_OT_remove_finish",
    "STOWFOLD_OT_reuse_finish",
    "can_dress",
]

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


def can_dress(cls: type[Operator], context: Context) -> bool:
    """Return whether there is a building whose faces can be given a finish; else say why not."""
    target = dressed_object(context)
    if not needs(cls, target is not None, "Select the building first"):
        return False
    editable = target is not None and target.is_editable and target.data.is_editable
    return needs(cls, editable, "The building is linked from another file; make it local first")


class STOWFOLD_OT_add_finish(Operator):
    """Put a finish on the walls or the roof, in Edit Mode on the selected faces"""

    bl_idname = "stowfold.add_finish"
    bl_label = "Add Finish"
    bl_options = {"REGISTER", "UNDO"}

    pattern: EnumProperty(name="Pattern", items=PATTERNS, default="STRETCHER_BOND")
    on: EnumProperty(name="On", description="Which faces get it in Object Mode", items=FACES, options={"SKIP_SAVE"})

    @classmethod
    def poll(cls, context: Context) -> bool:
        return can_dress(cls, context)

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        target, pattern = dressed_object(context), Pattern[self.pattern]
        assert target is not None  # poll asked
        known = material_among(target.data.materials, pattern)
        material = known or make_material(pattern)
        if not put_on(target, material, self.on, pattern):
            if known is None:
                bpy.data.materials.remove(material)
            return warn(self, "No face is selected; select the faces that get the finish first")
        results.suspect_all()
        self.report({"INFO"}, f"{material.name} put on")
        return {"FINISHED"}


class STOWFOLD_OT_remove_finish(Operator):
    """Leave the board bare on the walls or the roof, in Edit Mode on the selected faces"""

    bl_idname = "stowfold.remove_finish"
    bl_label = "Bare Board"
    bl_options = {"REGISTER", "UNDO"}

    on: EnumProperty(
        name="On", description="Which faces become bare in Object Mode", items=FACES, options={"SKIP_SAVE"}
    )

    @classmethod
    def poll(cls, context: Context) -> bool:
        return can_dress(cls, context)

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        if not put_on(dressed_object(context), None, self.on):
            return warn(self, "No face is selected; select the faces that become bare first")
        results.suspect_all()
        return {"FINISHED"}


class STOWFOLD_OT_choose_finish(Operator):
    """Give the floor or the room side of the walls a finish"""

    bl_idname = "stowfold.choose_finish"
    bl_label = "Choose Finish"
    bl_options = {"REGISTER", "UNDO"}

    pattern: EnumProperty(name="Pattern", items=PATTERNS, default="FLAGSTONES")
    on: EnumProperty(name="On", description="What gets it", items=PLACES, options={"SKIP_SAVE"})

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        ours, pattern = context.scene.stowfold, Pattern[self.pattern]
        if material_among([getattr(ours, KEPT[self.on])], pattern) is None:
            setattr(ours, KEPT[self.on], make_material(pattern))
        return {"FINISHED"}


class STOWFOLD_OT_reuse_finish(Operator):
    """Give the floor or the room side of the walls a finish that this file has, or none"""

    bl_idname = "stowfold.reuse_finish"
    bl_label = "Reuse Finish"
    bl_options = {"REGISTER", "UNDO"}

    material: StringProperty(
        name="Material", description="The finish by its name; none where it is empty", options={"SKIP_SAVE"}
    )
    on: EnumProperty(name="On", description="What gets it", items=PLACES, options={"SKIP_SAVE"})

    @classmethod
    def description(cls, _context: Context, properties: OperatorProperties) -> str:
        place = next(label for name, label, _, _ in PLACES if name == properties.on).lower()
        return f"Give the {place} '{properties.material}'" if properties.material else f"Leave the {place} bare"

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        material = bpy.data.materials.get(self.material)
        if self.material and material is None:
            return warn(self, "That finish is not in the file any more; choose another one")
        setattr(context.scene.stowfold, KEPT[self.on], material)
        return {"FINISHED"}


class STOWFOLD_OT_pick_finish(Operator):
    """Show the settings of this finish"""

    bl_idname = "stowfold.pick_finish"
    bl_label = "Pick Finish"
    bl_options = {"REGISTER", "UNDO"}

    slot: IntProperty(name="Slot", min=0, options={"SKIP_SAVE"})

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        target = dressed_object(context)
        if target is None or self.slot >= len(target.material_slots):
            return warn(self, "That finish is not on the building any more; choose another one")
        target.active_material_index = self.slot
        return {"FINISHED"}


def make_material(pattern: Pattern) -> bpy.types.Material:
    """Return a new material with a pattern and its colour."""
    label = next(label for name, label, _, _ in PATTERNS if name == pattern.name)
    material = bpy.data.materials.new(label)
    material.stowfold.pattern = pattern.name
    material.diffuse_color = (*COLOURS[pattern], 1.0)
    # timbers are dark beside their panels on every building that has them
    material.stowfold.use_units = pattern is Pattern.TIMBER_FRAME
    return material


CLASSES = (
    STOWFOLD_OT_add_finish,
    STOWFOLD_OT_remove_finish,
    STOWFOLD_OT_choose_finish,
    STOWFOLD_OT_reuse_finish,
    STOWFOLD_OT_pick_finish,
)
