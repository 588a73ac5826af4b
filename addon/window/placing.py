"""Placing: what operators share that have an object follow the pointer over the building until a click sets it down."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar, TypeVar

import bpy
from bpy.types import Context, Event, Object, Operator

from ..geometry.errors import GeometryError
from ..host.reading import find_block_out
from ..host.scale import keep_scale
from ..host.views import select_alone
from ..jobs import results
from ..jobs.reporting import needs, report_errors, warn
from .hints import Hint
from .pointing import Pointing, view_region

__all__ = ["Adding", "Placing", "add_standing", "adopt", "ready_to_place", "remove_object"]

_Spot = TypeVar("_Spot")


def ready_to_place(operator: type[Operator], context: Context) -> bool:
    """Return whether there is anything to place objects on, for a poll."""
    meshes = any(target.type == "MESH" for target in context.scene.objects)
    return needs(operator, context.mode == "OBJECT", "Leave Edit Mode first") and needs(
        operator, meshes, "Add or model a building first"
    )


def adopt(target: Object, context: Context) -> None:
    """Make an object a child of the building, where there is one alone, so that it moves and is copied with it."""
    buildings = find_block_out(context.scene)
    target.parent = buildings[0] if len(buildings) == 1 else None


def add_standing(
    context: Context, label: str, choose: Callable[[Object], _Spot], stand: Callable[[Object, _Spot], None]
) -> Object:
    """Add an object that stands on the building, and select it; nothing stays where that fails.

    choose: sets its fields and returns its spot; stand: draws it and stands it there. Raises what they raise.
    """
    target = bpy.data.objects.new(label, bpy.data.meshes.new(label))
    try:
        spot = choose(target)
        context.collection.objects.link(target)
        adopt(target, context)
        stand(target, spot)
    except GeometryError:
        remove_object(target)
        raise
    target.show_wire = True
    select_alone(context, target)
    return target


def remove_object(target: Object) -> None:
    """Remove an object with its mesh."""
    mesh = target.data
    bpy.data.objects.remove(target)
    bpy.data.meshes.remove(mesh)


class Placing(Pointing):
    """A mixin for operators: the active object follows the pointer over the building until a click.

    A class that takes it says what it places (``is_mine``), what it begins with (``begin``), how the object follows
    (``follow``) and how it goes back where it was (``take_back``). hint: what the status bar says meanwhile.
    """

    hint: ClassVar[Hint]
    if TYPE_CHECKING:
        # the host gives it to every operator
        bl_rna: ClassVar[bpy.types.Struct]

    @staticmethod
    def is_mine(target: Object) -> bool:
        """Return whether an object is one of those that are placed."""
        raise NotImplementedError

    def begin(self, context: Context) -> Object:
        """Read the building and return the object to place."""
        raise NotImplementedError

    def follow(self, context: Context, event: Event, target: Object) -> None:
        """Stand the object where the pointer is on the building."""
        raise NotImplementedError

    def take_back(self, target: Object) -> None:
        """Leave everything as it was before."""
        raise NotImplementedError

    def set_down(self, context: Context, target: Object) -> None:
        """Note what is to be known of the place that was clicked."""

    def without_view(self, context: Context) -> set[str]:
        """Do what can be done where no view shows the building."""
        return warn(self, "Objects are placed in a 3D view")

    def for_view(self) -> dict[str, str]:
        """Return the properties that the call in the view is given."""
        return {}

    @report_errors("WARNING")
    def invoke(self, context: Context, event: Event) -> set[str]:
        area, region = context.area, context.region
        if area is None or area.type != "VIEW_3D" or region is None or region.type != "WINDOW":
            # from the sidebar the pointer is no place yet; the next click in the view is
            view = view_region(context)
            if view is None:
                return self.without_view(context)
            name = self.bl_rna.identifier.partition("_OT_")[2]
            with context.temp_override(region=view):
                done: set[str] = getattr(bpy.ops.stowfold, name)("INVOKE_DEFAULT", **self.for_view())
            return done
        target = self.begin(context)
        self.follow(context, event, target)
        return self.point(context, self.hint)

    def modal(self, context: Context, event: Event) -> set[str]:
        target = context.view_layer.objects.active
        if target is None or not self.is_mine(target):
            self.leave(context)
            return {"CANCELLED"}
        if self.puts_back(event):
            self.take_back(target)
            self.leave(context)
            return {"CANCELLED"}
        if event.type in {"LEFTMOUSE", "RET"} and event.value == "PRESS":
            self.set_down(context, target)
            self.leave(context)
            results.suspect_all()
            return {"FINISHED"}
        if event.type == "MOUSEMOVE":
            self.follow(context, event, target)
            return {"RUNNING_MODAL"}
        return self.let_look(event)


class Adding(Placing):
    """A mixin for operators that add the object which they place; without a view it stands near the cursor."""

    kind: str

    def take_back(self, target: Object) -> None:
        remove_object(target)

    def set_down(self, context: Context, _target: Object) -> None:
        keep_scale(context.scene)

    def without_view(self, context: Context) -> set[str]:
        return self.execute(context)

    def for_view(self) -> dict[str, str]:
        return {"kind": self.kind}

    @report_errors("WARNING")
    def execute(self, context: Context) -> set[str]:
        keep_scale(context.scene)
        self.begin(context)
        results.suspect_all()
        return {"FINISHED"}
