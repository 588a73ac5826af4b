"""Build the sample files from nothing: ``python blend_samples/build_samples.py [FOLDER]``.

Runs in any Python that has Blender's module; the files in this folder are saved by the oldest
Blender that Stowfold supports, so that all newer ones can read them.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path

import bpy

sys.path.insert(0, str(Path(__file__).parent))
import buildings

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
    mesh.validate(verbose=True)
    made = bpy.data.objects.new(name, mesh)
    bpy.context.scene.collection.objects.link(made)
    return made


def build(folder: Path) -> None:
    """Save every sample into ``folder``."""
    # the host writes a file's own path into it, so all are saved in one neutral place and copied from there
    work = Path(tempfile.gettempdir()) / "stowfold_samples"
    work.mkdir(exist_ok=True)
    for file, name, builder in buildings.SAMPLES:
        bpy.ops.wm.read_factory_settings(use_empty=True)
        scene = bpy.context.scene
        scene.unit_settings.system = "METRIC"
        scene.unit_settings.scale_length = 0.001
        scene.unit_settings.length_unit = "MILLIMETERS"
        bpy.context.view_layer.objects.active = add_object(name, builder())
        saved = work / f"{file}.blend"
        bpy.ops.wm.save_as_mainfile(filepath=str(saved), compress=True, check_existing=False)
        shutil.copyfile(saved, folder / saved.name)
    shutil.rmtree(work)


if __name__ == "__main__":
    build(Path(sys.argv[1]).resolve() if len(sys.argv) > 1 else Path(__file__).resolve().parent)
