"""Parts cut alike share a name; a mirrored part, other holes or other marks make another part."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely.affinity
from parts_by_hand import make_part
from shapely.geometry import Point, Polygon
from stowfold.geometry.sheet.alike import are_alike, counted_names, name_alike

SHAPE = Polygon([(0, 0), (20, 0), (20, 5), (8, 5), (8, 12), (0, 12)])


def test_a_turned_part_is_the_same_and_a_mirrored_one_is_not():
    one = make_part("A-fin", SHAPE)
    two = make_part("B-fin", shapely.affinity.rotate(SHAPE, 37.0))
    three = make_part("C-fin", shapely.affinity.scale(SHAPE, -1.0, 1.0))
    assert are_alike(one, two) and not are_alike(one, three)
    named = name_alike([one, two, three])
    assert [part.name for part in named] == ["fin A", "fin A", "C-fin"]
    assert {name: len(alike) for name, alike in counted_names(named).items()} == {"fin A": 2, "C-fin": 1}


def test_holes_and_marks_tell_parts_apart():
    one = make_part("A-fin", SHAPE)
    holed = make_part("B-fin", SHAPE.difference(Point(4, 4).buffer(1.0)))
    marked = replace(make_part("C-fin", SHAPE), score=(np.array([[2.0, 2.0], [6.0, 2.0]]),))
    assert not are_alike(one, holed) and not are_alike(one, marked) and not are_alike(holed, marked)
    assert are_alike(marked, replace(marked, id="D-fin"))


def test_all_of_a_sort_bear_its_plain_word_and_plain_ids_go_first():
    parts = [make_part(name, SHAPE) for name in ("T1-knee", "T2-knee")] + [
        make_part(n, Point(0, 0).buffer(9)) for n in "SR"
    ]
    assert [part.name for part in name_alike(parts)] == ["knee", "knee", "S", "S"]
    assert [part.name for part in name_alike(parts[1:3])] == ["T2-knee", "S"]
