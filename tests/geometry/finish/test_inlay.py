"""Inlaid floors: pieces and gaps fill the top layer, and fit as cut by a round beam whose kerf is off. By shapely."""

from __future__ import annotations

import math
import re
from collections import Counter
from dataclasses import replace
from functools import cache
from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
import pytest
import shapely
from sample_solids import solid_of
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.polygon import orient
from stowfold.geometry.beam.kerf import draw_part
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.finish.finish import Pattern, finish_of
from stowfold.geometry.finish.inlay import lay_inlay
from stowfold.geometry.finish.motifs import LAND, star
from stowfold.geometry.fit.assess import assess
from stowfold.geometry.fit.clearances import JointKind
from stowfold.geometry.fit.gather import find_joints
from stowfold.geometry.fit.ranges import Cause
from stowfold.geometry.flow.recut_floor import drawn_size, floor_again
from stowfold.geometry.flow.run import make_parts, run
from stowfold.geometry.joints.floor import Room
from stowfold.geometry.outcome import Settings
from stowfold.geometry.paint.fields import tile_fields
from stowfold.geometry.paper.tiles import tiles_section
from stowfold.geometry.paper.work_order import order_of_work
from stowfold.geometry.part import FaceUp, Part, PartKind, plain_panel
from stowfold.geometry.pose import Pose
from stowfold.geometry.settings import INLAY_PLAY, FloorTiles, FloorWay
from stowfold.geometry.show.film import film_of, poses_at

STOCKS = read_stocks()
BIRCH, MDF = (find_stock(name, STOCKS) for name in ("birch-plywood-3", "mdf-3"))
BOARDS = FloorTiles(BIRCH, MDF, FloorWay.INLAY, border=True, star=True)
CHEQUER = finish_of(Pattern.CHEQUER)
SQUARE = 25.4


@cache
def _toll_house(inlaid: bool):
    settings = Settings(BIRCH, BIRCH, BIRCH, BIRCH, tiles=BOARDS if inlaid else None)
    return make_parts(solid_of("toll_house"), settings, title="Toll house").outcome


def _floor_of(plan: Polygon) -> tuple[Part, Room]:
    """A bare floor with a room on it, its upper face at z = 0."""
    rim = orient(plan.buffer(9.0, join_style="mitre"))
    panel = plain_panel(rim, Pose.identity())
    floor = Part("F1", "Floor", PartKind.FLOOR, BIRCH.name, 3.0, FaceUp.ROOM, -1, rim, (panel,))
    return floor, Room(plan, np.array(plan.bounds[:2]))


def _inlay(plan: Polygon, boards: FloorTiles = BOARDS, finish=None, square: float = SQUARE):
    floor, room = _floor_of(plan)
    return lay_inlay([floor], {"F1": room}, finish, boards, square=square)


def _as_cut(part: Part, kerf: float, real: float) -> Polygon:
    """A part in plan as a round beam leaves it that is ``real`` wide where lines were drawn for ``kerf``, mm."""
    drawn = draw_part(part, kerf)
    left = Polygon(drawn.outer.points).buffer(-real / 2.0)
    for a, b in pairwise(drawn.inner.starts.tolist()):
        ring = drawn.inner.points[a:b]
        left = left.difference(Polygon(ring).buffer(real / 2.0))
    return shapely.transform(left, lambda xy: part.panels[0].stands.apply(xy)[:, :2])


def _plans() -> list[Polygon]:
    """Rooms on the squares: one, an L, a T and a U, and others by chance."""
    chance = np.random.default_rng(16)
    rooms = [box(0, 0, 6, 4), box(0, 0, 8, 3).union(box(0, 0, 4, 7)), box(0, 0, 9, 4).union(box(3, 0, 6, 8))]
    rooms += [box(0, 0, 9, 8).difference(box(3, 4, 6, 8))]
    for _ in range(6):
        wide, deep = chance.integers(4, 10, 2).tolist()
        cut = chance.integers(1, 3, 2).tolist()
        rooms.append(box(0, 0, wide, deep).difference(box(wide - cut[0], deep - cut[1], wide, deep)))
    return [shapely.transform(room, lambda xy: xy * SQUARE + 7.0) for room in rooms]


@pytest.mark.parametrize("number", range(10))
def test_top_pieces_and_gaps_fill_the_floor_of_any_plan(number: int) -> None:
    plan = _plans()[number]
    tiling = _inlay(plan, finish=CHEQUER)
    (top,) = tiling.tops
    pieces = [tile.outline for tile in tiling.tiles if not tile.is_top]
    field = plan.buffer(-0.3, join_style="mitre")
    assert shapely.equals_exact(shapely.normalize(Polygon(top.outline.exterior)), shapely.normalize(field), 1e-6)
    # every opening is its piece grown by the play on all sides; that of the star holds 17 pieces
    held = Counter()
    for ring in top.outline.interiors:
        opening = Polygon(ring)
        own = [piece for piece in pieces if opening.contains(piece)]
        held[len(own)] += 1
        if len(own) == 1:
            grown = own[0].buffer(INLAY_PLAY, join_style="mitre")
            assert grown.symmetric_difference(opening).area < 1e-3
        else:
            joined = shapely.union_all([piece.buffer(INLAY_PLAY / 2 + 1e-5, join_style="mitre") for piece in own])
            assert joined.buffer(INLAY_PLAY / 2, join_style="mitre").symmetric_difference(opening).area < 0.05
    # a room whose middle is narrower than two squares takes no star, and says so
    stars = 0 if tiling.findings else 1
    assert set(held) <= {1, 17} and held[17] == stars
    assert sum(count * times for count, times in held.items()) == len(pieces)
    tree = shapely.STRtree(pieces)
    near = [(a, b) for a, b in tree.query(pieces, predicate="dwithin", distance=LAND - 0.01).T if a < b]
    gaps = [pieces[a].distance(pieces[b]) for a, b in near]
    assert gaps == pytest.approx([INLAY_PLAY] * len(gaps), abs=1e-5) and len(gaps) == 32 * stars
    # the board stays 3 mm wide between openings, and between them and its edges
    holes = [Polygon(ring) for ring in top.outline.interiors]
    tree = shapely.STRtree(holes)
    lands = [holes[a].distance(holes[b]) for a, b in tree.query(holes, predicate="dwithin", distance=9.0).T if a < b]
    assert min(lands) >= LAND - 1e-6
    assert min(field.exterior.distance(hole) for hole in holes) >= LAND - 1e-6


def test_pieces_of_a_border_that_look_alike_are_alike() -> None:
    """A joiner's cheek would take 0.05 mm off four pieces of the lock-keeper's border, which nobody can see."""
    settings = Settings(BIRCH, BIRCH, BIRCH, BIRCH, tiles=replace(BOARDS, star=False))
    tiling = make_parts(solid_of("lock_keepers_house"), settings, title="House").outcome.tiling
    # 9 straight pieces along either long wall and 5 along a short one; one in each corner
    assert sorted(Counter(tile.name for tile in tiling.tiles if tile.dark).values()) == [4, 28]
    (top,) = tiling.tops
    assert min(top.outline.exterior.distance(Polygon(hole)) for hole in top.outline.interiors) > LAND - 0.1


def test_a_star_has_the_area_of_its_triangles_and_stands_on_the_half_squares() -> None:
    motif = star((0.0, 0.0), 38.1)
    ray, valley = math.pi / 8, 0.4 * 38.1
    halves = [
        (reach * 1.0 + reach * valley * math.sin(ray) - 1.0 * valley * math.cos(ray)) / 2.0
        for reach in (38.1, 0.7 * 38.1)
    ]
    assert motif.opening.area == pytest.approx(8.0 * sum(halves), abs=1e-3)
    assert sum(piece.area for piece, _ in motif.pieces) == pytest.approx(motif.opening.area, abs=1e-3)
    assert Counter(dark for _, dark in motif.pieces) == {True: 9, False: 8}
    tiling = _inlay(box(0, 0, 6 * SQUARE, 4 * SQUARE))
    # within the border, half a square and 3 mm off, one square and a half is too large in a room four squares deep
    disc = next(t.outline for t in tiling.tiles if t.dark and t.outline.contains(Point(3 * SQUARE, 2 * SQUARE)))
    assert disc.centroid.coords[0] == pytest.approx((3 * SQUARE, 2 * SQUARE), abs=1e-6)
    light = shapely.union_all([t.outline for t in tiling.tiles if not t.dark and not t.is_top])
    assert light.bounds[2] - 3 * SQUARE == pytest.approx(SQUARE, abs=0.1)


@pytest.mark.parametrize(("off", "gap"), [(0.0, 0.12), (0.05, 0.17), (-0.05, 0.07), (-0.14, -0.02)])
def test_joints_are_as_wide_as_the_play_and_close_where_the_kerf_is_finer(off: float, gap: float) -> None:
    """Openings and pieces as a round beam leaves them: at every flank of every piece that is longer than 3 mm."""
    tiling = _inlay(box(0, 0, 6 * SQUARE, 4 * SQUARE))
    kerf = {part.stock: find_stock(part.stock, STOCKS).kerf for part in tiling.parts}
    cut = [_as_cut(part, kerf[part.stock], kerf[part.stock] + off) for part in tiling.laid]
    flanks = 0
    for k, piece in enumerate(cut):
        if tiling.tiles[k].is_top:
            continue
        others = shapely.union_all([other for j, other in enumerate(cut) if j != k and other.dwithin(piece, 1.0)])
        ring = shapely.get_coordinates(piece.exterior)
        for a, b in pairwise(ring):
            if math.dist(a, b) < 3.0:
                continue
            flanks += 1
            middle = Point((a + b) / 2.0)
            found = others.distance(middle) or -others.boundary.distance(middle)
            assert found == pytest.approx(gap, abs=2e-3)
    assert flanks > 100
    if off == 0.0:  # the beam rounds the corners of openings, but not so far that corners of pieces touch
        overlap = sum(a.intersection(b).area for k, a in enumerate(cut) for b in cut[:k])
        assert overlap == 0.0


def test_pieces_lie_face_down_and_the_top_layer_face_up_with_its_squares() -> None:
    house = _toll_house(True)
    tiling = house.tiling
    for part, tile in zip(tiling.laid, tiling.tiles, strict=True):
        (panel,) = part.panels
        low, high = (panel.stands.apply(panel.ring, z)[:, 2] for z in (0.0, part.board_side * part.thickness))
        assert (low[0], high[0]) == pytest.approx((0.0, 3.0))
        plan = shapely.transform(part.outline, lambda xy, panel=panel: panel.stands.apply(xy)[:, :2])
        assert plan.symmetric_difference(tile.outline).area < 1e-6
        assert (panel.stands.z[2] > 0.0) == tile.is_top
        assert tile_fields(part).colour_fields[0].up is tile.is_top
        assert (part.label_spot is None) == tile.is_top
        assert part.stock == (MDF.name if tile.dark else BIRCH.name)
    (top,) = (part for part, tile in zip(tiling.laid, tiling.tiles, strict=True) if tile.is_top)
    assert len(top.engrave) > 20
    assert all(top.outline.contains(LineString(line)) for line in top.engrave)
    for line in top.engrave:
        ends = top.panels[0].stands.apply(line)[:, :2] / SQUARE
        assert any(np.allclose(ends[:, axis], np.round(ends[0, axis]), atol=1e-6) for axis in (0, 1))
    flat = _toll_house(False)
    assert house.stow.stack_height - flat.stow.stack_height == pytest.approx(3.0)


def test_an_inlay_goes_with_its_floor_in_the_film() -> None:
    house = _toll_house(True)
    film = film_of(house)
    standing, stacked = poses_at(film, 1.0), poses_at(film, 2.0)
    (floor,) = (part for part in house.parts if part.kind is PartKind.FLOOR)
    moved = stacked[floor.id].pose.matrix @ np.vstack([standing[floor.id].pose.inverse().matrix, (0, 0, 0, 1)])
    for tile in house.tiling.tiles:
        at, goes = (moment[tile.part].pose.apply(np.zeros((1, 3))) for moment in (standing, stacked))
        assert goes == pytest.approx(at @ moved[:, :3].T + moved[:, 3], abs=1e-6)


def test_a_top_layer_that_the_layout_does_not_know_yet_lies_on_its_floor() -> None:
    # as after an edit, when the sheets are those of the floor before it
    settings = Settings(BIRCH, BIRCH, BIRCH, BIRCH, tiles=BOARDS)
    house = run(solid_of("toll_house"), settings, title="Toll house")
    (top,) = (tile.part for tile in house.tiling.tiles if tile.is_top)
    left = tuple(placement for placement in house.layout.placements if placement.part != top)
    assert len(left) < len(house.layout.placements)
    seen = poses_at(film_of(replace(house, layout=replace(house.layout, placements=left))), 1.0)
    whole = poses_at(film_of(house), 1.0)
    (floor,) = (part for part in house.parts if part.kind is PartKind.FLOOR)
    for film in (seen, whole):
        beside = film[floor.id].pose.inverse() @ film[top].pose
        assert beside.matrix == pytest.approx((whole[floor.id].pose.inverse() @ whole[top].pose).matrix, abs=1e-6)


def test_the_guide_counts_the_pieces_draws_them_and_says_what_the_kerf_does() -> None:
    house = _toll_house(True)
    tiling = house.tiling
    told = tiles_section(house)
    count = len(tiling.tiles) - 1
    assert f"1 top layer of light board (FT) lies on the floor, and {count} pieces are let into" in told
    assert "Joints are 0.12 mm wide" in told and "0.05 mm wider than set, they are 0.17 mm wide" in told
    assert "0.12 mm finer, they are shut" in told
    (plan,) = (ElementTree.fromstring(svg) for svg in re.findall(r"<svg.*?</svg>", told, re.DOTALL))
    names = Counter(word.text for word in plan.iter("text"))
    assert names == Counter(tile.name for tile in tiling.tiles if not tile.is_top)
    assert sum(tiling.spare.values()) == len(tiling.parts) - len(tiling.tiles)
    # four quarters of a star are alike: of 16 halves four shapes, and every shape has a spare one
    light = [tile.name for tile in tiling.tiles if not tile.dark and not tile.is_top]
    assert sorted(Counter(light).values()) == [4, 4]
    assert {tiling.spare[name] for name in light} == {1}
    assert f"let {count} pieces into it" in order_of_work(house)


def test_joints_go_together_with_the_kerfs_of_the_catalogue_and_are_told_where_they_would_not() -> None:
    house = _toll_house(True)
    cut = house.settings.as_cut

    def fit(gap: float):
        tiling = replace(house.tiling, boards=replace(BOARDS, play=gap))
        return assess(find_joints(house.parts, house.joiners, house.tabs, cut, (), tiling), cut.stocks)

    # one piece across its opening, and the disc between two halves of a star, at the upper and the lower face
    found = [joint for joint in fit(INLAY_PLAY).joints if joint.kind is JointKind.INLAY]
    assert [joint.clearance for joint in found] == [INLAY_PLAY] * 4
    assert dict(fit(INLAY_PLAY).kinds)[JointKind.INLAY] >= 0.95
    tight = fit(0.05)
    assert dict(tight.kinds)[JointKind.INLAY] < 0.7
    (told,) = (finding.message for finding in tight.findings if "inlay" in finding.message)
    assert told.startswith("Joint of the inlay (FD1-1): goes together in") and "give it 0.10 mm more play" in told


def test_a_floor_cut_again_for_measured_walls_brings_its_inlay() -> None:
    house = _toll_house(True)
    drawn = drawn_size(house)
    again = floor_again(house, (drawn[0] + 0.8, drawn[1]))
    (before,) = (part for part in house.tiling.parts if part.id == "FT1")
    (after,) = (part for part in again.parts if part.id == "FT1")
    grown = sorted(b - a for a, b in zip(before.size, after.size, strict=True))
    # the room grows in proportion, and the top layer keeps 0.3 mm off its walls
    assert grown == pytest.approx([0.0, 0.8 * (max(before.size) + 0.6) / max(drawn)], abs=1e-6)
    dark = [part for part in again.parts if part.kind is PartKind.DARK_TILE and "spare" not in part.id]
    assert len(dark) == sum(tile.dark for tile in house.tiling.tiles)
    assert not again.findings


def test_spare_pieces_are_listed_in_the_order_of_their_names() -> None:
    many = _inlay(_plans()[2], finish=finish_of(Pattern.CHEQUER, size=0.87))
    spare = [name for name in many.spare if name.startswith("FD")]
    assert spare == sorted(spare, key=lambda name: int(name[2:]))
    assert spare != sorted(spare)


def test_a_room_of_one_square_keeps_the_top_layer_round_its_only_piece() -> None:
    tiling = _inlay(box(0, 0, 12, 12), replace(BOARDS, star=False), square=10.0)
    (top,) = tiling.tops
    (piece,) = (tile.outline for tile in tiling.tiles if not tile.is_top)
    (opening,) = top.outline.interiors
    assert Polygon(opening).symmetric_difference(piece.buffer(INLAY_PLAY, join_style="mitre")).area < 1e-6
    assert opening.distance(top.outline.exterior) >= LAND


def test_what_cannot_be_inlaid_is_told() -> None:
    bare = replace(BOARDS, border=False, star=False)
    (told,) = _inlay(box(0, 0, 150, 100), bare).findings
    assert told.message == "The floor has no inlay: give it a material, or switch Border or Star on."
    small = _inlay(box(0, 0, 60, 60))
    assert [told.message for told in small.findings] == [
        "The floor has no room for a star, which reaches 24 mm at least."
    ]
    assert small.tops and not any(tile.dark is False and not tile.is_top for tile in small.tiles)
    (told,) = _inlay(box(0, 0, 400, 300), bare, finish_of(Pattern.CHEQUER, size=0.7)).findings
    assert "more than 300; make its pattern larger" in told.message
    with pytest.raises(BadSettingError, match=r"laid 0\.9 mm apart; take 0 to 0\.5 mm"):
        replace(BOARDS, play=0.9)


@pytest.mark.parametrize(("light", "dark"), [(0.0, 0.0), (0.12, 0.0), (0.0, 0.12), (0.1, 0.1)])
def test_the_fit_knows_how_opening_and_pieces_taper(light: float, dark: float) -> None:
    """Boxes as a cone leaves them, of which the kerf is half a taper wider at the face to the beam, by shapely.

    The top layer has its upper face to the beam, pieces the lower one.
    """
    house = _toll_house(True)
    cut = house.settings.as_cut
    joints = find_joints(house.parts, house.joiners, house.tabs, cut, (), house.tiling)
    found = [joint for joint in joints if joint.kind is JointKind.INLAY]
    for count, pair in zip((1, 3), (found[:2], found[2:]), strict=True):
        wide, play = 20.0, INLAY_PLAY
        for face, joint in zip((1.0, -1.0), pair, strict=True):
            hole = box(0.0, 0.0, count * wide + (count + 1) * play, wide).buffer(face * light / 4.0, join_style="mitre")
            piece = box(0.0, 0.0, wide, wide).buffer(face * dark / 4.0, join_style="mitre")
            free = (hole.bounds[2] - hole.bounds[0]) - count * (piece.bounds[2] - piece.bounds[0])
            tapers = {(Cause.TAPER, BIRCH.name): light, (Cause.TAPER, MDF.name): dark}
            told = joint.drawn_as + sum(term.share * tapers.get((term.cause, term.stock), 0.0) for term in joint.terms)
            assert told == pytest.approx(free / (count + 1), abs=1e-9)
