"""The three samples as a maker would cut them."""

from __future__ import annotations

import pytest
from delivered import Delivered, deliver_sample
from sample_solids import NAMES
from slow_cases import one_quick


@pytest.fixture(scope="session", params=one_quick(NAMES, "toll_house"))
def sample(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Delivered:
    """One sample, delivered once for all tests; they only read its folder."""
    return deliver_sample(request.param, tmp_path_factory.mktemp(request.param))
