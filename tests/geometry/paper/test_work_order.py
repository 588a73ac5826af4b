"""The guide at the bench: order of work with times, names with counts, undersides with their dimensions."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest
from sample_runs import outcome_of
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.recut_floor import drawn_size
from stowfold.geometry.joints.glue_places import find_glue_places
from stowfold.geometry.outcome import Outcome
from stowfold.geometry.paper.guide import render_guide
from stowfold.geometry.paper.underside import place_words, underside_section
from stowfold.geometry.paper.work_order import measuring_section, order_of_work
from stowfold.geometry.part import PartKind
from stowfold.geometry.sheet.alike import counted_names

BIRCH = find_stock("birch-plywood-3", read_stocks())


@pytest.fixture(scope="module")
def store() -> Outcome:
    return outcome_of("grain_store")


def parsed(page: str) -> ET.Element:
    return ET.fromstring(page.removeprefix("<!DOCTYPE html>\n"))


def test_chapters_follow_the_work_and_appendices_come_last(store: Outcome) -> None:
    headings = [element.text for element in parsed(render_guide(store)).iter("h2")]
    work = [
        "Before you switch the laser on", "The order of work", "What you need", "What to cut", "Try it dry",
        "Glue beforehand", "Put up the walls and measure", "Paint and stain",
        "Stops on the standing building", "Put it up", "Fold it away",
    ]  # fmt: skip
    assert headings[: len(work)] == work
    assert headings[len(work)] == "Every part" and headings[-1] == "What the check found"


def test_the_whole_working_time_is_the_sum_of_its_stages(store: Outcome) -> None:
    times = re.findall(r'<td class="n">(?:<b>)?(?:(\d+) h )?(\d+) min', order_of_work(store))
    minutes = [60 * int(hours or 0) + int(rest) for hours, rest in times]
    assert minutes[-1] == sum(minutes[:-1]) > store.seconds["total"] / 60


def test_the_bill_counts_every_part_once(store: Outcome) -> None:
    page = parsed(render_guide(store))
    cut = next(section for section in page.iter("section") if section.find("h2").text == "What to cut")
    rows = [[" ".join("".join(td.itertext()).split()) for td in row.iter("td")] for row in cut.iter("tr")]
    counted = {row[0]: int(row[1].split()[0]) for row in rows if len(row) == 6 and row[1].endswith("×")}
    assert counted == {name: len(alike) for name, alike in counted_names(store.parts).items()}
    assert sum(counted.values()) == len(store.parts)


def test_places_from_below_have_the_sizes_of_what_is_glued(store: Outcome) -> None:
    """Areas by the shoelace formula in the drawing against those of the strips as they are cut."""
    drawn = ET.fromstring(f"<div>{underside_section(store)}</div>")
    areas = []
    for path in drawn.iter("path"):
        if path.get("class") == "place":
            x, y = np.array(re.findall(r"-?\d+\.\d+", path.get("d")), dtype=float).reshape(-1, 2).T
            areas.append(abs(float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum())) / 2)
    strips = [part.area for part in store.parts if part.kind is PartKind.STOP and not part.id.endswith("-fin")]
    for area in strips:
        assert min(abs(area - other) for other in areas) < 0.01 * area
    roof = next(part for part in store.parts if part.kind is PartKind.ROOF)
    assert len(areas) == sum(place.host == roof.id for place in find_glue_places(store.parts))


def test_dimensions_from_below_are_those_of_the_notes(store: Outcome) -> None:
    """A strip's own note, made from the model, tells its distance from the eave and from the slope's end."""
    drawn = ET.fromstring(f"<div>{underside_section(store)}</div>")
    told = {element.text for element in drawn.iter("text") if element.get("class") is None}
    eaves = [re.findall(r"([\d.]+) mm", part.notes[0])[0] for part in store.parts if part.id in ("S1", "S2")]
    assert eaves and set(eaves) <= told


def test_words_of_a_place_follow_its_mark(store: Outcome) -> None:
    strips = [part for part in store.parts if part.kind is PartKind.STOP]
    assert place_words(store, strips) == "at the marked places"
    bare = tuple(
        replace(part, face_up=part.face_up, board_side=-part.board_side) if part.kind is PartKind.ROOF else part
        for part in store.parts
    )
    assert place_words(replace(store, parts=bare), strips) == "where the drawing from below has them"


def test_the_ring_is_measured_over_the_outer_faces_as_the_floor_is_cut_again_for_it() -> None:
    outcome = outcome_of("toll_house")
    wide, deep = drawn_size(outcome)
    # 8 x 7 squares inside, a board of 3 mm on either side; the outline there is grown by 0.002
    assert (wide, deep) == pytest.approx((8 * 25.4 + 6.0, 7 * 25.4 + 6.0), abs=5e-3)
    assert f"<b>{wide:.1f} × {deep:.1f} mm</b>" in measuring_section(outcome)
