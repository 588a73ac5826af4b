"""Stood in: whether the building's own boards are shown in the place of the model, and how far they are folded.

Overlays that draw lines of these boards, or places of the standing building, leave out what would lie over them.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["FLOOR_RAISED", "are_shown", "say", "stand"]

#: How far a floor is shown above the table, mm. Its upper face lies level with the table's top, on which figures stand,
#: and the host's depth buffer tells two faces apart from so far up that a table for six is seen whole: it has 24 bits,
#: and its views begin 0.25 mm before the eye.
FLOOR_RAISED = 1.0

#: Fold time of the standing building.
_STANDING = 1.0


@dataclass(slots=True)
class _State:
    """fold: fold time of the boards that are shown, None where none are."""

    fold: float | None = None


_state = _State()


def say(fold: float | None) -> None:
    """Say at which fold time boards are shown, or that none are."""
    _state.fold = fold


def are_shown() -> bool:
    """Return whether boards are shown in the place of the model."""
    return _state.fold is not None


def stand() -> bool:
    """Return whether what is shown stands: the model, or boards that are neither flat nor stacked nor between."""
    return _state.fold is None or _state.fold == _STANDING
