"""The report: exactly the published format, null where a thing does not apply, numbers in full."""

from __future__ import annotations

import copy
import json
import math
from collections.abc import Callable
from dataclasses import replace
from importlib.resources import files

import jsonschema
import numpy as np
import pytest
from shapely.geometry import Polygon
from stowfold.geometry.assembly.plan import Stage
from stowfold.geometry.findings import Severity
from stowfold.geometry.finish.own import OwnDrawing
from stowfold.geometry.paper.painting import painting_section
from stowfold.geometry.paper.report import build_report, dump_report
from stowfold.geometry.part import Dressing, FaceUp, PartKind, Way
from toll_house_corner import make_outcome


@pytest.fixture(scope="module")
def validator() -> jsonschema.Draft202012Validator:
    schema = json.loads((files("stowfold.geometry.paper") / "report.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


def test_reports_keep_the_published_format(outcome, empty, validator) -> None:
    for made in (outcome, empty):
        validator.validate(json.loads(dump_report(build_report(made))))


@pytest.mark.parametrize(
    ("kinds", "path"),
    [
        (PartKind, ("parts", "kind")),
        (FaceUp, ("parts", "face_up")),
        (Stage, ("assembly", "moves", "stage")),
        (Way, ("finishes", "way")),
        (Severity, ("findings", "severity")),
    ],
)
def test_the_published_format_knows_every_kind(kinds, path, validator) -> None:
    told = validator.schema
    for key in path:
        told = told["properties"][key]
        told = told.get("items", told)
    assert {kind.value for kind in kinds} == set(told["enum"])


@pytest.mark.parametrize(
    "spoil",
    [
        lambda r: r.pop("proof"),
        lambda r: r.update(extra=1),
        lambda r: r.update(schema="stowfold-report/2"),
        lambda r: r["parts"][0].update(face_up="inside"),
        lambda r: r["parts"][0].update(place=[1, 0, 0, -1, 5]),
        lambda r: r["parts"][0].pop("grain_deg"),
        lambda r: r["panels"][0]["stands"].pop(),
        lambda r: r["lattices"][0].update(moment="9.5"),
        lambda r: r["lattices"][0].update(angle_deg=270),
        lambda r: r["joiners"][0]["cheeks"].append("J9"),
        lambda r: r["proof"].update(loop_gap=-1),
        lambda r: r["findings"][0].update(severity="fatal"),
        lambda r: r["findings"][0]["where"].update(point=[1, 2]),
        lambda r: r["layout"]["sheets"][0].update(used_share=1.2),
        lambda r: r["stow"].update(share=0),
    ],
)
def test_wrong_reports_fail(outcome, validator, spoil: Callable[[dict], object]) -> None:
    report = copy.deepcopy(build_report(outcome))
    spoil(report)
    assert not validator.is_valid(report)


def test_place_puts_parts_on_the_sheet_unmirrored(outcome) -> None:
    report = build_report(outcome)
    placements = {placement.part: placement for placement in outcome.layout.placements}
    for part in report["parts"]:
        a, b, c, d, e, f = part["place"]
        assert a * d - b * c == pytest.approx(-1.0, abs=1e-12)
        ring = np.array(part["outline"][0])
        drawn = ring @ np.array([[a, b], [c, d]]) + [e, f]
        # The sheet frame of the layout has y up, the file has y down from the top of a 300 mm sheet.
        assert drawn == pytest.approx(placements[part["id"]].place(ring) * [1, -1] + [0, 300], abs=1e-9)


def test_outline_rings_are_turned_as_promised_and_hold_the_area(outcome) -> None:
    for part in build_report(outcome)["parts"]:
        outer, *holes = (Polygon(ring) for ring in part["outline"])
        assert outer.exterior.is_ccw
        assert not any(hole.exterior.is_ccw for hole in holes)
        assert outer.area - sum(hole.area for hole in holes) == pytest.approx(part["area"], rel=1e-12)
        assert len(set(map(tuple, part["outline"][0]))) == len(part["outline"][0])


def test_panels_stand_where_the_model_is(outcome) -> None:
    side = next(panel for panel in build_report(outcome)["panels"] if panel["facet"] == [5])
    stands = np.array(side["stands"])
    points = np.array(side["ring"]) @ stands[:, :2].T + stands[:, 3]
    assert points[:, 0] == pytest.approx(150.0)
    assert points[:, 1].max() == pytest.approx(100.0)


def test_angles_are_signed_degrees_and_the_axis_is_the_middle_line(outcome) -> None:
    lattice = build_report(outcome)["lattices"][0]
    assert lattice["angle_deg"] == pytest.approx(90.0)
    assert lattice["twist_deg"] == pytest.approx(90.0 / 8)
    assert lattice["contact_twist_deg"] is None
    assert lattice["edges"] == [11, 12]
    zone, axis = np.array(lattice["zone"]), np.array(lattice["axis"])
    assert axis == pytest.approx((zone[[0, 1]] + zone[[3, 2]]) / 2)
    assert float(np.linalg.norm(axis[1] - axis[0])) == pytest.approx(lattice["axis_length"])


def test_numbers_come_back_to_the_last_bit(outcome) -> None:
    report = build_report(outcome)
    assert json.loads(dump_report(report)) == report
    ring = outcome.parts[0].panels[1].ring
    assert np.array_equal(np.array(report["panels"][1]["ring"]), ring)


def test_what_does_not_apply_is_null(outcome, empty) -> None:
    report = build_report(outcome)
    assert report["play"] is None
    assert report["proof"]["loop_gap"] is None
    assert report["proof"]["joiner_distance"] == 0.0
    assert report["stocks"][0]["calibration"] is None
    assert [stock["name"] for stock in report["stocks"]] == ["ply-3"]
    assert build_report(empty)["stow"] is None
    unplaced = build_report(make_outcome(layout=build_layout_without_sheets(outcome), sheet_seconds=()))
    assert {(part["sheet"], part["place"]) for part in unplaced["parts"]} == {(None, None)}


def build_layout_without_sheets(outcome):
    return type(outcome.layout)((), (), (0, "nothing laid out"), ())


def test_infinite_stresses_are_null_and_other_nonsense_is_refused(outcome, validator) -> None:
    part = outcome.parts[0]
    stiff = replace(part.lattices[0].lattice, shear=math.inf, bridge_stress=math.inf, moment=math.inf)
    bent = replace(part, lattices=(replace(part.lattices[0], lattice=stiff),))
    report = build_report(make_outcome(parts=(bent, *outcome.parts[1:])))
    assert report["lattices"][0]["shear"] is None
    validator.validate(json.loads(dump_report(report)))
    report["square"] = math.nan
    with pytest.raises(ValueError, match="JSON"):
        dump_report(report)


def test_the_text_is_the_same_every_time_and_short(outcome) -> None:
    text = dump_report(build_report(outcome))
    assert text == dump_report(build_report(outcome))
    assert text.endswith("}\n")
    place = next(line for line in text.splitlines() if '"place"' in line)
    assert place.count(",") >= 5


def test_any_name_survives(outcome) -> None:
    from dataclasses import replace

    awkward = 'a "b" \\ [\n 1, 2\n] <é> 🏚 שלום'
    finding = replace(outcome.findings[0], sentence=awkward)
    assert json.loads(dump_report(build_report(make_outcome(findings=(finding,)))))["findings"][0]["message"] == awkward
    lone = replace(outcome.findings[0], sentence="lone \udc80")
    text = dump_report(build_report(make_outcome(findings=(lone,))))
    assert json.loads(text.encode("utf-8"))["findings"][0]["message"] == "lone \udc80"


def test_own_drawings_are_told_with_their_parts_and_lengths(outcome, validator) -> None:
    line = np.array([[5.0, 5.0], [35.0, 45.0]])
    drawn = Dressing("Anchor", Way.ENGRAVE, line, np.array([0, 2]))
    hatched = Dressing("Anchor", Way.FILL, line + 1.0, np.array([0, 2]))
    wall = replace(outcome.parts[0], dressings=(drawn, hatched))
    drawings = (OwnDrawing("Anchor", (), Way.FILL, hatch=0.25), OwnDrawing("Lost", ()))
    made = make_outcome(parts=(wall, *outcome.parts[1:]), settings=replace(outcome.settings, drawings=drawings))
    report = json.loads(dump_report(build_report(made)))
    validator.validate(report)
    anchor, lost = report["drawings"]
    assert (anchor["name"], anchor["way"], anchor["hatch"], anchor["parts"]) == ("Anchor", "fill", 0.25, [wall.id])
    # two lines of 30 by 40 mm
    assert (anchor["lines"], anchor["length"]) == (2, 100.0) and anchor["seconds"] > 0.0
    assert (lost["parts"], lost["lines"], lost["seconds"], lost["hatch"]) == ([], 0, None, None)
    told = painting_section(made)
    assert "score the line 0.2 to 0.3 mm deep first" in told and "stain or a thin wash only" in told
    assert "score the line" not in painting_section(outcome)
