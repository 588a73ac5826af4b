"""The three sample buildings as solids, laid out without Blender."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from buildings import SAMPLES, SQUARE, Fitting
from stowfold.geometry.plan.opening import OpeningKind, OpeningSize, stand_in_wall
from stowfold.geometry.solid.opening import Opening
from stowfold.geometry.solid.solid import Role, Solid, make_solid

NAMES = tuple(sample.file for sample in SAMPLES)


def solid_of(name: str) -> Solid:
    """Return the sample of this file name, without its ending, as faces in mm with their marks.

    Its doors and windows are plain openings, without leaves, bars and trim.
    """
    sample = next(sample for sample in SAMPLES if sample.file == name)
    shape = sample.shape()
    roles = {pair: Role(mark) for pair, mark in shape.marks.items()}
    solid = make_solid(np.array(shape.points), shape.faces, roles=roles, source=name)
    return replace(solid, openings=tuple(_plain(sample.fittings)))


def _plain(fittings: tuple[Fitting, ...]) -> Iterator[Opening]:
    for fitting in fittings:
        x, y = fitting.foot
        # the end walls run along y, all others along x
        along = [0.0, 1.0, 0.0] if x in (0.0, 11 * SQUARE) else [1.0, 0.0, 0.0]
        size = OpeningSize(fitting.width, fitting.height, fitting.sill)
        kind = OpeningKind(fitting.kind.lower())
        yield stand_in_wall(fitting.name, kind, size, foot=np.array([x, y, 0.0]), along=np.array(along))
