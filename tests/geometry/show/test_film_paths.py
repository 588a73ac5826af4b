"""The film goes by the assembly's moves, and no board passes through another: sampled as solids of manifold3d."""

from __future__ import annotations

import itertools

import manifold3d
import numpy as np
import pytest
from filmed import FILMED, filmed
from shapely.geometry.polygon import orient
from slow_cases import one_quick
from sound_buildings import find_family, make_sound
from stowfold.geometry.assembly.plan import Stage
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.joints.glue_places import find_bearers
from stowfold.geometry.show.bending import lattice_angles, panel_poses
from stowfold.geometry.show.film import Film, poses_at
from stowfold.geometry.show.plates import plates_of

#: Boards that slide along each other share a little, as they may on the paths of the assembly; what passes through
#: another one shares far more, mm^3.
TOUCH = 5.0


def solids_of(film: Film) -> dict[str, list[tuple[int, manifold3d.Manifold]]]:
    """Return the boards of all panels in the flat, without lattices, with the panel that each goes with."""
    found = {}
    for name, boards in film.boards.items():
        part = boards.part
        low = min(0.0, part.board_side * part.thickness)
        found[name] = []
        for plate in plates_of(part):
            shape = orient(plate.shape)
            rings = [np.asarray(ring.coords)[:-1] for ring in (shape.exterior, *shape.interiors)]
            board = manifold3d.CrossSection(rings).extrude(part.thickness).translate((0.0, 0.0, low))
            found[name].append((plate.panel, board))
    return found


def met_at(film: Film, times: np.ndarray) -> dict[tuple[str, str], float]:
    """Return pairs of parts that share a place at one of these fold times, with the volume, mm^3."""
    flat, found = solids_of(film), {}
    for time in times:
        solids = {}
        for name, moment in poses_at(film, time).items():
            boards = film.boards[name]
            poses = panel_poses(boards.part, lattice_angles(boards.part, moment.share), root=boards.root)
            placed = [solid.transform((moment.pose @ poses[panel]).matrix) for panel, solid in flat[name]]
            solids[name] = manifold3d.Manifold.compose(placed)
        boxes = {name: np.reshape(solid.bounding_box(), (2, 3)) for name, solid in solids.items()}
        for one, two in itertools.combinations(solids, 2):
            if (boxes[one][0] < boxes[two][1]).all() and (boxes[two][0] < boxes[one][1]).all():
                volume = (solids[one] ^ solids[two]).volume()
                if volume > TOUCH:
                    found[one, two] = max(volume, found.get((one, two), 0.0))
    return found


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
