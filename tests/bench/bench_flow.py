"""Time of each step for the grain store: ``pytest tests/bench/bench_flow.py``.

The reference in the same run is what a general library takes to read and unite the same faces:
trimesh for reading, shapely for the union of the parts' outlines. Report ratios, not seconds.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
import trimesh
from sample_solids import solid_of
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.run import make_parts, run
from stowfold.geometry.joints.floor import lay_floor
from stowfold.geometry.joints.joiner import make_joiners
from stowfold.geometry.joints.stops import make_stops
from stowfold.geometry.outcome import Settings
from stowfold.geometry.paper.guide import render_guide
from stowfold.geometry.paper.report import build_report, dump_report
from stowfold.geometry.proof.prove import prove
from stowfold.geometry.propose.breaks import propose_breaks
from stowfold.geometry.sheet.layout import lay_out
from stowfold.geometry.sheet.svg import draw_sheet
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, make_solid
from stowfold.geometry.unfold.section import unfold


@pytest.fixture(scope="module")
def store():
    solid = solid_of("grain_store")
    birch = find_stock("birch-plywood-3", read_stocks())
    return solid, Settings(birch, birch, birch, birch)


def without_layout(solid, settings):
    facets = find_facets(solid)
    sections = unfold(facets, settings)
    joiners = make_joiners(facets, sections, settings)
    floors = lay_floor(facets, sections, joiners, settings, largest=(594.0, 294.0))
    parts = (*sections.parts, *joiners.parts, *floors.parts, *make_stops(facets, sections, settings))
    return prove(facets, sections, parts, joiners.joiners, floors.tabs, settings, limit=settings.proof_limit)


def test_reference_trimesh_reads_the_faces(benchmark, store):
    solid, _ = store
    triangles = [(face[0], face[k], face[k + 1]) for face in solid.faces for k in range(1, len(face) - 1)]
    benchmark(lambda: trimesh.Trimesh(solid.points, triangles).facets)


def test_reference_shapely_unites_the_outlines(benchmark, store):
    outlines = [part.outline for part in run(*store, title="Grain store").parts]
    benchmark(lambda: shapely.union_all(outlines, grid_size=1e-6))


def test_find_facets(benchmark, store):
    benchmark(find_facets, store[0])


def test_unfold(benchmark, store):
    facets = find_facets(store[0])
    benchmark(unfold, facets, store[1])


def test_joiners_and_floor(benchmark, store):
    solid, settings = store
    facets = find_facets(solid)
    sections = unfold(facets, settings)

    def both() -> None:
        joiners = make_joiners(facets, sections, settings)
        lay_floor(facets, sections, joiners, settings, largest=(594.0, 294.0))

    benchmark(both)


def test_prove(benchmark, store):
    solid, settings = store
    facets = find_facets(solid)
    sections = unfold(facets, settings)
    joiners = make_joiners(facets, sections, settings)
    floors = lay_floor(facets, sections, joiners, settings, largest=(594.0, 294.0))
    parts = (*sections.parts, *joiners.parts, *floors.parts, *make_stops(facets, sections, settings))
    benchmark(prove, facets, sections, parts, joiners.joiners, floors.tabs, settings, limit=settings.proof_limit)


def test_propose_breaks_on_a_long_ring(benchmark, store):
    low = [(0.0, 0.0), (1100.0, 0.0), (1100.0, 900.0), (0.0, 900.0)]
    points = np.array([(x, y, z) for z in (0.0, 62.0) for x, y in low])
    faces = [(i, (i + 1) % 4, (i + 1) % 4 + 4, i + 4) for i in range(4)]
    facets = find_facets(make_solid(points, faces, roles={(i, i + 4): Role.FLEX for i in range(4)}))
    benchmark(propose_breaks, facets, store[1], largest=(594.0, 294.0))


def test_flow_without_layout(benchmark, store):
    assert benchmark(without_layout, *store).holds


def test_lay_out(benchmark, store):
    outcome = run(*store, title="Grain store")
    benchmark(lay_out, outcome.parts, store[1].stocks, store[1].laser)


def test_draw_sheets(benchmark, store):
    outcome = run(*store, title="Grain store")
    parts = {part.id: part for part in outcome.parts}
    benchmark(
        lambda: [draw_sheet(outcome.layout, k, parts, title="Grain store") for k in range(len(outcome.layout.sheets))]
    )


def test_report(benchmark, store):
    outcome = run(*store, title="Grain store")
    benchmark(lambda: dump_report(build_report(outcome)))


def test_guide(benchmark, store):
    outcome = run(*store, title="Grain store")
    benchmark(render_guide, outcome)


def test_whole_run(benchmark, store):
    benchmark(run, *store, title="Grain store")


@pytest.mark.parametrize("sample", ["grain_store", "toll_house", "lock_keepers_house"])
def test_parts_after_an_edit(benchmark, store, sample):
    assert benchmark(make_parts, solid_of(sample), store[1], title=sample).outcome.parts
