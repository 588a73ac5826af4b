"""Whole runs of the samples on birch plywood, made once for all tests that only look at them; outcomes are frozen."""

from __future__ import annotations

from functools import cache

from sample_solids import solid_of
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Outcome, Settings

__all__ = ["outcome_of"]


@cache
def outcome_of(name: str) -> Outcome:
    """Return the outcome of the sample of this file name, without its ending, in settings as they come."""
    birch = find_stock("birch-plywood-3", read_stocks())
    return run(solid_of(name), Settings(birch, birch, birch, birch), title=name.replace("_", " ").capitalize())
