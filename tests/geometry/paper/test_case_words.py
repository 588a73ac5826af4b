"""The case has a chapter of its own: drawn, glued step by step, filled in the order of the stack."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest
from stowfold.geometry.paper.case_words import case_section, packing
from stowfold.geometry.paper.guide import render_guide
from stowfold.geometry.part import PartKind
from stowfold.geometry.stow.carrying_case import make_case
from stowfold.geometry.stow.stow import Stow
from toll_house_corner import make_outcome


def chapters(page: str) -> dict[str, ET.Element]:
    tree = ET.fromstring(page.removeprefix("<!DOCTYPE html>\n"))
    return {section.find("h2").text: section for section in tree.iter("section")}


def said(element: ET.Element) -> str:
    return " ".join("".join(element.itertext()).split())


@pytest.fixture
def carried(outcome):
    return make_outcome(case=make_case(outcome.stow, outcome.settings.floor))


def test_without_a_case_there_is_no_chapter_but_an_order_of_packing(outcome) -> None:
    found = chapters(render_guide(outcome))
    assert "The carrying case" not in found and case_section(outcome) == ""
    assert "joiner J1 and W1, side by side" in said(found["Fold it away"])


def test_the_chapter_draws_and_names_every_board(carried) -> None:
    chapter = chapters(render_guide(carried))["The carrying case"]
    drawn = {element.text for element in chapter.find(".//svg").iter("text")}
    assert drawn == {part.id for part in carried.case.parts}
    for part in carried.case.parts:
        assert part.id in said(
            ET.fromstring(f"<x>{''.join(ET.tostring(e, 'unicode') for e in chapter.iter('ol'))}</x>")
        )
    assert "same margin all round" in said(chapter) and "no hand holes" in said(chapter)


def test_hand_holes_and_pieces_are_told_only_where_there_are_any(outcome) -> None:
    high = Stow(40.0, (280.0, 150.0, 70.0), 0.1)
    stock = outcome.settings.floor
    whole = case_section(make_outcome(case=make_case(high, stock)))
    assert "for your hands" in whole and "lap" not in whole and "two layers" not in whole
    parted = case_section(make_outcome(case=make_case(high, stock, largest=(250.0, 200.0))))
    assert "glue the lap over the seam" in parted and "K2-lap1" in parted and "two layers" in parted and "K8" in parted


def test_packing_follows_the_stack(outcome) -> None:
    shown = re.findall(r"<li>(.*?)</li>", packing(outcome))
    ids = [re.findall(r"<b>(.*?)</b>", line) for line in shown]
    assert ids == [list(layer) for layer in outcome.stow.layers]


def test_the_cut_list_keeps_the_case_under_a_heading_of_its_own(carried) -> None:
    cut = chapters(render_guide(carried))["What to cut"]
    inside = list(cut)
    start = next(k for k, element in enumerate(inside) if element.tag == "h3" and "Carrying case" in said(element))
    rows = [row.find("td/b").text for row in inside[start + 1].iter("tr") if row.find("td/b") is not None]
    assert rows == [part.id for part in carried.case.parts]
    above = [
        row.find("td/b").text
        for element in inside[:start]
        if element.tag == "table" and next(element.iter("th")).text == "Name"
        for row in element.iter("tr")
        if row.find("td/b") is not None
    ]
    assert above == list(dict.fromkeys(part.name for part in carried.parts))
    assert all(part.kind is PartKind.CASE for part in carried.case.parts)
