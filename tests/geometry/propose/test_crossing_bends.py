"""Bends that would cross as they stand part again, also where each of them alone could be built.

The standing boards are intersected by manifold3d, a library that shares no code with ours.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from boards_as_solids import board_solids, shared_volumes
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.propose.crossing_bends import crossing_bends
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, Solid, make_solid
from stowfold.geometry.unfold.section import unfold

BIRCH = find_stock("birch-plywood-3", read_stocks())

#: What two boards may share of a place, mm^3: the flat links of a bend stand out from it by hundredths of a mm.
ROUNDING = 0.05


def steps(depth: float, rise: float, width: float) -> Solid:
    """Return two steps as a closed body: each ``depth`` deep and ``rise`` high, mm."""
    profile = np.array([(0, 0), (2, 0), (2, 1), (1, 1), (1, 2), (0, 2)]) * (depth, rise)
    points = np.array([(x, y, z) for y in (0.0, width) for x, z in profile])
    sides = [(k, (k + 1) % 6, (k + 1) % 6 + 6, k + 6) for k in range(6)]
    return make_solid(points, [tuple(range(6)), tuple(range(11, 5, -1)), *sides])


def frustum() -> Solid:
    """Return a steep frustum on three corners, 44 mm wide below, without its lid."""
    points = [
        (46.4, 49.2, 0.0),
        (6.3, 32.0, 0.0),
        (0.0, 32.7, 109.4),
        (50.2, 54.2, 109.4),
        (41.3, 5.8, 0.0),
        (43.8, 0.0, 109.4),
    ]
    return make_solid(np.array(points), [(0, 1, 2, 3), (1, 4, 5, 2), (4, 0, 3, 5), (0, 4, 1)])


@pytest.mark.parametrize(
    "solid",
    [
        pytest.param(steps(25.4, 25.4, 135.0), id="bends of two parts"),
        pytest.param(steps(25.4, 25.4, 100.0), id="bends of one part"),
        pytest.param(frustum(), id="a bend and a board"),
    ],
)
def test_bends_that_would_cross_part(solid: Solid) -> None:
    outcome = make_parts(solid, Settings(BIRCH, BIRCH, BIRCH, BIRCH, propose=Proposal.ALL), title="Steps").outcome
    assert [f.message for f in outcome.findings if f.severity is Severity.ERROR] == []
    boards = board_solids(part for part in outcome.parts if part.lattices)
    shared = {names for names, volume in shared_volumes(boards).items() if volume > ROUNDING}
    assert not [(one, two) for one, two in shared if not _held_together(one, two)]


def _held_together(one: str, two: str) -> bool:
    """Whether two boards may touch because they are one piece: panels of a part, and its bends beside panels."""
    bends = "lattice" in one and "lattice" in two
    return one.split("/")[0] == two.split("/")[0] and not bends


def bends_of_steps(size: float, *, deeper: float) -> int:
    """Return how many pairs of bends cross on steps of this depth and rise, mm, bent so that two reach far in."""
    solid = steps(size, size, 135.0)
    facets = find_facets(solid)
    flat, back, end, top = 2.0 * size, 0.0, 135.0, 2.0 * size
    bent = [
        [(0, 0, 0), (flat, 0, 0)],
        [(flat, 0, size), (flat, end, size)],
        [(0, end, 0), (flat, end, 0)],
        [(0, back, top), (0, end, top)],
    ]
    edges = tuple(
        replace(edge, role=Role.FLEX)
        if any(np.allclose(np.sort(facets.ends(edge), axis=0), np.sort(np.array(line), axis=0)) for line in bent)
        else edge
        for edge in facets.edges
    )
    shells = tuple(replace(shell, bottom=None) for shell in facets.shells)
    settings = Settings(BIRCH, BIRCH, BIRCH, BIRCH).as_cut
    parts = unfold(replace(facets, edges=edges, shells=shells), settings).parts
    assert sum(len(part.lattices) for part in parts) == len(bent)
    return len(crossing_bends(parts, settings, deeper=deeper, lattices_only=True))


def test_a_crossing_counts_from_the_depth_that_is_asked() -> None:
    assert bends_of_steps(25.4, deeper=1e-3) == 2
    assert bends_of_steps(25.4, deeper=3.0) == 0  # no deeper than the board is thick
    assert bends_of_steps(60.0, deeper=1e-3) == 0
