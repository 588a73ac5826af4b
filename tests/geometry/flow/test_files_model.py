"""The sheets hold the model: what is cut from them is its facets by closed forms, and its lattices slit by slit."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
import shapely
from delivered import Delivered
from read_sheets import ROUNDED, cut_loose, designed, round_corners, strokes
from shapely.geometry import LineString, Polygon
from shapely.geometry.polygon import orient
from stowfold.geometry.solid.solid import Role


def planes(solid) -> list[tuple[np.ndarray, np.ndarray, list[int]]]:
    """The flat regions of a mesh: normal, a point, and its faces."""
    found: list[tuple[np.ndarray, np.ndarray, list[int]]] = []
    for index, face in enumerate(solid.faces):
        points = solid.points[list(face)]
        normal = np.cross(points, np.roll(points, -1, axis=0)).sum(axis=0)  # twice the area, by Newell
        normal = normal / np.linalg.norm(normal)
        for n, p, faces in found:
            if n @ normal > 1 - 1e-9 and abs((points[0] - p) @ n) < 1e-3:
                faces.append(index)
                break
        else:
            found.append((normal, points[0], [index]))
    return found


def sides(face: tuple[int, ...]) -> set[tuple[int, int]]:
    """The sides of a face, the smaller point first."""
    return {(min(pair), max(pair)) for pair in zip(face, (*face[1:], face[0]), strict=True)}


def band(along: np.ndarray, width: float) -> Polygon:
    """Everything within ``width`` of a line through two points, far beyond its ends."""
    run = (along[1] - along[0]) / np.hypot(*(along[1] - along[0]))
    return LineString([along[0] - 1e3 * run, along[1] + 1e3 * run]).buffer(width, cap_style="flat")


def setback(lattice: dict) -> tuple[float, float]:
    """Setback d of a flex corner and the radius R at the modelled face: K = 0.5 of the usual sheet-metal formulae."""
    angle = math.radians(abs(lattice["angle_deg"]))
    radius = lattice["flat_width"] / angle - math.copysign(lattice["thickness"] / 2, lattice["angle_deg"])
    return radius * math.tan(angle / 2), radius


def is_hipped(sample: Delivered) -> bool:
    """Whether slopes of the roof look in directions square to each other."""
    slopes = [n for n, _, _ in planes(sample.solid) if 1e-3 < n[2] < 1 - 1e-3]
    return any(abs(one[:2] @ two[:2]) < 1e-9 for one, two in combinations(slopes, 2))


def model_area(sample: Delivered) -> float:
    """Area that panels of walls and roofs must have by the model and closed forms alone, mm^2.

    Of every flat region of the mesh, openings being holes in it, goes: d = R tan(f / 2) along each flexed edge; half a
    joiner's core and its gap to either side of a break; t tan(pitch) along eaves, so that a square-cut top touches
    the slope with its outer edge; the inside arc R^2 (tan(f / 2) - f / 2) where a gable's apex meets a flexed ridge,
    drawn in chords of 5 degrees at most.
    """
    solid, settings = sample.solid, sample.outcome.settings
    lattice_of = {edge: lattice for lattice in sample.report["lattices"] for edge in lattice["edges"]}
    joiner, thick = settings.joiner, settings.walls.thickness
    total = 0.0
    slopes = [n for n, _, _ in planes(solid) if 1e-3 < n[2] < 1 - 1e-3]
    hipped = is_hipped(sample)
    for n, origin, faces in planes(solid):
        if hipped and n[2] > 1e-3:
            continue
        u = np.array([-n[1], n[0], 0.0]) / np.hypot(n[0], n[1])
        frame = np.array([u, np.cross(n, u)])
        region = shapely.union_all([Polygon((solid.points[list(solid.faces[k])] - origin) @ frame.T) for k in faces])
        for opening in solid.openings:
            if abs((opening.origin - origin) @ n) < 1e-6 and abs(opening.across @ n) > 0.999:
                region = region.difference(Polygon((opening.points - origin) @ frame.T))
        here = {side for k in faces for side in sides(solid.faces[k])}
        corner, backs = 0.0, {}
        for edge, role, number in zip(solid.edges, solid.edge_roles, solid.edge_ids, strict=True):
            if (min(edge), max(edge)) not in here:
                continue
            line = (solid.points[list(edge)] - origin) @ frame.T
            if role is Role.FLEX:
                # by where they stand along the wall: an edge may come in pieces
                back = backs[round(float(line[0, 0]), 3)] = setback(lattice_of[number])[0]
                region = region.difference(band(line, back))
            elif role is Role.BREAK:
                region = region.difference(band(line, joiner.core_width / 2 + joiner.gap))
        if abs(n[2]) < 1e-9 and slopes:
            top = solid.points[:, 2][[i for k in faces for i in solid.faces[k]]].max()
            for slope in slopes:
                if np.hypot(*(slope[:2] / np.hypot(*slope[:2]) - n[:2])) < 1e-9:  # this wall carries its eaves
                    level = np.array([[-1e3, top - origin[2]], [1e3, top - origin[2]]])
                    region = region.difference(band(level, thick * math.tan(math.acos(slope[2]))))
            across = [slope for slope in slopes if abs(slope[:2] @ n[:2]) < 1e-9]
            if len(across) == 2 and top > 62.0 + 1e-6:  # a gable, and the ridge over its apex flexes
                (ridge,) = [
                    lattice for lattice in sample.report["lattices"] if abs(abs(lattice["angle_deg"]) - 90.0) > 1.0
                ]
                angle = math.radians(abs(ridge["angle_deg"]))
                chord = angle / math.ceil(math.degrees(angle) / 5.0)
                segments = angle / chord * (chord - math.sin(chord)) / 2
                corner = setback(ridge)[1] ** 2 * (math.tan(angle / 2) - angle / 2 + segments)
                corner -= sum(ear(back, math.tan(math.acos(across[0][2])), thick) for back in backs.values())
        total += region.area - corner
    return total


def ear(back: float, slope: float, thick: float) -> float:
    """Area of a gable's ear over a bend, mm^2: what lies under the slope from 2.9 mm above the bend to a tip of 1.5.

    back: how far the gable is pulled back for the bend, whose end lies as low as the eaves that touch the roof.
    """
    rise = slope * (back + thick) - 2.9
    wide = min(back, (rise - 1.5) / slope)
    return wide * rise - slope * wide**2 / 2


def fillets(outline: Polygon) -> float:
    """Board that fills inside corners of an outline, mm^2: its arcs of short sides that turn by 15 degrees at most.

    The first and the last side of an arc turn by half as much; the sharp corner is where the sides beside it meet.
    """
    ring = np.asarray(orient(outline).exterior.coords)[:-1]
    run = np.roll(ring, -1, axis=0) - ring
    before = np.roll(run, 1, axis=0)
    turn = np.arctan2(before[:, 0] * run[:, 1] - before[:, 1] * run[:, 0], (before * run).sum(axis=1))
    eased = (turn < -math.radians(6.0)) & (turn > -math.radians(16.0))
    short = np.hypot(*run.T) < 0.6  # of a radius of about 1
    total = 0.0
    for start in np.flatnonzero(eased & short & ~np.roll(short, 1)):
        arc = [start]
        while eased[arc[-1]] and short[arc[-1]]:
            arc.append((arc[-1] + 1) % len(ring))
        way, back, on = ring[arc[-1]] - ring[start], before[start], run[arc[-1]]
        share = (on[1] * way[0] - on[0] * way[1]) / (on[1] * back[0] - on[0] * back[1])
        total += Polygon([*ring[arc], ring[start] + share * back]).area
    return total


def test_the_sheets_hold_the_model(sample: Delivered) -> None:
    """Walls and roofs in the files = facets - openings - setbacks + lattices + tabs, all by closed forms.

    Not the hip roof of the lock-keeper's house: the ears beside the ends of its bends have no closed form. What they
    cover is measured by its shadow in ``test_slope_ears``.
    """
    hipped = is_hipped(sample)
    kinds = {part["id"]: part["kind"] for part in sample.report["parts"]}
    shell = {name for name, kind in kinds.items() if kind in (("wall",) if hipped else ("wall", "roof"))}
    measured, edge = 0.0, 0.0
    for sheet in sample.report["layout"]["sheets"]:
        for name, wood in cut_loose(sample.second[sheet["file"]], sheet["kerf"]):
            if name in shell:
                part = next(part for part in sample.report["parts"] if part["id"] == name)
                measured += wood.area - round_corners(designed(part), sheet["kerf"])
                edge += wood.length
    lattices = sum(
        lattice["flat_width"] * lattice["axis_length"]
        for lattice in sample.report["lattices"]
        if lattice["part"] in shell
    )
    floor = sample.outcome.settings.floor.thickness
    depth = floor - sample.outcome.settings.ground.tab_short
    tabs = 0.0
    for tab in sample.report["tabs"]:
        if tab["wall"] in shell:
            corners = np.array(tab["tab"])
            long = max(np.linalg.norm(np.diff(corners, axis=0), axis=1))
            tabs += long * depth - 1.25**2  # both tips are bevelled 1.25 x 1.25
    eased = sum(fillets(designed(part)) for part in sample.report["parts"] if part["id"] in shell)
    wanted = model_area(sample) + lattices + tabs + eased
    assert sum(part["area"] for part in sample.report["parts"] if part["id"] in shell) == pytest.approx(
        wanted,
        abs=1e-2,  # boards with ears are united on a grid
    )
    assert measured == pytest.approx(wanted, abs=ROUNDED * edge)
    # an opening of the smallest size, a tab or one setback left out would be seen
    assert ROUNDED * edge < 15.0


def test_slits_come_out_as_the_report_says(sample: Delivered) -> None:
    """Number, opening, pitch and link width of every lattice from the burnt strips of the file."""
    parts = {part["id"]: part for part in sample.report["parts"]}
    left = {id(path): path for file in sample.files for path in sample.first[file].of("slits")}
    for lattice in sample.report["lattices"]:
        part = parts[lattice["part"]]
        a, b, c, d, e, f = part["place"]
        matrix = np.array([[a, b], [c, d]])
        begin, end = np.array(lattice["axis"]) @ matrix + [e, f]
        along = (end - begin) / np.linalg.norm(end - begin)
        zone = Polygon(np.array(lattice["zone"]) @ matrix + [e, f]).buffer(1.0)
        kerf = next(s["kerf"] for s in sample.report["layout"]["sheets"] if s["file"] == part["sheet"])
        (mine,) = [
            path for path in sample.first[part["sheet"]].of("slits")
            if path.part == part["id"] and zone.contains(shapely.union_all(strokes([path])))
        ]  # fmt: skip
        del left[id(mine)]
        across = np.array([-along[1], along[0]])
        local = [(p @ across, (p - begin) @ along) for p, _ in mine.lines]
        slots = np.array([[x.min(), x.max(), y.min(), y.max()] for x, y in local])
        # what the beam burns: half a kerf round every line
        slots += np.array([-1, 1, -1, 1]) * kerf / 2
        np.testing.assert_allclose(slots[:, 1] - slots[:, 0], lattice["opening"], atol=2e-3)
        middles = np.sort((slots[:, 0] + slots[:, 1]) / 2)
        rows = np.concatenate([[0], np.cumsum(np.diff(middles) > lattice["pitch"] / 2)])
        centres = np.array([middles[rows == k].mean() for k in range(rows[-1] + 1)])
        assert len(centres) == lattice["rows"] == lattice["links"] + 1
        np.testing.assert_allclose(np.diff(centres), lattice["pitch"], atol=2e-3)
        np.testing.assert_allclose(np.diff(centres) - lattice["opening"], lattice["link_width"], atol=3e-3)
        assert centres[-1] - centres[0] == pytest.approx(lattice["flat_width"], abs=2e-3)
        # n full slits in closed rows, and in the rows between them one more, halved at both ends
        slit, bridge = lattice["slit"], lattice["bridge"]
        full = round((lattice["axis_length"] - 2 * lattice["edge_bridge"] + bridge) / (slit + bridge))
        closed_rows = (lattice["rows"] + 1) // 2
        assert len(slots) == closed_rows * full + (lattice["rows"] - closed_rows) * (full + 1)
        lengths = slots[:, 3] - slots[:, 2]
        inside = (slots[:, 2] > kerf) & (slots[:, 3] < lattice["axis_length"] - kerf)
        np.testing.assert_allclose(lengths[inside & (lengths > 0.75 * slit)], slit, atol=3e-3)
        # bridges, along every row
        for k, centre in enumerate(centres):
            row = slots[np.abs((slots[:, 0] + slots[:, 1]) / 2 - centre) < lattice["pitch"] / 2]
            row = row[np.argsort(row[:, 2])]
            np.testing.assert_allclose(row[1:, 2] - row[:-1, 3], bridge, atol=3e-3)
            ends = row[0, 2], lattice["axis_length"] - row[-1, 3]
            assert max(ends) < 0 if k % 2 else ends == pytest.approx([lattice["edge_bridge"]] * 2, abs=3e-3)
    assert not left, "every path of slits belongs to a lattice of the report"
