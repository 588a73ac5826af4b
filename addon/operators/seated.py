"""Seated: the view from a player's eye."""

from __future__ import annotations

CLASSES = ()
