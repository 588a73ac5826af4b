"""Finishes carried over from a building to the same building in other sizes: walls to walls, slopes to slopes."""

from __future__ import annotations

import numpy as np
from stowfold.geometry.plan.faces_again import BARE, DressedFaces, carry_slots

WALLS = np.array([(0.0, -1.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (-1.0, 0.0, 0.0)])
SLOPES = np.array([(0.0, -0.6, 0.8), (0.0, 0.6, 0.8)])


def middles(length, width, high):
    walls = [(length / 2, 0, high), (length, width / 2, high), (length / 2, width, high), (0, width / 2, high)]
    return np.array(walls, dtype=float), np.array([(length / 2, width / 4, high), (length / 2, width * 3 / 4, high)])


def test_every_face_keeps_what_it_bore_in_other_sizes_and_another_order():
    walls, slopes = middles(100.0, 60.0, 20.0)
    before = DressedFaces(np.vstack([WALLS, SLOPES]), np.vstack([walls, slopes]), np.array([0, 1, 2, 3, 4, 5]))
    walls, slopes = middles(250.0, 90.0, 40.0)
    order = np.array([5, 2, 0, 4, 1, 3])
    normals, places = np.vstack([WALLS, SLOPES])[order], np.vstack([walls, slopes])[order]
    assert carry_slots(before, normals, places).tolist() == order.tolist()


def test_a_first_roof_stays_bare_and_a_new_wall_takes_the_nearest():
    walls, slopes = middles(100.0, 60.0, 20.0)
    before = DressedFaces(WALLS, walls, np.array([7, 7, 7, 3]))
    assert carry_slots(before, SLOPES, slopes).tolist() == [BARE, BARE]
    # a wing's end looks the way the right wall does, and is nearer to it than to any other
    assert carry_slots(before, WALLS[1:2], np.array([(60.0, 90.0, 20.0)])).tolist() == [7]


def test_walls_that_look_the_same_way_take_after_the_nearer_one():
    normals = np.array([(1.0, 0.0, 0.0), (1.0, 0.0, 0.0), (-1.0, 0.0, 0.0)])
    before = DressedFaces(normals, np.array([(50.0, 90.0, 0), (100.0, 20.0, 0), (0.0, 50.0, 0)]), np.array([1, 2, 3]))
    longer = np.array([(200.0, 25.0, 0), (60.0, 110.0, 0), (0.0, 60.0, 0)])
    assert carry_slots(before, normals, longer).tolist() == [2, 1, 3]
