"""End to end: from a saved file by the command line to sheets, guide and a report that keeps to its schema."""

from __future__ import annotations

import json
import math
import xml.etree.ElementTree as ET
from importlib.resources import files
from pathlib import Path

import bpy
import jsonschema
import numpy as np
import pytest
from slow_cases import one_quick

SAMPLES = Path(__file__).resolve().parents[2] / "blend_samples"

#: Of the folded-back proof, every distance that says how exactly the flat parts fit the model.
PROOF = (
    "corner_distance",
    "loop_gap",
    "tab_slot_distance",
    "joiner_distance",
    "closure_distance",
    "board_overlap",
    "reading_noise",
)

#: What single precision may cost on the way through the host, mm.
ALLOWED = 1e-3


@pytest.fixture(scope="module")
def validator():
    schema = json.loads((files("stowfold.geometry.paper") / "report.schema.json").read_text(encoding="utf-8"))
    return jsonschema.Draft202012Validator(schema)


@pytest.fixture
def cut(run, tmp_path, validator):
    """A function that cuts a file without an error and returns the report, held to its schema and its sheets."""

    def cut(path, *words):
        before = path.read_bytes()
        folder = tmp_path / "cut"
        code, out, err = run("cut", path, "-o", folder, *words)
        assert (code, err) == (0, []), out
        assert path.read_bytes() == before
        report = json.loads((folder / "report.json").read_text(encoding="utf-8"))
        assert [error.message for error in validator.iter_errors(report)] == []
        assert f": {len(report['parts'])} part" in out[0]  # all that is cut: tiles and props are parts as well
        sheets = [sheet["file"] for sheet in report["layout"]["sheets"]]
        names = sorted(file.name for file in folder.iterdir())
        assert names == sorted([*sheets, "report.json", "guide.html", "overview.pdf", "mock-up.pdf"])
        for sheet in report["layout"]["sheets"]:
            # CSS: a length in mm is physical, so the drawing has the sheet's true size
            root = ET.parse(folder / sheet["file"]).getroot()
            assert [float(root.get(key).removesuffix("mm")) for key in ("width", "height")] == sheet["size"]
        assert "<html" in (folder / "guide.html").read_text(encoding="utf-8")
        return report

    return cut


def proof_lines(report):
    """The proof's distances that apply, by name."""
    assert set(PROOF) <= set(report["proof"])
    return {key: report["proof"][key] for key in PROOF if report["proof"][key] is not None}


# A building marked by hand


@pytest.mark.slow
def test_a_rectangle_marked_by_a_plain_script(add_ring, save, cut):
    add_ring()
    report = cut(save())
    kinds = [part["kind"] for part in report["parts"]]
    assert (kinds.count("wall"), kinds.count("core"), kinds.count("cheek"), kinds.count("floor")) == (2, 2, 4, 1)
    lines = proof_lines(report)
    assert set(lines) == set(PROOF) - {"closure_distance"}
    assert max(lines.values()) <= ALLOWED
    # 90 degree corners, turned the same way all round
    assert [lattice["angle_deg"] for lattice in report["lattices"]] == pytest.approx([90.0] * 4, abs=1e-4)
    assert {len(joiner["ends"]) for joiner in report["joiners"]} == {2}


@pytest.mark.slow
def test_units_of_the_scene_do_not_change_the_parts(add_ring, save, cut):
    add_ring()
    expected = cut(save())
    bpy.ops.wm.read_factory_settings(use_empty=True)
    bpy.context.scene.unit_settings.scale_length = 0.0254
    add_ring(scale=1 / 25.4)
    report = cut(save("inches.blend"))
    for ours, theirs in zip(report["parts"], expected["parts"], strict=True):
        assert (ours["id"], ours["kind"]) == (theirs["id"], theirs["kind"])
        np.testing.assert_allclose(ours["size"], theirs["size"], atol=1e-4)


# Other solids


def cube(edge):
    points = [(x * edge, y * edge, z * edge) for z in (0, 1) for x, y in ((0, 0), (1, 0), (1, 1), (0, 1))]
    return points, [(0, 3, 2, 1), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7)]


def tetrahedron(edge):
    s = edge / math.sqrt(8)
    return [(s, s, s), (s, -s, -s), (-s, s, -s), (-s, -s, s)], [(0, 1, 2), (0, 3, 1), (0, 2, 3), (1, 3, 2)]


@pytest.mark.parametrize("edge", [150.0, 160.0])
@pytest.mark.parametrize(
    ("shape", "dihedral", "panels"),
    # Dihedral angles of the regular solids: 90 degrees, and arccos(1/3) for the tetrahedron.
    [(cube, 90.0, 6), (tetrahedron, math.degrees(math.acos(1 / 3)), 4)],
    ids=["cube", "tetrahedron"],
)
@pytest.mark.slow
def test_any_other_solid_goes_the_same_way(add_mesh, save, cut, edge, shape, dihedral, panels):
    add_mesh("Cargo", *shape(edge))
    report = cut(save(), "--propose", "net")
    assert len(report["panels"]) == panels
    # a tree of panels has one bend less than panels, in every part
    assert 1 <= len(report["lattices"]) == panels - len(report["parts"])
    for lattice in report["lattices"]:
        assert abs(lattice["angle_deg"]) == pytest.approx(180.0 - dihedral, abs=1e-3)
    lines = proof_lines(report)
    assert {"corner_distance", "closure_distance", "board_overlap"} <= set(lines)
    assert max(lines.values()) <= ALLOWED


# The samples


@pytest.mark.parametrize(
    ("file", "walls", "corners"), one_quick([("grain_store", 2, 4), ("toll_house", 3, 6), ("lock_keepers_house", 2, 4)])
)
def test_a_sample_is_cut_and_every_line_of_its_proof_holds(cut, file, walls, corners):
    report = cut(SAMPLES / f"{file}.blend")
    lines = proof_lines(report)
    assert set(lines) >= set(PROOF) - {"closure_distance"}
    assert max(lines.values()) <= ALLOWED
    kinds = [part["kind"] for part in report["parts"]]
    assert kinds.count("wall") == walls == len(report["joiners"])
    # leaves hang in their walls on lattices of their own
    upright = [
        lattice for lattice in report["lattices"] if lattice["part"].startswith("W") and lattice["swing_deg"] is None
    ]
    assert len(upright) == corners
    # exterior angles of a closed plan sum to a full turn, however many corners are re-entrant
    assert sum(lattice["angle_deg"] for lattice in upright) == pytest.approx(360.0, abs=1e-3)
    assert [finding["severity"] for finding in report["findings"] if finding["severity"] == "error"] == []
    # every part lies on a sheet, turned but never mirrored: y runs down there, so the determinant is -1
    for part in report["parts"]:
        a, b, c, d, *_ = part["place"]
        assert a * d - b * c == pytest.approx(-1.0, abs=1e-9)


@pytest.mark.parametrize("file", ["grain_store", "toll_house", "lock_keepers_house"])
@pytest.mark.slow
def test_a_panel_of_a_sample_stands_where_its_face_does(cut, file):
    """``stands`` alone takes the flat ring to the plane of the host's face, one unit of the host being a square."""
    path = SAMPLES / f"{file}.blend"
    report = cut(path)
    bpy.ops.wm.open_mainfile(filepath=str(path))
    mesh = bpy.context.scene.objects[0].data
    assert report["panels"]
    for panel in report["panels"]:
        matrix = np.array(panel["stands"])
        ring = np.column_stack([panel["ring"], np.zeros(len(panel["ring"])), np.ones(len(panel["ring"]))])
        standing = ring @ matrix.T
        for index in panel["facet"]:
            face = mesh.polygons[index]
            normal, origin = np.array(face.normal), 25.4 * np.array(mesh.vertices[face.vertices[0]].co)
            away = (standing - origin) @ normal
            # the whole panel lies in one plane, at the face itself or one board further out
            assert np.ptp(away) <= ALLOWED
            assert min(abs(away[0]), abs(abs(away[0]) - 3.0)) <= ALLOWED


# Options that change what is cut


@pytest.mark.slow
def test_breaks_are_proposed_where_a_ring_is_too_long(add_ring, save, cut):
    add_ring(length=900.0)
    report = cut(save(), "--propose", "breaks")
    longest = max(part["size"][0] for part in report["parts"] if part["kind"] == "wall")
    stock = next(stock for stock in report["stocks"])
    assert longest <= max(stock["sheet"])
    assert len(report["joiners"]) > 2


@pytest.mark.slow
def test_all_is_proposed_for_an_unmarked_ring(add_ring, save, cut):
    target = add_ring()
    target.data.attributes.remove(target.data.attributes["stowfold_role"])
    report = cut(save(), "--propose", "all")
    assert len(report["lattices"]) == 4
    assert len(report["joiners"]) >= 1
    assert max(proof_lines(report).values()) <= ALLOWED


@pytest.mark.slow
def test_two_named_objects_are_one_building(add_ring, add_mesh, save, cut):
    add_ring("Walls")
    add_mesh(
        "Roof",
        [(-6, -6, 56), (236, -6, 56), (236, 75, 110), (-6, 75, 110), (236, 156, 56), (-6, 156, 56)],
        [(0, 1, 2, 3), (4, 5, 3, 2)],
        {(2, 3): 1},
    )
    add_ring("Not this one")
    report = cut(save(), "--object", "Walls", "--object", "Roof", "--stock", "birch-plywood-3")
    kinds = {part["kind"] for part in report["parts"]}
    assert {"wall", "roof"} <= kinds
    assert len(report["lattices"]) == 5
    assert max(proof_lines(report).values()) <= ALLOWED


@pytest.mark.slow
def test_a_check_writes_the_same_report_as_a_cut(add_ring, save, run, cut, tmp_path):
    add_ring()
    path = save()
    expected = cut(path)
    assert run("check", path, "--json", tmp_path / "checked.json")[0] == 0
    assert json.loads((tmp_path / "checked.json").read_text(encoding="utf-8")) == expected


# Places and names


@pytest.mark.slow
def test_names_and_paths_of_any_letters_go_through(add_ring, save, cut, tmp_path):
    add_ring("Müllers Süßwasser-Speicher <Nr. 3> & Söhne")
    path = save("am Kanal – Entwurf 2.blend")
    report = cut(path)
    assert len(report["joiners"]) == 2
    guide = (tmp_path / "cut" / "guide.html").read_text(encoding="utf-8")
    assert "Müllers Süßwasser-Speicher &lt;Nr. 3&gt; &amp; Söhne" in guide


@pytest.mark.slow
def test_the_makers_own_files_stay_and_old_sheets_go(add_ring, save, run, tmp_path):
    add_ring(length=420.0, height=120.0)
    larger = save("larger.blend")
    add_ring()
    bpy.context.scene.unit_settings.scale_length = 0.001
    smaller = save("smaller.blend")
    folder = tmp_path / "cut"
    assert run("cut", larger, "-o", folder)[0] == 0
    assert len(list(folder.glob("sheet-*.svg"))) > 1
    (folder / "notes.txt").write_text("mine")
    (folder / "sheet-90.svg").write_text("mine too")
    assert run("cut", smaller, "-o", folder)[0] == 0
    names = sorted(file.name for file in folder.iterdir())
    sheets = [load["file"] for load in json.loads((folder / "report.json").read_text())["layout"]["sheets"]]
    assert names == sorted(
        [*sheets, "guide.html", "overview.pdf", "mock-up.pdf", "notes.txt", "report.json", "sheet-90.svg"]
    )
    assert len(sheets) == 1
    assert (folder / "notes.txt").read_text() == "mine"


@pytest.mark.slow
def test_a_file_that_may_only_be_read_is_enough(add_ring, save, cut):
    add_ring()
    path = save()
    path.chmod(0o444)
    cut(path)
