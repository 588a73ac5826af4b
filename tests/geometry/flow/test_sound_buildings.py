"""Buildings of the sweep's families are sound: surfaces without gaps, planes and sizes as their definitions say."""

from __future__ import annotations

import math
from collections import Counter

import numpy as np
import pytest
from drawn_meshes import Stored
from hooded_roofs import Roof, grown, hip_hoods
from shapely.geometry import Polygon
from sound_buildings import FAMILIES, make_sound

#: A vertex of a face that is flat lies off its plane by this at most, mm, beside the noise that was put on.
_STORED = 1e-3


@pytest.mark.parametrize("name", FAMILIES)
def test_a_sound_building_has_flat_faces_that_agree_on_their_sides(name: str) -> None:
    for number in range(4):
        building = make_sound(1, FAMILIES[name], number)
        solid = building.solid
        ways = Counter(way for face in solid.faces for way in zip(face, (*face[1:], face[0]), strict=True))
        assert max(ways.values()) == 1, (name, number)
        for face in solid.faces:
            corners = solid.points[list(face)] - solid.points[list(face)].mean(axis=0)
            off = np.abs(corners @ np.linalg.svd(corners)[2][2]).max()
            assert off <= _STORED + 4.0 * building.noise, (name, number)


@pytest.mark.parametrize("name", ["closed-body", "convex", "open-solid"])
def test_closed_surfaces_have_their_fronts_outside(name: str) -> None:
    """By the divergence theorem the volume of a closed surface with its fronts outside is above zero."""
    closed = 0
    for number in range(12):
        solid = make_sound(1, FAMILIES[name], number).solid
        sides = Counter(frozenset(way) for face in solid.faces for way in zip(face, (*face[1:], face[0]), strict=True))
        if set(sides.values()) != {2}:
            continue
        corners = [solid.points[[face[0], *face[k : k + 2]]] for face in solid.faces for k in range(1, len(face) - 1)]
        assert np.linalg.det(np.array(corners)).sum() > 0.0, (name, number)
        closed += 1
    assert closed == 12 or (name == "open-solid" and closed > 0)


@pytest.mark.parametrize("stored", [Stored.IMPORTED, Stored.TURNED_OVER, Stored.FAR])
def test_a_mesh_on_its_way_keeps_its_area(stored: Stored) -> None:
    usual, other = (make_sound(1, FAMILIES["hip"], 4, stored=way).solid for way in (Stored.USUAL, stored))
    areas = []
    for solid in (usual, other):
        corners = [solid.points[[face[0], *face[k : k + 2]]] for face in solid.faces for k in range(1, len(face) - 1)]
        edges = np.diff(np.array(corners), axis=1)
        areas.append(np.linalg.norm(np.cross(edges[:, 0], edges[:, 1]), axis=1).sum() / 2.0)
    assert areas[0] == pytest.approx(areas[1], rel=1e-4) and not usual.is_same(other)


def test_a_building_of_a_family_depends_on_its_seed_and_number_alone() -> None:
    one, two, other = (make_sound(seed, FAMILIES["hip"], 5) for seed in (1, 1, 2))
    assert one.solid.is_same(two.solid) and not one.solid.is_same(other.solid)


def test_hips_of_one_pitch_over_wings_have_the_area_of_their_plan_over_the_cosine() -> None:
    """Every roof of one pitch does, as any handbook of carpentry says."""
    plan = np.array([(0, 0), (150, 0), (150, 60), (90, 60), (90, 140), (40, 140), (40, 60), (0, 60)], dtype=float)
    pitch, overhang = math.radians(40.0), 7.0
    ground = grown(plan, overhang)
    faces = Roof(hip_hoods(ground, 50.0, math.tan(pitch))).faces(ground)
    area = sum(Polygon([point[:2] for point in face]).area for face in faces) / math.cos(pitch)
    assert area == pytest.approx(ground.area / math.cos(pitch), abs=1e-6)
    assert len(faces) == len(plan) - 1  # beside the narrower wing, the two eaves of the bar lie under one slope
