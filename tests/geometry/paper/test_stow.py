"""Stow: sizes by hand, and pieces that truly lie beside one another."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import box
from stowfold.geometry.part import FaceUp, Part, PartKind, plain_panel
from stowfold.geometry.pose import Pose
from stowfold.geometry.stow.stow import stow_away


def board(part_id: str, width: float, height: float, kind: PartKind = PartKind.WALL, thickness: float = 3.0) -> Part:
    return Part(part_id, part_id, kind, "ply", thickness, FaceUp.OUTSIDE, 1, box(0, 0, width, height), ())


def test_two_large_boards_lie_on_one_another() -> None:
    stow = stow_away([board("W1", 300, 70), board("W2", 70, 250)], (), (200.0, 150.0, 70.0))
    assert stow.stack_height == 6.0
    assert stow.box == (300.0, 70.0, 6.0)
    assert stow.share == pytest.approx(300 * 70 * 6 / (200 * 150 * 70))


def test_small_pieces_share_a_layer() -> None:
    small = [board(f"S{k}", 60, 10, PartKind.WALL) for k in range(6)]
    stow = stow_away([board("W1", 130, 30), *small], (), (1.0, 1.0, 1.0))
    # Two in a row, three rows: one layer of 3 mm above the wall.
    assert stow.box == (130.0, 30.0, 6.0)
    assert stow.stack_height == 21.0


def test_a_joiner_is_one_piece_three_boards_thick(outcome) -> None:
    stow = stow_away(outcome.parts, outcome.joiners, (242.0, 100.0, 70.0))
    # W1 249 x 73 (with tabs), W2 73 x 70, joiner 73 x 30 of 9 mm, floor 252 x 124: the joiner's layer of 9 mm
    # also takes W2 and nothing that is longer than the rest of it.
    assert stow.stack_height == pytest.approx(3 + 3 + 9 + 3)
    assert stow.box[:2] == (252.0, 124.0)
    assert stow.box[2] == pytest.approx(9 + 3 + 3)


def test_stops_thicken_the_roof_and_coupons_stay_out() -> None:
    """A stop of 2 mm under a roof board of 3, and half of it beyond the board's end, so that both are 230 long."""
    parts = [
        standing("R1", 200, 100, PartKind.ROOF, 3.0, (0.0, 0.0, 0.0)),
        standing("S1", 60, 10, PartKind.STOP, 2.0, (170.0, 20.0, -2.0)),
    ]
    assert stow_away(parts, (), (1.0, 1.0, 1.0)).box == (230.0, 100.0, 5.0)
    assert stow_away([*parts, board("C1", 300, 300, PartKind.COUPON)], (), (1.0, 1.0, 1.0)).box == (230.0, 100.0, 5.0)


def standing(part_id: str, width: float, height: float, kind: PartKind, thickness: float, at: tuple) -> Part:
    panel = plain_panel(box(0, 0, width, height), Pose.identity().moved_to(at))
    return replace(board(part_id, width, height, kind, thickness), panels=(panel,))


def test_boards_that_are_glued_together_are_stowed_as_they_stand() -> None:
    """Two boards of 100 x 60 at a right angle: an L of 100 x 60 x (60 + 3) mm, beside a loose board of 3 mm."""
    lying, upright = box(0, 0, 100, 60), Pose.of((1, 0, 0), (0, 0, 1), (0, -1, 0), (0, 0, 0))
    parts = [
        replace(board("P1", 100, 60), panels=(plain_panel(lying, Pose.identity().moved_to((0.0, 0.0, -3.0))),)),
        replace(board("P2", 100, 60), panels=(plain_panel(lying, upright),)),
        board("P3", 90, 50),
    ]
    stow = stow_away(parts, (), (1.0, 1.0, 1.0), glued=[("P1", "P2"), ("P2", "P1")])
    assert stow.glued == (("P1", "P2"),)
    assert stow.stack_height == pytest.approx(63.0 + 3.0)
    assert stow.box == pytest.approx((100.0, 63.0, 66.0))
    assert {name for layer in stow.layers for name in layer} == {"P1", "P3"}


def test_nothing_needs_no_box() -> None:
    stow = stow_away((), (), (0.0, 0.0, 0.0))
    assert stow.box == (0.0, 0.0, 0.0)
    assert stow.share == math.inf


@given(
    st.lists(
        st.tuples(st.integers(5, 300), st.integers(5, 300), st.sampled_from([2.0, 3.0, 9.0])), min_size=1, max_size=12
    )
)
def test_the_box_holds_what_is_in_it(sizes: list[tuple[int, int, float]]) -> None:
    parts = [board(f"W{k}", width, height, thickness=thick) for k, (width, height, thick) in enumerate(sizes)]
    stow = stow_away(parts, (), (100.0, 100.0, 100.0))
    volume = math.fsum(part.area * part.thickness for part in parts)
    assert volume <= math.prod(stow.box) * (1 + 1e-12)
    assert max(thick for *_, thick in sizes) <= stow.box[2] <= stow.stack_height + 1e-9
    assert stow == stow_away(parts[::-1], (), (100.0, 100.0, 100.0))


def test_layers_go_in_largest_first_and_name_every_piece_once(outcome) -> None:
    stow = stow_away(outcome.parts, outcome.joiners, (242.0, 100.0, 70.0))
    # floor 252 x 124; then 249 x 73 beside the thick joiner of 73 x 30; 73 x 70 has no room there
    assert stow.layers == (("F1",), ("J1", "W1"), ("W2",))


@given(st.lists(st.tuples(st.integers(5, 300), st.integers(5, 300)), min_size=1, max_size=12))
def test_no_layer_holds_a_larger_piece_than_the_layer_below(sizes: list[tuple[int, int]]) -> None:
    parts = [board(f"W{k}", width, height, thickness=2.0 + k % 2) for k, (width, height) in enumerate(sizes)]
    areas = {part.id: part.area for part in parts}
    layers = stow_away(parts, (), (100.0, 100.0, 100.0)).layers
    assert sorted(name for layer in layers for name in layer) == sorted(areas)
    largest = [max(areas[name] for name in layer) for layer in layers]
    assert largest == sorted(largest, reverse=True)
