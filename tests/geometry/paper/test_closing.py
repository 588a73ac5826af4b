"""Closing on paper: what is glued is named, poles that must attract are drawn so, children come first."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest
from marked_roofs import marked_block_out
from stowfold.geometry.joints.closures import make_closures
from stowfold.geometry.joints.taken import Taken
from stowfold.geometry.outcome import Outcome, Settings
from stowfold.geometry.paper.assembly import putting_up, taking_down
from stowfold.geometry.paper.closing import closing_section, closing_words
from stowfold.geometry.paper.gluing import standing_gluing_section
from stowfold.geometry.part import Part, PartKind
from stowfold.geometry.plan.walls import Roof, RoofKind
from stowfold.geometry.settings import ClosureKind, ClosureSettings
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, make_solid
from stowfold.geometry.stow.stow import stow_away
from stowfold.geometry.unfold.section import unfold
from toll_house_corner import make_outcome


def closed(kind: ClosureKind, settings: Settings, *, flat: bool = False) -> tuple[Part, ...]:
    """A hip roof, or a slope in halves where ``flat``, with what holds its closures."""
    settings = replace(settings, closure=ClosureSettings(kind=kind))
    if flat:
        points = [(0, 0, 60), (100, 0, 60), (200, 0, 60), (200, 120, 140), (100, 120, 140), (0, 120, 140)]
        solid = make_solid(np.array(points, float), [(0, 1, 4, 5), (1, 2, 3, 4)], roles={(1, 4): Role.CLOSURE})
    else:
        made = marked_block_out([(0, 0), (280, 0), (280, 180), (0, 180)], roof=Roof(RoofKind.HIP))
        solid = make_solid(made.points, made.faces, roles=dict(made.roles))
    facets = find_facets(solid)
    sections = unfold(facets, settings)
    roofs = [part for part in sections.parts if part.kind is PartKind.ROOF]
    return (*roofs, *make_closures(facets, sections, Taken(roofs, settings), settings).parts)


@pytest.fixture
def told(outcome: Outcome):
    """Make the outcome of a building with such a roof, by kind of closure."""

    def tell(kind: ClosureKind, **changes: bool) -> Outcome:
        settings = replace(outcome.settings, closure=ClosureSettings(kind=kind))
        return make_outcome(parts=(*outcome.parts, *closed(kind, settings, **changes)), settings=settings)

    return tell


def words(markup: str) -> str:
    return " ".join("".join(ET.fromstring(f"<div>{markup}</div>").itertext()).split())


def test_a_tie_is_glued_drawn_and_put_on(told) -> None:
    outcome = told(ClosureKind.LAP)
    said = words(standing_gluing_section(outcome))
    for name in ("L1a-fin", "L1b-knee", "L1-ring", "L2a-fin", "L2-ring", "where the drawing from below has them"):
        assert name in said, name
    assert "stay loose" in said and "choke" in said and "Swallowed" not in said
    titles = [element.text for element in ET.fromstring(f"<div>{closing_section(outcome)}</div>").iter("title")]
    assert titles == ["A tie"]
    steps = [step.heading for step in putting_up(outcome)]
    assert steps.index("Close the roof") == steps.index("Put the roof on") - 1
    step = next(step for step in putting_up(outcome) if step.heading == "Close the roof")
    assert "L1-ring" in step.words and "Turn the roof over" in step.words and "<svg" in step.drawing
    rings = [part for part in outcome.parts if part.id.endswith("-ring")]
    assert len(rings) == 4 and "pull all 4 rings off" in taking_down(outcome)[0]


def test_a_flat_lap_is_glued_on_one_half_only(told) -> None:
    outcome = told(ClosureKind.LAP, flat=True)
    said = words(closing_section(outcome))
    assert "keep the other half" in said and "L1: Glue the half" in said and "<h3>Ties" not in closing_section(outcome)
    assert closing_words(outcome.parts).startswith("Lay the bare half")
    assert "rings" not in taking_down(outcome)[0]


def test_what_is_put_together_once_is_told_apart_from_what_folds_every_time(outcome: Outcome) -> None:
    """Two slopes of 20 mm, too short for a tie: the guide says what is glued, what stays whole, and stows it so."""
    points = [(x, y, z) for y, z in ((-50, 60), (0, 93), (50, 60)) for x in (0, 20)]
    solid = make_solid(np.array(points, float), [(0, 1, 3, 2), (2, 3, 5, 4)], roles={(2, 3): Role.CLOSURE})
    facets = find_facets(solid)
    sections = unfold(facets, outcome.settings)
    made = make_closures(facets, sections, Taken(sections.parts, outcome.settings), outcome.settings)
    parts = (*sections.parts, *made.parts)
    assert made.glued == (("R1", "R2"),)
    stow = stow_away(parts, (), (20.0, 100.0, 40.0), glued=made.glued)
    told = make_outcome(parts=parts, joiners=(), tabs=(), stow=stow, settings=outcome.settings)
    said = words(closing_section(told))
    assert "Put together once" in said and "G1: Put together once" in said and "Lap" not in said
    away = " ".join(taking_down(told))
    assert "<b>R1</b> and <b>R2</b> stay put together" in away and "spring flat" not in away


def test_magnets_are_told_with_their_danger_first(told) -> None:
    """16 CFR 1262.3 sets 50 kG^2 mm^2; a disc of 6 mm at 3.0 kG has 9 * pi * 36 / 4 = 254."""
    outcome = told(ClosureKind.MAGNETS)
    said = words(closing_section(outcome))
    assert said.index("Swallowed magnets can kill") < said.index("Stack all magnets")
    assert f"have about {9 * math.pi * 9:.0f}, above that limit" in said and "16 CFR 1262" in said
    assert "emergency care" in said and "choose laps" in said
    pockets = [part.id.removesuffix("-pocket") for part in outcome.parts if part.id.endswith("-pocket")]
    assert f"You need {len(pockets)} disc magnets" in said and all(name in said for name in pockets)
    assert "until the magnets hold" in closing_words(outcome.parts)


def test_the_poles_drawn_attract(told) -> None:
    """Two magnets pull when both look the same way: their dots lie on the same side of their middles."""
    svg = ET.fromstring(f"<div>{closing_section(told(ClosureKind.MAGNETS))}</div>").find(".//svg")
    assert svg is not None
    magnets = [element for element in svg.iter("rect") if element.get("fill") == "#5b5f58"]
    middles = sorted(float(magnet.get("x", "")) + float(magnet.get("width", "")) / 2 for magnet in magnets)
    dots = sorted(float(element.get("cx", "")) for element in svg.iter("circle"))
    assert len(middles) == len(dots) == 2 and middles[0] < 0.0 < middles[1]
    assert np.sign(dots[0] - middles[0]) == np.sign(dots[1] - middles[1]) != 0.0
    # what is left of the plane bears the plus, and its dot faces the cover, which lies at the plane
    labels = {element.text: float(element.get("x", "")) for element in svg.iter("text")}
    assert labels["plus"] < 0.0 < labels["minus"] and abs(dots[0]) < abs(middles[0])


def test_nothing_is_said_where_boards_only_rest(told) -> None:
    outcome = told(ClosureKind.REST)
    assert closing_section(outcome) == "" and closing_words(outcome.parts) == ""
    assert "Close the roof" not in [step.heading for step in putting_up(outcome)]


@pytest.mark.parametrize("rise", [-40.0, 40.0])
def test_the_guide_says_that_fins_of_a_valley_stand_apart(outcome: Outcome, rise: float) -> None:
    points = [(0, 0, 60), (200, 0, 60), (200, 90, 60 + rise), (0, 90, 60 + rise), (200, -90, 60 + rise)]
    points.append((0, -90, 60 + rise))
    solid = make_solid(np.array(points, float), [(0, 1, 2, 3), (5, 4, 1, 0)], roles={(0, 1): Role.CLOSURE})
    facets = find_facets(solid)
    sections = unfold(facets, outcome.settings)
    made = make_closures(facets, sections, Taken(sections.parts, outcome.settings), outcome.settings)
    said = words(closing_section(make_outcome(parts=(*sections.parts, *made.parts), settings=outcome.settings)))
    assert "Under a valley both stand back" in said if rise > 0.0 else "valley" not in said
    assert (" mm from the edge of the board" in said) == (rise > 0.0)
