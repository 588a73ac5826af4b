"""Every exported file read again and measured: what is cut loose is the building, and nothing else."""

from __future__ import annotations

import io

import numpy as np
import pytest
import resvg_py
import shapely
from delivered import Delivered
from PIL import Image
from read_sheets import ROUNDED, closed, cut_loose, designed, round_corners, strokes
from shapely.geometry import Polygon, box


def test_two_readers_find_the_same_lines(sample: Delivered) -> None:
    for sheet in sample.report["layout"]["sheets"]:
        one, other = sample.first[sheet["file"]], sample.second[sheet["file"]]
        assert one.size == pytest.approx(sheet["size"], abs=1e-3)
        assert other.size == pytest.approx(sheet["size"], abs=1e-9)
        assert [(path.operation, path.id) for path in one.paths] == [(path.operation, path.id) for path in other.paths]
        for a, b in zip(one.paths, other.paths, strict=True):
            assert [shut for _, shut in a.lines] == [shut for _, shut in b.lines], a.id
            assert a.length == pytest.approx(b.length, rel=1e-6), a.id
            for (p, _), (q, _) in zip(a.lines, b.lines, strict=True):
                np.testing.assert_allclose(p, q, rtol=1e-6)  # the first one takes a mm for 1 + 5e-7 of it


@pytest.mark.parametrize("reader", ["first", "second"])
def test_what_is_cut_loose_is_every_part_as_designed(sample: Delivered, reader: str) -> None:
    """Count, place and area of each part, and their sum, but for the round corners that a beam leaves."""
    by_id = {part["id"]: part for part in sample.report["parts"]}
    met, measured = [], 0.0
    for sheet in sample.report["layout"]["sheets"]:
        for name, wood in cut_loose(getattr(sample, reader)[sheet["file"]], sheet["kerf"]):
            part = by_id[name]
            assert part["sheet"] == sheet["file"]
            nominal = designed(part)
            corners = round_corners(nominal, sheet["kerf"])
            tolerance = ROUNDED * nominal.length
            assert wood.geom_type == "Polygon" and len(wood.interiors) == len(nominal.interiors), name
            assert wood.area - corners == pytest.approx(part["area"], abs=tolerance), name
            assert wood.symmetric_difference(nominal).area < corners + tolerance, name
            met.append(name)
            measured += wood.area - corners
    assert sorted(met) == sorted(by_id), "every part of the report is cut once, and nothing else is"
    assert measured == pytest.approx(sum(part["area"] for part in by_id.values()), rel=1e-5)


def test_no_cut_touches_another_part_and_spacing_is_kept(sample: Delivered) -> None:
    """Burnt strips, half a kerf to either side of every line that cuts, against other parts and the sheet's edge."""
    laser = sample.outcome.settings.laser
    for sheet in sample.report["layout"]["sheets"]:
        read, kerf = sample.first[sheet["file"]], sheet["kerf"]
        burnt = {}
        for path in read.of("slits", "inner", "outer"):
            burnt.setdefault(path.part, []).extend(shapely.buffer(strokes([path]), kerf / 2))
        burnt = {name: shapely.union_all(strips) for name, strips in burnt.items()}
        parts = {part["id"]: designed(part) for part in sample.report["parts"] if part["sheet"] == sheet["file"]}
        assert set(burnt) == set(parts)
        # slits that open at the edge end half a kerf past the outline
        whole = {name: shapely.union(burnt[name], Polygon(nominal.exterior)) for name, nominal in parts.items()}
        for name, strip in burnt.items():
            for other, nominal in parts.items():
                if other != name:
                    assert strip.distance(nominal) > laser.spacing - 3e-3, (name, other)
                    assert whole[name].distance(whole[other]) > laser.spacing - 3e-3, (name, other)
        usable = box(0, 0, *sheet["size"]).buffer(3e-3 - laser.margin, join_style="mitre")
        assert all(usable.covers(area) for area in whole.values())


@pytest.mark.slow
def test_a_renderer_agrees_on_size_and_place(sample: Delivered) -> None:
    """At 254 dots per inch ten pixels are a millimetre; all that is drawn, within its stroke of 0.1 mm."""
    for sheet in sample.report["layout"]["sheets"]:
        text = (sample.folder / sheet["file"]).read_text(encoding="utf-8")
        png = bytes(resvg_py.svg_to_bytes(svg_string=text, background="#ffffff", dpi=254))
        image = np.asarray(Image.open(io.BytesIO(png)).convert("L"))
        assert image.shape == (round(sheet["size"][1] * 10), round(sheet["size"][0] * 10))
        rows, columns = np.nonzero(image < 200)
        points = np.concatenate([p for path in sample.second[sheet["file"]].paths for p, _ in path.lines])
        low, high = points.min(axis=0) - 0.05, points.max(axis=0) + 0.05
        np.testing.assert_allclose([columns.min() / 10, rows.min() / 10], low, atol=0.1)
        np.testing.assert_allclose([(columns.max() + 1) / 10, (rows.max() + 1) / 10], high, atol=0.1)
        # every line is seen: ink lies under its middle
        for path in sample.first[sheet["file"]].paths:
            for line in path.lines:
                segments = np.diff(closed(*line), axis=0)
                k = int(np.argmax(np.hypot(*segments.T)))
                x, y = closed(*line)[k] + segments[k] / 2
                near = image[max(0, int(y * 10) - 1) : int(y * 10) + 2, max(0, int(x * 10) - 1) : int(x * 10) + 2]
                assert near.min() < 245, (path.id, x, y)
