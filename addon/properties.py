"""Settings: what the maker decides in the window, stored in the file with scene and object.

Thicknesses, kerfs and widths of joiners are real millimetres, whatever the scale of the scene; that
is why they carry the one length subtype of the host that ignores it.
"""

from __future__ import annotations

import bpy
from bpy.props import (
    BoolProperty,
    CollectionProperty,
    EnumProperty,
    FloatProperty,
    IntProperty,
    PointerProperty,
    StringProperty,
)
from bpy.types import PropertyGroup

from .bends.fields import StowfoldHinge, StowfoldNet
from .cut.fields import StowfoldPartLaser, StowfoldPin
from .dress.fields import StowfoldFinish, StowfoldPaint
from .dress.sign_fields import StowfoldSign
from .dress.trim_fields import StowfoldTrim
from .geometry.settings import INLAY_PLAY, ClosureSettings, FloorSettings, HingeSettings, JoinerSettings
from .host.lengths import millimetres
from .host.views import redraw_views
from .jobs import results
from .plot import reshaping
from .plot.building_fields import StowfoldBuilding
from .plot.opening_fields import StowfoldOpening
from .plot.upstand_fields import StowfoldUpstand
from .proof.fields import StowfoldAccepted
from .stand.fields import StowfoldStand
from .stock.fields import StowfoldCoupon, StowfoldMeasured, StowfoldPrice, StowfoldStocks
from .stock.laser_fields import StowfoldLaser, StowfoldOtherLaser
from .table import play_results
from .table.fields import StowfoldPlace, StowfoldPlayView, StowfoldTable
from .window.step import STEPS


def _touched(_group: PropertyGroup, _context: bpy.types.Context) -> None:
    results.suspect_all()


def _laid_out_again(group: PropertyGroup, context: bpy.types.Context) -> None:
    results.suspect_all()
    reshaping.square_changed(group.id_data, context)


def _redraw(_group: PropertyGroup, _context: bpy.types.Context) -> None:
    redraw_views()


def _look(_view: PropertyGroup, _context: bpy.types.Context) -> None:
    # maps of the table are made only while somebody looks at them
    play_results.suspect()
    redraw_views()


def _mm(name: str, description: str, default: float, least: float = 0.0, most: float = 5000.0) -> object:
    return millimetres(name, description, default, least, most, update=_touched)


_JOINER = JoinerSettings()
_FLOOR = FloorSettings()
_CLOSURE = ClosureSettings()


class StowfoldJoiner(PropertyGroup):
    """Sizes of the joiners."""

    core_width: _mm("Core", "Width of the strip between two wall ends", _JOINER.core_width, 1.0, 60.0)
    cheek_width: _mm("Cheeks", "Width of the two outer strips", _JOINER.cheek_width, 2.0, 120.0)
    gap: _mm("Gap", "Play between the core and each wall end", _JOINER.gap, 0.0, 2.0)
    margin: _mm("Margin", "Least distance of a joiner from bends, doors and windows", _JOINER.margin, 0.0, 30.0)
    slide: _mm("Slide", "What the channel is wider than the painted board", _JOINER.slide, 0.0, 2.0)
    paint: _mm("Paint", "Thickness of the paint on one face", _JOINER.paint, 0.0, 1.0)
    painted_faces: IntProperty(
        name="Painted Faces",
        description="How many faces of a wall are painted",
        default=_JOINER.painted_faces,
        min=0,
        max=2,
        update=_touched,
    )
    peg: _mm("Pegs", "Holes through core and cheeks for pegs that align them, 0 for none", _JOINER.peg, 0.0, 6.0)


class StowfoldScene(PropertyGroup):
    """Everything about the building and the workshop that is saved with the scene."""

    square: millimetres("Square", "Side of one cell of the scale grid", 25.4, 1.0, 100.0, update=_laid_out_again)
    unit_mm: FloatProperty(
        name="Unit",
        description="Millimetres in one unit of the scene, stored when the first thing is added; 0 before that",
        min=0.0,
        update=_touched,
    )
    last_check: StringProperty(
        name="Last Check", description="What the last check before saving came to, with its date", options={"HIDDEN"}
    )
    last_findings: StringProperty(
        name="Last Findings", description="What the last check before saving found, as JSON", options={"HIDDEN"}
    )
    last_model: StringProperty(
        name="Last Model", description="Letters that stand for the model that was checked", options={"HIDDEN"}
    )
    is_sample: BoolProperty(
        name="Sample", description="This file came with Stowfold: its tab is shown when the file is opened"
    )
    face: EnumProperty(
        name="Walls Are",
        description="Which face of the walls' board the modelled surface is",
        items=(
            ("INSIDE", "Inside", "Squares count true inside; the board grows outward", 0),
            ("OUTSIDE", "Outside", "The building keeps its outer size; the board grows inward", 1),
        ),
        update=_touched,
    )
    play_mat: BoolProperty(
        name="Play Mat",
        description="The building stands on a mat: no floor is cut, and walls get no tabs",
        default=not _FLOOR.wanted,
        update=_touched,
    )
    engrave_grid: BoolProperty(
        name="Engrave Grid", description="Engrave the squares on the floor", default=True, update=_touched
    )
    floor_finish: PointerProperty(
        name="Floor",
        description="Material whose pattern is drawn on the floor",
        type=bpy.types.Material,
        update=_touched,
    )
    inside_finish: PointerProperty(
        name="Room Side",
        description="Material whose pattern is drawn on the room side of walls that bear nothing outside",
        type=bpy.types.Material,
        update=_touched,
    )
    floor_tiles: BoolProperty(
        name="Floor of Two Boards",
        description="Cut the floor's pattern from two boards, laid on the floor, instead of engraving it",
        update=_touched,
    )
    floor_way: EnumProperty(
        name="Laid As",
        description="How the two boards come together",
        items=(
            ("TILES", "Tiles", "Every unit of the pattern is a tile, glued on the floor", 0),
            ("INLAY", "Inlay", "Dark pieces fit into openings of a light top layer, with the kerf made up for", 1),
        ),
        update=_touched,
    )
    floor_border: BoolProperty(
        name="Border", description="Inlay of one piece a square along the walls", default=True, update=_touched
    )
    floor_star: BoolProperty(
        name="Star",
        description="Inlay of a compass star in the middle, as large as half squares allow",
        default=True,
        update=_touched,
    )
    floor_play: _mm(
        "Play",
        "Width of the joints of an inlay; a kerf finer than set by as much shuts them",
        INLAY_PLAY,
        0.0,
        0.5,
    )
    rim: _mm("Rim", "How far the floor reaches beyond the walls, at least", _FLOOR.rim, 0.0, 50.0)
    propose: EnumProperty(
        name="Unmarked",
        description="What to fill in where no edge is marked; the marks themselves are not changed",
        items=(
            ("NONE", "Stays Apart", "Only marked edges flex or part", 0),
            ("NET", "Fill in Bends", "Choose which unmarked edges flex", 1),
            ("BREAKS", "Fill in Breaks", "Choose where walls part so that sections fit the stock", 2),
            ("ALL", "Fill in Both", "Choose bends and breaks", 3),
        ),
        update=_touched,
    )
    inside_radius: _mm(
        "Inside Radius",
        "Aimed at for each bend; up to about 13 mm a 25 mm base still stands in the corner square",
        HingeSettings().inside_radius,
        0.5,
        50.0,
    )
    along_grain: BoolProperty(
        name="Slits Along Grain",
        description="In solid wood, cut walls so that slits run along the grain: stronger links, shorter sections",
        update=_touched,
    )
    grain_joiners: IntProperty(
        name="Grain Joiners",
        description="How many more joiners the grain is worth when breaks are proposed; beyond that it is let go",
        default=HingeSettings().grain_joiners,
        min=0,
        max=20,
        update=_touched,
    )
    closure: EnumProperty(
        name="Closures",
        description="What holds the boards together where edges meet and stay parted",
        items=(
            ("REST", "Rest", "Nothing: the boards lie against each other", 0),
            ("LAP", "Lap", "Strips of board, and at an angle two fins with a ring over both; no magnets", 1),
            ("MAGNETS", "Magnets", "Covered magnets on carriers; not where children play", 2),
        ),
        default=_CLOSURE.kind.name,
        update=_touched,
    )
    caps: BoolProperty(
        name="Roof Caps",
        description="Cut strips and plates that cover parted lines and holes of the roof from outside",
        default=False,
        update=_touched,
    )
    glue_strips: BoolProperty(
        name="Glue Strips",
        description="Glue strips into the corners of parted edges where nothing else finds room; done once, for good",
        default=True,
        update=_touched,
    )
    magnet_diameter: _mm("Magnet", "Diameter of the disc magnets", _CLOSURE.magnet_diameter, 1.0, 30.0)
    magnet_thickness: _mm("Thickness", "Thickness of a magnet", _CLOSURE.magnet_thickness, 0.5, 20.0)
    magnet_cover: _mm("Cover", "Card or veneer glued over each magnet", _CLOSURE.cover, 0.1, 3.0)
    magnet_field: FloatProperty(
        name="Field (kG)",
        description="At the pole's surface in kilogauss, as the seller states it",
        default=_CLOSURE.magnet_field,
        min=0.1,
        max=10.0,
        update=_touched,
    )
    magnet_pull: FloatProperty(
        name="Pull (N)",
        description="What one pair holds through both covers, in newtons, tried with a scale",
        default=_CLOSURE.pull,
        min=0.05,
        max=100.0,
        update=_touched,
    )
    use_offcuts: BoolProperty(
        name="Use Offcuts",
        description="Lay parts on the offcuts of your list before whole sheets",
        default=False,
        update=_touched,
    )
    carrying_case: BoolProperty(
        name="Carrying Case",
        description="Cut a case with a lid that takes all parts, from the floor's board",
        update=_touched,
    )
    paper: EnumProperty(
        name="Paper",
        description="Paper that the mock-up is printed on, to try the building in card first",
        items=[("A4", "A4", "210 x 297 mm"), ("LETTER", "Letter", "8.5 x 11 in")],
        update=_touched,
    )
    look_longer: BoolProperty(
        name="Seek Larger Offcut",
        description="Look some seconds longer for a larger offcut; sheets may come out otherwise each time",
        update=_touched,
    )
    stand: PointerProperty(type=StowfoldStand)
    hinge: PointerProperty(type=StowfoldHinge)
    joiner: PointerProperty(type=StowfoldJoiner)
    trim: PointerProperty(type=StowfoldTrim)
    paint: PointerProperty(type=StowfoldPaint)
    laser: PointerProperty(type=StowfoldLaser)
    other_lasers: CollectionProperty(type=StowfoldOtherLaser)
    table: PointerProperty(type=StowfoldTable)
    stocks: PointerProperty(type=StowfoldStocks)
    measured: CollectionProperty(type=StowfoldMeasured)
    prices: CollectionProperty(type=StowfoldPrice)
    coupon: PointerProperty(type=StowfoldCoupon)
    pins: CollectionProperty(type=StowfoldPin)
    part_lasers: CollectionProperty(type=StowfoldPartLaser)
    accepted: CollectionProperty(type=StowfoldAccepted)


class StowfoldObject(PropertyGroup):
    """What is saved with an object."""

    building: PointerProperty(type=StowfoldBuilding)
    place: PointerProperty(type=StowfoldPlace)
    opening: PointerProperty(type=StowfoldOpening)
    upstand: PointerProperty(type=StowfoldUpstand)
    sign: PointerProperty(type=StowfoldSign)

    engraved: BoolProperty(
        name="Engrave on Walls",
        description="The laser draws this curve or text on the wall or slope that it lies against, within 12 mm",
        update=_touched,
    )
    engraved_way: EnumProperty(
        name="Lines Are",
        description="Which operation of the laser makes the lines",
        items=(
            ("ENGRAVE", "Engraved", "Marked on the face", 0),
            ("SCORE", "Scored", "Cut a part of the way", 1),
            ("FILL", "Filled", "Engraved, and the inside of closed lines hatched", 2),
        ),
        update=_touched,
    )
    engraved_hatch: millimetres(
        "Hatch Spacing", "Between strokes of the hatching; closer is darker", 0.3, 0.05, 5.0, update=_touched
    )
    is_block_out: BoolProperty(
        name="Block-out",
        description="This mesh is the building, or a part of it, that is to be cut",
        update=_touched,
    )
    drawn_as: StringProperty(
        name="Drawn As",
        description="How the object is drawn when no map of its room is shown; empty while it is drawn so",
        options={"HIDDEN"},
    )
    put_away: StringProperty(
        name="Put Away",
        description="Whether it was selected when it was hidden for its folded boards; empty while it is not hidden",
        options={"HIDDEN"},
    )
    out_of_renders: BoolProperty(
        name="Out of Renders",
        description="Left out of renders only while its boards stand in for it",
        options={"HIDDEN"},
    )


class StowfoldView(PropertyGroup):
    """What is shown in this session; not saved with the file."""

    step: EnumProperty(
        name="Step", description="The step that the sidebar shows, and the view with it", items=STEPS, update=_look
    )
    show_roles: BoolProperty(
        name="Show Bends",
        description="Draw marked edges of block-outs in the viewport",
        default=True,
        update=_redraw,
    )
    show_parts: BoolProperty(
        name="Show Parts",
        description="Draw slits, joiners, tabs and slots of the last check where they will stand",
        default=True,
        update=_redraw,
    )
    show_finishes: BoolProperty(
        name="Show Lines",
        description="Draw the lines of finishes as of the last check, where the boards will stand",
        default=True,
        update=_redraw,
    )
    show_nets: BoolProperty(
        name="Show Nets",
        description="Draw the net that is selected in the list beside the building and on it",
        default=True,
        update=_redraw,
    )
    nets: CollectionProperty(type=StowfoldNet, options={"SKIP_SAVE"})
    net: IntProperty(
        name="Net", description="Net that is looked at, as a row of the list", update=_redraw, options={"SKIP_SAVE"}
    )
    show_findings: BoolProperty(
        name="Show Findings",
        description="Draw a numbered disc at the place of every finding",
        default=True,
        update=_redraw,
    )
    finding: IntProperty(
        name="Finding", description="Finding that is open in the list, by its number", default=-1, options={"SKIP_SAVE"}
    )
    show_sheets: BoolProperty(
        name="Show Sheets",
        description="Draw the sheets of the last check flat on the ground, to the right of the model",
        default=True,
        update=_redraw,
    )
    sheet_part: StringProperty(
        name="Part", description="Part that was clicked on its sheet", update=_redraw, options={"SKIP_SAVE"}
    )
    play: PointerProperty(type=StowfoldPlayView)
    cut_folder: StringProperty(name="Last Folder", subtype="DIR_PATH")


CLASSES = (
    StowfoldJoiner,
    StowfoldScene,
    StowfoldObject,
    StowfoldView,
)


def attach() -> None:
    """Hang the groups on the host's types."""
    bpy.types.Scene.stowfold = PointerProperty(type=StowfoldScene)
    bpy.types.Material.stowfold = PointerProperty(type=StowfoldFinish)
    bpy.types.Object.stowfold = PointerProperty(type=StowfoldObject)
    bpy.types.WindowManager.stowfold = PointerProperty(type=StowfoldView)


def detach() -> None:
    """Take them off again, users first."""
    del bpy.types.WindowManager.stowfold
    del bpy.types.Object.stowfold
    del bpy.types.Material.stowfold
    del bpy.types.Scene.stowfold
