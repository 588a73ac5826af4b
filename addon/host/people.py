"""People who sit at the table, as classes of stature."""

from __future__ import annotations

from ..geometry.play.stature import read_statures

__all__ = ["ANYONE", "STATURES"]

#: Classes of people, read once.
STATURES = read_statures()

#: The seat of nobody in particular: whoever the scene says sees, reaches and fits.
ANYONE = "ANYONE"
