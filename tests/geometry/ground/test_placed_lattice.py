"""A placed lattice in its part: slits and zone against shapely's affine transformation."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from parts_by_hand import make_lattice
from shapely.affinity import affine_transform
from shapely.geometry import box


def test_slits_and_zone_lie_where_shapely_moves_the_lattice_to() -> None:
    across, along = np.array([0.6, 0.8]), np.array([-0.8, 0.6])
    placed = replace(make_lattice(0.0, 62.0), origin=np.array([30.0, -5.0]), across=across, along=along)
    made, slits = placed.lattice, placed.slits
    # shapely takes x' = a x + b y + x0, y' = d x + e y + y0 as (a, b, d, e, x0, y0)
    way = [across[0], along[0], across[1], along[1], *placed.origin]
    lines = shapely.linestrings(
        np.stack([slits.across, slits.start, slits.across, slits.end], axis=1).reshape(-1, 2, 2)
    )
    for line, slit in zip(lines, placed.slit_lines, strict=True):
        np.testing.assert_allclose(slit, affine_transform(line, way).coords, atol=1e-12)
    zone = affine_transform(box(0.0, 0.0, made.flat_width, made.axis_length), way)
    assert shapely.equals_exact(shapely.Polygon(placed.zone).normalize(), zone.normalize(), tolerance=1e-9)
    np.testing.assert_allclose(placed.zone[0], placed.origin)  # the parent's side comes first
    np.testing.assert_allclose(placed.zone[1], placed.origin + along * made.axis_length)
