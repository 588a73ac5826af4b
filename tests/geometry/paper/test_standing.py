"""Standing drawings: what lies in front is painted last, and nothing is bent out of shape."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest
import shapely
from shapely.geometry import Polygon
from stowfold.geometry.paper.pictures import draw_part
from stowfold.geometry.paper.standing import Arrow, draw_standing, extent
from stowfold.geometry.part import Dressing, PartKind, Way, plain_panel
from stowfold.geometry.pose import Pose
from toll_house_corner import make_piece

AZIMUTH, HEIGHT = 28.0, 30.0


def view() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Right, up and toward the eye, from the definition of azimuth and height."""
    a, h = np.radians([AZIMUTH, HEIGHT])
    eye = np.array([np.cos(h) * np.sin(a), -np.cos(h) * np.cos(a), np.sin(h)])
    right = np.array([np.cos(a), np.sin(a), 0.0])
    return right, np.cross(eye, right), eye


def drawn(svg: str) -> list[tuple[str, str, Polygon]]:
    """Every painted face in order: fill, stroke, shape with its holes."""
    faces = []
    for path in ET.fromstring(svg).iter("path"):
        if path.get("fill-rule") != "evenodd":
            continue
        rings = [
            np.array([[float(v) for v in point.split()] for point in ring.split("L")])
            for ring in re.findall(r"M([^Z]+)Z", path.get("d"))
        ]
        faces.append((path.get("fill"), path.get("stroke"), Polygon(rings[0], rings[1:])))
    return faces


def first_hits(part, starts: np.ndarray, direction: np.ndarray) -> np.ndarray:
    """How far each ray runs until it enters the part's panels: slab of the board, then shapely across it."""
    low, high = sorted((0.0, part.board_side * part.thickness))
    distance = np.full(len(starts), np.inf)
    for panel in part.panels:
        local, ahead = panel.stands.back(starts), direction @ panel.stands.turn
        enters, leaves = np.sort([(low - local[:, 2]) / ahead[2], (high - local[:, 2]) / ahead[2]], axis=0)
        ends = np.stack([local + enters[:, None] * ahead, local + leaves[:, None] * ahead], axis=1)[:, :, :2]
        ways = shapely.linestrings(ends)
        inside = shapely.intersection(ways, Polygon(panel.ring, panel.holes))
        gap = shapely.distance(shapely.points(ends[:, 0]), inside)  # nan where the ray passes by
        level = float(np.linalg.norm(ahead[:2]))
        distance = np.fmin(distance, enters + gap / level)
    return distance


@pytest.mark.parametrize("one", ["W1", "W2", "J1-inner", "J1-outer", "F1"])
def test_every_part_shows_where_a_ray_from_the_eye_meets_it_first(outcome, one: str) -> None:
    # Reference: rays cut against each board by its own slab and shapely's intersection.
    right, up, eye = view()
    svg = draw_standing(outcome.parts, accent=[one], azimuth_deg=AZIMUTH, height_deg=HEIGHT)
    faces = drawn(svg)
    parts = sorted(outcome.parts, key=lambda part: part.id)
    x0, y0, x1, y1 = shapely.union_all([shape for *_, shape in faces]).bounds
    spots = np.random.default_rng(7).uniform([x0, y0], [x1, y1], (400, 2))
    starts = spots[:, :1] * right - spots[:, 1:] * up + 1000.0 * eye
    distance = np.array([first_hits(part, starts, -eye) for part in parts])
    shapes = np.array([shape for *_, shape in faces])[:, None]
    covers = shapely.contains(shapes, shapely.points(spots))
    edges = shapely.distance(shapely.boundary(shapes), shapely.points(spots)) < 0.1
    compared = 0
    for k, spot in enumerate(spots):
        top = [face for face, over in zip(faces, covers[:, k], strict=True) if over]
        # The lattice is no prism of a panel; its strips have seams of their own.
        if edges[:, k].any() or (top and top[-1][1] != "#3a3a38") or not np.isfinite(distance[:, k]).any():
            continue
        first = parts[int(np.argmin(distance[:, k]))].id
        levels = sorted(np.sort(distance[:, k])[:2])
        if levels[1] - levels[0] < 0.1:
            continue
        assert top, spot
        red, _, blue = (int(top[-1][0][i : i + 2], 16) for i in (1, 3, 5))
        # Resting parts are nearly grey: their red and blue differ by less than six hundredths.
        assert (abs(red - blue) > 0.06 * 255 or is_green(top[-1][0])) == (first == one), (spot, first, top[-1])
        compared += 1
    assert compared > 100


def is_green(fill: str) -> bool:
    red, green, blue = (int(fill[i : i + 2], 16) for i in (1, 3, 5))
    return green > red + 3 and green > blue + 3


def test_lengths_keep_the_ratios_of_a_parallel_projection() -> None:
    from stowfold.geometry.part import Panel

    ring = np.array([[0.0, 0.0], [40.0, 0.0], [40.0, 20.0], [0.0, 20.0]])
    stands = Pose(np.array([[1.0, 0, 0, 0], [0, 0, -1, 0], [0, 1, 0, 0]]))
    panel = Panel(0, (), ring, (), np.zeros((0, 2)), np.zeros((0, 3)), stands)
    faces = drawn(
        draw_standing([make_piece("W1", PartKind.WALL, Polygon(ring), (panel,))], azimuth_deg=0.0, height_deg=30.0)
    )
    # Seen level from the front and 30 degrees from above: widths true, heights times cos 30, depths times sin 30.
    front = max(faces, key=lambda face: face[2].area)[2]
    x0, y0, x1, y1 = front.bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((40.0, 20.0 * np.cos(np.pi / 6)), abs=0.02)
    top = min(faces, key=lambda face: face[2].area)[2].bounds
    assert top[3] - top[1] == pytest.approx(3.0 * 0.5, abs=0.02)
    assert len(faces) == 2


def test_a_bend_runs_from_panel_to_panel_round_its_arc(outcome) -> None:
    wall = [part for part in outcome.parts if part.id == "W1"]
    strips = [
        shape
        for _, stroke, shape in drawn(draw_standing(wall, azimuth_deg=0.0, height_deg=89.9))
        if stroke != "#3a3a38"
    ]
    # From above, the strips' ends together are a quarter of a ring from the inside radius to a board further out.
    inner = outcome.parts[0].lattices[0].lattice.inside_radius
    ring = np.pi / 4 * ((inner + 3.0) ** 2 - inner**2)
    ends = shapely.union_all(strips)
    assert ends.area == pytest.approx(ring, rel=0.03)


def test_moved_parts_arrows_and_tabs_are_in_the_picture(outcome) -> None:
    walls = {part.id: (0.0, 0.0, 40.0) for part in outcome.parts if part.kind is not PartKind.FLOOR}
    arrows = [Arrow((0.0, -30.0, 90.0), (0.0, 0.0, -30.0))]
    plain = draw_standing(outcome.parts, shifts=walls)
    full = draw_standing(outcome.parts, shifts=walls, tabs=outcome.tabs, arrows=arrows, title='<"&')
    assert full.count("<path") > plain.count("<path")
    assert full.count('class="hand"') == 1
    assert "&lt;&quot;&amp;" in full
    x0, y0, width, height = (float(v) for v in ET.fromstring(full).get("viewBox").split())
    for *_, shape in drawn(full):
        assert x0 <= shape.bounds[0] and shape.bounds[2] <= x0 + width
        assert y0 <= shape.bounds[1] and shape.bounds[3] <= y0 + height


def test_nothing_standing_is_an_empty_picture() -> None:
    coupon = make_piece("C1", PartKind.COUPON, shapely.box(0, 0, 50, 20), ())
    assert extent([coupon]) is None
    assert drawn(draw_standing([coupon])) == []
    assert drawn(draw_standing([])) == []


def test_a_drawing_is_the_same_every_time(outcome) -> None:
    assert draw_standing(outcome.parts) == draw_standing(outcome.parts[::-1])


@pytest.mark.parametrize("way", [Way.ENGRAVE, Way.SCORE])
def test_lines_of_finishes_are_drawn_where_they_stand_and_on_the_part(way: Way) -> None:
    line = np.array([[5.0, 5.0], [25.0, 15.0]])
    wall = plain_panel(shapely.box(0, 0, 40, 20), Pose.of((1.0, 0, 0), (0, 0, 1.0), (0, -1.0, 0), (100.0, 50.0, 0.0)))
    dressing = Dressing("brick", way, line, np.array([0, 2]))
    part = make_piece("W1", PartKind.WALL, shapely.box(0, 0, 40, 20), (wall,), dressings=(dressing,), thickness=3.0)
    right, up, _ = view()
    # x along the wall, y is its height, and the outer face lies 3 mm before the plane of the model
    stands = np.array([[105.0, 47.0, 5.0], [125.0, 47.0, 15.0]])
    ends = " L".join(f"{x:.2f} {y:.2f}" for x, y in stands @ np.column_stack([right, -up])).replace(" L", "L")
    assert f'd="M{ends}"' in draw_standing([part], finishes=True)
    assert f"M{ends}" not in draw_standing([part])
    style = {Way.ENGRAVE: "engrave", Way.SCORE: "score"}[way]
    assert f'<path class="{style} finish" d="M5.00 -5.00L25.00 -15.00"/>' in draw_part(part, scale=1.0)
