"""Hip roofs as blocked out, against the figures that framing squares carry.

Rafters per foot of common run: sqrt(12^2 + rise^2) common, sqrt(2 * 12^2 + rise^2) hip; 6, 8 and 12 in 12
read 13.42 / 18.00, 14.42 / 18.76 and 16.97 / 20.78 on the blade. Angles in degrees: hip dihedral
180 - acos(cos^2 pitch) and backing asin(sin pitch * cos 45), worked out in the usual roof framing tables.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from stowfold.geometry.plan.walls import Roof, RoofKind, block_out, pitch_of_rise
from stowfold.geometry.solid.facets import Edge, Facets, ShellKind
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import make_solid
from stowfold.geometry.unfold.corner import SHARPEST_BEND

SQUARE = 25.4
FOOT = 12.0

#: rise: pitch, common, hip, hip pitch, ridge dihedral, hip dihedral, backing, face angle.
TABLE = {
    6.0: (26.5651, 13.4164, 18.0000, 19.4712, 126.8699, 143.1301, 18.4349, 48.1897),
    8.0: (33.6901, 14.4222, 18.7617, 25.2394, 112.6199, 133.8131, 23.0935, 50.2378),
    12.0: (45.0, 16.9706, 20.7846, 35.2644, 90.0, 120.0, 30.0, 54.7356),
}
BLADE = {6.0: (13.42, 18.00), 8.0: (14.42, 18.76), 12.0: (16.97, 20.78)}


class HipRoof:
    """The roof edges of a house of 11 x 7 squares, sorted into ridge, hips and eaves."""

    def __init__(self, rise: float, overhang: float = 6.0) -> None:
        x, y = 11 * SQUARE, 7 * SQUARE
        roof = Roof(RoofKind.HIP, pitch_of_rise(rise), overhang)
        made = block_out([(0, 0), (x, 0), (x, y), (0, y)], roof=roof)
        self.facets: Facets = find_facets(make_solid(made.points, made.faces, roles=dict(made.roles)))
        self.run = y / 2 + overhang
        (shell,) = [shell for shell in self.facets.shells if shell.kind is ShellKind.ROOF]
        own = [edge for edge in self.facets.edges if edge.left in shell.facets]
        self.eaves = [edge for edge in own if edge.right is None]
        (self.ridge,) = [edge for edge in own if edge.right is not None and abs(self.vector(edge)[2]) < 1e-9]
        self.hips = [edge for edge in own if edge.right is not None and edge is not self.ridge]

    def vector(self, edge: Edge) -> np.ndarray:
        return self.facets.points[edge.end] - self.facets.points[edge.start]

    def normals(self, edge: Edge) -> tuple[np.ndarray, np.ndarray]:
        assert edge.right is not None
        return self.facets.facets[edge.left].frame.n, self.facets.facets[edge.right].frame.n


@pytest.mark.parametrize("rise", sorted(TABLE))
def test_rafters_are_as_long_as_the_square_says(rise: float) -> None:
    roof = HipRoof(rise)
    pitch, common, hip, hip_pitch, *_ = TABLE[rise]
    assert len(roof.hips) == 4
    feet = roof.run / FOOT
    for edge in roof.hips:
        step = roof.vector(edge)
        assert np.linalg.norm(step) / feet == pytest.approx(hip, abs=5e-5)
        assert np.linalg.norm(step) / feet == pytest.approx(BLADE[rise][1], abs=0.005)
        assert math.degrees(math.asin(abs(step[2]) / np.linalg.norm(step))) == pytest.approx(hip_pitch, abs=5e-5)
    for eave in roof.eaves:
        facet = roof.facets.facets[eave.left]
        slope = roof.facets.ring(facet)[:, 1].max()  # v is as steep as the plane
        assert slope / feet == pytest.approx(common, abs=5e-5)
        assert slope / feet == pytest.approx(BLADE[rise][0], abs=0.005)
        assert math.degrees(math.acos(facet.frame.n[2])) == pytest.approx(pitch, abs=5e-5)


@pytest.mark.parametrize("rise", sorted(TABLE))
def test_slopes_meet_at_the_tables_angles(rise: float) -> None:
    roof = HipRoof(rise)
    *_, ridge, hip, backing, face = TABLE[rise]
    assert 180.0 - math.degrees(roof.ridge.angle) == pytest.approx(ridge, abs=5e-5)
    for edge in roof.hips:
        assert 0.0 < edge.angle < SHARPEST_BEND
        assert 180.0 - math.degrees(edge.angle) == pytest.approx(hip, abs=5e-5)
        # the backing is the slope beside the upright plane through the hip: half of what the fold is
        one, two = roof.normals(edge)
        upright = np.cross(roof.vector(edge), [0.0, 0.0, 1.0])
        upright /= np.linalg.norm(upright)
        for normal in (one, two):
            assert math.degrees(math.asin(abs(normal @ upright))) == pytest.approx(backing, abs=5e-5)
        for facet in (edge.left, edge.right):
            eave = next(eave for eave in roof.eaves if eave.left == facet)
            cosine = abs(roof.vector(edge) @ roof.vector(eave))
            cosine /= np.linalg.norm(roof.vector(edge)) * np.linalg.norm(roof.vector(eave))
            assert math.degrees(math.acos(cosine)) == pytest.approx(face, abs=5e-5)


@pytest.mark.parametrize("rise", sorted(TABLE))
def test_slopes_have_the_plan_s_area_over_the_cosine(rise: float) -> None:
    roof = HipRoof(rise)
    x, y = 11 * SQUARE + 12.0, 7 * SQUARE + 12.0
    rings = [roof.facets.ring(roof.facets.facets[eave.left]) for eave in roof.eaves]
    area = sum(0.5 * abs(np.dot(r[:, 0], np.roll(r[:, 1], -1)) - np.dot(r[:, 1], np.roll(r[:, 0], -1))) for r in rings)
    assert area == pytest.approx(x * y / math.cos(pitch_of_rise(rise)), rel=1e-12)
