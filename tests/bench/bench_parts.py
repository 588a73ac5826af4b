"""Time from an edit to the new proof: ``pytest tests/bench/bench_parts.py``, samples and a winged hip as it is added.

The reference in the same run is what manifold3d takes to unite the standing boards of the lock-keeper's house as
solids. Report ratios, not seconds. Points are moved by a hair every time, so that nothing is remembered.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import count

import manifold3d
import pytest
from boards_as_solids import board_solids
from sample_solids import NAMES, solid_of
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.added import add_building, as_solid
from stowfold.geometry.flow.run import Made, make_parts
from stowfold.geometry.fold.folding import Folding
from stowfold.geometry.outcome import Settings
from stowfold.geometry.part import PartKind
from stowfold.geometry.plan.outline import PlanKind
from stowfold.geometry.plan.roof import Roof, RoofKind, pitch_of_rise
from stowfold.geometry.plan.sizes import BuildingSizes
from stowfold.geometry.solid.solid import Solid

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH)

#: By so much an edit makes a building larger, as a share.
HAIR = 1e-6


def edits(solid: Solid) -> Iterator[Solid]:
    """The same building again and again, every time a hair larger."""
    return (replace(solid, points=solid.points * (1.0 + HAIR * turn)) for turn in count())


def edited(solid: Solid) -> Callable[[], Made]:
    """What a maker waits for after an edit."""
    turns = edits(solid)
    return lambda: make_parts(next(turns), SETTINGS, title="House")


@pytest.fixture(scope="module")
def u_with_hips() -> Solid:
    sizes = BuildingSizes(PlanKind.U, 10, 8, 3, 3, roof=Roof(RoofKind.HIP, pitch_of_rise(8.0)))
    return as_solid(add_building(sizes, SETTINGS))


def test_reference_manifold3d_unites_the_boards(benchmark) -> None:
    parts = make_parts(solid_of("lock_keepers_house"), SETTINGS, title="House").outcome.parts
    solids = [solid for _, solid in board_solids(parts)]
    benchmark(lambda: manifold3d.Manifold.batch_boolean(solids, manifold3d.OpType.Add).volume())


@pytest.mark.parametrize("name", NAMES)
def test_parts_of_a_sample(benchmark, name: str) -> None:
    benchmark(edited(solid_of(name)))


def test_parts_of_a_u_with_hips(benchmark, u_with_hips: Solid) -> None:
    benchmark(edited(u_with_hips))


def test_roof_of_a_u_is_folded(benchmark, u_with_hips: Solid) -> None:
    parts = make_parts(u_with_hips, SETTINGS, title="House").outcome.parts
    roof = max((part for part in parts if part.kind is PartKind.ROOF), key=lambda part: len(part.panels))
    benchmark(lambda: Folding(roof).folds())
