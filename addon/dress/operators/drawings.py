"""Own drawing: curves, texts and strokes laid flat on a wall, and SVG files taken in as curves."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING
from xml.etree import ElementTree

import bpy
from bpy.props import StringProperty
from bpy.types import Operator
from bpy_extras.io_utils import ImportHelper
from mathutils import Matrix, Vector

from ...geometry.errors import UnreadableError
from ...host.drawings import DRAWN
from ...host.lengths import mm_per_unit
from ...host.reading import find_block_out
from ...jobs import results
from ...jobs.reporting import needs, report_errors, warn

if TYPE_CHECKING:
    from bpy.types import Context, Object

#: The host's importer makes metres of millimetres, in units of the scene as the host understands them.
_MM = 1000.0

#: A face whose normal is so near to the vertical has no direction that is up on it.
_LEVEL = 0.99


class STOWFOLD_OT_lay_on_wall(Operator):
    """Lay the selected curves, texts and strokes flat on the nearest wall or slope, and have them engraved"""

    bl_idname = "stowfold.lay_on_wall"
    bl_label = "Lay on Wall"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: Context) -> bool:
        drawn = any(target.type in DRAWN for target in context.selected_objects)
        return needs(cls, drawn and context.mode == "OBJECT", "Select a curve, a text or strokes in Object Mode first")

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        chosen = [target for target in context.selected_objects if target.type in DRAWN]
        building = find_block_out(context.scene)
        for target in chosen:
            lay_on(target, building)
        results.suspect_all()
        self.report({"INFO"}, f"{len(chosen)} laid on walls; the laser engraves what lies on them")
        return {"FINISHED"}


class STOWFOLD_OT_import_drawing(Operator, ImportHelper):
    """Take an SVG file in at its true size and lay it on the wall that is nearest to the 3D cursor"""

    bl_idname = "stowfold.import_drawing"
    bl_label = "Import Drawing"
    bl_options = {"REGISTER", "UNDO"}

    filename_ext = ".svg"
    filter_glob: StringProperty(default="*.svg", options={"HIDDEN"})

    @classmethod
    def poll(cls, context: Context) -> bool:
        return needs(cls, context.mode == "OBJECT", "Go to Object Mode first")

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        path = Path(bpy.path.abspath(self.filepath))
        building = find_block_out(context.scene)
        made = _read(context, path)
        if made is None:
            return warn(self, f"{path.name} holds no paths; convert its texts and pictures to paths first")
        made.location = context.scene.cursor.location
        context.view_layer.update()
        lay_on(made, building)
        results.suspect_all()
        self.report({"INFO"}, f"{path.name} laid on the wall nearest to the 3D cursor")
        return {"FINISHED"}


def _read(context: Context, path: Path) -> Object | None:
    """Return the curves of an SVG file as one object at true size, its middle in the origin; None without any."""
    before = set(bpy.data.objects)
    collections = set(bpy.data.collections)
    try:
        # the host's importer tells the console alone what it cannot read
        ElementTree.parse(path)
        bpy.ops.import_curve.svg(filepath=str(path))
    except (RuntimeError, OSError, ValueError, ElementTree.ParseError) as error:
        raise UnreadableError(f"{path.name} cannot be read as SVG; save it again as plain SVG") from error
    curves = sorted((drawn for drawn in bpy.data.objects if drawn not in before), key=lambda drawn: drawn.name)
    into = context.collection
    for curve in curves:
        for home in list(curve.users_collection):
            home.objects.unlink(curve)
        into.objects.link(curve)
    for home in [brought for brought in bpy.data.collections if brought not in collections]:
        bpy.data.collections.remove(home)
    curves = [curve for curve in curves if curve.type == "CURVE" and len(curve.data.splines)]
    if not curves:
        return None
    for target in context.selected_objects:
        target.select_set(False)
    for curve in curves:
        curve.select_set(True)
    first = curves[0]
    context.view_layer.objects.active = first
    if len(curves) > 1:
        bpy.ops.object.join()
    first.name = path.stem
    size = _MM * context.scene.unit_settings.scale_length / mm_per_unit(context.scene)
    first.data.transform(first.matrix_world)
    first.matrix_world = Matrix.Identity(4)
    middle = sum((Vector(corner) for corner in first.bound_box), Vector()) / len(first.bound_box)
    first.data.transform(Matrix.Scale(size, 4) @ Matrix.Translation(-middle))
    return first


def lay_on(target: Object, building: tuple[Object, ...]) -> None:
    """Move an object flat onto the nearest face of a building, upright there, and have it engraved."""
    origin = target.matrix_world.translation
    found = []
    for mesh in building:
        inverse = mesh.matrix_world.inverted_safe()
        hit, place, normal, _ = mesh.closest_point_on_mesh(inverse @ origin)
        if hit:
            found.append((mesh.matrix_world @ place, (inverse.transposed().to_3x3() @ normal).normalized()))
    if not found:
        raise UnreadableError("The building has no faces to lie on; model its walls first")
    place, normal = min(found, key=lambda hit: (hit[0] - origin).length)
    up = Vector((0.0, 1.0, 0.0)) if abs(normal.z) > _LEVEL else Vector((0.0, 0.0, 1.0))
    across = up.cross(normal).normalized()
    turn = Matrix((across, normal.cross(across), normal)).transposed().to_4x4()
    target.matrix_world = Matrix.LocRotScale(place, turn.to_quaternion(), target.matrix_world.to_scale())
    target.stowfold.engraved = True


CLASSES = (STOWFOLD_OT_lay_on_wall, STOWFOLD_OT_import_drawing)
