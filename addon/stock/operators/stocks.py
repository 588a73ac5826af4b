"""Stocks: the maker's own boards, and measured values that replace what the catalogue says."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, ClassVar

from bpy.props import BoolProperty, EnumProperty, FloatProperty, StringProperty
from bpy.types import Context, Event, Operator, PropertyGroup, Scene

from ...geometry.board.calibration import Calibration
from ...geometry.board.library import Entry, slug
from ...geometry.board.stock import Grain, Stock, check_stock
from ...geometry.errors import BadSettingError
from ...host import stock_library
from ...host.lengths import as_typed, millimetres
from ...host.measuring import calibration_of, read_calibration, write_calibration
from ...jobs import results
from ...jobs.reporting import report_errors, warn
from ...window.asking import AsksFirst

#: Values of a stock that the dialogue edits, all but name, grain and sheet, which are handled on their own.
_NUMBERS = (
    "thickness",
    "thickness_tolerance",
    "kerf",
    "link_width",
    "bridge",
    "shear_modulus",
    "elastic_modulus",
    "shear_limit",
    "cross_tension",
)

_NOT_MEASURED = "There are no measured values of this board"


class _EntersValues:
    """A mixin for operators that begin values of a board in this file.

    collection: name of the scene's list of them; what: what the list holds, in words.
    """

    collection: ClassVar[str]
    what: ClassVar[str]

    stock: StringProperty(name="Stock", options={"SKIP_SAVE"})

    def fill(self, own: PropertyGroup, entry: Entry) -> None:
        """Write into the new values what is known of the board."""
        raise NotImplementedError

    def execute(self, context: Context) -> set[str]:
        listed = getattr(context.scene.stowfold, self.collection)
        entry = stock_library.entries().get(self.stock)
        if entry is None or self.stock in listed:
            return warn(self, f"Choose a known board that has no {self.what} in this file yet")
        own = listed.add()
        own.name = self.stock
        self.fill(own, entry)
        results.suspect_all()
        return {"FINISHED"}


class _ForgetsValues:
    """A mixin for operators that drop values of a board in this file.

    collection: name of the scene's list of them; missing: the sentence where the board has none.
    """

    collection: ClassVar[str]
    missing: ClassVar[str]

    stock: StringProperty(name="Stock", options={"SKIP_SAVE"})

    def execute(self, context: Context) -> set[str]:
        listed = getattr(context.scene.stowfold, self.collection)
        index = listed.find(self.stock)
        if index < 0:
            return warn(self, self.missing)
        listed.remove(index)
        results.suspect_all()
        return {"FINISHED"}


class STOWFOLD_OT_measure_stock(_EntersValues, Operator):
    """Enter your own measured values for this board; they are saved with this file"""

    bl_idname = "stowfold.measure_stock"
    bl_label = "Enter Measured Values"
    bl_options = {"REGISTER", "UNDO"}

    collection, what = "measured", "measured values"

    def fill(self, own: PropertyGroup, entry: Entry) -> None:
        # thickness and kerf are what everyone measures
        known = entry.calibration or Calibration()
        write_calibration(own, entry.stock, replace(known, thickness=entry.stock.thickness, kerf=entry.stock.kerf))


class STOWFOLD_OT_forget_measured(_ForgetsValues, Operator):
    """Drop the values of this file and use those of the library again"""

    bl_idname = "stowfold.forget_measured"
    bl_label = "Use Library Values"
    bl_options = {"REGISTER", "UNDO"}

    collection, missing = "measured", _NOT_MEASURED


class STOWFOLD_OT_price_stock(_EntersValues, Operator):
    """Enter what a sheet of this board costs, so that the cost of the building is shown"""

    bl_idname = "stowfold.price_stock"
    bl_label = "Enter Price"
    bl_options = {"REGISTER", "UNDO"}

    collection, what = "prices", "price"

    def fill(self, own: PropertyGroup, entry: Entry) -> None:
        own.price = entry.base.price or 0.0


class STOWFOLD_OT_forget_price(_ForgetsValues, Operator):
    """Leave the cost of this board out again"""

    bl_idname = "stowfold.forget_price"
    bl_label = "Forget Price"
    bl_options = {"REGISTER", "UNDO"}

    collection, missing = "prices", "There is no price of this board"


class STOWFOLD_OT_save_calibration(AsksFirst, Operator):
    """Keep the measured values of this file in your own library, for every other file too"""

    bl_idname = "stowfold.save_calibration"
    bl_label = "Keep in Library"

    asked_title, asked_button, asked_icon = "Replace Earlier Batch?", "Replace", "NONE"

    stock: StringProperty(name="Stock", options={"SKIP_SAVE"})
    replace_batch: BoolProperty(
        name="Replace Earlier Batch",
        description="Drop what the library knows of another batch of this board",
        options={"SKIP_SAVE"},
    )

    def question(self, context: Context) -> str | None:
        earlier = _other_batch(context.scene, self.stock)
        return None if earlier is None else f"The library holds values of {_batch(earlier)}; they are dropped."

    def invoke(self, context: Context, event: Event) -> set[str]:
        self.replace_batch = True  # the button says so
        return super().invoke(context, event)

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        own = context.scene.stowfold.measured.get(self.stock)
        entry = stock_library.entries().get(self.stock)
        if own is None or entry is None:
            return warn(self, _NOT_MEASURED)
        earlier = _other_batch(context.scene, self.stock)
        if earlier is not None and not self.replace_batch:
            raise BadSettingError(f"The library holds values of {_batch(earlier)}; tick Replace Earlier Batch")
        calibration = read_calibration(own)
        check_stock(replace(entry, calibration=calibration).stock)
        stock_library.keep(Entry(entry.base, calibration))
        self.report({"INFO"}, f"{entry.base.label} is kept with its measured values in {stock_library.path()}")
        return {"FINISHED"}


def _other_batch(scene: Scene, name: str) -> Calibration | None:
    """Return what the library knows of another batch or laser than the file does, None where they are the same."""
    own = scene.stowfold.measured.get(name)
    entry = stock_library.entries().get(name)
    known = entry.calibration if entry is not None else None
    if own is None or known is None or (known.batch, known.machine) == (own.batch, own.machine):
        return None
    return known


def _batch(calibration: Calibration) -> str:
    return f"batch {calibration.batch}" if calibration.batch else "a batch without a name"


class STOWFOLD_OT_copy_stock(Operator):
    """Copy this board into your own library, where you can change it"""

    bl_idname = "stowfold.copy_stock"
    bl_label = "Copy to Own Library"

    stock: StringProperty(name="Stock", options={"SKIP_SAVE"})
    label: StringProperty(name="Name", description="What your own board is called")
    instead: BoolProperty(
        name="Use in Place of the Original",
        description="Files that use the original use your copy from now on; otherwise both are there",
    )

    def invoke(self, context: Context, _event: Event) -> set[str]:
        entry = stock_library.entries().get(self.stock)
        self.label = f"{entry.base.label}, own" if entry is not None else ""
        self.instead = False
        return context.window_manager.invoke_props_dialog(self, width=360)

    @report_errors()
    def execute(self, context: Context) -> set[str]:
        known = stock_library.entries()
        entry = known.get(self.stock)
        label = self.label.strip()
        if entry is None or not label:
            return warn(self, "Choose a known board and give the copy a name")
        if self.instead and entry.own:
            raise BadSettingError(f"{entry.base.label} is your own already; edit it, or copy it beside the original")
        if not self.instead and any(entry.base.label == label for entry in known.values()):
            raise BadSettingError(f"There is a board called {label} already; give the copy another name")
        name = self.stock if self.instead else slug(label, known)
        stock_library.keep(Entry(replace(entry.base, name=name, label=label), calibration_of(context.scene, entry)))
        results.suspect_all()
        self.report({"INFO"}, f"{label} is kept in {stock_library.path()}")
        return {"FINISHED"}


class STOWFOLD_OT_edit_stock(Operator):
    """Change a board of your own library; this cannot be undone"""

    bl_idname = "stowfold.edit_stock"
    bl_label = "Edit Own Board"

    stock: StringProperty(name="Stock", options={"SKIP_SAVE"})
    label: StringProperty(name="Name", description="What the board is called")
    thickness: millimetres("Thickness", "As sold; measured values go beside it", 3.0, 0.1, 10.0)
    thickness_tolerance: millimetres("Tolerance", "How far the thickness may be off either way", 0.2, 0.0, 2.0)
    kerf: millimetres("Kerf", "Width that one pass of the laser removes", 0.2, 0.0, 1.0)
    link_width: millimetres("Narrowest Link", "Narrowest strip between two rows of slits", 0.8, 0.1, 5.0)
    bridge: millimetres("Shortest Bridge", "Shortest web between two slits that survives handling", 2.0, 0.1, 10.0)
    sheet_length: millimetres("Sheet Length", "Longer side of a sheet", 600.0, 1.0)
    sheet_width: millimetres("Sheet Width", "Shorter side of a sheet", 300.0, 1.0)
    grain: EnumProperty(
        name="Grain",
        description="Which way the grain runs on the sheet",
        items=(
            ("NONE", "None", "The same both ways", 0),
            ("LENGTH", "Along the Length", "Along the longer side of the sheet", 1),
            ("WIDTH", "Along the Width", "Along the shorter side of the sheet", 2),
            ("CROSSED", "Crossed", "Plywood: layers both ways", 3),
        ),
    )
    shear_modulus: FloatProperty(name="Shear Modulus", description="Stiffness of links against twisting, MPa", min=0.0)
    elastic_modulus: FloatProperty(name="Elastic Modulus (MPa)", description="Stiffness along the links", min=0.0)
    shear_limit: FloatProperty(
        name="Shear Limit", description="Two thirds of the stress at which links break, MPa", min=0.0, precision=2
    )
    cross_tension: FloatProperty(
        name="Bridge Limit", description="Two thirds of the stress at which bridges break, MPa", min=0.0, precision=2
    )

    def invoke(self, context: Context, _event: Event) -> set[str]:
        entry = stock_library.entries().get(self.stock)
        if entry is None or not entry.own:
            return self.execute(context)
        self.label = entry.base.label
        for name in _NUMBERS:
            setattr(self, name, getattr(entry.base, name))
        self.sheet_length, self.sheet_width = entry.base.sheet
        self.grain = entry.base.grain.name
        return context.window_manager.invoke_props_dialog(self, width=380)

    def draw(self, _context: Context) -> None:
        column = self.layout.column()
        column.use_property_split = True
        for name in ("label", *_NUMBERS[:5], "sheet_length", "sheet_width", "grain", *_NUMBERS[5:]):
            column.prop(self, name)

    @report_errors()
    def execute(self, _context: Context) -> set[str]:
        entry = stock_library.entries().get(self.stock)
        if entry is None or not entry.own:
            return warn(self, "Only boards of your own can be changed; copy this one first")
        stock_library.keep(replace(entry, base=self._edited(entry.base)))
        results.suspect_all()
        return {"FINISHED"}

    def _edited(self, before: Stock) -> Stock:
        """Return the stock with the values of the dialogue; what was changed no longer has its old source."""
        values: dict[str, Any] = {name: as_typed(getattr(self, name)) for name in _NUMBERS}
        values["sheet"] = (as_typed(self.sheet_length), as_typed(self.sheet_width))
        values["grain"] = Grain[self.grain]
        changed = {name for name, value in values.items() if value != getattr(before, name)}
        sources = {name: words for name, words in before.sources.items() if name not in changed}
        sources.update(dict.fromkeys(sorted(changed), "entered by hand"))
        stock = replace(before, label=self.label.strip() or before.label, sources=sources, **values)
        check_stock(stock)
        return stock


class STOWFOLD_OT_delete_stock(AsksFirst, Operator):
    """Delete a board from your own library; this cannot be undone"""

    bl_idname = "stowfold.delete_stock"
    bl_label = "Delete Own Board"

    asked_title, asked_button = "Delete Own Board?", "Delete"

    stock: StringProperty(name="Stock", options={"SKIP_SAVE"})

    def question(self, _context: Context) -> str | None:
        entry = stock_library.entries().get(self.stock)
        label = entry.base.label if entry is not None else self.stock
        return f"{label} and what was measured on it are deleted from your library. This cannot be undone."

    @report_errors()
    def execute(self, _context: Context) -> set[str]:
        stock_library.remove(self.stock)
        results.suspect_all()
        return {"FINISHED"}


CLASSES = (
    STOWFOLD_OT_measure_stock,
    STOWFOLD_OT_forget_measured,
    STOWFOLD_OT_price_stock,
    STOWFOLD_OT_forget_price,
    STOWFOLD_OT_save_calibration,
    STOWFOLD_OT_copy_stock,
    STOWFOLD_OT_edit_stock,
    STOWFOLD_OT_delete_stock,
)
