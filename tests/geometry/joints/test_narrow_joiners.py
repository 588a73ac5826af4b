"""Joiners with narrower cheeks than set, where bends beside a break leave no more room, as in houses of two squares."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Outcome, Proposal, Settings
from stowfold.geometry.settings import JoinerSettings
from stowfold.geometry.solid.solid import Role, Solid, make_solid
from stowfold.geometry.unfold.cheeks import least_cheeks

BOARD = find_stock("birch-plywood-3", read_stocks())
ALL = Settings(BOARD, BOARD, BOARD, BOARD, propose=Proposal.ALL)


def house(length: float, width: float, at: float | None = None, height: float = 76.2) -> Solid:
    """Walls over a rectangle, mm; with ``at`` they are marked, with a break so far from the front wall's left end."""
    plan = [(0.0, 0.0), *([] if at is None else [(at, 0.0)]), (length, 0.0), (length, width), (0.0, width)]
    count = len(plan)
    points = np.array([(x, y, z) for z in (0.0, height) for x, y in plan])
    roles = {} if at is None else {(k, count + k): Role.BREAK if k == 1 else Role.FLEX for k in range(count)}
    sides = [(k, (k + 1) % count) for k in range(count)]
    return make_solid(points, [(a, b, count + b, count + a) for a, b in sides], roles=roles)


def codes(outcome: Outcome) -> set[str]:
    return {finding.code for finding in outcome.findings}


def test_a_house_of_two_squares_gets_a_narrow_joiner_and_no_parted_corner() -> None:
    outcome = run(house(50.8, 50.8), ALL, title="Hut")
    assert not [finding for finding in outcome.findings if finding.severity == "error"]
    [joiner] = outcome.joiners
    assert least_cheeks(ALL.joiner) <= joiner.cheek_width < ALL.joiner.cheek_width
    assert joiner.engaged == pytest.approx((joiner.cheek_width - joiner.core_width) / 2 - joiner.gap)
    assert joiner.engaged >= 5.0
    assert outcome.proof.holds
    assert "joiner-narrow" in codes(outcome)
    assert not any(edge.role is Role.CLOSURE for edge in outcome.facets.edges)
    cheeks = [part for part in outcome.parts if part.id in joiner.cheeks]
    for cheek in cheeks:
        x0, _, x1, _ = cheek.outline.bounds
        assert x1 - x0 == pytest.approx(joiner.cheek_width)


@pytest.mark.parametrize(("at", "wide"), [(60.0, 30.0), (26.0, None), (23.0, 0.0)])
def test_cheeks_are_as_wide_as_the_room_beside_a_marked_break_allows(at: float, wide: float | None) -> None:
    outcome = run(house(160.0, 100.0, at), replace(ALL, propose=Proposal.NONE), title="House")
    if wide == 0.0:
        assert "bad-break-line" in codes(outcome)
        return
    assert "bad-break-line" not in codes(outcome)
    [joiner] = outcome.joiners
    if wide is not None:
        assert joiner.cheek_width == wide
        return
    # all around the break: the tangent line of the bend is as far off as the wall's panel begins
    section = next(part for part in outcome.parts if part.id == joiner.ends[0])
    panel = next(panel for panel in section.panels if panel.facet == joiner.end_facets[0])
    begins = float(panel.stands.apply(panel.ring)[:, 0].min())
    room = at - begins - ALL.joiner.margin
    assert room - 0.25 <= joiner.cheek_width / 2 <= room + 1e-6


def test_cheeks_never_get_wider_than_they_are_set() -> None:
    short = JoinerSettings(core_width=14.0, cheek_width=20.0)
    assert least_cheeks(short) == 20.0
    assert least_cheeks(JoinerSettings()) == pytest.approx(24.5)
