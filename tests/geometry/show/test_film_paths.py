"""The film goes by the assembly's moves, and no board passes through another: sampled as solids of manifold3d."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from film_solids import met_at
from filmed import FILMED, filmed
from slow_cases import one_quick
from sound_buildings import find_family, make_sound
from stowfold.geometry.assembly.plan import Stage
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.joints.glue_places import find_bearers


@pytest.mark.parametrize("name", one_quick(list(FILMED)))
def test_no_board_passes_through_another(name: str) -> None:
    _, film = filmed(name)
    assert met_at(film, np.linspace(0.01, 1.99, 26)) == {}


@pytest.mark.parametrize("name", one_quick(list(FILMED)))
def test_parts_go_to_their_places_by_the_moves_of_the_assembly(name: str) -> None:
    outcome, film = filmed(name)
    assert [act.stage for act in film.acts] == [
        stage for (stage, _), _ in itertools.groupby(_told(outcome)) if stage is not Stage.LEAF
    ]
    done = 0.0
    for move in outcome.assembly.moves:
        if not move.legs or move.stage is Stage.CLOSE:
            continue
        lower = {later.parts: later.shift(0.0) for later in outcome.assembly.moves if later.stage is Stage.FLOOR}
        above = next((way for parts, way in lower.items() if set(move.parts) < set(parts)), np.zeros(3))
        for part in move.parts:
            track = film.tracks[film.riders[part].host if part in film.riders else part]
            stands = film.boards[track.part].stands.apply(track.pivot)
            ways = [track.places[k] - stands for k in range(len(track.times)) if track.times[k] <= 1.0]
            start, end = above + move.shift(0.0), above
            starts = [k for k, way in enumerate(ways) if np.allclose(way, start, atol=1e-6)]
            last = next(k for k, way in enumerate(ways) if k > starts[0] and np.allclose(way, end, atol=1e-6))
            # it may wait at the start of its path, but nothing lies between that and its place but straight legs
            assert last - len(move.legs) in starts
            ended = track.times[last]
        assert ended > done
        done = ended


def _told(outcome):
    kinds = {part.id: part.kind for part in outcome.parts}
    return [(move.stage, kinds[move.parts[0]]) for move in outcome.assembly.moves]


def test_the_second_layer_of_a_stop_goes_with_the_roof_and_not_with_the_wall_that_it_touches() -> None:
    building = make_sound(1, find_family("gable"), 200)
    outcome = make_parts(building.solid, building.settings, title="gable").outcome
    bearers = find_bearers(outcome.parts)
    layers = [name for name in bearers if name.endswith("-2")]
    assert layers
    assert {bearers[name][0] for name in layers} == {part.id for part in outcome.parts if part.kind == "roof"}
