"""The hinge of a bend: what is fixed, what the solver made of the rest, and what it bears and costs."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import bpy
from bpy.types import Panel, UILayout

from ..geometry.board.endurance import ANALOGY, MOST_FOLDS
from ..geometry.board.lattice import Lattice
from ..host.hinge_wishes import FIXED, wishes_of
from ..host.lengths import as_typed
from ..jobs import results
from ..window.step import Step
from ..window.words import draw_setting, paragraph
from . import hinges

if TYPE_CHECKING:
    from ..geometry.sheet.times import WayOfCutting


class STOWFOLD_PT_hinge(Step, Panel):
    """The hinge of the picked bend: what is fixed, what follows, what the board bears."""

    bl_idname = "STOWFOLD_PT_hinge"
    bl_label = "Hinge"
    bl_parent_id = "STOWFOLD_PT_bends"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        ours = context.scene.stowfold
        column = self.settings_layout()
        draw_setting(column, ours.hinge, "cut")
        for name, label, _, _ in FIXED:
            row = column.row(align=True, heading=label)
            row.prop(ours.hinge, f"use_{name}", text="")
            value = row.row()
            value.active = getattr(ours.hinge, f"use_{name}")
            value.prop(ours.hinge, name, text="")
        report = results.shown(context)
        if report is None or report.outcome is None or report.settings is None:
            paragraph(self.layout, context, "Check the building to read its hinges here.", icon="INFO")
            return
        found = hinges.picked(context, report)
        if found is None:
            paragraph(self.layout, context, "This edge has no hinge. Select a flex corner.", icon="INFO")
            return
        part, placed = found
        made = placed.lattice
        box = self.layout.box()
        swing = placed.angle or placed.swing
        bend = f"{abs(math.degrees(swing)):.0f}° over {made.axis_length:.0f} mm"
        box.label(text=f"{part.id}: bends {bend}", icon="MOD_LATTICE")
        stock = report.settings.as_cut.stocks[part.stock]
        wishes, radius = wishes_of(ours.hinge), as_typed(ours.inside_radius)
        radius = radius if placed.angle else max(radius, made.inside_radius)
        read = hinges.reading(placed, stock, report.settings.laser, wishes, radius)
        if read is None:
            box.label(text="Working it out ...", icon="TIME")
            return
        if isinstance(read, str):
            paragraph(box, context, read, icon="CANCEL")
            return
        solved = read.solution
        for limit in solved.limits:
            row = box.row()
            row.alert = not limit.holds
            bound = "at least" if limit.at_least else "at most"
            text = f"{limit.name}: {limit.value:.2f}, {bound} {limit.limit:.2f} {limit.unit}"
            row.progress(factor=min(1.0, limit.used), type="BAR", text=text)
        if solved.failure is not None:
            paragraph(box, context, solved.failure, icon="ERROR")
        _draw_lines(box, _sizes(solved.lattice, stock.calibration))
        soonest = min((way for way in read.ways if way.solution.holds), key=lambda way: way.seconds, default=None)
        _draw_lines(box, tuple(_way(way, quicker=way is soonest) for way in read.ways))
        if read.folds is not None:
            _draw_lines(box, (("Folds", folds_told(read.folds)),))
            paragraph(box, context, ANALOGY, icon="INFO")


def folds_told(folds: int) -> str:
    """Return a number of folds as a maker plans with it: two digits, since it is an analogy."""
    if folds == 0:
        return "breaks when folded once"
    if folds >= MOST_FOLDS:
        return f"{MOST_FOLDS:,} or more"
    return f"about {float(f'{folds:.2g}'):,.0f}"


def _way(way: WayOfCutting, *, quicker: bool) -> tuple[str, str]:
    """Return one way of cutting the slits as a line: its name, its time at the laser and its width."""
    label = "As single lines" if way.cut == "line" else "As slots"
    if not way.solution.holds:
        return label, "does not bend so far"
    said = ", quicker" if quicker else ""
    return label, f"{way.seconds / 60.0:.1f} min, {way.solution.zone_width:.1f} mm wide{said}"


def _sizes(made: Lattice, calibration: str | None) -> tuple[tuple[str, str], ...]:
    return (
        ("Rows", f"{made.rows}, {made.slits} slits each"),
        ("Slit and bridge", f"{made.slit:.1f} and {made.bridge:.1f} mm"),
        ("Link and opening", f"{made.link_width:.2f} and {made.opening:.2f} mm"),
        ("Flat width", f"{made.flat_width:.1f} mm"),
        ("Inside radius", f"{made.inside_radius:.1f} mm"),
        ("Twist per link", f"{math.degrees(made.twist):.1f}°"),
        ("Moment", f"{made.held_moment:.0f} N·mm"),
        ("Values", "calibrated" if calibration else "catalogue"),
    )


def _draw_lines(layout: UILayout, lines: tuple[tuple[str, str], ...]) -> None:
    grid = layout.grid_flow(row_major=True, columns=2, even_columns=False, align=True)
    for label, value in lines:
        grid.label(text=label)
        grid.label(text=value)


CLASSES = (STOWFOLD_PT_hinge,)
