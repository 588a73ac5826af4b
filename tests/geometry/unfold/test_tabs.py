"""Tabs on straight runs: how many, how long, and the short ones between the bends of a round tower."""

from __future__ import annotations

import pytest
from stowfold.geometry.settings import FloorSettings
from stowfold.geometry.unfold.tabs import tab_spans

GROUND = FloorSettings()


@pytest.mark.parametrize(
    ("run", "lengths"),
    [
        (100.0, [15.0, 15.0]),
        (59.0, [15.0]),
        (20.0, [14.0]),
        (12.0, [6.0]),
        (11.0, [6.0]),
        (7.5, [4.5]),
        (6.9, [4.0]),
        (4.0, [2.4]),
        (3.5, []),
    ],
)
def test_a_run_bears_tabs_of_its_length(run: float, lengths: list[float]) -> None:
    spans = tab_spans(10.0, 10.0 + run, (), GROUND)
    assert [b - a for a, b in spans] == pytest.approx(lengths)
    for a, b in spans:
        # beside short tabs of a round tower, with as many of them as it has sides, less stays
        least = 1.5 if run >= 7.0 else 0.8
        assert a - 10.0 >= least - 1e-9
        assert 10.0 + run - b >= least - 1e-9


def test_nothing_hangs_under_a_joiner() -> None:
    assert all(b <= 40.0 or a >= 70.0 for a, b in tab_spans(0.0, 120.0, [(40.0, 70.0)], GROUND))
    assert len(tab_spans(0.0, 120.0, [(40.0, 70.0)], GROUND)) == 2
