"""Build the sample files from nothing: ``python blend_samples/build_samples.py [FOLDER]``.

Runs in any Python that has Blender's module and Stowfold; the files in this folder are saved by the
oldest Blender that Stowfold supports, so that all newer ones can read them.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path

import bpy
import stowfold

sys.path.insert(0, str(Path(__file__).parent))
import buildings

#: How finishes look in the viewport: red, green, blue.
COLOURS = {
    "red brick": (0.42, 0.16, 0.11),
    "limewash": (0.80, 0.76, 0.66),
    "tarred boards": (0.26, 0.21, 0.17),
    "slate": (0.20, 0.24, 0.29),
}

#: The edge attribute that holds what an edge is to become; see the README.
ROLE = "stowfold_role"


def add_object(name: str, shape: buildings.Shape) -> bpy.types.Object:
    """Add a mesh object to the scene, one unit being one millimetre, with the shape's marks on its edges."""
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata(shape.points, [], shape.faces)
    roles = mesh.attributes.new(ROLE, "INT", "EDGE")
    for edge in mesh.edges:
        a, b = edge.vertices
        roles.data[edge.index].value = shape.marks.get((min(a, b), max(a, b)), 0)
    finishes = list(dict.fromkeys(shape.finishes))
    for finish in finishes:
        material = bpy.data.materials.new(finish)
        material.diffuse_color = (*COLOURS[finish], 1.0)
        mesh.materials.append(material)
    for polygon, finish in zip(mesh.polygons, shape.finishes, strict=True):
        polygon.material_index = finishes.index(finish)
    mesh.validate(verbose=True)
    made = bpy.data.objects.new(name, mesh)
    bpy.context.scene.collection.objects.link(made)
    made.stowfold.is_block_out = True
    return made


def furnish(sample: buildings.Sample) -> None:
    """Put doors, table, seats, furniture and miniatures where the sample says."""
    ops, scene = bpy.ops.stowfold, bpy.context.scene
    for fitting in sample.fittings:
        scene.cursor.location = (*fitting.foot, 0.0)
        ops.add_opening(kind=fitting.kind)
        made = bpy.context.object
        made.name = fitting.name
        fields = made.stowfold.opening
        fields.width, fields.height, fields.sill = fitting.width, fitting.height, fitting.sill
        fields.leaf = fitting.leaf
    ops.add_table()
    ops.propose_seats(number=sample.seats)
    for piece in sample.furniture:
        length, depth, height = piece.size
        x, y = (square * buildings.SQUARE for square in piece.corner)
        scene.cursor.location = (x + length / 2, y + depth / 2, 0.0)
        ops.add_furniture(length=length, depth=depth, height=height)
        bpy.context.object.name = piece.name
    for name, column, row in sample.miniatures:
        scene.cursor.location = (column * buildings.SQUARE, row * buildings.SQUARE, 0.0)
        ops.add_miniature()
        bpy.context.object.name = name
    scene.cursor.location = (0.0, 0.0, 0.0)


def build(folder: Path) -> None:
    """Save every sample into ``folder``."""
    # the host writes a file's own path into it, so all are saved in one neutral place and copied from there
    work = Path(tempfile.gettempdir()) / "stowfold_samples"
    work.mkdir(exist_ok=True)
    stowfold.register()
    for sample in buildings.SAMPLES:
        bpy.ops.wm.read_factory_settings(use_empty=True)
        scene = bpy.context.scene
        scene.unit_settings.system = "METRIC"
        scene.unit_settings.scale_length = 0.001
        scene.unit_settings.length_unit = "MILLIMETERS"
        building = add_object(sample.name, sample.shape())
        furnish(sample)
        for each in bpy.context.view_layer.objects:
            each.select_set(False)
        bpy.context.view_layer.objects.active = building
        saved = work / f"{sample.file}.blend"
        bpy.ops.wm.save_as_mainfile(filepath=str(saved), compress=True, check_existing=False)
        shutil.copyfile(saved, folder / saved.name)
    shutil.rmtree(work)


if __name__ == "__main__":
    build(Path(sys.argv[1]).resolve() if len(sys.argv) > 1 else Path(__file__).resolve().parent)
