"""What a maker needs, and what stays bare under paint, follow from the parts and settings."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely.geometry import box
from stowfold.geometry.paper.needs import needs_section
from stowfold.geometry.paper.painting import painting_section
from stowfold.geometry.paper.pictures import draw_sheet, numbered_parts
from stowfold.geometry.part import PartKind
from toll_house_corner import make_outcome, make_piece


def test_what_is_needed_follows_the_parts(outcome) -> None:
    said = needs_section(outcome)
    assert "2 sheets of 600 × 300 mm" in said and "wax paper" in said and "magnet" not in said
    assert "toothpicks" not in said  # the joiner of this corner has no holes
    flat = make_outcome(parts=outcome.parts[1:2], joiners=(), tabs=())
    said = needs_section(flat)
    assert "wax paper" not in said and "Lattice" not in said and "glue" not in said.replace("glued", "")
    bored = replace(outcome.parts[2], outline=outcome.parts[2].outline.difference(box(-3, 9, -1, 11)))
    assert "round toothpicks" in needs_section(make_outcome(parts=(*outcome.parts[:2], bored, *outcome.parts[3:])))


def test_the_paint_plan_gives_areas_and_what_stays_bare(outcome) -> None:
    said = painting_section(outcome)
    walls = [part for part in outcome.parts if part.kind is PartKind.WALL or part.id == "J1-outer"]
    area = sum(part.outline.area for part in walls) / 100
    assert f">{area:.0f}<" in said
    assert "the channels of the joiners and tabs and slots" in said or "the channels of the joiners" in said
    assert "0.08 mm for the paint on each face" in said and "dry brush" in said


@pytest.mark.parametrize(("faces", "must"), [(0, "the last 8 mm of every wall end"), (1, "the paint on one face")])
def test_channels_without_room_for_paint_keep_wall_ends_bare(outcome, faces: int, must: str) -> None:
    joiner = replace(outcome.settings.joiner, painted_faces=faces)
    assert must in painting_section(make_outcome(settings=replace(outcome.settings, joiner=joiner)))


def test_parts_too_small_for_their_ids_get_numbers_on_the_sheet(outcome) -> None:
    assert numbered_parts(outcome.layout, 0, outcome.parts) == {}
    small = make_piece("L1a-knee", PartKind.LAP, box(0, 0, 9, 9), ())
    layout = replace(
        outcome.layout,
        placements=(*outcome.layout.placements, replace(outcome.layout.placements[0], part="L1a-knee")),
    )
    parts = (*outcome.parts, small)
    assert numbered_parts(layout, 0, parts) == {"L1a-knee": "1"}
    drawn = draw_sheet(layout, 0, parts)
    assert ">1</text>" in drawn and ">L1a-knee<" not in drawn
