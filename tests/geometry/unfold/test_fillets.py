"""Fillets at the ends of lattices, against the closed form of their area and shapely's distances."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from sample_runs import outcome_of
from shapely.geometry import MultiLineString, Point, Polygon
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.part import PartKind
from stowfold.geometry.unfold.ears import raise_ears
from stowfold.geometry.unfold.fillets import ease_corners
from stowfold.geometry.unfold.gable_corners import check_gable_corners
from stowfold.geometry.unfold.section import unfold

BIRCH = find_stock("birch-plywood-3", read_stocks())


@pytest.fixture(scope="module")
def store():
    return outcome_of("grain_store")


@pytest.fixture(scope="module")
def sharp(store):
    return {part.id: part for part in raise_ears(unfold(store.facets, store.settings.as_cut).parts)}


def inside_corners(part):
    """Turns, radians, of the inside corners of an outline within 0.01 mm of a lattice, by cross products."""
    ring = shapely.get_coordinates(shapely.geometry.polygon.orient(part.outline).exterior)[:-1]
    zones = shapely.union_all([Polygon(placed.zone) for placed in part.lattices])
    turns = []
    for a, b, c in zip(np.roll(ring, 1, axis=0), ring, np.roll(ring, -1, axis=0), strict=True):
        (ux, uy), (vx, vy) = b - a, c - b
        turn = math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)
        if turn < -math.radians(20.0) and zones.distance(Point(b)) < 0.01:
            turns.append(-turn)
    return turns


def test_gables_run_on_from_their_bends_in_a_curve(store, sharp):
    """Each fillet adds r^2 (tan(turn / 2) - turn / 2), less what its straight pieces leave of the arc.

    Under an ear it takes half of the 1.95 mm between lattice and the ear's own fillet.
    """
    walls = [part for part in store.parts if part.kind is PartKind.WALL]
    assert sum(len(inside_corners(sharp[wall.id])) for wall in walls) == 4
    for wall in walls:
        assert inside_corners(wall) == []
        before = sharp[wall.id].outline
        assert shapely.difference(before, wall.outline).area < 1e-9
        turns = inside_corners(sharp[wall.id])
        area = sum(0.975**2 * (math.tan(turn / 2) - turn / 2) for turn in turns)
        assert wall.outline.area - before.area == pytest.approx(area, rel=0.05)


def test_slits_stay_open_at_the_edge(store):
    """Of every slit that runs off the board the end lies on the outline still, half its opening to either side."""
    for part in (part for part in store.parts if part.kind is PartKind.WALL):
        edge = part.outline.exterior
        for placed in part.lattices:
            opened = placed.slits.open_start | placed.slits.open_end
            ends = placed.slit_lines[opened]
            half = placed.lattice.opening / 2 * placed.across
            for line in ends:
                reach = [edge.distance(Point(end + side * half)) for end in line for side in (-1, 1)]
                assert sorted(reach)[:2] == pytest.approx([0.0, 0.0], abs=0.01)


def test_parts_without_lattices_and_corners_away_from_them_stay(store, sharp):
    floor = next(part for part in store.parts if part.kind is PartKind.FLOOR)
    assert ease_corners([floor]) == (floor,)
    tabs = [tab for tab in store.tabs if tab.part in sharp]
    assert tabs
    for wall in (part for part in store.parts if part.kind is PartKind.WALL):
        added = wall.outline.difference(sharp[wall.id].outline)
        zones = shapely.union_all([Polygon(placed.zone) for placed in wall.lattices])
        assert all(piece.distance(zones) < 0.01 for piece in shapely.get_parts(added) if piece.area > 1e-6)
        lines = MultiLineString([line for placed in wall.lattices for line in placed.slit_lines])
        assert lines.length == pytest.approx(
            sum(float((placed.slits.end - placed.slits.start).sum()) for placed in wall.lattices)
        )


def test_holes_beside_gables_are_told_as_large_as_they_are(store):
    """The roof rises 8 in 12 over the inside corner's pull-back: r tan 45 for the width, two thirds of it the height.

    Where the bend ends, the wall's top lies lower by 2 mm more, so that the roof touches its outer edge.
    """
    plain = unfold(store.facets, store.settings.as_cut).parts
    (told,) = check_gable_corners(plain)
    radius = next(part for part in store.parts if part.lattices).lattices[0].lattice.inside_radius
    # the eaves' own drop: 3 mm of board times 8 / 12
    assert f"At 4 corners a hole of {radius:.0f} x {radius * 8 / 12 + 3 * 8 / 12:.0f} mm" in told.message
    assert not [finding for finding in outcome_of("toll_house").findings if finding.code == told.code]
