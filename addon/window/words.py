"""Words in the sidebar: long sentences broken to the width that the maker gave it."""

from __future__ import annotations

import textwrap

import bpy

__all__ = ["letters_per_line", "paragraph", "still_paragraph"]

#: Average width of a letter of the interface font at scale 1, px, and what margins and icon take.
_LETTER, _MARGIN = 6.6, 62.0


def letters_per_line(context: bpy.types.Context) -> int:
    """Return how many letters fit beside an icon in the region that is being drawn."""
    scale = context.preferences.system.ui_scale
    width = context.region.width if context.region is not None else 280
    return max(16, int((width / scale - _MARGIN) / _LETTER))


def paragraph(
    layout: bpy.types.UILayout, context: bpy.types.Context, text: str, *, icon: str = "NONE", beside: int = 0
) -> None:
    """Draw a sentence over as many lines as it takes, the icon before the first, ``beside`` letters kept free."""
    _draw_lines(layout, textwrap.wrap(text, letters_per_line(context) - beside) or [""], icon)


def still_paragraph(
    layout: bpy.types.UILayout, context: bpy.types.Context, text: str, *, lines: int, icon: str = "NONE"
) -> None:
    """Draw a sentence that changes over always so many lines, so that what stands below stays where it is.

    What does not fit ends with dots.
    """
    broken = textwrap.wrap(text, letters_per_line(context), max_lines=lines, placeholder=" …")
    _draw_lines(layout, [*broken, *[""] * (lines - len(broken))], icon)


def _draw_lines(layout: bpy.types.UILayout, lines: list[str], icon: str) -> None:
    column = layout.column(align=True)
    column.scale_y = 0.75
    for k, line in enumerate(lines):
        if icon == "NONE":
            column.label(text=line)
        else:
            column.label(text=line, icon=icon if k == 0 else "BLANK1")
