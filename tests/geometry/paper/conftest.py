"""Small outcomes made by hand: a toll house's corner with a joiner, on a floor; and nearly nothing at all."""

from __future__ import annotations

import pytest
from stowfold.geometry.outcome import Outcome
from toll_house_corner import make_empty, make_outcome


@pytest.fixture
def outcome() -> Outcome:
    return make_outcome()


@pytest.fixture
def empty() -> Outcome:
    return make_empty()
