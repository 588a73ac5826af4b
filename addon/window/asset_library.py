"""The asset library that comes with the add-on: buildings, openings, finishes, figures and furniture to be dropped.

The host learns of it by a click of the maker, who can have it forgotten again; nothing is added by itself.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from bpy.types import Context, Operator, Preferences

from ..jobs.reporting import needs

__all__ = ["CLASSES", "FOLDER", "STOWFOLD_OT_add_asset_library", "STOWFOLD_OT_remove_asset_library", "known_library"]

#: The folder of the library, beside the add-on's own modules.
FOLDER = Path(__file__).parents[1] / "assets"

#: What it is called among the host's libraries.
_NAME = "Stowfold"


def known_library(preferences: Preferences) -> Any:
    """Return our library among those of the host, None where the host does not know it."""
    libraries = preferences.filepaths.asset_libraries
    return next((library for library in libraries if library.path and Path(library.path) == FOLDER), None)


class STOWFOLD_OT_add_asset_library(Operator):
    """Show buildings, openings, finishes, figures and furniture in the host's asset browser, under Stowfold"""

    bl_idname = "stowfold.add_asset_library"
    bl_label = "Add Asset Library"

    @classmethod
    def poll(cls, context: Context) -> bool:
        return needs(cls, known_library(context.preferences) is None, "The asset library is there already")

    def execute(self, context: Context) -> set[str]:
        library = context.preferences.filepaths.asset_libraries.new(name=_NAME, directory=str(FOLDER))
        # the host's other ways leave a mesh that cannot be edited, or one that all copies share
        library.import_method = "APPEND"
        self.report({"INFO"}, "Open an Asset Browser and choose the library Stowfold there")
        return {"FINISHED"}


class STOWFOLD_OT_remove_asset_library(Operator):
    """Have the host forget the asset library of Stowfold; its files stay with the add-on"""

    bl_idname = "stowfold.remove_asset_library"
    bl_label = "Remove Asset Library"

    @classmethod
    def poll(cls, context: Context) -> bool:
        return needs(cls, known_library(context.preferences) is not None, "The asset library was not added")

    def execute(self, context: Context) -> set[str]:
        libraries = context.preferences.filepaths.asset_libraries
        libraries.remove(known_library(context.preferences))
        return {"FINISHED"}


CLASSES = (STOWFOLD_OT_add_asset_library, STOWFOLD_OT_remove_asset_library)
