"""Tracks of parts that turn over together; rotations by scipy."""

from __future__ import annotations

import numpy as np
from scipy.spatial.transform import Rotation
from stowfold.geometry.pose import Pose
from stowfold.geometry.show.track import Station, track_of


def test_parts_that_turn_over_together_keep_their_places_to_each_other() -> None:
    rng = np.random.default_rng(5)
    over = Pose(np.column_stack([np.diag([1.0, -1.0, -1.0]), [0.0, 0.0, 50.0]]))
    middle = np.array([3.0, -2.0, 7.0])
    tracks = []
    for turn in Rotation.random(20, random_state=rng.integers(1000)).as_matrix():
        start = Pose(np.column_stack([turn, rng.normal(size=3)]))
        stations = [Station(0.0, start, 1.0), Station(1.0, over @ start, 1.0)]
        tracks.append((start, track_of("part", start.inverse().apply(middle), stations)))
    for time in (0.2, 0.5, 0.8):
        moves = [track.at(time)[0] @ start.inverse() for start, track in tracks]
        assert max(np.abs(move.matrix - moves[0].matrix).max() for move in moves) < 1e-6
