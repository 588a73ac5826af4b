"""Steps: the sidebar shows one at a time, and the view what belongs to it. Panels only show; nothing here computes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

import bpy
from bpy.types import UILayout

from . import stood_in, words

__all__ = ["STEPS", "ChosenStep", "Step", "chosen_step", "overlay_is_on"]

#: The steps in working order, as the host wants the entries of a menu.
STEPS = (
    ("PLOT", "Plot", "The building on the squares: walls, roof, doors and windows", 0),
    ("TABLE", "Table", "Who sees and reaches what: table, seats, miniatures, furniture", 1),
    ("BENDS", "Bends", "Which corners bend, where walls part, how the roof unfolds", 2),
    ("DRESS", "Dress", "What walls, roof and floor bear: finishes, trim, signboards, colours", 6),
    ("STOCK", "Stock", "Boards and laser, and what was measured on them", 3),
    ("PROOF", "Proof", "Whether the flat parts fold back, and what is worth knowing", 4),
    ("CUT", "Cut", "Sheets, cut files and guide", 5),
)

#: What is drawn over the view, and in which steps.
_OVERLAYS: Mapping[str, frozenset[str]] = {
    "openings": frozenset({"PLOT", "BENDS", "DRESS", "PROOF"}),
    "roles": frozenset({"PLOT", "BENDS", "STOCK"}),
    "legend": frozenset({"BENDS"}),
    "parts": frozenset({"BENDS", "PROOF"}),
    "finishes": frozenset({"PLOT", "BENDS", "DRESS", "STOCK", "PROOF"}),
    "nets": frozenset({"BENDS"}),
    "squares": frozenset({"TABLE"}),
    "findings": frozenset({"PROOF"}),
    "sheets": frozenset({"CUT"}),
}

#: Overlays that draw what boards show by themselves, and those that draw places of the standing building.
_OF_BOARDS, _OF_PLACES = frozenset({"parts", "openings"}), frozenset({"findings", "finishes"})


def chosen_step(context: bpy.types.Context) -> str:
    """Return the step that the sidebar shows."""
    return context.window_manager.stowfold.step


def overlay_is_on(context: bpy.types.Context, overlay: str) -> bool:
    """Return whether an overlay belongs to the chosen step, in a view that shows overlays at all.

    Lines of boards are left out where the boards themselves are shown, and places of the standing building where those
    are folded.
    """
    if (overlay in _OF_BOARDS and stood_in.are_shown()) or (overlay in _OF_PLACES and not stood_in.stand()):
        return False
    return chosen_step(context) in _OVERLAYS[overlay] and context.space_data.overlay.show_overlays


class Step:
    """A panel of the tab; its place follows from the order in which classes are registered."""

    bl_space_type = "VIEW_3D"
    bl_region_type = "UI"
    bl_category = "Stowfold"

    layout: UILayout

    def settings_layout(self) -> UILayout:
        """Return a column of fields with their names beside them, in a narrow sidebar within them."""
        layout = self.layout
        layout.use_property_split = not words.is_narrow(bpy.context)
        layout.use_property_decorate = False
        return layout.column()


class ChosenStep(Step):
    """The panel of a step: shown alone, without a header of its own; panels that name it as parent come and go with it.

    step: its name in ``STEPS``.
    """

    bl_options: ClassVar[set[str]] = {"HIDE_HEADER"}
    step: ClassVar[str]

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        """Return whether this step is the chosen one."""
        return chosen_step(context) == cls.step
