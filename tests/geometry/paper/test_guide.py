"""The guide: well-formed, on its own, every part shown, every name safe, sensible when nearly empty."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest
from block_outs import loop_of_walls
from shapely.geometry import box
from stowfold.geometry.beam.laser import Operation
from stowfold.geometry.durations import minutes
from stowfold.geometry.findings import Finding, Location, Severity
from stowfold.geometry.paper.guide import render_guide
from stowfold.geometry.paper.markup import joined, length
from stowfold.geometry.part import Panel, PartKind
from stowfold.geometry.pose import Pose
from stowfold.geometry.proof.proof import LoopTolerance
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.places import name_places
from toll_house_corner import make_outcome, make_piece

AWKWARD = [
    'The "Old" Mill & <script>alert(1)</script>',
    "</title></h1><img src=x onerror=1>",
    "Speicher 🏚 am Kanal",
    "בית המכס",
    "bell\x07 and \udc80 and \ufffe",
    "' onload='x",
]


def parsed(page: str) -> ET.Element:
    assert page.startswith("<!DOCTYPE html>\n")
    return ET.fromstring(page.removeprefix("<!DOCTYPE html>\n"))


def words(page: str) -> str:
    return " ".join("".join(parsed(page).find("body").itertext()).split())


def chapter(page: str, heading: str) -> str:
    section = next(section for section in parsed(page).iter("section") if section.find("h2").text == heading)
    return " ".join("".join(section.itertext()).split())


class Elements(HTMLParser):
    """What an HTML reader, as opposed to an XML one, makes of the page."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attrs


@pytest.mark.parametrize("title", ["Toll house", *AWKWARD])
def test_the_page_stands_on_its_own_whatever_the_names(title: str) -> None:
    outcome = make_outcome(title)
    first = replace(outcome.parts[0], label=title, notes=(title,))
    finding = Finding(Severity.WARNING, "warp", title)
    page = render_guide(make_outcome(title, parts=(first, *outcome.parts[1:]), findings=(finding,)), date=title)
    parsed(page)
    page.encode("utf-8")
    reader = Elements()
    reader.feed(page)
    # the view's own scripts: what it draws, and what draws it
    assert reader.tags.count("script") == 2 and "<script>alert" not in page
    assert not {"img", "link", "iframe", "object", "embed", "base", "form"} & set(reader.tags)
    for key, value in reader.attributes:
        assert not key.startswith("on"), (key, value)
        assert key not in ("src", "srcset", "xlink:href", "action", "data"), (key, value)
        assert key != "href" or re.fullmatch(r"#(chapter-\d+|part-[\w-]+)", value or ""), (key, value)
    assert not re.search(r"https?:|@import|url\(", page)


def test_as_many_groups_of_lines_are_told_as_the_table_lists(outcome) -> None:
    page = render_guide(outcome)
    told = re.search(r"come in (\d+) groups", page)
    assert told and int(told[1]) == len(Operation)
    listed = page[told.end() :].split("</table>")[0]
    assert listed.count("<tr>") - 1 == len(Operation)


def test_names_appear_as_they_are() -> None:
    for title in AWKWARD[:4]:
        heading = parsed(render_guide(make_outcome(title))).find(".//h1/bdi")
        assert heading.text == title


def test_every_part_has_a_picture_with_its_id(outcome) -> None:
    page = parsed(render_guide(outcome))
    section = next(section for section in page.iter("section") if section.find("h2").text == "Every part")
    shown = {figure.find("svg/text[@class='id']").text for figure in section.iter("figure")}
    assert shown == {part.id for part in outcome.parts}
    sheets = [
        figure
        for division in page.iter("div")
        if division.get("class") == "sheets"
        for figure in division.iter("figure")
    ]
    assert [sorted(text.text for text in figure.iter("text")) for figure in sheets] == [
        ["J1-core", "J1-inner", "J1-outer", "W1", "W2"],
        ["F1"],
    ]


def test_a_picture_shows_outline_slits_and_engraving_in_place(outcome) -> None:
    page = parsed(render_guide(outcome))
    section = next(section for section in page.iter("section") if section.find("h2").text == "Every part")
    wall = section.find(".//figure/svg")
    part = outcome.parts[0]
    numbers = np.array([float(v) for v in re.findall(r"-?\d+\.\d+", wall.find("path[@class='board']").get("d"))])
    points = numbers.reshape(-1, 2)
    x0, y0, x1, y1 = part.outline.bounds
    # The page has y down.
    assert (points[:, 0].min(), points[:, 0].max()) == pytest.approx((x0, x1), abs=0.01)
    assert (points[:, 1].min(), points[:, 1].max()) == pytest.approx((-y1, -y0), abs=0.01)
    slits = wall.find("path[@class='slits']").get("d")
    assert slits.count("M") == len(part.lattices[0].slits.across)
    engraved = [float(v) for v in re.findall(r"-?\d+\.\d+", wall.find("path[@class='engrave']").get("d"))]
    assert engraved == [20.0, -10.0, 50.0, -10.0]


def test_ids_lie_on_their_parts(outcome) -> None:
    page = parsed(render_guide(outcome))
    section = next(section for section in page.iter("section") if section.find("h2").text == "Every part")
    by_id = {part.id: part for part in outcome.parts}
    for text in section.iter("text"):
        x, y, size = float(text.get("x")), -float(text.get("y")), float(text.get("font-size"))
        part = by_id[text.text]
        assert part.outline.contains(box(x - 0.4 * size, y - 0.4 * size, x + 0.4 * size, y + 0.4 * size)), text.text
        for placed in part.lattices:
            zone = placed.zone
            assert not box(*zone.min(axis=0), *zone.max(axis=0)).contains(box(x, y, x + 0.1, y + 0.1))


def test_the_first_paragraph_says_what_it_is(outcome) -> None:
    lead = "".join(parsed(render_guide(outcome)).find(".//p[@class='lead']").itertext())
    assert "Toll house is a building of about 9.1 × 3.9 squares (25.4 mm each)" in lead
    assert "box of 252 × 124 × 15 mm" in lead
    assert "without tool or glue at the table" in lead


def test_cautions_come_first_and_defer(outcome) -> None:
    page = render_guide(outcome)
    headings = [element.text for element in parsed(page).iter("h2")]
    assert headings[0] == "Before you switch the laser on"
    said = chapter(page, headings[0])
    for must in (
        "Never leave the laser alone", "extinguisher", "Fumes", "PVC", "cannot name", "Dust", "Blades", "Magnets",
        "children", "emergency care", "manual of your laser", "safety data sheet", "rules of your workshop and country",
    ):  # fmt: skip
        assert must in said, must


def test_gluing_gives_the_joiners_own_numbers(outcome) -> None:
    said = chapter(render_guide(outcome), "Glue beforehand")
    assert "3 mm board + 0.12 mm to slide + 0.16 mm for paint = 3.28 mm" in said
    assert "0.28 mm of card in all" in said
    for cell in ("J1-core", "J1-outer", "J1-inner", "W2 · W1", "7.75", "3.28", "0.28"):
        assert cell in said, cell
    for must in ("wax paper", "gauge strip", "squeeze-out", "lower edges flush", "arrow to the top"):
        assert must in said, must


def test_no_card_where_the_core_is_thick_enough(outcome) -> None:
    said = chapter(render_guide(make_outcome(joiners=(replace(outcome.joiners[0], shim=0.0),))), "Glue beforehand")
    assert "no card is needed" in said


def test_steps_follow_the_building(outcome) -> None:
    def steps(page: str) -> list[str]:
        section = next(section for section in parsed(page).iter("section") if section.find("h2").text == "Put it up")
        for step in section.iter("div"):
            assert len(list(step.iter("path"))) > 0
        return [element.text.split(". ", 1)[1] for element in section.iter("h3")]

    floor = ["Lay the floor", "Fold the walls", "Slide the joiner on", "Lower the ring onto the floor"]
    assert steps(render_guide(outcome)) == floor
    mat = make_outcome(parts=tuple(part for part in outcome.parts if part.kind is not PartKind.FLOOR), tabs=())
    assert steps(render_guide(mat)) == ["Fold the walls", "Slide the joiner on", "Stand it on the mat"]
    stands = Pose.identity().moved_to((0, 0, 73))
    ring = np.array([[0.0, 0], [100, 0], [100, 80], [0, 80]])
    panel = Panel(0, (), ring, (), np.zeros((0, 2)), np.zeros((0, 3)), stands)
    roof = make_piece("R1", PartKind.ROOF, box(0, 0, 100, 80), (panel,))
    stop = make_piece("S1", PartKind.STOP, box(0, 0, 60, 10), (), notes=("Glue it 9.6 mm up the slope.",))
    page = render_guide(make_outcome(parts=(*outcome.parts, roof, stop)))
    assert steps(page) == [*floor, "Put the roof on"]
    assert "Glue it 9.6 mm up the slope." in chapter(page, "Stops on the standing building")
    loose = make_outcome(parts=(replace(outcome.parts[0], kind=PartKind.PANEL),), joiners=(), tabs=())
    assert steps(render_guide(loose)) == ["Fold and close"]
    assert "Nothing has to be glued." in words(render_guide(loose))


def test_the_proof_is_told_as_it_is(outcome) -> None:
    said = chapter(render_guide(outcome), "How well it fits")
    assert "They come back to it." in said and "Do not cut" not in said
    assert "0.3 mm longer or shorter" in said and "it should close" in said
    missed = make_outcome(proof=replace(outcome.proof, corner_distance=0.7342))
    failed = chapter(render_guide(missed), "How well it fits")
    assert "Do not cut" in failed and "0.7342" in failed and "come back to it" not in failed
    loop = LoopTolerance(("W1",), (("board", 1.0),), 1.0, 0.5)
    tight = chapter(render_guide(make_outcome(proof=replace(outcome.proof, tolerance=(loop,)))), "How well it fits")
    assert "take up only 0.5 mm" in tight and "it should close" not in tight


def test_findings_whose_sentence_names_no_place_say_where_they_belong() -> None:
    facets = find_facets(loop_of_walls([(0, 0), (200, 0), (200, 100), (0, 100)]), wall_face="outside")
    name, number = name_places(facets).facets[0], facets.facets[0].faces[0]
    where = Location(faces=(number,))
    said = (
        Finding(Severity.WARNING, "warp", "It is bent", where),
        Finding(Severity.NOTE, "bow", f"The {name} bows", where),
    )
    told = chapter(render_guide(make_outcome(facets=facets, findings=said)), "What the check found")
    assert f"It is bent. ({name})" in told
    assert f"The {name} bows. (" not in told


def test_findings_are_told_and_errors_come_up_front(outcome, empty) -> None:
    page = render_guide(outcome)
    assert "The check found 1 warning" in words(page)
    assert "The floor may warp. (part F1)" in chapter(page, "What the check found")
    stopped = render_guide(empty)
    assert "the check found 1 error" in words(stopped).split("Before you switch")[0]
    assert "mark a break" in chapter(stopped, "What the check found")
    clean = render_guide(make_outcome(findings=()))
    assert "Nothing to remark." in chapter(clean, "What the check found")
    assert 'class="box"' not in clean


def test_nothing_made_is_said_plainly(empty) -> None:
    page = render_guide(empty)
    assert "No part could be made" in words(page)
    assert "nothing is proved" in chapter(page, "How well it fits")
    assert "<svg" not in page and "None" not in words(page) and "inf" not in words(page).split()


def test_the_date_is_printed_only_when_given(outcome) -> None:
    assert 'class="date"' not in render_guide(outcome)
    assert '<p class="date">3 May</p>' in render_guide(outcome, date="3 May")
    assert render_guide(outcome) == render_guide(outcome)


def test_numbers_read_as_in_the_workshop() -> None:
    assert [length(v) for v in (3.0, 101.6, 0.04, -0.0, 100.0)] == ["3", "101.6", "0", "0", "100"]
    assert length(3.41, 2) == "3.41"
    assert length(8.0, 0) == "8" and length(130.0, 0) == "130"
    assert [minutes(v) for v in (0, 12, 61, 3600, 5000)] == [
        "none",
        "under a minute",
        "1 min",
        "1 h 00 min",
        "1 h 23 min",
    ]
    assert [joined(v) for v in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == ["", "a", "a and b", "a, b and c"]
