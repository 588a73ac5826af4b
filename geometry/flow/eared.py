"""Roofs with ears beside the ends of their bends, without those that keep a roof from folding."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from ..fold.folding import board_prisms, folding_of, is_worse, stands_deeper
from ..part import Part
from ..settings import BuildSettings
from ..solid.facets import Facets
from ..unfold.setbacks import Setbacks
from ..unfold.slope_ears import SlopeEar, ears_between, run_on, with_ears

__all__ = ["run_on_where_it_folds"]


def run_on_where_it_folds(
    facets: Facets, setbacks: Setbacks, parts: Sequence[Part], settings: BuildSettings
) -> tuple[Part, ...]:
    """Return parts with all ears with which they still fold, and stand clear of themselves."""
    eared = run_on(facets, setbacks, parts, settings)
    return tuple(
        new if new is old or not is_worse(new, old, settings) else _with_most(old, ears_between(old, new), settings)
        for old, new in zip(parts, eared, strict=True)
    )


def _with_most(plain: Part, ears: Sequence[SlopeEar], settings: BuildSettings) -> Part:
    """Return a part with as many of its ears as do no harm; together they do."""
    growing = _Growing(plain, settings)
    for group in _halves(ears):
        growing.add(group)
    return growing.part


class _Growing:
    """A part that gets its ears group by group; only what a group brings is looked at."""

    def __init__(self, plain: Part, settings: BuildSettings) -> None:
        self.part = plain
        self._plain, self._settings, self._folding = plain, settings, folding_of(plain)
        self._ears: dict[int, np.ndarray] = {}

    def add(self, ears: Sequence[SlopeEar]) -> None:
        """Add ears; a group that does harm is halved until single ears are left out."""
        more = with_ears(self.part, ears)
        brought = self._prisms_of(ears)
        if stands_deeper(more, self._plain, self._settings) or not self._folds_with(brought):
            for group in _halves(ears):
                self.add(group)
            return
        self.part = more
        for panel, corners in brought.items():
            self._ears[panel] = np.concatenate([self._ears.get(panel, corners[:0]), corners])

    def _folds_with(self, brought: Mapping[int, np.ndarray]) -> bool:
        """Whether the part still folds, where it does without ears."""
        return self._folding is None or self._folding.lets_grow(brought, self._ears)

    def _prisms_of(self, ears: Sequence[SlopeEar]) -> dict[int, np.ndarray]:
        """Return ears as prisms in the part frame, (k, 6, 3) mm by panel."""
        on_panel: dict[int, list[np.ndarray]] = {}
        for ear in ears:
            on_panel.setdefault(ear.panel, []).append(board_prisms(self._plain, ear.shape))
        return {panel: np.concatenate(corners) for panel, corners in on_panel.items()}


def _halves(ears: Sequence[SlopeEar]) -> Iterable[Sequence[SlopeEar]]:
    """Return two halves of a group, none of a single ear."""
    middle = len(ears) // 2
    return (ears[:middle], ears[middle:]) if middle else ()
