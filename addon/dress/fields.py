"""What a material says about its finish: pattern, sizes, chance, and how it is drawn."""

from __future__ import annotations

from bpy.props import BoolProperty, EnumProperty, FloatProperty, FloatVectorProperty, IntProperty
from bpy.types import PropertyGroup

from ..geometry.finish.finish import Pattern
from ..host.lengths import millimetres
from ..host.views import redraw_views
from ..jobs import results

__all__ = ["PATTERNS", "StowfoldFinish", "StowfoldPaint"]

#: Label and tooltip of every pattern.
_WORDS = {
    Pattern.UPRIGHT_BOARDS: ("Upright Boards", "Boards from the ground to the eaves"),
    Pattern.LEVEL_BOARDS: ("Level Boards", "Boards along the wall, butts out of line"),
    Pattern.LAPPED_BOARDS: ("Lapped Boards", "Boards along the wall, each over the one below"),
    Pattern.STRETCHER_BOND: ("Brick, Stretcher", "Stretcher bond: bricks along the wall, lapped by half"),
    Pattern.ENGLISH_BOND: ("Brick, English", "English bond: a course of stretchers, a course of headers"),
    Pattern.FLEMISH_BOND: ("Brick, Flemish", "Flemish bond: stretcher and header in turn in every course"),
    Pattern.COURSED_STONE: ("Coursed Stone", "Squared stones in courses of several heights"),
    Pattern.RUBBLE: ("Rubble", "Stones of many sizes, no four in one point"),
    Pattern.TIMBER_FRAME: ("Timber Frame", "Posts, rails, studs and braces round openings and under the eaves"),
    Pattern.SLATES: ("Slates", "Courses parallel to the eaves, joints over the slates below"),
    Pattern.SHINGLES: ("Shingles", "Shingles of many widths, joints clear of two courses below"),
    Pattern.PANTILES: ("Pantiles", "Rolls up the slope, fronts as arcs"),
    Pattern.THATCH: ("Thatch", "Strokes up the slope"),
    Pattern.FLAGSTONES: ("Flagstones", "Large flags in courses"),
    Pattern.CHEQUER: ("Chequer", "Square cells"),
    Pattern.BASKET: ("Basket Weave", "Squares of blocks, turned in turn"),
    Pattern.HERRINGBONE: ("Herringbone", "Blocks at right angles, end against side"),
}

#: Patterns as the host wants the entries of a menu; numbers are saved in files and never change.
PATTERNS = tuple((pattern.name, *_WORDS[pattern], number) for number, pattern in enumerate(Pattern, start=1))


def _changed(_group: PropertyGroup, _context: object) -> None:
    results.suspect_all()


def _redraw(_group: PropertyGroup, _context: object) -> None:
    redraw_views()


def _shown_colour(group: PropertyGroup) -> tuple[float, float, float]:
    red, green, blue, _ = group.id_data.diffuse_color
    return red, green, blue


def _show_colour(group: PropertyGroup, colour: tuple[float, float, float]) -> None:
    group.id_data.diffuse_color = (*colour, 1.0)
    _changed(group, None)


def _colour(name: str, description: str, value: tuple[float, float, float]) -> object:
    """Return a colour of the maker's choice, as the host's own colours are."""
    return FloatVectorProperty(
        name=name, description=description, subtype="COLOR", size=3, min=0.0, max=1.0, default=value, update=_changed
    )


def _use(name: str, description: str) -> object:
    return BoolProperty(name=name, description=description, update=_changed)


class StowfoldFinish(PropertyGroup):
    """How a material is drawn on the boards that show it."""

    colour: FloatVectorProperty(
        name="Colour",
        description="Of the units of the finish; the colour that the material has in the viewport",
        subtype="COLOR",
        size=3,
        min=0.0,
        max=1.0,
        get=_shown_colour,
        set=_show_colour,
    )
    use_units: _use("Own Colour for Some Units", "Timbers, headers and dark cells have a colour of their own")
    units_colour: _colour("Some Units", "Of timbers, headers, and every other cell", (0.07, 0.03, 0.015))
    use_around: _use("Own Colour Round Openings", "Frames, soldiers and dressed stones have a colour of their own")
    around_colour: _colour("Surrounds", "Of frames, soldiers and dressed stones", (0.45, 0.36, 0.24))
    use_lines: _use("Wash in Lines", "A thin wash stays in the engraved lines, as mortar does")
    lines_colour: _colour("Lines", "Of the wash in the lines", (0.6, 0.55, 0.45))

    pattern: EnumProperty(
        name="Pattern",
        description="What the laser draws on faces with this material",
        items=(("NONE", "None", "Paint alone: nothing is drawn", 0), *PATTERNS),
        update=_changed,
    )
    scale: EnumProperty(
        name="Scale",
        description="How large bricks, boards and stones are",
        items=(
            ("PLAYABLE", "Playable", "As large as a beam draws well and eyes read on the table", 0),
            ("TRUE", "True", "As large as the miniatures, 1:60; coarser where the beam needs it", 1),
        ),
        update=_changed,
    )
    size: FloatProperty(
        name="Size",
        description="Multiplies length and height of all units",
        default=1.0,
        min=0.25,
        max=8.0,
        soft_min=0.5,
        soft_max=3.0,
        update=_changed,
    )
    fine: BoolProperty(
        name="Keep Fine",
        description="Do not make units larger where their lines would burn so much that the face turns brown",
        update=_changed,
    )
    seed: IntProperty(
        name="Seed", description="Another number gives other stones and joints", min=0, max=9999, update=_changed
    )
    way: EnumProperty(
        name="Lines Are",
        description="Which operation of the laser makes the lines",
        items=(
            ("ENGRAVE", "Engraved", "Marked on the face", 0),
            ("SCORE", "Scored", "Cut a part of the way through: paint and stain stop there", 1),
            ("FILL", "Filled", "Engraved, and dark units hatched: timbers, headers, every other cell", 2),
        ),
        update=_changed,
    )
    hatch: millimetres(
        "Hatch Spacing",
        "Between strokes of the hatching; closer is darker and takes longer",
        0.3,
        0.05,
        5.0,
        update=_changed,
    )
    frames: BoolProperty(
        name="Frames",
        description="Give doors and windows a frame, or soldiers in brickwork",
        default=True,
        update=_changed,
    )
    edge: millimetres(
        "Clear of Edges", "What lines keep from edges, openings and slits", 1.0, 0.0, 10.0, update=_changed
    )
    over_bends: BoolProperty(
        name="Cross Bends",
        description="Draw level lines over the slits of corners; a deep line weakens the corner",
        update=_changed,
    )


class StowfoldPaint(PropertyGroup):
    """Colours of boards that are no finish, and how colours are shown; kept with the file."""

    show: BoolProperty(
        name="Show Colours",
        description="Show the boards that will stand in the colours of their finishes",
        default=True,
        update=_redraw,
    )
    use_bare: _use("Own Colour of Bare Board", "Show boards without a finish in the colour of your board")
    bare: _colour("Bare Board", "Of the board itself", (0.79, 0.64, 0.42))
    use_trim: _use("Own Colour of Trim", "Frames, sills and corner boards have a colour")
    trim: _colour("Trim", "Of frames, sills, shutters and corner boards that are glued on", (0.20, 0.11, 0.06))
    use_leaf: _use("Own Colour of Doors", "Doors and shutters that open have a colour of their own")
    leaf: _colour("Doors", "Of doors and shutters that hang in their openings", (0.05, 0.12, 0.10))
    use_tile: _use("Own Colour of Light Tiles", "Light tiles of a floor of two boards are stained")
    tile: _colour("Light Tiles", "Stain of the light tiles", (0.74, 0.63, 0.41))
    use_dark_tile: _use("Own Colour of Dark Tiles", "Dark tiles of a floor of two boards are stained")
    dark_tile: _colour("Dark Tiles", "Stain of the dark tiles", (0.25, 0.14, 0.07))
    score: BoolProperty(
        name="Score Borders",
        description="Score the lines between two colours of one face: stain creeps past engraved lines, not past a cut",
        update=_changed,
    )


CLASSES = (StowfoldFinish, StowfoldPaint)
