"""Help: the page that comes with the add-on, opened at the step that is shown."""

from __future__ import annotations

from pathlib import Path

import bpy
from bpy.types import Context, Operator

from ...geometry.errors import UnreadableError
from ...jobs.reporting import report_errors
from ...window.step import chosen_step

#: The page, beside the add-on's own modules; its sections are named after the steps.
PAGE = Path(__file__).parents[2] / "help.html"


class STOWFOLD_OT_open_help(Operator):
    """Open the page about this step in the browser; it needs no network"""

    bl_idname = "stowfold.open_help"
    bl_label = "Help"

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        # the host gives the address to the system as it is, and some systems drop what follows a file's name
        address = f"{PAGE.as_uri()}#{chosen_step(context).lower()}"
        if bpy.ops.wm.url_open(url=address) != {"FINISHED"}:
            raise UnreadableError(f"The system did not open it; open '{PAGE}' by hand")
        return {"FINISHED"}


def manual() -> tuple[str, tuple[tuple[str, str], ...]]:
    """Return where the host's own *Online Manual* entry leads for our buttons and fields."""
    return PAGE.parent.as_uri() + "/", (("bpy.ops.stowfold.*", PAGE.name), ("bpy.types.stowfold*", PAGE.name))


CLASSES = (STOWFOLD_OT_open_help,)
