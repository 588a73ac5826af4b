"""The start cube of a new file is removed by a click of the maker's, never by itself."""

from __future__ import annotations

import bpy
from bpy.types import Context, Operator

from ...jobs.reporting import needs
from ..start_cube import start_cube_inside


class STOWFOLD_OT_remove_start_cube(Operator):
    """Remove the cube that a new file holds from inside the building; a cube that was changed stays"""

    bl_idname = "stowfold.remove_start_cube"
    bl_label = "Remove Start Cube"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: Context) -> bool:
        found = context.mode == "OBJECT" and start_cube_inside(context.scene) is not None
        return needs(cls, found, "No untouched start cube stands inside a building")

    def execute(self, context: Context) -> set[str]:
        found = start_cube_inside(context.scene)
        if found is None:
            return {"CANCELLED"}
        cube, house = found
        mesh = cube.data
        bpy.data.objects.remove(cube)
        if not mesh.users:
            bpy.data.meshes.remove(mesh)
        self.report({"INFO"}, f"Start cube removed from inside '{house.name}'")
        return {"FINISHED"}


CLASSES = (STOWFOLD_OT_remove_start_cube,)
