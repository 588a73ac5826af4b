"""A model is never exact: small noise is cut like the model meant, and large noise is told with its face and size."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from sample_solids import solid_of
from slow_cases import one_quick
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.findings import Severity
from stowfold.geometry.flow import unfolding
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Outcome, Settings
from stowfold.geometry.proof.proof import proof_limit
from stowfold.geometry.settings import FloorSettings
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, Solid, make_solid
from stowfold.geometry.solid.straighten import straighten

BIRCH = find_stock("birch-plywood-3", read_stocks())
SETTINGS = Settings(BIRCH, BIRCH, BIRCH, BIRCH)
SAMPLES = ("grain_store", "toll_house", "lock_keepers_house")


def shaken(solid: Solid, reach: float, seed: int = 2) -> Solid:
    """Move every coordinate by up to ``reach``, mm."""
    return replace(solid, points=solid.points + np.random.default_rng(seed).uniform(-reach, reach, solid.points.shape))


@cache
def counts(name: str) -> tuple[int, int]:
    """Return how many parts and joiners a sample has as it is."""
    outcome = run(solid_of(name), SETTINGS, title="Exact")
    return len(outcome.parts), len(outcome.joiners)


def errors(outcome: Outcome) -> list[str]:
    return [finding.message for finding in outcome.findings if finding.severity is Severity.ERROR]


def lift_a_corner_row(monkeypatch: pytest.MonkeyPatch, height: float) -> None:
    """Have the solid's corners of the first section stand ``height`` mm above where they were unfolded from."""

    def lifted(*given):
        sections = unfold(*given)
        first = sections.parts[0]
        up = np.array([0.0, 0.0, height])
        panels = tuple(replace(panel, corner_points=panel.corner_points + up) for panel in first.panels)
        return replace(sections, parts=(replace(first, panels=panels), *sections.parts[1:]))

    unfold = unfolding.unfold
    monkeypatch.setattr(unfolding, "unfold", lifted)


@pytest.mark.parametrize("reach", one_quick([1e-4, 1e-3]))
@pytest.mark.parametrize("name", one_quick(list(SAMPLES), "toll_house"))
def test_small_noise_changes_nothing(name: str, reach: float) -> None:
    outcome = run(shaken(solid_of(name), reach), SETTINGS, title="Noise")
    assert errors(outcome) == []
    assert outcome.proof.holds
    assert (len(outcome.parts), len(outcome.joiners)) == counts(name)
    assert all(part.outline.is_valid for part in outcome.parts)
    assert 0.5 * reach < outcome.proof.reading_noise < 2 * reach
    assert not [finding.code for finding in outcome.findings if finding.code == "opening-within-kerf"]


@pytest.mark.parametrize("reach", one_quick([1e-2, 1e-1], 1e-1))
@pytest.mark.parametrize("name", one_quick(list(SAMPLES), "toll_house"))
def test_vertices_dragged_by_hand_give_the_same_parts(name: str, reach: float) -> None:
    """Every part is there, and nowhere farther from its outline without noise than corners were moved."""
    exact, outcome = (run(solid, SETTINGS, title="Noise") for solid in (solid_of(name), shaken(solid_of(name), reach)))
    assert errors(outcome) == []
    assert outcome.proof.holds and outcome.proof.limit == SETTINGS.proof_limit
    assert 0.5 * reach < outcome.proof.reading_noise < 2 * reach
    wanted = {part.id: part.outline for part in exact.parts}
    assert [part.id for part in outcome.parts] == list(wanted)
    off = [part.outline.hausdorff_distance(wanted[part.id]) for part in outcome.parts]
    # what corners are moved by at most; a roof of four slopes adds them up, and tips of ears are slender
    assert max(off) < 0.02 + 7 * reach
    (note,) = (finding for finding in outcome.findings if finding.code == "corners-moved")
    stated = re.search(r"moved by up to (\d+\.\d+) mm", note.message)
    assert stated is not None and 0.5 * reach < float(stated[1]) < 3 * reach


@pytest.mark.slow
def test_a_corner_far_astray_is_told_with_its_face_and_size() -> None:
    """numpy fits planes by least squares, ours go by area: they agree on the face and nearly on its size."""
    solid = solid_of("lock_keepers_house")
    points = solid.points.copy()
    eaves = int(np.argmin(points @ [1.0, 1.0, -1.0] + 500.0 * (points[:, 2] < 50.0)))
    points[eaves] += [0.0, 0.0, 9.0]
    solid = replace(solid, points=points)
    outcome = run(solid, SETTINGS, title="Noise")
    bent = [found for found in outcome.findings if found.code == "non-planar-facet" and found.severity == "error"]
    stated = re.search(r"out of flat by (\d+\.\d+) mm", bent[0].message)
    off = []
    for face in solid.faces:
        corners = solid.points[list(face)]
        normal = np.linalg.svd(corners - corners.mean(axis=0))[2][2]
        off.append(np.abs((corners - corners.mean(axis=0)) @ normal).max())
    assert bent[0].where.faces == (int(np.argmax(off)),)
    assert stated is not None and float(stated[1]) == pytest.approx(max(off), rel=0.2)


@pytest.mark.slow
def test_a_flat_model_that_fails_is_a_fault_of_ours(monkeypatch: pytest.MonkeyPatch) -> None:
    """Corners 0.01 mm from where they should be: nothing about the model excuses that."""
    lift_a_corner_row(monkeypatch, 0.01)
    outcome = run(solid_of("toll_house"), SETTINGS, title="Noise")
    assert outcome.proof.corner_distance == pytest.approx(0.01, rel=1e-6)
    (finding,) = (found for found in outcome.findings if found.code == "proof-fails")
    assert "0.01 mm" in finding.message and "fault of ours" in finding.message


def test_the_limit_follows_the_noise_up_to_half_a_clearance() -> None:
    """A wall end stands 0.25 mm before its core; half of that is never given to noise."""
    assert proof_limit(1e-3, 3e-5, SETTINGS) == 1e-3
    assert proof_limit(1e-9, 1e-5, SETTINGS) == pytest.approx(2e-4)
    assert proof_limit(1e-3, 1e-3, SETTINGS) == pytest.approx(0.02)
    assert proof_limit(1e-3, 0.5, SETTINGS) == pytest.approx(0.125)
    tight = replace(SETTINGS, ground=FloorSettings(play_across=0.02))
    assert proof_limit(1e-3, 0.5, tight) == pytest.approx(0.005)


@pytest.mark.slow
def test_a_noisy_model_still_fails_its_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    """Noise of 0.001 mm allows some hundredths of a millimetre; a panel 0.1 mm off is told by as much."""
    lift_a_corner_row(monkeypatch, 0.1)
    outcome = run(shaken(solid_of("toll_house"), 1e-3), SETTINGS, title="Noise")
    assert outcome.proof.corner_distance == pytest.approx(0.1, abs=0.01)
    assert not outcome.proof.holds
    assert Counter(finding.code for finding in outcome.findings)["proof-fails"] == 1


@pytest.mark.parametrize("role", [Role.BREAK, Role.FLEX])
@pytest.mark.parametrize("name", one_quick(list(SAMPLES), "toll_house"))
def test_a_vertex_of_one_face_alone_loses_no_part(name: str, role: Role) -> None:
    """Half-way up a marked edge one face has a vertex that the other one does not have."""
    solid = solid_of(name)
    marks = {pair: mark for pair, mark in zip(solid.edges, solid.edge_roles, strict=True) if mark}
    a, b = next(pair for pair, mark in marks.items() if mark is role)
    points = np.vstack([solid.points, solid.points[[a, b]].mean(axis=0)])
    faces = list(solid.faces)
    face = next(k for k, ring in enumerate(faces) if {a, b} <= set(ring))
    ring = faces[face]
    sides = zip(ring, (*ring[1:], ring[0]), strict=True)
    faces[face] = tuple(p for one, two in sides for p in ((one, len(solid.points)) if {one, two} == {a, b} else (one,)))
    outcome = run(make_solid(points, faces, roles=marks), SETTINGS, title="Vertex")
    assert errors(outcome) == []
    assert (len(outcome.parts), len(outcome.joiners)) == counts(name)


def steep_house_of_triangles() -> Solid:
    """Return low walls under a steep gable roof of its own, all of triangles."""
    length, width, eaves, ridge = 190.0, 170.0, 54.0, 182.0
    points = [(x, y, z) for z in (0.0, eaves) for x, y in ((0, 0), (length, 0), (length, width), (0, width))]
    points += [(0.0, width / 2, ridge), (length, width / 2, ridge)]
    over, down = 6.0, 6.0 * (ridge - eaves) / (width / 2)
    rows = ((-over, eaves - down), (width / 2, ridge), (width + over, eaves - down))
    points += [(x, y, z) for y, z in rows for x in (-over, length + over)]
    walls = [
        (0, 1, 5),
        (0, 5, 4),
        (2, 3, 7),
        (2, 7, 6),
        (1, 2, 6),
        (1, 6, 5),
        (5, 6, 9),
        (3, 0, 4),
        (3, 4, 7),
        (7, 4, 8),
    ]
    roof = [(10, 11, 13), (10, 13, 12), (12, 13, 15), (12, 15, 14)]
    return make_solid(points, [*walls, *roof])


@pytest.mark.parametrize("seed", range(3, 7))
def test_triangles_that_turn_by_hardly_anything_are_still_one_flat_face(seed: int) -> None:
    """Noise of 0.02 mm turns triangles of this size by less than a thousandth, and leaves corners off their plane."""
    straight = straighten(shaken(steep_house_of_triangles(), 0.02, seed))
    assert len(find_facets(straight).facets) == 4 + 2
