"""The film: parts lie on their sheets, stand as the proof says, lie in their box, and never jump between."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
import trimesh
from filmed import FILMED, filmed
from slow_cases import one_quick
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.run import run
from stowfold.geometry.joints.round_joiner import is_round_cheek
from stowfold.geometry.outcome import Proposal, Settings
from stowfold.geometry.part import PartKind
from stowfold.geometry.pose import Pose
from stowfold.geometry.sheet.layout import NO_LAYOUT
from stowfold.geometry.show.film import Film, film_of, poses_at
from stowfold.geometry.show.track import Station, matrix_of, quaternion_of, track_of
from stowfold.geometry.solid.solid import make_solid


def points_at(film: Film, time: float, *, lifted: bool = False) -> dict[str, np.ndarray]:
    return {
        name: moment.pose.apply(film.boards[name].points(moment.share))
        for name, moment in poses_at(film, time, lifted=lifted).items()
    }


@pytest.mark.parametrize("name", one_quick(list(FILMED)))
def test_parts_stand_where_the_model_has_them(name: str) -> None:
    outcome, film = filmed(name)
    for part in outcome.parts:
        moment = poses_at(film, 1.0)[part.id]
        assert moment.share == pytest.approx(1.0)
        assert np.abs(moment.pose.matrix - film.boards[part.id].stands.matrix).max() < 1e-6, part.id


@pytest.mark.parametrize("name", one_quick(list(FILMED)))
def test_parts_lie_flat_on_their_sheets(name: str) -> None:
    outcome, film = filmed(name)
    first = points_at(film, 0.0)
    ground = min(points[:, 2].min() for points in points_at(film, 1.0).values())
    for placement in outcome.layout.placements:
        points = first[placement.part]
        part = film.boards[placement.part].part
        assert np.ptp(points[:, 2]) <= part.thickness + 0.2  # engraved lines lie just above their face
        assert points[:, 2].min() == pytest.approx(ground, abs=1e-6)
        assert points[:, 0].min() > 500.0
        size = np.ptp(placement.place(np.array(part.outline.exterior.coords)), axis=0)
        assert np.ptp(points[:, :2], axis=0) == pytest.approx(size, abs=1e-6)


@pytest.mark.parametrize("name", one_quick(list(FILMED)))
def test_all_parts_lie_in_the_box_and_layers_on_one_another(name: str) -> None:
    outcome, film = filmed(name)
    last = points_at(film, 2.0)
    for name_, points in last.items():
        ring = name_ in film.riders
        assert (points[:, 0].min(), points[:, 1].min()) >= tuple(film.box[0, :2] - 1e-6) or ring, name_
        assert (points[:, :2].max(axis=0) <= film.box[1, :2] + 1e-6).all() or ring, name_
        assert film.box[0, 2] - 1e-6 <= points[:, 2].min() and points[:, 2].max() <= film.box[1, 2] + 0.2, name_
    spots = {spot.piece: spot for spot in outcome.stow.spots}
    assert set(spots) == {piece for layer in outcome.stow.layers for piece in layer}
    for one in spots.values():
        for other in spots.values():
            if one is not other:
                low = np.maximum(one.corner, other.corner)
                high = np.minimum(np.add(one.corner, one.size), np.add(other.corner, other.size))
                assert (high - low).min() < 1e-6, (one, other)


@pytest.mark.parametrize("name", one_quick(list(FILMED)))
def test_nothing_jumps(name: str) -> None:
    # between its stations a part moves smoothly, so jumps can only lie there
    _, film = filmed(name)
    times = {float(time) for track in film.tracks.values() for time in track.times} | set(film.glued.values())
    for time in sorted(times):
        before, after = poses_at(film, time - 1e-6), poses_at(film, time + 1e-6)
        for part, moment in after.items():
            size = np.array(film.boards[part].part.outline.bounds).reshape(2, 2)
            moved = moment.pose.apply(size) - before[part].pose.apply(size)
            assert np.abs(moved).max() < 0.1, (part, time)
            assert part in film.riders or abs(moment.share - before[part].share) < 1e-3, (part, time)


def test_before_there_are_sheets_flat_parts_lie_beside_one_another_in_the_yard() -> None:
    outcome, _ = filmed("grain_store")
    first = points_at(film_of(replace(outcome, layout=NO_LAYOUT)), 0.0)
    kinds = {part.id: part.kind for part in outcome.parts}
    laid = [name for name, kind in kinds.items() if kind in (PartKind.WALL, PartKind.ROOF, PartKind.FLOOR)]
    boxes = [(first[name].min(axis=0), first[name].max(axis=0)) for name in laid]
    for (low, high), (other_low, other_high) in itertools.combinations(boxes, 2):
        assert (np.maximum(low, other_low) >= np.minimum(high, other_high))[:2].any()


def test_stops_go_with_their_roof() -> None:
    outcome, film = filmed("grain_store")
    stops = [part.id for part in outcome.parts if part.kind is PartKind.STOP]
    assert set(stops) <= set(film.riders)
    roofs = {part.id for part in outcome.parts if part.kind is PartKind.ROOF}
    assert {film.riders[stop].host for stop in stops} <= roofs


def test_a_lifted_roof_lies_beside_with_its_stops() -> None:
    outcome, film = filmed("grain_store")
    standing, lifted = points_at(film, 1.0), points_at(film, 1.0, lifted=True)
    moved = {name for name in standing if np.abs(standing[name] - lifted[name]).max() > 1.0}
    kinds = {part.id: part.kind for part in outcome.parts}
    assert {kinds[name] for name in moved} == {PartKind.ROOF, PartKind.STOP}
    walls = np.concatenate([points for name, points in lifted.items() if name not in moved])
    roof = np.concatenate([lifted[name] for name in moved])
    # close beside, with the eye on both
    assert 0.0 < roof[:, 1].min() - walls[:, 1].max() < 30.0
    assert roof[:, 2].min() == pytest.approx(walls[:, 2].min())


def test_turns_are_those_of_trimesh() -> None:
    rng = np.random.default_rng(7)
    for _ in range(20):
        quaternion = trimesh.transformations.random_quaternion(rng.random(3))
        turn = trimesh.transformations.quaternion_matrix(quaternion)[:3, :3]
        assert matrix_of(quaternion) == pytest.approx(turn)
        assert abs(quaternion_of(turn) @ quaternion) == pytest.approx(1.0)
    one, two = (trimesh.transformations.random_quaternion(rng.random(3)) for _ in range(2))
    poses = [Pose(trimesh.transformations.quaternion_matrix(quaternion)[:3]) for quaternion in (one, two)]
    track = track_of("x", np.zeros(3), [Station(0.0, poses[0], 0.0), Station(1.0, poses[1], 1.0)])
    half = trimesh.transformations.quaternion_slerp(track.turns[0], track.turns[1], 0.5)
    found, share = track.at(0.5)
    assert share == pytest.approx(0.5)
    assert found.turn == pytest.approx(trimesh.transformations.quaternion_matrix(half)[:3, :3])


def test_cheeks_of_a_round_wall_bend_with_it_and_lie_flat_in_the_box() -> None:
    sides, high = 12, 90.0
    turns = 2.0 * np.pi * np.arange(sides) / sides
    ring = 45.0 * np.column_stack([np.cos(turns), np.sin(turns)])
    points = np.vstack([np.column_stack([ring, np.full(sides, z)]) for z in (0.0, high)])
    faces = [(k, (k + 1) % sides, sides + (k + 1) % sides, sides + k) for k in range(sides)]
    board = find_stock("mdf-3", read_stocks())
    outcome = run(make_solid(points, faces), Settings(board, board, board, board, propose=Proposal.ALL), title="Tower")
    film = film_of(outcome)
    cheeks = [part.id for part in outcome.parts if is_round_cheek(part)]
    assert len(cheeks) == 2
    for time in (0.0, 1.0, 2.0):
        moments = poses_at(film, time)
        for name in cheeks:
            placed = moments[name].pose.apply(film.boards[name].points(moments[name].share))
            # standing it is as high as the wall; lying it is no thicker than its board
            assert np.ptp(placed[:, 2]) == pytest.approx(high if time == 1.0 else board.thickness, abs=1e-6), time
            assert time != 2.0 or placed[:, 2].min() > film.box[0, 2] - 1e-6
