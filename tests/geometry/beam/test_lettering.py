"""Labels are readable, on hidden places where they fit, otherwise in the waste."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from HersheyFonts import HersheyFonts
from parts_by_hand import make_part, make_wall
from shapely.geometry import Point, box
from stowfold.geometry.beam.lettering import LABEL_GAP, letter, letter_width, place_label
from stowfold.geometry.part import LabelSpot


def test_capitals_have_the_height_asked_for_and_stand_on_the_baseline():
    points = np.concatenate(letter("H", 3.0))
    assert points[:, 1].min() == pytest.approx(0.0) and points[:, 1].max() == pytest.approx(3.0)
    assert points[:, 0].min() > 0


def test_strokes_are_those_of_the_library_and_not_mirrored():
    font = HersheyFonts()
    font.load_default_font("futural")
    theirs = list(font.strokes_for_text("R2"))
    ours = letter("R2", 21.0)  # the font's capitals are 21 units high
    assert len(ours) == len(theirs)
    for mine, other in zip(ours, theirs, strict=True):
        np.testing.assert_allclose(mine, np.array(other) * [1, -1] + [0, 9], atol=1e-9)


def test_unknown_characters_become_something_readable():
    for odd, plain in (("Ä1", "A1"), ("7½", "71?2"), ("門", "?"), ("a\tb", "a b"), ("3–4", "3-4")):
        assert letter_width(odd, 1.0) == pytest.approx(letter_width(plain, 1.0))
    assert letter("", 3.0) == ()


def test_label_lies_in_its_spot_and_reads_along_it():
    part = make_wall()
    label = place_label(part)
    assert label.hidden and label.footprint is None
    points = np.concatenate(label.strokes)
    spot = part.label_spot
    assert np.abs(points[:, 1] - spot.centre[1]).max() <= spot.length / 2
    assert np.abs(points[:, 0] - spot.centre[0]).max() <= spot.height / 2
    # Reading upward: the last letter lies above the first, and a capital's top points to the left.
    assert label.strokes[-1][:, 1].mean() > label.strokes[0][:, 1].mean()


def test_label_too_large_for_its_spot_goes_into_the_waste():
    part = make_wall(label_spot=LabelSpot((7.0, 30.0), 0.0, 3.5, 8.0))
    label = place_label(part)
    assert not label.hidden
    assert shapely.distance(label.footprint, part.outline) == pytest.approx(LABEL_GAP)
    assert label.footprint.buffer(1e-9).covers(shapely.MultiLineString(list(label.strokes)))


def test_label_never_lies_across_a_hole():
    part = make_wall(label_spot=LabelSpot((52.0, 37.0), 0.0, 20.0, 8.0))  # in the window
    assert not place_label(part).hidden


@pytest.mark.parametrize("direction", [0.0, 0.7, math.pi])
def test_direction_turns_the_text(direction):
    part = make_part("C12", Point(0, 0).buffer(40), label_spot=LabelSpot((3.0, -2.0), direction, 40, 10))
    strokes = place_label(part).strokes
    back = np.array([[math.cos(direction), -math.sin(direction)], [math.sin(direction), math.cos(direction)]])
    upright = [(s - [3.0, -2.0]) @ back for s in strokes]
    low = np.concatenate(upright).min(axis=0)
    plain = letter("C12", 4.0)
    low_plain = np.concatenate(plain).min(axis=0)
    for a, b in zip(upright, plain, strict=True):
        np.testing.assert_allclose(a - low, b - low_plain, atol=1e-9)


def test_label_in_the_waste_is_kept_free():
    part = make_part("S1", box(0, 0, 60, 10))
    label = place_label(part)
    assert label.footprint.bounds[3] == pytest.approx(-LABEL_GAP)


def test_a_part_of_kilometres_has_its_label_beside_it():
    """A needle of a torn mesh: a map of its notch would take more memory than any machine has."""
    long = box(0, 0, 2e9, 10).union(box(0, 0, 10, 60))
    label = place_label(make_part("W1", long))
    assert not label.hidden and label.footprint.bounds[3] <= 0.0
