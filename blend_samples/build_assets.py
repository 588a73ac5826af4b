"""Build the asset library from nothing: ``python blend_samples/build_assets.py [FILE]``.

It holds the buildings of the samples, openings, finishes, figures and furniture, each with a picture. Like the samples
it is saved by the oldest Blender that Stowfold supports; its catalogues are in the file beside it.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import bpy
import numpy as np
import stowfold
from shapely.geometry import box
from stowfold.dress.fields import PATTERNS
from stowfold.dress.operators.finishes import COLOURS
from stowfold.geometry.finish.draw import draw
from stowfold.geometry.finish.finish import Pattern, finish_of
from stowfold.geometry.finish.lines import clip
from stowfold.geometry.finish.surface import Surface
from stowfold.geometry.plan.opening_body import GLASS

sys.path.insert(0, str(Path(__file__).parent))
import build_samples
import buildings
from thumbnails import SIDE, draw_swatch, draw_thumbnail

FOLDER = Path(__file__).resolve().parents[1] / "addon" / "assets"

#: Sizes of furniture: name, length, depth and height in mm, what it is for.
FURNITURE = (
    ("Crate", (22.0, 22.0, 20.0), "A crate on one square; figures may stand on it"),
    ("Long Table", (50.0, 22.0, 18.0), "A table of two squares"),
    ("Bed", (48.0, 24.0, 14.0), "A bed of two squares"),
    ("Wall Shelf", (50.0, 10.0, 40.0), "A shelf against a wall; it hides what is behind it"),
)

#: Names of openings by kind, what a leaf changes, and what stands in them.
OPENINGS = (
    ("Doorway", "DOOR", "NONE", "NONE", "A doorway without a door"),
    ("Door That Swings", "DOOR", "LEFT", "NONE", "A door that stays in its board on a hinge of its own"),
    ("Plank Door", "DOOR", "LEFT", "BOARDS", "A door of boards and ledges on a hinge of its own"),
    ("Shut Plank Door", "DOOR", "NONE", "BOARDS", "A door of boards that is shut for good, engraved on its wall"),
    ("Window", "WINDOW", "NONE", "NONE", "A window without shutters"),
    ("Window With Bars", "WINDOW", "NONE", "BARS", "A window with glazing bars, cut with its wall"),
    ("Window With Mullions", "WINDOW", "NONE", "MULLIONS", "A window with upright mullions and a transom"),
    ("Window With Lattice Panes", "WINDOW", "NONE", "LATTICE", "A window with slanting bars"),
    ("Window With Shutter", "WINDOW", "LEFT", "NONE", "A window with a shutter on a hinge of its own"),
    ("Hatch", "HATCH", "NONE", "NONE", "A hatch high in a wall"),
    ("Archway", "ARCH", "NONE", "NONE", "A doorway under an arch"),
)

#: Side of the piece of board that a finish is drawn on for its picture, mm, and its colour.
_SWATCH, _BOARD = 36.0, (0.78, 0.66, 0.46)

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
        target = build_samples.add_object(sample.name, sample.shape(sample.fittings))
        made.append(Entry(target, "Stowfold/Buildings", "Bends and breaks are marked: it is cut as it stands"))
        target.stowfold.is_block_out = True
    ops = bpy.ops.stowfold
    for name, kind, leaf, filling, said in OPENINGS:
        ops.add_opening(kind=kind)
        fields = bpy.context.object.stowfold.opening
        fields.leaf, fields.filling = leaf, filling
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
    barred = target.stowfold.opening.is_opening
    glass = {polygon.index for polygon in mesh.polygons if barred and polygon.material_index == GLASS}
    preview.image_pixels_float[:] = draw_thumbnail(points.reshape(-1, 3), faces, colours, before=glass).ravel()


def finishes(known: dict[str, str]) -> list[bpy.types.Material]:
    """Return a material for every pattern as an asset, its lines drawn on a piece of board as its picture."""
    made = []
    for name, label, said, _ in PATTERNS:
        material = bpy.data.materials.new(label)
        material.stowfold.pattern = name
        material.diffuse_color = (*COLOURS[Pattern[name]], 1.0)
        material.asset_mark()
        data = material.asset_data
        data.catalog_id = known["Stowfold/Finishes"]
        data.description, data.author, data.license = f"{said}. Drop it on a building", "Stowfold", "GPL-3.0-or-later"
        preview = material.preview_ensure()
        preview.image_size = (SIDE, SIDE)
        preview.image_pixels_float[:] = draw_swatch(swatch(Pattern[name]), _SWATCH, _BOARD).ravel()
        made.append(material)
    return made


def swatch(pattern: Pattern) -> list[np.ndarray]:
    """Return the lines of a pattern on a square of board, (k, 2) mm each."""
    board = box(0.0, 0.0, _SWATCH, _SWATCH)
    lines, around, taken = draw(finish_of(pattern), Surface.of(board))
    return clip(lines, board.difference(taken)) + clip(around, board)


def build(path: Path) -> None:
    """Save the library to ``path``."""
    stowfold.register()
    bpy.ops.wm.read_factory_settings(use_empty=True)
    entries, known = lay_out(), catalogues()
    for entry in entries:
        mark(entry, known)
    # only what is named here is written: no screens, no paths of this machine
    kept = {entry.target for entry in entries} | set(finishes(known))
    bpy.data.libraries.write(str(path), kept, fake_user=True, compress=True)


if __name__ == "__main__":
    build(Path(sys.argv[1]).resolve() if len(sys.argv) > 1 else FOLDER / "stowfold_assets.blend")
