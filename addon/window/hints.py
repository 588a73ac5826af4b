"""Hints: what keys and mouse do while an operator follows the pointer, in the status bar as the host shows its own."""

from __future__ import annotations

from typing import Any

from bpy.types import WorkSpace

__all__ = ["LEAVE", "Hint", "hide_hint", "show_hint"]

#: What every key does: the host's icon of the key or of the mouse, and words.
Hint = tuple[tuple[str, str], ...]

#: How everything is left as it was before.
LEAVE: Hint = (("EVENT_ESC", ""), ("MOUSE_RMB", "Leave It"))


def show_hint(workspace: WorkSpace, hint: Hint, *, said: str = "") -> None:
    """Show a hint in the status bar; said: what is told of the place under the pointer, before it."""

    def draw(header: Any, _context: object) -> None:
        if said:
            header.layout.label(text=said)
        for icon, words in hint:
            header.layout.label(text=words, icon=icon)

    workspace.status_text_set(draw)


def hide_hint(workspace: WorkSpace) -> None:
    """Give the status bar back to the host."""
    workspace.status_text_set(None)
