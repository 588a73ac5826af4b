"""The three sample buildings as solids, laid out without Blender."""

from __future__ import annotations

import numpy as np
from buildings import SAMPLES
from stowfold.geometry.solid.solid import Role, Solid, make_solid

NAMES = tuple(sample.file for sample in SAMPLES)


def solid_of(name: str) -> Solid:
    """Return the sample of this file name, without its ending, as faces in mm with their marks."""
    shape = next(sample.shape() for sample in SAMPLES if sample.file == name)
    roles = {pair: Role(mark) for pair, mark in shape.marks.items()}
    return make_solid(np.array(shape.points), shape.faces, roles=roles, source=name)
