"""Build the asset library from nothing: ``python blend_samples/build_assets.py [FILE]``.

It holds the buildings of the samples, openings, figures and furniture, each with a picture. Like the samples it is
saved by the oldest Blender that Stowfold supports; its catalogues are in the file beside it.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import bpy
import numpy as np
import stowfold

sys.path.insert(0, str(Path(__file__).parent))
import build_samples
import buildings
from thumbnails import SIDE, draw_thumbnail

FOLDER = Path(__file__).resolve().parents[1] / "addon" / "assets"

#: Sizes of furniture: name, length, depth and height in mm, what it is for.
FURNITURE = (
    ("Crate", (22.0, 22.0, 20.0), "A crate on one square; figures may stand on it"),
    ("Long Table", (50.0, 22.0, 18.0), "A table of two squares"),
    ("Bed", (48.0, 24.0, 14.0), "A bed of two squares"),
    ("Wall Shelf", (50.0, 10.0, 40.0), "A shelf against a wall; it hides what is behind it"),
)

#: Names of openings by kind, and what a leaf changes.
OPENINGS = (
    ("Doorway", "DOOR", "NONE", "A doorway without a door"),
    ("Door That Swings", "DOOR", "LEFT", "A door that stays in its board on a hinge of its own"),
    ("Window", "WINDOW", "NONE", "A window without shutters"),
    ("Window With Shutter", "WINDOW", "LEFT", "A window with a shutter on a hinge of its own"),
    ("Hatch", "HATCH", "NONE", "A hatch high in a wall"),
    ("Archway", "ARCH", "NONE", "A doorway under an arch"),
)

#: Colour of what has no material: of openings, and of all else.
_BLUE, _GREY = (0.0, 0.45, 0.7), (0.62, 0.58, 0.5)


@dataclass(frozen=True, slots=True)
class Entry:
    """One asset: the object, its catalogue as the file of catalogues calls it, and what it is for."""

    target: bpy.types.Object
    catalogue: str
    said: str


def catalogues() -> dict[str, str]:
    """Return the identity of every catalogue by its path."""
    lines = (FOLDER / "blender_assets.cats.txt").read_text(encoding="utf-8").splitlines()
    entries = [line.split(":") for line in lines if line.count(":") == 2]
    return {path: identity for identity, path, _ in entries}


def lay_out() -> list[Entry]:
    """Add all that becomes an asset to an empty scene, at the origin."""
    made = []
    for sample in buildings.SAMPLES:
        target = build_samples.add_object(sample.name, sample.shape())
        made.append(Entry(target, "Stowfold/Buildings", "Bends and breaks are marked: it is cut as it stands"))
        target.stowfold.is_block_out = True
    ops = bpy.ops.stowfold
    for name, kind, leaf, said in OPENINGS:
        ops.add_opening(kind=kind)
        bpy.context.object.stowfold.opening.leaf = leaf
        made.append(Entry(_named(name), "Stowfold/Openings", f"{said}. Drop it near a wall"))
    for squares, name in ((1, "Figure"), (2, "Large Figure")):
        ops.add_miniature(squares=squares)
        what = "one square" if squares == 1 else f"{squares} by {squares} squares"
        made.append(Entry(_named(name), "Stowfold/Figures and Furniture", f"A stand-in for a figure on {what}"))
    for name, (length, depth, height), said in FURNITURE:
        ops.add_furniture(length=length, depth=depth, height=height)
        made.append(Entry(_named(name), "Stowfold/Figures and Furniture", said))
    for entry in made:
        entry.target.parent = None
        entry.target.location = (0.0, 0.0, 0.0)
        entry.target.rotation_euler = (0.0, 0.0, 0.0)
    return made


def _named(name: str) -> bpy.types.Object:
    target = bpy.context.object
    target.name = target.data.name = name
    return target


def mark(entry: Entry, known: dict[str, str]) -> None:
    """Make an object an asset, with its words and its picture."""
    target = entry.target
    target.asset_mark()
    data = target.asset_data
    data.catalog_id = known[entry.catalogue]
    data.description, data.author, data.license = entry.said, "Stowfold", "GPL-3.0-or-later"
    mesh = target.data
    points = np.empty(3 * len(mesh.vertices), dtype=np.float32)
    mesh.vertices.foreach_get("co", points)
    plain = _BLUE if target.stowfold.opening.is_opening else _GREY
    colours = [
        tuple(mesh.materials[polygon.material_index].diffuse_color[:3]) if mesh.materials else plain
        for polygon in mesh.polygons
    ]
    faces = [tuple(polygon.vertices) for polygon in mesh.polygons]
    preview = target.preview_ensure()
    preview.image_size = (SIDE, SIDE)
    preview.image_pixels_float[:] = draw_thumbnail(points.reshape(-1, 3), faces, colours).ravel()


def build(path: Path) -> None:
    """Save the library to ``path``."""
    stowfold.register()
    bpy.ops.wm.read_factory_settings(use_empty=True)
    entries, known = lay_out(), catalogues()
    for entry in entries:
        mark(entry, known)
    # only what is named here is written: no screens, no paths of this machine
    bpy.data.libraries.write(str(path), {entry.target for entry in entries}, fake_user=True, compress=True)


if __name__ == "__main__":
    build(Path(sys.argv[1]).resolve() if len(sys.argv) > 1 else FOLDER / "stowfold_assets.blend")
