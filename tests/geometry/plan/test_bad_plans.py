"""Plans and roofs that nobody can build: each is refused in one short sentence that names what is wrong and a cure."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.plan.outline import PlanKind
from stowfold.geometry.plan.roof import Roof, RoofKind
from stowfold.geometry.plan.sizes import BuildingSizes, lay_out_building, read_corners
from stowfold.geometry.plan.wings import Wing

SQUARE = 25.4
HOUSE = BuildingSizes(PlanKind.RECTANGLE, 9, 6, height=60.0)
WINGED = BuildingSizes(PlanKind.T, 9, 7, bar=4, wing=3, height=90.0)
RIGHT, FLAT = math.pi / 2, 0.0


def corners(text: str) -> BuildingSizes:
    return BuildingSizes(None, corners=read_corners(text))


def roofed(kind: RoofKind, *, height: float = 60.0, **sizes: float) -> BuildingSizes:
    return replace(HOUSE, height=height, roof=Roof(kind, **sizes))


def winged(height: float, kind: RoofKind = RoofKind.GABLE, **sizes: float) -> BuildingSizes:
    return replace(WINGED, roof=Roof(RoofKind.GABLE), wings=(Wing(height, Roof(kind, **sizes)),))


#: What is asked for, and the sentence; numbers stand as #.
BAD: dict[str, tuple[BuildingSizes, str]] = {
    "outline that crosses itself": (
        corners("0,0 6,0 0,4 6,4"),
        "Walls # and # of the plan cross or touch; move their corners apart",
    ),
    "two rooms that touch at a corner": (
        corners("0,0 3,0 3,3 6,3 6,6 3,6 3,3 0,3"),
        "Walls # and # of the plan cross or touch; move their corners apart",
    ),
    "wall that runs back": (
        corners("0,0 6,0 6,4 6,2 3,4 0,4"),
        "The plan runs back on itself at (#, #) mm; remove that corner",
    ),
    "spike": (
        corners("0,0 9,0 9,6 4.6,6 4.5,12 4.4,6 0,6"),
        "The walls at (#, #) mm meet at # degrees; move that corner until they have # or more, or remove it",
    ),
    "slit": (
        corners("0,0 9,0 9,6 4.6,6 4.5,1 4.4,6 0,6"),
        "The walls at (#, #) mm meet at # degrees; move that corner until they have # or more, or remove it",
    ),
    "two corners": (corners("0,0 6,0"), "The plan has # corners; a room needs at least #"),
    "corner twice": (corners("0,0 6,0 6,0 6,4 0,4"), "Wall # of the plan has no length; remove one of its two corners"),
    "no length": (replace(HOUSE, length=0.0), "The length of the plan is #; it must be more than #"),
    "bar deeper than the plan": (
        replace(WINGED, bar=7.0),
        "The bar is # squares deep; choose between # and the plan's width of #",
    ),
    "wing wider than the plan": (
        replace(WINGED, wing=9.0),
        "A wing # squares wide leaves no T; choose less than # for a length of #",
    ),
    "no height": (replace(HOUSE, height=0.0), "The walls are # mm high; they must be higher than #"),
    "pitch of 0 degrees": (roofed(RoofKind.GABLE, pitch=FLAT), "The pitch is # degrees; choose between # and #"),
    "pitch of 90 degrees": (roofed(RoofKind.HIP, pitch=RIGHT), "The pitch is # degrees; choose between # and #"),
    "lower pitch of 90 degrees": (
        roofed(RoofKind.MANSARD, lower_pitch=RIGHT),
        "The lower pitch is # degrees; choose between # and #",
    ),
    "overhang larger than the room": (
        roofed(RoofKind.HIP, overhang=80.0),
        "The overhang is # mm; choose from above # to #, half the room's width",
    ),
    "no overhang": (
        roofed(RoofKind.HIP, overhang=0.0),
        "The overhang is # mm; choose from above # to #, half the room's width",
    ),
    "eaves in the ground": (
        roofed(RoofKind.HIP, height=10.0, overhang=20.0),
        "The eaves would hang # mm below the wall tops, to the ground of walls # mm high; "
        "choose less overhang or a lower pitch",
    ),
    "overhang that closes a court": (
        replace(BuildingSizes(PlanKind.U, 9, 7, bar=3, wing=4), roof=Roof(RoofKind.HIP, overhang=15.0)),
        "An overhang of # mm closes the court at wall # of the plan; choose less",
    ),
    "strip that closes a court": (
        BuildingSizes(PlanKind.U, 9, 7, bar=3, wing=4, strip=20.0),
        "A strip of # mm outside the squares leaves no room between two walls of the plan; choose less",
    ),
    "wing higher than its house": (
        winged(90.0),
        "The wing's roof comes # mm too near to the house, under its roof; give the wing lower walls or a lower pitch",
    ),
    "flat wing as high as the eaves": (
        winged(88.0, RoofKind.FLAT),
        "The wing's roof comes # mm too near to the house, under its roof; give the wing lower walls",
    ),
    "pitch of a wing of 90 degrees": (
        winged(40.0, pitch=RIGHT),
        "The pitch of the wing is # degrees; choose between # and #",
    ),
    "overhang larger than a wing": (
        winged(40.0, overhang=60.0),
        "The overhang of the wing is # mm; choose from above # to #, half the room's width",
    ),
    "wing below the ground": (winged(-9.0), "The walls of the wing are # mm high; choose more than #, or # to fit"),
    "house too low for a wing": (
        replace(winged(0.0), height=25.0),
        "The wing's roof leaves no walls under it; give the house # mm higher walls or the wing a lower pitch",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_what_cannot_be_built_is_said_in_one_short_sentence(name: str) -> None:
    asked, said = BAD[name]
    with pytest.raises(BadSettingError) as caught:
        lay_out_building(asked, square=SQUARE)
    sentence = str(caught.value)
    assert re.sub(r"-?\d+(\.\d+)?(e-?\d+)?", "#", sentence) == said
    assert len(sentence) <= 130 and not sentence.endswith(".")


def test_the_same_plans_with_sound_sizes_are_built() -> None:
    """So that nothing above is refused for another reason."""
    for sizes in (HOUSE, WINGED, roofed(RoofKind.HIP), roofed(RoofKind.MANSARD), winged(40.0)):
        assert lay_out_building(sizes, square=SQUARE).faces
