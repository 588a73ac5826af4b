"""Closures: laps, ties and carriers by closed forms, their room among other boards, and what is said of magnets."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest
from marked_roofs import marked_block_out
from shapely.geometry import Polygon
from slow_cases import one_quick
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.errors import BadSettingError
from stowfold.geometry.findings import Finding
from stowfold.geometry.joints import closures
from stowfold.geometry.joints.closing_line import ClosingLine, closing_line
from stowfold.geometry.joints.closures import flux_index, make_closures, opening_force, pairs_needed
from stowfold.geometry.joints.glue_strip import is_glue_strip
from stowfold.geometry.joints.joiner import make_joiners
from stowfold.geometry.joints.stops import make_stops
from stowfold.geometry.joints.taken import Taken
from stowfold.geometry.outcome import Settings
from stowfold.geometry.part import Part, PartKind
from stowfold.geometry.plan.walls import Roof, RoofKind, pitch_of_rise
from stowfold.geometry.proof.proof import Proof
from stowfold.geometry.proof.prove import prove
from stowfold.geometry.settings import BoardFace, ClosureKind, ClosureSettings
from stowfold.geometry.solid.facets import Facets
from stowfold.geometry.solid.find import find_facets
from stowfold.geometry.solid.solid import Role, Solid, make_solid
from stowfold.geometry.tolerance import PROOF_DOUBLE
from stowfold.geometry.unfold.section import Sections, unfold

BIRCH = find_stock("birch-plywood-3", read_stocks())
DEFAULT = Settings(BIRCH, BIRCH, BIRCH, BIRCH)
MAGNETS = replace(DEFAULT, closure=ClosureSettings(kind=ClosureKind.MAGNETS))
SQUARE = 25.4


def hip_house(length: float = 11, width: float = 7, *, rise: float = 8.0, turned: float = 0.0) -> Solid:
    """A house of so many squares under a hip roof, joiners at mid-wall; turned about the vertical, degrees."""
    x, y = length * SQUARE, width * SQUARE
    roof = Roof(RoofKind.HIP, pitch_of_rise(rise), 6.0)
    built = marked_block_out([(0, 0), (x, 0), (x, y), (0, y)], roof=roof, breaks=[(x / 2, 0), (x / 2, y)])
    turn = math.radians(turned)
    matrix = np.array([[math.cos(turn), -math.sin(turn), 0], [math.sin(turn), math.cos(turn), 0], [0, 0, 1]])
    return make_solid(built.points @ matrix.T, built.faces, roles=dict(built.roles))


def box(edge: float = 120.0) -> Solid:
    """A cube whose edges are closures but for five that hold it together."""
    points = np.array([(x, y, z) for x in (0, 1) for y in (0, 1) for z in (0, 1)]) * edge
    faces = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    flex = [(0, 1), (0, 2), (1, 3), (2, 3), (5, 7)]
    rest = [(0, 4), (1, 5), (2, 6), (3, 7), (4, 5), (4, 6), (6, 7)]
    return make_solid(points, faces, roles=dict.fromkeys(flex, Role.FLEX) | dict.fromkeys(rest, Role.CLOSURE))


@dataclass(frozen=True)
class Built:
    """A building up to its proof, without sheets."""

    facets: Facets
    sections: Sections
    parts: tuple[Part, ...]
    findings: tuple[Finding, ...]
    proof: Proof


def built(solid: Solid, settings: Settings = DEFAULT) -> Built:
    facets = find_facets(solid, wall_face=settings.face.value)
    sections = unfold(facets, settings)
    joiners = make_joiners(facets, sections, settings)
    before = (*sections.parts, *joiners.parts, *make_stops(facets, sections, settings))
    made = make_closures(facets, sections, Taken(before, settings), settings)
    parts = (*before, *made.parts)
    proof = prove(facets, sections, parts, joiners.joiners, (), settings, limit=PROOF_DOUBLE)
    return Built(facets, sections, parts, made.findings, proof)


@cache
def held_by(closure: ClosureSettings) -> Built:
    return built(hip_house(), replace(DEFAULT, closure=closure))


def house(settings: Settings = DEFAULT) -> Built:
    return held_by(settings.closure)


def of_kind(outcome: Built, kind: PartKind) -> list[Part]:
    return [part for part in outcome.parts if part.kind is kind]


def codes(outcome: Built) -> list[str]:
    return [finding.code for finding in outcome.findings]


def corners(part: Part, height: float) -> np.ndarray:
    """Return a plate's ring in the model, ``height`` above its z = 0."""
    panel = part.panels[0]
    return panel.stands.apply(panel.ring, height)


def lines_of(facets: Facets, sections: Sections, settings: Settings) -> list[ClosingLine]:
    found = [closing_line(facets, sections, edge, settings) for edge in facets.edges if edge.role is Role.CLOSURE]
    return [line for line in found if line is not None]


def nearest(lines: list[ClosingLine], part: Part) -> ClosingLine:
    middle = corners(part, 0.0).mean(axis=0)
    return min(lines, key=lambda line: float(np.linalg.norm(np.cross(middle - line.start, line.along))))


@pytest.mark.parametrize("kind", list(ClosureKind))
@pytest.mark.parametrize(
    ("length", "width", "face"),
    one_quick([(11, 7, BoardFace.INSIDE), (11, 7, BoardFace.OUTSIDE), (13, 9, BoardFace.INSIDE)]),
)
def test_the_proof_holds_with_all_that_is_glued_under_the_roof(
    length: float, width: float, kind: ClosureKind, face: BoardFace
) -> None:
    outcome = built(hip_house(length, width), replace(DEFAULT, face=face, closure=ClosureSettings(kind=kind)))
    assert outcome.proof.holds, outcome.proof
    assert "closure-unpaired" not in codes(outcome)
    closures = [edge for edge in outcome.facets.edges if edge.role is Role.CLOSURE]
    assert len(closures) == 2
    hip = math.sqrt(2 + (8 / 12) ** 2) * (width * SQUARE / 2 + 6.0)
    places = 2 * (2 if hip > 150.0 else 1)
    counts = {ClosureKind.REST: (0, 0), ClosureKind.LAP: (5 * places, 0), ClosureKind.MAGNETS: (0, 6 * places)}
    assert (len(of_kind(outcome, PartKind.LAP)), len(of_kind(outcome, PartKind.CARRIER))) == counts[kind]


@pytest.mark.parametrize("turned", [0.0, 31.7])
@pytest.mark.parametrize("rise", [6.0, 8.0, 12.0])
def test_the_fins_of_a_tie_meet_in_the_bisecting_plane_and_touch_their_slopes(rise: float, turned: float) -> None:
    """The higher edge of a fin's square top lies t tan(fold / 2) below the line; the fold is acos(cos^2 pitch)."""
    facets = find_facets(hip_house(rise=rise, turned=turned))
    sections = unfold(facets, DEFAULT)
    made = make_closures(facets, sections, Taken(sections.parts, DEFAULT), DEFAULT)
    parts = {part.id: part for part in made.parts}
    half = math.acos(math.cos(pitch_of_rise(rise)) ** 2) / 2
    lines = lines_of(facets, sections, DEFAULT)
    assert made.parts and not made.findings
    for name in sorted({part.id.split("a-")[0] for part in made.parts if "a-fin" in part.id}):
        fins = [parts[f"{name}{letter}-fin"] for letter in "ab"]
        line = nearest(lines, fins[0])
        assert line.angle == pytest.approx(2 * half)
        for side, fin in enumerate(fins):
            slope = facets.facets[(line.edge.left, line.edge.right)[side]].frame
            both = [(corners(fin, height) - line.start) @ line.across for height in (0.0, fin.thickness)]
            np.testing.assert_allclose(both[0], 0.0, atol=1e-9)
            np.testing.assert_allclose(np.abs(both[1]), fin.thickness, atol=1e-9)
            depth = min(((corners(fin, height) - line.start) @ line.down).min() for height in (0.0, fin.thickness))
            assert depth == pytest.approx(fin.thickness * math.tan(half))
            over = max(((corners(fin, height) - slope.origin) @ slope.n).max() for height in (0.0, fin.thickness))
            assert over == pytest.approx(0.0, abs=1e-9)


def test_a_ring_goes_over_both_tongues_and_not_over_the_shoulders() -> None:
    outcome = house()
    parts = {part.id: part for part in outcome.parts}
    rings = [part for part in outcome.parts if part.id.endswith("-ring")]
    assert rings
    for ring in rings:
        name = ring.id.removesuffix("-ring")
        line = nearest(lines_of(outcome.facets, outcome.sections, DEFAULT), ring)
        (hole,) = ring.panels[0].holes
        inner = ring.panels[0].stands.apply(hole) - line.start
        wide, tall = np.ptp(inner @ line.across), np.ptp(inner @ line.down)
        assert wide == pytest.approx(2 * BIRCH.thickness + DEFAULT.ring_play)
        for letter in "ab":
            flat = corners(parts[f"{name}{letter}-fin"], 0.0) - line.start
            along = flat @ line.along
            end = along.max() if line.along[2] > 0 else along.min()
            tongue = flat[np.abs(along - end) < 1e-6]
            assert tall - np.ptp(tongue @ line.down) == pytest.approx(DEFAULT.ring_play)
            # the shoulder is deeper than the hole leaves room for
            assert np.ptp(flat @ line.down) > tall


@pytest.mark.parametrize("rise", [6.0, 8.0, 12.0])
def test_carriers_stand_in_the_plane_that_bisects_the_closure(rise: float) -> None:
    """Half-angle geometry of a hip: its bisecting plane is upright and holds the line."""
    facets = find_facets(hip_house(rise=rise))
    sections = unfold(facets, MAGNETS)
    carriers = {
        part.id: part for part in make_closures(facets, sections, Taken(sections.parts, MAGNETS), MAGNETS).parts
    }
    lines = lines_of(facets, sections, MAGNETS)
    cover, thick = MAGNETS.closure.cover, BIRCH.thickness
    pairs = sorted({name.split("a-")[0] for name in carriers if "a-" in name})
    assert len(pairs) == (2 if rise < 12.0 else 4)
    for pair in pairs:
        line = nearest(lines, carriers[f"{pair}a-pocket"])
        slopes = [facets.facets[facet].frame for facet in (line.edge.left, line.edge.right)]
        normal = (slopes[0].n - slopes[1].n) / np.linalg.norm(slopes[0].n - slopes[1].n)
        assert abs(normal @ line.along) < 1e-12 and abs(normal[2]) < 1e-12
        for letter, slope in zip("ab", slopes, strict=True):
            for role, near in (("pocket", cover), ("back", cover + thick)):
                part = carriers[f"{pair}{letter}-{role}"]
                for height, away in ((0.0, near), (thick, near + thick)):
                    off = np.abs((corners(part, height) - line.start) @ normal)
                    np.testing.assert_allclose(off, away, atol=1e-9)
                # its higher top edge touches the underside of its own slope, and nothing of it is above
                over = max(((corners(part, height) - slope.origin) @ slope.n).max() for height in (0.0, thick))
                assert over == pytest.approx(0.0, abs=1e-9)
        a, b = (carriers[f"{pair}{letter}-pocket"] for letter in "ab")
        panels = [part.panels[0] for part in (a, b)]
        middles = [panel.stands.apply(Polygon(panel.holes[0]).centroid.coords[0]) for panel in panels]
        # face to face: the magnets' middles mirror each other, two covers apart
        assert np.linalg.norm(middles[0] - middles[1]) == pytest.approx(2 * cover)
        assert abs((middles[0] - middles[1]) @ normal) == pytest.approx(2 * cover)


def test_a_pocket_holds_its_magnet_between_back_and_cover() -> None:
    outcome = house(MAGNETS)
    for part in of_kind(outcome, PartKind.CARRIER):
        holes = part.panels[0].holes
        assert len(holes) == (1 if part.id.endswith("pocket") else 0)
        if holes:
            size = np.ptp(holes[0], axis=0)
            np.testing.assert_allclose(size, MAGNETS.closure.magnet_diameter + 0.2, atol=1e-6)
            assert part.outline.exterior.distance(Polygon(holes[0])) > 3.5


def test_a_knee_fits_between_the_carrier_and_the_board() -> None:
    """Its corner is half the dihedral, 133.8131 degrees at 8 in 12 (table of hip roofs)."""
    outcome = house(MAGNETS)
    knees = [part for part in of_kind(outcome, PartKind.CARRIER) if part.id.endswith("knee")]
    assert len(knees) == 4
    for knee in knees:
        ring = np.array(knee.outline.exterior.coords)[:-1]
        angles = []
        for k in range(3):
            one, two = ring[k - 1] - ring[k], ring[(k + 1) % 3] - ring[k]
            angles.append(math.degrees(math.acos(one @ two / np.linalg.norm(one) / np.linalg.norm(two))))
        assert min(angles, key=lambda angle: abs(angle - 66.9)) == pytest.approx(133.8131 / 2, abs=1e-4)


def test_what_a_closure_must_hold_is_moment_over_distance() -> None:
    """F = M / d for the bends of each board, the stronger board counting, by hand for the hip roof."""
    facets = find_facets(hip_house())
    sections = unfold(facets, DEFAULT)
    edge = next(e for e in facets.edges if e.role is Role.CLOSURE)
    middle = facets.points[[edge.start, edge.end]].mean(axis=0)
    sums = {edge.left: 0.0, edge.right: 0.0}
    for bent, lattice in sections.setbacks.lattices.items():
        line = facets.edges[bent]
        a, b = facets.points[[line.start, line.end]]
        area = np.linalg.norm(np.cross(a - middle, b - middle))  # twice the triangle: base times height
        for facet in sums:
            if facet in (line.left, line.right):
                sums[facet] += lattice.moment * np.linalg.norm(b - a) / area
    assert opening_force(facets, sections, edge) == pytest.approx(max(sums.values()))
    assert max(sums.values()) > 0.0


@pytest.mark.slow
def test_weak_magnets_are_many() -> None:
    assert pairs_needed(100.0, 0.0, 1.0) == 1 and pairs_needed(200.0, 0.0, 1.0) == 2
    assert pairs_needed(100.0, 1.0, 0.5) == 4  # twice the force, half a newton each
    weak = replace(MAGNETS, closure=replace(MAGNETS.closure, pull=0.05))
    assert len(of_kind(house(weak), PartKind.CARRIER)) > len(of_kind(house(MAGNETS), PartKind.CARRIER))


def test_flux_index_and_its_warning() -> None:
    """16 CFR 1262.3: limit 50 kG^2 mm^2; 6 mm and 3.0 kG make 9 * 28.27 = 254.47, 3 mm and 3.5 kG 86.6."""
    assert flux_index(3.0, 6.0) == pytest.approx(254.47, abs=0.005)
    assert flux_index(3.5, 3.0) == pytest.approx(86.6, abs=0.05)
    for field, word in ((3.0, "above"), (1.0, "below")):
        outcome = house(replace(MAGNETS, closure=replace(MAGNETS.closure, magnet_field=field)))
        (finding,) = [found for found in outcome.findings if found.code == "magnets-where-children-play"]
        assert finding.severity.value == "warning" and word in finding.message
    assert "magnets-where-children-play" not in codes(house())


def test_a_magnet_thicker_than_its_board_is_refused() -> None:
    thick = replace(MAGNETS, closure=replace(MAGNETS.closure, magnet_thickness=3.5))
    with pytest.raises(BadSettingError, match="thinner magnets"):
        house(thick)


def test_a_block_is_held_from_inside_by_magnets_or_by_strips_glued_once() -> None:
    """Closures at right angles, between boards of a closed solid that no hand opens, and still nothing crosses."""
    for kind in (ClosureKind.LAP, ClosureKind.MAGNETS):
        outcome = built(box(), replace(DEFAULT, closure=ClosureSettings(kind=kind)))
        assert outcome.proof.board_overlap is not None and outcome.proof.board_overlap < 1e-9
        assert bool(of_kind(outcome, PartKind.CARRIER)) == (kind is ClosureKind.MAGNETS)
        assert bool(of_kind(outcome, PartKind.LAP)) == (kind is ClosureKind.LAP)
        assert all(is_glue_strip(part) for part in of_kind(outcome, PartKind.LAP))


def two_slopes(ridge: float, marks: dict[tuple[int, int], Role]) -> Solid:
    """Two slopes of 60 mm that meet in a ridge."""
    points = [(x, y, z) for y, z in ((-50, 60), (0, 93), (50, 60)) for x in (0, ridge)]
    return make_solid(np.array(points, dtype=float), [(0, 1, 3, 2), (2, 3, 5, 4)], roles=marks)


def test_no_room_is_said() -> None:
    (found,) = built(two_slopes(6.0, {(2, 3): Role.CLOSURE})).findings
    assert found.code == "closure-unpaired" and "6 mm long and has room for 0 of 1 laps" in found.message
    assert not built(two_slopes(60.0, {(2, 3): Role.CLOSURE})).findings


def test_a_ridge_too_short_for_a_tie_gets_a_glued_strip() -> None:
    """It fills the corner: flat on one slope, its edge on the other one, which it touches and does not enter."""
    outcome = built(two_slopes(20.0, {(2, 3): Role.CLOSURE}))
    (strip,) = of_kind(outcome, PartKind.LAP)
    assert is_glue_strip(strip) and strip.id == "G1"
    (note,) = outcome.findings
    assert note.code == "glued-once" and "G1" in note.message
    one, two = (facet.frame for facet in outcome.facets.facets)
    inner = np.concatenate([corners(strip, 0.0), corners(strip, strip.thickness)])
    depths = [(inner - frame.origin) @ frame.n for frame in (one, two)]
    assert sorted(float(depth.max()) for depth in depths) == pytest.approx([0.0, 0.0], abs=1e-9)
    assert outcome.proof.board_overlap is not None and outcome.proof.board_overlap < 1e-9


def test_butt_joints_get_a_flat_strip() -> None:
    """A slope parted down its middle: the strip lies under both halves, without a bend."""
    x, y = 200.0, 120.0
    points = np.array([(0, 0, 60), (x, 0, 60), (2 * x, 0, 60), (2 * x, y, 140), (x, y, 140), (0, y, 140)], dtype=float)
    solid = make_solid(points, [(0, 1, 4, 5), (1, 2, 3, 4)], roles={(1, 4): Role.CLOSURE})
    outcome = built(solid)
    (strip,) = of_kind(outcome, PartKind.LAP)
    assert strip.size == pytest.approx((30.0, 24.0))
    frame = outcome.facets.facets[0].frame
    np.testing.assert_allclose((corners(strip, 0.0) - frame.origin) @ frame.n, 0.0, atol=1e-9)
    assert np.abs(corners(strip, 0.0)[:, 0] - x).max() == pytest.approx(12.0)
    assert outcome.proof.holds


@pytest.mark.slow
def test_a_line_that_is_full_is_searched_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    """Magnets that hold next to nothing want thousands of pairs: one failed search over the line ends it."""
    weak = replace(MAGNETS, closure=replace(MAGNETS.closure, pull=1e-3))
    facets = find_facets(hip_house(4, 3))
    sections = unfold(facets, weak)
    lines = lines_of(facets, sections, weak)
    searches = []
    place = closures.Taken.nearest

    def counted(*values):
        found = place(*values)
        searches.append(bool(found))
        return found

    monkeypatch.setattr(closures.Taken, "nearest", counted)
    # what is tried beside magnets searches for itself
    monkeypatch.setattr(closures, "place_glue_strip", lambda *values: ())
    monkeypatch.setattr(closures, "place_gusset", lambda *values, **more: ())
    made = make_closures(facets, sections, Taken(sections.parts, weak), weak)
    assert [finding.code for finding in made.findings].count("closure-unpaired") == len(lines)
    assert searches.count(False) == len(lines)
