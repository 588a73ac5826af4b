"""Areas of colours follow closed forms: the developed wall, its openings, its edges; what stays bare is in none."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from buildings import SAMPLES, SQUARE, WALL_HEIGHT
from sample_solids import solid_of
from shapely.geometry import Polygon
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.finish.finish import Pattern, finish_of
from stowfold.geometry.flow.run import make_parts
from stowfold.geometry.joints.glue_places import find_bearers
from stowfold.geometry.outcome import Outcome, Settings
from stowfold.geometry.paint.boundaries import BOUNDARIES
from stowfold.geometry.paint.paint import Paint, Scheme
from stowfold.geometry.paint.plan import is_outside, paint_plan
from stowfold.geometry.paper.drawn_faces import Look, bend_faces
from stowfold.geometry.part import PaintRole, PartKind, Way
from stowfold.geometry.plan.opening import OpeningKind, OpeningSize, stand_in_wall
from stowfold.geometry.settings import ClosureSettings, TrimSettings
from stowfold.geometry.solid.opening import Leaf
from stowfold.geometry.solid.solid import make_solid

BIRCH = find_stock("birch-plywood-3", read_stocks())
PLAIN = Settings(BIRCH, BIRCH, BIRCH, BIRCH)
FINISHES = {"timber frame": finish_of(Pattern.TIMBER_FRAME), "flags": finish_of(Pattern.FLAGSTONES)}
PAINT = Paint({"timber frame": Scheme("#e8e0cc", "#4a3222"), "plaster": Scheme("#efe9dc"), "flags": Scheme("#b0a890")})


def toll_house(paint: Paint = PAINT, *, trim: bool = False) -> Outcome:
    """The toll house, open to the sky, with its finishes; its parts alone."""
    sample = next(sample for sample in SAMPLES if sample.file == "toll_house")
    named = {("toll_house", face): finish for face, finish in enumerate(sample.shape().finishes)}
    settings = replace(PLAIN, finishes=FINISHES, floor_finish="flags", inside_finish="plaster", paint=paint)
    if trim:
        settings = replace(settings, trim=TrimSettings(stock=BIRCH, frames=True))
    return make_parts(replace(solid_of("toll_house"), finishes=named), settings, title="Toll house").outcome


@pytest.fixture(scope="module")
def outcome() -> Outcome:
    return toll_house()


def face_of(outcome: Outcome, *, outside: bool) -> float:
    """All coloured area of one side of walls and cheeks, mm^2."""
    return sum(
        field.area.area
        for part in outcome.parts
        if part.kind in (PartKind.WALL, PartKind.CHEEK)
        for field in part.colour_fields
        if is_outside(part, field) is outside
    )


def developed(outcome: Outcome) -> tuple[float, float]:
    """Length of the flat ring by bend allowance and setback of sheet metal, and what its six bends take of it, mm."""
    bend = next(placed.lattice.flat_width for part in outcome.parts for placed in part.lattices)
    neutral = bend / (math.pi / 2)
    # five corners turn outward, one inward; the model is the inside face of a board of 3 mm
    length = 2 * (8 + 7) * SQUARE + 5 * (bend - 2 * (neutral - 1.5)) + (bend - 2 * (neutral + 1.5))
    return length, 6 * bend


DOOR, WINDOWS = (30.0, 45.0), ((22.0, 22.0), (24.0, 22.0))
OPENINGS = DOOR[0] * DOOR[1] + sum(a * b for a, b in WINDOWS)


@pytest.mark.parametrize("outside", [True, False])
def test_walls_and_cheeks_show_the_developed_ring_without_its_openings(outcome: Outcome, outside: bool) -> None:
    length, _ = developed(outcome)
    cheeks = {joiner.cheeks[0 if outside else 1] for joiner in outcome.joiners}
    pegs = sum(Polygon(hole).area for part in outcome.parts if part.id in cheeks for hole in part.outline.interiors)
    assert face_of(outcome, outside=outside) == pytest.approx(length * WALL_HEIGHT - OPENINGS - pegs, abs=0.01)


def test_edges_show_at_tops_openings_and_sides_of_cheeks(outcome: Outcome) -> None:
    length, bends = developed(outcome)
    around = 2 * DOOR[1] + DOOR[0] + sum(2 * (a + b) for a, b in WINDOWS)
    shown = length - bends + around + 3 * 2 * WALL_HEIGHT
    plan = paint_plan(outcome.parts, PAINT)
    assert sum(colour.edges for colour in plan.colours) == pytest.approx(3.0 * shown, rel=1e-3)


def test_numbers_go_from_light_to_dark_and_areas_are_those_of_the_fields(outcome: Outcome) -> None:
    plan = paint_plan(outcome.parts, PAINT)
    assert [(colour.number, colour.finish, colour.role) for colour in plan.colours] == [
        (1, "plaster", PaintRole.MAIN),
        (2, "timber frame", PaintRole.MAIN),
        (3, "flags", PaintRole.MAIN),
        (4, "timber frame", PaintRole.UNITS),
    ]
    assert plan.colours[0].room == pytest.approx(face_of(outcome, outside=False))
    assert plan.colours[1].outside + plan.colours[3].outside == pytest.approx(face_of(outcome, outside=True))
    # all bends stand between posts
    _, bends = developed(outcome)
    assert plan.colours[3].thin == pytest.approx(bends * WALL_HEIGHT) and plan.colours[1].thin == 0.0


def test_fields_do_not_overlap_and_keep_off_what_stays_bare(outcome: Outcome) -> None:
    for part in outcome.parts:
        for up in (True, False):
            areas = [field.area for field in part.colour_fields if field.up is up]
            whole = shapely.union_all(areas)
            assert sum(area.area for area in areas) == pytest.approx(whole.area, abs=0.05)
            assert whole.difference(part.outline.buffer(0.02)).area < 0.05
    walls = [part for part in outcome.parts if part.kind is PartKind.WALL]
    assert all(joiner.engaged > 5.0 for joiner in outcome.joiners)
    for wall in walls:
        painted = shapely.union_all([field.area for field in wall.colour_fields])
        # tabs, and the strip at both ends that lies under a cheek
        bare = wall.outline.difference(painted)
        tabs = wall.outline.area - sum(Polygon(panel.ring, panel.holes).area for panel in wall.panels)
        assert bare.area > tabs - painted.area * 0.5 and bare.area > 2 * outcome.joiners[0].engaged * WALL_HEIGHT


def test_two_finishes_of_one_stretch_have_their_true_areas() -> None:
    points = np.array([(x, 0.0, z) for z in (0.0, 50.0) for x in (0.0, 100.0, 180.0)])
    solid = make_solid(points, [(0, 1, 4, 3), (1, 2, 5, 4)], source="screen")
    solid = replace(solid, finishes={("screen", 0): "limewash", ("screen", 1): "tar"})
    plan = paint_plan(make_parts(solid, PLAIN, title="Screen").outcome.parts, Paint())
    assert {colour.finish: round(colour.outside, 1) for colour in plan.colours} == {"limewash": 5000.0, "tar": 4000.0}
    assert all(colour.colour == "" for colour in plan.colours)


def test_what_lies_under_trim_gets_no_colour_and_trim_gets_its_own(outcome: Outcome) -> None:
    trimmed = toll_house(replace(PAINT, trim="#224433"), trim=True)
    frames = [part for part in trimmed.parts if part.kind is PartKind.TRIM]
    plan = paint_plan(trimmed.parts, trimmed.settings.paint)
    own = next(colour for colour in plan.colours if colour.role is PaintRole.TRIM)
    assert frames and own.outside == pytest.approx(sum(part.area for part in frames)) and own.colour == "#224433"
    covered = face_of(outcome, outside=True) - face_of(trimmed, outside=True)
    # they lie on the wall but for the millimetre over the opening
    lap = sum(part.size[0] * part.size[1] for part in frames) - sum(min(part.size) - 1 for part in frames)
    assert 0.6 * lap < covered < sum(part.area for part in frames)


def test_boundaries_are_scored_once_where_colours_meet(outcome: Outcome) -> None:
    scored = toll_house(replace(PAINT, score=True))
    for before, after in zip(outcome.parts, scored.parts, strict=True):
        if before.kind is not PartKind.WALL:
            continue
        fields = [field for field in after.colour_fields if field.up and not field.thin]
        panels = next(field.area for field in fields if field.role is PaintRole.MAIN)
        lines = [line for dressing in after.dressings if dressing.finish == BOUNDARIES for line in dressing.lines]
        assert all(dressing.way is Way.SCORE for dressing in after.dressings if dressing.finish == BOUNDARIES)
        drawn = shapely.union_all([shapely.linestrings(line) for line in lines])
        timbers = next(field.area for field in fields if field.role is PaintRole.UNITS)
        shared = panels.boundary.intersection(timbers.buffer(0.01))
        assert drawn.length == pytest.approx(shared.length, rel=0.02) and drawn.length > 100.0
        # nothing is engraved where it is scored
        engraved = shapely.union_all(
            [
                shapely.linestrings(line)
                for dressing in after.dressings
                if dressing.way is Way.ENGRAVE
                for line in dressing.lines
            ]
        )
        assert engraved.intersection(drawn.buffer(0.01)).length < 0.01 * drawn.length
    assert not any(dressing.finish == BOUNDARIES for part in outcome.parts for dressing in part.dressings)


def test_a_door_has_its_colour_on_both_faces_and_without_any_finish() -> None:
    """A leaf that opens shows its room side; what it has of colour is twice its board and its hinge."""
    opening = stand_in_wall(
        "Door",
        OpeningKind.DOOR,
        OpeningSize(30.0, 45.0),
        foot=np.array([2.5 * SQUARE, 0.0, 0.0]),
        along=np.array([1.0, 0.0, 0.0]),
    )
    solid = replace(solid_of("grain_store"), openings=(replace(opening, leaf=Leaf()),))
    outcome = make_parts(solid, replace(PLAIN, paint=Paint(leaf="#204030")), title="Store").outcome
    (wall,) = [part for part in outcome.parts if any(placed.swing for placed in part.lattices)]
    (hinge,) = [placed for placed in wall.lattices if placed.swing]
    leaf = wall.panels[hinge.child]
    (colour,) = paint_plan(outcome.parts, outcome.settings.paint).colours
    board, zone = Polygon(leaf.ring, leaf.holes).area, Polygon(hinge.zone).area
    assert colour.role is PaintRole.LEAF and colour.parts == (wall.id,)
    assert (colour.outside, colour.room) == pytest.approx((board + zone, board + zone), abs=0.05)
    assert colour.thin == pytest.approx(2 * zone)


def test_caps_have_the_colour_of_the_slopes_that_they_lie_on() -> None:
    """Every face has a finish of its own; what bears a cap is found by where it is glued, not by colours."""
    solid = solid_of("lock_keepers_house")
    keys = {(solid.sources[s], face): f"{s} {face}" for face, s in zip(solid.face_ids, solid.face_sources, strict=True)}
    capped = replace(PLAIN, closure=ClosureSettings(caps=True))
    outcome = make_parts(replace(solid, finishes=keys), capped, title="House").outcome
    bearers, parts = find_bearers(outcome.parts), {part.id: part for part in outcome.parts}
    caps = [part for part in outcome.parts if part.kind is PartKind.CAP]
    beneath = [parts[host].panels[panel] for host, panel in (bearers[cap.id] for cap in caps)]
    facets = outcome.facets
    wanted = [{keys[facets.source_of(facets.facets[panel.facet]), face] for face in panel.faces} for panel in beneath]
    assert len(set(map(frozenset, wanted))) > 1
    for cap, names in zip(caps, wanted, strict=True):
        (field,) = cap.colour_fields
        assert field.finish in names and field.area.area == pytest.approx(cap.area)


def test_bays_between_glued_timbers_keep_the_colour_of_their_wall() -> None:
    """Timbers are one board with holes; the wall's colour is on all that they leave free, as shapely takes it off."""
    sample = next(sample for sample in SAMPLES if sample.file == "toll_house")
    named = {("toll_house", face): finish for face, finish in enumerate(sample.shape().finishes)}
    settings = replace(PLAIN, finishes=FINISHES, trim=TrimSettings(stock=BIRCH, timbers=True))
    outcome = make_parts(replace(solid_of("toll_house"), finishes=named), settings, title="Toll house").outcome
    bearers, seen = find_bearers(outcome.parts), 0
    for wall in (part for part in outcome.parts if part.kind is PartKind.WALL):
        painted = shapely.union_all([field.area for field in wall.colour_fields if field.up])
        for part in outcome.parts:
            if part.kind is PartKind.TRIM and bearers[part.id][0] == wall.id and part.outline.interiors:
                lies = wall.panels[bearers[part.id][1]].stands.inverse() @ part.panels[0].stands
                for hole in part.outline.interiors:
                    bay = Polygon(lies.apply(np.asarray(hole.coords))[:, :2]).intersection(wall.outline)
                    if bay.area > 1.0:  # others are openings
                        assert bay.difference(painted).area < 0.05 * bay.area
                        seen += 1
    assert seen > 4


def test_a_drawn_bend_shows_its_colour_on_the_face_that_bears_it_alone(outcome: Outcome) -> None:
    """Timber is dark and outside, plaster light and inside; white stands for bare board."""
    paint = replace(outcome.settings.paint, bare="#ffffff")
    wall = next(part for part in outcome.parts if part.kind is PartKind.WALL and part.lattices)
    outside = replace(wall, colour_fields=tuple(field for field in wall.colour_fields if is_outside(wall, field)))
    dark = []
    for part in (wall, outside):
        bends = bend_faces(part, Look((255, 255, 255), paint=paint))
        dark.append([int(face.fill[1:3], 16) < 0x60 for face in bends])
    # of the blocks of a bend, two large faces and two sides each, one large face is of timber, whatever the other is
    assert len(dark[0]) % 4 == 0
    for shades in dark:
        assert all(sum(shades[k : k + 2]) == 1 for k in range(0, len(shades), 4))
