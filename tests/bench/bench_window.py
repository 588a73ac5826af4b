"""How long the window works after a change: reading a building of 60 facets and making what is drawn over it.

``python -m pytest tests/bench/bench_window.py`` in a Python with Blender's module. The reference in the
same run is the host's own triangulation of the same mesh.
"""

from __future__ import annotations

import bpy
import pytest
import stowfold
from stowfold.bends import overlay as roles
from stowfold.geometry.solid.find import find_facets
from stowfold.host import reading
from stowfold.plot import overlay as openings

#: A comb of fifteen teeth: sixty walls, all corners flex.
TEETH = 15


@pytest.fixture(scope="module")
def comb():
    stowfold.register()
    bpy.ops.wm.read_factory_settings(use_empty=True)
    bpy.context.scene.unit_settings.scale_length = 0.001
    corners = [(0, 0), (2 * TEETH - 1, 0)]
    for tooth in reversed(range(TEETH)):
        right, left = 2 * tooth + 1, 2 * tooth
        corners += [(right, 4), (left, 4)]
        if tooth:
            corners += [(left, 2), (left - 1, 2)]
    text = " ".join(f"{x},{y}" for x, y in corners)
    assert bpy.ops.stowfold.add_building(plan="CORNERS", corners=text) == {"FINISHED"}
    house = bpy.context.object
    for x in (60.0, 150.0, 240.0, 330.0):
        bpy.context.scene.cursor.location = (x, 0.0, 0.0)
        bpy.ops.stowfold.add_opening(kind="DOOR")
    bpy.context.view_layer.update()
    yield house
    stowfold.unregister()


def test_it_has_sixty_facets(comb):
    assert len(find_facets(reading.read_solid([comb], bpy.context.scene)).facets) == 60


def test_reading_with_openings(benchmark, comb):
    benchmark(lambda: find_facets(reading.read_solid([comb], bpy.context.scene)))


def test_lines_of_bends_and_openings(benchmark, comb):
    benchmark(lambda: (roles._marked_lines(comb, bpy.context.scene), openings.outlines(bpy.context)))


def test_reference_triangles_of_the_host(benchmark, comb):
    def triangulate():
        comb.data.update()
        comb.data.calc_loop_triangles()

    benchmark(triangulate)
