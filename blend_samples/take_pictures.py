"""Take the README's pictures of the window, in a Blender with the extension, 1600 by 900 pixels:

    blender --window-geometry 0 0 1600 900 --python blend_samples/take_pictures.py -- [FOLDER]

Pictures come from the screen by ImageMagick's ``import``, since the host's own are black where software draws.
Nothing in them is drawn by hand.
"""

from __future__ import annotations

import math
import subprocess
import sys
import tempfile
import traceback
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType

import bpy
import numpy as np
from mathutils import Euler, Vector

HERE = Path(__file__).resolve().parent
OUT = Path(sys.argv[sys.argv.index("--") + 1]).resolve() if sys.argv[-1] != "--" else HERE / "pictures"

#: Seconds between two looks, and the most that something may take.
TICK, PATIENCE = 0.5, 120.0

#: How well pictures are kept, per cent.
QUALITY = 88

#: Fold times of the strip: flat, bending, standing, on the way to the box, in the box.
FOLDS = (0.0, 0.3, 0.75, 1.0, 1.2, 2.0)

#: What is cut off the edges of a view, px; how much wider than the boards a frame is.
EDGE, MARGIN = 20, 1.3

#: Frames of the strip that stand beside one another, and the shape of a frame, high over wide.
BESIDE, SHAPE = 3, 0.62


def window() -> bpy.types.Window:
    return bpy.context.window_manager.windows[0]


def view() -> bpy.types.Area:
    return max((area for area in window().screen.areas if area.type == "VIEW_3D"), key=lambda area: area.width)


def ours(name: str) -> ModuleType:
    """Return a module of the extension, whatever repository it was installed into."""
    return next(module for path, module in sys.modules.items() if path.endswith(f".stowfold.{name}"))


def wait(met: Callable[[], object], what: str) -> Iterator[None]:
    for _ in range(int(PATIENCE / TICK)):
        yield
        if met():
            return
    raise TimeoutError(f"waited {PATIENCE:g} s for {what}")


def laid_out() -> bool:
    results = ours("jobs.results")
    report = results.shown(bpy.context)
    return report is not None and report.laid and results.state(bpy.context) is results.State.CURRENT


def pause(ticks: int = 3) -> Iterator[None]:
    for _ in range(ticks):
        yield


def show_tab() -> Iterator[None]:
    view().spaces.active.show_region_ui = True
    sidebar = next(region for region in view().regions if region.type == "UI")
    for _ in range(20):
        try:
            sidebar.active_panel_category = "Stowfold"
            return
        except (AttributeError, TypeError):
            # the host knows the tabs once it has drawn them
            yield


def in_view(operator: Callable[..., object], *how: str, **values: object) -> None:
    region = next(region for region in view().regions if region.type == "WINDOW")
    with bpy.context.temp_override(window=window(), area=view(), region=region):
        operator(*how, **values)


def pixels_of_screen() -> np.ndarray:
    """Return what the screen shows, (rows, columns, 4), the lowest row first."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "screen.png")
        subprocess.run(["import", "-window", "root", str(path)], check=True)
        image = bpy.data.images.load(str(path))
        pixels = np.array(image.pixels, dtype=np.float32).reshape(image.size[1], image.size[0], 4)
        bpy.data.images.remove(image)
    return pixels


def save(name: str, pixels: np.ndarray) -> None:
    image = bpy.data.images.new(name, pixels.shape[1], pixels.shape[0])
    image.pixels.foreach_set(np.ascontiguousarray(pixels, dtype=np.float32).ravel())
    image.filepath_raw, image.file_format = str(OUT / f"{name}.jpg"), "JPEG"
    image.save(quality=QUALITY)
    bpy.data.images.remove(image)
    print(f"picture: {name}", flush=True)


def of_view() -> np.ndarray:
    """Return what the 3D view shows with its sidebar, without the editors beside it."""
    area, high = view(), window().height
    shown = pixels_of_screen()
    # the window stands at the lower left of the screen: a bar that a manager of windows adds is above it
    assert shown.shape[0] >= high
    return shown[area.y : area.y + area.height, area.x : area.x + area.width]


def step(name: str) -> Iterator[None]:
    bpy.context.window_manager.stowfold.step = name
    for region in view().regions:
        region.tag_redraw()
    yield from pause()


def open_sample(name: str) -> Iterator[None]:
    bpy.ops.wm.open_mainfile(filepath=str(HERE / f"{name}.blend"))
    yield from pause()
    yield from show_tab()
    yield from wait(laid_out, f"the sheets of {name}")
    yield from pause()


def look(distance: float = 1.0, turn: float = 35.0, above: float = 62.0) -> None:
    """Look at the building over its front; distance: in the usual ones."""
    building = next(target for target in bpy.context.scene.objects if target.stowfold.is_block_out)
    corners = np.array([building.matrix_world @ Vector(corner) for corner in building.bound_box])
    low, high = corners.min(axis=0), corners.max(axis=0)
    region = view().spaces.active.region_3d
    region.view_perspective = "PERSP"
    region.view_rotation = Euler((math.radians(above), 0.0, math.radians(turn))).to_quaternion()
    region.view_distance = 1.5 * float(np.linalg.norm(high - low)) * distance
    middle = Vector(((low + high) / 2.0).tolist())
    region.view_location = middle + region.view_rotation @ Vector((0.14 * region.view_distance, 0.0, 0.0))


def samples() -> Iterator[None]:
    """The samples in the steps that the README speaks of."""
    yield from open_sample("grain_store")
    look()
    yield from step("BENDS")
    save("window", of_view())
    yield from step("PROOF")
    yield from fold_strip()
    yield from open_sample("lock_keepers_house")
    look(above=48.0)
    yield from step("TABLE")
    yield from pause(12)
    save("table", of_view())
    in_view(bpy.ops.stowfold.frame_sheets)
    yield from pause(6)
    save("sheets", of_view())


def fold_strip() -> Iterator[None]:
    """The building from its sheets up and down into the box, one picture beside the other."""
    space, stand = view().spaces.active, bpy.context.scene.stowfold.stand
    space.show_region_ui = space.show_region_toolbar = space.show_region_header = False
    space.show_gizmo = space.overlay.show_overlays = False
    for target in bpy.context.scene.objects:
        # the boards are shown by an object that stands for their collection
        target.hide_set(not target.stowfold.is_block_out and target.instance_collection is None)
    shown = []
    for fold in FOLDS:
        stand.fold = fold
        yield from pause(2)
        # the boards may still be made again for sheets that are drawn elsewhere
        for _ in range(2):
            look_at_points(points_to_see(fold))
            yield from pause(3)
        # the host's signs for opening what is hidden stand along the edges
        seen = of_view()[EDGE:-EDGE, EDGE:-EDGE]
        high, wide = seen.shape[:2]
        off = max(int(high - SHAPE * wide), 0) // 2
        shown.append(seen[off : high - off : 2, : wide - wide % 2 : 2])
    rows = [np.hstack(shown[k : k + BESIDE]) for k in range(0, len(shown), BESIDE)]
    save("fold", np.vstack(rows[::-1]))
    stand.fold = 1.0
    space.show_region_ui = space.show_region_toolbar = space.show_region_header = True
    space.show_gizmo = space.overlay.show_overlays = True


def points_to_see(fold: float) -> np.ndarray:
    """Return what a picture of a fold time must show, (n, 3) in units of the scene."""
    shower = next(target for target in bpy.context.scene.objects if target.instance_collection is not None)
    points = ours("geometry.show.film").points_to_see(ours("stand.preview").film(), fold)
    points = points / ours("host.lengths").mm_per_unit(bpy.context.scene)
    pose = np.array(shower.matrix_world)
    return points @ pose[:3, :3].T + pose[:3, 3]


def look_at_points(points: np.ndarray) -> None:
    """Look over all points from the front, as near as they let."""
    region = view().spaces.active.region_3d
    region.view_perspective = "ORTHO"
    region.view_rotation = Euler((math.radians(48.0), 0.0, math.radians(18.0))).to_quaternion()
    turned = points @ np.array(region.view_rotation.to_matrix())
    low, high = turned.min(axis=0), turned.max(axis=0)
    region.view_location = region.view_rotation @ Vector(((low + high) / 2.0).tolist())
    wide = max(high[0] - low[0], (high[1] - low[1]) / SHAPE)
    # the host shows 72 mm over the lens at the distance, in the view's longer side
    region.view_distance = MARGIN * float(wide) * view().spaces.active.lens / 72.0


def first_run() -> Iterator[None]:
    """An empty file, as far as the sheets."""
    bpy.data.objects.remove(bpy.data.objects["Cube"])
    yield from pause()
    yield from show_tab()
    yield from pause()
    in_view(bpy.ops.stowfold.add_building, "INVOKE_DEFAULT", roof="GABLE")
    yield from wait(laid_out, "the house")
    yield from pause()
    save("first_building", of_view())
    in_view(bpy.ops.stowfold.add_table)
    in_view(bpy.ops.stowfold.propose_seats)
    yield from pause(6)
    in_view(bpy.ops.stowfold.model_to_sheets, "INVOKE_DEFAULT")
    yield from wait(lambda: bpy.context.window_manager.stowfold.step == "CUT", "the step of the cut")
    yield from pause(8)
    save("first_run", of_view())


def way() -> Iterator[None]:
    OUT.mkdir(parents=True, exist_ok=True)
    yield from first_run()
    yield from samples()


going = way()


def tick() -> float | None:
    try:
        next(going)
        return TICK
    except StopIteration:
        print("picture: all taken", flush=True)
    except Exception:
        traceback.print_exc()
        sys.stdout.flush()
    bpy.ops.wm.quit_blender()
    return None


view_preferences = bpy.context.preferences.view
view_preferences.show_splash = view_preferences.show_tooltips = False
view_preferences.smooth_view = 0
bpy.app.timers.register(tick, first_interval=3.0, persistent=True)
