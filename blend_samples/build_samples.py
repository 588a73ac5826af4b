"""Build the sample files from nothing: ``python blend_samples/build_samples.py [FOLDER]``.

Runs in any Python that has Blender's module and Stowfold; the files in this folder are saved by the
oldest Blender that Stowfold supports, so that all newer ones can read them.
"""

from __future__ import annotations

import math
import shutil
import sys
import tempfile
from pathlib import Path

import bpy
import numpy as np
import stowfold
from mathutils import Euler, Vector
from stowfold.host.lengths import to_units
from stowfold.host.scale import keep_scale

sys.path.insert(0, str(Path(__file__).parent))
import buildings

#: How finishes are painted: red, green, blue, linear as the host keeps them.
COLOURS = {
    "brick": (0.36, 0.12, 0.07),
    "timber frame": (0.80, 0.76, 0.66),
    "tarred boards": (0.20, 0.15, 0.115),
    "slate": (0.13, 0.16, 0.20),
    "tiled floor": (0.55, 0.48, 0.40),
    "flagged floor": (0.47, 0.44, 0.38),
}

#: Dark brown of timbers, cream of frames.
TIMBER, CREAM = (0.07, 0.03, 0.015), (0.75, 0.70, 0.58)

#: The colour of a finish's timbers, and of the wash in its lines.
UNITS = {"timber frame": TIMBER}
LINES = {"brick": (0.60, 0.55, 0.45)}

#: The colours of a sample's trim and doors; a door that is shut for good is of its wall.
TRIM = {"grain_store": CREAM, "toll_house": TIMBER, "lock_keepers_house": CREAM}
LEAF = {"grain_store": (0.25, 0.05, 0.03), "lock_keepers_house": (0.03, 0.10, 0.08)}

#: The edge attribute that holds what an edge is to become; see the README.
ROLE = "stowfold_role"

#: From where a sample is seen first: over its front, a little from the right.
VIEW = Euler((math.radians(62.0), 0.0, math.radians(25.0)))

#: How far the eye is from the building's middle, in radii of the ball round it: that fits a view of 16 to 9.
AWAY = 2.9

#: The building lies so far left of the view's middle and above it, as shares of the distance: the sidebar covers the
#: right, the legend a corner below.
LEFT, ABOVE = 0.14, 0.05


def add_object(name: str, shape: buildings.Shape) -> bpy.types.Object:
    """Add a mesh object to the scene, one unit being one square, with the shape's marks on its edges."""
    scene = bpy.context.scene
    keep_scale(scene)
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata([[to_units(value, scene) for value in point] for point in shape.points], [], shape.faces)
    roles = mesh.attributes.new(ROLE, "INT", "EDGE")
    for edge in mesh.edges:
        a, b = edge.vertices
        roles.data[edge.index].value = shape.marks.get((min(a, b), max(a, b)), 0)
    finishes = list(dict.fromkeys(shape.finishes))
    for finish in finishes:
        mesh.materials.append(material_of(finish))
    for polygon, finish in zip(mesh.polygons, shape.finishes, strict=True):
        polygon.material_index = finishes.index(finish)
    mesh.validate(verbose=True)
    made = bpy.data.objects.new(name, mesh)
    scene.collection.objects.link(made)
    made.stowfold.is_block_out = True
    return made


def material_of(finish: str) -> bpy.types.Material:
    """Return a new material with the colour and the pattern of a finish."""
    material, dress = bpy.data.materials.new(finish), buildings.DRESSES[finish]
    material.diffuse_color = (*COLOURS[finish], 1.0)
    fields = material.stowfold
    fields.pattern, fields.size = dress.pattern, dress.size
    if finish in UNITS:
        fields.use_units, fields.units_colour = True, UNITS[finish]
    if finish in LINES:
        fields.use_lines, fields.lines_colour = True, LINES[finish]
    return material


def colour_boards(sample: buildings.Sample) -> None:
    """Give trim, doors and bare board the sample's colours."""
    paint = bpy.context.scene.stowfold.paint
    paint.use_bare = True
    if sample.file in TRIM:
        paint.use_trim, paint.trim = True, TRIM[sample.file]
    if sample.file in LEAF:
        paint.use_leaf, paint.leaf = True, LEAF[sample.file]


def furnish(sample: buildings.Sample) -> None:
    """Put doors, trim, table, seats, furniture and miniatures where the sample says."""
    ops = bpy.ops.stowfold
    for switch in sample.trim:
        setattr(bpy.context.scene.stowfold.trim, switch, True)
    for fitting in sample.fittings:
        put_cursor(*fitting.foot)
        ops.add_opening(kind=fitting.kind)
        made = bpy.context.object
        made.name = fitting.name
        fields = made.stowfold.opening
        fields.width, fields.height, fields.sill = fitting.width, fitting.height, fitting.sill
        fields.leaf, fields.filling, fields.trim = fitting.leaf, fitting.filling, fitting.trim
    for sign in sample.signs:
        put_cursor(*sign.place)
        ops.add_signboard(text=sign.text, hangs=True, above=sign.above)
        bpy.context.object.name = f"{sign.text.capitalize()} sign"
    ops.add_table()
    table = bpy.context.object.stowfold.place
    table.length, table.depth = sample.table
    ops.propose_seats(number=sample.seats)
    for piece in sample.furniture:
        length, depth, height = piece.size
        x, y = (square * buildings.SQUARE for square in piece.corner)
        put_cursor(x + length / 2, y + depth / 2)
        ops.add_furniture(length=length, depth=depth, height=height)
        bpy.context.object.name = piece.name
    for name, column, row in sample.miniatures:
        put_cursor(column * buildings.SQUARE, row * buildings.SQUARE)
        ops.add_miniature()
        bpy.context.object.name = name
    put_cursor(0.0, 0.0)


def put_cursor(x: float, y: float) -> None:
    """Put the 3D cursor on the ground, where the next thing is added; x and y in mm."""
    scene = bpy.context.scene
    scene.cursor.location = (to_units(x, scene), to_units(y, scene), 0.0)


def look_at(building: bpy.types.Object) -> None:
    """Have the 3D views of all screens show the building, with their sidebars open."""
    bpy.context.view_layer.update()
    corners = np.array([building.matrix_world @ Vector(corner) for corner in building.bound_box])
    low, high = corners.min(axis=0), corners.max(axis=0)
    distance = AWAY * float(np.linalg.norm(high - low)) / 2.0
    turn = VIEW.to_quaternion()
    for screen in bpy.data.screens:
        for area in (area for area in screen.areas if area.type == "VIEW_3D"):
            space = area.spaces.active
            space.show_region_ui = True
            view = space.region_3d
            view.view_perspective = "PERSP"
            view.view_rotation = turn
            view.view_distance = distance
            view.view_location = Vector((low + high) / 2.0) + turn @ Vector((LEFT * distance, -ABOVE * distance, 0.0))


def build(folder: Path) -> None:
    """Save every sample into ``folder``."""
    # the host writes a file's own path into it, so all are saved in one neutral place and copied from there
    work = Path(tempfile.gettempdir()) / "stowfold_samples"
    work.mkdir(exist_ok=True)
    stowfold.register()
    for sample in buildings.SAMPLES:
        bpy.ops.wm.read_factory_settings(use_empty=True)
        building = add_object(sample.name, sample.shape())
        furnish(sample)
        colour_boards(sample)
        if sample.floor:
            bpy.context.scene.stowfold.floor_finish = material_of(sample.floor)
        if sample.laid:
            ours = bpy.context.scene.stowfold
            ours.floor_tiles, ours.floor_way = True, sample.laid
        for target in bpy.context.view_layer.objects:
            target.select_set(False)
        bpy.context.view_layer.objects.active = building
        look_at(building)
        bpy.context.scene.stowfold.is_sample = True
        saved = work / f"{sample.file}.blend"
        bpy.ops.wm.save_as_mainfile(filepath=str(saved), compress=True, check_existing=False)
        shutil.copyfile(saved, folder / saved.name)
    shutil.rmtree(work)


if __name__ == "__main__":
    build(Path(sys.argv[1]).resolve() if len(sys.argv) > 1 else Path(__file__).resolve().parent)
