"""The moving separating-axis test against swept solids of manifold3d, which shares no code with ours."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest
from stowfold.geometry.fold.moving import NEAR, go_past, way_out

LENGTH = 60.0

#: A volume below this is a touch, mm^3: far below what sharing OVERLAP over a square millimetre comes to.
TOUCH = 1e-3


def random_prisms(rng: np.random.Generator, count: int, spread: float) -> np.ndarray:
    """Prisms of 1 to 4 mm over random triangles without slivers, turned at random, (count, 6, 3) mm."""
    corners = rng.uniform(-12.0, 12.0, (4 * count, 3, 2))
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    corners = corners[np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]) > 60.0][:count]
    flat = np.concatenate([corners, np.zeros((count, 3, 1))], axis=2)
    thick = np.array([0.0, 0.0, 1.0]) * rng.uniform(1.0, 4.0, (count, 1, 1))
    prisms = np.concatenate([flat, flat + thick], axis=1)
    turns = np.linalg.qr(rng.normal(size=(count, 3, 3)))[0]
    return np.einsum("kij,kpj->kpi", turns, prisms) + rng.uniform(-spread, spread, (count, 1, 3))


def swept(prism: np.ndarray, way: np.ndarray, length: float) -> manifold3d.Manifold:
    """What a convex body sweeps on a straight path is the hull of its corners at both ends."""
    return manifold3d.Manifold.hull_points(np.concatenate([prism, prism - way * length]))


def solid(prism: np.ndarray) -> manifold3d.Manifold:
    return manifold3d.Manifold.hull_points(np.array(prism))


def slab(moving: np.ndarray, resting: np.ndarray) -> float:
    return (solid(moving) ^ solid(resting)).volume()


def test_random_prisms_meet_where_swept_solids_share_volume() -> None:
    rng = np.random.default_rng(7)
    moving, resting = random_prisms(rng, 240, 14.0), random_prisms(rng, 240, 14.0)
    ways = rng.normal(size=(240, 3))
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    met = crossing = 0
    for mover, rest, way in zip(moving, resting, ways, strict=True):
        found = go_past(mover[None], rest[None], way, LENGTH)
        if slab(mover, rest) > 0.0:
            crossing += 1
            assert found.meeting is None  # they cross in their places: the proof says so
            continue
        volume = (swept(mover, way, LENGTH) ^ solid(rest)).volume()
        if volume < TOUCH:
            assert found.meeting is None or found.meeting.depth < 0.05
            continue
        met += 1
        assert found.meeting is not None, volume
    assert met > 20 and crossing > 10


def test_the_first_contact_is_where_samples_find_it() -> None:
    rng = np.random.default_rng(11)
    moving, resting = random_prisms(rng, 240, 16.0), random_prisms(rng, 240, 16.0)
    way = np.array([0.6, 0.0, -0.8])
    looked = 0
    for mover, rest in zip(moving, resting, strict=True):
        meeting = go_past(mover[None], rest[None], way, LENGTH).meeting
        if meeting is None or meeting.before > LENGTH - 1.0:
            continue
        looked += 1
        assert slab(mover - way * (meeting.before + 0.01), rest) < TOUCH
        inside = [slab(mover - way * (meeting.before - step), rest) for step in (0.2, 0.5, 1.0)]
        assert max(inside) > 0.0
    assert looked > 15


def block(low: tuple[float, float, float], high: tuple[float, float, float]) -> np.ndarray:
    """A box as two prisms, (2, 6, 3)."""
    (x0, y0, z0), (x1, y1, z1) = low, high
    base = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    rings = [base[[0, 1, 2]], base[[0, 2, 3]]]
    return np.array([np.concatenate([np.column_stack([ring, np.full(3, z)]) for z in (z0, z1)]) for ring in rings])


@pytest.mark.parametrize(("play", "depth"), [(0.14, None), (0.0, None), (-0.2, 0.2)])
def test_a_board_slides_into_a_channel_as_wide_as_it_is(play: float, depth: float | None) -> None:
    board = block((0.0, 0.0, 0.0), (80.0, 3.0, 100.0))
    cheeks = np.concatenate(
        [block((70.0, 3.0 + play, 0.0), (100.0, 6.0, 100.0)), block((70.0, -3.0, 0.0), (100.0, -play, 100.0))]
    )
    passing = go_past(board, cheeks, np.array([1.0, 0.0, 0.0]), 40.0)
    if depth is None:
        assert passing.meeting is None
        assert passing.room == pytest.approx(play)
    else:
        # it is too thick in its place as well, which is the proof's to say, so a wall that stops short is looked at
        short = go_past(board[:, :, :] - np.array([20.0, 0.0, 0.0]), cheeks, np.array([-1.0, 0.0, 0.0]), 40.0)
        assert short.meeting is not None
        assert short.meeting.depth == pytest.approx(depth)


def test_boards_with_air_between_them_have_no_play_to_tell() -> None:
    board = block((0.0, 0.0, 0.0), (80.0, 3.0, 100.0))
    beside = block((0.0, 3.0 + 2 * NEAR, 0.0), (80.0, 8.0, 100.0))
    assert go_past(board, beside, np.array([1.0, 0.0, 0.0]), 40.0).room == np.inf


def test_the_way_out_ends_where_both_are_apart() -> None:
    board, beside = block((0.0, 0.0, 0.0), (80.0, 3.0, 10.0)), block((70.0, 0.0, 0.0), (100.0, 3.0, 10.0))
    assert way_out(board, beside, np.array([1.0, 0.0, 0.0])) == pytest.approx(10.0)
    assert way_out(board, beside, np.array([-1.0, 0.0, 0.0])) == pytest.approx(100.0)
