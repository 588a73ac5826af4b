"""Contrast follows the published formula, and lines are moved until they are read."""

from __future__ import annotations

import pytest
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.paint.contrast import LEAST_CONTRAST, contrast, hex_of, linear_of, luminance, readable
from stowfold.geometry.paint.paint import CHAR, Paint, Scheme
from stowfold.geometry.part import PaintRole

# Ratios as published: black on white 21 (definition of contrast ratio in WCAG 2.1); greys on white at the limits of 3
# and 4.5, from the guidelines' own understanding documents (#767676 passes 4.5, #777777 does not; #949494 passes 3,
# #959595 does not).
PASSES = [("#767676", 4.5), ("#949494", 3.0)]
FAILS = [("#777777", 4.5), ("#959595", 3.0)]


def test_contrast_is_that_of_the_guidelines() -> None:
    assert contrast("#ffffff", "#000000") == pytest.approx(21.0) and contrast("#123456", "#123456") == 1.0
    assert all(contrast(grey, "#ffffff") >= least for grey, least in PASSES)
    assert all(contrast(grey, "#ffffff") < least for grey, least in FAILS)
    # the primaries' luminances are the coefficients of ITU-R BT.709
    assert [round(luminance(primary), 4) for primary in ("#ff0000", "#00ff00", "#0000ff")] == [0.2126, 0.7152, 0.0722]


def test_colours_of_screens_become_light_and_come_back() -> None:
    # IEC 61966-2-1: middle grey 188 is half of the light, and its lower end is a straight line
    assert linear_of("#bcbcbc")[0] == pytest.approx(0.5, abs=0.004)
    assert linear_of("#0a0a0a")[0] == pytest.approx(10 / 255 / 12.92)
    for colour in ("#000000", "#0a0b0c", "#7d5c43", "#ffffff"):
        assert hex_of(linear_of(colour)) == colour
    assert hex_of((-1.0, 2.0, 0.0)) == "#00ff00"


@pytest.mark.parametrize("ground", ["#000000", "#1d1510", "#3a302a", "#808080", "#a0503c", "#ece2cc", "#ffffff"])
@pytest.mark.parametrize("wished", [CHAR, "#808080", "#d8d0c0"])
def test_lines_are_read_on_every_ground(ground: str, wished: str) -> None:
    shown = readable(wished, ground)
    assert contrast(shown, ground) >= LEAST_CONTRAST
    # a line that is read already stays as it is wished, others move no farther than they must
    if contrast(wished, ground) >= LEAST_CONTRAST:
        assert shown == wished
    else:
        assert contrast(shown, ground) < LEAST_CONTRAST * 1.06


def test_colours_fall_back_to_those_of_the_finish_and_the_board() -> None:
    paint = Paint({"brick": Scheme("#a0503c", around="#c8b090")}, bare="#e6d2ac", trim="#445566")
    assert paint.colour_of("brick", PaintRole.UNITS) == "#a0503c"
    assert paint.colour_of("brick", PaintRole.AROUND) == "#c8b090"
    assert paint.colour_of("", PaintRole.MAIN) == "#e6d2ac" and paint.colour_of("", PaintRole.TRIM) == "#445566"
    assert paint.colour_of("", PaintRole.LEAF) == ""
    with pytest.raises(BadSettingError, match="write it like #ece2cc"):
        Scheme("red")
