"""Names of places: they say where a wall looks, no two are alike, and they are the words of a maker.

Where a wall looks is checked with shapely: a step to the named side leads out of the plan, a step back into it.
"""

from __future__ import annotations

from dataclasses import replace

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
from stowfold.geometry.sentence import EdgeRef, FaceRef, Listed, PointRef, Sentence
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.places import name_places
from stowfold.geometry.solid.solid import Role, join_solids

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


def say(names, *pieces, near=None):
    return names.say(Sentence.of(*pieces), near)


def test_sentences_name_places_in_words():
    names = name_places(find_facets(loop_of_walls(L_PLAN)))
    assert say(names, FaceRef(0), " is 3 mm short.") == "The front wall is 3 mm short."
    both = Listed((FaceRef(0), FaceRef(2)))
    assert say(names, "Between ", both, " it opens.") == "Between the front wall and the back wall, right, it opens."
    assert say(names, "It ends at ", FaceRef(2), ".") == "It ends at the back wall, right."


def test_what_is_no_place_of_the_model_is_named_by_what_is_next_to_it():
    names = name_places(find_facets(loop_of_walls(L_PLAN)))
    assert say(names, "See ", EdgeRef(4000), " and ", FaceRef(99), ".") == "See an edge and a face."
    # within 1 mm of the middle of the wall at the back, on the right, whose name ends with a comma where more follows
    point = (145.0, 81.0, 20.0)
    assert say(names, FaceRef(99), " is left out.", near=point) == "A face near the back wall, right, is left out."
    assert say(names, "It moved, most ", PointRef(point)) == "It moved, most near the back wall, right"
    two = Listed((FaceRef(0), FaceRef(99)))
    assert say(names, two, " cross.", near=point) == "The front wall and another face cross."


def test_one_place_that_has_many_faces_of_the_host_is_named_once():
    in_strips = [(float(x), 0.0) for x in range(0, 200, 20)] + L_PLAN[1:]
    names = name_places(find_facets(loop_of_walls(in_strips)))
    assert say(names, "Mend ", Listed(tuple(FaceRef(k) for k in range(10))), ".") == "Mend the front wall."


@pytest.mark.parametrize("size", ["2 mm", "12.5 mm", "90 degrees"])
def test_numbers_in_the_words_of_a_sentence_stay_as_they_are(size):
    names = name_places(find_facets(loop_of_walls(L_PLAN)))
    said = say(names, "'Edge 1' at ", FaceRef(0), f", {size} off, and ", FaceRef(2), f" and {size} more.")
    assert said == f"'Edge 1' at the front wall, {size} off, and the back wall, right, and {size} more."


def test_a_face_is_looked_up_in_its_own_object():
    house, shed = loop_of_walls(L_PLAN), loop_of_walls([(500 + x, y) for x, y in L_PLAN])
    names = name_places(find_facets(join_solids([house, replace(shed, sources=("Shed",))])))
    assert say(names, FaceRef(0, "Shed"), " leans.") == "The front wall of Shed leans."
    assert say(names, FaceRef(0, "Table"), " leans.") == "A face leans."
