"""Buildings run through the whole flow once, with the film of their boards, for all tests that look at these."""

from __future__ import annotations

import math
from functools import lru_cache

from sample_solids import solid_of
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Outcome, Settings
from stowfold.geometry.settings import ClosureKind, ClosureSettings
from stowfold.geometry.show.film import Film, film_of
from upstand_samples import EAVES, dormer_body, house_with

__all__ = ["FILMED", "filmed"]

#: A dormer on the slope that faces the front, sunk into it.
_PITCH = 0.7
_DORMER = dormer_body(140, 25, 60, EAVES + 25 * math.tan(_PITCH), 18, math.radians(30), 50)

FILMED = ("lock_keepers_house", "grain_store", "with_dormer")


@lru_cache(maxsize=len(FILMED))
def filmed(name: str) -> tuple[Outcome, Film]:
    """Return a building of ``FILMED`` with laps on its closures, its first sheet's corner at (500, 0)."""
    birch = find_stock("birch-plywood-3", read_stocks())
    settings = Settings(birch, birch, birch, birch, closure=ClosureSettings(kind=ClosureKind.LAP))
    solid = house_with(_PITCH, _DORMER) if name == "with_dormer" else solid_of(name)
    outcome = run(solid, settings, title=name)
    return outcome, film_of(outcome, sheets=(500.0, 0.0))
