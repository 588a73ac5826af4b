"""Handlers: functions that the host calls at events, after a time or while it draws, put up and taken down alike."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Protocol

import bpy

__all__ = ["Attachable", "DrawHandlers", "Handlers"]


class Attachable(Protocol):
    """Whatever is put up when the add-on is switched on and taken down when it is switched off."""

    def attach(self) -> None:
        """Put it up."""

    def detach(self) -> None:
        """Take it down."""


@dataclass(frozen=True, slots=True)
class Handlers:
    """Functions that the host calls at events and after a time.

    events: names of lists in ``bpy.app.handlers``, each with a function for it. timers: functions that may wait
    for their time; they are started elsewhere. forget: called last when all of this is taken down.
    """

    events: tuple[tuple[str, Callable[..., None]], ...] = ()
    timers: tuple[Callable[[], float | None], ...] = ()
    forget: Callable[[], object] | None = None

    def attach(self) -> None:
        """Start to listen to the events."""
        for name, function in self.events:
            getattr(bpy.app.handlers, name).append(function)

    def detach(self) -> None:
        """Stop listening, stop the timers and forget what was kept."""
        for name, function in reversed(self.events):
            getattr(bpy.app.handlers, name).remove(function)
        for timer in self.timers:
            if bpy.app.timers.is_registered(timer):
                bpy.app.timers.unregister(timer)
        if self.forget is not None:
            self.forget()


@dataclass(frozen=True, slots=True)
class DrawHandlers:
    """Functions that draw over the 3D view.

    drawn: each function with POST_VIEW, where it draws in the scene, or POST_PIXEL, where it draws on the screen;
    later ones lie on top. forget: drop what was prepared for drawing.
    """

    drawn: tuple[tuple[Callable[[], None], str], ...]
    forget: tuple[Callable[[], None], ...] = ()
    _handles: list[Any] = field(default_factory=list, init=False, repr=False, compare=False)

    def attach(self) -> None:
        """Start to draw; without a window there is nothing to draw into."""
        if not bpy.app.background:
            for draw, when in self.drawn:
                self._handles.append(bpy.types.SpaceView3D.draw_handler_add(draw, (), "WINDOW", when))

    def detach(self) -> None:
        """Stop drawing and drop everything that was prepared."""
        while self._handles:
            bpy.types.SpaceView3D.draw_handler_remove(self._handles.pop(), "WINDOW")
        for forget in self.forget:
            forget()
