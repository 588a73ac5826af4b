"""Marks stay where their line stays when a building is blocked out again."""

from __future__ import annotations

import numpy as np
from stowfold.geometry.plan.carry import break_spots, carry_roles
from stowfold.geometry.plan.walls import Roof, RoofKind, block_out
from stowfold.geometry.solid.solid import Role

PLAN = ((0.0, 0.0), (200.0, 0.0), (200.0, 150.0), (0.0, 150.0))


def before(block, **changes):
    pairs = [pair for pair, _ in block.roles]
    return block.points, np.array(pairs), tuple(changes.get(f"{a}_{b}", role) for (a, b), role in block.roles)


def test_a_break_parts_the_longer_and_higher_wall_again():
    old = before(block_out(PLAN, breaks=((100.0, 0.0), (100.0, 150.0))))
    spots = break_spots(*old)
    assert spots == ((100.0, 0.0), (100.0, 150.0))
    longer = tuple((x * 1.5, y) for x, y in PLAN)
    carried = carry_roles(*old, block_out(longer, height=80.0, breaks=spots))
    breaks = [pair for pair, role in carried.block.roles if role is Role.BREAK]
    assert [sorted(carried.block.points[list(pair), 2]) for pair in breaks] == [[0.0, 80.0]] * 2
    # two breaks and the two corners at x = 0 stand where they stood
    assert (carried.kept, carried.lost) == (4, 2)
    assert sum(role is Role.FLEX for _, role in carried.block.roles) == 4


def test_what_the_maker_made_of_a_corner_outlives_a_change_of_roof():
    first = block_out(PLAN)
    corner = first.roles[0][0]
    old = before(first, **{f"{corner[0]}_{corner[1]}": Role.CLOSURE})
    carried = carry_roles(*old, block_out(PLAN, roof=Roof(RoofKind.HIP)))
    assert dict(carried.block.roles)[corner] is Role.CLOSURE
    assert (carried.kept, carried.lost) == (4, 0)
    unmarked = before(first, **{f"{corner[0]}_{corner[1]}": Role.PLAIN})
    assert corner not in dict(carry_roles(*unmarked, block_out(PLAN)).block.roles)


def test_a_break_beside_the_new_walls_is_counted_as_lost():
    old = before(block_out(PLAN, breaks=((100.0, 0.0),)))
    smaller = tuple((x / 4, y) for x, y in PLAN)
    carried = carry_roles(*old, block_out(smaller, breaks=break_spots(*old)))
    assert (carried.kept, carried.lost) == (2, 3)
    assert all(role is Role.FLEX for _, role in carried.block.roles)
