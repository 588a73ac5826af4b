"""Glue places are scored where the glued part hides them, labels lie at their parts: read from the files."""

from __future__ import annotations

from dataclasses import replace

import manifold3d
import numpy as np
import shapely
from boards_as_solids import board_solids
from delivered import Delivered
from read_sheets import strokes
from sample_solids import solid_of
from shapely.geometry import Polygon
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.finish.finish import Finish, Pattern
from stowfold.geometry.flow.run import run
from stowfold.geometry.joints.glue_places import find_glue_places
from stowfold.geometry.outcome import Settings
from stowfold.geometry.part import FaceUp, PartKind

#: A needle upright on a mark meets the glued board this far off: card, or the wedge of glue on a square-cut fin, mm.
NEEDLE = 2.5


def test_every_mark_lies_under_what_is_glued_there(sample: Delivered) -> None:
    """Glued boards as solids of manifold3d: a needle upright on any mark meets one, so that none stays in sight."""
    parts = sample.outcome.parts
    solids = {part.id: solid for part in parts if not part.lattices for _, solid in board_solids([part])}
    places = [place for place in find_glue_places(parts) if place.up]
    assert places
    for part in (part for part in parts if part.score):
        up = part.thickness if part.board_side > 0 else 0.0
        for line in part.score:
            (place,) = [
                place for place in places if place.host == part.id and place.area.contains(shapely.LineString(line))
            ]
            turn = np.column_stack([part.panels[place.panel].stands.turn])
            for point in part.panels[place.panel].stands.apply(line, up):
                needle = manifold3d.Manifold.cube([0.02, 0.02, NEEDLE], False)
                needle = needle.transform(np.column_stack([turn, point]))
                assert (needle ^ solids[place.glued]).volume() > 0.0, (part.id, place.glued)


def test_all_that_is_glued_has_its_place(sample: Delivered) -> None:
    kinds = (PartKind.STOP, PartKind.LAP, PartKind.CORE)
    glued = {part.id for part in sample.outcome.parts if part.kind in kinds and not part.id.endswith("-ring")}
    assert {place.glued for place in find_glue_places(sample.outcome.parts) if place.up} == glued


def test_scores_are_an_operation_with_its_own_time(sample: Delivered) -> None:
    assert sample.outcome.seconds["score"] > 1.0
    drawn = sum(path.length for read in sample.first.values() for path in read.of("score"))
    lines = [line for part in sample.outcome.parts for line in part.score]
    assert abs(drawn - sum(float(np.hypot(*np.diff(line, axis=0).T).sum()) for line in lines)) < 0.1


def test_each_label_lies_at_its_own_part(sample: Delivered) -> None:
    """Read from the files by svgelements, measured by shapely: inside, or twice as near as to any other part."""
    for read in sample.first.values():
        wood = {path.part: Polygon(np.vstack([line for line, _ in path.lines])).buffer(0) for path in read.of("outer")}
        for path in read.of("inner"):
            holes = [Polygon(line) for line, shut in path.lines if shut]
            wood[path.part] = wood[path.part].difference(shapely.union_all(holes))
        for path in read.of("engrave"):
            beside = [line for line in strokes([path]) if path.part in wood and not line.intersects(wood[path.part])]
            if beside:
                label = shapely.MultiLineString(beside)
                own = label.distance(wood[path.part])
                other = min((label.distance(area) for name, area in wood.items() if name != path.part), default=np.inf)
                assert own < 1.1 and other > 2 * own, path.id


def test_parts_of_one_name_have_one_outline(sample: Delivered) -> None:
    """Turned by quarter turns and laid on one another by shapely, outlines of one name differ by nothing."""
    named: dict[str, list[Polygon]] = {}
    for part in sample.report["parts"]:
        named.setdefault(part["name"], []).append(Polygon(part["outline"][0], part["outline"][1:]))
    assert len(named) < len(sample.report["parts"])
    for first, *others in named.values():
        for other in others:
            turned = [shapely.affinity.rotate(other, angle, origin="center") for angle in range(0, 360, 90)]
            there = [shapely.affinity.translate(t, *np.subtract(first.bounds, t.bounds)[:2]) for t in turned]
            assert min(first.symmetric_difference(other).area for other in there) < 0.1


def test_an_engraved_roof_is_pricked_where_something_is_glued_below() -> None:
    """The roof keeps its outside up; dots right through lie under the glued boards, by solids of manifold3d."""
    finishes = {"slate": Finish(Pattern.SLATES, 8.0, 6.0)}
    birch = find_stock("birch-plywood-3", read_stocks())
    solid = solid_of("grain_store")
    slate = replace(solid, finishes={("grain_store", face): "slate" for face in range(len(solid.faces))})
    parts = run(slate, Settings(birch, birch, birch, birch, finishes=finishes), title="Store").parts
    roof = next(part for part in parts if part.kind is PartKind.ROOF)
    assert roof.face_up is FaceUp.OUTSIDE and roof.dressings and len(roof.pricks) >= 4 * 4
    places = [place for place in find_glue_places(parts) if place.host == roof.id]
    solids = {part.id: solid for part in parts if part.kind is PartKind.STOP for _, solid in board_solids([part])}
    for dot in roof.pricks:
        (place,) = [place for place in places if place.area.contains(shapely.LineString(dot))]
        stands = roof.panels[place.panel].stands
        needle = manifold3d.Manifold.cube([0.02, 0.02, NEEDLE], False).translate([0.0, 0.0, -NEEDLE])
        needle = needle.transform(np.column_stack([stands.turn, stands.apply(dot[0])]))
        assert (needle ^ solids[place.glued]).volume() > 0.0
