"""The boards of a joiner come together in one way: their holes lie over one another as they stand, and only then."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon, box
from stowfold.geometry.beam.kerf import draw_part
from stowfold.geometry.beam.lettering import place_label
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.joints.joiner import make_joiners
from stowfold.geometry.joints.registration import peg_places
from stowfold.geometry.part import PartKind
from stowfold.geometry.settings import BoardFace, BuildSettings
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, make_solid
from stowfold.geometry.unfold.section import unfold

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = BuildSettings(BIRCH, BIRCH, BIRCH, BIRCH)


def joiner_boards(settings: BuildSettings = SETTINGS, *, height: float = 62.0, apex: float = 0.0) -> dict[str, list]:
    """Core, outer and inner cheek per joiner of four walls that part in the middle of the long and the short ones.

    apex: how much higher the short walls are in the middle, where they part, mm.
    """
    low = [(0, 0), (115, 0), (230, 0), (230, 76), (230, 152), (115, 152), (0, 152), (0, 76)]
    points = [(x, y, 0.0) for x, y in low] + [(x, y, height) for x, y in low]
    for k in (3, 7):
        points[k + 8] = (*low[k], height + apex)
    faces = [[i, (i + 1) % 8, (i + 1) % 8 + 8, i + 8] for i in range(8)]
    roles = {(i, i + 8): Role.FLEX if i % 2 == 0 else Role.BREAK for i in range(8)}
    facets = find_facets(make_solid(np.array(points, float), faces, roles=roles), wall_face=settings.face.value)
    made = make_joiners(facets, unfold(facets, settings), settings)
    by_id = {part.id: part for part in made.parts}
    return {joiner.id: [by_id[name] for name in (joiner.core, *joiner.cheeks)] for joiner in made.joiners}


def stood(part, points) -> np.ndarray:
    return part.panels[0].stands.apply(points)


def centres(part) -> np.ndarray:
    return np.array([np.asarray(ring.coords)[:-1].mean(axis=0) for ring in part.outline.interiors])


@pytest.mark.parametrize(("face", "apex"), list(product(BoardFace, (0.0, 30.0))))
def test_holes_lie_in_line_through_all_three_boards(face: BoardFace, apex: float) -> None:
    joiners = joiner_boards(replace(SETTINGS, face=face), apex=apex)
    assert len(joiners) == 4
    for boards in joiners.values():
        normal = boards[1].panels[0].stands.z
        lines = []
        for part in boards:
            assert len(part.outline.interiors) == 2
            points = stood(part, centres(part))
            points = points - np.outer(points @ normal, normal)
            lines.append(points[np.argsort(points[:, 2])])
        np.testing.assert_allclose(lines[1], lines[0], atol=1e-9)
        np.testing.assert_allclose(lines[2], lines[0], atol=1e-9)


def test_a_board_turned_over_or_upside_down_does_not_go_on() -> None:
    core, outer, _ = next(iter(joiner_boards().values()))
    middle = np.array([(centres(outer)[:, 0].mean()), outer.size[1] / 2])
    right = centres(outer) - middle
    foot = centres(core) - [core.size[0] / 2, core.size[1] - outer.size[1] / 2]
    np.testing.assert_allclose(sorted(map(tuple, foot)), sorted(map(tuple, right)), atol=1e-9)
    for flip in ((-1, 1), (1, -1), (-1, -1)):
        turned = right * flip
        apart = np.linalg.norm(turned[:, None] - right[None], axis=2)
        assert apart.min(axis=1).max() > SETTINGS.joiner.peg / 2  # a peg does not get past


def test_what_is_cut_has_the_width_of_the_pin() -> None:
    """What is left open after the beam has passed, by its area: a circle of 2.4 mm."""
    for part in next(iter(joiner_boards().values())):
        drawn = draw_part(part, BIRCH.kerf)
        assert drawn.inner.closed.all() and len(drawn.inner.closed) == 2
        for line in drawn.inner.polylines():
            opening = Polygon(line).buffer(BIRCH.kerf / 2, join_style="mitre")
            assert opening.area == pytest.approx(math.pi * 1.2**2, rel=0.01)


def test_the_arrow_points_up_where_the_outer_cheek_hides_it_and_the_label_keeps_clear() -> None:
    for core, outer, inner in joiner_boards(height=70.0).values():
        assert outer.engrave == inner.engrave == ()
        shaft, barbs = core.engrave
        foot, tip = stood(core, shaft)
        assert tip[2] - foot[2] == pytest.approx(np.linalg.norm(tip - foot)) and tip[2] - foot[2] > 3.0
        assert barbs[1] == pytest.approx(shaft[1]) and barbs[[0, 2], 1].max() < shaft[1][1]
        look = core.panels[0].stands.z @ (outer.panels[0].stands.origin - core.panels[0].stands.origin)
        assert look > 0.0  # engraved toward the outer cheek
        assert core.outline.contains(shapely.MultiLineString(list(core.engrave)))
        label = place_label(core)
        assert label.hidden
        strokes = shapely.MultiLineString(list(label.strokes))
        assert core.outline.contains(strokes)
        assert strokes.distance(shapely.MultiLineString(list(core.engrave))) > 1.0


def test_low_or_narrow_joiners_do_without() -> None:
    wide = box(-15, 0, 15, 62)
    assert len(peg_places(wide, 0.0, 14.0, 2.0)) == 2
    assert peg_places(box(-15, 0, 15, 30), 0.0, 14.0, 2.0) == ()
    assert peg_places(wide, 0.0, 6.0, 2.0) == ()
    assert peg_places(wide, 0.0, 14.0, 0.0) == ()
    settings = replace(SETTINGS, joiner=replace(SETTINGS.joiner, peg=0.0))
    parts = [part for boards in joiner_boards(settings).values() for part in boards]
    assert all(not part.outline.interiors for part in parts)
    assert all(part.engrave for part in parts if part.kind is PartKind.CORE)
