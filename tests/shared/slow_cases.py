"""Cases of one test that are alike: one of them is quick, the others run where time is no matter."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import pytest


def one_quick(cases: Sequence[Any], quick: Any = None) -> list[Any]:
    """Return the cases of a parametrized test, all marked slow but one: ``quick``, or the first."""
    kept = cases[0] if quick is None else quick
    if kept not in cases:
        raise ValueError(f"{kept!r} is not among the cases")
    return [case if case == kept else _slow(case) for case in cases]


def _slow(case: Any) -> Any:
    return pytest.param(*(case if isinstance(case, tuple) else (case,)), marks=pytest.mark.slow)
