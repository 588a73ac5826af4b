"""Bad input, by the command line: one sentence each, the right exit code, nothing half-written, the file as it was."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import bpy
import pytest
from slow_cases import one_quick

FLEX, BREAK = 1, 2

SAMPLES = Path(__file__).resolve().parents[2] / "blend_samples"


@dataclass
class Walls:
    """A rectangle of 230 x 150 mm, 60 mm high, still to be spoilt: wall k runs from point k to k + 1, tops at + 6.

    Points 0, 2, 3, 5 stand in the flex corners, 1 and 4 within the long walls, where the breaks are.
    """

    points: list = field(
        default_factory=lambda: [
            (float(x), float(y), z)
            for z in (0.0, 60.0)
            for x, y in ((0, 0), (115, 0), (230, 0), (230, 150), (115, 150), (0, 150))
        ]
    )
    faces: list = field(default_factory=lambda: [(k, (k + 1) % 6, 6 + (k + 1) % 6, 6 + k) for k in range(6)])
    marks: dict = field(default_factory=lambda: {(k, 6 + k): BREAK if k in (1, 4) else FLEX for k in range(6)})


def dented(walls: Walls) -> None:
    # a square's corner moved 4 mm out of the plane of the other three: the best plane halves that twice
    walls.points[6] = (0.0, 4.0, 60.0)


def doubled(walls: Walls) -> None:
    walls.faces.append(walls.faces[3])


def doubled_apart(walls: Walls) -> None:
    """The same face again on points of its own."""
    walls.points += [walls.points[corner] for corner in walls.faces[3]]
    walls.faces.append((12, 13, 14, 15))


def without_area(walls: Walls) -> None:
    """Three points in a row."""
    walls.points += [(10.0, 20.0, 0.0), (20.0, 20.0, 0.0), (30.0, 20.0, 0.0)]
    walls.faces.append((12, 13, 14))


def three_at_an_edge(walls: Walls) -> None:
    """Two canopies on the top edge of one wall."""
    walls.points += [(115.0, -30.0, 60.0), (230.0, -30.0, 60.0), (115.0, -30.0, 90.0), (230.0, -30.0, 90.0)]
    walls.faces += [(7, 8, 13, 12), (7, 8, 15, 14)]


def turned_screen(walls: Walls) -> None:
    """Three walls that close no ring, the middle one inside out."""
    walls.points[:] = [(x, y, z) for x, y in ((0, 0), (100, 0), (100, 100), (-20, 130)) for z in (0.0, 60.0)]
    walls.faces[:] = [(0, 2, 3, 1), (3, 5, 4, 2), (4, 6, 7, 5)]
    walls.marks.clear()


def without_breaks(walls: Walls) -> None:
    walls.marks[1, 7] = walls.marks[4, 10] = 0


def break_that_stops_halfway(walls: Walls) -> None:
    walls.points += [(115.0, 0.0, 30.0), (0.0, 0.0, 30.0), (230.0, 0.0, 30.0)]
    walls.faces[:] = [
        *((0, 1, 12, 13), (13, 12, 7, 6), (1, 2, 14, 12), (12, 14, 8, 7)),
        *((2, 3, 9, 8, 14), walls.faces[3], walls.faces[4], (5, 0, 13, 6, 11)),
    ]
    for pair in ((1, 7), (0, 6), (2, 8)):
        del walls.marks[pair]
    walls.marks |= {(1, 12): BREAK, (0, 13): FLEX, (13, 6): FLEX, (2, 14): FLEX, (14, 8): FLEX}


def break_that_leans(walls: Walls) -> None:
    # atan(10 / 60) = 9.46 degrees
    walls.points[7] = (125.0, 0.0, 60.0)


def break_at_a_corner(walls: Walls) -> None:
    walls.marks[0, 6] = BREAK


def break_beside_a_corner(walls: Walls) -> None:
    walls.points[1], walls.points[7] = (12.0, 0.0, 0.0), (12.0, 0.0, 60.0)


def too_narrow_to_bend(walls: Walls) -> None:
    walls.points[:] = [(x, y * 6 / 150, z) for x, y, z in walls.points]


def longer_than_any_sheet(walls: Walls) -> None:
    walls.points[:] = [(x * 1900 / 230, y, z) for x, y, z in walls.points]


def _within(low: float, high: float) -> Callable[[float], bool]:
    return lambda value: low <= value <= high


#: What is wrong, the finding's code, what its sentence says, and within which bounds its first length lies.
SPOILT = (
    (dented, "non-planar-facet", r"^(?:The|A) .* out of flat by ([\d.]+) mm", _within(0.9, 1.1)),
    (three_at_an_edge, "open-or-crossing-solid", r"more than two faces meet", None),
    (turned_screen, "unclear-board-side", r"normal of the \w+ wall[^;]* points.*recalculate the normals", None),
    (without_breaks, "flex-loop-without-break", r"4 flex corners of the .* wall.* mark a break", None),
    (break_that_stops_halfway, "bad-break-line", r"ends inside its wall after ([\d.]+) mm", _within(29.99, 30.01)),
    (break_that_leans, "bad-break-line", r"leans by ([\d.]+) degrees; make it vertical", _within(9.4, 9.6)),
    (break_at_a_corner, "bad-break-line", r"lies on a corner", None),
    (break_beside_a_corner, "bad-break-line", r"the joiner needs ([\d.]+) mm on each side", _within(14.2, 14.3)),
    (too_narrow_to_bend, "vanishing-panel", r"The side of the \w+ wall[^;]* is ([\d.]+) mm long", _within(5.99, 6.01)),
    (longer_than_any_sheet, "part-longer-than-sheet", r"needs ([\d.]+) x .* part it with a break", _within(1900, 2100)),
)


@pytest.mark.parametrize(
    ("spoil", "code", "words", "bounds"), one_quick(SPOILT), ids=[spoil.__name__ for spoil, *_ in SPOILT]
)
def test_a_spoilt_model_is_a_finding_that_keeps_the_sheets_back(
    add_mesh, save, run, tmp_path, spoil, code, words, bounds
):
    walls = Walls()
    spoil(walls)
    add_mesh("Boat shed", walls.points, walls.faces, walls.marks)
    path = save()
    before = path.read_bytes()
    exit_code, out, err = run("cut", path, "-o", tmp_path / "cut")
    assert (exit_code, err) == (1, [])
    assert path.read_bytes() == before
    assert sorted(file.name for file in tmp_path.iterdir()) == ["building.blend", "cut"]
    assert sorted(file.name for file in (tmp_path / "cut").iterdir()) == ["guide.html", "report.json"]

    findings = json.loads((tmp_path / "cut" / "report.json").read_text(encoding="utf-8"))["findings"]
    ours = [finding for finding in findings if finding["code"] == code]
    assert {our["severity"] for our in ours} == {"error"}
    found = next(match for our in ours if (match := re.search(words, our["message"])))
    if bounds is not None:
        assert bounds(float(found[1]))
    # one sentence, and the place in the model that the maker is to look at
    for our in ours:
        assert not re.search(r"\.\s", our["message"])
        assert our["message"].count("\n") == 0
        assert our["where"]["faces"] or our["where"]["edges"] or our["where"]["part"]
    # the same on the screen
    assert any(code in line for line in out)


@pytest.mark.parametrize(
    ("spoil", "code", "words"),
    one_quick(
        [
            (doubled, "duplicate-face", r"A face .*same corners; it is left out"),
            (doubled_apart, "duplicate-face", r"A face .*same corners; it is left out"),
            (without_area, "zero-area-face", r"A face .*has no area; it is left out"),
        ]
    ),
)
def test_faces_too_many_are_left_out_and_told(add_mesh, save, run, tmp_path, spoil, code, words):
    walls = Walls()
    spoil(walls)
    add_mesh("Boat shed", walls.points, walls.faces, walls.marks)
    exit_code, _, err = run("cut", save(), "-o", tmp_path / "cut")
    assert (exit_code, err) == (0, [])
    report = json.loads((tmp_path / "cut" / "report.json").read_text(encoding="utf-8"))
    (note,) = (finding for finding in report["findings"] if finding["code"] == code)
    assert note["severity"] == "note" and re.search(words, note["message"])
    assert note["where"]["faces"] == [6]
    assert sorted(part["id"] for part in report["parts"] if part["id"].startswith("W")) == ["W1", "W2"]


@pytest.mark.slow
def test_the_walls_are_sound_before_they_are_spoilt(add_mesh, save, run, tmp_path):
    walls = Walls()
    add_mesh("Boat shed", walls.points, walls.faces, walls.marks)
    assert run("cut", save(), "-o", tmp_path / "cut")[0] == 0


def measured(thickness: float, kerf: float) -> None:
    scene = bpy.context.scene
    bpy.ops.stowfold.measure_stock(stock=scene.stowfold.stocks.walls)
    scene.stowfold.measured[0].thickness = thickness
    scene.stowfold.measured[0].kerf = kerf


@pytest.mark.parametrize(
    ("thickness", "kerf", "words"),
    [
        (3.0, 0.0, r"The kerf of birch plywood 3 mm is 0 mm; it must be larger than 0"),
        (3.0, -0.2, r"The kerf of birch plywood 3 mm is 0 mm; it must be larger than 0"),
        (0.0, 0.05, r"The thickness .*birch plywood 3 mm is 0\.4 mm; .* less than the thickness of 0\.1 mm"),
        (0.6, 0.8, r"The kerf of birch plywood 3 mm is 0\.8 mm; it must be less than the thickness of 0\.6 mm"),
    ],
)
def test_a_board_that_cannot_be_is_one_sentence(add_ring, save, run, tmp_path, sentence, thickness, kerf, words):
    add_ring()
    # the host itself keeps what is typed at 0.1 mm of thickness and 0 mm of kerf or more
    measured(thickness, kerf)
    path = save()
    before = path.read_bytes()
    code, out, err = run("cut", path, "-o", tmp_path / "cut")
    assert (code, out) == (2, [])
    assert re.search(words, sentence(err))
    assert path.read_bytes() == before
    assert not (tmp_path / "cut").exists()


def test_a_joiner_that_holds_nothing_is_one_sentence(add_ring, save, run, tmp_path, sentence):
    add_ring()
    bpy.context.scene.stowfold.joiner.core_width = 29.75
    code, _, err = run("cut", save(), "-o", tmp_path / "cut")
    assert code == 2
    assert "core of 29.75 mm" in sentence(err)
    assert not (tmp_path / "cut").exists()


@pytest.mark.parametrize("value", [-1, 4])
def test_a_role_that_nobody_knows_is_one_sentence(add_ring, save, run, tmp_path, sentence, value):
    add_ring().data.attributes["stowfold_role"].data[0].value = value
    code, _, err = run("cut", save(), "-o", tmp_path / "cut")
    assert code == 2
    assert f"bears the role {value}" in sentence(err)
    assert not (tmp_path / "cut").exists()


def test_an_object_flattened_to_nothing_is_one_sentence(add_ring, save, run, tmp_path, sentence):
    add_ring().scale.z = 0.0
    code, _, err = run("cut", save(), "-o", tmp_path / "cut")
    assert code == 2
    assert "No face of Boat shed has an area, since it measures 230 x 150 x 0 mm" in sentence(err)
    assert not (tmp_path / "cut").exists()


@pytest.mark.slow
def test_a_mark_on_a_loose_edge_is_told(add_mesh, save, run, tmp_path):
    """An edge between the middles of both long walls, which no face has."""
    walls = Walls()
    target = add_mesh("Boat shed", walls.points, walls.faces, walls.marks)
    target.data.edges.add(1)
    target.data.edges[-1].vertices = (1, 4)
    target.data.attributes["stowfold_role"].data[-1].value = BREAK
    loose = len(target.data.edges) - 1
    assert run("cut", save(), "-o", tmp_path / "cut")[0] == 1
    findings = json.loads((tmp_path / "cut" / "report.json").read_text(encoding="utf-8"))["findings"]
    (found,) = (finding for finding in findings if finding["severity"] == "error")
    assert (found["code"], found["where"]["edges"]) == ("bad-break-line", [loose])
    assert "an edge of Boat shed near the front wall, left, lies on no face" in found["message"]


@pytest.mark.slow
def test_half_a_shed_is_told_when_its_mirror_is_off(add_mesh, save, run, tmp_path):
    """With the mirror on, the ring of four flex corners and two breaks is cut; without it both breaks end nowhere."""
    points = [(x - 115.0, y, z) for z in (0.0, 60.0) for x, y in ((115, 0), (230, 0), (230, 150), (115, 150))]
    faces = [(0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6)]
    marks = {(0, 4): BREAK, (3, 7): BREAK, (1, 5): FLEX, (2, 6): FLEX}
    target = add_mesh("Half a shed", points, faces, marks)
    target.modifiers.new("Mirror", "MIRROR")
    on = save("on.blend")
    code, out, _ = run("cut", on, "-o", tmp_path / "whole")
    assert code == 0
    # two wall sections, two joiners of three boards, a floor
    assert out[0].startswith("Half a shed: 9 parts")
    bpy.ops.wm.open_mainfile(filepath=str(on))
    bpy.data.objects["Half a shed"].modifiers["Mirror"].show_viewport = False
    assert run("cut", save("off.blend"), "-o", tmp_path / "half")[0] == 1
    findings = json.loads((tmp_path / "half" / "report.json").read_text(encoding="utf-8"))["findings"]
    assert {finding["code"] for finding in findings if finding["severity"] == "error"} == {"bad-break-line"}


@pytest.mark.parametrize("share", [0.3, 0.9])
def test_a_torn_sample_is_one_sentence_and_stays_as_it_is(run, tmp_path, sentence, share):
    whole = (SAMPLES / "grain_store.blend").read_bytes()
    torn = tmp_path / "torn.blend"
    torn.write_bytes(whole[: int(share * len(whole))])
    before = torn.read_bytes()
    code, out, err = run("cut", torn, "-o", tmp_path / "cut")
    assert (code, out) == (2, [])
    assert "torn" in sentence(err)
    assert torn.read_bytes() == before
    assert [file.name for file in tmp_path.iterdir()] == ["torn.blend"]


@pytest.mark.slow
def test_a_file_that_was_refused_does_not_spoil_the_next_one(add_ring, save, run, tmp_path):
    add_ring()
    path = save()
    torn = tmp_path / "torn.blend"
    torn.write_bytes(path.read_bytes()[:5000])
    assert run("check", torn)[0] == 2
    assert run("check", path)[0] == 0


@pytest.mark.slow
def test_a_folder_in_the_place_of_a_file_leaves_the_earlier_set_whole(add_ring, save, run, tmp_path, sentence):
    add_ring()
    path = save()
    folder = tmp_path / "cut"
    (folder / "guide.html").mkdir(parents=True)
    (folder / "report.json").write_text("mine")
    code, out, err = run("cut", path, "-o", folder)
    assert (code, out) == (2, [])
    assert "guide.html is a folder" in sentence(err)
    assert sorted(file.name for file in folder.iterdir()) == ["guide.html", "report.json"]
    assert (folder / "report.json").read_text() == "mine"


@pytest.mark.slow
def test_a_folder_whose_parent_is_missing_is_made_nowhere(add_ring, save, run, tmp_path, sentence):
    add_ring()
    code, _, err = run("cut", save(), "-o", tmp_path / "no" / "such" / "cut")
    assert code == 2
    assert "does not exist" in sentence(err)
    assert not (tmp_path / "no").exists()


@pytest.mark.slow
def test_without_blenders_module_the_real_command_says_what_to_install(tmp_path):
    path = shutil.copy(SAMPLES / "toll_house.blend", tmp_path)
    start = (
        "import sys; sys.modules['bpy'] = None; from stowfold.command_line import main; sys.exit(main(sys.argv[1:]))"
    )
    result = subprocess.run(
        [sys.executable, "-c", start, "cut", path, "-o", tmp_path / "cut"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert (result.returncode, result.stdout) == (2, "")
    assert result.stderr.startswith("stowfold: Blender's Python module is missing; install it with: pip install")
    assert result.stderr.count("\n") == 1
    assert not (tmp_path / "cut").exists()
