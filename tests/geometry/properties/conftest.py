"""Profiles of the property tests: a few fixed examples by default, many with ``--hypothesis-profile long``."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, Phase, settings

#: Neither shrinks: an example is a whole building, and its values say enough.
_PHASES = (Phase.explicit, Phase.generate)

settings.register_profile(
    "short",
    max_examples=4,
    derandomize=True,
    deadline=None,
    phases=_PHASES,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile("long", settings.get_profile("short"), max_examples=300)


def pytest_configure(config: pytest.Config) -> None:
    """Use the short profile unless another one is asked for."""
    if not config.getoption("--hypothesis-profile", default=None):
        settings.load_profile("short")
