"""Standing boards as solids of manifold3d, a boolean kernel that shares no code with ours."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence

import manifold3d
import numpy as np
from stowfold.geometry.fold.fold import bent_links, fold
from stowfold.geometry.part import Part
from stowfold.geometry.pose import Pose

Named = tuple[str, manifold3d.Manifold]


def board_solids(parts: Iterable[Part]) -> list[Named]:
    """Return every panel and every link of the parts as it stands, with the name of what it is."""
    solids = []
    for part in parts:
        stands = fold(part)
        low = 0.0 if part.board_side > 0 else -part.thickness
        for k, (panel, pose) in enumerate(zip(part.panels, stands, strict=True)):
            rings = [panel.ring, *panel.holes]
            solids.append((f"{part.id}/{k}", _upright(rings, pose, low, part.thickness)))
        for k, lattice in enumerate(part.lattices):
            for strip, bent in bent_links(lattice, part.board_side):
                ring = strip if _area(strip) > 0.0 else strip[::-1]
                # flat links stand out from their bend by a few hundredths; the middle of the board is enough here
                solid = _upright([ring], stands[lattice.parent] @ bent, low + 0.1, part.thickness - 0.2)
                solids.append((f"{part.id}/lattice{k}", solid))
    return solids


def shared_volumes(solids: Sequence[Named]) -> dict[tuple[str, str], float]:
    """Return what any two boards of different names share, mm^3, where they share anything."""
    found: dict[tuple[str, str], float] = {}
    boxes = np.array([solid.bounding_box() for _, solid in solids]).reshape(-1, 2, 3)
    for a, b in itertools.combinations(range(len(solids)), 2):
        (one, first), (two, second) = solids[a], solids[b]
        if one == two or np.any(boxes[a, 0] > boxes[b, 1]) or np.any(boxes[b, 0] > boxes[a, 1]):
            continue
        volume = (first ^ second).volume()
        if volume > 0.0:
            found[one, two] = found.get((one, two), 0.0) + volume
    return found


def _upright(rings: Sequence[np.ndarray], stands: Pose, low: float, thickness: float) -> manifold3d.Manifold:
    section = manifold3d.CrossSection([np.array(ring) for ring in rings], manifold3d.FillRule.EvenOdd)
    return section.extrude(thickness).translate((0.0, 0.0, low)).transform(np.array(stands.matrix))


def _area(ring: np.ndarray) -> float:
    x, y = ring.T
    return 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))
