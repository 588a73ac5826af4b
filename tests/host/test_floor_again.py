"""The floor cut again for measured walls: on the command line and in the window, measured in the file itself."""

from __future__ import annotations

from pathlib import Path

import bpy
import pytest
from stowfold import command_line
from svgelements import SVG, Shape

SAMPLES = Path(__file__).parents[2] / "blend_samples"


def size_of(path: Path) -> tuple[float, float]:
    """Return width and height, mm, of the floor's outer line, read by another library."""
    boxes = [
        element.bbox() for element in SVG.parse(str(path)).elements() if isinstance(element, Shape) and element.bbox()
    ]
    widest = max(boxes, key=lambda box: (box[2] - box[0]) * (box[3] - box[1]))
    per_mm = 96.0 / 25.4
    sides = sorted(((widest[2] - widest[0]) / per_mm, (widest[3] - widest[1]) / per_mm))
    return sides[1], sides[0]


@pytest.mark.slow
def test_a_longer_building_gets_a_longer_floor_and_keeps_its_other_sheets(tmp_path, capsys):
    sample = str(SAMPLES / "grain_store.blend")
    assert command_line.main(["cut", sample, "-o", str(tmp_path)]) == 0
    before = {path.name for path in tmp_path.iterdir()}
    sizes = []
    for extra in (0.0, 1.5):
        standing = f"{9 * 25.4 + 6 + extra}x{6 * 25.4 + 6}"
        assert command_line.main(["cut", sample, "-o", str(tmp_path), "--standing", standing]) == 0
        new = sorted(path for path in tmp_path.iterdir() if path.name not in before)
        assert [path.name for path in new] == ["floor-again-01-birch-plywood-3.svg"]
        sizes.append(size_of(new[0]))
    assert sizes[1][0] - sizes[0][0] == pytest.approx(1.5, abs=0.03)
    assert sizes[1][1] - sizes[0][1] == pytest.approx(0.0, abs=0.03)
    assert "drawn as 234.6 x 158.4 mm" in capsys.readouterr().out


@pytest.mark.parametrize(("text", "words"), [("big", "is no size"), ("324x160", "measured length is 324 mm")])
@pytest.mark.slow
def test_a_size_that_is_none_is_one_sentence(tmp_path, capsys, text, words):
    sample = str(SAMPLES / "grain_store.blend")
    assert command_line.main(["cut", sample, "-o", str(tmp_path), "--standing", text]) == 2
    assert words in capsys.readouterr().err
    assert not list(tmp_path.iterdir())


def test_the_window_writes_the_floor_alone(tmp_path):
    bpy.ops.stowfold.add_building(length=8.0, width=5.0)
    bpy.ops.stowfold.mark_proposal(what="BREAKS")
    size = {"length": 8 * 25.4 + 6.0 + 0.4, "width": 5 * 25.4 + 6.0}
    assert bpy.ops.stowfold.cut_floor_again(directory=str(tmp_path), **size) == {"FINISHED"}
    assert [path.suffix for path in tmp_path.iterdir()] == [".svg"]
    with pytest.raises(RuntimeError, match="measured length"):
        bpy.ops.stowfold.cut_floor_again(directory=str(tmp_path), length=400.0, width=133.0)
