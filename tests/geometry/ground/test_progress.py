"""Progress: shares of steps within steps, and who gives the work up."""

from __future__ import annotations

import pytest
from parts_by_hand import Waiting
from stowfold.geometry.errors import CancelledError
from stowfold.geometry.progress import SILENT


def test_a_step_within_a_step_takes_its_share_of_the_whole():
    progress = Waiting()
    last_half = progress.part(0.5, 1.0)
    for share in (0.0, 0.5, 1.0):
        last_half.part(0.0, 0.5).tell(share)
    last_half.part(1.0, 1.0).tell(0.3)
    assert progress.told == [0.5, 0.625, 0.75, 1.0]


def test_work_that_is_given_up_learns_it_however_deep_it_is():
    with pytest.raises(CancelledError):
        Waiting(0).part(0.0, 0.5).part(0.5, 0.5).tell(0.0)


def test_nothing_stops_work_that_nobody_waits_for():
    step = SILENT.part(0.0, 0.5)
    step.tell(1.0)
    step.settle()
    assert SILENT.tell(1.0) is None
