"""Roofs with ears beside the ends of their bends, save those ears that keep a roof from folding."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ..fold.folding import is_worse
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
    kept = plain
    for group in _halves(ears):
        kept = _added(plain, kept, group, settings)
    return kept


def _added(plain: Part, kept: Part, ears: Sequence[SlopeEar], settings: BuildSettings) -> Part:
    """Return a part with more ears; a group that does harm is halved until single ears are left out."""
    more = with_ears(kept, ears)
    if not is_worse(more, plain, settings, as_before=True):
        return more
    for group in _halves(ears):
        kept = _added(plain, kept, group, settings)
    return kept


def _halves(ears: Sequence[SlopeEar]) -> Iterable[Sequence[SlopeEar]]:
    """Return two halves of a group, none of a single ear."""
    middle = len(ears) // 2
    return (ears[:middle], ears[middle:]) if middle else ()
