"""Reasons why the work cannot go on. What can go on but deserves a word is a Finding instead."""

from __future__ import annotations

from .sentence import Sentence

__all__ = ["BadSettingError", "CancelledError", "GeometryError", "UnreadableError"]


class GeometryError(ValueError):
    """Root of all errors that Stowfold raises on purpose; its text is meant for the maker.

    sentence: names places of the model as values, like that of a finding; as text it gives the host's numbers.
    """

    def __init__(self, sentence: str | Sentence = "") -> None:
        super().__init__(sentence)
        self.sentence = sentence


class BadSettingError(GeometryError):
    """A number that the maker gave cannot be used."""


class CancelledError(GeometryError):
    """The maker gave the work up before its end."""


class UnreadableError(GeometryError):
    """A file, a folder or a model holds nothing that can be read or written."""
