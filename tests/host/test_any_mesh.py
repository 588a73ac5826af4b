"""Meshes as makers bring them, from the file to the report: scaled, turned, mirrored, astray, in pieces."""

from __future__ import annotations

import json

import numpy as np
import pytest

GABLE = [(x, y, z) for x in (0.0, 160.0) for y, z in ((0, 0), (0, 55), (55, 95), (110, 55), (110, 0))]
FACES = [(0, 1, 2, 3, 4), (5, 9, 8, 7, 6), (0, 5, 6, 1), (3, 8, 9, 4), (1, 6, 7, 2), (2, 7, 8, 3), (0, 4, 9, 5)]


@pytest.fixture
def cut(save, run, tmp_path):
    """A function that cuts the scene and returns its report."""

    def cut_all() -> dict:
        exit_code, _, err = run("cut", save(), "-o", tmp_path / "cut", "--propose", "all")
        assert (exit_code, err) == (0, [])
        return json.loads((tmp_path / "cut" / "report.json").read_text(encoding="utf-8"))

    return cut_all


def _kinds(report: dict) -> list[str]:
    return sorted({part["id"].rstrip("0123456789") for part in report["parts"] if part["id"][0] in "WRPF"})


def _told(report: dict) -> set[str]:
    return {finding["code"] for finding in report["findings"]}


def test_a_mirrored_scaled_turned_block_with_a_ridge_is_a_house(add_mesh, cut) -> None:
    """Stored in single precision, with vertices up to 0.05 mm astray and one loose."""
    astray = np.random.default_rng(7).uniform(-0.05, 0.05, (len(GABLE), 3))
    target = add_mesh("Grain store", [*map(tuple, np.add(GABLE, astray)), (20.0, 20.0, 20.0)], FACES)
    target.scale, target.location, target.rotation_euler = (-1.0, 1.2, 1.0), (431.7, -212.3, 0.0), (0.0, 0.0, 0.7)
    report = cut()
    assert _kinds(report) == ["F", "R", "W"]
    assert {"closed-body", "corners-moved"} <= _told(report)
    assert 0.01 < report["proof"]["reading_noise"] < 0.2
    assert report["proof"]["corner_distance"] < 1e-3


@pytest.mark.slow
def test_triangles_with_points_of_their_own_and_three_decimals_are_a_house(add_mesh, cut) -> None:
    """As an exchange file of loose triangles has it."""
    triangles = [(ring[0], *ring[k : k + 2]) for ring in FACES for k in range(1, len(ring) - 1)]
    points = [tuple(np.round(np.divide(GABLE[k], 3.0), 3) * 3.0) for triangle in triangles for k in triangle]
    add_mesh("Import", points, [(k, k + 1, k + 2) for k in range(0, len(points), 3)])
    report = cut()
    assert _kinds(report) == ["F", "R", "W"]
    assert "closed-body" in _told(report)
