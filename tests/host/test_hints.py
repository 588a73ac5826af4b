"""Hints in the status bar: every key has an icon that the host knows, and the bar is given back."""

from __future__ import annotations

import bpy
import pytest
from stowfold.cut.operators import move_part
from stowfold.plot import gizmos
from stowfold.plot.operators import openings, porches, upstands
from stowfold.window import hints

ICONS = set(bpy.types.UILayout.bl_rna.functions["label"].parameters["icon"].enum_items.keys())

EVERY = {
    "opening": openings.STOWFOLD_OT_add_opening.hint,
    "upstand": upstands.STOWFOLD_OT_add_upstand.hint,
    "porch": porches.STOWFOLD_OT_add_porch.hint,
    "handle": gizmos._HINT,
    "part": move_part._HINT,
    "pick": move_part._PICK,
}


class Bar:
    """A status bar that notes what is drawn into it; its own layout."""

    def __init__(self):
        self.drawing, self.labels = None, []

    def status_text_set(self, drawing):
        self.drawing, self.labels = drawing, []
        if drawing is not None:
            drawing(type("Header", (), {"layout": self})(), None)

    def label(self, *, text, icon="NONE"):
        self.labels.append((text, icon))


@pytest.mark.parametrize("hint", EVERY.values(), ids=EVERY)
def test_a_hint_shows_every_key_with_its_icon(hint):
    bar = Bar()
    hints.show_hint(bar, hint, said="overlaps J1")
    assert bar.labels[0] == ("overlaps J1", "NONE")
    assert [(icon, words) for words, icon in bar.labels[1:]] == list(hint)
    assert {icon for icon, _ in hint} <= ICONS
    # Esc has the words of what stands after it
    assert all(words or icon == "EVENT_ESC" for icon, words in hint) and hint[-1][1]
    hints.hide_hint(bar)
    assert (bar.drawing, bar.labels) == (None, [])


def test_the_host_takes_a_function_for_its_status_bar():
    workspace = bpy.context.workspace or bpy.data.workspaces[0]
    hints.show_hint(workspace, hints.LEAVE)
    hints.hide_hint(workspace)
