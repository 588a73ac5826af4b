"""A building run twice gives the same cut files to the byte, and other orders of its mesh give the same outlines."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from stowfold.geometry.errors import GeometryError
from stowfold.geometry.flow.run import run
from stowfold.geometry.flow.sheets import sheet_files
from stowfold.geometry.outcome import Outcome, Settings
from stowfold.geometry.solid.solid import Solid, make_solid

__all__ = ["changes_with_order", "changes_with_time"]

#: Outlines whose area and length differ by less are the same, mm and mm^2, beside the noise of the model.
_SAME = 0.05


def changes_with_time(solid: Solid, settings: Settings, outcome: Outcome) -> bool:
    """Whether another run of the same solid gives other cut files."""
    copy = replace(solid, points=np.array(solid.points))
    return _cut_files(run(copy, settings, title=outcome.title)) != _cut_files(outcome)


def changes_with_order(solid: Solid, settings: Settings, outcome: Outcome, *, seed: int) -> bool:
    """Whether the same unmarked surface in another order gives other outlines, or is not cut at all."""
    try:
        other = run(_reordered(solid, seed), settings, title=outcome.title)
    except GeometryError:
        return True
    return not _has_same_parts(outcome, other)


def _cut_files(outcome: Outcome) -> dict[str, str]:
    """Return the text of all cut files."""
    parts = {part.id: part for part in outcome.pieces}
    return sheet_files(outcome.layout, parts, outcome.lines, title=outcome.title, date="")


def _reordered(solid: Solid, seed: int) -> Solid:
    """Return an unmarked solid with its points, faces and first corners in another order."""
    chance = np.random.default_rng(seed)
    place = chance.permutation(len(solid.points))
    points = np.empty_like(solid.points)
    points[place] = solid.points
    faces = []
    for k in chance.permutation(len(solid.faces)).tolist():
        ring = [int(place[point]) for point in solid.faces[k]]
        first = int(chance.integers(len(ring)))
        faces.append([*ring[first:], *ring[:first]])
    return make_solid(points, faces, source=solid.sources[0])


def _sizes_of_parts(outcome: Outcome) -> list[tuple[str, float, float]]:
    """Return what each part is, its area, mm^2, and the length of its outline, mm, in order."""
    return sorted((part.kind.value, part.area, part.outline.length) for part in outcome.parts)


def _has_same_parts(one: Outcome, two: Outcome) -> bool:
    """Whether two outcomes have the same outlines up to their names and where they lie."""
    first, second = _sizes_of_parts(one), _sizes_of_parts(two)
    if [kind for kind, *_ in first] != [kind for kind, *_ in second]:
        return False
    loose = _SAME + 10.0 * one.proof.limit
    return all(
        abs(a[1] - b[1]) < loose * max(a[2], 1.0) and abs(a[2] - b[2]) < loose
        for a, b in zip(first, second, strict=True)
    )
