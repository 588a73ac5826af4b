"""Nets: trying them, stepping through them, putting one on the mesh, and overruling edges of it."""

from __future__ import annotations

from collections.abc import Sequence

from bpy.props import BoolProperty, EnumProperty
from bpy.types import Context, Event, Operator

from ...geometry.propose.proposed import Mark
from ...geometry.solid.solid import Role
from ...host import reading
from ...jobs import results
from ...jobs.background import Job
from ...jobs.operator import BackgroundOperator, nothing_runs
from ...jobs.reporting import needs, report_errors, warn
from ...window.framing import frame_points
from .. import costs, ghost_overlay, nets
from .propose import write_marks
from .roles import ROLES

_CHANGED = "The building has changed since its nets were tried; try them again"


class STOWFOLD_OT_try_nets(BackgroundOperator, Operator):
    """Look for other ways in which roofs and other bodies unfold. Nothing is marked until you use one"""

    bl_idname = "stowfold.try_nets"
    bl_label = "Try Nets"
    bl_options = {"REGISTER"}

    given_up = "Trying was given up; the nets known before stay"

    #: Whether a click started it: only then views move.
    by_click = False

    @classmethod
    def poll(cls, _context: Context) -> bool:
        return nothing_runs(cls)

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        return self._try(context, modal=False)

    @report_errors()
    def invoke(self, context: Context, _event: Event) -> set[str]:
        return self._try(context, modal=True)

    def _try(self, context: Context, *, modal: bool) -> set[str]:
        self.by_click = modal
        model = nets.read_model(context.scene)
        return self.go(context, Job("Trying nets", lambda progress: nets.try_model(model, progress)), modal=modal)

    def finish(self, context: Context, made: nets.Tried) -> set[str]:
        context.window_manager.stowfold.show_nets = True
        nets.keep(made)
        if not made.rows:
            return warn(self, made.failure)
        if self.by_click and made.model is not None:
            ghost = made.ghosts[context.window_manager.stowfold.net]
            frame_points(context, ghost_overlay.outer_points(ghost, made.model.solid, context.scene))
        number = len(made.rows)
        self.report({"INFO"}, f"{number} net{'' if number == 1 else 's'} tried")
        return {"FINISHED"}


class _NeedsNet:
    """A mixin for operators that go on with the nets that were tried."""

    @classmethod
    def poll(cls, context: Context) -> bool:
        return needs(cls, nets.looked_at(context) is not None, "No nets are known; choose Try Nets first")


class STOWFOLD_OT_step_net(_NeedsNet, Operator):
    """Look at the next net of the list, or at the one before"""

    bl_idname = "stowfold.step_net"
    bl_label = "Next Net"
    bl_options = {"REGISTER"}

    back: BoolProperty(name="Back", description="Look at the one before instead")

    @classmethod
    def description(cls, _context: Context, properties: STOWFOLD_OT_step_net) -> str:
        return f"Look at the {'net before' if properties.back else 'next net'} in the list"

    def execute(self, context: Context) -> set[str]:
        manager = context.window_manager.stowfold
        manager.net = (manager.net + (-1 if self.back else 1)) % len(manager.nets)
        return {"FINISHED"}


class STOWFOLD_OT_use_net(_NeedsNet, Operator):
    """Mark on the mesh what bends and what stays parted in this net. Marks of yours stay"""

    bl_idname = "stowfold.use_net"
    bl_label = "Use This Net"
    bl_options = {"REGISTER", "UNDO"}

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        found, tried = nets.looked_at(context), nets.known()
        if found is None or tried is None or tried.model is None:
            return warn(self, _CHANGED)
        model = nets.read_model(context.scene)
        if not tried.model.is_same(model):
            return warn(self, _CHANGED)
        shell, net = found
        if not net.marks:
            return warn(self, f"The {shell.name.lower()} bears marks of yours at all its edges; make some plain first")
        _put_on(context, net.marks)
        bends = sum(mark.role is Role.FLEX for mark in net.marks)
        self.report({"INFO"}, f"{shell.name}: {bends} bend{'' if bends == 1 else 's'} marked")
        return {"FINISHED"}


class STOWFOLD_OT_overrule_edges(Operator):
    """Overrule the net at the selected edges; what the tool gave to other edges is chosen again around them"""

    bl_idname = "stowfold.overrule_edges"
    bl_label = "Overrule Edges"
    bl_options = {"REGISTER", "UNDO"}

    role: EnumProperty(name="Role", items=tuple(role for role in ROLES if role[0] in ("FLEX", "CLOSURE")))

    @classmethod
    def description(cls, _context: Context, properties: STOWFOLD_OT_overrule_edges) -> str:
        does = "bend" if properties.role == "FLEX" else "stay parted"
        return f"Let the selected edges {does}; what the tool gave to other edges is chosen again around them"

    @classmethod
    def poll(cls, context: Context) -> bool:
        return needs(cls, context.mode == "EDIT_MESH", "Enter Edit Mode on the building and select an edge first")

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        role = Role[self.role]
        edges = costs.selected_edges(context)
        if not edges:
            return warn(self, "No edge of the building is selected; select the edges to overrule first")
        model = nets.read_model(context.scene)
        (cost,) = costs.weigh(model, edges, role)
        if cost.after is None:
            return warn(self, cost.line)
        mine = [mark for mark in cost.after.marks if any((mark.source, edge) in edges for edge in mark.edges)]
        others = [mark for mark in cost.after.marks if mark not in mine]
        # where nothing was given yet, the choice stays open
        if any((mark.source, edge) in model.given for mark in others for edge in mark.edges):
            _put_on(context, others)
        _put_on(context, mine, by_hand=True)
        self.report({"INFO"}, cost.line)
        return {"FINISHED"}


def _put_on(context: Context, wanted: Sequence[Mark], *, by_hand: bool = False) -> None:
    for source, target in enumerate(reading.find_block_out(context.scene)):
        write_marks(target, [mark for mark in wanted if mark.source == source], by_hand=by_hand)
    results.suspect_all()


CLASSES = (STOWFOLD_OT_try_nets, STOWFOLD_OT_step_net, STOWFOLD_OT_use_net, STOWFOLD_OT_overrule_edges)
