"""Finishes reach the paint plan: by name, on the parts that show them, with areas that scipy gives as well."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial import ConvexHull
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Settings
from stowfold.geometry.paper.painting import painting_section
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, join_solids, make_solid

BIRCH = find_stock("birch-plywood-3", read_stocks())
PLAIN = Settings(BIRCH, BIRCH, BIRCH, BIRCH)


def screen(finishes: dict[int, str], name: str = "screen"):
    """Three upright boards in a row, 100, 80 and 60 long and 50 high; the first two lie in one plane."""
    x = [(0.0, 0.0), (100.0, 0.0), (180.0, 0.0), (180.0, 60.0)]
    points = np.array([(*at, z) for z in (0.0, 50.0) for at in x])
    faces = [(i, i + 1, i + 5, i + 4) for i in range(3)]
    solid = make_solid(points, faces, roles={(2, 6): Role.FLEX}, source=name)
    return replace(solid, finishes={(name, face): finish for face, finish in finishes.items()})


def rows(said: str) -> dict[str, tuple[str, float]]:
    """What the plan says of every colour: its parts, and its area outside in cm2."""
    table = said[: said.index("</table>")]
    cells = [re.sub(r"<[^>]+>", "", cell) for cell in re.findall(r"<td[^>]*>(.*?)</td>", table)]
    return {cells[k + 1]: (cells[k + 2], float(cells[k + 3])) for k in range(0, len(cells), 7)}


def test_a_finish_is_told_with_its_parts_and_area() -> None:
    outcome = run(screen({0: "limewash", 1: "limewash", 2: "brick <old>"}), PLAIN, title="Screen")
    told = rows(painting_section(outcome))
    assert told["limewash"][0] == told["brick &lt;old&gt;"][0] == "W1"
    panels = {panel.facet: panel for part in outcome.parts for panel in part.panels if part.id == "W1"}
    bend = outcome.parts[0].lattices[0]
    for facet, finish, thin in ((0, "limewash", bend.lattice.flat_width * 50.0), (1, "brick &lt;old&gt;", 0.0)):
        # of points in a plane scipy's hull calls the area volume; these boards are rectangles, and the bend between
        # them goes with the first
        area = ConvexHull(panels[facet].ring).volume + thin
        assert told[finish][1] == pytest.approx(area / 100, abs=0.5)


def test_two_finishes_of_one_stretch_are_told_apart_and_one_without_as_such() -> None:
    outcome = run(screen({0: "limewash", 1: "tar"}), PLAIN, title="Screen")
    told = rows(painting_section(outcome))
    bend = outcome.parts[0].lattices[0].lattice.flat_width
    # boards of 100 and 80 by 50 mm; the second ends at its setback, and the bend goes with what its board has most of
    setback = bend / (np.pi / 2) - 1.5
    assert told["limewash"][1] == pytest.approx(50.0 + bend / 2, abs=0.5)
    assert told["tar"][1] == pytest.approx((80.0 - setback) / 2, abs=0.5)
    assert "no finish in the model" in told
    assert "<h3>Colours</h3>" not in painting_section(run(screen({}), PLAIN, title="Screen"))


def test_finishes_follow_their_objects_when_several_are_joined() -> None:
    both = join_solids(
        [screen({0: "tar"}, "left"), replace(screen({2: "lead"}, "right"), points=screen({}).points + 500)]
    )
    facets = find_facets(both)
    named = {(facets.sources[facet.source], facet.faces): facets.finishes_of(facet.id) for facet in facets.facets}
    assert named[("left", (0, 1))] == ("tar",) and named[("left", (2,))] == ()
    assert named[("right", (0, 1))] == () and named[("right", (2,))] == ("lead",)
