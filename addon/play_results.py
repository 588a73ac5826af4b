"""Play results."""

from __future__ import annotations


def suspect() -> None:
    pass


def present(scene):
    return None


def attach() -> None:
    pass


def detach() -> None:
    pass


def redraw() -> None:
    pass
