"""Sheets in the window: those of the last check, spread out beside the model, with what was pinned since.

What is shown is made once for an outcome and its pins and kept until either changes; drawing, picking and
moving all read it here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import bpy
import numpy as np

from ..host.lengths import mm_per_unit, to_units
from ..host.pins import pins_of
from ..host.poses import pose_of
from ..jobs import results
from ..window.kept import Kept

if TYPE_CHECKING:
    from ..geometry.outcome import Outcome
    from ..geometry.part import Part
    from ..geometry.sheet.by_hand import Bearing
    from ..geometry.sheet.layout_wishes import Pin
    from ..geometry.sheet.piece import Placement
    from ..geometry.sheet.preview import Figure, Spread

__all__ = ["Showing", "forget", "held", "hold", "sheet_facts", "showing", "to_scene"]

#: Between the model and the first sheet, mm.
_BESIDE = 80.0


@dataclass(frozen=True, slots=True, eq=False)
class Showing:
    """Sheets as they are shown. placements: of the layout, or where parts were pinned since; pinned: ids.

    current: whether the layout is that of the model, the settings and the pins as they are now.
    """

    outcome: Outcome
    parts: Mapping[str, Part]
    spread: Spread
    placements: tuple[Placement, ...]
    pinned: frozenset[str]
    current: bool

    @property
    def figures(self) -> Mapping[str, Figure]:
        """How every part looks; worked out when it is first drawn or touched."""
        return _figures.get(self.outcome, self._make_figures)

    def _make_figures(self) -> Mapping[str, Figure]:
        from ..geometry.sheet.preview import figure_of

        return {lying.part: figure_of(self.parts[lying.part]) for lying in self.outcome.layout.placements}

    def placement(self, part: str) -> Placement | None:
        """Return where a part lies."""
        return next((placement for placement in self.placements if placement.part == part), None)


@dataclass(slots=True)
class _State:
    """showing: what was shown last, with the pins that it was made with. corner: of its first sheet, (2,) mm.

    held: the part that is moved by hand now, and how it lies.
    """

    showing: Showing | None = None
    pins: tuple[Pin, ...] = ()
    corner: tuple[float, float] | None = None
    held: tuple[str, Bearing] | None = None


_state = _State()

_figures: Kept[Outcome, Mapping[str, Figure]] = Kept()


def hold(part: str | None, bearing: Bearing | None = None) -> None:
    """Show a part as it is held, instead of where it lies; None for no part any more."""
    _state.held = (part, bearing) if part is not None and bearing is not None else None


def held() -> tuple[str, Bearing] | None:
    """Return the part that is held, and how."""
    return _state.held


def showing(context: bpy.types.Context) -> Showing | None:
    """Return the sheets as they are to be shown, None where no check has laid out any."""
    known = results.laid_out(context)
    if known is None:
        return None
    outcome, stale = known
    pins = pins_of(context.scene)
    # what was pinned since counts at once, before the model is found to be compared
    current = not stale and pins == outcome.settings.layout.pins
    made = _state.showing
    if made is None or made.outcome is not outcome or _state.pins != pins:
        made = _make(context, outcome, pins, current, made)
    elif made.current != current:
        made = replace(made, current=current)
    _state.showing, _state.pins = made, pins
    return made


def _make(
    context: bpy.types.Context, outcome: Outcome, pins: tuple[Pin, ...], current: bool, before: Showing | None
) -> Showing:
    from ..geometry.sheet.preview import spread_out

    layout = outcome.layout
    if before is not None and before.outcome is outcome:
        parts, spread = before.parts, before.spread
    else:
        parts = {part.id: part for part in outcome.pieces}
        spread = spread_out(layout, _beside(context))
    where = {placement.part: placement for placement in layout.placements}
    if not current:
        for pin in pins:
            stocks = (parts[pin.part].stock if pin.part in where else None,)
            if pin.sheet < len(layout.sheets) and layout.sheets[pin.sheet].stock.name in stocks:
                where[pin.part] = pin.placement
    pinned = frozenset(pin.part for pin in pins if pin.part in where)
    return Showing(outcome, parts, spread, tuple(where.values()), pinned, current)


def _beside(context: bpy.types.Context) -> tuple[float, float]:
    """Return where the first sheet has its lower left corner: to the right of every mesh that is seen, mm."""
    corners = []
    for target in context.view_layer.objects:
        # the model counts where it is, also while its boards are folded and it is out of sight for them
        if target.type == "MESH" and (target.visible_get() or target.stowfold.put_away):
            corners.append(pose_of(target).apply([corner[:] for corner in target.bound_box]))
    if not corners:
        return 0.0, 0.0
    points = np.concatenate(corners) * mm_per_unit(context.scene)
    right, low = float(points[:, 0].max()), float(points[:, 1].min())
    # the next layout comes to lie where the last one did, as long as it stands clear of the model there
    kept = _state.corner
    if kept is not None and _BESIDE / 2 <= kept[0] - right <= 3 * _BESIDE and abs(kept[1] - low) <= _BESIDE:
        return kept
    _state.corner = right + _BESIDE, low
    return _state.corner


def sheet_facts(outcome: Outcome, index: int) -> tuple[str, tuple[str, ...]]:
    """Return what a sheet is, and facts about it: size, used share, minutes, cost where it is known."""
    from ..geometry.sheet.layout import sheet_cost

    layout = outcome.layout
    sheet = layout.sheets[index]
    on = f", {sheet.laser.label}" if len({sheet.laser.name for sheet in layout.sheets}) > 1 else ""
    rest = ", offcut" if sheet.offcut else ""
    minutes = outcome.sheet_seconds[index].get("total", 0.0) / 60
    facts = [
        f"{sheet.size[0]:.0f} × {sheet.size[1]:.0f} mm",
        f"{sheet.used_share:.0%}",
        f"{minutes:.0f} min" if minutes >= 1 else "under 1 min",
    ]
    cost = sheet_cost(sheet)
    if cost is not None:
        facts.append(f"{cost:.2f}")
    return f"{sheet.stock.label}{on}{rest}", tuple(facts)


def to_scene(points: np.ndarray, scene: bpy.types.Scene) -> np.ndarray:
    """Return points of the ground, (..., 2) mm, in units of the scene, (..., 3)."""
    flat = np.zeros((*points.shape[:-1], 3))
    flat[..., :2] = points * to_units(1.0, scene)
    return flat


def forget() -> None:
    """Drop what was made."""
    global _state
    _state = _State()
    _figures.forget()
