"""Stowfold: buildings for the gridded table that fold flat. This file only switches the add-on on and off."""

from __future__ import annotations


def register() -> None:
    from . import registration

    registration.register()


def unregister() -> None:
    from . import registration

    registration.unregister()
