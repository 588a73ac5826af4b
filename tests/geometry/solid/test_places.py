"""Names of places: they say where a wall looks, no two are alike, and they are the words of a maker.

Where a wall looks is checked with shapely: a step to the named side leads out of the plan, a step back into it.
"""

from __future__ import annotations

import numpy as np
import pytest
from block_outs import loop_of_walls
from sample_solids import NAMES, solid_of
from shapely.geometry import Point, Polygon
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.findings import Location
from stowfold.geometry.flow.added import add_building, as_solid
from stowfold.geometry.outcome import Settings
from stowfold.geometry.plan.outline import PlanKind
from stowfold.geometry.plan.roof import Roof, RoofKind
from stowfold.geometry.plan.sizes import BuildingSizes
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.places import name_places
from stowfold.geometry.solid.solid import Role

TOWARD = {
    "front": (0, -1),
    "back": (0, 1),
    "left": (-1, 0),
    "right": (1, 0),
    "front left": (-1, -1),
    "front right": (1, -1),
    "back left": (-1, 1),
    "back right": (1, 1),
}

L_PLAN = [(0, 0), (200, 0), (200, 80), (90, 80), (90, 160), (0, 160)]
OCTAGON = [(100 * np.cos(a), 100 * np.sin(a)) for a in np.arange(8) * np.pi / 4 + np.pi / 8]


@pytest.mark.parametrize("plan", [L_PLAN, OCTAGON])
@pytest.mark.parametrize("face", ["inside", "outside"])
def test_a_wall_is_named_after_the_side_to_which_it_looks(plan, face):
    facets = find_facets(loop_of_walls(plan), wall_face=face)
    names, room = name_places(facets), Polygon(plan)
    for facet in facets.facets:
        if not facet.upright:
            continue
        name = names.facets[facet.id].split(" wall")[0]
        middle = facets.corners(facet).mean(axis=0)[:2]
        step = 2.0 * np.array(TOWARD[name], dtype=float)
        assert not room.contains(Point(middle + step)), name
        assert room.contains(Point(middle - step)), name


@pytest.mark.parametrize("name", NAMES)
def test_no_two_places_of_a_sample_have_one_name(name):
    facets = find_facets(solid_of(name))
    names = name_places(facets)
    assert len(set(names.facets.values())) == len(facets.facets)
    assert len(set(names.edges.values())) == len(facets.edges)
    assert not any(letter.isdigit() for facet in names.facets.values() for letter in facet if len(facets.facets) < 12)


def test_a_shed_with_a_gable_roof_is_named_as_one_walks_round_it():
    birch = find_stock("birch-plywood-3", read_stocks())
    sizes = BuildingSizes(PlanKind.RECTANGLE, length=6.0, width=4.0, roof=Roof(RoofKind.GABLE))
    facets = find_facets(as_solid(add_building(sizes, Settings(birch, birch, birch, birch))))
    names = name_places(facets)
    # breaks part the long walls
    walls = {names.facets[facet.id].split(",")[0] for facet in facets.facets if facet.upright}
    assert walls == {"front wall", "right wall", "back wall", "left wall"}
    slopes = {names.facets[facet.id] for facet in facets.facets if not facet.upright}
    assert slopes == {"front slope", "back slope"}
    assert "ridge" in names.edges.values()
    assert {"front left corner", "front right corner", "back left corner", "back right corner"} <= set(
        names.edges.values()
    )


def test_two_front_walls_are_left_and_right_and_a_corner_that_turns_in_says_so():
    names = name_places(find_facets(loop_of_walls(L_PLAN)))
    assert {"back wall, left", "back wall, right", "right wall, front", "right wall, back"} <= set(
        names.facets.values()
    )
    assert "back right inner corner" in names.edges.values()


def test_a_finding_is_placed_by_its_edges_then_its_faces_then_its_part():
    facets = find_facets(loop_of_walls(L_PLAN, roles={(0, 1): Role.FLEX}))
    names = name_places(facets)
    facet, edge = facets.facets[0], next(edge for edge in facets.edges if edge.host_edges)
    source = facets.sources[0]
    assert names.words(Location(faces=facet.faces, source=source)) == names.facets[facet.id]
    assert names.words(Location(faces=facet.faces, edges=edge.host_edges, source=source)) == names.edges[edge.id]
    assert names.words(Location(part="W1")) == "W1"
    assert names.words(Location()) == ""
    every = tuple(face for facet in facets.facets for face in facet.faces)
    assert names.words(Location(faces=every)).endswith(f" and {len(facets.facets) - 1} more")


def test_sentences_name_places_in_words_and_leave_unknown_numbers_alone():
    names = name_places(find_facets(loop_of_walls(L_PLAN)))
    assert names.reworded("face 0 is 3 mm short.") == "The front wall is 3 mm short."
    said = names.reworded("Between faces 0 and 2 it opens; see edge 4000 and face 99.")
    assert said == "Between the front wall and the back wall, right, it opens; see an edge and a face."


@pytest.mark.parametrize("size", ["2 mm", "12.5 mm", "90 degrees"])
def test_a_size_behind_a_face_is_no_face(size):
    names = name_places(find_facets(loop_of_walls(L_PLAN)))
    assert names.reworded(f"A break at face 0, {size} off, and face 2 and {size} more.") == (
        f"A break at the front wall, {size} off, and the back wall, right, and {size} more."
    )
