"""Squares."""

from __future__ import annotations


def attach() -> None:
    pass


def detach() -> None:
    pass
