"""What wall heights do to a hand, against the swept hand itself and the closed form of the vertical approach."""

from __future__ import annotations

import numpy as np
import pytest
from stowfold.geometry.play.hand import probes_of
from stowfold.geometry.play.stature import find_stature, read_statures
from stowfold.geometry.play.wall_height import passage_over

HANDS = probes_of(find_stature("large", read_statures()))


@pytest.mark.parametrize(
    ("height", "words"),
    [
        (55.0, "passes over"),
        (60.0, "passes over"),
        (62.0, "short fingers meets the wall"),
        (81.0, "any palm meets the wall"),
    ],
)
def test_the_verdict_flips_where_the_palm_starts(height, words):
    # Walls up to grip + finger never stop the palm from above: 20 + 40 and 20 + 60 mm.
    passage = passage_over(height, HANDS)
    assert (passage.free, passage.blocked) == (60.0, 80.0)
    assert words in passage.sentence


def test_straight_from_above_a_wall_blocks_exactly_what_rises_above_the_palm():
    for probe in HANDS:
        start, radius = probe.stages[1]
        for height in np.linspace(40.0, 90.0, 26):
            passage = passage_over(float(height), [probe])
            # vertical approach: a wall at distance d is met iff it rises above z_g + l and d < r
            met = height > probe.grip + start
            assert met == (height > passage.free)
            assert passage.palm == radius
