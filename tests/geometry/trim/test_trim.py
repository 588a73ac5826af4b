"""Trim: where it lies against what it must keep off, and that stow, sight, sheets and guide know it."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
from marked_roofs import marked_block_out
from shapely.geometry import LineString, Polygon, box
from stowfold.geometry.board.stock import read_stocks
from stowfold.geometry.finish.finish import Pattern, finish_of
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Settings
from stowfold.geometry.paper.cut_list import cut_section
from stowfold.geometry.paper.trim_words import trim_section
from stowfold.geometry.part import PartKind
from stowfold.geometry.plan.opening import DEFAULT_SIZES, OpeningKind, OpeningSize, stand_in_wall
from stowfold.geometry.plan.walls import Roof, RoofKind
from stowfold.geometry.play.room import room_blockers
from stowfold.geometry.play.set_table import find_room
from stowfold.geometry.play.standing_room import find_standing_room
from stowfold.geometry.settings import BoardFace, TrimSettings
from stowfold.geometry.sheet.waste import find_in_waste
from stowfold.geometry.solid.opening import Leaf, OpeningTrim
from stowfold.geometry.solid.solid import make_solid

STOCK = next(stock for stock in read_stocks() if stock.name == "birch-plywood-3")
THIN = next(stock for stock in read_stocks() if stock.name == "birch-plywood-1.5")
LENGTH, WIDTH = 228.6, 152.4
ALL = TrimSettings(THIN, frames=True, sills=True, shutters=True, corner_boards=True)


def _opening(name, kind, x, *, size=None, trim=None, leaf=None):
    size = size or DEFAULT_SIZES[kind]
    made = stand_in_wall(name, kind, size, foot=np.array([x, 0.0, 0.0]), along=np.array([1.0, 0.0, 0.0]))
    return replace(made, trim=trim, leaf=leaf)


@cache
def _run(*openings, trim=ALL, face=BoardFace.INSIDE, roof=False, finish=None):
    block = marked_block_out(
        [(0, 0), (LENGTH, 0), (LENGTH, WIDTH), (0, WIDTH)],
        breaks=((112.0, 0.0), (112.0, WIDTH)),
        roof=Roof(RoofKind.GABLE) if roof else None,
    )
    solid = make_solid(block.points, block.faces, roles=dict(block.roles))
    keys = {(solid.sources[s], face): "dress" for face, s in zip(solid.face_ids, solid.face_sources, strict=True)}
    boards = dict.fromkeys(("walls", "roof", "floor", "joiners"), STOCK)
    finishes = {} if finish is None else {"dress": finish_of(finish)}
    settings = Settings(**boards, face=face, trim=trim, finishes=finishes)
    return run(replace(solid, openings=openings, finishes={} if finish is None else keys), settings, title="house")


def _house(**chosen):
    return _run(
        _opening("Door", OpeningKind.DOOR, 50.0),
        _opening("Window", OpeningKind.WINDOW, 170.0, size=OpeningSize(16.0, 22.0, 22.0)),
        **chosen,
    )


def _trim(outcome, word=""):
    return [part for part in outcome.parts if part.kind is PartKind.TRIM and part.id.endswith(word)]


def _wall_of(outcome, part):
    """The wall's panel that a piece of trim lies on, and the trim's outline in that wall's part frame."""
    points = part.panels[0].stands.apply(part.panels[0].ring)
    for wall in outcome.parts:
        for panel in wall.panels if wall.kind is PartKind.WALL else ():
            there = panel.stands.back(points)
            outline = Polygon(there[:, :2])
            level = wall.board_side * wall.thickness
            flat = min(np.abs(there[:, 2]).max(), np.abs(there[:, 2] - level).max()) < 1e-6
            if flat and outline.intersects(Polygon(panel.ring, panel.holes).buffer(-0.1)):
                return wall, panel, outline
    raise AssertionError(part.id)


@pytest.mark.parametrize(("face", "roof"), [(BoardFace.INSIDE, True), (BoardFace.OUTSIDE, False)])
def test_trim_lies_on_one_wall_off_bends_and_cheeks_and_the_building_stays_proved(face, roof):
    outcome = _house(face=face, roof=roof)
    assert outcome.proof.holds
    assert {f.code for f in outcome.findings} <= {"corner-radius-wide", "hole-at-gable"}
    assert len(_trim(outcome, "corner")) == 8
    assert len(_trim(outcome, "shutter")) == 2
    assert {part.id.partition("-")[2] for part in _trim(outcome)} == {"head", "jamb", "sill", "corner", "shutter"}
    breaks = [joiner.line for joiner in outcome.joiners]
    for part in _trim(outcome):
        wall, panel, outline = _wall_of(outcome, part)
        assert min(part.size) >= 3.0 - 1e-9
        # 1 mm over the opening at most, and nowhere else beside the board
        board = Polygon(panel.ring, panel.holes)
        assert outline.difference(board.buffer(1.0 + 1e-6, join_style="mitre")).area < 1e-6
        for placed in wall.lattices:
            assert outline.distance(Polygon(placed.zone)) >= 1.0 - 1e-6
        for line in breaks:
            flat = panel.stands.back(line)
            if np.abs(flat[:, 2]).max() < 5.0:
                assert outline.distance(LineString(flat[:, :2])) >= 15.0 + 1.0 - 1e-6


def test_frames_leave_the_clear_width_less_a_millimetre_a_side_and_sight_knows_it():
    outcome = _house()
    jambs = [part for part in _trim(outcome, "jamb") if part.id.startswith("O1")]
    spans = sorted(
        (float(x.min()), float(x.max()))
        for part in jambs
        for x in [part.panels[0].stands.apply(part.panels[0].ring)[:, 0]]
    )
    assert spans[1][0] - spans[0][1] == pytest.approx(30.0 - 2.0)
    bare = room_blockers(outcome.facets, outcome.settings)
    framed = room_blockers(outcome.facets, outcome.settings, cheeks=outcome.parts)
    assert len(framed) - len(bare) == 2 * len(outcome.joiners) + 3 + 4


@pytest.mark.parametrize("face", list(BoardFace))
def test_a_door_that_a_frame_makes_too_narrow_for_a_base_is_told(face):
    door = _opening("Door", OpeningKind.DOOR, 60.0, size=OpeningSize(26.0, 45.0))
    for trim, widths in ((TrimSettings(), [26.0]), (TrimSettings(THIN, frames=True), [24.0])):
        outcome = _run(door, trim=trim, face=face)
        room = find_room(outcome.facets, outcome.settings, square=25.4, parts=outcome.parts, leaves_open=False)
        found = find_standing_room(room.squares, room.blockers, base=25.0)
        assert [passage.width for passage in found.doorways] == pytest.approx(widths)
        told = [finding for finding in found.findings if finding.code == "door-narrower-than-base"]
        assert len(told) == (widths[0] < 25.0)


def test_a_leaf_swings_past_its_frame():
    door = _opening("Door", OpeningKind.DOOR, 62.0, size=OpeningSize(36.0, 45.0), leaf=Leaf())
    outcome = _run(door, trim=replace(ALL, shutters=False, corner_boards=False))
    assert outcome.proof.holds
    assert {f.code for f in outcome.findings} <= {"corner-radius-wide"}
    assert len(_trim(outcome)) == 3


def test_an_opening_may_say_otherwise_and_what_finds_no_room_is_told():
    near = _opening("Hatch", OpeningKind.HATCH, 36.0, trim=OpeningTrim(frames=True, sills=True, shutters=True))
    plain = _opening("Window", OpeningKind.WINDOW, 170.0, trim=OpeningTrim())
    outcome = _run(near, plain, trim=replace(TrimSettings(), stock=THIN))
    assert {part.id.partition("-")[0].rstrip("ab") for part in _trim(outcome)} == {"O1"}
    (told,) = [f for f in outcome.findings if f.code == "trim-without-room"]
    assert told.message.startswith("Hatch gets no shutter")
    assert not _trim(_run(near, plain, trim=TrimSettings()))


def test_the_stack_grows_by_the_trim_on_every_wall_that_bears_some():
    bare, trimmed = _house(trim=TrimSettings()), _house()
    walls = {_wall_of(trimmed, part)[0].id for part in _trim(trimmed)}
    assert trimmed.stow.stack_height - bare.stow.stack_height == pytest.approx(THIN.thickness * len(walls))


def test_trim_of_the_walls_board_shares_its_sheets():
    outcome = _house(trim=replace(ALL, stock=STOCK))
    assert {sheet.stock.name for sheet in outcome.layout.sheets} == {STOCK.name}
    assert len(outcome.layout.sheets) == len(_house(trim=TrimSettings()).layout.sheets)
    assert {sheet.stock.name for sheet in _house().layout.sheets} == {STOCK.name, THIN.name}


def test_timbers_replace_the_engraved_frame_as_one_piece_a_board():
    trim = TrimSettings(THIN, frames=True, timbers=True)
    engraved, glued = (_house(trim=t, finish=Pattern.TIMBER_FRAME) for t in (TrimSettings(), trim))
    pieces = _trim(glued, "timber")
    assert glued.proof.holds
    assert pieces
    # two walls with breaks and two whole ones
    assert len(pieces) >= 6
    lines = [
        sum(len(d.points) for p in o.parts if p.kind is PartKind.WALL for d in p.dressings) for o in (engraved, glued)
    ]
    assert lines[0] > lines[1] == 0
    for part in pieces:
        opened = part.outline.buffer(-0.99, join_style="mitre").buffer(0.99, join_style="mitre")
        assert part.outline.difference(opened.buffer(0.02)).area < 0.05


def test_the_guide_says_how_many_and_where_and_alike_ones_share_a_name():
    outcome = _house()
    said = trim_section(outcome.parts)
    assert f"{len(_trim(outcome))} pieces of 1.5 mm board" in said
    corners = {part.name for part in _trim(outcome, "corner")}
    assert len(corners) < len(_trim(outcome, "corner"))
    assert all(name in said for name in corners)
    assert "Door: W" in said
    assert trim_section(_run(trim=TrimSettings()).parts) == ""


def test_alike_pieces_of_several_openings_are_listed_without_one_of_them():
    size = OpeningSize(16.0, 22.0, 22.0)
    two = _run(*(_opening(name, OpeningKind.WINDOW, x, size=size) for name, x in (("West", 50.0), ("East", 170.0))))
    page = cut_section(two)
    assert "<td>2 ×</td><td><bdi>Sill</bdi></td>" in page
    assert "<bdi>Sill, West</bdi>" in cut_section(_run(_opening("West", OpeningKind.WINDOW, 50.0, size=size)))


def test_round_heads_get_a_frame_of_one_piece_open_at_the_foot():
    arch = _opening("Arch", OpeningKind.ARCH, 50.0)
    outcome = _run(arch, trim=TrimSettings(THIN, frames=True))
    (part,) = _trim(outcome)
    assert part.id.endswith("-frame")
    # half rings and two legs: pi (r_o^2 - r_i^2) / 2 and 2 x 3 mm x height of the legs
    expected = np.pi * (18.0**2 - 15.0**2) / 2 + 2 * 3.0 * (50.0 - 16.0 - 0.2)
    assert part.area == pytest.approx(expected, rel=2e-3)
    assert box(*part.outline.bounds).area > part.area


def test_trim_of_the_walls_board_lies_in_the_waste_of_openings_with_every_cut_apart():
    windows = tuple(
        _opening(f"Window {k}", OpeningKind.WINDOW, x, size=size)
        for k, (x, size) in enumerate(((50.0, OpeningSize(44.0, 40.0, 12.0)), (172.0, OpeningSize(16.0, 20.0, 22.0))))
    )
    outcome = _run(*windows, trim=TrimSettings(STOCK, frames=True, sills=True))
    pieces = _trim(outcome)
    saved = find_in_waste(outcome.layout, outcome.parts)
    # shapely alone: what lies in a hole of a wall on its sheet
    lying = {
        p.part: (p.sheet, shapely.transform(_by_id(outcome)[p.part].outline, p.place))
        for p in outcome.layout.placements
    }
    holes = [(sheet, Polygon(hole)) for sheet, outline in lying.values() for hole in outline.interiors]
    inside = {
        name: outline.area
        for name, (sheet, outline) in lying.items()
        if any(sheet == other and hole.covers(outline) for other, hole in holes)
    }
    assert {part.id for part in saved.parts} == set(inside)
    assert saved.area == pytest.approx(sum(inside.values()))
    # the four members of the small window go into the large one, whose own are longer than it is wide
    assert set(inside) == {part.id for part in pieces if part.id.startswith("O2")} and len(inside) == 4
    assert "in the waste of openings and save" in trim_section(outcome.parts, saved)
    # no cut overlaps another: every outline grown by half a kerf keeps the laser's spacing from all others
    kerf, spacing = STOCK.kerf, outcome.settings.laser.spacing
    drawn = [(sheet, outline.buffer(kerf / 2, join_style="mitre")) for sheet, outline in lying.values()]
    for k, (sheet, one) in enumerate(drawn):
        for other_sheet, other in drawn[:k]:
            if sheet == other_sheet:
                assert one.distance(other) >= spacing - 1e-3


def _by_id(outcome):
    return {part.id: part for part in outcome.pieces}
