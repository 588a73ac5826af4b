"""A maker's hands in Blender's window: pointer and keys alone.

Scripts beside this one say where a maker goes and are started with a folder and the name of a way behind ``--``; in
the folder they leave ``told.json``, with what was clicked and what came of it. Buttons and fields are found by what
they do, not by where they are: the pointer goes down the sidebar, Ctrl C over a button copies the command that it
would run, and Ctrl Shift C over a field copies its name.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import traceback
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import bpy
from bpy_extras.view3d_utils import location_3d_to_region_2d
from mathutils import Vector

OUT, WAY = Path(sys.argv[sys.argv.index("--") + 1]), sys.argv[-1]

#: Between two events, s; the host must have drawn what the last one changed.
TICK = 0.12

#: Rows of the sidebar are looked at in steps of so many px; within a row at these shares of its width.
ROW, ACROSS = 15, (0.3, 0.75)

#: A field that was changed has its new value after so long at most, s.
PATIENCE = 20

#: A sidebar that is shut down to its tabs is narrower than this, px.
ONLY_TABS = 100

#: Keys of the digits that are typed.
KEYS = {"1": "ONE", "2": "TWO", "4": "FOUR", "6": "SIX"}

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
    yield from find(command, "C", ctrl=True)


def find(words: str, key: str, **keys: bool) -> Iterator[None]:
    """Leave in ``found`` where a key copies something with these words."""
    sidebar = region("UI")
    found.clear()
    for y in range(sidebar.y + sidebar.height - 12, sidebar.y, -ROW):
        for share in ACROSS:
            at = (int(sidebar.x + share * (sidebar.width - 24)), y)
            bpy.context.window_manager.clipboard = ""
            yield from move(at)
            yield from tap(key, at, **keys)
            if words in bpy.context.window_manager.clipboard:
                found.append(at)
                return
    raise LookupError(f"nothing on the first screen says {words}")


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


def on_screen(point: Vector) -> tuple[int, int]:
    """Return where a point of the scene is on the screen."""
    view = region("WINDOW")
    at = location_3d_to_region_2d(view, area().spaces.active.region_3d, point)
    return int(view.x + at.x), int(view.y + at.y)


def find_field(name: str) -> Iterator[None]:
    """Leave the place of the field with this name in ``found``; it must be on the first screen."""
    yield from find(name, "C", ctrl=True, shift=True)


def choose(name: str, key: str, value: str) -> Iterator[None]:
    """Open the menu of a field of the active building and press the underlined letter of one of its lines."""
    yield from find_field(name)
    yield from click(found[0], name)
    for _ in range(6):
        yield
    yield from tap(key, found[0])
    told["clicks"].append(key)
    yield from wait(lambda: getattr(building(), name) == value, PATIENCE, f"{name} to be {value}")


def type_into(name: str, words: str) -> Iterator[None]:
    """Type into a number of the active building."""
    yield from find_field(name)
    yield from move(found[0])
    yield from tap("RET", found[0])
    yield from tap("A", found[0], ctrl=True)
    for letter in words:
        send(KEYS[letter], "PRESS", found[0], unicode=letter)
        yield
        send(KEYS[letter], "RELEASE", found[0])
        yield
    yield from tap("RET", found[0])
    told["clicks"].append(f"{name} {words}")
    yield from wait(lambda: getattr(building(), name) == int(words), PATIENCE, f"{name} to be {words}")


def building() -> bpy.types.PropertyGroup:
    return bpy.context.object.stowfold.building


def start_building() -> Iterator[None]:
    """Open the tab, add a building, and remove the start cube."""
    yield from open_tab()
    yield from press("stowfold.add_building")
    yield from wait(lambda: "House" in bpy.data.objects, 20, "the house")
    for _ in range(8):
        yield
    yield from press("stowfold.remove_start_cube")
    yield from wait(lambda: "Cube" not in bpy.data.objects, 5, "the start cube to go")


def to_cut_files() -> Iterator[None]:
    """Take the building to its sheets, export them and accept the folder that is offered."""
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
    report = json.loads(next(home.rglob("report.json")).read_text(encoding="utf-8"))
    told["off"] = report["proof"]["corner_distance"]
    told["errors"] = [finding["code"] for finding in report["findings"] if finding["severity"] == "error"]


def view_state() -> bpy.types.PropertyGroup:
    return bpy.context.window_manager.stowfold


def shot(name: str) -> None:
    """Keep a picture of the screen; the host's own is black where software draws."""
    if shutil.which("import"):
        subprocess.run(["import", "-window", "root", str(OUT / f"{name}.png")], check=False)
    else:
        told["no_picture"] = "ImageMagick is missing"


def tick(way: Iterator[None]) -> float | None:
    try:
        next(way)
        return TICK
    except StopIteration:
        told["done"] = True
    except Exception:
        told["failure"] = traceback.format_exc()
        shot("failure")
    (OUT / "told.json").write_text(json.dumps(told, indent=1), encoding="utf-8")
    bpy.ops.wm.quit_blender()
    return None


def go(way: Iterator[None]) -> None:
    """Walk a way once the window stands, and end Blender."""
    preferences = bpy.context.preferences
    preferences.view.show_splash = False
    preferences.view.smooth_view = 0
    preferences.view.show_tooltips = False
    preferences.view.filebrowser_display_type = "SCREEN"
    preferences.inputs.use_mouse_continuous = False
    preferences.filepaths.use_auto_save_temporary_files = False
    bpy.app.timers.register(partial(tick, way), first_interval=3.0, persistent=True)
