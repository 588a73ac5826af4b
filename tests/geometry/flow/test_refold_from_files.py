"""From the files alone: sheets read by somebody else's reader refold into the model, unmirrored and complete."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely
import svgelements
from delivered import Delivered
from shapely.geometry import Polygon
from stowfold.geometry.board.stock import find_stock, read_stocks
from stowfold.geometry.flow.deliver import deliver
from stowfold.geometry.flow.run import run
from stowfold.geometry.outcome import Outcome, Settings
from stowfold.geometry.solid.solid import Role, make_solid

#: svgelements gives px; CSS fixes 96 px to the inch of 25.4 mm.
MM = 25.4 / 96


def drawn_outlines(path: Path) -> dict[str, Polygon]:
    """The outer lines of a sheet, mm in SVG axes, by part id (ids of paths are part id, dash, number)."""
    found = {}
    svg = svgelements.SVG.parse(str(path))
    for group in svg.select(lambda e: isinstance(e, svgelements.Group) and e.id == "outer"):
        for shape in group.select(lambda e: isinstance(e, svgelements.Path)):
            points = [(p.x * MM, p.y * MM) for p in shape.as_points()]
            found[shape.id.rsplit("-", 1)[0]] = Polygon(points)
    return found


def test_outlines_from_the_sheets_are_the_reported_ones(sample: Delivered) -> None:
    outcome, folder, report = sample.outcome, sample.folder, sample.report
    seen = set()
    for sheet in report["layout"]["sheets"]:
        for name, polygon in drawn_outlines(folder / sheet["file"]).items():
            part = next(part for part in report["parts"] if part["id"] == name)
            assert part["sheet"] == sheet["file"]
            a, b, c, d, e, f = part["place"]
            assert a * d - b * c == pytest.approx(-1.0, abs=1e-12), "a positive determinant would be a mirrored part"
            back = np.linalg.inv(np.array([[a, c], [b, d]]))
            in_part = shapely.transform(polygon, lambda xy, m=back, o=(e, f): (xy - np.array(o)) @ m.T)
            nominal = in_part.buffer(-0.1, join_style="mitre", mitre_limit=10)  # half the kerf of 0.2
            reported = Polygon(part["outline"][0])
            # 1 um per coordinate in the file, and the reader's own 5e-7; slender tips of ears on roofs are cut blunt
            blunt = 0.05 if name.startswith("R") else 0.0
            assert nominal.hausdorff_distance(reported) < 3e-3 + blunt, name
            assert nominal.symmetric_difference(reported).area < 3e-3 * reported.length, name
            seen.add(name)
    assert seen == {part.id for part in outcome.parts}


def test_panels_stand_on_the_model_s_own_vertices(sample: Delivered) -> None:
    """Every corner that no bend, gap, eave or tab has moved lies on a vertex; all others lie on a face of the model."""
    solid, report = sample.solid, sample.report
    walls = {part["id"]: part for part in report["parts"] if part["kind"] in ("wall", "roof")}
    # where the maker's openings stand, a wall has corners as well
    known = np.concatenate([solid.points, *(opening.points for opening in solid.openings)])
    met = 0
    for panel in report["panels"]:
        if panel["part"] not in walls:
            continue
        stands = np.array(panel["stands"])
        corners = np.array(panel["ring"]) @ stands[:, :2].T + stands[:, 3]
        normal = stands[:, 2]
        face = np.array([solid.points[i] for i in solid.faces[panel["facet"][0]]])
        np.testing.assert_allclose((corners - face[0]) @ normal, 0.0, atol=1e-9)
        # the modelled face looks away from the room, and so does the board's face up where the outside lies up
        newell = np.cross(face[1] - face[0], face[2] - face[1])
        assert (newell @ normal > 0.0) == (walls[panel["part"]]["face_up"] == "outside")
        assert np.linalg.det(stands[:, :3]) == pytest.approx(1.0, abs=1e-12)
        met += int(np.sum(np.linalg.norm(corners[:, None] - known[None], axis=2).min(axis=1) < 1e-9))
    # the ends of walls are moved; feet of doors, tops of breaks and windows' sills are not
    assert met >= 4


@pytest.mark.slow
@pytest.mark.parametrize("sample", ["grain_store"], indirect=True)  # the only one that has it
def test_the_loading_door_stays_left_of_centre(sample: Delivered) -> None:
    solid, folder, report = sample.solid, sample.folder, sample.report
    # in the front wall, y = 0, seen from outside x runs to the right
    door = np.array([[45.5, 0.0, 20.0], [81.5, 0.0, 20.0]])
    middle = solid.points[:, 0][np.abs(solid.points[:, 1]) < 1e-9].max() / 2
    assert door[:, 0].mean() < middle
    for panel in report["panels"]:
        stands = np.array(panel["stands"])
        if abs(stands[1, 2] + 1.0) > 1e-9 or abs(stands[1, 3]) > 1e-9 or panel["part"][0] != "W":
            continue
        flat = (door - stands[:, 3]) @ stands[:, :2]
        part = next(part for part in report["parts"] if part["id"] == panel["part"])
        x = [p[0] for p in panel["ring"]]
        if not min(x) < flat[0, 0] < max(x):
            continue
        a, b, c, d, e, f = part["place"]
        on_sheet = flat @ np.array([[a, b], [c, d]]) + np.array([e, f])
        outline = drawn_outlines(folder / part["sheet"])[part["id"]]
        inside = [outline.contains(shapely.Point(p)) for p in (on_sheet[0] + on_sheet[1]) / 2 * np.ones((1, 2))]
        assert inside == [False], "the middle of the door is no board"
        step = (on_sheet[1] - on_sheet[0]) / 30.0
        assert outline.contains(shapely.Point(on_sheet[0] - step * 2))
        assert outline.contains(shapely.Point(on_sheet[1] + step * 2))
        return
    pytest.fail("no panel of the front wall holds the door")


def test_sheets_are_true_to_size_and_parts_keep_apart(sample: Delivered) -> None:
    outcome, folder, report = sample.outcome, sample.folder, sample.report
    laser = outcome.settings.laser
    for sheet in report["layout"]["sheets"]:
        svg = svgelements.SVG.parse(str(folder / sheet["file"]))
        assert svg.width * MM == pytest.approx(sheet["size"][0], abs=1e-3)
        assert svg.height * MM == pytest.approx(sheet["size"][1], abs=1e-3)
        shapes = list(drawn_outlines(folder / sheet["file"]).values())
        for k, one in enumerate(shapes):
            x0, y0, x1, y1 = one.buffer(0.1).bounds
            assert min(x0, y0) > laser.margin - 3e-3
            assert x1 < sheet["size"][0] - laser.margin + 3e-3 and y1 < sheet["size"][1] - laser.margin + 3e-3
            assert all(one.distance(other) > laser.spacing - 3e-3 for other in shapes[:k])


def test_areas_add_up(sample: Delivered) -> None:
    """What the sheets hold is what the report says, part by part, kerf taken back."""
    folder, report = sample.folder, sample.report
    drawn = {}
    for sheet in report["layout"]["sheets"]:
        drawn |= drawn_outlines(folder / sheet["file"])
    for part in report["parts"]:
        whole = Polygon(part["outline"][0]).area
        assert drawn[part["id"]].buffer(-0.1, join_style="mitre", mitre_limit=10).area == pytest.approx(whole, rel=2e-4)


def test_delivery_leaves_sheets_out_with_an_error_unless_told(tmp_path: Path) -> None:
    birch = find_stock("birch-plywood-3", read_stocks())
    low = np.array([(0, 0), (230, 0), (230, 150), (0, 150)], dtype=float)
    points = np.vstack([np.column_stack([low, np.full(4, z)]) for z in (0.0, 62.0)])
    faces = [(i, (i + 1) % 4, (i + 1) % 4 + 4, i + 4) for i in range(4)]
    loop = make_solid(points, faces, roles={(i, i + 4): Role.FLEX for i in range(4)})
    outcome: Outcome = run(loop, Settings(birch, birch, birch, birch), title="Loop")
    assert {finding.code for finding in outcome.findings} >= {"flex-loop-without-break"}
    written = deliver(outcome, tmp_path / "a")
    assert sorted(path.name for path in written) == ["guide.html", "report.json"]
    written = deliver(outcome, tmp_path / "b", anyway=True)
    assert sum(path.suffix == ".svg" for path in written) == len(outcome.layout.sheets) > 0
