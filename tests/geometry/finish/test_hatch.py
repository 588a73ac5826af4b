"""Hatching: strokes fill an area evenly, stay in it, and refuse what is no field. Judged by shapely."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely.geometry import Point, Polygon, box
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.finish.dark import dark_units
from stowfold.geometry.finish.draw import draw
from stowfold.geometry.finish.finish import Pattern, finish_of
from stowfold.geometry.finish.hatch import hatch, spans, within
from stowfold.geometry.finish.surface import Surface


def rings_of(area: Polygon) -> list[np.ndarray]:
    return [np.array(ring.coords)[:-1] for ring in (area.exterior, *area.interiors)]


def length(strokes: list[np.ndarray]) -> float:
    return sum(float(np.hypot(*np.diff(stroke, axis=0).T).sum()) for stroke in strokes)


@pytest.mark.parametrize("turn", [0.0, 0.7, np.pi / 2])
def test_strokes_cover_an_area_with_a_hole_and_stay_in_it(turn: float) -> None:
    area = Point(0, 0).buffer(40, 64).difference(Point(5, 3).buffer(12)).difference(box(-30, -5, -20, 8))
    strokes = hatch(rings_of(area), 0.25, turn=turn, inset=0.1)
    drawn = shapely.multilinestrings([shapely.linestrings(stroke) for stroke in strokes])
    assert area.buffer(1e-6).covers(drawn)
    # every point of the area but its rim is within half a spacing of a stroke
    assert area.buffer(-0.4).difference(drawn.buffer(0.14)).area < 1.0
    assert length(strokes) * 0.25 == pytest.approx(area.area, rel=0.01)
    # the two holes part the field, so that a few strokes to and fro do for some 300 levels
    assert len(strokes) < 50


def test_what_crosses_itself_is_filled_by_the_even_odd_rule() -> None:
    # a five-pointed star drawn in one go: its middle is bare. Areas by shapely's own noding.
    turns = np.pi / 2 + np.arange(5) * 4 * np.pi / 5
    star = 30.0 * np.column_stack([np.cos(turns), np.sin(turns)])
    noded = shapely.node(shapely.linestrings([*star, star[0]]))
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    middle = next(face for face in faces if face.contains(Point(0, 0)))
    tips = sum(face.area for face in faces) - middle.area
    strokes = hatch([star], 0.1)
    assert length(strokes) * 0.1 == pytest.approx(tips, rel=0.02)
    points = np.concatenate(strokes)
    assert not shapely.contains_xy(middle.buffer(-0.05), points).any()


def test_spans_in_common_are_those_of_the_overlap() -> None:
    one, other = box(0, 0, 10, 10), box(4, 3, 20, 8).difference(box(5, 4, 6, 5))
    numbers, begin, end = within(spans(rings_of(one), 0.1), spans(rings_of(other), 0.1))
    assert float((end - begin).sum()) * 0.1 == pytest.approx(one.intersection(other).area, rel=1e-9)
    assert (np.diff(numbers) >= 0).all()


def test_a_scribble_with_too_many_crossings_is_refused_before_memory_is_asked_for() -> None:
    y = np.tile([0.0, 60.0], 50_000)
    with pytest.raises(BadSettingError, match="cross the hatching 20"):
        hatch([np.column_stack([np.linspace(0, 100, len(y)), y])], 0.3)
    with pytest.raises(BadSettingError, match="0 mm apart"):
        hatch([np.zeros((3, 2))], 0.0)
    assert hatch([np.zeros((3, 2))], 0.3) == [] == hatch([], 0.3)


def test_dark_units_are_every_other_cell_headers_and_timbers() -> None:
    surface = Surface.of(box(0, 0, 120, 60))
    area = 120.0 * 60.0

    def share(pattern: Pattern) -> float:
        finish = finish_of(pattern)
        return float(dark_units(finish, surface, draw(finish, surface)[0]).area) / area

    # closed forms: half of a chequer but for cut cells; a header of 3 in 9 mm of a Flemish course
    assert share(Pattern.CHEQUER) == pytest.approx(0.5, abs=0.02)
    assert share(Pattern.FLEMISH_BOND) == pytest.approx(1 / 3, abs=0.03)
    assert share(Pattern.HERRINGBONE) == pytest.approx(0.5, abs=0.05)
    assert 0.15 < share(Pattern.COURSED_STONE) < 0.45
    assert 0.2 < share(Pattern.TIMBER_FRAME) < 0.6
