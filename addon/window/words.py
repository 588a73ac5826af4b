"""Words: long sentences broken to the width that the maker gave the sidebar, or that a dialog has."""

from __future__ import annotations

import textwrap

import bpy

__all__ = [
    "beside",
    "dialog_paragraph",
    "draw_setting",
    "is_narrow",
    "letters_per_line",
    "paragraph",
    "still_paragraph",
]

#: With fewer letters in a line the sidebar is narrow: what can be left out is.
_NARROW = 26

#: Average width of a letter of the interface font at scale 1, px, and what margins and icon take.
_LETTER, _MARGIN = 6.6, 62.0

#: Height of a line of a sentence in the sidebar, in heights of a button.
_LINE = 0.75


def letters_per_line(context: bpy.types.Context) -> int:
    """Return how many letters fit beside an icon in the region that is being drawn."""
    scale = context.preferences.system.ui_scale or 1.0  # 0 without a window
    width = context.region.width if context.region is not None else 280
    return max(16, int((width / scale - _MARGIN) / _LETTER))


def is_narrow(context: bpy.types.Context) -> bool:
    """Return whether the sidebar is too narrow for fields with their names beside them, and for rows of buttons."""
    return letters_per_line(context) < _NARROW


def beside(layout: bpy.types.UILayout, context: bpy.types.Context) -> bpy.types.UILayout:
    """Return a row for buttons, in a narrow sidebar a column, so that their words are not cut off."""
    return layout.column(align=True) if is_narrow(context) else layout.row(align=True)


def draw_setting(
    layout: bpy.types.UILayout, data: bpy.types.PropertyGroup, name: str, *, text: str | None = None
) -> None:
    """Draw a field; in a narrow sidebar a choice is one button that holds its name and what is chosen."""
    field = data.bl_rna.properties[name]
    label = field.name if text is None else text
    if field.type != "ENUM" or not label or not is_narrow(bpy.context):
        layout.prop(data, name, text=label)
        return
    chosen = bpy.types.UILayout.enum_item_name(data, name, getattr(data, name))
    layout.prop_menu_enum(data, name, text=f"{label}: {chosen}")


def paragraph(
    layout: bpy.types.UILayout, context: bpy.types.Context, text: str, *, icon: str = "NONE", beside: int = 0
) -> None:
    """Draw a sentence over as many lines as it takes, the icon before the first, ``beside`` letters kept free."""
    _draw_lines(_narrow(layout), textwrap.wrap(text, letters_per_line(context) - beside) or [""], icon)


def dialog_paragraph(layout: bpy.types.UILayout, text: str, *, letters: int, icon: str = "NONE") -> None:
    """Draw a sentence in a dialog, so many letters in a line, the icon before the first line."""
    _draw_lines(layout.column(align=True), textwrap.wrap(text, letters), icon)


def still_paragraph(
    layout: bpy.types.UILayout,
    context: bpy.types.Context,
    text: str,
    *,
    lines: int,
    icon: str = "NONE",
    beside: int = 0,
) -> None:
    """Draw a sentence that changes over always so many lines, so that what stands below stays where it is.

    beside: letters kept free. A narrow sidebar has one line more; what does not fit ends with dots.
    """
    lines += is_narrow(context)
    broken = textwrap.wrap(text, letters_per_line(context) - beside, max_lines=lines, placeholder=" …")
    _draw_lines(_narrow(layout), [*broken, *[""] * (lines - len(broken))], icon)


def _narrow(layout: bpy.types.UILayout) -> bpy.types.UILayout:
    """Return a column whose lines stand nearer to each other than fields do."""
    column = layout.column(align=True)
    column.scale_y = _LINE
    return column


def _draw_lines(column: bpy.types.UILayout, lines: list[str], icon: str) -> None:
    for k, line in enumerate(lines):
        if icon == "NONE":
            column.label(text=line)
        else:
            column.label(text=line, icon=icon if k == 0 else "BLANK1")
