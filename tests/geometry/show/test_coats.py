"""Coats: boards show their colour fields, and nothing of a face is lost or shown twice."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import trimesh
from shapely.geometry import Polygon, box
from stowfold.geometry.part import ColourField, PaintRole, PartKind
from stowfold.geometry.show.boards import boards_of
from stowfold.geometry.show.coats import COATED, coats_of
from stowfold.geometry.show.mesh import FaceKind
from toll_house_corner import make_outcome


def areas_by_kind(part) -> dict[int, float]:
    """Areas of the faces of a part by their kind, measured by trimesh, mm^2."""
    piece = boards_of(part).piece
    triangles = piece.triangles
    # four-cornered faces come last as second halves, in the order of faces
    kinds = np.concatenate([piece.kinds, piece.kinds[piece.sizes == 4]])
    sizes = trimesh.triangles.area(piece.points[triangles])
    return {int(kind): float(sizes[kinds == kind].sum()) for kind in np.unique(kinds)}


def test_fields_take_the_place_of_the_bare_face() -> None:
    wall = next(part for part in make_outcome().parts if part.kind is PartKind.WALL)
    before = areas_by_kind(wall)
    x0, y0, x1, y1 = wall.outline.bounds
    board = Polygon(wall.panels[0].ring, wall.panels[0].holes)
    left, right = box(x0, y0, (x0 + x1) / 3, y1), box((x0 + x1) / 3, y0, x1, y1)
    zone = Polygon(wall.lattices[0].zone)
    fields = (
        ColourField("tar", PaintRole.MAIN, board.intersection(left), up=True),
        ColourField("tar", PaintRole.UNITS, board.intersection(right), up=True),
        ColourField("tar", PaintRole.MAIN, zone, up=True, thin=True),
        ColourField("lime", PaintRole.MAIN, board, up=False),
    )
    coated = replace(wall, colour_fields=fields)
    after = areas_by_kind(coated)
    assert coats_of(coated) == (("tar", PaintRole.MAIN), ("tar", PaintRole.UNITS), ("lime", PaintRole.MAIN))
    tar, units, lime = (after[COATED + 2 * k] for k in range(3))
    for kind, coats in ((FaceKind.UP, tar + units), (FaceKind.DOWN, lime)):
        assert after.get(kind, 0.0) + coats == pytest.approx(before[kind], abs=0.05)
    assert units == pytest.approx(board.intersection(right).area, rel=0.02)
    # the strip's links show the coat of its lattice
    assert tar > board.intersection(left).area + 0.3 * zone.area
    assert after[FaceKind.EDGE] == pytest.approx(before[FaceKind.EDGE])
