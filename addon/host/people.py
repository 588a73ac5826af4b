"""People who sit at the table, as classes of stature."""

from __future__ import annotations

from ..geometry.play.stature import read_statures

__all__ = ["ANYONE", "STATURES"]

#: Classes of people, read once.
STATURES = read_statures()

#: The seat of nobody in particular: the scene says who sees, reaches and fits there.
ANYONE = "ANYONE"
