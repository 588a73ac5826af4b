"""The boards of a film as solids of manifold3d at any fold time, and which of them share a place."""

from __future__ import annotations

import itertools

import manifold3d
import numpy as np
from shapely.geometry.polygon import orient
from stowfold.geometry.show.bending import lattice_angles, panel_poses
from stowfold.geometry.show.film import Film, poses_at
from stowfold.geometry.show.plates import plates_of

__all__ = ["TOUCH", "met_at"]

#: Boards that slide along each other share a little, as they may on the paths of the assembly; what passes through
#: another one shares far more, mm^3.
TOUCH = 5.0


def _flat_solids(film: Film) -> dict[str, list[tuple[int, manifold3d.Manifold]]]:
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
    flat, found = _flat_solids(film), {}
    for time in times:
        solids = _placed(film, flat, time)
        boxes = {name: np.reshape(solid.bounding_box(), (2, 3)) for name, solid in solids.items()}
        for one, two in itertools.combinations(solids, 2):
            if (boxes[one][0] < boxes[two][1]).all() and (boxes[two][0] < boxes[one][1]).all():
                volume = (solids[one] ^ solids[two]).volume()
                if volume > TOUCH:
                    found[one, two] = max(volume, found.get((one, two), 0.0))
    return found


def _placed(
    film: Film, flat: dict[str, list[tuple[int, manifold3d.Manifold]]], time: float
) -> dict[str, manifold3d.Manifold]:
    """Return the boards of every part where they are at a fold time."""
    solids = {}
    for name, moment in poses_at(film, time).items():
        boards = film.boards[name]
        poses = panel_poses(boards.part, lattice_angles(boards.part, moment.share), root=boards.root)
        placed = [solid.transform((moment.pose @ poses[panel]).matrix) for panel, solid in flat[name]]
        solids[name] = manifold3d.Manifold.compose(placed)
    return solids
