"""The examples in docstrings say what they print."""

from __future__ import annotations

import doctest
import importlib
from pathlib import Path

import pytest
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.added import as_solid
from stowfold.geometry.outcome import Settings
from stowfold.geometry.plan.walls import block_out

ROOT = Path(__file__).resolve().parents[2]

BIRCH = find_stock("birch-plywood-3", read_stocks())

#: What all examples know: walls of 160 x 100 mm that part in the middle of the front, all of birch plywood.
KNOWN = {
    "birch": BIRCH,
    "settings": Settings(BIRCH, BIRCH, BIRCH, BIRCH),
    "solid": as_solid(block_out([(0, 0), (160, 0), (160, 100), (0, 100)], breaks=[(80, 0)])),
}

WITH_EXAMPLES = sorted(
    ".".join(("stowfold.geometry", *path.relative_to(ROOT / "geometry").with_suffix("").parts))
    for path in (ROOT / "geometry").rglob("*.py")
    if ">>> " in path.read_text(encoding="utf-8")
)


def test_what_a_newcomer_meets_first_shows_examples() -> None:
    assert len(WITH_EXAMPLES) >= 15


@pytest.mark.parametrize("name", WITH_EXAMPLES)
def test_examples_print_what_they_say(name: str) -> None:
    found = doctest.testmod(importlib.import_module(name), extraglobs=KNOWN)
    assert found.attempted and not found.failed
