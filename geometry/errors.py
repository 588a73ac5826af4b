"""Reasons why the work cannot go on. What can go on but deserves a word is a Finding instead."""

from __future__ import annotations

__all__ = ["BadSettingError", "CancelledError", "GeometryError", "UnreadableError"]


class GeometryError(ValueError):
    """Root of all errors that Stowfold raises on purpose; its text is meant for the maker."""


class BadSettingError(GeometryError):
    """A number that the maker gave cannot be used."""


class CancelledError(GeometryError):
    """The maker gave the work up before its end."""


class UnreadableError(GeometryError):
    """A file, a folder or a model holds nothing that can be read or written."""
