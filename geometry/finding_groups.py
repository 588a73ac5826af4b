"""Groups of findings: whether something will not cut, will not fit or plays badly, and its title of a few words.

The sentence of a finding says all; the title, with the place beside it, is the line that a maker reads first.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum

__all__ = ["GROUPS", "Group", "group_of", "title_of"]


class Group(StrEnum):
    """What a finding threatens: its value is the heading of the group."""

    CUT = "Will not cut"
    FIT = "Will not fit"
    PLAY = "Plays badly"


#: Titles by group and code. At most 46 letters: with the place they fill two lines of the sidebar as it opens.
_TITLES: Mapping[Group, Mapping[str, str]] = {
    Group.CUT: {
        "below-ground": "Reaches below the ground",
        "board-warp": "Long board may warp",
        "bridge-over-stressed": "Bridges between slits may break",
        "break-would-help": "A break would help",
        "case-in-pieces": "Case is cut in pieces",
        "case-without-hand-holes": "Case without hand holes",
        "closed-body": "Walls and roof are one body",
        "corner-radius-wide": "Bend is rounder than asked for",
        "corners-moved": "Corners moved so that faces are flat",
        "duplicate-face": "Two faces in one place",
        "edges-apart": "Edges nearly meet",
        "edges-stitched": "Edges were joined",
        "drawing-not-clear": "Drawing is not clear",
        "drawing-off-walls": "Drawing lies on no wall",
        "trim-without-room": "Trim finds no room",
        "inside-left-out": "Room side is not engraved",
        "floor-tiles": "Floor of two boards",
        "finish-too-fine": "Finish burns too much",
        "flex-loop-without-break": "Corners bend all round, nowhere parted",
        "grain-across-links": "Grain runs across the slits",
        "grain-across-tested": "Tested with slits across the grain",
        "grain-not-kept": "Grain runs the other way",
        "hinge-wish-not-met": "Your hinge sizes break a limit",
        "hole-at-gable": "Small hole beside a gable's bend",
        "hole-at-peak": "Small hole where bends meet",
        "hole-outside-part": "Hole leaves its part",
        "kerf-uneven": "Kerf differs between x and y",
        "label-on-part": "Label touches a part",
        "lattice-too-short": "Too short to bend",
        "line-drawn-twice": "Two lines on each other",
        "link-over-stressed": "Links twist too far",
        "mark-without-bend": "Mark does nothing",
        "no-break-found": "No break makes it fit a sheet",
        "non-planar-facet": "Face is not flat",
        "nothing-marked": "Nothing is marked",
        "open-or-crossing-solid": "Faces cross or overlap",
        "opening-in-lattice": "Opening in a bend or joiner",
        "opening-near-edge": "Thin board beside an opening",
        "opening-off-wall": "Opening stands in no wall",
        "opening-over-break": "Opening across a break",
        "opening-within-kerf": "Opening is a single line",
        "openings-cross": "Two openings overlap",
        "outline-crosses-itself": "Outline crosses itself",
        "outside-margin": "Line in the sheet's margin",
        "panel-falls-apart": "Bends cut the wall in two",
        "part-longer-than-sheet": "Part fits no sheet",
        "part-on-other-laser": "Cut on another laser",
        "part-too-small": "Part too small to survive",
        "parts-overlap": "Parts overlap on the sheet",
        "pin-without-part": "Pinned part is gone",
        "readings-few": "Too few readings",
        "roof-in-halves": "Roof is cut in halves",
        "slope-cut-at-neck": "Slope cut in two at a valley",
        "self-overlap": "Overlaps itself in the flat",
        "sheet-larger-than-bed": "Cut the sheet down to the bed",
        "slit-contact": "Slits close before the bend is done",
        "slit-wider-than-designed": "Beam makes slits too wide",
        "slit-within-kerf": "Slit shorter than the beam",
        "slits-closed-first": "Slits closed before it broke",
        "spacing-not-kept": "Parts too near each other",
        "too-few-holds": "Too few holds",
        "unclear-board-side": "Inside and outside are unclear",
        "upside-down": "Roof lies below the walls",
        "upstand-tip-left-out": "Small tip is left out",
        "vanishing-panel": "Too short between bends",
        "walls-of-two-faces": "Walls have two faces",
        "zero-area-face": "Face without area",
    },
    Group.FIT: {
        "assembly-blocked": "Cannot be put together",
        "bad-break-line": "Break that no joiner takes",
        "bend-too-sharp": "Bends too sharply",
        "boards-cross": "Boards cross when put up",
        "case-bottom-soft": "Bottom of the case sags",
        "closure-unpaired": "Nothing holds this edge",
        "round-wall-too-tight": "Round wall too tight to bend",
        "glued-once": "Glued once, folds no more",
        "joiner-narrow": "Narrow joiner",
        "joint-fit": "Joint is tight in real boards",
        "leaf-in-the-way": "Leaf meets a board",
        "leaf-without-room": "No room for the leaf's hinge",
        "loop-tolerance": "Ring of walls may not close",
        "loose-corner": "Walls only touch here",
        "loose-pieces": "Nothing holds these pieces",
        "magnets-where-children-play": "Magnets: keep from children",
        "no-floor": "Walls get no floor",
        "notched-board": "A board is notched",
        "proof-fails": "Parts do not fold back",
        "squares-askew": "Squares lie askew to the walls",
        "stop-shallow": "Roof is held by little",
        "tab-without-slot": "Tab without a slot",
        "upstand-without-tabs": "Glued on, without tabs",
    },
    Group.PLAY: {
        "building-off-table": "Building reaches off the table",
        "cheek-in-square": "Joiner pushes a base out",
        "door-narrower-than-base": "No base fits through",
        "eye-below-table": "Player cannot see the table",
        "eye-in-blocker": "Eye lies in something",
        "furniture-not-closed": "Light passes the furniture",
        "furniture-outside": "Furniture outside the room",
        "furniture-overlaps": "Furniture overlaps",
        "hand-does-not-fit": "Hand does not fit",
        "miniature-blocked": "Miniature runs into something",
        "miniature-outside": "Miniature outside the room",
        "miniatures-overlap": "Two miniatures in one place",
        "play-not-checked": "Play could not be checked",
        "seat-faces-away": "Seat faces away",
        "seat-off-edge": "Seat is not at the edge",
        "seats-crowded": "Seats are crowded",
        "square-blocked-by-bend": "Bend pushes a base out",
        "square-never-seen": "Squares hardly seen",
        "square-out-of-reach": "Squares out of reach",
        "table-too-small": "Table is too small",
        "wall-in-square": "Board pushes a base out",
    },
}

#: The group of every code.
GROUPS: Mapping[str, Group] = {code: group for group, titles in _TITLES.items() for code in titles}


def group_of(code: str) -> Group:
    """Return the group of a finding's code; one that is not known here concerns the fit until somebody looks.

    >>> group_of('part-longer-than-sheet').value
    'Will not cut'
    """
    return GROUPS.get(code, Group.FIT)


def title_of(code: str) -> str:
    """Return the title of a finding's code, for one that is not known here its own words."""
    return _TITLES[group_of(code)].get(code, code.replace("-", " ").capitalize())
