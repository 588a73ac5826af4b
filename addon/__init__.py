"""Stowfold: buildings for the gridded table that fold flat. This file only switches the add-on on and off."""

from __future__ import annotations


def register() -> None:
    """Switch the add-on on: classes, handlers, menus."""
    from . import command_line, registration

    registration.register()
    command_line.attach()


def unregister() -> None:
    """Switch the add-on off."""
    from . import command_line, registration

    command_line.detach()
    registration.unregister()
