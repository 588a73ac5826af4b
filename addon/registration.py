"""What the host has to know of us, in the order in which it must learn it."""

from __future__ import annotations

import bpy

from . import command_line, preferences, properties, results
from .operators import export, find, roles, run, stocks
from .overlay import roles as overlay
from .ui import menus, sidebar

#: Groups before their users; panels' parents before their children.
_CLASSES = (
    *properties.CLASSES,
    *preferences.CLASSES,
    *roles.CLASSES,
    *stocks.CLASSES,
    *run.CLASSES,
    *find.CLASSES,
    *export.CLASSES,
    *menus.CLASSES,
    *sidebar.CLASSES,
)

_commands: list[object] = []


def register() -> None:
    """Make everything known to the host."""
    for each in _CLASSES:
        bpy.utils.register_class(each)
    properties.attach()
    results.attach()
    menus.attach()
    overlay.attach()
    _commands.append(bpy.utils.register_cli_command("stowfold", command_line.run_in_blender))


def unregister() -> None:
    """Take everything back, in reverse."""
    while _commands:
        bpy.utils.unregister_cli_command(_commands.pop())
    overlay.detach()
    menus.detach()
    results.detach()
    properties.detach()
    for each in reversed(_CLASSES):
        bpy.utils.unregister_class(each)
