"""Asking: operators that ask the maker before they do what cannot be undone, or for the folder of files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

import bpy
from bpy.props import BoolProperty, StringProperty
from bpy.types import Context, Event

from ..geometry.errors import BadSettingError

__all__ = ["AsksFirst", "AsksForFolder"]


class AsksFirst:
    """A mixin for operators that ask after a click; a script is not asked.

    asked_title: what is to be done, as a question. asked_button: the word on the button that does it.
    asked_icon: the host's icon beside the question.
    """

    asked_title: ClassVar[str]
    asked_button: ClassVar[str]
    asked_icon: ClassVar[str] = "WARNING"

    if TYPE_CHECKING:

        def execute(self, context: Context) -> set[str]: ...

    def question(self, context: Context) -> str | None:
        """Return what the maker should know before, in a sentence; None where there is nothing to ask."""
        raise NotImplementedError

    def invoke(self, context: Context, event: Event) -> set[str]:
        """Ask, or do it at once where there is nothing to ask."""
        message = self.question(context)
        if message is None:
            return self.execute(context)
        done: set[str] = context.window_manager.invoke_confirm(
            self,
            event,
            title=self.asked_title,
            message=message,
            confirm_text=self.asked_button,
            icon=self.asked_icon,
        )
        return done


class AsksForFolder:
    """A mixin for operators that write files into a folder which the host's file browser asks for."""

    directory: StringProperty(name="Folder", description="Folder that takes the files", subtype="DIR_PATH")
    filter_folder: BoolProperty(default=True, options={"HIDDEN"})

    def browse(self, context: Context) -> set[str]:
        """Open the file browser, at first in the folder of the last export or of the .blend file."""
        if not self.directory:
            self.directory = context.window_manager.stowfold.cut_folder or bpy.path.abspath("//")
        context.window_manager.fileselect_add(self)
        return {"RUNNING_MODAL"}

    def folder(self) -> Path:
        """Return the folder that was chosen. Raises BadSettingError where none was."""
        if not self.directory:
            raise BadSettingError("No folder was chosen; choose one for the files")
        return Path(bpy.path.abspath(self.directory))
