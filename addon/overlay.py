"""The overlays of all steps, in the order in which the host draws them over the 3D view."""

from __future__ import annotations

import bpy

from .bends import ghost_overlay, parts_overlay
from .bends import overlay as roles
from .cut import overlay as sheets
from .cut import words_overlay
from .dress import overlay as finishes
from .host.handlers import DrawHandlers
from .plot import overlay as openings
from .proof import overlay as findings
from .stand import preview
from .table import names_overlay
from .table import overlay as squares
from .window import tab_ground

__all__ = ["DRAWING"]


def _draw_legend() -> None:
    """Say what the colours of edges and of finishes mean."""
    roles.draw_legend(finishes.legend_in(bpy.context))


DRAWING = DrawHandlers(
    (
        (preview.look, "POST_VIEW"),
        (sheets.draw, "POST_VIEW"),
        (finishes.draw, "POST_VIEW"),
        (parts_overlay.draw, "POST_VIEW"),
        (ghost_overlay.draw, "POST_VIEW"),
        (roles.draw, "POST_VIEW"),
        (openings.draw, "POST_VIEW"),
        (names_overlay.draw, "POST_PIXEL"),
        (openings.draw_words, "POST_PIXEL"),
        (words_overlay.draw, "POST_PIXEL"),
        (ghost_overlay.draw_words, "POST_PIXEL"),
        (_draw_legend, "POST_PIXEL"),
        (findings.draw, "POST_PIXEL"),
        (squares.draw, "POST_VIEW"),
        (squares.draw_words, "POST_PIXEL"),
        # over all of these, which the sidebar would otherwise show through
        (tab_ground.draw, "POST_PIXEL"),
    ),
    forget=(
        *(sheets.forget, words_overlay.forget, parts_overlay.forget, ghost_overlay.forget),
        *(finishes.forget, findings.forget, squares.forget),
    ),
)
