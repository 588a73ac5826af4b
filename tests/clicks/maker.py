"""Runs inside Blender's window: a maker goes from an empty file to cut files, by pointer and keys alone.

Started by ``test_first_building.py`` with a folder behind ``--``: there it leaves ``told.json``, with what it
clicked and what came of it. Buttons are found by what they do, not by where they are: the pointer goes down the
sidebar, and Ctrl C over a button copies the command that it would run.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import traceback
from collections.abc import Iterator
from pathlib import Path

import bpy
from bpy_extras.view3d_utils import location_3d_to_region_2d

OUT = Path(sys.argv[sys.argv.index("--") + 1])

#: Between two events, s; the host must have drawn what the last one changed.
TICK = 0.12

#: Rows of the sidebar are looked at in steps of so many px; within a row at these shares of its width.
ROW, ACROSS = 9, (0.3, 0.75)

#: A sidebar that is shut down to its tabs is narrower than this, px.
ONLY_TABS = 100

told: dict[str, object] = {"clicks": [], "done": False}


def window() -> bpy.types.Window:
    return bpy.context.window_manager.windows[0]


def area() -> bpy.types.Area:
    return max((a for a in window().screen.areas if a.type == "VIEW_3D"), key=lambda a: a.width * a.height)


def region(kind: str) -> bpy.types.Region:
    return next(region for region in area().regions if region.type == kind)


def send(kind: str, value: str, at: tuple[int, int], **keys: object) -> None:
    window().event_simulate(type=kind, value=value, x=int(at[0]), y=int(at[1]), **keys)


def move(at: tuple[int, int]) -> Iterator[None]:
    # the pointer rests on a button in one redraw before it is pressed
    send("MOUSEMOVE", "NOTHING", (at[0] - 2, at[1]))
    yield
    send("MOUSEMOVE", "NOTHING", at)
    yield


def tap(key: str, at: tuple[int, int], **keys: object) -> Iterator[None]:
    send(key, "PRESS", at, **keys)
    yield
    send(key, "RELEASE", at, **keys)
    yield


def click(at: tuple[int, int], what: str) -> Iterator[None]:
    yield from move(at)
    yield from tap("LEFTMOUSE", at)
    told["clicks"].append(what)


def wait(met: object, seconds: float, what: str) -> Iterator[None]:
    for _ in range(int(seconds / TICK)):
        if met():
            return
        yield
    raise TimeoutError(f"waited {seconds:g} s for {what}")


def find_button(command: str) -> Iterator[None]:
    """Leave the place of the button that runs a command in ``found``; it must be on the first screen."""
    sidebar = region("UI")
    found.clear()
    for y in range(sidebar.y + sidebar.height - 12, sidebar.y, -ROW):
        for share in ACROSS:
            at = (int(sidebar.x + share * (sidebar.width - 24)), y)
            bpy.context.window_manager.clipboard = ""
            yield from move(at)
            yield from tap("C", at, ctrl=True)
            if command in bpy.context.window_manager.clipboard:
                found.append(at)
                return
    raise LookupError(f"no button on the first screen runs {command}")


found: list[tuple[int, int]] = []


def press(command: str) -> Iterator[None]:
    yield from find_button(command)
    yield from click(found[0], command)


def our_tab_is_open() -> bool:
    sidebar = region("UI")
    return sidebar.active_panel_category == "Stowfold" and sidebar.width > ONLY_TABS


def open_tab() -> Iterator[None]:
    """Open the sidebar by its key and click our tab, wherever it stands among the others.

    A click on the active tab shuts the sidebar in newer hosts: so there is no click when ours is active already.
    """
    view = region("WINDOW")
    middle = (view.x + view.width // 3, view.y + view.height // 2)
    yield from move(middle)
    yield from tap("N", middle)
    yield from wait(lambda: region("UI").width > ONLY_TABS, 5, "the sidebar")
    for _ in range(8):
        yield
    sidebar = region("UI")
    for y in range(sidebar.y + 30, sidebar.y + sidebar.height, 40):
        if our_tab_is_open():
            return
        at = (sidebar.x + sidebar.width - 9, y)
        yield from move(at)
        yield from tap("LEFTMOUSE", at)
        yield
        if our_tab_is_open():
            told["clicks"].append("tab")
            return
    raise LookupError("there is no tab of ours")


def on_front_wall() -> tuple[int, int]:
    """Return where the middle of the left half of the front wall is on the screen."""
    house = bpy.data.objects["House"]
    low, high = house.bound_box[0], house.bound_box[6]
    point = house.matrix_world.translation.copy()
    point += type(point)((low[0] + 0.25 * (high[0] - low[0]), low[1], 0.5 * (low[2] + high[2])))
    view = region("WINDOW")
    at = location_3d_to_region_2d(view, area().spaces.active.region_3d, point)
    return int(view.x + at.x), int(view.y + at.y)


def openings() -> list[str]:
    return [target.name for target in bpy.data.objects if target.stowfold.opening.is_opening]


def meshes() -> list[str]:
    """Return what of the scene is drawn, without openings and what stands at the table."""
    things = (target for target in bpy.context.scene.objects if target.type == "MESH")
    return [t.name for t in things if not t.stowfold.opening.is_opening and t.stowfold.place.kind == "NONE"]


def seats() -> list[str]:
    return [target.name for target in bpy.data.objects if target.stowfold.place.kind == "SEAT"]


def first_building() -> Iterator[None]:
    """Go the whole way."""
    yield from open_tab()
    yield from press("stowfold.add_building")
    yield from wait(lambda: "House" in bpy.data.objects, 20, "the house")
    for _ in range(8):
        yield
    yield from press("stowfold.remove_start_cube")
    yield from wait(lambda: "Cube" not in bpy.data.objects, 5, "the start cube to go")
    yield from press("stowfold.add_opening(kind='DOOR')")
    yield from click(on_front_wall(), "wall")
    yield from wait(openings, 10, "the door")
    sidebar = region("UI")
    # the row of steps stands on top: the second of three in the first row
    yield from click((int(sidebar.x + 0.5 * (sidebar.width - 24)), sidebar.y + sidebar.height - 22), "step")
    yield from wait(lambda: view_state().step == "TABLE", 5, "the step of the table")
    yield from press("stowfold.add_table")
    yield from press("stowfold.propose_seats")
    yield from wait(seats, 10, "the seats")
    yield from press("stowfold.model_to_sheets")
    yield from wait(lambda: view_state().step == "CUT", 120, "the sheets")
    for _ in range(20):
        yield
    shot("sheets")
    yield from press("stowfold.export")
    yield from wait(lambda: any(a.type == "FILE_BROWSER" for a in window().screen.areas), 10, "the file browser")
    for _ in range(8):
        yield
    browser = next(a for a in window().screen.areas if a.type == "FILE_BROWSER")
    yield from move((browser.x + browser.width // 2, browser.y + browser.height // 2))
    yield from tap("RET", (browser.x + browser.width // 2, browser.y + browser.height // 2))
    told["clicks"].append("accept")
    home = Path.home()
    yield from wait(lambda: list(home.rglob("guide.html")), 120, "the cut files")
    for _ in range(8):
        yield
    told["files"] = sorted(path.name for path in next(home.rglob("guide.html")).parent.iterdir())
    told["openings"], told["seats"] = openings(), seats()
    told["check"], told["meshes"] = bpy.context.scene.stowfold.last_check, meshes()
    told["done"] = True


def view_state() -> bpy.types.PropertyGroup:
    return bpy.context.window_manager.stowfold


def shot(name: str) -> None:
    """Keep a picture of the screen; the host's own is black where software draws."""
    if shutil.which("import"):
        subprocess.run(["import", "-window", "root", str(OUT / f"{name}.png")], check=False)
    else:
        told["no_picture"] = "ImageMagick is missing"


way = first_building()


def tick() -> float | None:
    try:
        next(way)
        return TICK
    except StopIteration:
        pass
    except Exception:
        told["failure"] = traceback.format_exc()
        shot("failure")
    (OUT / "told.json").write_text(json.dumps(told, indent=1), encoding="utf-8")
    bpy.ops.wm.quit_blender()
    return None


preferences = bpy.context.preferences
preferences.view.show_splash = False
preferences.view.smooth_view = 0
preferences.view.show_tooltips = False
preferences.view.filebrowser_display_type = "SCREEN"
preferences.inputs.use_mouse_continuous = False
preferences.filepaths.use_auto_save_temporary_files = False
bpy.app.timers.register(tick, first_interval=3.0, persistent=True)
