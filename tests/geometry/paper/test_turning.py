"""The view in three dimensions: what it is given is whole, small and leads to the page's own pictures."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from filmed import FILMED, filmed
from shapely.geometry import Polygon, box
from slow_cases import one_quick
from stowfold.geometry.paint.contrast import LEAST_CONTRAST, contrast
from stowfold.geometry.paint.paint import Paint, Scheme
from stowfold.geometry.paper import turning
from stowfold.geometry.paper.guide import render_guide
from stowfold.geometry.paper.turning import turning_view, view_data
from stowfold.geometry.part import ColourField, Dressing, PaintRole, Way
from stowfold.geometry.show.bending import lattice_angles, panel_poses
from stowfold.geometry.show.film import film_of, poses_at
from stowfold.geometry.show.plates import plates_of
from toll_house_corner import make_outcome

SCRIPT = Path(turning.__file__).with_name("turn.js")


def given(page: str) -> dict:
    return json.loads(re.search(r'id="turn-boards">(.*?)</script>', page, re.DOTALL)[1])


@pytest.mark.parametrize("name", one_quick(list(FILMED)))
def test_the_triangles_of_a_part_are_its_board(name: str) -> None:
    outcome, film = filmed(name)
    data = view_data(outcome, film)
    assert [part["id"] for part in data["parts"]] == [part.id for part in outcome.parts]
    for part, shown in zip(outcome.parts, data["parts"], strict=True):
        area = 0.0
        for plate in shown["plates"]:
            corners = np.array(plate["xy"]).reshape(-1, 2)[np.array(plate["tri"])].reshape(-1, 3, 2) / data["unit"]
            one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
            area += float((one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]).sum()) / 2
        assert area == pytest.approx(sum(plate.shape.area for plate in plates_of(part)), rel=1e-3)
        for strip in shown["strips"]:
            assert len(strip["board"]) == (len(strip["x"]) - 1) * (len(strip["y"]) - 1)


def test_every_part_leads_to_its_picture_and_its_sheet() -> None:
    outcome, _ = filmed(FILMED[0])
    page = render_guide(outcome)
    ids = set(re.findall(r'id="(part-[\w-]+)"', page))
    files = {sheet.file for sheet in outcome.layout.sheets}
    for part in given(page)["parts"]:
        assert part["anchor"] in ids and part["sheet"] in files
        assert f'href="#{part["anchor"]}"' in page
    # the drawing for paper, and for who reads without scripts
    assert 'class="still"' in page


def test_the_view_is_small_and_no_name_ends_it() -> None:
    outcome, film = filmed(FILMED[0])
    assert len(turning_view(outcome)) < 120_000
    script = SCRIPT.read_text(encoding="utf-8")
    assert "]]>" not in script and "</script" not in script
    assert not re.search(r"https?:|fetch\(|import |eval\(", script)
    written = turning._safe({"label": "</script><b>&", "film": film.box.tolist()})
    assert not set("<>&") & set(written) and json.loads(written)["label"] == "</script><b>&"


@pytest.mark.skipif(shutil.which("node") is None, reason="the script's own arithmetic is run by node")
def test_the_script_puts_every_panel_where_the_film_has_it() -> None:
    outcome, film = filmed(FILMED[0])
    arithmetic = SCRIPT.read_text(encoding="utf-8").partition("// ---- small algebra")[2].partition("// ---- bodies")[0]
    asked = [0.0, 0.33, 0.5, 0.75, 1.0, 1.2, 1.7, 2.0]
    program = (
        f"const data = {json.dumps(view_data(outcome, film))};\n//{arithmetic}\n"
        f"console.log(JSON.stringify({asked}.map((time) => {{ arrange(time);"
        " return data.parts.map((part) => part.poses.map((pose) => times(part.pose, pose))); })));"
    )
    told = subprocess.run(["node", "-"], input=program, capture_output=True, text=True, check=True).stdout
    for time, parts in zip(asked, json.loads(told), strict=True):
        moments = poses_at(film, time)
        for part, shown in zip(outcome.parts, parts, strict=True):
            moment, root = moments[part.id], film.boards[part.id].root
            poses = panel_poses(part, lattice_angles(part, moment.share), root=root)
            for panel, pose, got in zip(part.panels, poses, shown, strict=True):
                matrix = np.array(got).reshape(4, 3).T
                far = matrix[:, :2] @ panel.ring.T + matrix[:, 3:] - (moment.pose @ pose).apply(panel.ring).T
                assert np.abs(far).max() < 0.02, (part.id, time)  # numbers in the page are rounded


def test_coats_fill_their_fields_and_bear_their_colours(outcome) -> None:
    wall = outcome.parts[0]
    board = Polygon(wall.panels[0].ring, wall.panels[0].holes)
    x0, y0, x1, y1 = board.bounds
    left = board.intersection(box(x0, y0, (x0 + x1) / 2, y1))
    line = np.array([[x0 + 2.0, y0 + 2.0], [x0 + 2.0, y0 + 12.0]])
    zone = Polygon(wall.lattices[0].zone)
    fields = (
        ColourField("tar", PaintRole.MAIN, left, up=True),
        ColourField("tar", PaintRole.MAIN, zone, up=True, thin=True),
        ColourField("plain", PaintRole.MAIN, board.difference(left), up=True),
    )
    drawn = (Dressing("tar", Way.ENGRAVE, line, np.array([0, 2])),)
    paint = Paint({"tar": Scheme("#1d1510")}, bare="")
    made = make_outcome(
        parts=(replace(wall, colour_fields=fields, dressings=drawn), *outcome.parts[1:]),
        settings=replace(outcome.settings, paint=paint),
    )
    data = view_data(made, film_of(made))
    # only what has a colour is a coat, and its line is light on it
    assert [coat["face"] for coat in data["coats"]] == ["#1d1510"]
    assert contrast(data["coats"][0]["line"], "#1d1510") >= LEAST_CONTRAST
    (coat,) = next(part for part in data["parts"] if part["id"] == wall.id)["coats"]
    triangles = np.array(coat["xy"]).reshape(-1, 3, 2) / data["unit"]
    assert shapely.area(shapely.polygons(triangles)).sum() == pytest.approx(left.area, rel=1e-3)
    assert np.array(coat["lines"]).reshape(2, 2) / data["unit"] == pytest.approx(line, abs=0.01)
    strips = next(part for part in data["parts"] if part["id"] == wall.id)["strips"]
    assert strips[0]["coats"] == [[True, 0]]
