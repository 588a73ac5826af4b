"""What the maker has seen and accepted of the findings, saved with the scene."""

from __future__ import annotations

from bpy.types import PropertyGroup

__all__ = ["CLASSES", "StowfoldAccepted"]


class StowfoldAccepted(PropertyGroup):
    """One accepted finding; its name is the key that ``accepted.key_of`` gives it."""


CLASSES = (StowfoldAccepted,)
