"""Proposals on solids that were cut: an edge keeps its number in all its pieces, a mark is meant for one of them."""

from __future__ import annotations

import numpy as np
import pytest
from block_outs import box_of
from stowfold.geometry.findings import place
from stowfold.geometry.propose.proposed import Cut, Mark, Proposed
from stowfold.geometry.solid.solid import Role, Solid, make_solid


@pytest.fixture
def box() -> Solid:
    """A box that is cut in two half-way up, so that its upright edges are two pieces each."""
    solid = make_solid(*box_of())
    top = float(solid.points[:, 2].max())
    return Proposed(
        cuts=(Cut(0, solid.face_ids, np.array([0.0, 0.0, top / 2.0]), np.array([0.0, 0.0, 1.0]), Role.CLOSURE),)
    ).put_on(solid)


def _pieces(solid: Solid) -> list[int]:
    """Return the places of the two pieces of one upright edge, the lower one first."""
    upright = [k for k, (a, b) in enumerate(solid.edges) if np.ptp(solid.points[[a, b]], axis=0)[:2].max() == 0.0]
    one = [k for k in upright if solid.edge_ids[k] == solid.edge_ids[upright[0]]]
    return sorted(one, key=lambda k: float(solid.points[list(solid.edges[k])][:, 2].mean()))


def test_a_mark_with_a_span_is_put_on_the_piece_that_lies_there(box: Solid) -> None:
    low, high = _pieces(box)
    span = tuple(place(box.points[k]) for k in box.edges[high])
    marked = Proposed((Mark(0, (box.edge_ids[high],), Role.FLEX, (span[0], span[1])),)).put_on(box)
    assert (marked.edge_roles[low], marked.edge_roles[high]) == (Role.PLAIN, Role.FLEX)


def test_a_mark_without_a_span_is_put_on_all_pieces(box: Solid) -> None:
    low, high = _pieces(box)
    marked = Proposed((Mark(0, (box.edge_ids[low],), Role.FLEX),)).put_on(box)
    assert marked.edge_roles[low] is marked.edge_roles[high] is Role.FLEX
