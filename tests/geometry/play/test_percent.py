"""Shares in words: what is seen a little is never said to be nothing."""

from __future__ import annotations

import pytest
from stowfold.geometry.play.percent import as_percent


@pytest.mark.parametrize(
    ("share", "words"),
    [(0.0, "0%"), (1e-12, "0%"), (0.004, "under 1%"), (0.0099, "under 1%"), (0.01, "1%"), (0.5, "50%"), (1.0, "100%")],
)
def test_a_trace_is_no_nothing(share: float, words: str) -> None:
    assert as_percent(share) == words
