"""Mending: the one-click cures of findings, each of which changes one thing, and what the maker accepts instead."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from bpy.props import FloatProperty, IntProperty
from bpy.types import Context, Operator

from ...bends.operators.propose import put_on_meshes
from ...geometry.errors import BadSettingError
from ...geometry.findings import Finding, Severity
from ...geometry.outcome import Proposal
from ...geometry.propose.proposed import Mark, Proposed
from ...geometry.solid.solid import Role
from ...host import reading, shown
from ...host.lengths import as_typed
from ...jobs import results
from ...jobs.reporting import needs, report_errors, warn
from ..lines import lines_of

if TYPE_CHECKING:
    from ...geometry.outcome import Outcome
    from ...geometry.solid.facets import Edge

#: Wider bends than this are no corners any more, mm; they are tried in steps.
_WIDEST, _STEP = 40.0, 0.5

_GONE = "This finding is gone; check the building again"


class _OfFinding:
    """A mixin for what is done about one finding of the last check."""

    index: int

    def found(self, context: Context) -> tuple[Outcome, Finding]:
        """Return the outcome and the finding. Raises BadSettingError where it is gone."""
        report = results.shown(context)
        outcome = report.outcome if report is not None else None
        if outcome is None or not 0 <= self.index < len(outcome.findings):
            raise BadSettingError(_GONE)
        return outcome, outcome.findings[self.index]


class STOWFOLD_OT_move_break(_OfFinding, Operator):
    """Take this break away and part the wall where a joiner finds room, clear of doors and windows"""

    bl_idname = "stowfold.move_break"
    bl_label = "Move the Break"
    bl_options = {"REGISTER", "UNDO"}

    index: IntProperty(name="Finding", options={"SKIP_SAVE", "HIDDEN"})

    @report_errors("WARNING")
    def execute(self, context: Context) -> set[str]:
        outcome, finding = self.found(context)
        gone = _breaks_at(outcome, finding)
        if not gone:
            return warn(self, "This break is part of no wall any more; check the building again")
        targets = reading.find_block_out(context.scene)
        for target in targets:
            shown.check_own_points(target)
        erased = Proposed(marks=tuple(Mark(edge.source, edge.host_edges, Role.PLAIN) for edge in gone))
        solid = erased.put_on(reading.read_solid(targets, context.scene))
        settings = replace(reading.read_settings(context.scene), propose=Proposal.BREAKS)
        from ...geometry.flow.unfolding import propose

        proposed = propose(solid, settings)
        if not proposed.cuts and not proposed.marks:
            said = proposed.findings[0].message if proposed.findings else "The walls need no break there"
            if proposed.findings:
                return warn(self, said)
        put_on_meshes(context, erased)
        put_on_meshes(context, proposed)
        self.report({"INFO"}, "The wall is parted elsewhere" if proposed.cuts else "The break is taken away")
        return {"FINISHED"}


def _breaks_at(outcome: Outcome, finding: Finding) -> list[Edge]:
    """Return the breaks that a finding names, else those of the walls that it names."""
    facets, where = outcome.facets, finding.where
    source = where.source if where.source in facets.sources else None
    own = [edge for edge in facets.edges if edge.role is Role.BREAK and source in (None, facets.sources[edge.source])]
    named = [edge for edge in own if set(edge.host_edges) & set(where.edges)]
    walls = {facet.id for facet in facets.facets if set(facet.faces) & set(where.faces)}
    found = named or [edge for edge in own if walls & {edge.left, edge.right}]
    if found or where.point is None:
        return found
    # an opening lies across it: the break that is nearest
    away = {edge.id: float(np.linalg.norm(facets.ends(edge).mean(axis=0) - where.point)) for edge in own}
    return sorted(own, key=lambda edge: away[edge.id])[:1]


def _bend_to(operator: Operator, context: Context, radius: float) -> set[str]:
    """Have all bends aim at an inside radius, mm, and say so."""
    context.scene.stowfold.inside_radius = radius
    operator.report({"INFO"}, f"Bends aim at an inside radius of {radius:g} mm now")
    return {"FINISHED"}


class STOWFOLD_OT_take_radius(Operator):
    """Aim at this inside radius for all bends"""

    bl_idname = "stowfold.take_radius"
    bl_label = "Take Inside Radius"
    bl_options = {"REGISTER", "UNDO"}

    radius: FloatProperty(name="Inside Radius", description="Inside radius, mm", default=10.0, min=0.5, max=50.0)

    def execute(self, context: Context) -> set[str]:
        return _bend_to(self, context, self.radius)


class STOWFOLD_OT_widen_bend(_OfFinding, Operator):
    """Aim at the least inside radius at which the board bears this bend"""

    bl_idname = "stowfold.widen_bend"
    bl_label = "Take a Wider Bend"
    bl_options = {"REGISTER", "UNDO"}

    index: IntProperty(name="Finding", options={"SKIP_SAVE", "HIDDEN"})

    @report_errors("WARNING")
    def execute(self, context: Context) -> set[str]:
        outcome, finding = self.found(context)
        radius = _borne_radius(outcome, finding)
        if radius is None:
            return warn(self, f"No radius up to {_WIDEST:g} mm spares this board; choose another one under Stock")
        return _bend_to(self, context, radius)


def _borne_radius(outcome: Outcome, finding: Finding) -> float | None:
    """Return the least inside radius, mm, at which the boards bear all bends that a finding names."""
    from ...geometry.board.hinge import solve_hinge

    edges, settings = set(finding.where.edges), outcome.settings.as_cut
    bends = [
        (settings.stocks[part.stock], placed.lattice)
        for part in outcome.parts
        for placed in part.lattices
        if placed.angle and edges & set(placed.host_edges)
    ]
    radius = settings.hinge.inside_radius + _STEP
    while bends and radius <= _WIDEST:
        wishes = replace(settings.hinge.wishes, inside_radius=radius)
        if all(
            solve_hinge(stock, angle=bend.angle, axis_length=bend.axis_length, fixed=wishes).holds
            for stock, bend in bends
        ):
            return radius
        radius += _STEP
    return None


class STOWFOLD_OT_lower_walls(Operator):
    """Give the building walls over which every hand passes; your marks stay where their line stays"""

    bl_idname = "stowfold.lower_walls"
    bl_label = "Lower Walls"
    bl_options = {"REGISTER", "UNDO"}

    height: FloatProperty(name="Wall Height", description="Height of the walls, mm", default=60.0, min=1.0)

    def execute(self, context: Context) -> set[str]:
        import bpy

        targets = [target for target in context.scene.objects if target.stowfold.building.was_added]
        higher = [target for target in targets if target.stowfold.building.height > self.height]
        if not higher:
            return warn(self, "These walls were modelled by hand; move their upper edges down in Edit Mode")
        for target in higher:
            target.stowfold.building.height = self.height
            with context.temp_override(object=target, active_object=target):
                bpy.ops.stowfold.rebuild_building("EXEC_DEFAULT")
        self.report({"INFO"}, f"Walls are {self.height:g} mm high now")
        return {"FINISHED"}


class STOWFOLD_OT_widen_strip(Operator):
    """Stand the walls farther outside the squares, so that bases clear joiners"""

    bl_idname = "stowfold.widen_strip"
    bl_label = "Widen the Strip"
    bl_options = {"REGISTER", "UNDO"}

    by: FloatProperty(name="By", description="How much farther the walls stand outside, mm", default=3.0, min=0.0)

    @report_errors("WARNING")
    def execute(self, context: Context) -> set[str]:
        import bpy

        targets = [target for target in context.scene.objects if target.stowfold.building.was_added]
        if not targets:
            return warn(self, f"These walls were modelled by hand; move them {self.by:g} mm outward in Edit Mode")
        for target in targets:
            building = target.stowfold.building
            building.strip = round(as_typed(building.strip) + as_typed(self.by), 3)
            with context.temp_override(object=target, active_object=target):
                bpy.ops.stowfold.rebuild_building("EXEC_DEFAULT")
        self.report({"INFO"}, f"The building is {2.0 * as_typed(self.by):g} mm longer and wider now")
        return {"FINISHED"}


class STOWFOLD_OT_cut_caps(Operator):
    """Cut strips and plates that cover parted lines and holes of the roof from outside"""

    bl_idname = "stowfold.cut_caps"
    bl_label = "Cut Roof Caps"
    bl_options = {"REGISTER", "UNDO"}

    def execute(self, context: Context) -> set[str]:
        context.scene.stowfold.caps = True
        self.report({"INFO"}, "Caps are cut for the roof; they are glued on once")
        return {"FINISHED"}


class STOWFOLD_OT_accept_finding(_OfFinding, Operator):
    """Leave this finding out of the list, in this file, for it is as you want it"""

    bl_idname = "stowfold.accept_finding"
    bl_label = "Accept"
    bl_options = {"REGISTER", "UNDO"}

    index: IntProperty(name="Finding", options={"SKIP_SAVE", "HIDDEN"})

    @report_errors("WARNING")
    def execute(self, context: Context) -> set[str]:
        _, finding = self.found(context)
        if finding.severity is Severity.ERROR:
            return warn(self, "An error keeps the sheets back, so it cannot be accepted; mend it")
        report = results.shown(context)
        assert report is not None  # found looked
        accepted = context.scene.stowfold.accepted
        key = lines_of(report)[self.index].key
        if key not in accepted:
            accepted.add().name = key
        context.window_manager.stowfold.finding = -1
        return {"FINISHED"}


class STOWFOLD_OT_list_accepted(Operator):
    """List the accepted findings again"""

    bl_idname = "stowfold.list_accepted"
    bl_label = "List Accepted Again"
    bl_options = {"REGISTER", "UNDO"}

    @classmethod
    def poll(cls, context: Context) -> bool:
        return needs(cls, len(context.scene.stowfold.accepted), "No finding was accepted in this file")

    def execute(self, context: Context) -> set[str]:
        context.scene.stowfold.accepted.clear()
        return {"FINISHED"}


CLASSES = (
    STOWFOLD_OT_move_break,
    STOWFOLD_OT_take_radius,
    STOWFOLD_OT_widen_bend,
    STOWFOLD_OT_lower_walls,
    STOWFOLD_OT_widen_strip,
    STOWFOLD_OT_cut_caps,
    STOWFOLD_OT_accept_finding,
    STOWFOLD_OT_list_accepted,
)
