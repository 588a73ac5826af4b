"""Settings of the stock: which boards are used, what was measured on them, and readings of a coupon.

Readings and measured values stay with the file and can be undone; the library keeps them beyond it.
"""

from __future__ import annotations

import math
from functools import lru_cache

import bpy
from bpy.props import BoolProperty, CollectionProperty, EnumProperty, FloatProperty, IntProperty, StringProperty
from bpy.types import PropertyGroup

from ..geometry.board.coupon import plan_coupon
from ..host import stock_library
from ..host.lengths import millimetres
from ..jobs import results

__all__ = [
    "READING_KINDS",
    "StowfoldCorner",
    "StowfoldCoupon",
    "StowfoldMeasured",
    "StowfoldPrice",
    "StowfoldReading",
    "StowfoldStocks",
]


def _touched(_group: PropertyGroup, _context: bpy.types.Context) -> None:
    results.suspect_all()


def _stock(name: str, description: str, default: int = stock_library.DEFAULT) -> object:
    return EnumProperty(
        name=name,
        description=description,
        items=stock_library.stock_items,
        default=default,
        update=_touched,
    )


def _stress(name: str, description: str) -> object:
    return FloatProperty(name=name, description=description, min=0.0, precision=2, update=_touched)


def _counts(what: str, default: bool = False) -> object:
    return BoolProperty(
        name=f"Use {what}",
        description=f"Use this {what.lower()} instead of the catalogue's",
        default=default,
        update=_touched,
    )


class StowfoldStocks(PropertyGroup):
    """Which board each kind of part is cut from."""

    walls: _stock("Walls", "Board of the wall sections")
    roof: _stock("Roof", "Board of the roof")
    floor: _stock("Floor", "Board of the floor")
    joiners: _stock("Joiners", "Board of the joiners' cores and cheeks")
    trim: EnumProperty(
        name="Trim",
        description="Thin board of frames, sills, shutters and corner boards",
        items=stock_library.stock_items,
        default=stock_library.THIN,
        update=_touched,
    )
    second_shingles: _stock("Second Board", "Second board of shingle strips", stock_library.DARK_THIN)
    light_tiles: _stock("Light Tiles", "Board of the floor's light tiles")
    dark_tiles: _stock("Dark Tiles", "Board of the floor's dark tiles", stock_library.DARK)


class StowfoldMeasured(PropertyGroup):
    """What the maker measured on a stock; the name is the stock's."""

    date: StringProperty(name="Date", description="When it was measured", update=_touched)
    batch: StringProperty(name="Batch", description="Which boards it was measured on", update=_touched)
    machine: StringProperty(name="Laser", description="Which laser it was measured with", update=_touched)

    thickness: millimetres(
        "Thickness", "Thickness measured with a calliper, the mean of several places", 3.0, 0.1, 10.0, update=_touched
    )
    kerf: millimetres(
        "Kerf", "Width that one pass of the laser removes, measured on a test cut", 0.15, 0.0, 1.0, update=_touched
    )
    slide: millimetres(
        "Slide Fit", "What a slot is wider than the board that goes in and out freely", 0.2, -2.0, 2.0, update=_touched
    )
    press: millimetres(
        "Press Fit", "What a slot is wider than the board that is pressed in by hand", 0.0, -2.0, 2.0, update=_touched
    )
    glue: millimetres(
        "Glue Fit", "What a slot is wider than the board that is glued in", 0.1, -2.0, 2.0, update=_touched
    )
    shear_modulus: _stress("Shear Modulus", "How stiff links are against twisting, MPa")
    shear_limit: _stress("Shear Limit", "Stress that links may carry again and again, MPa")
    cross_tension: _stress("Bridge Limit", "Bending stress that bridges may carry again and again, MPa")

    use_thickness: _counts("Thickness", True)
    use_kerf: _counts("Kerf", True)
    use_slide: _counts("Slide Fit")
    use_press: _counts("Press Fit")
    use_glue: _counts("Glue Fit")
    use_shear_modulus: _counts("Shear Modulus")
    use_shear_limit: _counts("Shear Limit")
    use_cross_tension: _counts("Bridge Limit")


class StowfoldPrice(PropertyGroup):
    """What a sheet of a stock costs; the name is the stock's."""

    price: FloatProperty(
        name="Price of a Sheet",
        description="What one whole sheet of this board costs, in your own money",
        default=0.0,
        min=0.0,
        precision=2,
        update=_touched,
    )


@lru_cache(maxsize=32)
def _hinge_items(name: str, repeats: int, *_values: object) -> tuple[tuple[str, str, str, int], ...]:
    # the host needs the same texts to live on between calls; the values tell apart what was edited since
    rungs = plan_coupon(stock_library.entries()[name].base, repeats=repeats).rungs
    return tuple((rung.id, f"{rung.id}, {rung.differs}", "", number) for number, rung in enumerate(rungs))


@lru_cache(maxsize=32)
def _corner_items(*corners: tuple[str, str]) -> tuple[tuple[str, str, str, int], ...]:
    return tuple((name, f"{name}, {words}", "", number) for number, (name, words) in enumerate(corners))


def _hinges(group: PropertyGroup, _context: bpy.types.Context) -> tuple[tuple[str, str, str, int], ...]:
    coupon = group.id_data.stowfold.coupon
    if coupon.quick:
        corners = [(corner.name, corner.differs) for corner in coupon.corners if corner.board == coupon.stock]
        return _corner_items(*(corners or [("C1", "none")]))
    entry = stock_library.entries().get(coupon.stock)
    if entry is None:
        return (("H1", "H1", "", 0),)
    base = entry.base
    return _hinge_items(base.name, coupon.repeats, base.kerf, base.bridge, base.thickness, base.grain)


#: What a line of the page may hold.
READING_KINDS = (
    ("THICKNESS", "Thickness", "Thickness of the board in one place", 0),
    ("STACK_X", "Stack of Slats X", "Slats of the comb X, pushed together", 1),
    ("STACK_Y", "Stack of Slats Y", "Slats of the comb Y, pushed together", 2),
    ("SLIDE", "Slide", "Narrowest slot through which the piece drops by its own weight", 3),
    ("PRESS", "Press", "Narrowest slot into which the piece can be pushed by hand", 4),
    ("GLUE", "Glue", "Widest slot that still holds the piece", 5),
    ("HUNG", "Weight", "A hinge bent by a weight", 6),
    ("BROKEN", "Break", "A hinge bent until it broke", 7),
)


class StowfoldReading(PropertyGroup):
    """One line of the coupon's page."""

    kind: EnumProperty(
        name="Kind",
        description="What was measured",
        items=READING_KINDS,
    )
    size: millimetres("Length", "What the calliper shows, or the number beside the slot", 0.0)
    slats: IntProperty(name="Slats", description="How many slats are in the stack", default=10, min=1, max=10)
    hinge: EnumProperty(name="Hinge", description="Which piece of the ladder", items=_hinges)
    mass: FloatProperty(name="Mass (g)", description="Weight on the string, 0 for the leg alone", min=0.0)
    arm: millimetres("Arm", "From the middle of the lattice to the string", 35.0, 1.0, 100.0)
    angle: FloatProperty(
        name="Angle",
        description="Below level for a weight; between the legs' directions for a break, 0 is flat",
        min=0.0,
        max=math.radians(150.0),
        subtype="ANGLE",
    )
    failed: EnumProperty(
        name="Broke",
        description="What broke first",
        items=(
            ("LINK", "Link", "A strip between two rows was twisted apart", 0),
            ("BRIDGE", "Bridge", "The web between two slits in line broke", 1),
        ),
    )


class StowfoldCorner(PropertyGroup):
    """One corner of a quick coupon as it was drawn; the name is the one that is engraved. Lengths in mm."""

    board: StringProperty(name="Board", description="Board that the corner was cut from")
    differs: StringProperty(name="Like", description="Which bend of the building it is like")
    angle: FloatProperty(name="Angle", description="Bend that it was drawn for", subtype="ANGLE")
    links: IntProperty(name="Links", description="Strips between its rows of slits")
    slits: IntProperty(name="Slits", description="Whole slits in a row")
    axis_length: millimetres("Height", "Length of its bend axis", 60.0)
    link_width: millimetres("Link", "Width of the strips between rows", 0.8)
    opening: millimetres("Opening", "Width of its slits", 0.4)
    bridge: millimetres("Bridge", "Uncut board between slits in line", 2.1)
    edge_bridge: millimetres("Edge Bridge", "Uncut board at the ends of the axis", 2.1)


class StowfoldCoupon(PropertyGroup):
    """Readings of one coupon, and what it was drawn for.

    corners: of the last quick coupon; quick: whether the readings are of it and not of a large coupon.
    """

    quick: BoolProperty(
        name="Quick Coupon of a Building", description="The readings are of the quick coupon that was written last"
    )
    corners: CollectionProperty(type=StowfoldCorner)

    stock: StringProperty(name="Board", description="Board that the coupon was cut from")
    drawn_thickness: millimetres("Drawn For", "Thickness printed on the coupon's page", 3.0, 0.1, 10.0)
    drawn_kerf: millimetres("Drawn Kerf", "Kerf printed on the coupon's page", 0.2, 0.0, 1.0)
    repeats: IntProperty(
        name="Of Each Hinge", description="How many of each hinge the coupon has", default=1, min=1, max=9
    )
    batch: StringProperty(name="Batch", description="Which boards, such as the day you bought them")
    machine: StringProperty(name="Laser", description="Which laser, if you use several")
    start_anew: BoolProperty(
        name="Start Again", description="Drop what is known of an earlier batch instead of refusing to mix the two"
    )
    readings: CollectionProperty(type=StowfoldReading)


CLASSES = (StowfoldStocks, StowfoldMeasured, StowfoldPrice, StowfoldReading, StowfoldCorner, StowfoldCoupon)
