"""The examples in docstrings say what they print."""

from __future__ import annotations

import doctest
import importlib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

WITH_EXAMPLES = sorted(
    ".".join(("stowfold.geometry", *path.relative_to(ROOT / "geometry").with_suffix("").parts))
    for path in (ROOT / "geometry").rglob("*.py")
    if ">>> " in path.read_text(encoding="utf-8")
)


def test_what_a_newcomer_meets_first_shows_examples() -> None:
    assert len(WITH_EXAMPLES) >= 15


@pytest.mark.parametrize("name", WITH_EXAMPLES)
def test_examples_print_what_they_say(name: str) -> None:
    found = doctest.testmod(importlib.import_module(name))
    assert found.attempted and not found.failed
