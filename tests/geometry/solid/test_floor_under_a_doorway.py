"""A face on the ground is the floor also where a doorway leaves a part of its rim without a wall."""

from __future__ import annotations

import numpy as np
from drawn_meshes import Drawing, Variant, draw_solid
from house_walls import Hole, floor_face, wall_faces
from stowfold.geometry.solid.find import find_facets

PLAN = np.array([(0.0, 0.0), (160.0, 0.0), (160.0, 100.0), (0.0, 100.0)])


def test_the_floor_of_walls_with_a_doorway_is_their_bottom() -> None:
    tops = [[(*a, 60.0), (*b, 60.0)] for a, b in zip(PLAN.tolist(), np.roll(PLAN, -1, axis=0).tolist(), strict=True)]
    door = {0: Hole(60.0, 90.0, 0.0, 40.0)}
    drawing = Drawing("walls", [[*wall_faces(tops, door), floor_face(PLAN, door)]])
    as_it_is = Variant(False, False, 0.0, 0.0, (0.0, 0.0))
    facets = find_facets(draw_solid(drawing, as_it_is, np.random.default_rng(0), source="walls"))
    bottom = facets.shells[0].bottom
    assert bottom is not None and abs(facets.facets[bottom].frame.n[2]) > 0.999
